/* SPDX-License-Identifier: GPL-3.0-or-later
 * Points in areas: exact and quick. A grid of cells over the area's bounds is
 * decided beforehand: a cell that no edge comes near is wholly in or wholly out,
 * as GEOS says of one point of it; only points in the cells along the edges are
 * put to GEOS itself (prepared geometry, robust predicates). So the answer is
 * GEOS's for every point. Right for valid areas, on the plane. */
#include "containment.h"
#include "error.h"
#include "geometry.h"

#include <math.h>
#include <omp.h>
#include <stdlib.h>
#include <string.h>

#define CELLS 512           /* per side: 256 kB, fits the second-level cache */
#define WORTH_THREADS 32768 /* points; fewer are done before a busy machine wakes a thread */
#define SLACK 1e-3          /* of a cell: far above what rounding moves an edge or a point */

typedef enum { OUT = 0, IN = 1, EDGE = 2 } cell_state;

struct pappus_containment {
    pappus_area area;
    double west_m, south_m, east_m, north_m;
    double per_east, per_north; /**< cells per metre */
    uint8_t *cells;             /**< [row][column], NULL for an empty area */
};

/* One thread's way to ask GEOS. */
typedef struct {
    GEOSContextHandle_t geos;
    GEOSGeometry *geometry;
    const GEOSPreparedGeometry *prepared;
} oracle;

static void oracle_close(oracle *ask)
{
    if (ask->prepared) GEOSPreparedGeom_destroy_r(ask->geos, ask->prepared);
    if (ask->geometry) GEOSGeom_destroy_r(ask->geos, ask->geometry);
    pappus_geos_end(ask->geos);
    *ask = (oracle){0};
}

static bool oracle_open(oracle *ask, const pappus_area *area)
{
    *ask = (oracle){.geos = pappus_geos_begin()};
    if (!ask->geos) return false;
    if (pappus_area_to_geos(&ask->geometry, ask->geos, area, NULL) == PAPPUS_OK)
        ask->prepared = GEOSPrepare_r(ask->geos, ask->geometry);
    if (ask->prepared) return true;
    oracle_close(ask);
    return false;
}

/* OUT, IN, or 2 when GEOS failed. */
static char oracle_ask(const oracle *ask, double east_m, double north_m)
{
    GEOSGeometry *point = GEOSGeom_createPointFromXY_r(ask->geos, east_m, north_m);
    if (!point) return 2;
    char in = GEOSPreparedIntersects_r(ask->geos, ask->prepared, point);
    GEOSGeom_destroy_r(ask->geos, point);
    return in;
}

static size_t cell_of(double offset)
{
    return offset <= 0.0 ? 0 : offset >= CELLS ? CELLS - 1 : (size_t)offset;
}

/* Marks the cells that the edge a-b, in cells from the corner, comes near. */
static void mark_edge(uint8_t *cells, const double a[2], const double b[2])
{
    const double *low = a[1] <= b[1] ? a : b, *high = a[1] <= b[1] ? b : a;
    size_t first = cell_of(low[1] - SLACK), last = cell_of(high[1] + SLACK);
    double rise = high[1] - low[1];
    for (size_t row = first; row <= last; row++) {
        double from = 0.0, to = 1.0; /* the part of the edge near this row */
        if (rise > SLACK) {
            from = fmax(0.0, ((double)row - SLACK - low[1]) / rise);
            to = fmin(1.0, ((double)row + 1.0 + SLACK - low[1]) / rise);
        }
        double x0 = low[0] + from * (high[0] - low[0]), x1 = low[0] + to * (high[0] - low[0]);
        size_t west = cell_of(fmin(x0, x1) - SLACK), east = cell_of(fmax(x0, x1) + SLACK);
        memset(cells + row * CELLS + west, EDGE, east - west + 1);
    }
}

