/* SPDX-License-Identifier: GPL-3.0-or-later
 * What "upwind" is: against the mean wind of the lowest 300 m, of the expected wind by the
 * midpoint rule, and of a drawn one, which is linear between nodes, by the trapezoid rule. */
#include "air.h"

#include "bearing.h"
#include "wind_profile.h"

#include <math.h>
#include <string.h>

#define STEP_M 5.0

double pappus_upwind_mean_deg(const pappus_air *air)
{
    double east = 0.0, north = 0.0;
    for (double z = 0.5 * STEP_M; z < PAPPUS_POWER_LAW_TOP_M; z += STEP_M) {
        double u, v;
        pappus_air_mean_wind(air, z, &u, &v);
        east -= u;
        north -= v;
    }
    if (hypot(east, north) == 0.0) return NAN;
    return pappus_bearing_of(east, north);
}

/* What a layer's wind at its lower and upper node counts for in the mean; false: above it. */
static bool layer(double part[2], const pappus_air *air, size_t i)
{
    double top_m = fmin(PAPPUS_POWER_LAW_TOP_M, air->height_m[air->node_count - 1]);
    if (!(i < air->node_count && air->height_m[i - 1] < top_m)) return false;
    double from_m = air->height_m[i - 1], step_m = air->height_m[i] - from_m;
    double depth_m = fmin(air->height_m[i], top_m) - from_m;
    double whole = depth_m / top_m;
    part[1] = 0.5 * whole * depth_m / step_m;
    part[0] = whole - part[1];
    return true;
}

static void add_node(double sum[PAPPUS_LANES], const float *drawn, size_t node, double weight)
{
#pragma omp simd
    for (size_t l = 0; l < PAPPUS_LANES; l++)
        sum[l] += weight * (double)drawn[node * PAPPUS_LANES + l];
}

void pappus_upwind_drawn(double u_mps[PAPPUS_LANES], double v_mps[PAPPUS_LANES],
                         const pappus_air *air, const float *drawn_u_mps, const float *drawn_v_mps)
{
    double part[2];
    memset(u_mps, 0, PAPPUS_LANES * sizeof *u_mps);
    memset(v_mps, 0, PAPPUS_LANES * sizeof *v_mps);
    for (size_t i = 1; layer(part, air, i); i++)
        for (size_t end = 0; end < 2; end++) {
            add_node(u_mps, drawn_u_mps, i - 1 + end, part[end]);
            add_node(v_mps, drawn_v_mps, i - 1 + end, part[end]);
        }
}

void pappus_upwind_weights(double *weight, const pappus_air *air)
{
    double part[2];
    memset(weight, 0, air->node_count * sizeof *weight);
    for (size_t i = 1; layer(part, air, i); i++)
        for (size_t end = 0; end < 2; end++)
            weight[i - 1 + end] += part[end];
}
