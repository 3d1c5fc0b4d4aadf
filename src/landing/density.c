/* SPDX-License-Identifier: GPL-3.0-or-later
 * Kernel density on a grid; methods and limits in density.h. */
#include "density.h"

#include "bandwidth.h"
#include "ellipse.h"
#include "error.h"
#include "isa.h"
#include "ranks.h"
#include "smooth_kernel.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define WIDTHS 3     /* widenings: 2^(k/2) */
#define OWN_PART 3.0 /* see widen_bandwidth */
#define LEAST_BANDWIDTH_M 0.1
#define FLOOR_STEPS 1.5 /* least bandwidth, in steps of the widest grid of all outcomes */

static const struct {
    double per_bandwidth;      /* nodes */
    size_t outcome_nodes, all; /* at most, along an axis */
} details[] = {
    [PAPPUS_GRID_FINE] = {NODES_PER_BANDWIDTH, 512, 1024}, [PAPPUS_GRID_COARSE] = {2.0, 160, 256}};

void pappus_grid_smooth(pappus_grid *grid, const double *mass, double *row,
                        const double bandwidth_m[2])
{
    PAPPUS_KERNEL_PICK(smooth_kernel, pappus_isa_best())(grid, mass, row, bandwidth_m);
}

/* ------------------------------------------------------------- one outcome */

/* Working memory of one outcome. */
typedef struct {
    size_t count;
    double *place[2]; /* of the landings, along the axes from the mean: metres, then nodes of the
                       * grid that is laid */
    uint8_t *width;   /* which widening; WIDTHS: left out */
    double *mass, *row;
    double cut_m[2][2]; /* low and high, by axis, beyond which landings are left out */
} outcome_work;

static void work_clear(outcome_work *work)
{
    for (int a = 0; a < 2; a++)
        free(work->place[a]);
    free(work->width);
    free(work->mass);
    free(work->row);
}

/* How many landings at each end of an axis are stray: they must not stretch the
 * grid. They are of the 1 % that no contour has to hold. */
static size_t strays(size_t count)
{
    return count >= 1000 ? 1 + count / 10000 : 0;
}

static void find_cuts(double cut_m[2], double *values, size_t count)
{
    size_t away = strays(count);
    pappus_ranks(cut_m, values, count, (const size_t[]){away, count - 1 - away}, 2);
}

static bool is_cut(const outcome_work *work, int axis, size_t i)
{
    double place_m = work->place[axis][i];
    return place_m < work->cut_m[axis][0] || place_m > work->cut_m[axis][1];
}

static void find_places(outcome_work *work, const pappus_grid *grid, const pappus_cloud *cloud,
                        const pappus_sample *sample)
{
    for (size_t i = 0; i < sample->count; i++) {
        double e = cloud->east_m[sample->index[i]] - grid->origin_m[0];
        double m = cloud->north_m[sample->index[i]] - grid->origin_m[1];
        work->place[0][i] = e * grid->axis[0] + m * grid->axis[1];
        work->place[1][i] = m * grid->axis[0] - e * grid->axis[1];
    }
}

/* Places of the landings along the principal axes, the cuts and the bandwidths. */
static void choose_bandwidth(pappus_density *density, outcome_work *work, const pappus_cloud *cloud,
                             const pappus_sample *sample, double floor_m)
{
    pappus_grid *grid = &density->grid;
    double *room = density->at_per_m2; /* not filled yet */
    double covariance_m2[2][2], n = (double)sample->count;
    pappus_sample_moments(grid->origin_m, covariance_m2, cloud, sample);
    pappus_axes axes = pappus_axes_of((const double(*)[2])covariance_m2);
    memcpy(grid->axis, axes.axis, sizeof grid->axis);
    if (sample->count < 2) memcpy(grid->axis, (double[]){1.0, 0.0}, sizeof grid->axis);
    find_places(work, grid, cloud, sample);
    for (int a = 0; a < 2; a++) {
        memcpy(room, work->place[a], sample->count * sizeof *room);
        find_cuts(work->cut_m[a], room, sample->count);
        for (size_t i = 0; i < sample->count; i++)
            if (is_cut(work, a, i)) work->width[i] = WIDTHS;
        double scale_m =
            pappus_rough_scale(work->place[a], sample->count, work->cut_m[a][0], work->cut_m[a][1]);
        density->bandwidth_m[a] = fmax(scale_m * pow(n, -1.0 / 6.0), floor_m);
    }
}

