/* SPDX-License-Identifier: GPL-3.0-or-later
 * The hazard field; method and limits in field.h. */
#include "field.h"

#include "ellipse.h"
#include "error.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define BANDWIDTH 1.0 /* scales of the zone, times n^-1/6 (Scott, 1992) */
#define WIDEST 0.5    /* a bandwidth, in scales */
#define STEPS 3.0     /* of the grid, to a bandwidth */
#define FARTHEST 16.0 /* scales at which a grid ends at most */
#define BEYOND 1.5    /* scales past where the start says that it may end */
#define HEAVY 0.05    /* part of the start that is twice as wide */
#define LEAST_SCALE_M 2.0
#define FIELD_NODES 320

/* The start: a law about a middle, in scales along the principal axes. */
typedef struct {
    double middle_m[2], axis[2], scale_m[2], dof, total;
} start_law;

static double start_of_radius(const start_law *s, double r2)
{
    double kernel, wide = exp(-0.125 * r2) / 4.0;
    if (isinf(s->dof))
        kernel = exp(-0.5 * r2);
    else /* covariance 1: the square of the scale is (dof - 2) / dof */
        kernel = s->dof / (s->dof - 2.0) * pow(1.0 + r2 / (s->dof - 2.0), -0.5 * (s->dof + 2.0));
    return ((1.0 - HEAVY) * kernel + HEAVY * wide) / (2.0 * M_PI * s->scale_m[0] * s->scale_m[1]);
}

static double radius2(const start_law *s, double east_m, double north_m)
{
    double e = east_m - s->middle_m[0], n = north_m - s->middle_m[1];
    double along = (e * s->axis[0] + n * s->axis[1]) / s->scale_m[0];
    double left = (n * s->axis[0] - e * s->axis[1]) / s->scale_m[1];
    return along * along + left * left;
}

static start_law start_from(const field_sample *sample)
{
    start_law s = {.dof = sample->dof};
    double c[2][2] = {{0}};
    for (size_t i = 0; i < sample->count; i++) {
        double w = sample->counts[i] ? sample->weight[i] : 0.0;
        s.total += w;
        s.middle_m[0] += w * sample->east_m[i];
        s.middle_m[1] += w * sample->north_m[i];
    }
    if (!(s.total > 0.0)) return s;
    for (int a = 0; a < 2; a++)
        s.middle_m[a] /= s.total;
    for (size_t i = 0; i < sample->count; i++) {
        double w = sample->counts[i] ? sample->weight[i] / s.total : 0.0;
        const double d[2] = {sample->east_m[i] - s.middle_m[0], sample->north_m[i] - s.middle_m[1]};
        for (int a = 0; a < 2; a++)
            for (int b = 0; b < 2; b++)
                c[a][b] += w * d[a] * d[b];
    }
    pappus_axes axes = pappus_axes_of((const double(*)[2])c);
    memcpy(s.axis, axes.axis, sizeof s.axis);
    s.scale_m[0] = fmax(sqrt(axes.major_m2), LEAST_SCALE_M);
    s.scale_m[1] = fmax(sqrt(fmax(axes.minor_m2, 0.0)), LEAST_SCALE_M);
    return s;
}

/* Scales out to which chance times the start is over the least; 0: nowhere. */
static double end_of(const start_law *s, double chance, double least_per_m2)
{
    double r = 0.0;
    while (r < FARTHEST && chance * s->total * start_of_radius(s, r * r) > least_per_m2)
        r += 0.25;
    return r > 0.0 ? r + BEYOND : 0.0;
}

/* How many landings of equal weight the wide part is worth, roughly: those that count. */
static double bandwidth_scales(const field_sample *sample)
{
    size_t used = 0;
    for (size_t i = 0; i < sample->count; i++)
        used += sample->counts[i];
    return fmin(BANDWIDTH * pow(fmax((double)used, 1.0), -1.0 / 6.0), WIDEST);
}

static void lay(pappus_grid *grid, const start_law *s, double end, double bandwidth)
{
    double length = 2.0 * (end + 4.0 * bandwidth), step = bandwidth / STEPS;
    memcpy(grid->origin_m, s->middle_m, sizeof grid->origin_m);
    memcpy(grid->axis, s->axis, sizeof grid->axis);
    for (int a = 0; a < 2; a++) {
        grid->nodes[a] = (size_t)ceil(length / step) + 5;
        grid->step_m[a] = step * s->scale_m[a];
        grid->low_m[a] = -0.5 * (double)(grid->nodes[a] - 1) * grid->step_m[a];
    }
}

