/* SPDX-License-Identifier: GPL-3.0-or-later
 * The air of a flight built from a plan: profiles and their heights, power law,
 * grid, atmosphere from a sounding, what is said of the wind, and bad inputs. */
#include "air/air_fixture.h"
#include "air.h"
#include "atmosphere.h"
#include "suite.h"
#include "uncertain.h"
#include "wind_field.h"

#include <gsl/gsl_integration.h>
#include <gsl/gsl_errno.h>
#include <stdlib.h>
#include <string.h>

#define DEGREE (M_PI / 180.0)

static int try_build(pappus_air **air, const pappus_plan *plan, const pappus_winds *winds,
                     pappus_air_options options, pappus_log *log)
{
    *air = NULL;
    return pappus_air_build(air, plan, winds, &options, log);
}

static pappus_air *build_with(const pappus_plan *plan, const pappus_winds *winds,
                              pappus_air_options options)
{
    pappus_air *air;
    pappus_log log = {0};
    int status = try_build(&air, plan, winds, options, &log);
    ck_assert_msg(status == PAPPUS_OK, "%s", log.count ? log.entries[0].error.message : "");
    pappus_log_clear(&log);
    return air;
}

static pappus_air *build(const pappus_plan *plan, const pappus_winds *winds)
{
    return build_with(plan, winds, (pappus_air_options)PAPPUS_AIR_OPTIONS_INIT);
}

static double wind_u(const pappus_air *air, double z)
{
    double u, v;
    pappus_air_mean_wind(air, z, &u, &v);
    return u;
}

static double wind_v(const pappus_air *air, double z)
{
    double u, v;
    pappus_air_mean_wind(air, z, &u, &v);
    return v;
}

/* ----------------------------------------------------------------- profiles */

/* Components are linear between levels: from 350 to 10 degrees at one speed the
 * middle is exactly from north, and never spins round by south. */
START_TEST(turns_through_north)
{
    double s = 8.0;
    pappus_wind_level levels[2] = {
        fixture_level(100.0, -s * sin(350.0 * DEGREE), -s * cos(350.0 * DEGREE)),
        fixture_level(500.0, -s * sin(10.0 * DEGREE), -s * cos(10.0 * DEGREE))};
    pappus_wind_profile profile = fixture_profile(levels, 2);
    pappus_winds winds = {1, &profile, 0.0};
    pappus_plan plan = fixture_plan(0.0, 1000.0);
    pappus_air *air = build(&plan, &winds);
    ck_assert_double_eq_tol(wind_u(air, 300.0), 0.0, 1e-12);
    ck_assert_double_eq_tol(wind_v(air, 300.0), -s * cos(10.0 * DEGREE), 1e-12);
    for (double z = 100.0; z <= 500.0; z += 10.0)
        ck_assert_double_lt(wind_v(air, z), -7.8);
    pappus_air_free(air);
}
END_TEST

/* Through a calm level the wind falls and rises on the line, without any spin. */
START_TEST(calm_level)
{
    pappus_wind_level levels[3] = {fixture_level(100.0, 3.0, 0.0), fixture_level(300.0, 0.0, 0.0),
                                   fixture_level(500.0, 3.0, 0.0)};
    pappus_wind_profile profile = fixture_profile(levels, 3);
    pappus_winds winds = {1, &profile, 0.0};
    pappus_plan plan = fixture_plan(0.0, 1000.0);
    pappus_air *air = build(&plan, &winds);
    for (double z = 100.0; z <= 500.0; z += 12.5) {
        ck_assert_double_eq_tol(wind_u(air, z), 3.0 * fabs(z - 300.0) / 200.0, 1e-12);
        ck_assert_double_eq_tol(wind_v(air, z), 0.0, 1e-12);
    }
    pappus_air_free(air);
}
END_TEST

/* Below the lowest level (z/z_low)^0.143, at the ground 0; above the last level
 * its own wind. A level on the ground has no power law under it. */
