/* SPDX-License-Identifier: GPL-3.0-or-later
 * Draws: moments against the distributions (seed fixed, bounds from the standard
 * error of the sample), redraws against the cut normal distribution, and the events
 * of each outcome by hand. X: computed from the formula beside it. */
#include "draws.h"

#include "real_air.h"
#include "suite.h"
#include "uncertain.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define DRAWS 16000

static flight_setup setup;

static void set_up(void)
{
    flight_setup_set(&setup);
    flight_setup_build(&setup);
}

static void tear_down(void)
{
    pappus_air_free(setup.air);
}

static pappus_draws *built(uint64_t seed, unsigned fresh, double shift_m)
{
    pappus_draws *draws;
    pappus_error error = {0};
    int status = pappus_draws_build(&draws, &setup.plan, setup.air, (pappus_random){seed, fresh},
                                    shift_m, &error);
    ck_assert_msg(status == PAPPUS_OK, "%s: %s", error.key, error.message);
    return draws;
}

static int refused(pappus_error *error)
{
    pappus_draws *draws;
    *error = (pappus_error){0};
    int status =
        pappus_draws_build(&draws, &setup.plan, setup.air, (pappus_random){1, 0}, 0.0, error);
    ck_assert_ptr_null(draws);
    return status;
}

static pappus_fall one(const pappus_draws *draws, uint64_t index, pappus_outcome outcome)
{
    pappus_fall fall;
    pappus_redraws redraws = {0};
    uint8_t of = (uint8_t)outcome;
    pappus_draws_falls(&fall, draws, 1, &index, &of, &redraws);
    return fall;
}

typedef double (*reading)(const pappus_fall *fall);

/* Mean and standard deviation of one value over DRAWS nominal falls. */
static void moments(double *mean, double *sd, reading value, pappus_redraws *redraws)
{
    pappus_draws *draws = built(7, 0, 0.0);
    double sum = 0.0, squares = 0.0;
    *redraws = (pappus_redraws){0};
    for (uint64_t i = 0; i < DRAWS; i++) {
        pappus_fall fall;
        uint8_t outcome = PAPPUS_NOMINAL;
        pappus_draws_falls(&fall, draws, 1, &i, &outcome, redraws);
        double x = value(&fall);
        sum += x;
        squares += x * x;
    }
    *mean = sum / DRAWS;
    *sd = sqrt(squares / DRAWS - *mean * *mean);
    pappus_draws_free(draws);
}

/* Five standard errors: a right program misses with 6e-7 per check; the standard
 * error of an sd is at most sd / sqrt(2 n) for distributions not heavier than
 * the normal, three times that is allowed for the skewed ones. */
static void expect(reading value, double mean, double sd)
{
    double found_mean, found_sd;
    pappus_redraws redraws;
    moments(&found_mean, &found_sd, value, &redraws);
    ck_assert_double_eq_tol(found_mean, mean, 5.0 * sd / sqrt(DRAWS));
    ck_assert_double_eq_tol(found_sd, sd, 7.5 * sd / sqrt(2.0 * DRAWS));
}

static double mass(const pappus_fall *f)
{
    return f->mass_kg;
}
static double main_cds(const pappus_fall *f)
{
    return f->main_cds_m2;
}
static double drogue_cds(const pappus_fall *f)
{
    return f->drogue_cds_m2;
}
static double drogue_open(const pappus_fall *f)
{
    return f->drogue_open_s;
}
static double height(const pappus_fall *f)
{
    return f->height_m;
}
static double east(const pappus_fall *f)
{
    return f->east_m;
}
static double north(const pappus_fall *f)
{
    return f->north_m;
}
static double trigger(const pappus_fall *f)
{
    return f->trigger_height_m[0];
}
static double delay(const pappus_fall *f)
{
    return f->trigger_delay_s[0];
}

