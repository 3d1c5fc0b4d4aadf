/* SPDX-License-Identifier: GPL-3.0-or-later
 * Points in areas: exact and quick. A grid of cells over the area's bounds holds the edges
 * that come near each cell and whether its middle is inside. A point is as its cell's middle
 * is, but for the edges crossed on the way there: along its own latitude, then along the
 * middle's longitude. Each crossing is a sign of an area of three points; a sign counts where
 * it is far above its rounding (Shewchuk, Discrete Comput. Geom. 18:305, 1997, the first
 * stage of orient2d), and where one is not, all edges are asked by the rule of crossings with
 * GEOS's own robust sign. So the answer is that of GEOS for every point, at a cost that
 * does not depend on the number of edges but for points within a hair of one. Building is
 * linear in the edges. Right for valid areas, on the plane. */
#include "containment.h"
#include "error.h"
#include "geometry.h"
#include "run.h"

#include <math.h>
#include <omp.h>
#include <stdlib.h>
#include <string.h>

#define CELLS_MOST 1024 /* per side */
#define CELLS_LEAST 4
#define NEAR_MOST 32        /* entries of edges in cells, on average of the edges */
#define WORTH_THREADS 32768 /* points; fewer are done before a busy machine wakes a thread */
#define SLACK 1e-3          /* of a cell: far above what rounding moves an edge or a point */
#define SIGN_ERROR 3.3306690738754716e-16 /* (3 + 16 u) u, u = 2^-53: Shewchuk's ccwerrboundA */

typedef struct {
    double ax, ay, bx, by;
} edge_line;

struct pappus_containment {
    pappus_area area;
    double west_m, south_m, east_m, north_m;
    double per_east, per_north; /* cells per metre */
    size_t side;                /* cells per side; 0: an empty area */
    size_t edge_count;
    edge_line *edges;
    uint32_t *start; /* [row][column], and one more: where a cell's edges begin */
    uint32_t *near;  /* edges by cell */
    uint8_t *middle; /* [row][column]: IN, OUT or UNSURE */
};

enum { OUT = 0, IN = 1, UNSURE = 2, FAILED = 3 };

/* --------------------------------------------------------------------- signs */

/* The side of a-b that a point lies on: 1 left, -1 right, 0 not sure. */
static int side_of(const edge_line *e, double x, double y)
{
    double left = (e->ax - x) * (e->by - y), right = (e->ay - y) * (e->bx - x);
    double sign = left - right, error = SIGN_ERROR * (fabs(left) + fabs(right));
    return sign > error ? 1 : sign < -error ? -1 : 0;
}

/* A sign that is not sure is GEOS's; 2 when that failed. */
static int sure_side(GEOSContextHandle_t *geos, const edge_line *e, double x, double y)
{
    int side = side_of(e, x, y);
    if (side != 0) return side;
    if (!*geos) *geos = pappus_geos_begin();
    return *geos ? GEOSOrientationIndex_r(*geos, e->ax, e->ay, e->bx, e->by, x, y) : 2;
}

/* By counting the edges crossed towards the east, as GEOS does: on an edge is inside. */
static int ask_all(GEOSContextHandle_t *geos, const pappus_containment *self, double x, double y)
{
    int inside = OUT;
    for (size_t i = 0; i < self->edge_count; i++) {
        const edge_line *e = &self->edges[i];
        if (e->ax < x && e->bx < x) continue;
        if (e->bx == x && e->by == y) return IN;
        if (e->ay == y && e->by == y) {
            if (fmin(e->ax, e->bx) <= x && x <= fmax(e->ax, e->bx)) return IN;
            continue;
        }
        if ((e->ay > y) == (e->by > y)) continue;
        int side = sure_side(geos, e, x, y);
        if (side == 0) return IN;
        if (side == 2) return FAILED;
        if ((e->by < e->ay ? -side : side) > 0) inside = !inside;
    }
    return inside;
}

/* --------------------------------------------------------------------- cells */