START_TEST(power_law_and_top)
{
    pappus_wind_level levels[2] = {fixture_level(10.0, 4.0, -2.0), fixture_level(800.0, 9.0, 3.0)};
    pappus_wind_profile profile = fixture_profile(levels, 2);
    pappus_winds winds = {1, &profile, 0.0};
    pappus_plan plan = fixture_plan(0.0, 1000.0);
    pappus_air *air = build(&plan, &winds);
    ck_assert_double_eq_tol(wind_u(air, 2.0), 4.0 * pow(0.2, 0.143), 1e-12);
    ck_assert_double_eq_tol(wind_v(air, 2.0), -2.0 * pow(0.2, 0.143), 1e-12);
    ck_assert_double_eq(wind_u(air, 0.0), 0.0);
    ck_assert_double_eq(wind_u(air, 5000.0), 9.0);
    ck_assert_double_eq_tol(pappus_air_surface_wind_mps(air), hypot(4.0, 2.0), 1e-12);
    pappus_air_free(air);
    levels[0].height_m = 0.0;
    air = build(&plan, &winds);
    ck_assert_double_eq(wind_u(air, 0.0), 4.0);
    pappus_air_free(air);
}
END_TEST

/* Each kind of height, for a pad at 1200 m. Levels below the pad serve to
 * interpolate across it and nothing else. */
START_TEST(kinds_of_height)
{
    pappus_wind_level levels[3] = {fixture_level(1000.0, 2.0, 0.0), fixture_level(2200.0, 8.0, 0.0),
                                   fixture_level(4000.0, 8.0, 6.0)};
    levels[0].height_kind = levels[1].height_kind = PAPPUS_HEIGHT_MSL;
    levels[2].height_kind = PAPPUS_HEIGHT_MSL_GEOPOTENTIAL;
    pappus_wind_profile profile = fixture_profile(levels, 3);
    pappus_winds winds = {1, &profile, 0.0};
    pappus_plan plan = fixture_plan(1200.0, 2000.0);
    pappus_air *air = build(&plan, &winds);
    ck_assert_double_eq_tol(wind_u(air, 0.0), 3.0, 1e-12);
    ck_assert_double_eq_tol(wind_u(air, 1000.0), 8.0, 1e-12);
    /* X: 4000 m geopotential is 6356766*4000/(6356766-4000) = 4002.518 m. */
    double top = 4002.518 - 1200.0;
    ck_assert_double_eq_tol(wind_v(air, 0.5 * (top + 1000.0)), 3.0, 1e-5);
    pappus_air_free(air);
}
END_TEST

/* A level by pressure altitude lies where the standard's pressure of that altitude
 * is, in air whose temperature the same levels give. */
START_TEST(pressure_altitude)
{
    pappus_wind_level levels[3] = {fixture_level(1828.8, 5.0, 0.0),
                                   fixture_level(5486.4, 10.0, 0.0),
                                   fixture_level(7315.2, 20.0, 0.0)};
    for (int i = 0; i < 3; i++) {
        levels[i].height_kind = i ? PAPPUS_HEIGHT_PRESSURE : PAPPUS_HEIGHT_MSL;
        levels[i].temperature_k = (double[]){300.0, 275.0, 262.0}[i];
    }
    pappus_wind_profile profile = fixture_profile(levels, 3);
    pappus_winds winds = {1, &profile, 0.0};
    pappus_plan plan = fixture_plan(300.0, 2000.0);
    plan.site.pressure_pa = 98000.0;
    plan.site.temperature_k = 310.0;
    pappus_air *air = build(&plan, &winds);
    const pappus_profile *p = &air->wind->profiles[0];
    for (int i = 1; i < 3; i++) {
        double standard = pappus_standard_pressure_pa(levels[i].height_m);
        ck_assert_double_eq_tol(pappus_air_pressure_pa(air, p->height_m[i]), standard,
                                1e-6 * standard);
        ck_assert_double_eq_tol(pappus_air_temperature_k(air, p->height_m[i]),
                                levels[i].temperature_k, 0.001);
    }
    /* X: a layer's thickness goes as its mean temperature, 268.5 K against the
     * standard's 288.15 - 0.0065 * 6400.8 = 246.54 K; geometric is 0.2 % more than
     * geopotential at 6.5 km. */
    double thickness = p->height_m[2] - p->height_m[1];
    ck_assert_double_eq_tol(thickness / 1828.8, 1.002 * 268.5 / 246.54, 0.001);
    ck_assert_double_eq_tol(pappus_air_pressure_pa(air, 0.0), 98000.0, 1e-6);
    ck_assert_double_eq_tol(pappus_air_temperature_k(air, 0.0), 310.0, 1e-9);
    pappus_air_free(air);
}
END_TEST

