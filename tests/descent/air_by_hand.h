/* SPDX-License-Identifier: GPL-3.0-or-later
 * An air put together by hand: nodes every 25 m, densities of a formula. Borrowed
 * arrays, nothing to free. */
#ifndef PAPPUS_TESTS_AIR_BY_HAND_H
#define PAPPUS_TESTS_AIR_BY_HAND_H

#include <math.h>

#include "air.h"

#define HAND_NODES 241
#define HAND_STEP_M 25.0

typedef struct {
    pappus_air air;
    double height_m[HAND_NODES], density_kgpm3[HAND_NODES];
    double u_mps[HAND_NODES], v_mps[HAND_NODES];
} hand_air;

/* rho = rho0 e^(-h / scale), no wind, to 6000 m. */
static inline void hand_air_exponential(hand_air *a, double density_kgpm3, double scale_m)
{
    *a = (hand_air){.air.node_count = HAND_NODES, .air.wind_factor = 1.0};
    a->air.height_m = a->height_m;
    a->air.density_kgpm3 = a->density_kgpm3;
    for (int i = 0; i < HAND_NODES; i++) {
        a->height_m[i] = HAND_STEP_M * i;
        a->density_kgpm3[i] = density_kgpm3 * exp(-a->height_m[i] / scale_m);
    }
}

/* A fall that has nothing but a body of constant drag. */
static inline pappus_fall hand_fall(double mass_kg, double height_m, double drag_area_m2)
{
    return (pappus_fall){.mass_kg = mass_kg,
                         .body_before_m2 = drag_area_m2,
                         .body_after_m2 = drag_area_m2,
                         .height_m = height_m,
                         .apogee_m = height_m,
                         .apogee_fire_s = INFINITY,
                         .drogue_open_s = NAN,
                         .main_open_s = NAN,
                         .main_fire_s = INFINITY};
}

#endif
