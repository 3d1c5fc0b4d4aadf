/* SPDX-License-Identifier: GPL-3.0-or-later
 * Contours of the sums of landings; method in sums.h. */
#include "sums.h"

#include "containment.h"
#include "contour.h"
#include "error.h"
#include "geometry.h"
#include "isoline.h"

#include <math.h>
#include <stdlib.h>

#define NODES (SEASON_CELLS + 2) /* a border of nothing about the cells */
#define REACH 4.0                /* deviations at which the kernel is cut off */
#define NARROWER 0.5             /* than the normal reference (A) */
#define LEAST_PART 1e-9          /* of the highest density */

typedef struct {
    const season_sums *sums;
    double cell_m, total; /* with what lies beyond */
    double *density;      /* NODES by NODES; the border stays 0 */
    double *scratch;
    double kernel[2 * SEASON_CELLS + 1];
    int reach;
    size_t count; /* of cells with landings */
    pappus_weighted *pairs;
    double *east_m, *north_m;
    uint8_t *in;
} footprint_work;

static double middle_m(const footprint_work *work, int cell)
{
    return (cell - SEASON_CELLS / 2 + 0.5) * work->cell_m;
}

/* Standard deviation of the landings on the grid, the mean of both axes. */
static double spread_m(const footprint_work *work)
{
    double n = 0.0, e = 0.0, e2 = 0.0, north = 0.0, north2 = 0.0;
    for (int j = 0; j < SEASON_CELLS; j++)
        for (int i = 0; i < SEASON_CELLS; i++) {
            double w = (double)work->sums->cells[j][i];
            double x = middle_m(work, i), y = middle_m(work, j);
            n += w;
            e += w * x;
            e2 += w * x * x;
            north += w * y;
            north2 += w * y * y;
        }
    if (n <= 0.0) return 0.0;
    double variance = (e2 + north2) / n - (e * e + north * north) / (n * n);
    return sqrt(fmax(variance, 0.0) / 2.0);
}

static void set_kernel(footprint_work *work, size_t days)
{
    double wanted = NARROWER * spread_m(work) * pow((double)days, -1.0 / 6.0) / work->cell_m;
    double sd = fmax(wanted, 1.0), sum = 0.0; /* in cells */
    work->reach = (int)fmin(ceil(REACH * sd), SEASON_CELLS);
    for (int k = -work->reach; k <= work->reach; k++)
        sum += work->kernel[k + work->reach] = exp(-0.5 * k * k / (sd * sd));
    for (int k = 0; k <= 2 * work->reach; k++)
        work->kernel[k] /= sum;
}

/* Convolves along one axis; a node's neighbours are `step` apart, its lines `across`. */
static void smooth(double *out, const double *from, const footprint_work *work, size_t step,
                   size_t across)
{
    for (size_t line = 1; line <= SEASON_CELLS; line++)
        for (int i = 1; i <= SEASON_CELLS; i++) {
            double sum = 0.0;
            int low = i - work->reach < 1 ? 1 - i : -work->reach;
            int high = i + work->reach > SEASON_CELLS ? SEASON_CELLS - i : work->reach;
            for (int k = low; k <= high; k++)
                sum += work->kernel[k + work->reach] * from[line * across + (size_t)(i + k) * step];
            out[line * across + (size_t)i * step] = sum;
        }
}

static void find_density(footprint_work *work)
{
    double per_m2 = 1.0 / (work->total * work->cell_m * work->cell_m);
    for (int j = 0; j < SEASON_CELLS; j++)
        for (int i = 0; i < SEASON_CELLS; i++)
            work->density[(j + 1) * NODES + i + 1] = per_m2 * (double)work->sums->cells[j][i];
    smooth(work->scratch, work->density, work, 1, NODES);
    smooth(work->density, work->scratch, work, NODES, 1);
}

/* The cells that have landings, where and with how much of all. */
static void list_cells(footprint_work *work)
{
    for (int j = 0; j < SEASON_CELLS; j++)
        for (int i = 0; i < SEASON_CELLS; i++) {
            if (work->sums->cells[j][i] == 0) continue;
            work->east_m[work->count] = middle_m(work, i);
            work->north_m[work->count] = middle_m(work, j);
            work->pairs[work->count++] =
                (pappus_weighted){work->density[(j + 1) * NODES + i + 1],
                                  (double)work->sums->cells[j][i] / work->total};
        }
}