/* Places of the landings go in as metres and come out as nodes. */
static int lay_grid(pappus_density *density, outcome_work *work, pappus_grid_detail detail)
{
    pappus_grid *grid = &density->grid;
    for (int a = 0; a < 2; a++) {
        grid_lay_axis(grid, a, work->cut_m[a], REACH * WIDEST * density->bandwidth_m[a],
                      density->bandwidth_m[a] / details[detail].per_bandwidth,
                      details[detail].outcome_nodes);
        for (size_t i = 0; i < work->count; i++)
            work->place[a][i] = (work->place[a][i] - grid->low_m[a]) / grid->step_m[a];
    }
    size_t nodes = grid->nodes[0] * grid->nodes[1];
    free(work->mass);
    free(work->row);
    free(grid->per_m2);
    work->mass = malloc(nodes * sizeof *work->mass);
    work->row = malloc(grid->nodes[0] * sizeof *work->row);
    grid->per_m2 = malloc(nodes * sizeof *grid->per_m2);
    return work->mass && work->row && grid->per_m2 ? PAPPUS_OK : PAPPUS_E_MEMORY;
}

/* Shares out the landings of one widening to the nodes around them. */
static void share_out(outcome_work *work, const pappus_grid *grid, uint8_t width)
{
    size_t nx = grid->nodes[0];
    double each = 1.0 / (double)work->count;
    memset(work->mass, 0, nx * grid->nodes[1] * sizeof *work->mass);
    for (size_t i = 0; i < work->count; i++) {
        const double place[2] = {work->place[0][i], work->place[1][i]};
        double part[2];
        size_t node;
        if (work->width[i] != width || !grid_cell(&node, part, grid, place)) continue;
        grid_put(work->mass + node, nx, part, each);
    }
}

static void widened(double out_m[2], const pappus_density *density, int width)
{
    for (int a = 0; a < 2; a++)
        out_m[a] = density->bandwidth_m[a] * pow(2.0, 0.5 * width);
}

/* Density with every landing at its widening. */
static void estimate(pappus_density *density, outcome_work *work)
{
    pappus_grid *grid = &density->grid;
    memset(grid->per_m2, 0, grid->nodes[0] * grid->nodes[1] * sizeof *grid->per_m2);
    for (int width = 0; width < WIDTHS; width++) {
        double bandwidth_m[2];
        widened(bandwidth_m, density, width);
        share_out(work, grid, (uint8_t)width);
        pappus_grid_smooth(grid, work->mass, work->row, bandwidth_m);
    }
    for (size_t i = 0; i < work->count; i++) {
        const double place[2] = {work->place[0][i], work->place[1][i]};
        density->at_per_m2[i] = grid_value(grid, place);
    }
}

/* Widenings from the pilot density at the landings. */
static void choose_widths(const pappus_density *density, outcome_work *work)
{
    double logs = 0.0;
    size_t used = 0;
    for (size_t i = 0; i < work->count; i++) {
        if (work->width[i] == WIDTHS) continue;
        logs += log(density->at_per_m2[i]);
        used++;
    }
    double middle = logs / (double)used;
    for (size_t i = 0; i < work->count; i++) {
        if (work->width[i] == WIDTHS) continue;
        /* log2 of the squared widening is that of g / f */
        double steps = (middle - log(density->at_per_m2[i])) / M_LN2;
        work->width[i] = (uint8_t)fmin(fmax(round(steps), 0.0), WIDTHS - 1);
    }
}

/* What a landing of a widening adds at its own place. Linear binning and reading
 * between nodes widen a kernel by step^2 / 6 each. */
static double own_per_m2(const pappus_density *density, size_t count, int width)
{
    double bandwidth_m[2], variance[2];
    widened(bandwidth_m, density, width);
    for (int a = 0; a < 2; a++)
        variance[a] = pow(bandwidth_m[a], 2.0) + pow(density->grid.step_m[a], 2.0) / 3.0;
    return 1.0 / (2.0 * M_PI * sqrt(variance[0] * variance[1]) * (double)count);
}

/* Lobes of unlike size and sharp edges let the marginals ask for kernels in which the
 * landings of the wide lobe stand alone: `share` would run ahead of the level. For one
 * Gaussian the own kernel is 2 n^(-2/3) of the density at the median landing, for two
 * equal lobes 1.5 times that; more than OWN_PART n^(-2/3) is brought down to it. */
static bool widen_bandwidth(pappus_density *density, const outcome_work *work)
{
    double n = (double)work->count, *room = density->others_per_m2; /* not filled yet */
    double median;
    memcpy(room, density->at_per_m2, work->count * sizeof *room);
    pappus_ranks(&median, room, work->count, (const size_t[]){work->count / 2}, 1);
    double excess = own_per_m2(density, work->count, 0) / median * pow(n, 2.0 / 3.0) / OWN_PART;
    if (!(excess > 1.0)) return false;
    for (int a = 0; a < 2; a++)
        density->bandwidth_m[a] *= sqrt(excess);
    return true;
}