static size_t cell_of(const pappus_containment *self, double offset)
{
    return offset <= 0.0 ? 0 : offset >= (double)self->side ? self->side - 1 : (size_t)offset;
}

/* The columns that an edge comes near in a row. */
static void columns_of(size_t *west, size_t *east, const pappus_containment *self,
                       const double low[2], const double high[2], size_t row)
{
    double from = 0.0, to = 1.0, rise = high[1] - low[1]; /* the part of the edge near this row */
    if (rise > SLACK) {
        from = fmax(0.0, ((double)row - SLACK - low[1]) / rise);
        to = fmin(1.0, ((double)row + 1.0 + SLACK - low[1]) / rise);
    }
    double x0 = low[0] + from * (high[0] - low[0]), x1 = low[0] + to * (high[0] - low[0]);
    *west = cell_of(self, fmin(x0, x1) - SLACK);
    *east = cell_of(self, fmax(x0, x1) + SLACK);
}

/* An edge in cells from the corner, its lower end first. */
static void in_cells(double low[2], double high[2], const pappus_containment *self,
                     const edge_line *e)
{
    double a[2] = {(e->ax - self->west_m) * self->per_east,
                   (e->ay - self->south_m) * self->per_north};
    double b[2] = {(e->bx - self->west_m) * self->per_east,
                   (e->by - self->south_m) * self->per_north};
    bool up = a[1] <= b[1];
    memcpy(low, up ? a : b, sizeof a);
    memcpy(high, up ? b : a, sizeof b);
}

/* Entries of edge i: counted into start[cell + 1], or with `near` put there. Stops counting
 * past `most`. */
static size_t enter_edge(pappus_containment *self, size_t i, bool put)
{
    double low[2], high[2];
    size_t entries = 0;
    in_cells(low, high, self, &self->edges[i]);
    size_t last = cell_of(self, high[1] + SLACK);
    for (size_t row = cell_of(self, low[1] - SLACK); row <= last; row++) {
        size_t west, east;
        columns_of(&west, &east, self, low, high, row);
        entries += east - west + 1;
        for (size_t cell = row * self->side + west; cell <= row * self->side + east; cell++) {
            if (put)
                self->near[self->start[cell + 1]++] = (uint32_t)i;
            else if (self->start)
                self->start[cell + 2]++;
        }
    }
    return entries;
}

static void set_side(pappus_containment *self, size_t side, const double bounds[4], double far_m)
{
    self->side = side;
    /* Never so fine that rounding (1e-16 far) comes near the slack. */
    self->per_east = (double)side / fmax(bounds[2] - bounds[0], 1e-8 * far_m + 1e-9);
    self->per_north = (double)side / fmax(bounds[3] - bounds[1], 1e-8 * far_m + 1e-9);
}

/* As many cells as edges, four times over, or fewer where edges are so long that they would
 * be entered more than NEAR_MOST times each. */
static size_t choose_side(pappus_containment *self, const double bounds[4])
{
    double far_m = 0.0;
    size_t entries, side = (size_t)ceil(2.0 * sqrt((double)self->edge_count));
    for (int i = 0; i < 4; i++)
        far_m = fmax(far_m, fabs(bounds[i]));
    side = side > CELLS_MOST ? CELLS_MOST : side < CELLS_LEAST ? CELLS_LEAST : side;
    for (;; side /= 2) {
        set_side(self, side, bounds, far_m);
        entries = 0;
        for (size_t i = 0; i < self->edge_count; i++)
            entries += enter_edge(self, i, false);
        if (side <= CELLS_LEAST || entries <= NEAR_MOST * self->edge_count + 4 * side) break;
    }
    return entries;
}

/* Sorted by counting: start[c + 1] is the next free place of cell c, and in the end where
 * cell c + 1 begins. */
static bool enter_edges(pappus_containment *self, size_t entries)
{
    size_t cells = self->side * self->side;
    self->start = calloc(cells + 2, sizeof *self->start);
    self->near = malloc((entries + 1) * sizeof *self->near);
    if (!self->start || !self->near) return false;
    for (size_t i = 0; i < self->edge_count; i++)
        enter_edge(self, i, false);
    for (size_t c = 2; c < cells + 2; c++)
        self->start[c] += self->start[c - 1];
    for (size_t i = 0; i < self->edge_count; i++)
        enter_edge(self, i, true);
    return true;
}