START_TEST(moments_of_every_distribution)
{
    setup.plan.rocket.mass_kg = pappus_normal(8.0, 0.1);
    setup.plan.main.drag_area_m2 = pappus_lognormal(3.6, 0.7);
    setup.plan.drogue.drag_area_m2 = pappus_uniform(0.2, 0.3);
    setup.plan.drogue.opening_time_s = pappus_triangular(0.1, 0.2, 0.6);
    setup.plan.apogee.height_m = pappus_normal(1400.0, 20.0);
    setup.plan.apogee.spread_m = 40.0;
    setup.altimeters[0].fire_delay_s = pappus_uniform(0.0, 0.4);
    expect(mass, 8.0, 0.1);
    expect(main_cds, 3.6, 0.7);
    expect(drogue_cds, 0.25, 0.1 / sqrt(12.0)); /* X: uniform */
    expect(drogue_open, 0.3, sqrt((0.01 + 0.04 + 0.36 - 0.02 - 0.06 - 0.12) / 18.0)); /* X */
    expect(height, 1400.0, 20.0);
    expect(east, 0.0, 40.0);
    expect(north, 0.0, 40.0);
    expect(delay, 0.2, 0.4 / sqrt(12.0));
}
END_TEST

/* A rate of 6 m/s +/- 10 %: CdS goes with the inverse square of the speed drawn;
 * median CdS is that of the mean speed, X. */
START_TEST(a_rate_draws_the_speed)
{
    setup.plan.main.drag_area_m2 = (pappus_uncertain){0};
    setup.plan.main.rate_speed_mps = pappus_normal(6.0, 0.6);
    setup.plan.main.rate_mass_kg = 8.0;
    pappus_draws *draws = built(3, 0, 0.0);
    double median = 2.0 * 8.0 * 9.80665 / (1.225 * 36.0);
    int below = 0;
    for (uint64_t i = 0; i < DRAWS; i++)
        below += one(draws, i, PAPPUS_NOMINAL).main_cds_m2 < median;
    ck_assert_double_eq_tol(below, DRAWS / 2.0, 5.0 * sqrt(DRAWS) / 2.0);
    pappus_draws_free(draws);
}
END_TEST

/* Mass 1 +/- 0.5 kg cut at 0, X: with a = -2, phi/Phi as usual, share redrawn
 * q = Phi(-2) = 0.02275; mean = 1 + 0.5 phi(2)/(1 - q) = 1.02764. */
START_TEST(values_that_are_not_physical_are_redrawn_and_counted)
{
    double mean, sd, q = 0.0227501319, phi = exp(-2.0) / sqrt(2.0 * M_PI);
    pappus_redraws redraws;
    setup.plan.rocket.mass_kg = pappus_normal(1.0, 0.5);
    moments(&mean, &sd, mass, &redraws);
    ck_assert_double_eq_tol(mean, 1.0 + 0.5 * phi / (1.0 - q), 5.0 * 0.5 / sqrt(DRAWS));
    ck_assert_uint_eq(redraws.drawn, DRAWS);
    double expected = DRAWS * q / (1.0 - q); /* mean of a geometric count */
    ck_assert_double_eq_tol((double)redraws.redrawn, expected, 5.0 * sqrt(expected * 1.1));
    pappus_draws *draws = built(7, 0, 0.0);
    for (uint64_t i = 0; i < DRAWS; i++)
        ck_assert_double_gt(one(draws, i, PAPPUS_NOMINAL).mass_kg, 0.0);
    pappus_draws_free(draws);
}
END_TEST

/* The altimeter: true height of what it shows, by the air's own exact inverse, also
 * through the table and with the shift of a trade. In standard air the two are the
 * same up to the geopotential (0.1 mm here). */
START_TEST(triggers_are_true_heights)
{
    setup.plan.site.temperature_k = 308.15;
    setup.altimeters[0].height_error_m = pappus_normal(2.0, 5.0);
    setup.altimeters[0].works = 1.0; /* so that trigger 0 is always its own */
    flight_setup_build(&setup);
    double k = pappus_air_true_height_m(setup.air, 202.0) / 202.0;
    ck_assert_double_gt(k, 1.05); /* C: 4 % high per 10 degC above standard (PANS-OPS rule) */
    ck_assert_double_lt(k, 1.09);
    expect(trigger, pappus_air_true_height_m(setup.air, 202.0), 5.0 * k);
    setup.altimeters[0].height_error_m = pappus_exact(0.0);
    pappus_draws *draws = built(1, 0, 123.4);
    pappus_fall fall = one(draws, 0, PAPPUS_NOMINAL);
    ck_assert_int_ge(fall.trigger_count, 1);
    ck_assert_double_eq_tol(fall.trigger_height_m[0], pappus_air_true_height_m(setup.air, 323.4),
                            1e-3);
    pappus_draws_free(draws);
}
END_TEST

