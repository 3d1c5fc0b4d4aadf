/* SPDX-License-Identifier: GPL-3.0-or-later
 * Where led falls land; method in map.h. S is found by least squares, one z at a time in
 * turns (they are drawn independently, so few turns do), held back a little towards 0; what
 * tells less than LEAST_TOLD of the scatter is left out as noise. */
#include "map.h"

#include "error.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define NEAREST 64 /* falls that tell of the place they land near */
#define LEAST_SCATTER_M 1.0
#define WIDER 1.2 /* a scatter is taken as so much more: too narrow an aim costs most */
#define TURNS 6
#define HELD_BACK 2.0   /* falls without an effect that are added */
#define LEAST_TOLD 0.03 /* of the variance */

static void invert(double out[2][2], double a[2][2])
{
    double det = a[0][0] * a[1][1] - a[0][1] * a[1][0];
    out[0][0] = a[1][1] / det;
    out[0][1] = -a[0][1] / det;
    out[1][0] = -a[1][0] / det;
    out[1][1] = a[0][0] / det;
}

void rare_map_to(double out_m[2], const rare_map *map, const double x_m[2])
{
    for (int a = 0; a < 2; a++)
        out_m[a] = map->shift_m[a] + map->matrix[a][0] * x_m[0] + map->matrix[a][1] * x_m[1];
}

void rare_map_from(double x_m[2], const rare_map *map, double east_m, double north_m)
{
    double e = east_m - map->shift_m[0], n = north_m - map->shift_m[1];
    x_m[0] = map->back[0][0] * e + map->back[0][1] * n;
    x_m[1] = map->back[1][0] * e + map->back[1][1] * n;
}

typedef struct {
    double x[2], y[2], xx[2][2], xy[2][2];
} sums;

static sums moments(const rare_flown *f)
{
    sums s = {{0}, {0}, {{0}, {0}}, {{0}, {0}}};
    double n = (double)f->count;
    for (size_t i = 0; i < f->count; i++)
        for (int a = 0; a < 2; a++) {
            s.x[a] += f->x_m[i][a] / n;
            s.y[a] += f->at_m[i][a] / n;
        }
    for (size_t i = 0; i < f->count; i++)
        for (int a = 0; a < 2; a++)
            for (int b = 0; b < 2; b++) {
                s.xx[a][b] += (f->x_m[i][a] - s.x[a]) * (f->x_m[i][b] - s.x[b]);
                s.xy[a][b] += (f->x_m[i][a] - s.x[a]) * (f->at_m[i][b] - s.y[b]);
            }
    return s;
}

/* Where the falls tell nothing of B, or what cannot be, x is taken for the place. */
void rare_map_fit(rare_map *out, const rare_flown *flown)
{
    sums s = moments(flown);
    double det = s.xx[0][0] * s.xx[1][1] - s.xx[0][1] * s.xx[1][0];
    *out = (rare_map){.matrix = {{1.0, 0.0}, {0.0, 1.0}},
                      .scatter_m = {LEAST_SCATTER_M, LEAST_SCATTER_M},
                      .normal_count = flown->normal_count};
    if (det > 0.0) {
        for (int b = 0; b < 2; b++) {
            out->matrix[b][0] = (s.xx[1][1] * s.xy[0][b] - s.xx[0][1] * s.xy[1][b]) / det;
            out->matrix[b][1] = (s.xx[0][0] * s.xy[1][b] - s.xx[1][0] * s.xy[0][b]) / det;
        }
        double turned =
            out->matrix[0][0] * out->matrix[1][1] - out->matrix[0][1] * out->matrix[1][0];
        if (!(turned > 0.05 && turned < 20.0))
            memcpy(out->matrix, (double[2][2]){{1.0, 0.0}, {0.0, 1.0}}, sizeof out->matrix);
    }
    for (int b = 0; b < 2; b++)
        out->shift_m[b] = s.y[b] - out->matrix[b][0] * s.x[0] - out->matrix[b][1] * s.x[1];
    invert(out->back, out->matrix);
}

typedef struct {
    double away_m;
    size_t i;
} neighbour;

static int by_distance(const void *a, const void *b)
{
    double x = ((const neighbour *)a)->away_m, y = ((const neighbour *)b)->away_m;
    return x < y ? -1 : x > y;
}

/* The nearest falls: how far off m(x) they landed, and their z, both about their means. */
typedef struct {
    size_t count;
    double off_m[NEAREST][2], mean_m[2];
    double z[NEAREST][RARE_NORMALS_MOST], mean_z[RARE_NORMALS_MOST];
    double effect_m[RARE_NORMALS_MOST][2]; /* S */
} nearest;

static void gather(nearest *out, const rare_map *map, const rare_flown *flown,
                   const neighbour *sorted)
{
    size_t many = map->normal_count;
    *out = (nearest){.count = flown->count < NEAREST ? flown->count : NEAREST};
    double n = (double)out->count;
    for (size_t j = 0; j < out->count; j++) {
        size_t i = sorted[j].i;
        double to[2];
        rare_map_to(to, map, flown->x_m[i]);
        for (int a = 0; a < 2; a++)
            out->mean_m[a] += (out->off_m[j][a] = flown->at_m[i][a] - to[a]) / n;
        for (size_t q = 0; q < many; q++)
            out->mean_z[q] += (out->z[j][q] = flown->normal[i * many + q]) / n;
    }
    for (size_t j = 0; j < out->count; j++) {
        for (int a = 0; a < 2; a++)
            out->off_m[j][a] -= out->mean_m[a];
        for (size_t q = 0; q < many; q++)
            out->z[j][q] -= out->mean_z[q];
    }
}

