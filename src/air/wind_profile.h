/* SPDX-License-Identifier: GPL-3.0-or-later
 * One profile of the wind over height above the pad: its mean, and the standard
 * deviation of its error. */
#ifndef PAPPUS_AIR_WIND_PROFILE_H
#define PAPPUS_AIR_WIND_PROFILE_H

#include "atmosphere.h"
#include "wind_error.h"

/** Up to here the wind of a surface reading grows by the power law. */
#define PAPPUS_POWER_LAW_TOP_M 300.0
/** Correlation length of a guess from the surface wind: what is left between it and
 * soundings, Vienna 2015 and Perth 2014-15, 500 m to 3 km: 1300 to 1700 m. */
#define PAPPUS_SURFACE_ONLY_LENGTH_M 1500.0

typedef struct {
    double u_mps, v_mps;
} pappus_wind_vector;

typedef struct {
    size_t count;
    double *height_m; /**< ascending; the first may be at or below the pad */
    double *u_mps, *v_mps;
    double *error_mps;  /**< the law's own, or more where the level's own is */
    double low_m;       /**< height of the lowest level, 0 when at or below the pad */
    double power_top_m; /**< above low_m: the power law goes on to here */
    double shear_exponent;
    pappus_wind_error law;
    double age_h;
    double weight;
} pappus_profile;

/** Multiplies and turns every wind of the plan. */
typedef struct {
    double factor, turn_deg;
} pappus_wind_change;

pappus_wind_vector pappus_wind_changed(pappus_wind_vector wind, pappus_wind_change change);
/** The wind of a speed and the direction it comes from. */
pappus_wind_vector pappus_wind_from(double speed_mps, double direction_deg);

/** Height above the pad of a level, as its kind says. */
double pappus_wind_level_height_m(const pappus_wind_level *level,
                                  const pappus_atmosphere *atmosphere);

/** Fills *out from a profile as read. PAPPUS_E_WIND when no level above the pad
 * has a wind. */
int pappus_profile_from_levels(pappus_profile *out, const pappus_wind_profile *read,
                               const pappus_atmosphere *atmosphere, const pappus_wind_plan *plan,
                               double age_s, pappus_wind_change change, pappus_error *err);
/** Fills *out from the surface reading alone. */
int pappus_profile_from_surface(pappus_profile *out, const pappus_wind_plan *plan, double age_s,
                                pappus_wind_change change, pappus_error *err);
/** Calm air without error. */
int pappus_profile_calm(pappus_profile *out, pappus_error *err);
void pappus_profile_clear(pappus_profile *profile);

pappus_wind_vector pappus_profile_mean(const pappus_profile *profile, double height_m);
/** Standard deviation per component of the error at a height, of a law of unit
 * scale. */
double pappus_profile_sd_mps(const pappus_profile *profile, double height_m);

#endif