/* Pressure and temperature at the pad come from the sounding when the site gives
 * none; levels without wind tell of the air alone. */
START_TEST(sounding_tells_the_air)
{
    pappus_wind_level levels[3] = {fixture_level(-50.0, NAN, NAN), fixture_level(50.0, 3.0, 0.0),
                                   fixture_level(1500.0, 6.0, 0.0)};
    const double kelvin[] = {290.0, 291.0, 281.0};
    for (int i = 0; i < 3; i++)
        levels[i].temperature_k = kelvin[i];
    levels[0].pressure_pa = 100000.0;
    pappus_wind_profile profile = fixture_profile(levels, 3);
    pappus_winds winds = {1, &profile, 0.0};
    pappus_plan plan = fixture_plan(200.0, 1000.0);
    pappus_air *air = build(&plan, &winds);
    ck_assert_double_eq_tol(pappus_air_temperature_k(air, 0.0), 290.5, 1e-6);
    /* X: 50 m of air at a mean of 290.25 K. */
    double pad = 100000.0 * exp(-9.80665 * 50.0 / (287.053 * 290.25));
    ck_assert_double_eq_tol(pappus_air_pressure_pa(air, 0.0), pad, 0.1);
    ck_assert_double_eq_tol(pappus_air_density_kgpm3(air, 0.0), pad / (287.053 * 290.5), 1e-5);
    ck_assert_double_eq_tol(wind_u(air, 25.0), 3.0 * pow(0.5, 0.143), 1e-12);
    pappus_air_free(air);
}
END_TEST

/* --------------------------------------------------------------------- grid */

/* Drift in u of a fall at a fixed rate through the wind as the grid has it, linear
 * between nodes: mean and standard deviation in closed form. weight[i] is half of
 * the layers beside node i. */
static void drift_law(double *mean, double *sd, const pappus_air *air, double rate_mps)
{
    size_t n = air->node_count;
    double variance = 0.0;
    double *weight = calloc(n, sizeof *weight);
    ck_assert_ptr_nonnull(weight);
    for (size_t i = 0; i + 1 < n; i++) {
        double half = 0.5 * (air->height_m[i + 1] - air->height_m[i]) / rate_mps;
        weight[i] += half;
        weight[i + 1] += half;
    }
    *mean = 0.0;
    for (size_t i = 0; i < n; i++) {
        double si = pappus_profile_sd_mps(&air->wind->profiles[0], air->height_m[i]);
        *mean += weight[i] * wind_u(air, air->height_m[i]);
        for (size_t j = 0; j < n; j++) {
            double sj = pappus_profile_sd_mps(&air->wind->profiles[0], air->height_m[j]);
            double dz = fabs(air->height_m[i] - air->height_m[j]);
            variance += weight[i] * weight[j] * si * sj *
                        exp(-dz / air->wind->profiles[0].law.correlation_height_m);
        }
    }
    *sd = sqrt(variance);
    free(weight);
}

/* A profile with levels off the grid and a low-level jet. */
static pappus_wind_level jet[] = {
    {PAPPUS_HEIGHT_AGL, 10.0, 3.0, 1.0, NAN, NAN, NAN},
    {PAPPUS_HEIGHT_AGL, 187.0, 6.0, 2.0, NAN, NAN, NAN},
    {PAPPUS_HEIGHT_AGL, 431.0, 13.0, 3.0, NAN, NAN, NAN},
    {PAPPUS_HEIGHT_AGL, 777.0, 7.0, 3.0, NAN, NAN, NAN},
    {PAPPUS_HEIGHT_AGL, 1610.0, 11.0, 0.0, NAN, NAN, NAN},
    {PAPPUS_HEIGHT_AGL, 3200.0, 18.0, -3.0, NAN, NAN, NAN},
};

