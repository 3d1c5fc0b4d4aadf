/* SPDX-License-Identifier: GPL-3.0-or-later
 * A plan and winds made by hand, for the tests of the air. The wind's error is that of
 * the plainest law: normal, the same at all heights, one correlation length. */
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
    plan.wind.error_dof = PAPPUS_NORMAL_DOF;
    plan.wind.ground_factor = plan.wind.top_factor = 1.0;
    plan.wind.correlation_growth_m = 500.0;
    plan.wind.correlation_height_m = 1000.0;
    plan.wind.gust_mps = NAN;
    plan.wind.shear_exponent = 0.143;
    return plan;
}

/* The law of a plan that says nothing of it, of a sounding as the key table has it. */
static inline void fixture_usual_error(pappus_wind_plan *wind)
{
    wind->error_mps = 1.0;
    wind->growth_mps = NAN;
    wind->error_dof = 8.0;
    wind->ground_factor = 0.5;
    wind->top_factor = 1.25;
    wind->correlation_growth_m = 500.0;
    wind->correlation_height_m = NAN;
    wind->decoupling = 0.2;
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