/* Wind towards (3, 4) m/s: upwind is towards (-0.6, -0.8). */
START_TEST(apogee_lies_upwind)
{
    setup.plan.apogee.distance_m = 100.0;
    setup.plan.apogee.speed_mps = pappus_exact(10.0);
    setup.plan.apogee.heading.kind = PAPPUS_DOWNWIND;
    setup.air->wind_factor = 2.0; /* of a scaled wind: the distance scales along */
    pappus_draws *draws = built(1, 0, 0.0);
    pappus_fall fall = one(draws, 0, PAPPUS_NOMINAL);
    ck_assert_double_eq_tol(fall.east_m, -120.0, 0.01);
    ck_assert_double_eq_tol(fall.north_m, -160.0, 0.01);
    ck_assert_double_eq_tol(fall.ve_mps, 6.0, 1e-3);
    ck_assert_double_eq_tol(fall.vn_mps, 8.0, 1e-3);
    pappus_draws_free(draws);
    setup.plan.apogee.bearing = (pappus_heading){PAPPUS_BEARING, 90.0};
    draws = built(1, 0, 0.0);
    fall = one(draws, 0, PAPPUS_NOMINAL);
    ck_assert_double_eq_tol(fall.east_m, 100.0, 1e-9);
    pappus_draws_free(draws);
}
END_TEST

/* X: where the drawn wind is (0.01 z, -4) up to 300 m and another above, its mean there is
 * (1.5, -4): the landing's own upwind, whatever wind was expected. */
START_TEST(apogee_turns_into_the_drawn_wind)
{
    size_t nodes = setup.air->node_count, bytes = nodes * PAPPUS_LANES * sizeof(float);
    float *u = aligned_alloc(64, bytes), *v = aligned_alloc(64, bytes);
    uint64_t index = 0;
    uint8_t outcome = PAPPUS_NOMINAL;
    pappus_redraws redraws = {0};
    pappus_drawn drawn;
    pappus_fall fall;
    ck_assert(u && v);
    for (size_t i = 0; i < nodes * PAPPUS_LANES; i++) {
        double z = setup.air->height_m[i / PAPPUS_LANES];
        bool first = i % PAPPUS_LANES == 0; /* the other lanes are nobody's */
        u[i] = first ? (float)(0.01 * fmin(z, 300.0)) : 50.0F;
        v[i] = first ? -4.0F : 50.0F;
    }
    setup.plan.apogee.distance_m = 100.0;
    setup.plan.apogee.speed_mps = pappus_exact(10.0);
    setup.plan.apogee.heading.kind = PAPPUS_DOWNWIND;
    pappus_draws *draws = built(1, 0, 0.0);
    pappus_draws_values(&drawn, draws, 1, &index, &outcome, &redraws);
    pappus_draws_winds(&drawn, draws, 1, setup.air, u, v);
    pappus_draws_assemble(&fall, draws, 1, &outcome, &drawn);
    ck_assert_double_eq_tol(fall.east_m, -100.0 * 1.5 / hypot(1.5, 4.0), 1e-3);
    ck_assert_double_eq_tol(fall.north_m, 100.0 * 4.0 / hypot(1.5, 4.0), 1e-3);
    ck_assert_double_eq_tol(fall.ve_mps, 10.0 * 1.5 / hypot(1.5, 4.0), 1e-4);
    ck_assert_double_eq_tol(fall.vn_mps, -10.0 * 4.0 / hypot(1.5, 4.0), 1e-4);
    pappus_draws_free(draws);
    free(u);
    free(v);
}
END_TEST

/* The motor's charge 2 s before apogee, X: height - g 2^2 / 2, rising at 2 g, back by
 * speed times 2 s. */