/* Middles of a row that an edge comes near are not sure: their points are asked of all edges. */
static void doubt_middles(uint8_t *middle, const pappus_containment *self, const double low[2],
                          const double high[2], double y)
{
    double from = 0.0, to = 1.0, rise = high[1] - low[1];
    if (rise > SLACK) {
        from = fmax(0.0, (y - SLACK - low[1]) / rise);
        to = fmin(1.0, (y + SLACK - low[1]) / rise);
    }
    double x0 = low[0] + from * (high[0] - low[0]), x1 = low[0] + to * (high[0] - low[0]);
    double first = fmax(ceil(fmin(x0, x1) - SLACK - 0.5), 0.0);
    double last = fmin(floor(fmax(x0, x1) + SLACK - 0.5), (double)self->side - 1.0);
    for (double i = first; i <= last; i++)
        middle[(size_t)i] |= UNSURE;
}

/* Along the middles of a row every edge turns in to out and back. */
static void cross_rows(pappus_containment *self, const edge_line *e)
{
    double low[2], high[2];
    in_cells(low, high, self, e);
    size_t last = cell_of(self, high[1] + SLACK);
    for (size_t row = cell_of(self, low[1] - SLACK); row <= last; row++) {
        double y = (double)row + 0.5;
        uint8_t *middle = self->middle + row * self->side;
        if (low[1] <= y + SLACK && high[1] >= y - SLACK) doubt_middles(middle, self, low, high, y);
        if ((low[1] > y) == (high[1] > y)) continue;
        double x = low[0] + (y - low[1]) / (high[1] - low[1]) * (high[0] - low[0]);
        double next = ceil(x - 0.5); /* the first middle to the east */
        if (next < (double)self->side) middle[next <= 0.0 ? 0 : (size_t)next] ^= IN;
    }
}

static void find_middles(pappus_containment *self)
{
    for (size_t i = 0; i < self->edge_count; i++)
        cross_rows(self, &self->edges[i]);
    for (size_t row = 0; row < self->side; row++) {
        uint8_t *middle = self->middle + row * self->side, state = OUT;
        for (size_t i = 0; i < self->side; i++) {
            state ^= middle[i] & IN;
            middle[i] = middle[i] & UNSURE ? UNSURE : state;
        }
    }
}

static size_t add_edges(edge_line *out, const pappus_area *area)
{
    size_t count = 0;
    for (size_t p = 0; p < area->polygon_count; p++)
        for (size_t r = 0; r < area->polygons[p].ring_count; r++) {
            const pappus_ring *ring = &area->polygons[p].rings[r];
            for (size_t i = 0; i < ring->point_count; i++, count++) {
                const double *a = ring->points_m + 2 * i;
                const double *b = ring->points_m + 2 * ((i + 1) % ring->point_count);
                if (out) out[count] = (edge_line){a[0], a[1], b[0], b[1]};
            }
        }
    return count;
}

static int build_cells(pappus_containment *self, pappus_error *err)
{
    double bounds[4];
    if (!pappus_area_bounds(bounds, &self->area)) return PAPPUS_OK;
    self->west_m = bounds[0];
    self->south_m = bounds[1];
    self->east_m = bounds[2];
    self->north_m = bounds[3];
    self->edge_count = add_edges(NULL, &self->area);
    self->edges = malloc((self->edge_count + 1) * sizeof *self->edges);
    if (!self->edges) return pappus_fail_memory(err);
    add_edges(self->edges, &self->area);
    size_t entries = choose_side(self, bounds);
    if (!enter_edges(self, entries)) return pappus_fail_memory(err);
    self->middle = calloc(self->side * self->side, 1);
    if (!self->middle) return pappus_fail_memory(err);
    find_middles(self);
    return PAPPUS_OK;
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
    free(containment->edges);
    free(containment->start);
    free(containment->near);
    free(containment->middle);
    free(containment);
}

