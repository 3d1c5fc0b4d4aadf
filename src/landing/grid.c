/* SPDX-License-Identifier: GPL-3.0-or-later
 * Values on the nodes of a turned grid; grid.h tells of them. */
#include "grid.h"

#include <math.h>
#include <stdlib.h>

void pappus_grid_clear(pappus_grid *grid)
{
    free(grid->per_m2);
    *grid = (pappus_grid){0};
}

static void to_grid(double place[2], const pappus_grid *grid, double east_m, double north_m)
{
    double e = east_m - grid->origin_m[0], n = north_m - grid->origin_m[1];
    double along = e * grid->axis[0] + n * grid->axis[1];
    double left = n * grid->axis[0] - e * grid->axis[1];
    place[0] = (along - grid->low_m[0]) / grid->step_m[0];
    place[1] = (left - grid->low_m[1]) / grid->step_m[1];
}

void pappus_grid_place(double east_north_m[2], const pappus_grid *grid, double i, double j)
{
    double along = grid->low_m[0] + i * grid->step_m[0];
    double left = grid->low_m[1] + j * grid->step_m[1];
    east_north_m[0] = grid->origin_m[0] + along * grid->axis[0] - left * grid->axis[1];
    east_north_m[1] = grid->origin_m[1] + along * grid->axis[1] + left * grid->axis[0];
}

/* Node and fractions of a place; false when it lies outside. */
bool grid_cell(size_t *node, double part[2], const pappus_grid *grid, const double place[2])
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

double grid_value(const pappus_grid *grid, const double place[2])
{
    size_t node;
    double part[2];
    if (!grid_cell(&node, part, grid, place)) return 0.0;
    const double *here = grid->per_m2 + node, *left = here + grid->nodes[0];
    double low = here[0] + part[0] * (here[1] - here[0]);
    double high = left[0] + part[0] * (left[1] - left[0]);
    return low + part[1] * (high - low);
}

double pappus_grid_at(const pappus_grid *grid, double east_m, double north_m)
{
    double place[2];
    to_grid(place, grid, east_m, north_m);
    return grid_value(grid, place);
}

void grid_put(double *at, size_t row, const double part[2], double mass)
{
    at[0] += mass * (1.0 - part[0]) * (1.0 - part[1]);
    at[1] += mass * part[0] * (1.0 - part[1]);
    at[row] += mass * (1.0 - part[0]) * part[1];
    at[row + 1] += mass * part[0] * part[1];
}

void grid_share(double *mass, const pappus_grid *grid, double east_m, double north_m, double share)
{
    size_t node;
    double place[2], part[2];
    to_grid(place, grid, east_m, north_m);
    if (grid_cell(&node, part, grid, place)) grid_put(mass + node, grid->nodes[0], part, share);
}

/* Lays nodes over [low, high] and a margin, with the step wanted or the least that
 * `most` nodes allow; two steps more at each end keep the border at 0. */
void grid_lay_axis(pappus_grid *grid, int axis, const double range_m[2], double margin_m,
                   double step_m, size_t most)
{
    double length_m = range_m[1] - range_m[0] + 2.0 * margin_m;
    grid->step_m[axis] = fmax(step_m, length_m / (double)(most - 6));
    grid->low_m[axis] = range_m[0] - margin_m - 2.0 * grid->step_m[axis];
    grid->nodes[axis] = (size_t)ceil(length_m / grid->step_m[axis]) + 5;
}
