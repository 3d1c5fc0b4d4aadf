/* SPDX-License-Identifier: GPL-3.0-or-later
 * The law of the wind's error: its formulas and what was measured beside them, the scale
 * of the Student law against GSL, weights of several profiles by integration, a layer's
 * own deviation, and three evenings judged by the zones of old and new. */
#include "air/air_fixture.h"
#include "air.h"
#include "suite.h"
#include "wind_field.h"

#include <gsl/gsl_cdf.h>
#include <gsl/gsl_errno.h>
#include <gsl/gsl_integration.h>
#include <gsl/gsl_randist.h>
#include <stdlib.h>

static pappus_air *build(const pappus_plan *plan, const pappus_winds *winds)
{
    pappus_air *air = NULL;
    pappus_air_options options = PAPPUS_AIR_OPTIONS_INIT;
    ck_assert_int_eq(pappus_air_build(&air, plan, winds, &options, NULL), PAPPUS_OK);
    return air;
}

static pappus_wind_error usual_law(pappus_wind_kind kind)
{
    pappus_wind_plan plan = {0};
    fixture_usual_error(&plan);
    return pappus_wind_error_of(&plan, kind);
}

/* ----------------------------------------------------------------- formulas */

START_TEST(size_by_height_and_age)
{
    const struct {
        double height_m, age_h, expected_mps; /* X */
    } rows[] = {{0, 0, 0.5},
                {200, 0, 0.75},
                {1000, 0, 1.0},
                {3250, 0, 1.125},
                {9000, 0, 1.25},
                {-50, 0, 0.5},
                {1000, 1, 2.6},
                {1000, 8, 4.903060268852505},
                {0, 8, 2.451530134426252},
                {4500, 27, 9.086390923138224}};
    pappus_wind_error law = usual_law(PAPPUS_WIND_SOUNDING);
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
        ck_assert_double_eq_tol(pappus_wind_error_sd_mps(&law, rows[i].height_m, rows[i].age_h),
                                rows[i].expected_mps, 1e-9);
    law = usual_law(PAPPUS_WIND_FORECAST);
    ck_assert_double_eq_tol(pappus_wind_error_sd_mps(&law, 1000, 8), sqrt(10.0), 1e-12);
}
END_TEST

/* By hand: of two winds of 10 m/s, and of one that turns about at 1750 m so that its mean
 * vector from 250 to 3250 m is none; the part that an hour does not add stays (X). */
START_TEST(size_by_the_wind_aloft)
{
    pappus_wind_level blowing[] = {fixture_level(10, 6, 8), fixture_level(4000, 6, 8)};
    pappus_wind_level turning[] = {fixture_level(500, 16, 0), fixture_level(3000, -16, 0)};
    const struct {
        pappus_wind_level *levels;
        double share, age_s, expected_mps;
    } rows[] = {{blowing, 0.0, 28800, sqrt(1 + 23.04)},
                {blowing, 0.3, 28800, sqrt(1 + (1 + 0.3 * 0.5625) * 23.04)},
                {turning, 0.3, 28800, sqrt(1 + 0.7 * 23.04)},
                {blowing, 0.3, 0, 1.0}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        pappus_plan plan = fixture_plan(0.0, 2000.0);
        pappus_wind_profile profile = fixture_profile(rows[i].levels, 2);
        pappus_winds winds = {.profile_count = 1, .profiles = &profile, .age_s = rows[i].age_s};
        fixture_usual_error(&plan.wind);
        plan.wind.speed_share = rows[i].share;
        pappus_air *air = build(&plan, &winds);
        ck_assert_double_eq_tol(pappus_profile_sd_mps(&air->wind->profiles[0], 1000.0),
                                rows[i].expected_mps, 1e-9);
        pappus_air_free(air);
    }
}
END_TEST

/* Growth at 24 h beside the rms changes of a component at Vienna 2015 and Perth 2014-15 (X:
 * measured on soundings of IGRA and of the University of Wyoming), within 15 %. */
START_TEST(size_beside_soundings)
{
    const struct {
        double height_m, vienna_mps, perth_mps;
    } rows[] = {{10, 3.31, 3.58},  {100, 4.40, 4.74},  {200, 5.50, 5.63},  {300, 6.41, 6.25},
                {500, 7.24, 7.00}, {1000, 7.22, 7.09}, {3000, 7.14, 7.75}, {4500, 8.71, 8.96}};
    pappus_wind_error law = usual_law(PAPPUS_WIND_SOUNDING);
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        double sd = pappus_wind_error_sd_mps(&law, rows[i].height_m, 24.0);
        ck_assert_double_eq_tol(sd / rows[i].vienna_mps, 1.0, 0.15);
        ck_assert_double_eq_tol(sd / rows[i].perth_mps, 1.0, 0.15);
    }
}
END_TEST

