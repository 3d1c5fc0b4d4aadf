/* SPDX-License-Identifier: GPL-3.0-or-later
 * Shares of variance on plans whose shares are known: landing = apogee offset + drift,
 * independent, so that the shares are those of the two variances. X. */
#include "situation.h"
#include "suite.h"
#include "uncertain.h"

#include <stdlib.h>

static choice_setup setup;

static void set_up(void)
{
    choice_setup_set(&setup);
    pappus_plan *plan = &setup.flight.plan;
    plan->apogee.height_m = pappus_exact(1500.0);
    plan->apogee.spread_m = 0.0;
    plan->drogue.drag_area_m2 = pappus_exact(0.25);
    plan->main.drag_area_m2 = pappus_exact(3.6);
    plan->wind.error_mps = 0.0;
    setup.flight.altimeters[0].works = setup.flight.altimeters[1].works = 1.0;
}

static void tear_down(void)
{
    choice_setup_end(&setup);
}

static pappus_cloud *scatter(void)
{
    pappus_scatter_options options = PAPPUS_SCATTER_OPTIONS_INIT;
    pappus_cloud *cloud = NULL;
    pappus_error error = {0};
    options.run.landings = 20000;
    options.nominal_only = true;
    ck_assert_int_eq(pappus_scatter(&cloud, &setup.flight.plan, setup.flight.air, &options, &error),
                     PAPPUS_OK);
    return cloud;
}

static pappus_sensitivity *find(void)
{
    pappus_zones_options options = PAPPUS_ZONES_OPTIONS_INIT;
    pappus_sensitivity *found = NULL;
    pappus_zones *zones = NULL;
    pappus_error error = {0};
    choice_setup_build(&setup);
    pappus_cloud *cloud = scatter();
    options.contours = false;
    ck_assert_int_eq(pappus_zones_build(&zones, cloud, &setup.flight.plan, NULL, &options, &error),
                     PAPPUS_OK);
    int status = pappus_sensitivity_find(&found, &setup.given, &setup.run, zones, &error);
    ck_assert_msg(status == PAPPUS_OK, "%s", error.message);
    pappus_zones_free(zones);
    pappus_cloud_free(cloud);
    return found;
}

static const pappus_driver *driver(const pappus_sensitivity *s, const char *name)
{
    for (size_t i = 0; i < s->driver_count; i++)
        if (strcmp(s->drivers[i].name, name) == 0) return &s->drivers[i];
    ck_abort_msg("no driver %s", name);
    return NULL;
}

static double variance_north(void)
{
    pappus_cloud *cloud = scatter();
    double mean = 0.0, square = 0.0;
    for (size_t i = 0; i < cloud->count; i++)
        mean += cloud->north_m[i] / (double)cloud->count;
    for (size_t i = 0; i < cloud->count; i++)
        square += (cloud->north_m[i] - mean) * (cloud->north_m[i] - mean);
    square /= (double)(cloud->count - 1);
    pappus_cloud_free(cloud);
    return square;
}

START_TEST(one_source_has_it_all)
{
    setup.flight.plan.apogee.spread_m = 40.0;
    set_boundary(&setup, -3000, -3000, 3000, 700);
    pappus_sensitivity *s = find();
    /* the nearest side lies to the north */
    ck_assert(s->towards_boundary);
    ck_assert_double_eq_tol(remainder(s->axis_bearing_deg, 360.0), 0.0, 1e-6);
    /* sd of 16384 draws: 40 m within five times 40/sqrt(2 n) */
    ck_assert_double_eq_tol(s->sd_m, 40.0, 5.0 * 40.0 / sqrt(2.0 * 16384.0));
    ck_assert_double_eq_tol(driver(s, "apogee")->share, 1.0, 1e-9);
    ck_assert_double_eq_tol(driver(s, "interactions")->share, 0.0,
                            5.0 * driver(s, "interactions")->error + 0.05);
    pappus_sensitivity_free(s);
}
END_TEST

