/* SPDX-License-Identifier: GPL-3.0-or-later
 * Winds between two valid times, and how old they are at the launch. */
#ifndef PAPPUS_INPUT_WIND_TIMES_H
#define PAPPUS_INPUT_WIND_TIMES_H

#include "wind_levels.h"

/** The ground and the wind under the lowest level, as the air takes them. */
typedef struct {
    double elevation_msl_m, shear_exponent;
} pappus_wind_ground;

/** Fills the levels and times of *out (path, format and station are the caller's)
 * from two profiles at time_utc_s between their valid times. PAPPUS_E_WIND when
 * one has heights above the pad and the other above the sea. */
int pappus_wind_between(pappus_wind_profile *out, const pappus_wind_profile *before,
                        const pappus_wind_profile *after, double time_utc_s,
                        pappus_wind_ground ground, pappus_log *log);

/** Replaces the profiles [first, end) of *winds, which all have valid times, by
 * the one at time_utc_s. The range of times is told when it is outside. */
int pappus_winds_interpolate(pappus_winds *winds, size_t first, double time_utc_s,
                             pappus_wind_ground ground, pappus_log *log);

/** Age of the winds at wind.time into winds->age_s. */
int pappus_winds_set_age(pappus_winds *winds, const pappus_plan *plan, pappus_log *log);

#endif