/* Halving the grid moves no quantile of the drift by more than 0.5 %, for low and
 * high apogees and short and long correlations; of a quantile near 0, of the
 * standard deviation. */
START_TEST(halving_the_grid)
{
    const double apogees[] = {250.0, 1600.0, 3000.0, 9000.0}, lengths[] = {500.0, 1000.0, 2000.0};
    pappus_wind_profile profile = fixture_profile(jet, 6);
    pappus_winds winds = {1, &profile, 3.0 * 3600.0};
    for (int a = 0; a < 4; a++)
        for (int c = 0; c < 3; c++) {
            pappus_plan plan = fixture_plan(286.0, apogees[a]);
            plan.wind.correlation_height_m = lengths[c];
            pappus_air *whole = build(&plan, &winds);
            pappus_air *half = build_with(&plan, &winds, (pappus_air_options){1.0, 0.0, 0.5});
            double mean[2], sd[2];
            drift_law(&mean[0], &sd[0], whole, 6.0);
            drift_law(&mean[1], &sd[1], half, 6.0);
            ck_assert_double_eq_tol(mean[0], mean[1], 0.005 * mean[1]);
            ck_assert_double_eq_tol(sd[0], sd[1], 0.005 * sd[1]);
            for (double z = -2.5; z <= 2.5; z += 0.5) {
                double fine = mean[1] + z * sd[1];
                ck_assert_double_eq_tol(mean[0] + z * sd[0], fine, 0.005 * fmax(fabs(fine), sd[1]));
            }
            pappus_air_free(whole);
            pappus_air_free(half);
        }
}
END_TEST

static double jet_u(double z, void *unused)
{
    (void)unused;
    if (z < 10.0) return 3.0 * pow(z / 10.0, 0.143);
    int i = 1;
    while (i < 5 && jet[i].height_m < z)
        i++;
    return jet[i - 1].u_mps + (z - jet[i - 1].height_m) / (jet[i].height_m - jet[i - 1].height_m) *
                                  (jet[i].u_mps - jet[i - 1].u_mps);
}

/* Drift of a fall at 6 m/s through the mean profile: the grid's sum against an
 * integral by GSL, to 0.2 %, and the prior's standard deviation against the closed
 * form of an exponential correlation (X): s^2 2 L^2 (h/L - 1 + e^(-h/L))/w^2, to
 * 0.5 % (the power law takes some from the lowest metres). */
START_TEST(drift_of_a_fixed_rate)
{
    pappus_wind_profile profile = fixture_profile(jet, 6);
    pappus_winds winds = {1, &profile, 0.0};
    pappus_plan plan = fixture_plan(286.0, 3000.0);
    pappus_air *air = build(&plan, &winds);
    double mean, sd, integral, error, h = 3000.0, length = 1000.0;
    gsl_integration_workspace *work = gsl_integration_workspace_alloc(1000);
    gsl_function f = {jet_u, NULL};
    gsl_integration_qag(&f, 0.0, h, 0.0, 1e-7, 1000, 2, work, &integral, &error);
    drift_law(&mean, &sd, air, 6.0);
    ck_assert_double_eq_tol(mean, integral / 6.0, 2e-3 * mean);
    double expected = sqrt(2.0 * length * length * (h / length - 1.0 + exp(-h / length))) / 6.0;
    ck_assert_double_eq_tol(sd, expected, 5e-3 * expected);
    gsl_integration_workspace_free(work);
    pappus_air_free(air);
}
END_TEST

/* The grid starts at the pad, rises, steps 25 m or less to above the main heights,
 * holds every reading's height and ends above the apogees: the mean and six
 * standard deviations of a normal one, the highest of a uniform one. */
