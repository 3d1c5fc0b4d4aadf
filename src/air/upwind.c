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

static void add_node(double sum[PAPPUS_LANES], const float *drawn, size_t node, double weight)
{
    for (size_t l = 0; l < PAPPUS_LANES; l++)
        sum[l] += weight * (double)drawn[node * PAPPUS_LANES + l];
}

void pappus_upwind_drawn(double u_mps[PAPPUS_LANES], double v_mps[PAPPUS_LANES],
                         const pappus_air *air, const float *drawn_u_mps, const float *drawn_v_mps)
{
    double top_m = fmin(PAPPUS_POWER_LAW_TOP_M, air->height_m[air->node_count - 1]);
    memset(u_mps, 0, PAPPUS_LANES * sizeof *u_mps);
    memset(v_mps, 0, PAPPUS_LANES * sizeof *v_mps);
    for (size_t i = 1; i < air->node_count && air->height_m[i - 1] < top_m; i++) {
        double from_m = air->height_m[i - 1], step_m = air->height_m[i] - from_m;
        double depth_m = fmin(air->height_m[i], top_m) - from_m;
        double part = depth_m / top_m, above = 0.5 * part * depth_m / step_m;
        add_node(u_mps, drawn_u_mps, i - 1, part - above);
        add_node(u_mps, drawn_u_mps, i, above);
        add_node(v_mps, drawn_v_mps, i - 1, part - above);
        add_node(v_mps, drawn_v_mps, i, above);
    }
}
