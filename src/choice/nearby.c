/* SPDX-License-Identifier: GPL-3.0-or-later
 * Landings near a place, counted: no density is estimated. Cells are at least as wide as
 * the reach, so a place and its eight neighbours hold all that is near. */
#include "nearby.h"

#include "error.h"

#include <math.h>
#include <stdlib.h>

#define CELLS_MOST 1024 /* along a side */

static size_t along(double x, double low, double cell, size_t cells)
{
    double at = floor((x - low) / cell);
    return at <= 0.0 ? 0 : at >= (double)cells ? cells - 1 : (size_t)at;
}

static size_t cell_of(const pappus_nearby *n, size_t i)
{
    size_t column = along(n->cloud->east_m[i], n->low_m[0], n->cell_m, n->columns);
    return along(n->cloud->north_m[i], n->low_m[1], n->cell_m, n->rows) * n->columns + column;
}

static void set_cells(pappus_nearby *n)
{
    double high[2] = {-INFINITY, -INFINITY};
    n->low_m[0] = n->low_m[1] = INFINITY;
    for (size_t i = 0; i < n->cloud->count; i++) {
        const double at[2] = {n->cloud->east_m[i], n->cloud->north_m[i]};
        for (int a = 0; a < 2; a++) {
            n->low_m[a] = fmin(n->low_m[a], at[a]);
            high[a] = fmax(high[a], at[a]);
        }
    }
    double side = fmax(fmax(high[0] - n->low_m[0], high[1] - n->low_m[1]), 0.0);
    n->cell_m = fmax(n->reach_m, side / CELLS_MOST);
    n->columns = (size_t)(fmax(high[0] - n->low_m[0], 0.0) / n->cell_m) + 1;
    n->rows = (size_t)(fmax(high[1] - n->low_m[1], 0.0) / n->cell_m) + 1;
}

/* A sort by counting: start[c + 1] is the next free place of cell c, and in the end where
 * cell c + 1 begins. */
static void sort_landings(pappus_nearby *n)
{
    for (size_t i = 0; i < n->cloud->count; i++)
        n->start[cell_of(n, i) + 2]++;
    for (size_t c = 2; c < n->columns * n->rows + 2; c++)
        n->start[c] += n->start[c - 1];
    for (size_t i = 0; i < n->cloud->count; i++)
        n->landing[n->start[cell_of(n, i) + 1]++] = i;
}

int pappus_nearby_build(pappus_nearby *out, const pappus_cloud *cloud, double reach_m,
                        pappus_error *err)
{
    *out = (pappus_nearby){.cloud = cloud, .reach_m = reach_m};
    if (!(reach_m > 0.0) || cloud->count == 0) return PAPPUS_OK;
    set_cells(out);
    out->start = calloc(out->columns * out->rows + 2, sizeof *out->start);
    out->landing = malloc(cloud->count * sizeof *out->landing);
    if (!out->start || !out->landing) {
        pappus_nearby_clear(out);
        return pappus_fail_memory(err);
    }
    sort_landings(out);
    return PAPPUS_OK;
}

static double cell_chance(const pappus_nearby *n, size_t cell, double east_m, double north_m)
{
    double chance = 0.0;
    for (size_t k = n->start[cell]; k < n->start[cell + 1]; k++) {
        size_t i = n->landing[k];
        double east = n->cloud->east_m[i] - east_m, north = n->cloud->north_m[i] - north_m;
        if (east * east + north * north <= n->reach_m * n->reach_m)
            chance += pappus_cloud_weight(n->cloud, i);
    }
    return chance;
}

double pappus_nearby_chance(const pappus_nearby *nearby, double east_m, double north_m)
{
    const pappus_nearby *n = nearby;
    double chance = 0.0;
    if (!n->start) return 0.0;
    double column = floor((east_m - n->low_m[0]) / n->cell_m);
    double row = floor((north_m - n->low_m[1]) / n->cell_m);
    for (double r = fmax(row - 1.0, 0.0); r <= fmin(row + 1.0, (double)n->rows - 1.0); r++)
        for (double c = fmax(column - 1.0, 0.0); c <= fmin(column + 1.0, (double)n->columns - 1.0);
             c++)
            chance += cell_chance(n, (size_t)r * n->columns + (size_t)c, east_m, north_m);
    return chance;
}

void pappus_nearby_clear(pappus_nearby *nearby)
{
    free(nearby->start);
    free(nearby->landing);
    *nearby = (pappus_nearby){0};
}