START_TEST(grid_shape)
{
    pappus_wind_profile profile = fixture_profile(jet, 6);
    pappus_winds winds = {1, &profile, 0.0};
    pappus_plan plan = fixture_plan(286.0, 1585.0);
    pappus_altimeter altimeter = {.main_height_m = 700.0};
    pappus_observation observations[3] = {
        {150.3, 5.0, 0.0, 1.0}, {3500.0, 5.0, 0.0, 1.0}, {8.0, 5.0, 0.0, 1.0}};
    plan.apogee.height_m = pappus_normal(1585.0, 76.0);
    plan.altimeter_count = 1;
    plan.altimeters = &altimeter;
    plan.wind.observation_count = 3;
    plan.wind.observations = observations;
    pappus_air *air = build(&plan, &winds);
    int held = 0;
    ck_assert_double_eq(air->height_m[0], 0.0);
    for (size_t i = 0; i < air->node_count; i++) {
        for (int j = 0; j < 3; j++)
            held += air->height_m[i] == observations[j].height_m;
        if (i == 0) continue;
        ck_assert_double_gt(air->height_m[i], air->height_m[i - 1]);
        if (air->height_m[i] <= 840.0)
            ck_assert_double_le(air->height_m[i] - air->height_m[i - 1], 25.0 + 1e-9);
    }
    ck_assert_int_eq(held, 3);
    ck_assert_double_ge(air->height_m[air->node_count - 2], 1585.0 + 5.99 * 76.0);
    pappus_air_free(air);
    plan.wind.observation_count = 0;
    plan.apogee.height_m = pappus_uniform(1000.0, 1234.0);
    air = build(&plan, &winds);
    ck_assert_double_eq_tol(air->height_m[air->node_count - 1], 1234.0, 1e-9);
    pappus_air_free(air);
}
END_TEST

/* ---------------------------------------------------------- what is said of it */

/* Wind from 240 at all heights: upwind points to 240. Turned by 90 and doubled, to
 * 330 and twice the speed, reading and gust too; the errors stay. */
START_TEST(factor_and_turn)
{
    const double east = -sin(240.0 * DEGREE), north = -cos(240.0 * DEGREE);
    pappus_wind_level levels[2] = {fixture_level(10.0, 5.0 * east, 5.0 * north),
                                   fixture_level(2000.0, 9.0 * east, 9.0 * north)};
    pappus_wind_profile profile = fixture_profile(levels, 2);
    pappus_winds winds = {1, &profile, 0.0};
    pappus_plan plan = fixture_plan(0.0, 1000.0);
    plan.wind.has_surface = true;
    plan.wind.surface = (pappus_observation){10.0, 6.0, 240.0, 1.0};
    plan.wind.gust_mps = 8.0;
    pappus_air *air = build(&plan, &winds);
    pappus_air *changed = build_with(&plan, &winds, (pappus_air_options){2.0, 90.0, 1.0});
    ck_assert_double_eq_tol(air->upwind_bearing_deg, 240.0, 1e-9);
    ck_assert_double_eq_tol(changed->upwind_bearing_deg, 330.0, 1e-9);
    ck_assert_double_eq_tol(pappus_air_surface_wind_mps(air), 6.0, 1e-12);
    ck_assert_double_eq_tol(pappus_air_surface_wind_mps(changed), 12.0, 1e-12);
    ck_assert_double_eq_tol(pappus_air_gust_mps(changed), 16.0, 1e-12);
    ck_assert_double_eq_tol(pappus_wind_field_gust_sd_mps(changed->wind, 10.0), 4.0 / 3.0, 1e-12);
    for (double z = 10.0; z < 1000.0; z += 99.0) {
        double sd[2];
        pappus_wind_vector mean[2];
        pappus_wind_field_moments(&mean[0], &sd[0], air->wind, 0, false, z);
        pappus_wind_field_moments(&mean[1], &sd[1], changed->wind, 0, false, z);
        /* Clockwise by 90: (u, v) becomes (v, -u). */
        ck_assert_double_eq_tol(mean[1].u_mps, 2.0 * mean[0].v_mps, 1e-9);
        ck_assert_double_eq_tol(mean[1].v_mps, -2.0 * mean[0].u_mps, 1e-9);
        ck_assert_double_eq_tol(sd[1], sd[0], 1e-12);
    }
    pappus_air_free(air);
    pappus_air_free(changed);
}
END_TEST

/* The error grows with age: sqrt(1 + (1.5 * 8^(1/3))^2) at eight hours; wind.age
 * stands before the file's. A layer's own deviation replaces the error only. */