/* The change at 10 m with that aloft: San Diego, summers 2013-17, 12 h, which had no part in
 * the fit: 0.61 with 500 m; at 24 h 500 m and 1000 m at Vienna 0.70 and 0.54, at Perth 0.68
 * and 0.50. */
START_TEST(correlation_beside_soundings)
{
    const struct {
        double height_m, age_h, measured;
    } rows[] = {{500, 12, 0.61}, {500, 24, 0.70},  {1000, 24, 0.54},
                {500, 24, 0.68}, {1000, 24, 0.50}, {300, 24, 0.75}};
    pappus_wind_error law = usual_law(PAPPUS_WIND_SOUNDING);
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
        ck_assert_double_eq_tol(
            pappus_wind_error_correlation(&law, 10, rows[i].height_m, rows[i].age_h),
            rows[i].measured, 0.1);
}
END_TEST

START_TEST(correlation_by_age)
{
    pappus_wind_error law = usual_law(PAPPUS_WIND_SOUNDING);
    ck_assert_double_eq(pappus_wind_error_length_m(&law, 0.0), 250.0);
    ck_assert_double_eq(pappus_wind_error_length_m(&law, 1.0), 500.0);
    ck_assert_double_eq(pappus_wind_error_length_m(&law, 4.0), 1000.0);
    ck_assert_double_eq(pappus_wind_error_length_m(&law, 48.0), 3000.0);
    /* X: exp(-(1900 - 600)/1000) above the surface layer, to its e^-10. */
    ck_assert_double_eq_tol(pappus_wind_error_correlation(&law, 600, 1900, 4.0), exp(-1.3), 1e-5);
    ck_assert_double_eq_tol(pappus_wind_error_correlation(&law, 1900, 600, 4.0), exp(-1.3), 1e-5);
    /* X: from the ground 0.2 lengths more. */
    ck_assert_double_eq_tol(pappus_wind_error_correlation(&law, 0, 600, 4.0), exp(-0.8), 1e-5);
    law.correlation_height_m = 700.0;
    ck_assert_double_eq(pappus_wind_error_length_m(&law, 4.0), 700.0);
}
END_TEST

START_TEST(widening_factor)
{
    ck_assert_double_eq_tol(pappus_wind_error_widening(8.0, 2, 2.0), 1.0, 1e-15);
    ck_assert_double_eq_tol(pappus_wind_error_widening(8.0, 2, 0.0), 0.75, 1e-15);
    ck_assert_double_eq_tol(pappus_wind_error_widening(8.0, 4, 24.0), 3.0, 1e-15);
    ck_assert_double_eq(pappus_wind_error_widening(PAPPUS_NORMAL_DOF, 2, 100.0), 1.0);
}
END_TEST

/* ---------------------------------------------------------------- the scale */

static double scale_at(const pappus_wind_scale *s, double normal)
{
    double step = 2.0 * PAPPUS_SCALE_WIDTH / PAPPUS_SCALE_PARTS;
    int part = (int)floor((normal + PAPPUS_SCALE_WIDTH) / step);
    double y = (normal + PAPPUS_SCALE_WIDTH) / step - part;
    const float *c = s->cubic[part];
    return c[0] + y * (c[1] + y * (c[2] + y * (double)c[3]));
}

/* Between the knots too, against GSL's chi-square, to 5 deviations: 1e-5 of the scale from
 * 5 degrees of freedom on, 3e-4 at the fewest that a plan may give. */
START_TEST(scale_against_gsl)
{
    const double dofs[] = {2.1, 3.0, 5.0, 8.0, 12.0, 72.0};
    pappus_wind_scale s;
    for (size_t i = 0; i < sizeof dofs / sizeof *dofs; i++) {
        pappus_wind_scale_fill(&s, dofs[i]);
        for (double n = -5.0; n <= 5.0; n += 0.037) {
            double c = n < 0.0 ? gsl_cdf_chisq_Pinv(gsl_cdf_ugaussian_P(n), dofs[i])
                               : gsl_cdf_chisq_Qinv(gsl_cdf_ugaussian_Q(n), dofs[i]);
            ck_assert_double_eq_tol(scale_at(&s, n) * sqrt(c), 1.0, i < 2 ? 3e-4 : 1e-5);
        }
        ck_assert(isfinite(s.knot[0]) && s.knot[PAPPUS_SCALE_PARTS] > 0.0);
    }
}
END_TEST

