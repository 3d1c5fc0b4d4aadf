/* SPDX-License-Identifier: GPL-3.0-or-later
 * What is read of a log, on flights that are known. */
#include "flown.h"

#include "opening.h"
#include "reference.h"
#include "suite.h"

#include <stdio.h>
#include <string.h>

static flight_setup setup;

static void begin(void)
{
    flight_setup_set(&setup);
    setup.plan.apogee.height_m = pappus_exact(3500.0);
    flight_setup_build(&setup);
}

static void find(pappus_flown *out, const pappus_flight_log *log)
{
    pappus_error error = {0};
    int status = pappus_flown_find(out, log, &setup.plan, setup.air, &error);
    ck_assert_msg(status == PAPPUS_OK, "%s", error.message);
}

static void near(double value, double expected, double tolerance)
{
    ck_assert_msg(fabs(value - expected) <= tolerance, "%g, expected %g +- %g", value, expected,
                  tolerance);
}

/* The tests' own fall and the reference integrator, the same flight: X, no tolerance of
 * either reaches 0.03 s. */
START_TEST(known_falls_agree_with_reference)
{
    flown_truth truth = FLOWN_TRUTH;
    pappus_flight_log log;
    pappus_touchdown down;
    double calm[2048] = {0};
    pappus_error error = {0};
    flown_events events = flown_log(&log, &truth, setup.air);
    ck_assert_uint_lt(setup.air->node_count, 2048);
    pappus_fall fall = {
        .mass_kg = truth.mass_kg,
        .body_before_m2 = truth.body_m2,
        .height_m = truth.apogee_m,
        .apogee_m = truth.apogee_m,
        .apogee_fire_s = truth.drogue_fire_s,
        .drogue_cds_m2 = truth.drogue_m2,
        .drogue_open_s = truth.drogue_open_s,
        .main_cds_m2 = truth.main_m2,
        .main_open_s = truth.main_open_s,
        .main_fire_s = INFINITY,
        .trigger_count = 1,
        .trigger_height_m = {pappus_altimeter_true_m(setup.air->atmosphere, truth.main_shown_m)},
        .trigger_delay_s = {truth.fire_delay_s}};
    ck_assert_int_eq(pappus_reference_fall(&down, NULL, &fall, setup.air, calm, calm, 1e-9, &error),
                     PAPPUS_OK);
    near(events.ground_s, down.time_s, 0.03);
    near(events.main_fired_m, down.main_fire_m, 0.5);
    near(events.main_open_m, down.main_full_open_m, 0.5);
    flown_free(&log);
}
END_TEST

/* X: in still air what is left is the noise and 0.1 % of the settling. */
START_TEST(drag_areas_in_still_air)
{
    for (int i = 0; i < 12; i++) {
        flown_truth truth = FLOWN_TRUTH;
        pappus_flight_log log;
        pappus_flown flown;
        truth.drogue_m2 = 0.12 + 0.03 * i;
        truth.main_m2 = 2.0 + 0.4 * i;
        truth.apogee_m = 700.0 + 200.0 * i;
        truth.rate_hz = 10.0 + 8.0 * i;
        truth.main_shown_m = 150.0 + 15.0 * i;
        truth.seed = 100 + (uint64_t)i;
        setup.plan.drogue.drag_area_m2 = pappus_exact(truth.drogue_m2);
        setup.plan.main.drag_area_m2 = pappus_exact(truth.main_m2);
        flown_events events = flown_log(&log, &truth, setup.air);
        find(&flown, &log);
        ck_assert_uint_eq(flown.missing, 0);
        ck_assert_int_eq(flown.outcome, PAPPUS_NOMINAL);
        near(flown.drogue_drag_area_m2.value / truth.drogue_m2, 1.0, 0.01);
        near(flown.main_drag_area_m2.value / truth.main_m2, 1.0, 0.02);
        for (size_t k = 0; k < flown.phase_count; k++) {
            /* X: weight is drag in a steady fall, 2 m g = rho v^2 CdS, but for the slowing
             * as the air thickens, v^2 / (2 g H): 1 % at 40 m/s */
            const pappus_flown_phase *phase = &flown.phases[k];
            double density =
                pappus_air_density_kgpm3(setup.air, 0.5 * (phase->top_m + phase->bottom_m));
            near(density * pow(phase->rate_mps.value, 2.0) * phase->drag_area_m2.value /
                     (2.0 * truth.mass_kg * PAPPUS_GRAVITY_MPS2),
                 1.0, 0.02);
        }
        near(flown.apogee_m, truth.apogee_m, 0.5);
        near(flown.time_aloft_s, events.ground_s, 0.5);
        near(flown.main_fired_m, events.main_fired_m, 6.0);
        near(flown.main_fired_s.value, events.main_fired_s, 0.25);
        near(flown.main_open_m, events.main_open_m, 6.0);
        flown_free(&log);
    }
}
END_TEST

