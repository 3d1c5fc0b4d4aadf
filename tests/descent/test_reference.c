/* SPDX-License-Identifier: GPL-3.0-or-later
 * The reference integrator against closed forms. X: computed from the formula
 * that stands beside it; the formulas follow from the equation of motion by hand. */
#include "reference.h"

#include "air_by_hand.h"
#include "suite.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static hand_air air;

static void set_air(void)
{
    hand_air_exponential(&air, 1.225, 8434.5);
}

static pappus_touchdown down(const pappus_fall *fall, double tolerance)
{
    pappus_touchdown t;
    pappus_error error = {0};
    int status =
        pappus_reference_fall(&t, NULL, fall, &air.air, air.u_mps, air.v_mps, tolerance, &error);
    ck_assert_msg(status == PAPPUS_OK, "%s", error.message);
    return t;
}

static double drag_area_for(double mass_kg, double rate_mps)
{
    return 2.0 * mass_kg * PAPPUS_GRAVITY_MPS2 / (1.225 * rate_mps * rate_mps);
}

/* X: air of scale height H = 8434.5 m, 20 m/s at the ground, always at the steady
 * rate: t = (2H/v0)(1 - e^(-h/2H)). The design's bound is 0.5 %; the steady rate
 * leaves out the deceleration, which is (v/g) dv/dt, here under 0.3 %. */
static const struct {
    double height_m, time_s;
} exponential[] = {{1000.0, 48.547}, {3000.0, 137.419}};

START_TEST(exponential_air_in_closed_form)
{
    double h = exponential[_i].height_m;
    pappus_fall fall = hand_fall(8.0, h, drag_area_for(8.0, 20.0));
    fall.vup_mps = -20.0 * exp(h / (2.0 * 8434.5));
    pappus_touchdown t = down(&fall, PAPPUS_REFERENCE_TOLERANCE);
    ck_assert_double_eq_tol(t.time_s, exponential[_i].time_s, 0.005 * exponential[_i].time_s);
    ck_assert_double_eq_tol(-t.vup_mps, 20.0, 0.1);
}
END_TEST

START_TEST(constant_wind_drifts_with_the_time)
{
    pappus_fall fall = hand_fall(8.0, 3000.0, drag_area_for(8.0, 20.0));
    for (int i = 0; i < HAND_NODES; i++) {
        air.u_mps[i] = 6.0;
        air.v_mps[i] = -8.0;
    }
    fall.ve_mps = 6.0; /* moves with the wind from the start: exact */
    fall.vn_mps = -8.0;
    pappus_touchdown t = down(&fall, PAPPUS_REFERENCE_TOLERANCE);
    ck_assert_double_eq_tol(t.east_m, 6.0 * t.time_s, 1e-6);
    ck_assert_double_eq_tol(t.north_m, -8.0 * t.time_s, 1e-6);
    ck_assert_double_eq_tol(t.ve_mps, 6.0, 1e-9);
}
END_TEST

/* X: no drag at all: t = sqrt(2h/g), v = g t. */
START_TEST(vacuum_is_exact)
{
    pappus_fall fall = hand_fall(8.0, 1000.0, 0.0);
    fall.ve_mps = 10.0;
    pappus_touchdown t = down(&fall, PAPPUS_REFERENCE_TOLERANCE);
    double time_s = sqrt(2000.0 / 9.80665);
    ck_assert_double_eq_tol(t.time_s, time_s, 1e-6);
    ck_assert_double_eq_tol(t.vup_mps, -9.80665 * time_s, 1e-5);
    ck_assert_double_eq_tol(t.east_m, 10.0 * time_s, 1e-5);
    ck_assert(isnan(t.main_fire_m) && isnan(t.drogue_load_n) && isnan(t.time_full_open_s));
    ck_assert_double_eq(t.main_full_open_m, 0.0);
}
END_TEST

/* X: constant density (a scale height of 1e12 m): from rest to the ground in
 * t = (v/g) acosh(e^(g h / v^2)), v the terminal rate; touchdown at
 * v sqrt(1 - e^(-2 g h / v^2)). */
START_TEST(constant_density_from_rest)
{
    hand_air_exponential(&air, 1.225, 1e12);
    double v = 25.0, g = 9.80665, h = 60.0;
    pappus_fall fall = hand_fall(5.0, h, drag_area_for(5.0, v));
    pappus_touchdown t = down(&fall, PAPPUS_REFERENCE_TOLERANCE);
    ck_assert_double_eq_tol(t.time_s, v / g * acosh(exp(g * h / (v * v))), 1e-6);
    ck_assert_double_eq_tol(t.vup_mps, -v * sqrt(1.0 - exp(-2.0 * g * h / (v * v))), 1e-6);
}
END_TEST

/* Opening load without gravity, X: with CdS (t/t_f)^2 and A = 2m/(rho CdS v t_f),
 * load over the steady load of the speed at firing is (1 + 1/(3A))^-2 for A >= 2/3
 * (at full open), else (4/9)(1.5 A)^(2/3) (before). Gravity is made small by the
 * speed, 1000 m/s across. Tolerance 1e-3: the reference's steps resolve the peak
 * to (1/100)^2. */
