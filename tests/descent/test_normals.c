/* SPDX-License-Identifier: GPL-3.0-or-later
 * Normal numbers of drawn values, against the laws' own formulas (X) and the random numbers
 * they were drawn from. */
#include "normals.h"

#include "real_air.h"
#include "suite.h"
#include "uncertain.h"

#include <math.h>

static flight_setup setup;
static pappus_draws *draws;
static pappus_normals normals;

/* A normal mass, a lognormal main's drag area with relative spread 0.3, a uniform opening
 * time; all else exact. */
static void set_up(void)
{
    pappus_error err = {0};
    flight_setup_set(&setup);
    setup.plan.rocket.mass_kg = pappus_normal(8.0, 2.0);
    setup.plan.main.drag_area_m2 = pappus_lognormal(3.6, 1.08);
    setup.plan.drogue.opening_time_s = pappus_uniform(0.1, 0.2);
    flight_setup_build(&setup);
    ck_assert_int_eq(
        pappus_draws_build(&draws, &setup.plan, setup.air, (pappus_random){3, 0}, 0.0, &err), 0);
    pappus_normals_of(&normals, draws);
}

static void tear_down(void)
{
    pappus_draws_free(draws);
    pappus_air_free(setup.air);
}

static pappus_fall fall_of(const pappus_drawn *drawn)
{
    pappus_fall fall;
    uint8_t outcome = PAPPUS_NOMINAL;
    pappus_draws_assemble(&fall, draws, 1, &outcome, drawn);
    return fall;
}

static pappus_drawn draw(uint64_t index)
{
    pappus_drawn drawn;
    pappus_redraws redraws = {0};
    uint8_t outcome = PAPPUS_NOMINAL;
    pappus_draws_values(&drawn, draws, 1, &index, &outcome, &redraws);
    return drawn;
}

START_TEST(numbers_are_those_of_the_laws)
{
    double s2 = log1p(0.3 * 0.3); /* of a lognormal law: ln(1 + (sd / mean)^2) */
    ck_assert_uint_eq(normals.count, 2);
    ck_assert_double_eq_tol(normals.low[0], -4.0, 1e-12); /* no mass: 8 - 4 * 2 */
    ck_assert_double_infinite(normals.high[0]);
    ck_assert_double_eq(normals.low[1], -INFINITY);
    for (uint64_t i = 0; i < 200; i++) {
        double z[PAPPUS_QUANTITIES_MOST];
        pappus_drawn drawn = draw(i);
        pappus_fall fall = fall_of(&drawn);
        pappus_normals_read(z, &normals, draws, &drawn);
        ck_assert_double_eq_tol(z[0], (fall.mass_kg - 8.0) / 2.0, 1e-12);
        ck_assert_double_eq_tol(z[1], (log(fall.main_cds_m2 / 3.6) + 0.5 * s2) / sqrt(s2), 1e-9);
    }
}
END_TEST

START_TEST(leaned_values_have_leaned_numbers)
{
    const double by[2] = {0.7, -1.3}, too_far[2] = {-9.0, 0.5};
    for (uint64_t i = 0; i < 200; i++) {
        double before[PAPPUS_QUANTITIES_MOST], after[PAPPUS_QUANTITIES_MOST];
        pappus_drawn drawn = draw(i);
        pappus_normals_read(before, &normals, draws, &drawn);
        ck_assert(!pappus_normals_lean(&drawn, &normals, draws, too_far));
        pappus_normals_read(after, &normals, draws, &drawn);
        for (int q = 0; q < 2; q++)
            ck_assert_double_eq(after[q], before[q]);
        ck_assert(pappus_normals_lean(&drawn, &normals, draws, by));
        pappus_normals_read(after, &normals, draws, &drawn);
        for (int q = 0; q < 2; q++)
            ck_assert_double_eq_tol(after[q], before[q] + by[q], 1e-9);
    }
}
END_TEST

SUITE("normals")
{
    tcase_add_checked_fixture(tests, set_up, tear_down);
    tcase_add_test(tests, numbers_are_those_of_the_laws);
    tcase_add_test(tests, leaned_values_have_leaned_numbers);
}