START_TEST(early_charge_starts_before_apogee)
{
    setup.plan.motor_delay_s = pappus_exact(-2.0);
    setup.plan.apogee.speed_mps = pappus_exact(10.0);
    setup.plan.apogee.heading = (pappus_heading){PAPPUS_BEARING, 90.0};
    pappus_draws *draws = built(1, 0, 0.0);
    pappus_fall fall = one(draws, 0, PAPPUS_NOMINAL);
    ck_assert_double_eq_tol(fall.start_s, -2.0, 1e-12);
    ck_assert_double_eq_tol(fall.apogee_fire_s, -2.0, 1e-12);
    ck_assert_double_eq_tol(fall.height_m, 1500.0 - 2.0 * 9.80665, 1e-9);
    ck_assert_double_eq_tol(fall.vup_mps, 2.0 * 9.80665, 1e-9);
    ck_assert_double_eq_tol(fall.east_m, -20.0, 1e-9);
    ck_assert_double_eq_tol(fall.apogee_m, 1500.0, 1e-9);
    pappus_draws_free(draws);
}
END_TEST

START_TEST(each_outcome_opens_what_it_says)
{
    pappus_draws *draws = built(1, 0, 0.0);
    for (uint64_t i = 0; i < 500; i++) {
        pappus_fall nominal = one(draws, i, PAPPUS_NOMINAL);
        ck_assert(nominal.drogue_cds_m2 > 0.0 && nominal.main_cds_m2 > 0.0);
        ck_assert(nominal.trigger_count > 0 && isinf(nominal.main_fire_s));
        ck_assert(nominal.apogee_fire_s == 0.1 || nominal.apogee_fire_s == 1.1);
        pappus_fall early = one(draws, i, PAPPUS_MAIN_AT_APOGEE);
        ck_assert(early.main_cds_m2 > 0.0 && early.main_fire_s == early.apogee_fire_s);
        pappus_fall drogue = one(draws, i, PAPPUS_DROGUE_ONLY);
        ck_assert(drogue.drogue_cds_m2 > 0.0 && drogue.main_cds_m2 == 0.0);
        pappus_fall late = one(draws, i, PAPPUS_MAIN_ONLY);
        ck_assert(late.drogue_cds_m2 == 0.0 && late.main_cds_m2 > 0.0 && late.trigger_count > 0);
        pappus_fall none = one(draws, i, PAPPUS_NO_CANOPY);
        ck_assert(none.drogue_cds_m2 == 0.0 && none.main_cds_m2 == 0.0);
    }
    pappus_draws_free(draws);
}
END_TEST

static double open_body_m2(const pappus_fall *fall)
{
    return fall->body_after_m2 - fall->drogue_shields_m2 - fall->main_shields_m2;
}

/* A: without a drag area of the body, what falls at 90 m/s ballistic and at 35 m/s tumbling
 * at sea level. A canopy given by its drag area was measured with the body: nothing of the
 * body is left beside it. */
