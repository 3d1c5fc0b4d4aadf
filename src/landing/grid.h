/* SPDX-License-Identifier: GPL-3.0-or-later
 * Values on the nodes of a grid with its axes turned, bilinear between them. */
#ifndef PAPPUS_LANDING_GRID_H
#define PAPPUS_LANDING_GRID_H

#include <stdbool.h>
#include <stddef.h>

/** Values on the nodes of a grid with its axes turned: node (i, j) lies at
 * origin + (low[0] + i step[0]) * axis + (low[1] + j step[1]) * (axis turned left). */
typedef struct {
    double origin_m[2];
    double axis[2];
    double low_m[2], step_m[2];
    size_t nodes[2];
    double *per_m2; /**< [nodes[1]][nodes[0]]; 0 on the border */
} pappus_grid;

void pappus_grid_clear(pappus_grid *grid);
/** East and north of a place in units of nodes. */
void pappus_grid_place(double east_north_m[2], const pappus_grid *grid, double i, double j);
/** Shares a mass out to mass[nodes[1]][nodes[0]]; what lies outside is lost. */
void grid_share(double *mass, const pappus_grid *grid, double east_m, double north_m, double share);
/** Lays the nodes of an axis over a range and a margin: step_m, or the least that `most`
 * nodes allow. */
void grid_lay_axis(pappus_grid *grid, int axis, const double range_m[2], double margin_m,
                   double step_m, size_t most);

/** A place in units of nodes. */
static inline void grid_to(double place[2], const pappus_grid *grid, double east_m, double north_m)
{
    double e = east_m - grid->origin_m[0], n = north_m - grid->origin_m[1];
    double along = e * grid->axis[0] + n * grid->axis[1];
    double left = n * grid->axis[0] - e * grid->axis[1];
    place[0] = (along - grid->low_m[0]) / grid->step_m[0];
    place[1] = (left - grid->low_m[1]) / grid->step_m[1];
}

/** Node and fractions of a place in units of nodes; false when it lies outside. */
static inline bool grid_cell(size_t *node, double part[2], const pappus_grid *grid,
                             const double place[2])
{
    double last[2] = {(double)(grid->nodes[0] - 1), (double)(grid->nodes[1] - 1)};
    if (!(place[0] >= 0.0 && place[0] < last[0] && place[1] >= 0.0 && place[1] < last[1]))
        return false;
    size_t i = (size_t)place[0], j = (size_t)place[1];
    part[0] = place[0] - (double)i;
    part[1] = place[1] - (double)j;
    *node = j * grid->nodes[0] + i;
    return true;
}

/** As pappus_grid_at, of a place in units of nodes. */
static inline double grid_value(const pappus_grid *grid, const double place[2])
{
    size_t node;
    double part[2];
    if (!grid_cell(&node, part, grid, place)) return 0.0;
    const double *here = grid->per_m2 + node, *left = here + grid->nodes[0];
    double low = here[0] + part[0] * (here[1] - here[0]);
    double high = left[0] + part[0] * (left[1] - left[0]);
    return low + part[1] * (high - low);
}

/** Bilinear between nodes, 0 outside. */
static inline double pappus_grid_at(const pappus_grid *grid, double east_m, double north_m)
{
    double place[2];
    grid_to(place, grid, east_m, north_m);
    return grid_value(grid, place);
}

/** Shares a mass out to the four nodes about a place in a cell; row: nodes in a row. */
static inline void grid_put(double *at, size_t row, const double part[2], double mass)
{
    at[0] += mass * (1.0 - part[0]) * (1.0 - part[1]);
    at[1] += mass * part[0] * (1.0 - part[1]);
    at[row] += mass * (1.0 - part[0]) * part[1];
    at[row + 1] += mass * part[0] * part[1];
}

#endif
