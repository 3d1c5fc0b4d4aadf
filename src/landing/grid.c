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

void pappus_grid_place(double east_north_m[2], const pappus_grid *grid, double i, double j)
{
    double along = grid->low_m[0] + i * grid->step_m[0];
    double left = grid->low_m[1] + j * grid->step_m[1];
    east_north_m[0] = grid->origin_m[0] + along * grid->axis[0] - left * grid->axis[1];
    east_north_m[1] = grid->origin_m[1] + along * grid->axis[1] + left * grid->axis[0];
}

void grid_share(double *mass, const pappus_grid *grid, double east_m, double north_m, double share)
{
    size_t node;
    double place[2], part[2];
    grid_to(place, grid, east_m, north_m);
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
