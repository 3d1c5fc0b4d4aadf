/* SPDX-License-Identifier: GPL-3.0-or-later
 * Winds between two valid times, and how old they are at the launch. */
#ifndef PAPPUS_INPUT_WIND_TIMES_H
#define PAPPUS_INPUT_WIND_TIMES_H

#include "wind_levels.h"

/** The ground and the wind under the lowest level, as the air takes them. */
typedef struct {
    double elevation_msl_m, shear_exponent;
} pappus_wind_ground;

/** Appends to *out what a series of times is at time_utc_s: for each member the two
 * neighbours, interpolated. All have valid times. A member that does not reach the time is
 * left out and told; when none does, the range of times is. PAPPUS_E_WIND too when one of two
 * neighbours has heights above the pad and the other above the sea. */
int pappus_winds_between(pappus_winds *out, const pappus_wind_profile *const *series, size_t count,
                         double time_utc_s, pappus_wind_ground ground, pappus_log *log);

/** Age of the winds at a time (NaN: not given) into winds->age_s. */
int pappus_winds_set_age(pappus_winds *winds, const pappus_plan *plan, double time_utc_s,
                         pappus_log *log);

#endif