static void mark_ring(pappus_containment *self, const pappus_ring *ring)
{
    for (size_t i = 0; i < ring->point_count; i++) {
        const double *p = ring->points_m + 2 * i;
        const double *q = ring->points_m + 2 * ((i + 1) % ring->point_count);
        double a[2] = {(p[0] - self->west_m) * self->per_east,
                       (p[1] - self->south_m) * self->per_north};
        double b[2] = {(q[0] - self->west_m) * self->per_east,
                       (q[1] - self->south_m) * self->per_north};
        mark_edge(self->cells, a, b);
    }
}

/* Cells side by side with no edge near are all in or all out: one question per run. */
static bool fill_row(pappus_containment *self, const oracle *ask, size_t row)
{
    uint8_t *cells = self->cells + row * CELLS;
    double north = self->south_m + ((double)row + 0.5) / self->per_north;
    for (size_t i = 0; i < CELLS; i++) {
        if (cells[i] == EDGE) continue;
        if (i > 0 && cells[i - 1] != EDGE) {
            cells[i] = cells[i - 1];
            continue;
        }
        char in = oracle_ask(ask, self->west_m + ((double)i + 0.5) / self->per_east, north);
        if (in == 2) return false;
        cells[i] = in ? IN : OUT;
    }
    return true;
}

static int fail_oracle(pappus_error *err)
{
    return pappus_fail(err, PAPPUS_E_NUMERIC, NULL, NULL, NULL,
                       "the geometry library failed on a point in an area");
}

static int build_cells(pappus_containment *self, pappus_error *err)
{
    double bounds[4], far = 0.0;
    if (!pappus_area_bounds(bounds, &self->area)) return PAPPUS_OK;
    self->west_m = bounds[0];
    self->south_m = bounds[1];
    self->east_m = bounds[2];
    self->north_m = bounds[3];
    for (int i = 0; i < 4; i++)
        far = fmax(far, fabs(bounds[i]));
    /* Never so fine that rounding (1e-16 far) comes near the slack. */
    self->per_east = CELLS / fmax(bounds[2] - bounds[0], 1e-8 * far + 1e-9);
    self->per_north = CELLS / fmax(bounds[3] - bounds[1], 1e-8 * far + 1e-9);
    self->cells = calloc((size_t)CELLS * CELLS, 1);
    if (!self->cells) return pappus_fail_memory(err);
    for (size_t i = 0; i < self->area.polygon_count; i++)
        for (size_t k = 0; k < self->area.polygons[i].ring_count; k++)
            mark_ring(self, &self->area.polygons[i].rings[k]);
    oracle ask;
    if (!oracle_open(&ask, &self->area)) return fail_oracle(err);
    bool ok = true;
    for (size_t row = 0; ok && row < CELLS; row++)
        ok = fill_row(self, &ask, row);
    oracle_close(&ask);
    return ok ? PAPPUS_OK : fail_oracle(err);
}

int pappus_containment_new(pappus_containment **out, const pappus_area *area, pappus_error *err)
{
    *out = NULL;
    pappus_containment *self = calloc(1, sizeof *self);
    if (!self) return pappus_fail_memory(err);
    int status = pappus_area_copy(&self->area, area, err);
    if (status == PAPPUS_OK) {
        pappus_area_orient(&self->area);
        status = build_cells(self, err);
    }
    if (status != PAPPUS_OK) {
        pappus_containment_free(self);
        return status;
    }
    *out = self;
    return PAPPUS_OK;
}

void pappus_containment_free(pappus_containment *containment)
{
    if (!containment) return;
    pappus_area_clear(&containment->area);
    free(containment->cells);
    free(containment);
}

static cell_state look_up(const pappus_containment *self, double east_m, double north_m)
{
    /* Also false, so out, for what is not a number. */
    if (!(east_m >= self->west_m && east_m <= self->east_m && north_m >= self->south_m &&
          north_m <= self->north_m))
        return OUT;
    size_t column = cell_of((east_m - self->west_m) * self->per_east);
    size_t row = cell_of((north_m - self->south_m) * self->per_north);
    return (cell_state)self->cells[row * CELLS + column];
}