/* ---------------------------------------------------------------------- intervals */

static double uniform(uint64_t seed, uint32_t sub, double low, double high)
{
    pappus_random random = {seed, 0};
    return low + (high - low) * pappus_random_uniform(random, PAPPUS_STREAM_MASS, sub, 7, 0);
}

static double normal(uint64_t seed, uint32_t sub, double sd)
{
    pappus_random random = {seed, 0};
    return sd * pappus_random_normal(random, PAPPUS_STREAM_MASS, sub, 8, 0);
}

/* An invented flight whose mass, air and vertical air are not quite those of the plan: the
 * errors that drag.h takes into account, as large as it takes them. */
static void draw_flight(flight_setup *true_air, flown_truth *truth, uint64_t seed)
{
    double mass_kg = uniform(seed, 10, 4.0, 14.0), sd = 0.01 * mass_kg;
    setup.plan.rocket.mass_kg = pappus_normal(mass_kg, sd);
    *truth = (flown_truth)FLOWN_TRUTH;
    truth->mass_kg = mass_kg + normal(seed, 11, sd);
    truth->drogue_m2 = mass_kg * uniform(seed, 12, 0.018, 0.045);
    truth->main_m2 = mass_kg * uniform(seed, 13, 0.3, 0.55);
    truth->apogee_m = uniform(seed, 14, 900.0, 2500.0);
    truth->main_shown_m = uniform(seed, 15, 150.0, 300.0);
    truth->main_open_s = uniform(seed, 16, 0.4, 1.5);
    truth->drogue_fire_s = uniform(seed, 17, 0.0, 1.5);
    truth->rate_hz = uniform(seed, 18, 10.0, 50.0);
    truth->noise_m = uniform(seed, 19, 0.2, 0.8);
    truth->pad_s = truth->rest_s = 4.0;
    truth->air_up_mps[0] = normal(seed, 20, 0.3);
    truth->air_up_mps[1] = normal(seed, 21, 0.3);
    truth->seed = seed;
    setup.plan.drogue.drag_area_m2 = pappus_exact(truth->drogue_m2);
    setup.plan.main.drag_area_m2 = pappus_exact(truth->main_m2);
    flight_setup_set(true_air);
    true_air->plan.apogee.height_m = setup.plan.apogee.height_m;
    true_air->plan.site.temperature_k = 288.15 + normal(seed, 22, 2.0);
    true_air->plan.site.pressure_pa = 101325.0 + normal(seed, 23, 300.0);
    flight_setup_build(true_air);
}

static bool holds(pappus_estimate e, double truth)
{
    return e.low <= truth && truth <= e.high;
}

/* What an interval of 95 % may hold of n: within four standard deviations. */
static void check_share(const char *what, int held, int count)
{
    double bound = 4.0 * sqrt(0.95 * 0.05 * count);
    ck_assert_msg(fabs(held - 0.95 * count) <= bound, "%s: %d of %d", what, held, count);
}

/* PAPPUS_CASES=2000 for the measurement. */
START_TEST(intervals_hold_what_they_say)
{
    const char *asked = getenv("PAPPUS_CASES");
    int count = asked ? atoi(asked) : 120, drogue = 0, main_held = 0, fired = 0, unread = 0;
    for (int i = 0; i < count; i++) {
        flight_setup true_air;
        flown_truth truth;
        pappus_flight_log log;
        pappus_flown flown;
        draw_flight(&true_air, &truth, 1000 + (uint64_t)i);
        flown_events events = flown_log(&log, &truth, true_air.air);
        find(&flown, &log);
        unread += flown.phase_count < 2;
        drogue += holds(flown.drogue_drag_area_m2, truth.drogue_m2);
        main_held += holds(flown.main_drag_area_m2, truth.main_m2);
        fired += holds(flown.main_fired_s, events.main_fired_s);
        if (asked && flown.phase_count < 2)
            printf("%d: v %.1f m/s, missing %x\n", i, flown.phases[0].rate_mps.value,
                   flown.missing);
        pappus_air_free(true_air.air);
        flown_free(&log);
    }
    if (asked)
        printf("%d flights: drogue %.4f, main %.4f, firing %.4f held; %d not parted\n", count,
               (double)drogue / count, (double)main_held / count, (double)fired / count, unread);
    ck_assert_int_eq(unread, 0);
    check_share("drogue", drogue, count);
    check_share("main", main_held, count);
    check_share("firing", fired, count);
}
END_TEST

SUITE("flown")
{
    tcase_add_checked_fixture(tests, begin, NULL);
    tcase_add_test(tests, known_falls_agree_with_reference);
    tcase_add_test(tests, drag_areas_in_still_air);
    tcase_add_test(tests, intervals_hold_what_they_say);
}