typedef struct {
    double dof, sd, gust, x;
} gusty;

static double gusty_density(double c, void *data)
{
    const gusty *g = data;
    return gsl_ran_chisq_pdf(c, g->dof) * gsl_cdf_gaussian_P(g->x, hypot(g->sd / sqrt(c), g->gust));
}

/* A Student wind with a normal gust beside it: GSL's integral over the chi-square. */
START_TEST(gusty_law_against_integral)
{
    gsl_integration_workspace *work = gsl_integration_workspace_alloc(2000);
    for (double x = -12.0; x <= 12.0; x += 1.7) {
        gusty g = {10.0, 6.0, 1.5, x};
        gsl_function f = {gusty_density, &g};
        pappus_wind_scale s;
        double expected, error;
        pappus_wind_scale_fill(&s, g.dof);
        gsl_integration_qagiu(&f, 0.0, 0.0, 1e-10, 2000, work, &expected, &error);
        ck_assert_double_eq_tol(pappus_gusty_normal_cdf(&s, g.sd, g.gust, x), expected, 1e-9);
    }
    gsl_integration_workspace_free(work);
}
END_TEST

/* ------------------------------------------------------------ several profiles */

typedef struct {
    double dof, du, dv, variance;
} expected_reading;

/* Density of a reading of both components given the scale's chi-square c. */
static double reading_density(double c, void *data)
{
    const expected_reading *r = data;
    double sd = sqrt(r->variance * (r->dof - 2.0) / c);
    return gsl_ran_chisq_pdf(c, r->dof) * gsl_ran_gaussian_pdf(r->du, sd) *
           gsl_ran_gaussian_pdf(r->dv, sd);
}

/* Weights after a reading, and the spread of each, against integrals over the drawn scale: no
 * formula of a Student law is used. A sounding and a forecast, 8 h old, at 1000 m, where the
 * deviation is sqrt(1 + (growth 2)^2). */
START_TEST(weights_by_integral)
{
    pappus_wind_level levels[2][2] = {
        {fixture_level(0.0, 3.0, 1.0), fixture_level(2000.0, 3.0, 1.0)},
        {fixture_level(0.0, 9.0, -1.0), fixture_level(2000.0, 9.0, -1.0)}};
    pappus_wind_profile profiles[2] = {fixture_profile(levels[0], 2),
                                       fixture_profile(levels[1], 2)};
    profiles[0].weight = 3.0;
    profiles[1].kind = PAPPUS_WIND_FORECAST;
    pappus_winds winds = {2, profiles, 8.0 * 3600.0};
    pappus_plan plan = fixture_plan(0.0, 1500.0);
    fixture_usual_error(&plan.wind);
    plan.wind.error_dof = 5.0;
    pappus_observation observation = {1000.0, 6.0, 270.0, 1.2};
    plan.wind.observation_count = 1;
    plan.wind.observations = &observation;
    pappus_air *air = build(&plan, &winds);
    const double growth[] = {2.4, 1.5}, u[] = {3.0, 9.0}, v[] = {1.0, -1.0};
    double density[2], expected, error, widening = 0.0;
    gsl_integration_workspace *work = gsl_integration_workspace_alloc(2000);
    for (int k = 0; k < 2; k++) {
        expected_reading r = {5.0, 6.0 - u[k], -v[k], 1.0 + 4.0 * growth[k] * growth[k] + 1.44};
        gsl_function f = {reading_density, &r};
        gsl_integration_qagiu(&f, 0.0, 0.0, 1e-10, 2000, work, &density[k], &error);
        density[k] *= profiles[k].weight;
    }
    for (int k = 0; k < 2; k++) {
        double weight = density[k] / (density[0] + density[1]);
        double variance = 1.0 + 4.0 * growth[k] * growth[k];
        double d2 = (pow(6.0 - u[k], 2.0) + v[k] * v[k]) / (variance + 1.44);
        expected = (3.0 + d2) / 5.0; /* X: (nu - 2 + d2)/(nu - 2 + 2) */
        widening += weight * expected;
        ck_assert_double_eq_tol(air->wind->weight[k], weight, 1e-8);
        ck_assert_double_eq_tol(air->wind->widening[k], expected, 1e-12);
    }
    ck_assert_double_eq_tol(pappus_air_wind_widening(air), widening, 1e-8);
    gsl_integration_workspace_free(work);
    pappus_air_free(air);
}
END_TEST