START_TEST(body_drag_that_is_not_given)
{
    pappus_draws *draws = built(1, 0, 0.0);
    pappus_fall fall = one(draws, 0, PAPPUS_NO_CANOPY);
    double weight2 = 2.0 * 8.0 * 9.80665 / 1.225;
    ck_assert_double_eq_tol(sqrt(weight2 / fall.body_before_m2), 90.0, 1e-9);
    ck_assert_double_eq_tol(sqrt(weight2 / fall.body_after_m2), 35.0, 1e-9);
    fall = one(draws, 0, PAPPUS_NOMINAL);
    ck_assert_double_eq_tol(sqrt(weight2 / fall.body_before_m2), 90.0, 1e-9);
    ck_assert_double_eq_tol(sqrt(weight2 / fall.body_after_m2), 35.0, 1e-9);
    ck_assert_double_eq(open_body_m2(&fall), 0.0);
    ck_assert_double_eq(fall.main_shields_m2, 0.0); /* the drogue has taken it all */
    fall = one(draws, 0, PAPPUS_MAIN_AT_APOGEE);
    ck_assert_double_eq(open_body_m2(&fall), 0.0);
    fall = one(draws, 0, PAPPUS_MAIN_ONLY); /* waits for its main without a canopy */
    ck_assert_double_eq_tol(sqrt(weight2 / fall.body_after_m2), 35.0, 1e-9);
    ck_assert_double_eq(fall.drogue_shields_m2, 0.0);
    ck_assert_double_eq(fall.main_shields_m2, fall.body_after_m2);
    fall = one(draws, 0, PAPPUS_NO_CANOPY);
    ck_assert_double_eq(open_body_m2(&fall), fall.body_after_m2);
    pappus_draws_free(draws);
    setup.plan.rocket.tumble_drag_area_m2 = pappus_exact(0.06);
    setup.plan.rocket.ballistic_drag_area_m2 = pappus_exact(0.006);
    draws = built(1, 0, 0.0);
    fall = one(draws, 0, PAPPUS_DROGUE_ONLY);
    ck_assert_double_eq(fall.body_before_m2, 0.006);
    ck_assert_double_eq(fall.body_after_m2, 0.06);
    pappus_draws_free(draws);
}
END_TEST

/* A: crosswise length times diameter at 1.0, nose first the disc at 0.5 (8 ft, 4 inch). */
START_TEST(body_drag_by_its_size)
{
    setup.plan.rocket.length_m = 2.4384;
    setup.plan.rocket.diameter_m = 0.1016;
    pappus_draws *draws = built(1, 0, 0.0);
    pappus_fall fall = one(draws, 0, PAPPUS_NO_CANOPY);
    ck_assert_double_eq_tol(fall.body_after_m2, 2.4384 * 0.1016, 1e-12);
    ck_assert_double_eq_tol(fall.body_before_m2, 0.5 * M_PI * 0.0508 * 0.0508, 1e-12);
    pappus_draws_free(draws);
}
END_TEST

/* Under canopies by a coefficient the body keeps its share of the tumbling drag, the same
 * at drogue and main; under one that was measured none. */
START_TEST(body_hangs_under_an_open_canopy)
{
    setup.plan.rocket.tumble_drag_area_m2 = pappus_exact(0.2);
    setup.plan.rocket.hanging_share = pappus_uniform(0.0, 0.5);
    setup.plan.drogue.drag_area_m2 = (pappus_uncertain){0};
    setup.plan.drogue.diameter_m = 0.5;
    setup.plan.drogue.drag_coefficient = pappus_exact(0.8);
    pappus_draws *draws = built(1, 0, 0.0);
    double sum = 0.0, least = INFINITY, most = 0.0;
    enum { N = 4000 };
    for (uint64_t i = 0; i < N; i++) {
        pappus_fall fall = one(draws, i, PAPPUS_NOMINAL);
        double share = (fall.body_after_m2 - fall.drogue_shields_m2) / 0.2;
        ck_assert_double_eq_tol(open_body_m2(&fall), 0.0, 1e-12); /* the main was measured */
        pappus_fall drogue = one(draws, i, PAPPUS_DROGUE_ONLY);
        ck_assert_double_eq(drogue.drogue_shields_m2, fall.drogue_shields_m2);
        sum += share;
        least = fmin(least, share);
        most = fmax(most, share);
    }
    /* X: uniform on 0 to 0.5: mean 0.25, sd 0.1443; five standard errors */
    ck_assert_double_eq_tol(sum / N, 0.25, 5.0 * 0.1443 / sqrt(N));
    ck_assert(least >= 0.0 && most <= 0.5 && most - least > 0.49);
    pappus_draws_free(draws);
    setup.plan.main = setup.plan.drogue;
    draws = built(1, 0, 0.0);
    pappus_fall fall = one(draws, 7, PAPPUS_NOMINAL);
    ck_assert(fall.drogue_shields_m2 > 0.0);
    ck_assert_double_eq_tol(fall.main_shields_m2, 0.0, 1e-12); /* it keeps what it kept */
    pappus_draws_free(draws);
}
END_TEST