START_TEST(error_grows_with_age)
{
    pappus_wind_level levels[2] = {fixture_level(10.0, 5.0, 0.0), fixture_level(2000.0, 9.0, 0.0)};
    levels[1].speed_sd_mps = 3.0;
    pappus_wind_profile profile = fixture_profile(levels, 2);
    pappus_winds winds = {1, &profile, 8.0 * 3600.0};
    pappus_plan plan = fixture_plan(0.0, 2500.0);
    pappus_air *air = build(&plan, &winds);
    const pappus_profile *p = &air->wind->profiles[0];
    ck_assert_double_eq_tol(pappus_profile_sd_mps(p, 10.0), sqrt(1.0 + 9.0), 1e-12);
    ck_assert_double_eq_tol(pappus_profile_sd_mps(p, 2000.0), sqrt(9.0 + 9.0), 1e-12);
    ck_assert_double_eq_tol(pappus_profile_sd_mps(p, 1005.0), sqrt(4.0 + 9.0), 1e-12);
    ck_assert_double_eq(pappus_profile_sd_mps(p, 0.0), 0.0);
    pappus_air_free(air);
    plan.wind.age_s = 0.0;
    air = build(&plan, &winds);
    ck_assert_double_eq_tol(pappus_profile_sd_mps(&air->wind->profiles[0], 10.0), 1.0, 1e-12);
    pappus_air_free(air);
}
END_TEST

static size_t warnings_of(const pappus_plan *plan, const pappus_winds *winds, const char *part)
{
    pappus_air *air;
    pappus_log log = {0};
    size_t found = 0;
    pappus_air_options usual = PAPPUS_AIR_OPTIONS_INIT;
    ck_assert_int_eq(try_build(&air, plan, winds, usual, &log), PAPPUS_OK);
    for (size_t i = 0; i < log.count; i++)
        found += log.entries[i].severity == PAPPUS_WARNING &&
                 strstr(log.entries[i].error.message, part) != NULL;
    pappus_log_clear(&log);
    pappus_air_free(air);
    return found;
}

START_TEST(warnings)
{
    pappus_wind_profile profile = fixture_profile(jet, 6);
    pappus_winds winds = {1, &profile, 0.0};
    pappus_plan plan = fixture_plan(0.0, 3100.0);
    ck_assert_uint_eq(warnings_of(&plan, &winds, "held above"), 0);
    plan.apogee.height_m = pappus_exact(3300.0);
    ck_assert_uint_eq(warnings_of(&plan, &winds, "held above"), 1);
}
END_TEST

/* No winds at all: calm, for the bench card. */
START_TEST(calm_without_winds)
{
    pappus_plan plan = fixture_plan(500.0, 1000.0);
    pappus_air *air = build(&plan, NULL);
    float *u = aligned_alloc(64, air->node_count * PAPPUS_LANES * sizeof *u);
    float *v = aligned_alloc(64, air->node_count * PAPPUS_LANES * sizeof *v);
    uint64_t index[PAPPUS_LANES] = {0};
    ck_assert(u && v);
    pappus_wind_draw(air, pappus_isa_best(), (pappus_random){1, 0}, index, u, v);
    for (size_t i = 0; i < air->node_count * PAPPUS_LANES; i++)
        ck_assert(u[i] == 0.0F && v[i] == 0.0F);
    ck_assert_double_eq_tol(pappus_air_density_kgpm3(air, 100.0),
                            pappus_standard_density_kgpm3(600.0), 1e-6);
    ck_assert(isnan(air->upwind_bearing_deg));
    ck_assert(!air->surface_only);
    free(u);
    free(v);
    pappus_air_free(air);
}
END_TEST

/* --------------------------------------------------------------- bad inputs */

static void check_refused(const pappus_plan *plan, const pappus_winds *winds,
                          pappus_air_options options, int code)
{
    pappus_air *air;
    pappus_log log = {0};
    ck_assert_int_eq(try_build(&air, plan, winds, options, &log), code);
    ck_assert_ptr_null(air);
    ck_assert_uint_eq(pappus_log_faults(&log), 1);
    ck_assert_int_eq(log.entries[0].error.code, code);
    ck_assert_str_ne(log.entries[0].error.message, "");
    pappus_log_clear(&log);
    ck_assert_int_eq(try_build(&air, plan, winds, options, NULL), code);
}