static void leave_one_out(pappus_density *density, const outcome_work *work)
{
    double n = (double)work->count, own[WIDTHS + 1] = {0.0};
    for (int width = 0; width < WIDTHS; width++)
        own[width] = own_per_m2(density, work->count, width);
    for (size_t i = 0; i < work->count; i++) {
        double others = fmax(density->at_per_m2[i] - own[work->width[i]], 0.0);
        density->others_per_m2[i] = work->count > 1 ? others * n / (n - 1.0) : 0.0;
    }
}

static int work_start(outcome_work *work, pappus_density *density, size_t count)
{
    *work = (outcome_work){.count = count};
    for (int a = 0; a < 2; a++)
        work->place[a] = malloc(count * sizeof *work->place[a]);
    work->width = calloc(count, 1);
    density->at_per_m2 = malloc(count * sizeof *density->at_per_m2);
    density->others_per_m2 = malloc(count * sizeof *density->others_per_m2);
    bool all = work->place[0] && work->place[1] && work->width;
    return all && density->at_per_m2 && density->others_per_m2 ? PAPPUS_OK : PAPPUS_E_MEMORY;
}

int pappus_density_of_outcome(pappus_density *out, const pappus_cloud *cloud,
                              const pappus_sample *sample, double floor_m,
                              pappus_grid_detail detail, pappus_error *err)
{
    outcome_work work;
    *out = (pappus_density){0};
    int status = work_start(&work, out, sample->count);
    if (status == PAPPUS_OK) {
        choose_bandwidth(out, &work, cloud, sample, floor_m);
        status = lay_grid(out, &work, detail);
    }
    if (status == PAPPUS_OK) {
        estimate(out, &work);
        if (widen_bandwidth(out, &work)) {
            find_places(&work, &out->grid, cloud, sample);
            status = lay_grid(out, &work, detail);
        }
    }
    if (status == PAPPUS_OK) {
        estimate(out, &work);
        choose_widths(out, &work);
        estimate(out, &work);
        leave_one_out(out, &work);
    }
    work_clear(&work);
    if (status == PAPPUS_OK) return PAPPUS_OK;
    pappus_density_clear(out);
    return pappus_fail_memory(err);
}

void pappus_density_clear(pappus_density *density)
{
    pappus_grid_clear(&density->grid);
    free(density->at_per_m2);
    free(density->others_per_m2);
    *density = (pappus_density){0};
}

/* -------------------------------------------------------------- all outcomes */

/* Widens a range to hold a value. */
static void hold(double range[2], double value)
{
    range[0] = fmin(range[0], value);
    range[1] = fmax(range[1], value);
}

int pappus_density_floor(double *out_m, const pappus_cloud *cloud, const pappus_strata *strata,
                         pappus_grid_detail detail, pappus_error *err)
{
    double widest_m = 0.0, *values = malloc((cloud->count + 1) * sizeof *values);
    const double *axes[2] = {cloud->east_m, cloud->north_m};
    if (!values) return pappus_fail_memory(err);
    for (int a = 0; a < 2; a++) {
        double range_m[2] = {INFINITY, -INFINITY};
        for (int h = 0; h < PAPPUS_OUTCOMES; h++) {
            pappus_sample sample = pappus_strata_outcome(strata, h);
            double cut_m[2];
            if (sample.count == 0) continue;
            for (size_t i = 0; i < sample.count; i++)
                values[i] = axes[a][sample.index[i]];
            find_cuts(cut_m, values, sample.count);
            hold(range_m, cut_m[0]);
            hold(range_m, cut_m[1]);
        }
        widest_m = fmax(widest_m, range_m[1] - range_m[0]);
    }
    free(values);
    *out_m = fmax(LEAST_BANDWIDTH_M, FLOOR_STEPS * widest_m / (double)details[detail].all);
    return PAPPUS_OK;
}

/* East and north ranges of a grid. */
static void grid_ranges(double range_m[2][2], const pappus_grid *grid)
{
    for (int corner = 0; corner < 4; corner++) {
        double place_m[2];
        pappus_grid_place(place_m, grid, corner & 1 ? (double)(grid->nodes[0] - 1) : 0.0,
                          corner & 2 ? (double)(grid->nodes[1] - 1) : 0.0);
        for (int a = 0; a < 2; a++)
            hold(range_m[a], place_m[a]);
    }
}

