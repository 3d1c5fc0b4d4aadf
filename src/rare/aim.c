/* SPDX-License-Identifier: GPL-3.0-or-later
 * Leading landings onto an area; method in aim.h. */
#include "aim.h"

#include "error.h"
#include "geometry.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define ROUNDS 4
#define SAMPLES 2          /* of a cell, along a side */
#define TOUCHED 0.1        /* least part of a cell that an edge goes through */
#define DROPPED 1e-4       /* of the most that a cell has: left out of the next round */
#define KERNEL_ENDS 7.0    /* widths */
#define SMOOTHED 2.5       /* scatters about the cells that matter */
#define MARGIN 5.0         /* scatters about the area at which cells begin */
#define MARGIN_OF_MOST 7.0 /* the same for the most that an area's chance can be */
#define FEW 8              /* profiles, of each of which a cell's likeliest point is looked for */
#define MOST_LEANED 3.0    /* standard deviations, of all z together */

/* --------------------------------------------------------------------- box */

static void hold(double box[2][2], const double x_m[2], const double margin_m[2])
{
    for (int a = 0; a < 2; a++) {
        box[a][0] = fmin(box[a][0], x_m[a] - margin_m[a]);
        box[a][1] = fmax(box[a][1], x_m[a] + margin_m[a]);
    }
}

/* About the area by so many scatters, and no farther than the law and they reach. */
static bool box_about(double box[2][2], const rare_law *law, const rare_map *map,
                      const pappus_area *area, double margin)
{
    double reach[2][2] = {{INFINITY, -INFINITY}, {INFINITY, -INFINITY}}, bounds[4];
    const double margin_m[2] = {margin * map->scatter_m[0], margin * map->scatter_m[1]};
    for (int a = 0; a < 2; a++) {
        box[a][0] = INFINITY;
        box[a][1] = -INFINITY;
    }
    if (!pappus_area_bounds(bounds, area)) return false;
    for (int corner = 0; corner < 4; corner++) {
        double x_m[2];
        rare_map_from(x_m, map, bounds[corner & 1 ? 2 : 0], bounds[corner & 2 ? 3 : 1]);
        hold(box, x_m, margin_m);
    }
    for (size_t k = 0; k < law->profile_count; k++)
        hold(reach, law->origin_m[k], (const double[2]){law->reach_m[k], law->reach_m[k]});
    for (int a = 0; a < 2; a++) {
        box[a][0] = fmax(box[a][0], reach[a][0] - margin_m[a]);
        box[a][1] = fmin(box[a][1], reach[a][1] + margin_m[a]);
    }
    return box[0][0] < box[0][1] && box[1][0] < box[1][1];
}

/* No more than the law's highest density in the box, all over it. */
static double most_of_box(const rare_law *law, const rare_map *map, const pappus_area *area,
                          double margin)
{
    double box[2][2];
    if (!box_about(box, law, map, area, margin)) return 0.0;
    double box_m2 = (box[0][1] - box[0][0]) * (box[1][1] - box[1][0]);
    return fmin(rare_law_most_per_m2(law, (const double(*)[2])box) * box_m2, 1.0);
}

/* What comes from outside a box of so many scatters scattered by more than that: of a normal
 * scatter in the plane exp(-margin^2 / 2). */
rare_foresight rare_aim_foresee(const rare_law *law, const rare_map *map, const pappus_area *area)
{
    double outside = exp(-0.5 * MARGIN_OF_MOST * MARGIN_OF_MOST);
    return (rare_foresight){.most = most_of_box(law, map, area, MARGIN_OF_MOST) + outside,
                            .about = most_of_box(law, map, area, 1.0)};
}

static void set_box(rare_aim *aim, double box[2][2])
{
    for (int a = 0; a < 2; a++) {
        aim->low_m[a] = box[a][0];
        aim->step_m[a] = (box[a][1] - box[a][0]) / AIM_SIDE;
    }
}

static void middle(double x_m[2], const rare_aim *aim, size_t cell)
{
    x_m[0] = aim->low_m[0] + aim->step_m[0] * ((double)(cell % AIM_SIDE) + 0.5);
    x_m[1] = aim->low_m[1] + aim->step_m[1] * ((double)(cell / AIM_SIDE) + 0.5);
}

/* ------------------------------------------------------------------- cells */

/* What one round works with. */
typedef struct {
    double east_m[AIM_CELLS * SAMPLES * SAMPLES], north_m[AIM_CELLS * SAMPLES * SAMPLES];
    uint8_t in[AIM_CELLS * SAMPLES * SAMPLES];
    double part[AIM_CELLS], row[AIM_CELLS], log_mass[AIM_CELLS];
    double at[2][AIM_CELLS]; /* mean cell of the area's landings that are led to a cell */
} cells;