START_TEST(bad_winds)
{
    pappus_wind_level levels[2] = {fixture_level(10.0, NAN, NAN), fixture_level(500.0, NAN, 3.0)};
    pappus_wind_profile profile = fixture_profile(levels, 2);
    pappus_winds winds = {1, &profile, 0.0}, alone = {0, NULL, 0.0};
    pappus_air_options usual = PAPPUS_AIR_OPTIONS_INIT;
    pappus_plan plan = fixture_plan(0.0, 1000.0);
    check_refused(&plan, &winds, usual, PAPPUS_E_WIND);
    check_refused(&plan, &alone, usual, PAPPUS_E_WIND);
    profile.level_count = 0;
    check_refused(&plan, &winds, usual, PAPPUS_E_WIND);
    profile = fixture_profile(jet, 6);
    for (int i = 0; i < 6; i++)
        jet[i].height_m -= 4000.0;
    check_refused(&plan, &winds, usual, PAPPUS_E_WIND);
    for (int i = 0; i < 6; i++)
        jet[i].height_m += 4000.0;
    profile.weight = -1.0;
    check_refused(&plan, &winds, usual, PAPPUS_E_WIND);
    profile.weight = 1.0;
    plan.wind.correlation_height_m = 0.0;
    check_refused(&plan, &winds, usual, PAPPUS_E_WIND);
    plan = fixture_plan(0.0, 1000.0);
    plan.wind.has_surface = true;
    plan.wind.surface = (pappus_observation){2.0, NAN, 180.0, 1.0};
    check_refused(&plan, &winds, usual, PAPPUS_E_WIND);
    plan.wind.surface = (pappus_observation){-2.0, 5.0, 180.0, 1.0};
    check_refused(&plan, &winds, usual, PAPPUS_E_WIND);
}
END_TEST

START_TEST(bad_flights)
{
    pappus_wind_profile profile = fixture_profile(jet, 6);
    pappus_winds winds = {1, &profile, 0.0};
    pappus_air_options usual = PAPPUS_AIR_OPTIONS_INIT;
    const double apogees[] = {200000.0, 48000.0, NAN, INFINITY};
    for (int i = 0; i < 4; i++) {
        pappus_plan plan = fixture_plan(0.0, apogees[i]);
        check_refused(&plan, &winds, usual, PAPPUS_E_FLIGHT);
    }
    pappus_plan plan = fixture_plan(NAN, 1000.0);
    check_refused(&plan, &winds, usual, PAPPUS_E_FLIGHT);
    plan = fixture_plan(0.0, 1000.0);
    check_refused(&plan, &winds, (pappus_air_options){1.0, 0.0, 0.0}, PAPPUS_E_FLIGHT);
    check_refused(&plan, &winds, (pappus_air_options){NAN, 0.0, 1.0}, PAPPUS_E_FLIGHT);
    check_refused(&plan, &winds, (pappus_air_options){1.0, NAN, 1.0}, PAPPUS_E_FLIGHT);
}
END_TEST

SUITE("air")
{
    gsl_set_error_handler_off();
    tcase_add_test(tests, turns_through_north);
    tcase_add_test(tests, calm_level);
    tcase_add_test(tests, power_law_and_top);
    tcase_add_test(tests, kinds_of_height);
    tcase_add_test(tests, pressure_altitude);
    tcase_add_test(tests, sounding_tells_the_air);
    tcase_add_test(tests, halving_the_grid);
    tcase_add_test(tests, drift_of_a_fixed_rate);
    tcase_add_test(tests, grid_shape);
    tcase_add_test(tests, factor_and_turn);
    tcase_add_test(tests, error_grows_with_age);
    tcase_add_test(tests, warnings);
    tcase_add_test(tests, calm_without_winds);
    tcase_add_test(tests, bad_winds);
    tcase_add_test(tests, bad_flights);
}
