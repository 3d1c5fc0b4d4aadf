/* SPDX-License-Identifier: GPL-3.0-or-later
 * When a canopy fired and how long it took to open, from the heights about it. */
#ifndef PAPPUS_FLIGHT_OPENING_H
#define PAPPUS_FLIGHT_OPENING_H

#include <pappus/debrief.h>

/** A fall that one canopy slows: what is known of it. */
typedef struct {
    double start_s; /**< where the computation starts, falling at start_mps */
    double start_mps;
    double density_kgpm3, density_slope_pm; /**< at the start; relative, per metre of fall */
    double before_m2pkg, after_m2pkg;       /**< drag area over mass before, and full open */
    double fire_from_s, fire_to_s;          /**< where the firing may be */
    double open_from_s, open_to_s;          /**< how long the opening may take */
    double free_s;                          /**< the start may be so much earlier or later */
} pappus_opening_case;

typedef struct {
    pappus_estimate fired_s, opening_s; /**< low, high: 95 % */
    double fit_m;                       /**< root mean square of the misfit */
} pappus_opening;

/** Fits samples (time, height); noise_m: of one of them. False without enough samples. */
bool pappus_opening_fit(pappus_opening *out, const pappus_opening_case *c, size_t count,
                        const double *time_s, const double *height_m, double noise_m);

#endif