/* One thread's share. The oracle is opened only when a point lies near an edge. */
static bool test_range(uint8_t *inside, const pappus_containment *self, size_t begin, size_t end,
                       const double *east_m, const double *north_m)
{
    oracle ask = {0};
    bool ok = true;
    for (size_t i = begin; ok && i < end; i++) {
        cell_state state = look_up(self, east_m[i], north_m[i]);
        char in = state == IN;
        if (state == EDGE) {
            ok = ask.prepared || oracle_open(&ask, &self->area);
            in = ok ? oracle_ask(&ask, east_m[i], north_m[i]) : 2;
            ok = in != 2;
        }
        inside[i] = in == 1;
    }
    oracle_close(&ask);
    return ok;
}

int pappus_containment_test(uint8_t *inside, const pappus_containment *containment, size_t count,
                            const double *east_m, const double *north_m, int threads,
                            pappus_error *err)
{
    int failed = 0;
    if (!containment->cells) {
        memset(inside, 0, count);
        return PAPPUS_OK;
    }
    if (threads <= 0) threads = omp_get_max_threads();
    if (count < WORTH_THREADS) threads = 1;
#pragma omp parallel num_threads(threads) reduction(| : failed)
    {
        size_t team = (size_t)omp_get_num_threads(), mine = (size_t)omp_get_thread_num();
        size_t share = count / team + 1;
        size_t begin = mine * share < count ? mine * share : count;
        size_t end = begin + share < count ? begin + share : count;
        failed |= !test_range(inside, containment, begin, end, east_m, north_m);
    }
    return failed ? fail_oracle(err) : PAPPUS_OK;
}

/* -------------------------------------------------------------------- edge */

typedef struct {
    double distance2, east_m, north_m, along_east, along_north;
} nearest;

static void nearest_on_ring(nearest *best, const pappus_ring *ring, double east_m, double north_m)
{
    for (size_t i = 0; i < ring->point_count; i++) {
        const double *p = ring->points_m + 2 * i;
        const double *q = ring->points_m + 2 * ((i + 1) % ring->point_count);
        double dx = q[0] - p[0], dy = q[1] - p[1], length2 = dx * dx + dy * dy;
        if (length2 == 0.0) continue;
        double t = ((east_m - p[0]) * dx + (north_m - p[1]) * dy) / length2;
        t = fmin(1.0, fmax(0.0, t));
        double e = p[0] + t * dx, n = p[1] + t * dy;
        double distance2 = (east_m - e) * (east_m - e) + (north_m - n) * (north_m - n);
        if (distance2 < best->distance2) *best = (nearest){distance2, e, n, dx, dy};
    }
}

int pappus_containment_edge(pappus_edge *out, const pappus_containment *containment, double east_m,
                            double north_m, pappus_error *err)
{
    nearest best = {.distance2 = INFINITY};
    uint8_t inside;
    for (size_t i = 0; i < containment->area.polygon_count; i++)
        for (size_t k = 0; k < containment->area.polygons[i].ring_count; k++)
            nearest_on_ring(&best, &containment->area.polygons[i].rings[k], east_m, north_m);
    if (!isfinite(best.distance2))
        return pappus_fail(err, PAPPUS_E_NUMERIC, NULL, NULL, NULL,
                           "no distance to the edge of an area without edges or from a point "
                           "that is not finite");
    int status = pappus_containment_test(&inside, containment, 1, &east_m, &north_m, 1, err);
    if (status != PAPPUS_OK) return status;
    double distance = sqrt(best.distance2), sign = inside ? 1.0 : -1.0;
    double length = hypot(best.along_east, best.along_north);
    *out = (pappus_edge){sign * distance, best.east_m, best.north_m, best.along_north / length,
                         -best.along_east / length};
    /* Away from the edge the line of sight is the normal, at corners too. */
    if (distance > 1e-6) {
        out->normal_east = sign * (best.east_m - east_m) / distance;
        out->normal_north = sign * (best.north_m - north_m) / distance;
    }
    return PAPPUS_OK;
}