/* A layer's own deviation counts where it is the larger, and is not made smaller near the
 * ground; what comes with age adds to it. */
START_TEST(own_deviation)
{
    pappus_wind_level levels[3] = {fixture_level(0.0, 3.0, 1.0), fixture_level(1000.0, 3.0, 1.0),
                                   fixture_level(2000.0, 3.0, 1.0)};
    levels[0].speed_sd_mps = 2.0;
    levels[1].speed_sd_mps = 3.0;
    levels[2].speed_sd_mps = 0.4;
    pappus_wind_profile profile = fixture_profile(levels, 3);
    pappus_winds winds = {1, &profile, 0.0};
    pappus_plan plan = fixture_plan(0.0, 2500.0);
    fixture_usual_error(&plan.wind);
    pappus_air *fresh = build(&plan, &winds);
    winds.age_s = 3600.0;
    pappus_air *aged = build(&plan, &winds);
    const pappus_profile *p = &fresh->wind->profiles[0], *q = &aged->wind->profiles[0];
    ck_assert_double_eq_tol(pappus_profile_sd_mps(p, 0.0), 2.0, 1e-12);
    ck_assert_double_eq_tol(pappus_profile_sd_mps(p, 1000.0), 3.0, 1e-12);
    ck_assert_double_eq_tol(pappus_profile_sd_mps(p, 2000.0), 1.0, 1e-12);
    ck_assert_double_eq_tol(pappus_profile_sd_mps(q, 0.0), hypot(2.0, 1.2), 1e-12);
    ck_assert_double_eq_tol(pappus_profile_sd_mps(q, 2000.0), 2.6, 1e-12);
    pappus_air_free(fresh);
    pappus_air_free(aged);
}
END_TEST

/* Under the lowest level the error shrinks with the wind from what it is there. */
START_TEST(under_the_lowest_level)
{
    pappus_wind_level levels[2] = {fixture_level(600.0, 8.0, 1.0), fixture_level(2000.0, 3.0, 1.0)};
    pappus_wind_profile profile = fixture_profile(levels, 2);
    pappus_winds winds = {1, &profile, 0.0};
    pappus_plan plan = fixture_plan(0.0, 2500.0);
    fixture_usual_error(&plan.wind);
    pappus_air *air = build(&plan, &winds);
    ck_assert_double_eq_tol(pappus_profile_sd_mps(&air->wind->profiles[0], 10.0),
                            pow(10.0 / 600.0, 0.143), 1e-12);
    ck_assert_double_eq(pappus_profile_sd_mps(&air->wind->profiles[0], 0.0), 0.0);
    pappus_air_free(air);
}
END_TEST

/* A reading that is all there is tells nothing of the size of its own error. */
START_TEST(surface_only_is_not_narrowed)
{
    pappus_winds winds = {0, NULL, 0.0};
    pappus_plan plan = fixture_plan(0.0, 1500.0);
    fixture_usual_error(&plan.wind);
    plan.wind.has_surface = true;
    plan.wind.surface = (pappus_observation){2.0, 4.0, 180.0, 1.0};
    pappus_air *air = build(&plan, &winds);
    ck_assert_double_eq(pappus_air_wind_widening(air), 1.0);
    ck_assert_double_eq(air->wind->scale.dof, 8.0);
    pappus_air_free(air);
}
END_TEST

static void check_refused(void change(pappus_wind_plan *))
{
    pappus_wind_level levels[1] = {fixture_level(600.0, 8.0, 1.0)};
    pappus_wind_profile profile = fixture_profile(levels, 1);
    pappus_winds winds = {1, &profile, 0.0};
    pappus_plan plan = fixture_plan(0.0, 500.0);
    pappus_air_options options = PAPPUS_AIR_OPTIONS_INIT;
    pappus_air *air = NULL;
    fixture_usual_error(&plan.wind);
    change(&plan.wind);
    ck_assert_int_eq(pappus_air_build(&air, &plan, &winds, &options, NULL), PAPPUS_E_WIND);
}

