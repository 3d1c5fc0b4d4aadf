/* SPDX-License-Identifier: GPL-3.0-or-later
 * Mass on the nodes of a grid, smoothed by a Gaussian kernel along both axes; compiled once per
 * instruction set. Every sum is taken in the same order in each. */
#include "smooth_kernel.h"
#include "isa.h"

#include <math.h>
#include <stdbool.h>
#include <stddef.h>
#include <string.h>

#define TAPS_MOST ((size_t)(REACH * WIDEST * NODES_PER_BANDWIDTH) + 2)

/* Weights at 0 ... taps - 1 nodes from the middle; all of both sides sum to 1. */
static size_t kernel(double *weight, double bandwidth_m, double step_m)
{
    double width = bandwidth_m / step_m, sum = 0.0;
    size_t taps = (size_t)(REACH * width) + 1;
    for (size_t k = 0; k < taps; k++) {
        weight[k] = exp(-0.5 * pow((double)k / width, 2.0));
        sum += k == 0 ? weight[k] : 2.0 * weight[k];
    }
    for (size_t k = 0; k < taps; k++)
        weight[k] /= sum;
    return taps;
}

static void add_scaled(double *out, const double *in, double scale, size_t count)
{
#pragma omp simd
    for (size_t i = 0; i < count; i++)
        out[i] += scale * in[i];
}

static bool is_zero(const double *row, size_t count)
{
    for (size_t i = 0; i < count; i++)
        if (row[i] != 0.0) return false;
    return true;
}

/* Adds mass spread over [-taps, taps] of the first axis: out[i] += w[|k|] in[i - k].
 * The mass keeps taps nodes from the ends (the grid's margin), so no term is lost. */
static void spread_row(double *out, const double *in, size_t nodes, const double *weight,
                       size_t taps)
{
    add_scaled(out, in, weight[0], nodes);
    for (size_t k = 1; k < taps && k < nodes; k++) {
        add_scaled(out + k, in, weight[k], nodes - k);
        add_scaled(out, in + k, weight[k], nodes - k);
    }
}

void PAPPUS_KERNEL(smooth_kernel)(pappus_grid *grid, const double *mass, double *row,
                                  const double bandwidth_m[2])
{
    size_t nx = grid->nodes[0], ny = grid->nodes[1], taps[2];
    double weight[2][TAPS_MOST], cell_m2 = grid->step_m[0] * grid->step_m[1];
    for (int a = 0; a < 2; a++)
        taps[a] = kernel(weight[a], bandwidth_m[a], grid->step_m[a]);
    for (size_t j = 0; j < ny; j++) {
        if (is_zero(mass + j * nx, nx)) continue;
        memset(row, 0, nx * sizeof *row);
        spread_row(row, mass + j * nx, nx, weight[0], taps[0]);
        size_t first = j + 1 > taps[1] ? j + 1 - taps[1] : 0;
        for (size_t to = first; to < j + taps[1] && to < ny; to++)
            add_scaled(grid->per_m2 + to * nx, row, weight[1][to > j ? to - j : j - to] / cell_m2,
                       nx);
    }
}