static const double ballistic[] = {0.05, 0.2, 0.5, 0.66, 0.67, 1.0, 3.0, 20.0};

START_TEST(opening_load_in_closed_form)
{
    hand_air_exponential(&air, 1.2, 1e12);
    double a = ballistic[_i], v = 1000.0, open_s = 0.02, mass = 10.0, cx = 1.7;
    pappus_fall fall = hand_fall(mass, 3000.0, 0.0);
    fall.ve_mps = v;
    fall.apogee_fire_s = 0.0;
    fall.drogue_cds_m2 = 2.0 * mass / (1.2 * a * v * open_s);
    fall.drogue_open_s = open_s;
    fall.drogue_cx = cx;
    double x1 =
        a >= 2.0 / 3.0 ? pow(1.0 + 1.0 / (3.0 * a), -2.0) : 4.0 / 9.0 * pow(1.5 * a, 2.0 / 3.0);
    double steady_n = cx * 0.5 * 1.2 * v * v * fall.drogue_cds_m2;
    pappus_touchdown t = down(&fall, PAPPUS_REFERENCE_TOLERANCE);
    ck_assert_double_eq_tol(t.drogue_load_n / steady_n, x1, 1e-3 * x1);
    ck_assert_double_eq_tol(t.drogue_fire_mps, v, 1e-9);
}
END_TEST

/* The opening over a distance: at a constant speed (a heavy body), the handbook's
 * t = n D_o / v; M: Knacke. */
START_TEST(opening_over_distance_takes_n_diameters)
{
    hand_air_exponential(&air, 1.2, 1e12);
    pappus_fall fall = hand_fall(1e9, 1000.0, 0.0);
    fall.vup_mps = -100.0;
    fall.main_cds_m2 = 1.0;
    fall.main_fill_m = 20.0;
    fall.main_cx = 1.0;
    fall.main_fire_s = 1.0;
    pappus_touchdown t = down(&fall, PAPPUS_REFERENCE_TOLERANCE);
    double fire_m = 1000.0 - 100.0 - 0.5 * 9.80665; /* X: free fall */
    ck_assert_double_eq_tol(t.main_fire_m, fire_m, 1e-5);
    ck_assert_double_eq_tol(t.main_full_open_m, fire_m - 20.0, 1e-5);
    double v = 109.80665; /* X: 20 = v t + g t^2 / 2 */
    double open_s = (sqrt(v * v + 2.0 * 9.80665 * 20.0) - v) / 9.80665;
    ck_assert_double_eq_tol(t.time_full_open_s, 1.0 + open_s, 1e-7);
}
END_TEST

/* Triggers in free fall: each passes at sqrt(2 (h - z) / g), the earliest of pass
 * plus delay wins; one above the apogee passes at time 0. */
START_TEST(earliest_trigger_fires_the_main)
{
    pappus_fall fall = hand_fall(1e9, 1000.0, 0.0);
    fall.main_cds_m2 = 1.0;
    fall.main_open_s = 0.0;
    fall.main_cx = 1.0;
    fall.trigger_count = 2;
    fall.trigger_height_m[0] = 800.0;
    fall.trigger_delay_s[0] = 3.0;
    fall.trigger_height_m[1] = 700.0;
    fall.trigger_delay_s[1] = 0.5;
    pappus_touchdown t = down(&fall, PAPPUS_REFERENCE_TOLERANCE);
    double fire_s = sqrt(600.0 / 9.80665) + 0.5; /* 8.32 s; the first: 9.39 s */
    ck_assert_double_eq_tol(t.main_fire_m, 1000.0 - 0.5 * 9.80665 * fire_s * fire_s, 1e-5);
    ck_assert_double_eq(t.main_full_open_m, t.main_fire_m);
    fall.trigger_height_m[0] = 1200.0;
    t = down(&fall, PAPPUS_REFERENCE_TOLERANCE);
    ck_assert_double_eq_tol(t.main_fire_m, 1000.0 - 0.5 * 9.80665 * 9.0, 1e-5);
}
END_TEST

/* Started early on the way up: back at the apogee height with no speed at time 0,
 * when nothing drags; a trigger passed on the way up does not count. */