START_TEST(held_bundle_drags_until_it_is_let_go)
{
    setup.plan.main.held_in_bundle = true;
    setup.plan.main.held_drag_area_m2 = pappus_exact(0.04);
    pappus_draws *draws = built(1, 0, 0.0);
    ck_assert_double_eq(one(draws, 0, PAPPUS_NOMINAL).held_cds_m2, 0.04);
    pappus_fall fall = one(draws, 0, PAPPUS_DROGUE_ONLY); /* stays a bundle */
    ck_assert(fall.held_cds_m2 == 0.04 && fall.trigger_count == 0 && isinf(fall.main_fire_s));
    pappus_draws_free(draws);
    setup.plan.main.held_in_bundle = false;
    draws = built(1, 0, 0.0);
    ck_assert_double_eq(one(draws, 0, PAPPUS_NOMINAL).held_cds_m2, 0.0);
    pappus_draws_free(draws);
}
END_TEST

/* One canopy, four ways; see outcomes.c. */
START_TEST(single_canopies)
{
    setup.plan.drogue.present = false;
    pappus_draws *draws = built(1, 0, 0.0);
    pappus_fall late = one(draws, 0, PAPPUS_NOMINAL);
    ck_assert(late.trigger_count > 0 && isinf(late.main_fire_s) && late.drogue_cds_m2 == 0.0);
    pappus_draws_free(draws);
    setup.altimeters[0].main_height_m = setup.altimeters[1].main_height_m = NAN;
    draws = built(1, 0, 0.0);
    pappus_fall at_once = one(draws, 0, PAPPUS_NOMINAL);
    ck_assert(at_once.trigger_count == 0 && at_once.main_fire_s == at_once.apogee_fire_s);
    pappus_draws_free(draws);
    setup.plan.main.present = false;
    setup.plan.drogue.present = true;
    draws = built(1, 0, 0.0);
    pappus_fall drogue = one(draws, 0, PAPPUS_NOMINAL);
    ck_assert(drogue.drogue_cds_m2 > 0.0 && drogue.main_cds_m2 == 0.0);
    ck_assert(isinf(drogue.main_fire_s) && drogue.trigger_count == 0);
    pappus_draws_free(draws);
}
END_TEST

/* Same index, same fall, whatever its lane; a main height that moves leaves all else
 * as it was; a fresh group changes that group alone. */
START_TEST(draws_depend_on_seed_and_index_alone)
{
    setup.plan.rocket.mass_kg = pappus_normal(8.0, 0.1);
    setup.plan.apogee.height_m = pappus_normal(1400.0, 20.0);
    pappus_draws *draws = built(5, 0, 0.0), *higher = built(5, 0, 100.0);
    pappus_draws *fresh = built(5, PAPPUS_GROUP_APOGEE, 0.0), *other = built(6, 0, 0.0);
    uint64_t index[PAPPUS_LANES];
    uint8_t outcome[PAPPUS_LANES] = {0};
    pappus_fall falls[PAPPUS_LANES];
    pappus_redraws redraws = {0};
    for (uint64_t l = 0; l < PAPPUS_LANES; l++)
        index[l] = 1000 + 3 * l;
    pappus_draws_falls(falls, draws, PAPPUS_LANES, index, outcome, &redraws);
    for (int l = 0; l < PAPPUS_LANES; l++) {
        pappus_fall a = one(draws, index[l], PAPPUS_NOMINAL);
        ck_assert_double_eq(a.mass_kg, falls[l].mass_kg);
        ck_assert_double_eq(a.height_m, falls[l].height_m);
        pappus_fall b = one(higher, index[l], PAPPUS_NOMINAL);
        ck_assert_double_eq(a.height_m, b.height_m);
        ck_assert_double_eq_tol(b.trigger_height_m[0] - a.trigger_height_m[0], 100.0, 0.1);
        pappus_fall c = one(fresh, index[l], PAPPUS_NOMINAL);
        ck_assert_double_eq(a.mass_kg, c.mass_kg);
        ck_assert_double_ne(a.height_m, c.height_m);
        ck_assert_double_ne(a.mass_kg, one(other, index[l], PAPPUS_NOMINAL).mass_kg);
    }
    pappus_draws_free(draws);
    pappus_draws_free(higher);
    pappus_draws_free(fresh);
    pappus_draws_free(other);
}
END_TEST

