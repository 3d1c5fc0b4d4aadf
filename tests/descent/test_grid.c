/* SPDX-License-Identifier: GPL-3.0-or-later
 * The grid that wind and air are laid on is fine enough: with half of every step the
 * central fall moves by less than the design's bound for the landings' quantiles. And
 * the wind at touchdown against the power law itself, not its grid. */
#include "real_air.h"

#include "reference.h"

#include <check.h>
#include <gsl/gsl_integration.h>
#include <math.h>
#include <stdlib.h>

#define BOUND 0.005 /* of a quantile, when the grid is halved (design) */
#define LOW_M 10.0
#define EXPONENT 0.143

/* 5 m/s from the south-west at 10 m, 15 m/s from the west at 4 km. */
static void sheared_setup(flight_setup *s)
{
    flight_setup_set(s);
    s->levels[0] = (pappus_wind_level){PAPPUS_HEIGHT_AGL, LOW_M, 3.0, 4.0, NAN, NAN, NAN};
    s->levels[1] = (pappus_wind_level){PAPPUS_HEIGHT_AGL, 4000.0, 15.0, 0.0, NAN, NAN, NAN};
}

static pappus_path_point touchdown_on(flight_setup *s, double grid_factor)
{
    pappus_air_options options = PAPPUS_AIR_OPTIONS_INIT;
    pappus_log log = {0};
    pappus_error error = {0};
    pappus_path *path = NULL;
    options.grid_factor = grid_factor;
    ck_assert_int_eq(pappus_air_build(&s->air, &s->plan, &s->winds, &options, &log), PAPPUS_OK);
    ck_assert_int_eq(pappus_reference_path(&path, &s->plan, s->air, PAPPUS_NOMINAL, &error),
                     PAPPUS_OK);
    pappus_path_point end = path->points[path->count - 1];
    pappus_path_free(path);
    pappus_air_free(s->air);
    s->air = NULL;
    pappus_log_clear(&log);
    return end;
}

static void same_within(double a, double b)
{
    ck_assert_double_eq_tol(a, b, BOUND * fabs(b));
}

START_TEST(half_the_grid_moves_nothing)
{
    flight_setup s;
    sheared_setup(&s);
    pappus_path_point a = touchdown_on(&s, 1.0), b = touchdown_on(&s, 0.5);
    same_within(hypot(a.east_m, a.north_m), hypot(b.east_m, b.north_m));
    same_within(a.time_s, b.time_s);
    same_within(a.vup_mps, b.vup_mps);
    same_within(hypot(a.ve_mps, a.vn_mps), hypot(b.ve_mps, b.vn_mps));
}
END_TEST

/* X: falling at the steady rate v, the horizontal speed follows the wind with the
 * relaxation length v^2/g, so at the ground it is the integral over z of
 * U(z) e^(-z g/v^2) g/v^2, with U(z) = U10 (z/10)^0.143. That leaves out that slip
 * makes the drag greater: by half of the square of slip over v, here under 3 %. */
static double weighed_wind(double z, void *length_m)
{
    double length = *(double *)length_m;
    return 5.0 * pow(z / LOW_M, EXPONENT) * exp(-z / length) / length;
}

START_TEST(touchdown_feels_the_power_law)
{
    flight_setup s;
    sheared_setup(&s);
    s.levels[1] = (pappus_wind_level){PAPPUS_HEIGHT_AGL, 4000.0, 3.0, 4.0, NAN, NAN, NAN};
    pappus_path_point end = touchdown_on(&s, 1.0);
    double v = -end.vup_mps, length_m = v * v / 9.80665, wind, error;
    gsl_integration_workspace *space = gsl_integration_workspace_alloc(1000);
    gsl_function f = {weighed_wind, &length_m};
    ck_assert_int_eq(gsl_integration_qags(&f, 0.0, 20.0 * length_m, 0.0, 1e-8, 1000, space, &wind,
                                          &error), 0);
    gsl_integration_workspace_free(space);
    ck_assert_double_eq_tol(hypot(end.ve_mps, end.vn_mps), wind, 0.03 * wind);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("grid");
    TCase *tests = tcase_create("grid");
    tcase_add_test(tests, half_the_grid_moves_nothing);
    tcase_add_test(tests, touchdown_feels_the_power_law);
    suite_add_tcase(suite, tests);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed != 0;
}