bool pappus_containment_bounds(double bounds_m[4], const pappus_containment *containment)
{
    const pappus_containment *c = containment;
    memcpy(bounds_m, (double[4]){c->west_m, c->south_m, c->east_m, c->north_m},
           4 * sizeof *bounds_m);
    return c->side > 0;
}

/* -------------------------------------------------------------------- points */

/* Does the way from a point to the middle cross the edge? 2: not sure. The corner of the way
 * is at the middle's x and the point's y; a line through a corner of the area counts as
 * lying just beyond it, on both parts of the way. */
static int crosses(const edge_line *e, double x, double y, double mx, double my)
{
    bool along = (e->ay > y) != (e->by > y), across = (e->ax > mx) != (e->bx > mx);
    bool about = fmin(e->ax, e->bx) <= x && x <= fmax(e->ax, e->bx) && fmin(e->ay, e->by) <= y &&
                 y <= fmax(e->ay, e->by);
    if (!along && !across && !about) return 0;
    int here = along || about ? side_of(e, x, y) : 1;
    if (here == 0) return 2;
    int corner = along || across ? side_of(e, mx, y) : 1;
    int there = across ? side_of(e, mx, my) : 1;
    if (corner == 0 || there == 0) return 2;
    return (along && here != corner) ^ (across && corner != there);
}

static int ask(GEOSContextHandle_t *geos, const pappus_containment *self, double x, double y)
{
    /* Also false, so out, for what is not a number. */
    if (!(x >= self->west_m && x <= self->east_m && y >= self->south_m && y <= self->north_m))
        return OUT;
    size_t column = cell_of(self, (x - self->west_m) * self->per_east);
    size_t row = cell_of(self, (y - self->south_m) * self->per_north);
    size_t cell = row * self->side + column;
    if (self->start[cell] == self->start[cell + 1] && self->middle[cell] != UNSURE)
        return self->middle[cell];
    if (self->middle[cell] == UNSURE) return ask_all(geos, self, x, y);
    double mx = self->west_m + ((double)column + 0.5) / self->per_east;
    double my = self->south_m + ((double)row + 0.5) / self->per_north;
    int inside = self->middle[cell];
    for (uint32_t k = self->start[cell]; k < self->start[cell + 1]; k++) {
        int crossed = crosses(&self->edges[self->near[k]], x, y, mx, my);
        if (crossed == 2) return ask_all(geos, self, x, y);
        inside ^= crossed;
    }
    return inside;
}

static int fail_oracle(pappus_error *err)
{
    return pappus_fail(err, PAPPUS_E_NUMERIC, NULL, NULL, NULL,
                       "the geometry library failed on a point in an area");
}

/* One thread's share. Points that are one (flights without spread) are asked once. */
static bool test_range(uint8_t *inside, const pappus_containment *self, size_t begin, size_t end,
                       const double *east_m, const double *north_m)
{
    GEOSContextHandle_t geos = NULL;
    bool ok = true;
    for (size_t i = begin; ok && i < end; i++) {
        bool again = i > begin && east_m[i] == east_m[i - 1] && north_m[i] == north_m[i - 1];
        int in = again ? inside[i - 1] : ask(&geos, self, east_m[i], north_m[i]);
        ok = in != FAILED;
        inside[i] = in == IN;
    }
    pappus_geos_end(geos);
    return ok;
}

int pappus_containment_test(uint8_t *inside, const pappus_containment *containment, size_t count,
                            const double *east_m, const double *north_m, int threads,
                            pappus_error *err)
{
    int failed = 0;
    if (containment->side == 0) {
        memset(inside, 0, count);
        return PAPPUS_OK;
    }
    threads = pappus_threads(threads);
    if (count < WORTH_THREADS || threads == 1)
        return test_range(inside, containment, 0, count, east_m, north_m) ? PAPPUS_OK
                                                                          : fail_oracle(err);
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