static int fill_parts(cells *c, const rare_aim *aim, const rare_map *map,
                      const pappus_containment *shape, pappus_error *err)
{
    size_t each = SAMPLES * SAMPLES;
    for (size_t i = 0; i < AIM_CELLS * each; i++) {
        double x_m[2], at_m[2];
        middle(x_m, aim, i / each);
        x_m[0] += aim->step_m[0] * (((double)(i % SAMPLES) + 0.5) / SAMPLES - 0.5);
        x_m[1] += aim->step_m[1] * (((double)(i / SAMPLES % SAMPLES) + 0.5) / SAMPLES - 0.5);
        rare_map_to(at_m, map, x_m);
        c->east_m[i] = at_m[0];
        c->north_m[i] = at_m[1];
    }
    int status =
        pappus_containment_test(c->in, shape, AIM_CELLS * each, c->east_m, c->north_m, 1, err);
    for (size_t i = 0; i < AIM_CELLS; i++) {
        c->part[i] = 0.0;
        for (size_t j = 0; j < each; j++)
            c->part[i] += c->in[i * each + j] ? 1.0 / (double)each : 0.0;
    }
    return status;
}

static bool find_cell(size_t *cell, const rare_aim *aim, const double x_m[2])
{
    double at[2];
    for (int a = 0; a < 2; a++)
        at[a] = (x_m[a] - aim->low_m[a]) / aim->step_m[a];
    if (!(at[0] >= 0.0 && at[0] < AIM_SIDE && at[1] >= 0.0 && at[1] < AIM_SIDE)) return false;
    *cell = (size_t)at[1] * AIM_SIDE + (size_t)at[0];
    return true;
}

/* Cells that an edge passes hold some of the area, however thin it is there. */
static void mark_edge(cells *c, const rare_aim *aim, const double from_m[2], const double to_m[2])
{
    double steps = fmax(fabs(to_m[0] - from_m[0]) / aim->step_m[0],
                        fabs(to_m[1] - from_m[1]) / aim->step_m[1]);
    size_t count = (size_t)fmin(2.0 * steps, 64.0 * AIM_SIDE) + 1;
    for (size_t i = 0; i <= count; i++) {
        double t = (double)i / (double)count;
        const double x_m[2] = {from_m[0] + t * (to_m[0] - from_m[0]),
                               from_m[1] + t * (to_m[1] - from_m[1])};
        size_t cell;
        if (find_cell(&cell, aim, x_m)) c->part[cell] = fmax(c->part[cell], TOUCHED);
    }
}

static void mark_edges(cells *c, const rare_aim *aim, const rare_map *map, const pappus_area *area)
{
    for (size_t p = 0; p < area->polygon_count; p++)
        for (size_t r = 0; r < area->polygons[p].ring_count; r++) {
            const pappus_ring *ring = &area->polygons[p].rings[r];
            for (size_t i = 0; i < ring->point_count; i++) {
                const double *a = ring->points_m + 2 * i;
                const double *b = ring->points_m + 2 * ((i + 1) % ring->point_count);
                double from_m[2], to_m[2];
                rare_map_from(from_m, map, a[0], a[1]);
                rare_map_from(to_m, map, b[0], b[1]);
                mark_edge(c, aim, from_m, to_m);
            }
        }
}

/* Weights 0 ... radius of a Gaussian kernel, and what those of both sides sum to. */
static double kernel(double weight[AIM_SIDE], size_t *radius, double width)
{
    double sum = 0.0;
    *radius = (size_t)fmin(ceil(KERNEL_ENDS * width), AIM_SIDE - 1);
    for (size_t k = 0; k <= *radius; k++) {
        weight[k] = exp(-0.5 * (double)(k * k) / (width * width));
        sum += k == 0 ? weight[k] : 2.0 * weight[k];
    }
    return sum;
}

/* Along the second axis: whole rows at once. */
static void smooth_rows(double *out, const double *in, double width)
{
    double weight[AIM_SIDE];
    size_t radius;
    double sum = kernel(weight, &radius, width);
    memset(out, 0, AIM_CELLS * sizeof *out);
    for (size_t from = 0; from < AIM_SIDE; from++) {
        size_t first = from > radius ? from - radius : 0;
        size_t end = from + radius < AIM_SIDE ? from + radius : AIM_SIDE - 1;
        for (size_t to = first; to <= end; to++) {
            double w = weight[to > from ? to - from : from - to];
#pragma omp simd
            for (size_t i = 0; i < AIM_SIDE; i++)
                out[to * AIM_SIDE + i] += in[from * AIM_SIDE + i] * w;
        }
    }
    for (size_t i = 0; i < AIM_CELLS; i++)
        out[i] /= sum;
}