START_TEST(two_sources_share_as_their_variances)
{
    setup.flight.plan.wind.error_mps = 1.0;
    set_boundary(&setup, -3000, -3000, 3000, 700);
    choice_setup_build(&setup);
    double drift = variance_north();
    setup.flight.plan.apogee.spread_m = 60.0;
    pappus_sensitivity *s = find();
    double expected = 3600.0 / (3600.0 + drift);
    const pappus_driver *apogee = driver(s, "apogee"), *wind = driver(s, "wind aloft");
    ck_assert_double_gt(expected, 0.1);
    ck_assert_double_lt(expected, 0.9);
    ck_assert_double_eq_tol(apogee->share, expected, 5.0 * apogee->error + 0.02);
    ck_assert_double_eq_tol(wind->share, 1.0 - expected, 5.0 * wind->error + 0.02);
    ck_assert_double_lt(apogee->error, 0.03);
    ck_assert_double_eq(driver(s, "altimeters and delays")->share, 0.0); /* a null group */
    ck_assert_double_eq(driver(s, "altimeters and delays")->error, 0.0);
    /* What the groups leave has an error of its own, by the landings that they share: not
     * the sum of theirs. */
    const pappus_driver *rest = driver(s, "interactions");
    ck_assert_double_eq_tol(rest->share, 0.0, 5.0 * rest->error + 0.01);
    ck_assert_double_lt(rest->error, hypot(apogee->error, wind->error));
    pappus_sensitivity_free(s);
}
END_TEST

/* X: of a sum of two independent normals with shares s and q = 1 - s of the variance the delta
 * method gives by hand, with 8192 landings n: under 0.4 an error of sqrt(2 s / n), above it
 * sqrt((3 q^2 - 2 q^3) / n). The variance being that of the same landings counts: without it
 * they would be sqrt((2 s + s^2) / n) and sqrt(2 q^2 / n), 9 % more and 6 % less. Each is
 * estimated from 8192 squares, to some 2 %. */
START_TEST(errors_are_those_of_the_delta_method)
{
    const double share = 0.36, q = 0.36, n = 8192.0;
    setup.flight.plan.wind.error_mps = 1.0;
    set_boundary(&setup, -3000, -3000, 3000, 700);
    choice_setup_build(&setup);
    setup.flight.plan.apogee.spread_m = sqrt(share / (1.0 - share) * variance_north());
    pappus_sensitivity *s = find();
    double small = sqrt(2.0 * share / n), large = sqrt((3.0 * q * q - 2.0 * q * q * q) / n);
    ck_assert_double_eq_tol(driver(s, "apogee")->error, small, 0.04 * small);
    ck_assert_double_eq_tol(driver(s, "wind aloft")->error, large, 0.04 * large);
    pappus_sensitivity_free(s);
}
END_TEST

START_TEST(without_a_boundary_along_the_major_axis)
{
    setup.flight.plan.main.drag_area_m2 = pappus_normal(3.6, 0.36);
    pappus_sensitivity *s = find();
    ck_assert(!s->towards_boundary);
    /* drag moves the landing along the wind, towards 36.87 degrees (u 3, v 4) */
    ck_assert_double_eq_tol(fmod(s->axis_bearing_deg, 180.0), 36.8699, 1.0);
    ck_assert_double_eq_tol(driver(s, "canopy drag and mass")->share, 1.0, 1e-9);
    pappus_sensitivity_free(s);
}
END_TEST

START_TEST(nothing_uncertain_drives_nothing)
{
    pappus_sensitivity *s = find();
    ck_assert_double_eq_tol(s->sd_m, 0.0, 1e-6);
    for (size_t i = 0; i < s->driver_count; i++)
        ck_assert_double_eq(s->drivers[i].share, 0.0);
    pappus_sensitivity_free(s);
}
END_TEST

SUITE("sensitivity")
{
    tcase_add_checked_fixture(tests, set_up, tear_down);
    tcase_add_test(tests, one_source_has_it_all);
    tcase_add_test(tests, two_sources_share_as_their_variances);
    tcase_add_test(tests, errors_are_those_of_the_delta_method);
    tcase_add_test(tests, without_a_boundary_along_the_major_axis);
    tcase_add_test(tests, nothing_uncertain_drives_nothing);
}