START_TEST(central_fall_has_every_mean)
{
    setup.plan.rocket.mass_kg = pappus_normal(8.0, 0.1);
    setup.plan.apogee.spread_m = 40.0;
    setup.plan.main.drag_area_m2 = pappus_uniform(3.0, 4.0);
    pappus_draws *draws = built(5, 0, 0.0);
    pappus_fall fall;
    pappus_draws_central(&fall, draws, PAPPUS_NOMINAL);
    ck_assert_double_eq(fall.mass_kg, 8.0);
    ck_assert_double_eq(fall.main_cds_m2, 3.5);
    ck_assert_double_eq_tol(hypot(fall.east_m, fall.north_m), 0.0, 1e-9);
    ck_assert_int_eq(fall.trigger_count, 2); /* both altimeters work */
    pappus_draws_free(draws);
}
END_TEST

START_TEST(plans_that_cannot_fly_are_refused)
{
    pappus_error error;
    pappus_plan good = setup.plan;
    setup.plan.main.drag_area_m2 = pappus_exact(3.6e-4); /* mm2 for cm2, say: 600 m/s */
    ck_assert_int_eq(refused(&error), PAPPUS_E_FLIGHT);
    ck_assert_str_eq(error.key, "main");
    setup.plan = good;
    setup.plan.rocket.mass_kg = pappus_normal(-8.0, 1.0);
    ck_assert_int_eq(refused(&error), PAPPUS_E_FLIGHT);
    ck_assert_str_eq(error.key, "rocket.mass");
    ck_assert_str_eq(error.message, "its mean is -17.637 lb and must be above 0 lb"); /* X: 8 kg */
    setup.plan.units = PAPPUS_UNITS_SI;
    ck_assert_int_eq(refused(&error), PAPPUS_E_FLIGHT);
    ck_assert_str_eq(error.message, "its mean is -8 kg and must be above 0 kg");
    setup.plan = good;
    setup.plan.drogue.present = setup.plan.main.present = false;
    ck_assert_int_eq(refused(&error), PAPPUS_E_FLIGHT);
    setup.plan = good;
    setup.altimeters[0].main_height_m = setup.altimeters[1].main_height_m = NAN;
    ck_assert_int_eq(refused(&error), PAPPUS_E_FLIGHT);
    ck_assert_str_eq(error.key, "altimeters");
    pappus_altimeter five[5];
    for (int i = 0; i < 5; i++) {
        five[i] = setup.altimeters[0];
        five[i].main_height_m = 200.0;
    }
    setup.plan.altimeters = five;
    setup.plan.altimeter_count = 5;
    ck_assert_int_eq(refused(&error), PAPPUS_E_FLIGHT);
    ck_assert_ptr_nonnull(strstr(error.message, "5 altimeters"));
}
END_TEST

SUITE("draws")
{
    tcase_add_checked_fixture(tests, set_up, tear_down);
    tcase_add_test(tests, moments_of_every_distribution);
    tcase_add_test(tests, a_rate_draws_the_speed);
    tcase_add_test(tests, values_that_are_not_physical_are_redrawn_and_counted);
    tcase_add_test(tests, triggers_are_true_heights);
    tcase_add_test(tests, apogee_lies_upwind);
    tcase_add_test(tests, apogee_turns_into_the_drawn_wind);
    tcase_add_test(tests, early_charge_starts_before_apogee);
    tcase_add_test(tests, each_outcome_opens_what_it_says);
    tcase_add_test(tests, body_drag_that_is_not_given);
    tcase_add_test(tests, body_drag_by_its_size);
    tcase_add_test(tests, body_hangs_under_an_open_canopy);
    tcase_add_test(tests, held_bundle_drags_until_it_is_let_go);
    tcase_add_test(tests, single_canopies);
    tcase_add_test(tests, draws_depend_on_seed_and_index_alone);
    tcase_add_test(tests, central_fall_has_every_mean);
    tcase_add_test(tests, plans_that_cannot_fly_are_refused);
}
