/* SPDX-License-Identifier: GPL-3.0-or-later
 * A whole plan and a wind profile in memory, and the air built from them. All
 * figures are our own. */
#ifndef PAPPUS_TESTS_REAL_AIR_H
#define PAPPUS_TESTS_REAL_AIR_H

#include <check.h>
#include <math.h>

#include "air.h"
#include "uncertain.h"

typedef struct {
    pappus_plan plan;
    pappus_altimeter altimeters[2];
    pappus_wind_level levels[2];
    pappus_wind_profile profile;
    pappus_winds winds;
    pappus_air *air;
} flight_setup;

/* Two canopies, two altimeters, no uncertainty at all, a wind of 5 m/s towards the
 * north-east at every height, without error. Tests put the uncertain values in. */
static inline void flight_setup_set(flight_setup *s)
{
    *s = (flight_setup){0};
    pappus_plan *plan = &s->plan;
    plan->site = (pappus_site){.latitude_deg = 40.0,
                               .longitude_deg = -100.0,
                               .declination_deg = NAN,
                               .temperature_k = NAN,
                               .pressure_pa = NAN};
    plan->rocket.mass_kg = pappus_exact(8.0);
    plan->apogee.height_m = pappus_exact(1500.0);
    plan->apogee.speed_mps = pappus_exact(0.0);
    plan->apogee.bearing.kind = plan->apogee.heading.kind = PAPPUS_UPWIND;
    plan->drogue = plan->main = (pappus_canopy_plan){.present = true,
                                                     .diameter_m = NAN,
                                                     .area_m2 = NAN,
                                                     .rate_mass_kg = NAN,
                                                     .rate_height_msl_m = NAN,
                                                     .length_m = NAN,
                                                     .width_m = NAN};
    plan->drogue.drag_area_m2 = pappus_exact(0.25);
    plan->main.drag_area_m2 = pappus_exact(3.6);
    plan->altimeter_count = 2;
    plan->altimeters = s->altimeters;
    for (int a = 0; a < 2; a++)
        s->altimeters[a] = (pappus_altimeter){.drogue_delay_s = pappus_exact(a),
                                              .main_height_m = 200.0 - 30.0 * a,
                                              .height_error_m = pappus_exact(0.0),
                                              .fire_delay_s = pappus_exact(0.1),
                                              .works = 0.995};
    plan->faults = (pappus_faults){0.01, 0.01, 0.005, 0.0};
    plan->landings = 20000;
    plan->seed = 1;
    plan->has_wind = true;
    plan->wind = (pappus_wind_plan){.time_utc_s = NAN,
                                    .age_s = 0.0,
                                    .error_dof = PAPPUS_NORMAL_DOF,
                                    .ground_factor = 1.0,
                                    .top_factor = 1.0,
                                    .correlation_growth_m = 500.0,
                                    .correlation_height_m = 1000.0,
                                    .error_given = true,
                                    .gust_mps = NAN,
                                    .shear_exponent = 0.143};
    for (int i = 0; i < 2; i++)
        s->levels[i] = (pappus_wind_level){PAPPUS_HEIGHT_AGL, 4000.0 * i, 3.0, 4.0, NAN, NAN, NAN};
    s->profile = (pappus_wind_profile){.station_elevation_msl_m = NAN,
                                       .issued_utc_s = NAN,
                                       .valid_utc_s = NAN,
                                       .weight = 1.0,
                                       .level_count = 2,
                                       .levels = s->levels};
    s->winds = (pappus_winds){1, &s->profile, 0.0};
}

static inline void flight_setup_build(flight_setup *s)
{
    pappus_log log = {0};
    pappus_air_free(s->air);
    s->air = NULL;
    const pappus_air_options options = PAPPUS_AIR_OPTIONS_INIT;
    int status = pappus_air_build(&s->air, &s->plan, &s->winds, &options, &log);
    char line[1024] = "";
    if (log.count > 0) pappus_error_line(line, sizeof line, &log.entries[0].error);
    ck_assert_msg(status == PAPPUS_OK, "%s", line);
    pappus_log_clear(&log);
}

#endif