static int lay_common_grid(pappus_grid *grid, const pappus_strata *strata,
                           const pappus_density outcomes[PAPPUS_OUTCOMES],
                           pappus_grid_detail detail)
{
    double range_m[2][2] = {{INFINITY, -INFINITY}, {INFINITY, -INFINITY}}, finest_m = INFINITY;
    for (int h = 0; h < PAPPUS_OUTCOMES; h++) {
        if (strata->start[h + 1] == strata->start[h]) continue;
        grid_ranges(range_m, &outcomes[h].grid);
        for (int a = 0; a < 2; a++)
            finest_m = fmin(finest_m, outcomes[h].bandwidth_m[a]);
    }
    grid->axis[0] = 1.0;
    for (int a = 0; a < 2; a++)
        grid_lay_axis(grid, a, range_m[a], 0.0, finest_m / details[detail].per_bandwidth,
                      details[detail].all);
    grid->per_m2 = malloc(grid->nodes[0] * grid->nodes[1] * sizeof *grid->per_m2);
    return grid->per_m2 ? PAPPUS_OK : PAPPUS_E_MEMORY;
}

/* One outcome's part of the density of all: over its own box only. */
typedef struct {
    const pappus_grid *grid;
    double probability;
    size_t first[2], last[2]; /* nodes of the box */
} outcome_part;

static outcome_part part_of(const pappus_grid *all, const pappus_grid *one, double probability)
{
    outcome_part part = {one, probability, {0}, {0}};
    double range_m[2][2] = {{INFINITY, -INFINITY}, {INFINITY, -INFINITY}};
    grid_ranges(range_m, one);
    for (int a = 0; a < 2; a++) {
        part.first[a] = (size_t)((range_m[a][0] - all->low_m[a]) / all->step_m[a]);
        part.last[a] = (size_t)ceil((range_m[a][1] - all->low_m[a]) / all->step_m[a]);
    }
    return part;
}

static void add_part(pappus_grid *all, const outcome_part *part, size_t j)
{
    double north_m = all->low_m[1] + (double)j * all->step_m[1], *row;
    if (j < part->first[1] || j > part->last[1]) return;
    row = all->per_m2 + j * all->nodes[0];
    for (size_t i = part->first[0]; i <= part->last[0]; i++)
        row[i] += part->probability *
                  pappus_grid_at(part->grid, all->low_m[0] + (double)i * all->step_m[0], north_m);
}

/* Memory is written before it is read: a page that is read first is shared, and copied then. */
static void add_parts(pappus_grid *all, const outcome_part *parts, size_t count, int threads)
{
#pragma omp parallel for num_threads(threads)
    for (size_t j = 0; j < all->nodes[1]; j++) {
        memset(all->per_m2 + j * all->nodes[0], 0, all->nodes[0] * sizeof *all->per_m2);
        for (size_t k = 0; k < count; k++)
            add_part(all, &parts[k], j);
    }
}

static void read_at_landings(pappus_density *all, const pappus_cloud *cloud,
                             const pappus_strata *strata,
                             const pappus_density outcomes[PAPPUS_OUTCOMES])
{
    for (int h = 0; h < PAPPUS_OUTCOMES; h++) {
        for (size_t i = strata->start[h]; i < strata->start[h + 1]; i++) {
            size_t of_outcome = i - strata->start[h], landing = strata->index[i];
            double own_per_m2 =
                outcomes[h].at_per_m2[of_outcome] - outcomes[h].others_per_m2[of_outcome];
            all->at_per_m2[i] =
                pappus_grid_at(&all->grid, cloud->east_m[landing], cloud->north_m[landing]);
            all->others_per_m2[i] =
                fmax(all->at_per_m2[i] - strata->probability[h] * own_per_m2, 0.0);
        }
    }
}

int pappus_density_of_all(pappus_density *out, const pappus_cloud *cloud,
                          const pappus_strata *strata,
                          const pappus_density outcomes[PAPPUS_OUTCOMES], pappus_grid_detail detail,
                          int threads, pappus_error *err)
{
    *out = (pappus_density){0};
    out->at_per_m2 = malloc((cloud->count + 1) * sizeof *out->at_per_m2);
    out->others_per_m2 = malloc((cloud->count + 1) * sizeof *out->others_per_m2);
    if (!out->at_per_m2 || !out->others_per_m2 ||
        lay_common_grid(&out->grid, strata, outcomes, detail) != PAPPUS_OK) {
        pappus_density_clear(out);
        return pappus_fail_memory(err);
    }
    outcome_part parts[PAPPUS_OUTCOMES];
    size_t count = 0;
    for (int h = 0; h < PAPPUS_OUTCOMES; h++)
        if (strata->start[h + 1] > strata->start[h])
            parts[count++] = part_of(&out->grid, &outcomes[h].grid, strata->probability[h]);
    add_parts(&out->grid, parts, count, threads);
    read_at_landings(out, cloud, strata, outcomes);
    return PAPPUS_OK;
}