static void transpose(double *out, const double *in)
{
    for (size_t i = 0; i < AIM_CELLS; i++)
        out[i % AIM_SIDE * AIM_SIDE + i / AIM_SIDE] = in[i];
}

/* A scatter under half a cell still moves landings over the cells' edges. */
static void smooth(double *values, double *room, const rare_aim *aim, const double scatter_m[2])
{
    transpose(room, values);
    smooth_rows(values, room, fmax(scatter_m[0] / aim->step_m[0], 0.5));
    transpose(room, values);
    smooth_rows(values, room, fmax(scatter_m[1] / aim->step_m[1], 0.5));
}

/* With the parts as they are; these are smoothed next. */
static void find_places(cells *c, const rare_aim *aim, const double scatter_m[2])
{
    for (int a = 0; a < 2; a++) {
        for (size_t i = 0; i < AIM_CELLS; i++)
            c->at[a][i] = c->part[i] * (double)(a == 0 ? i % AIM_SIDE : i / AIM_SIDE);
        smooth(c->at[a], c->row, aim, scatter_m);
    }
}

/* In all but the last round f is that of the point of the cell that is likeliest. */
static double log_f(const rare_aim *aim, const rare_law *law, size_t cell, bool last)
{
    double x_m[2], best = -INFINITY;
    middle(x_m, aim, cell);
    if (last || law->profile_count > FEW) return rare_law_log_density(law, x_m);
    for (size_t k = 0; k < law->profile_count; k++) {
        double near_m[2];
        for (int a = 0; a < 2; a++) {
            double half = 0.5 * aim->step_m[a], to = law->origin_m[k][a] - x_m[a];
            near_m[a] = x_m[a] + fmin(fmax(to, -half), half);
        }
        best = fmax(best, rare_law_log_density(law, near_m));
    }
    return best;
}

static double fill_masses(cells *c, const rare_aim *aim, const rare_law *law, bool last)
{
    double most = -INFINITY;
    for (size_t i = 0; i < AIM_CELLS; i++) {
        c->log_mass[i] =
            c->part[i] > 1e-12 ? log_f(aim, law, i, last) + log(c->part[i]) : -INFINITY;
        most = fmax(most, c->log_mass[i]);
    }
    return most;
}

/* The box of the cells that matter and of those of the area that are smoothed into them; false
 * when it is not much smaller. */
static bool shrink(double box[2][2], const cells *c, const rare_aim *aim, const rare_map *map,
                   double most)
{
    size_t low[2] = {AIM_SIDE, AIM_SIDE}, high[2] = {0, 0};
    for (size_t i = 0; i < AIM_CELLS; i++) {
        if (c->log_mass[i] < most + log(DROPPED)) continue;
        const size_t at[2] = {i % AIM_SIDE, i / AIM_SIDE};
        for (int a = 0; a < 2; a++) {
            low[a] = at[a] < low[a] ? at[a] : low[a];
            high[a] = at[a] > high[a] ? at[a] : high[a];
        }
    }
    double kept = 1.0;
    for (int a = 0; a < 2; a++) {
        size_t about = (size_t)fmin(SMOOTHED * map->scatter_m[a] / aim->step_m[a], AIM_SIDE) + 1;
        size_t first = low[a] > about ? low[a] - about : 0;
        size_t last = high[a] + 1 + about < AIM_SIDE ? high[a] + 1 + about : AIM_SIDE;
        box[a][0] = aim->low_m[a] + aim->step_m[a] * (double)first;
        box[a][1] = aim->low_m[a] + aim->step_m[a] * (double)last;
        kept *= (double)(last - first) / AIM_SIDE;
    }
    return kept < 0.7;
}

/* d of a cell, as far as z can be leaned. */
static void set_beside(rare_aim *aim, const cells *c, size_t i)
{
    double off_m[2], z2 = 0.0;
    for (int a = 0; a < 2; a++)
        off_m[a] = (c->at[a][i] / c->part[i] - (double)(a == 0 ? i % AIM_SIDE : i / AIM_SIDE)) *
                   aim->step_m[a];
    for (int a = 0; a < 2; a++)
        aim->beside_m[i][a] = aim->map.matrix[a][0] * off_m[0] + aim->map.matrix[a][1] * off_m[1];
    for (size_t q = 0; q < aim->map.normal_count; q++) {
        const double *lean = aim->map.lean_per_m[q];
        double by = lean[0] * aim->beside_m[i][0] + lean[1] * aim->beside_m[i][1];
        z2 += by * by;
    }
    double kept = fmin(MOST_LEANED / sqrt(fmax(z2, 1e-12)), 1.0);
    for (int a = 0; a < 2; a++)
        aim->beside_m[i][a] *= kept;
}