static int by_density(const void *a, const void *b)
{
    double p = ((const pappus_weighted *)a)->value, q = ((const pappus_weighted *)b)->value;
    return (p < q) - (p > q);
}

/* Least density of the densest cells that hold `level` of all; NaN: the grid does not. */
static double threshold(const pappus_weighted *sorted, size_t count, double level)
{
    double reached = 0.0;
    for (size_t i = 0; i < count; i++) {
        reached += sorted[i].weight;
        if (reached >= level - 1e-12) return fmax(sorted[i].value, LEAST_PART * sorted[0].value);
    }
    return NAN;
}

static int fill(pappus_contour *out, footprint_work *work, const pappus_weighted *sorted,
                double level, pappus_error *err)
{
    pappus_containment *inside = NULL;
    pappus_grid grid = {.axis = {1.0, 0.0},
                        .low_m = {middle_m(work, -1), middle_m(work, -1)},
                        .step_m = {work->cell_m, work->cell_m},
                        .nodes = {NODES, NODES},
                        .per_m2 = work->density};
    *out = (pappus_contour){.level = level};
    out->density_per_m2 = threshold(sorted, work->count, level);
    if (isnan(out->density_per_m2)) return PAPPUS_OK;
    int status = pappus_isoline_area(&out->shape, &grid, out->density_per_m2, err);
    if (status == PAPPUS_OK) status = pappus_containment_new(&inside, &out->shape, err);
    if (status == PAPPUS_OK)
        status = pappus_containment_test(work->in, inside, work->count, work->east_m, work->north_m,
                                         1, err);
    pappus_containment_free(inside);
    for (size_t i = 0; i < work->count && status == PAPPUS_OK; i++)
        if (work->in[i]) out->share += work->pairs[i].weight;
    out->share = fmin(out->share, 1.0);
    out->area_m2 = status == PAPPUS_OK ? pappus_area_m2(&out->shape) : 0.0;
    return status;
}

static int fill_all(pappus_contour out[PAPPUS_LEVELS], footprint_work *work, pappus_error *err)
{
    pappus_weighted *sorted = malloc((work->count + 1) * sizeof *sorted);
    if (!sorted) return pappus_fail_memory(err);
    for (size_t i = 0; i < work->count; i++)
        sorted[i] = work->pairs[i];
    qsort(sorted, work->count, sizeof *sorted, by_density);
    int status = PAPPUS_OK;
    for (int l = 0; l < PAPPUS_LEVELS && status == PAPPUS_OK; l++)
        status = fill(&out[l], work, sorted, pappus_levels[l], err);
    free(sorted);
    return status;
}

static bool make_room(footprint_work *work)
{
    size_t cells = SEASON_CELLS * SEASON_CELLS;
    work->density = calloc(NODES * NODES, sizeof *work->density);
    work->scratch = calloc(NODES * NODES, sizeof *work->scratch);
    work->pairs = malloc(cells * sizeof *work->pairs);
    work->east_m = malloc(cells * sizeof *work->east_m);
    work->north_m = malloc(cells * sizeof *work->north_m);
    work->in = malloc(cells);
    return work->density && work->scratch && work->pairs && work->east_m && work->north_m &&
           work->in;
}

static void clear(footprint_work *work)
{
    free(work->density);
    free(work->scratch);
    free(work->pairs);
    free(work->east_m);
    free(work->north_m);
    free(work->in);
}

int season_footprint(pappus_contour out[PAPPUS_LEVELS], const season_sums *sums, double cell_m,
                     size_t days, pappus_error *err)
{
    footprint_work work = {.sums = sums, .cell_m = cell_m, .total = (double)sums->beyond};
    for (int l = 0; l < PAPPUS_LEVELS; l++)
        out[l] = (pappus_contour){.level = pappus_levels[l]};
    for (int j = 0; j < SEASON_CELLS; j++)
        for (int i = 0; i < SEASON_CELLS; i++)
            work.total += (double)sums->cells[j][i];
    if (!(work.total > (double)sums->beyond) || days == 0) return PAPPUS_OK;
    int status = make_room(&work) ? PAPPUS_OK : pappus_fail_memory(err);
    if (status == PAPPUS_OK) {
        set_kernel(&work, days);
        find_density(&work);
        list_cells(&work);
        status = fill_all(out, &work, err);
    }
    clear(&work);
    if (status != PAPPUS_OK) pappus_contours_clear(out);
    return status;
}
