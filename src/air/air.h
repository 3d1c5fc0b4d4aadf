/* SPDX-License-Identifier: GPL-3.0-or-later
 * The inside of pappus_air: one height grid shared by the atmosphere, the wind
 * and the engine, and the sampling of the wind on it. */
#ifndef PAPPUS_AIR_AIR_H
#define PAPPUS_AIR_AIR_H

#include <pappus/air.h>
#include "atmosphere.h"
#include "isa.h"
#include "random.h"

typedef struct pappus_wind_field pappus_wind_field; /* wind_field.h */

struct pappus_air {
    size_t node_count;     /**< >= 2 */
    double *height_m;      /**< ascending, [0] = 0 is the pad */
    double *density_kgpm3; /**< at the nodes; between them by pappus_air_density_kgpm3 */
    double *temperature_k;
    double *pressure_pa;
    double elevation_msl_m;
    pappus_atmosphere *atmosphere;
    pappus_wind_field *wind;
    double upwind_bearing_deg;
    double wind_factor; /**< as asked in the options */
    bool surface_only;
    double forecast_gust_mps; /**< NaN: none, or something is measured at the ground */
};

/** Samples the wind of PAPPUS_LANES landings: landing of lane l has random index
 * index[l]. u_mps, v_mps: node_count * PAPPUS_LANES floats, 64-byte aligned.
 * A landing's wind does not depend on which lanes stand beside it. isa: which
 * compiled set to run; results differ between sets by rounding only. */
void pappus_wind_draw(const pappus_air *air, pappus_isa isa, pappus_random random,
                      const uint64_t index[PAPPUS_LANES], float *u_mps, float *v_mps);

/** Bearing that the mean wind of the lowest 300 m comes from; NaN in a calm. */
double pappus_upwind_mean_deg(const pappus_air *air);
/** The mean over the lowest 300 m of every lane's drawn wind. */
void pappus_upwind_drawn(double u_mps[PAPPUS_LANES], double v_mps[PAPPUS_LANES],
                         const pappus_air *air, const float *drawn_u_mps, const float *drawn_v_mps);
/** What the wind at each node counts for in that mean: weight[node_count]. */
void pappus_upwind_weights(double *weight, const pappus_air *air);

#endif