/* Only inside the end: past it the values are 0, and the grid's border is. */
static void times_start(pappus_grid *grid, const start_law *s, double end)
{
    for (size_t j = 0; j < grid->nodes[1]; j++)
        for (size_t i = 0; i < grid->nodes[0]; i++) {
            double at_m[2];
            pappus_grid_place(at_m, grid, (double)i, (double)j);
            double r2 = radius2(s, at_m[0], at_m[1]);
            grid->per_m2[j * grid->nodes[0] + i] *= r2 < end * end ? start_of_radius(s, r2) : 0.0;
        }
}

int field_density(pappus_grid *out, const field_sample *sample, double chance, double least_per_m2,
                  pappus_error *err)
{
    start_law start = start_from(sample);
    *out = (pappus_grid){.per_m2 = NULL};
    if (!(start.total > 0.0)) return PAPPUS_OK;
    double end = end_of(&start, chance, least_per_m2), bandwidth = bandwidth_scales(sample);
    if (!(end > 0.0)) return PAPPUS_OK;
    lay(out, &start, end, bandwidth);
    size_t nodes = out->nodes[0] * out->nodes[1];
    out->per_m2 = calloc(nodes, sizeof *out->per_m2);
    double *mass = calloc(nodes, sizeof *mass), *row = calloc(out->nodes[0], sizeof *row);
    int status = out->per_m2 && mass && row ? PAPPUS_OK : pappus_fail_memory(err);
    for (size_t i = 0; i < sample->count && status == PAPPUS_OK; i++) {
        if (!sample->counts[i]) continue;
        double e = sample->east_m[i], n = sample->north_m[i];
        grid_share(mass, out, e, n,
                   sample->weight[i] / start_of_radius(&start, radius2(&start, e, n)));
    }
    if (status == PAPPUS_OK) {
        const double bandwidth_m[2] = {bandwidth * start.scale_m[0], bandwidth * start.scale_m[1]};
        pappus_grid_smooth(out, mass, row, bandwidth_m);
        times_start(out, &start, end);
    }
    free(mass);
    free(row);
    if (status != PAPPUS_OK) pappus_grid_clear(out);
    return status;
}

/* --------------------------------------------------------------------- sum */

static void hold_grid(double box[2][2], const pappus_grid *grid)
{
    for (int corner = 0; corner < 4; corner++) {
        double at_m[2];
        pappus_grid_place(at_m, grid, corner & 1 ? (double)(grid->nodes[0] - 1) : 0.0,
                          corner & 2 ? (double)(grid->nodes[1] - 1) : 0.0);
        for (int a = 0; a < 2; a++) {
            box[a][0] = fmin(box[a][0], at_m[a]);
            box[a][1] = fmax(box[a][1], at_m[a]);
        }
    }
}

int field_sum(pappus_grid *out, const pappus_grid *outcomes, const double *factor, size_t count,
              int threads, pappus_error *err)
{
    double box[2][2] = {{INFINITY, -INFINITY}, {INFINITY, -INFINITY}};
    *out = (pappus_grid){.axis = {1.0, 0.0}};
    for (size_t h = 0; h < count; h++)
        if (outcomes[h].per_m2) hold_grid(box, &outcomes[h]);
    if (!(box[0][0] < box[0][1])) return PAPPUS_OK;
    for (int a = 0; a < 2; a++) {
        out->step_m[a] = (box[a][1] - box[a][0]) / (FIELD_NODES - 5);
        out->low_m[a] = box[a][0] - 2.0 * out->step_m[a];
        out->nodes[a] = FIELD_NODES;
    }
    out->per_m2 = malloc((size_t)FIELD_NODES * FIELD_NODES * sizeof *out->per_m2);
    if (!out->per_m2) return pappus_fail_memory(err);
#pragma omp parallel for num_threads(threads)
    for (size_t i = 0; i < (size_t)FIELD_NODES * FIELD_NODES; i++) {
        double at_m[2];
        pappus_grid_place(at_m, out, (double)(i % FIELD_NODES), (double)(i / FIELD_NODES));
        out->per_m2[i] = 0.0;
        for (size_t h = 0; h < count; h++)
            if (outcomes[h].per_m2)
                out->per_m2[i] += factor[h] * pappus_grid_at(&outcomes[h], at_m[0], at_m[1]);
    }
    return PAPPUS_OK;
}
