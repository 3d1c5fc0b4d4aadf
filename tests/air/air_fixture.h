/* SPDX-License-Identifier: GPL-3.0-or-later
 * A plan and winds made by hand, for the tests of the air. */
#ifndef PAPPUS_TESTS_AIR_FIXTURE_H
#define PAPPUS_TESTS_AIR_FIXTURE_H

#include <pappus/pappus.h>
#include "uncertain.h"

#include <math.h>

static inline pappus_plan fixture_plan(double elevation_m, double apogee_m)
{
    pappus_plan plan = {0};
    plan.site.elevation_msl_m = elevation_m;
    plan.site.temperature_k = plan.site.pressure_pa = NAN;
    plan.apogee.height_m = pappus_exact(apogee_m);
    plan.heights_to_m = 457.2;
    plan.has_wind = true;
    plan.wind.time_utc_s = plan.wind.age_s = NAN;
    plan.wind.error_mps = 1.0;
    plan.wind.growth_mps = 1.5;
    plan.wind.correlation_height_m = 1000.0;
    plan.wind.gust_mps = NAN;
    plan.wind.shear_exponent = 0.143;
    return plan;
}

static inline pappus_wind_level fixture_level(double height_agl_m, double u_mps, double v_mps)
{
    return (pappus_wind_level){PAPPUS_HEIGHT_AGL, height_agl_m, u_mps, v_mps, NAN, NAN, NAN};
}

static inline pappus_wind_profile fixture_profile(pappus_wind_level *levels, size_t count)
{
    pappus_wind_profile profile = {0};
    profile.path = (char *)"winds.csv";
    profile.station_elevation_msl_m = profile.issued_utc_s = profile.valid_utc_s = NAN;
    profile.weight = 1.0;
    profile.level_count = count;
    profile.levels = levels;
    return profile;
}

#endif