static void finish(rare_aim *aim, const cells *c, const rare_map *map, double most)
{
    double sum = 0.0, chance = 0.0, cell_m2 = aim->step_m[0] * aim->step_m[1];
    aim->map = *map;
    for (size_t i = 0; i < AIM_CELLS; i++) {
        double part = c->part[i] > 1e-12 ? c->part[i] : 0.0;
        double mass = part > 0.0 ? exp(c->log_mass[i] - most) : 0.0;
        chance += mass;
        aim->per_m2[i] = part > 0.0 ? mass * pow(part, -0.5 * (1.0 - map->told)) : 0.0;
        sum += aim->per_m2[i];
        aim->upto[i] = sum;
        if (part > 0.0) set_beside(aim, c, i);
    }
    for (size_t i = 0; i < AIM_CELLS; i++) {
        aim->per_m2[i] /= sum * cell_m2;
        aim->upto[i] /= sum;
    }
    aim->log_chance = most + log(chance * cell_m2);
    aim->in_reach = isfinite(aim->log_chance);
}

static int lay_cells(rare_aim *aim, cells *c, const rare_law *law, const rare_map *map,
                     const pappus_containment *shape, const pappus_area *area, pappus_error *err)
{
    double box[2][2];
    bool smaller = true;
    if (!box_about(box, law, map, area, MARGIN)) return PAPPUS_OK;
    for (int round = 0;; round++) {
        bool last = round + 1 == ROUNDS || !smaller;
        set_box(aim, box);
        int status = fill_parts(c, aim, map, shape, err);
        if (status != PAPPUS_OK) return status;
        mark_edges(c, aim, map, area);
        if (last) find_places(c, aim, map->scatter_m);
        smooth(c->part, c->row, aim, map->scatter_m);
        double most = fill_masses(c, aim, law, last);
        if (!isfinite(most)) return PAPPUS_OK;
        if (last) {
            finish(aim, c, map, most);
            return PAPPUS_OK;
        }
        smaller = shrink(box, c, aim, map, most);
    }
}

int rare_aim_build(rare_aim *out, const rare_law *law, const rare_map *map,
                   const pappus_containment *shape, const pappus_area *area, pappus_error *err)
{
    cells *c = malloc(sizeof *c);
    *out = (rare_aim){.in_reach = false};
    int status = c ? lay_cells(out, c, law, map, shape, area, err) : pappus_fail_memory(err);
    free(c);
    return status;
}

/* The density of leaned z over the plain one's; 0 where what they were leaned from cannot be. */
static double leaned_ratio(const rare_aim *aim, size_t cell, const double *z,
                           const pappus_normals *normals)
{
    double sum = 0.0;
    for (size_t q = 0; q < aim->map.normal_count; q++) {
        const double *lean = aim->map.lean_per_m[q];
        double by = lean[0] * aim->beside_m[cell][0] + lean[1] * aim->beside_m[cell][1];
        if (by == 0.0) continue;
        double from = z[q] - by;
        bool cut = q < normals->count && !(from > normals->low[q] && from <= normals->high[q]);
        if (cut) return 0.0;
        sum += by * (z[q] - 0.5 * by);
    }
    return exp(sum);
}

double rare_aim_per_m2(const rare_aim *aim, const double x_m[2], const double *z,
                       const pappus_normals *normals)
{
    size_t cell;
    if (!aim->in_reach || !find_cell(&cell, aim, x_m) || !(aim->per_m2[cell] > 0.0)) return 0.0;
    double leaned = aim->map.normal_count > 0 ? leaned_ratio(aim, cell, z, normals) : 1.0;
    return aim->per_m2[cell] * (1.0 - AIM_LEANED + AIM_LEANED * leaned);
}

void rare_aim_lean(double *by, const rare_aim *aim, const double x_m[2])
{
    size_t cell;
    bool found = find_cell(&cell, aim, x_m);
    for (size_t q = 0; q < aim->map.normal_count; q++)
        by[q] = found ? aim->map.lean_per_m[q][0] * aim->beside_m[cell][0] +
                            aim->map.lean_per_m[q][1] * aim->beside_m[cell][1]
                      : 0.0;
}

void rare_aim_draw(double x_m[2], const rare_aim *aim, const double uniform[3])
{
    size_t low = 0, high = AIM_CELLS - 1;
    while (low < high) {
        size_t half = (low + high) / 2;
        if (aim->upto[half] > uniform[0])
            high = half;
        else
            low = half + 1;
    }
    middle(x_m, aim, low);
    for (int a = 0; a < 2; a++)
        x_m[a] += aim->step_m[a] * (uniform[1 + a] - 0.5);
}