START_TEST(early_start_goes_over_the_top)
{
    pappus_fall fall = hand_fall(1e9, 1000.0 - 0.5 * 9.80665 * 4.0, 0.0);
    pappus_path path = {0};
    pappus_touchdown t;
    fall.apogee_m = 1000.0;
    fall.start_s = fall.apogee_fire_s = -2.0;
    fall.vup_mps = 2.0 * 9.80665;
    fall.main_cds_m2 = 1.0;
    fall.main_open_s = 0.5;
    fall.main_cx = 1.0;
    fall.trigger_count = 1;
    fall.trigger_height_m[0] = 990.0;
    ck_assert_int_eq(
        pappus_reference_fall(&t, &path, &fall, &air.air, air.u_mps, air.v_mps, 1e-9, NULL),
        PAPPUS_OK);
    ck_assert_double_eq_tol(t.main_fire_m, 990.0, 1e-5);
    ck_assert_double_eq_tol(path.main_fire_s, sqrt(20.0 / 9.80665), 1e-6);
    ck_assert_double_eq_tol(path.main_full_open_s, path.main_fire_s + 0.5, 1e-9);
    double top_m = 0.0;
    for (size_t i = 0; i < path.count; i++)
        top_m = fmax(top_m, path.points[i].height_m);
    ck_assert_double_eq_tol(top_m, 1000.0, 1e-6); /* the top is an event, so a point */
    ck_assert_double_eq_tol(t.time_s, sqrt(2000.0 / 9.80665), 1e-4);
    pappus_path_clear(&path);
}
END_TEST

/* A held bundle drags from the apogee event until the main fires: steady rates
 * before and after, X. */
START_TEST(held_bundle_lets_go_when_the_main_fires)
{
    hand_air_exponential(&air, 1.225, 1e12);
    pappus_path path = {0};
    pappus_touchdown t;
    pappus_fall fall = hand_fall(8.0, 1500.0, 0.0);
    fall.apogee_fire_s = 0.0;
    fall.held_cds_m2 = drag_area_for(8.0, 30.0);
    fall.main_cds_m2 = drag_area_for(8.0, 6.0);
    fall.main_fill_m = 10.0;
    fall.main_cx = 1.5;
    fall.trigger_count = 1;
    fall.trigger_height_m[0] = 300.0;
    ck_assert_int_eq(
        pappus_reference_fall(&t, &path, &fall, &air.air, air.u_mps, air.v_mps, 1e-9, NULL),
        PAPPUS_OK);
    ck_assert_double_eq_tol(t.main_fire_mps, 30.0, 1e-3);
    ck_assert_double_eq_tol(t.vup_mps, -6.0, 1e-3);
    ck_assert_double_eq_tol(path.main_load_n, t.main_load_n, 1e-9);
    for (size_t i = 1; i < path.count; i++)
        ck_assert_double_gt(path.points[i].time_s, path.points[i - 1].time_s);
    ck_assert_double_le(path.points[path.count - 1].height_m, 0.0);
    ck_assert_double_gt(path.points[path.count - 1].height_m, -1e-6);
    pappus_path_clear(&path);
}
END_TEST

/* The yardstick's own error: a tolerance 100 times tighter moves nothing by 1 mm,
 * in a sheared wind with a kink at every node. */
START_TEST(tolerance_has_converged)
{
    for (int i = 0; i < HAND_NODES; i++) {
        air.u_mps[i] = 8.0 + 5.0 * sin(1.3 * i);
        air.v_mps[i] = -3.0 + 4.0 * cos(2.1 * i);
    }
    pappus_fall fall = hand_fall(8.0, 1600.0, 0.0);
    fall.ve_mps = -12.0;
    fall.apogee_fire_s = 0.5;
    fall.drogue_cds_m2 = 0.25;
    fall.drogue_fill_m = 4.0;
    fall.drogue_cx = 1.7;
    fall.main_cds_m2 = 3.6;
    fall.main_open_s = 1.1;
    fall.main_cx = 1.7;
    fall.trigger_count = 1;
    fall.trigger_height_m[0] = 213.4;
    pappus_touchdown a = down(&fall, PAPPUS_REFERENCE_TOLERANCE);
    pappus_touchdown b = down(&fall, PAPPUS_REFERENCE_TOLERANCE / 100.0);
    ck_assert_double_eq_tol(a.east_m, b.east_m, 1e-3);
    ck_assert_double_eq_tol(a.north_m, b.north_m, 1e-3);
    ck_assert_double_eq_tol(a.time_s, b.time_s, 1e-4);
    ck_assert_double_eq_tol(a.main_full_open_m, b.main_full_open_m, 1e-3);
    ck_assert_double_eq_tol(a.main_load_n, b.main_load_n, 1e-3 * b.main_load_n);
}
END_TEST

SUITE("reference")
{
    tcase_add_checked_fixture(tests, set_air, NULL);
    tcase_add_loop_test(tests, exponential_air_in_closed_form, 0, 2);
    tcase_add_test(tests, constant_wind_drifts_with_the_time);
    tcase_add_test(tests, vacuum_is_exact);
    tcase_add_test(tests, constant_density_from_rest);
    tcase_add_loop_test(tests, opening_load_in_closed_form, 0,
                        sizeof ballistic / sizeof *ballistic);
    tcase_add_test(tests, opening_over_distance_takes_n_diameters);
    tcase_add_test(tests, earliest_trigger_fires_the_main);
    tcase_add_test(tests, early_start_goes_over_the_top);
    tcase_add_test(tests, held_bundle_lets_go_when_the_main_fires);
    tcase_add_test(tests, tolerance_has_converged);
}