static void two_degrees(pappus_wind_plan *wind)
{
    wind->error_dof = 2.0;
}

static void no_ground(pappus_wind_plan *wind)
{
    wind->ground_factor = 0.0;
}

static void no_length(pappus_wind_plan *wind)
{
    wind->correlation_growth_m = NAN;
}

static void negative_decoupling(pappus_wind_plan *wind)
{
    wind->decoupling = -0.1;
}

START_TEST(bad_laws)
{
    check_refused(two_degrees);
    check_refused(no_ground);
    check_refused(no_length);
    check_refused(negative_decoupling);
}
END_TEST

/* ------------------------------------------------------------- three evenings */

/* Drift of a fall at 25 m/s from 1500 m to 213 m and at 6 m/s to the ground. */
typedef struct {
    double east_m, north_m; /* mean */
    double radius_m;        /* about it, of 90 % */
} zone;

enum { ZONE_LANDINGS = 8000 };

static int by_size(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

static void seconds_at_nodes(double *seconds, const pappus_air *air)
{
    for (size_t i = 0; i + 1 < air->node_count; i++) {
        double middle = 0.5 * (air->height_m[i] + air->height_m[i + 1]);
        double rate = middle < 213.0 ? 6.0 : 25.0;
        double half = 0.5 * (air->height_m[i + 1] - air->height_m[i]) / rate;
        seconds[i] += middle < 1500.0 ? half : 0.0;
        seconds[i + 1] += middle < 1500.0 ? half : 0.0;
    }
}

static zone zone_of(const pappus_air *air)
{
    static double east[ZONE_LANDINGS], north[ZONE_LANDINGS], away[ZONE_LANDINGS];
    double *seconds = calloc(air->node_count, sizeof *seconds);
    float *u = aligned_alloc(64, air->node_count * PAPPUS_LANES * sizeof *u);
    float *v = aligned_alloc(64, air->node_count * PAPPUS_LANES * sizeof *v);
    zone z = {0};
    ck_assert(seconds && u && v);
    seconds_at_nodes(seconds, air);
    for (uint64_t first = 0; first < ZONE_LANDINGS; first += PAPPUS_LANES) {
        uint64_t index[PAPPUS_LANES];
        for (uint64_t l = 0; l < PAPPUS_LANES; l++)
            index[l] = first + l;
        pappus_wind_draw(air, pappus_isa_best(), (pappus_random){5, 0}, index, u, v);
        for (size_t l = 0; l < PAPPUS_LANES; l++) {
            east[first + l] = north[first + l] = 0.0;
            for (size_t i = 0; i < air->node_count; i++) {
                east[first + l] += seconds[i] * u[i * PAPPUS_LANES + l];
                north[first + l] += seconds[i] * v[i * PAPPUS_LANES + l];
            }
            z.east_m += east[first + l] / ZONE_LANDINGS;
            z.north_m += north[first + l] / ZONE_LANDINGS;
        }
    }
    for (size_t i = 0; i < ZONE_LANDINGS; i++)
        away[i] = hypot(east[i] - z.east_m, north[i] - z.north_m);
    qsort(away, ZONE_LANDINGS, sizeof *away, by_size);
    z.radius_m = away[ZONE_LANDINGS * 9 / 10];
    free(seconds);
    free(u);
    free(v);
    return z;
}

/* A sounding 12 h old, (6, 3) m/s at 10 m to (13, 6) at 1500 m, and a reading at 2 m. old:
 * the law before this one: normal, growth 1.5, one length of 1000 m, no height factor. */
typedef struct {
    zone without, with;
    double widening;
} evening;

static evening judge(bool old, double speed_mps, double from_deg)
{
    pappus_wind_level levels[3] = {fixture_level(10.0, 6.0, 3.0), fixture_level(400.0, 10.0, 5.0),
                                   fixture_level(1500.0, 13.0, 6.0)};
    pappus_wind_profile profile = fixture_profile(levels, 3);
    pappus_winds winds = {1, &profile, 12.0 * 3600.0};
    pappus_plan plan = fixture_plan(300.0, 1600.0);
    evening out;
    if (!old) fixture_usual_error(&plan.wind);
    pappus_air *air = build(&plan, &winds);
    out.without = zone_of(air);
    pappus_air_free(air);
    plan.wind.has_surface = true;
    plan.wind.surface = (pappus_observation){2.0, speed_mps, from_deg, 1.0};
    air = build(&plan, &winds);
    out.with = zone_of(air);
    out.widening = pappus_air_wind_widening(air);
    pappus_air_free(air);
    return out;
}

static bool holds(zone z, double east_m, double north_m)
{
    return hypot(east_m - z.east_m, north_m - z.north_m) < z.radius_m;
}

/* Radius of 90 % in metres, and mean drift east, north (seed 5):
 *                          old                     new
 *   without a reading      540 about 820,  401     768 about 814,  399
 *   it agrees              369 about 822,  397     524 about 819,  395   0.75
 *   calm under the wind    369 about 571,  273     655 about 463,  218   1.17
 *   a front                369 about 750,  -96     871 about 713, -305   2.07
 * The last column is the widening. The old zone did not know whether a reading fits: it had
 * one size, and held 62 % for 90 % without a reading (Perth 2016-17, 12 h). */
START_TEST(reading_that_agrees)
{
    evening old = judge(true, 5.3, 243.4), new = judge(false, 5.3, 243.4);
    ck_assert_double_eq_tol(old.widening, 1.0, 1e-12);
    ck_assert_double_eq_tol(new.widening, 0.75, 0.01); /* X: d2 near 0, (8 - 2)/(8 - 2 + 2) */
    ck_assert_double_lt(new.with.radius_m, 0.75 * new.without.radius_m);
    ck_assert(holds(new.with, new.without.east_m, new.without.north_m));
}
END_TEST

/* A calm at 2 m under a wind that the sounding had. Two things may have happened, and calm
 * readings of soundings do not tell which (at Vienna and Perth a calm pulls the wind at
 * 500 m as much as any reading, slope 1.05 to 1.75): the layer at the ground has come off and
 * the wind aloft goes on, or it has died down at all heights (to a fifth, here). The old zone
 * held the first alone. */
START_TEST(calm_evening)
{
    evening old = judge(true, 0.5, 240.0), new = judge(false, 0.5, 240.0);
    ck_assert(holds(new.with, new.without.east_m, new.without.north_m));
    ck_assert(holds(new.with, 0.2 * new.without.east_m, 0.2 * new.without.north_m));
    ck_assert(!holds(old.with, 0.2 * old.without.east_m, 0.2 * old.without.north_m));
    ck_assert_double_gt(new.widening, 1.0);
    ck_assert_double_lt(new.widening, 1.5);
}
END_TEST

/* A front has gone through: the reading has the wind from 330 deg where the sounding had it
 * from the south-west. Turned there with its speed at all heights, the wind lands the rocket
 * in the new zone and far outside the old; unturned aloft, it lands in the new one too. */
START_TEST(front)
{
    evening old = judge(true, 7.0, 330.0), new = judge(false, 7.0, 330.0);
    double far_m = hypot(new.without.east_m, new.without.north_m);
    double turned_east = far_m * sin(150.0 * M_PI / 180.0);
    double turned_north = far_m * cos(150.0 * M_PI / 180.0);
    ck_assert_double_gt(new.widening, 1.5);
    ck_assert_double_gt(new.with.radius_m, new.without.radius_m);
    ck_assert(holds(new.with, turned_east, turned_north));
    ck_assert(holds(new.with, new.without.east_m, new.without.north_m));
    ck_assert(!holds(old.with, turned_east, turned_north));
    ck_assert_double_gt(hypot(turned_east - old.with.east_m, turned_north - old.with.north_m),
                        1.5 * old.with.radius_m);
}
END_TEST

SUITE("wind error")
{
    gsl_set_error_handler_off();
    tcase_add_test(tests, size_by_height_and_age);
    tcase_add_test(tests, size_by_the_wind_aloft);
    tcase_add_test(tests, size_beside_soundings);
    tcase_add_test(tests, correlation_beside_soundings);
    tcase_add_test(tests, correlation_by_age);
    tcase_add_test(tests, widening_factor);
    tcase_add_test(tests, scale_against_gsl);
    tcase_add_test(tests, gusty_law_against_integral);
    tcase_add_test(tests, weights_by_integral);
    tcase_add_test(tests, own_deviation);
    tcase_add_test(tests, under_the_lowest_level);
    tcase_add_test(tests, surface_only_is_not_narrowed);
    tcase_add_test(tests, bad_laws);
    tcase_add_test(tests, reading_that_agrees);
    tcase_add_test(tests, calm_evening);
    tcase_add_test(tests, front);
}