/* One z's effect anew, off_m being what all others leave. */
static void fit_one(nearest *s, size_t q, bool left_out)
{
    double zz = HELD_BACK, zr[2] = {0.0, 0.0}, was[2] = {s->effect_m[q][0], s->effect_m[q][1]};
    for (size_t j = 0; j < s->count; j++) {
        zz += s->z[j][q] * s->z[j][q];
        for (int a = 0; a < 2; a++)
            zr[a] += s->z[j][q] * (s->off_m[j][a] + was[a] * s->z[j][q]);
    }
    for (int a = 0; a < 2; a++) {
        s->effect_m[q][a] = left_out ? 0.0 : zr[a] / zz;
        for (size_t j = 0; j < s->count; j++)
            s->off_m[j][a] += (was[a] - s->effect_m[q][a]) * s->z[j][q];
    }
}

static double told_by(const nearest *s, size_t q)
{
    return s->effect_m[q][0] * s->effect_m[q][0] + s->effect_m[q][1] * s->effect_m[q][1];
}

/* Covariance of what is left. */
static void rest_of(double out[2][2], const nearest *s)
{
    double n = fmax((double)s->count - 1.0, 1.0);
    for (int a = 0; a < 2; a++)
        for (int b = 0; b < 2; b++) {
            out[a][b] = a == b ? LEAST_SCATTER_M * LEAST_SCATTER_M : 0.0;
            for (size_t j = 0; j < s->count; j++)
                out[a][b] += s->off_m[j][a] * s->off_m[j][b] / n;
        }
}

static void fit_effects(nearest *s, size_t many)
{
    bool left_out[RARE_NORMALS_MOST] = {false};
    for (int turn = 0; turn < 2 * TURNS; turn++) {
        for (size_t q = 0; q < many; q++)
            if (!left_out[q]) fit_one(s, q, false);
        if (turn + 1 != TURNS) continue;
        double rest[2][2];
        rest_of(rest, s);
        double all = rest[0][0] + rest[1][1];
        for (size_t q = 0; q < many; q++)
            all += told_by(s, q);
        for (size_t q = 0; q < many; q++) {
            left_out[q] = told_by(s, q) < LEAST_TOLD * all;
            if (left_out[q]) fit_one(s, q, true);
        }
    }
}

/* rho of the landings' covariance. */
static void set_scatter(rare_map *map, double all[2][2])
{
    for (int a = 0; a < 2; a++) {
        const double *b = map->back[a];
        double v =
            b[0] * b[0] * all[0][0] + 2.0 * b[0] * b[1] * all[0][1] + b[1] * b[1] * all[1][1];
        map->scatter_m[a] = fmax(WIDER * sqrt(fmax(v, 0.0)), LEAST_SCATTER_M);
    }
}

static void take(rare_map *map, const nearest *s)
{
    double rest[2][2], all[2][2], over[2][2];
    rest_of(rest, s);
    memcpy(all, rest, sizeof all);
    for (size_t q = 0; q < map->normal_count; q++)
        for (int a = 0; a < 2; a++)
            for (int b = 0; b < 2; b++)
                all[a][b] += s->effect_m[q][a] * s->effect_m[q][b];
    for (int a = 0; a < 2; a++) {
        map->shift_m[a] += s->mean_m[a];
        for (size_t q = 0; q < map->normal_count; q++)
            map->shift_m[a] -= s->effect_m[q][a] * s->mean_z[q];
    }
    map->told = 1.0 - (rest[0][0] + rest[1][1]) / (all[0][0] + all[1][1]);
    set_scatter(map, all);
    invert(over, all);
    for (size_t q = 0; q < map->normal_count; q++)
        for (int a = 0; a < 2; a++)
            map->lean_per_m[q][a] = s->effect_m[q][0] * over[0][a] + s->effect_m[q][1] * over[1][a];
}

int rare_map_localise(rare_map *map, const rare_flown *flown, const double near_m[2],
                      pappus_error *err)
{
    neighbour *sorted = malloc((flown->count + 1) * sizeof *sorted);
    nearest *s = malloc(sizeof *s);
    int status = sorted && s ? PAPPUS_OK : pappus_fail_memory(err);
    if (status == PAPPUS_OK) {
        for (size_t i = 0; i < flown->count; i++)
            sorted[i] =
                (neighbour){hypot(flown->at_m[i][0] - near_m[0], flown->at_m[i][1] - near_m[1]), i};
        qsort(sorted, flown->count, sizeof *sorted, by_distance);
        gather(s, map, flown, sorted);
        fit_effects(s, map->normal_count);
        take(map, s);
    }
    free(sorted);
    free(s);
    return status;
}
