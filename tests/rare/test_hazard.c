/* SPDX-License-Identifier: GPL-3.0-or-later
 * Led landings of a whole flight against counting many plain ones, and the hazard field
 * against a histogram of them (the yardstick: brute force on another seed). All figures are
 * our own (A). */
#include "choice/situation.h"

#include "geometry.h"
#include "suite.h"

#include <gsl/gsl_cdf.h>
#include <stdlib.h>

#define MANY 400000 /* landings of the yardstick */

typedef struct {
    choice_setup s;
    pappus_cloud *cloud, *many;
    pappus_hits *hits, *counted;
    pappus_hazard *hazard;
} whole;

static pappus_cloud *scatter(const choice_setup *s, size_t landings, uint64_t seed, double least)
{
    pappus_error err = {0};
    pappus_cloud *cloud;
    pappus_scatter_options options = PAPPUS_SCATTER_OPTIONS_INIT;
    options.run = s->run;
    options.run.landings = landings;
    options.run.seed = seed;
    options.stratum_minimum = least;
    ck_assert_int_eq(pappus_scatter(&cloud, s->given.plan, s->given.air, &options, &err), 0);
    return cloud;
}

/* After the areas are set. */
static void whole_lead(whole *w, bool field)
{
    pappus_error err = {0};
    pappus_hazard_options options = PAPPUS_HAZARD_OPTIONS_INIT;
    choice_setup_build(&w->s);
    w->cloud = scatter(&w->s, 20000, 1, 2000);
    w->many = NULL;
    w->counted = NULL;
    ck_assert_int_eq(pappus_hits_count(&w->hits, w->cloud, &w->s.field, 2, &err), 0);
    options.run = w->s.run;
    options.field = field;
    ck_assert_int_eq(pappus_hazard_find(&w->hazard, w->hits, &w->s.given, w->cloud, &options, &err),
                     0);
    ck_assert(!w->hazard->failed);
}

/* With the yardstick. */
static void whole_fly(whole *w, bool field)
{
    pappus_error err = {0};
    whole_lead(w, field);
    w->many = scatter(&w->s, MANY, 77, MANY / 8.0);
    ck_assert_int_eq(pappus_hits_count(&w->counted, w->many, &w->s.field, 2, &err), 0);
}

static void whole_end(whole *w)
{
    pappus_hazard_free(w->hazard);
    pappus_hits_free(w->hits);
    pappus_hits_free(w->counted);
    pappus_cloud_free(w->cloud);
    pappus_cloud_free(w->many);
    choice_setup_end(&w->s);
}

/* Led and counted are two estimates of one chance: their 99.9 % intervals meet. */
static void agree(const whole *w, size_t area)
{
    for (int h = 0; h < PAPPUS_OUTCOMES; h++) {
        pappus_estimate led = pappus_hits_keep_out_given(w->hits, area, (pappus_outcome)h, 0.999);
        pappus_estimate plain =
            pappus_hits_keep_out_given(w->counted, area, (pappus_outcome)h, 0.999);
        ck_assert_msg(led.low <= plain.high && plain.low <= led.high,
                      "area %zu outcome %d: led %g (%g to %g), counted %g (%g to %g)", area, h,
                      led.value, led.low, led.high, plain.value, plain.low, plain.high);
    }
}

/* The wind blows towards the north-east at 5 m/s; the middle lands about 300 m out. */
START_TEST(areas_all_round)
{
    whole w;
    choice_setup_set(&w.s);
    w.s.flight.plan.wind.error_mps = 1.5;
    add_keep_out(&w.s, "north-west", -500.0, 400.0, -250.0, 700.0);
    add_keep_out(&w.s, "south-east", 450.0, -100.0, 800.0, 50.0);
    add_keep_out(&w.s, "behind the pad", -200.0, -300.0, -50.0, -150.0);
    whole_fly(&w, false);
    for (size_t k = 0; k < 3; k++)
        agree(&w, k);
    /* behind the pad counted landings hit nothing, and led ones tell the chance to a tenth */
    const pappus_rare_share *behind = &w.hits->rare[2][PAPPUS_NOMINAL];
    ck_assert_uint_eq(w.counted->keep_out[2][PAPPUS_NOMINAL], 0);
    ck_assert_uint_gt(behind->landings, 0);
    ck_assert_double_gt(behind->value, 0.0);
    ck_assert_double_lt(sqrt(behind->variance), 0.15 * behind->value);
    whole_end(&w);
}
END_TEST

/* 2.5 km out only the main at apogee comes; 90 km out nothing does. */
START_TEST(areas_of_a_fault_and_of_nothing)
{
    whole w;
    choice_setup_set(&w.s);
    w.s.flight.plan.wind.error_mps = 1.0;
    add_keep_out(&w.s, "far downwind", 700.0, 1000.0, 1000.0, 1300.0);
    add_keep_out(&w.s, "out of reach", 60000.0, 60000.0, 61000.0, 61000.0);
    whole_fly(&w, false);
    agree(&w, 0);
    ck_assert_uint_gt(w.counted->keep_out[0][PAPPUS_MAIN_AT_APOGEE], 50);
    ck_assert_int_eq(w.hazard->risks[0].outcome, PAPPUS_MAIN_AT_APOGEE);
    ck_assert_double_gt(w.hazard->risks[0].outcome_share, 0.9);
    /* twice the fault is twice the chance, but for what nothing failed leaves (X) */
    ck_assert_int_eq(w.hazard->risks[0].fault, PAPPUS_FAULT_MAIN_EARLY);
    ck_assert_double_eq_tol(w.hazard->risks[0].doubled / w.hazard->risks[0].chance, 2.0, 0.1);
    pappus_estimate none = pappus_hits_keep_out(w.hits, 1, 0.95);
    ck_assert_double_eq(none.value, 0.0);
    ck_assert_double_le(none.high, 1e-9);
    whole_end(&w);
}
END_TEST

/* Area where the histogram of the many, in cells of a side, reaches a level. */
static double area_over(const whole *w, double level, double side_m)
{
    enum { CELLS = 400 };
    double *chance = calloc(CELLS * CELLS, sizeof *chance), sum = 0.0;
    for (size_t i = 0; i < w->many->count; i++) {
        double e = floor(w->many->east_m[i] / side_m) + CELLS / 2;
        double n = floor(w->many->north_m[i] / side_m) + CELLS / 2;
        if (!(e >= 0.0 && e < CELLS && n >= 0.0 && n < CELLS)) continue;
        chance[(size_t)n * CELLS + (size_t)e] += pappus_cloud_weight(w->many, i);
    }
    for (size_t c = 0; c < (size_t)CELLS * CELLS; c++)
        if (chance[c] / (side_m * side_m) * PAPPUS_PERSON_AREA_M2 >= level) sum += side_m * side_m;
    free(chance);
    return sum;
}

/* Where an outcome's field ends, going east from the pad: its last value over 0. */
static double last_value(const pappus_hazard *hazard, pappus_outcome outcome)
{
    double last = 0.0;
    for (double e = 0.0; e < 20000.0; e += 2.0) {
        double value = pappus_hazard_of(hazard, outcome, e, 0.0);
        if (value > 0.0) last = value;
    }
    return last;
}

/* The field's integral over the ground is A sum P_h of what would hurt; contours hold what
 * the histogram does, to what its cells can tell (4 %). */
START_TEST(field_of_the_flight)
{
    whole w;
    choice_setup_set(&w.s);
    whole_fly(&w, true);
    double sum = 0.0, wanted = 0.0, step = 10.0;
    for (double e = -3000.0; e < 4000.0; e += step)
        for (double n = -3000.0; n < 4000.0; n += step)
            sum += pappus_hazard_at(w.hazard, e, n) * step * step / PAPPUS_PERSON_AREA_M2;
    for (int h = 0; h < PAPPUS_OUTCOMES; h++)
        wanted += w.cloud->probability[h] * w.hazard->hurting[h];
    ck_assert_double_eq_tol(sum, wanted, 0.02 * wanted);
    /* a tenth of the least level, and 1.5 scales of a normal law past that, 8 scales out (X) */
    double least = 1e-8 * exp(-1.5 * 8.0 - 0.5 * 1.5 * 1.5);
    ck_assert_double_gt(last_value(w.hazard, PAPPUS_DROGUE_ONLY), least);
    ck_assert_double_gt(last_value(w.hazard, PAPPUS_MAIN_ONLY), least);
    ck_assert_double_gt(last_value(w.hazard, PAPPUS_NO_CANOPY), least);
    for (int l = 1; l < PAPPUS_HAZARD_LEVELS - 1; l++) {
        double counted = area_over(&w, pappus_hazard_levels[l], 25.0);
        ck_assert_double_eq_tol(w.hazard->contours[l].area_m2, counted, 0.04 * counted);
    }
    ck_assert_double_eq_tol(pappus_area_m2(&w.hazard->contours[2].shape),
                            w.hazard->contours[2].area_m2, 1e-6);
    whole_end(&w);
}
END_TEST

/* 40 persons on 70 000 m2, each on 4 m2: 40 x 4 / 70 000 of the chance (X). */
START_TEST(persons_on_an_area)
{
    whole w;
    double people[1] = {40.0}, limit[1] = {1e-5};
    choice_setup_set(&w.s);
    add_keep_out(&w.s, "line", -600.0, 0.0, -250.0, 200.0);
    w.s.field.keep_out_people = people;
    w.s.field.keep_out_limit = limit;
    whole_fly(&w, false);
    double chance = pappus_hits_keep_out(w.hits, 0, 0.95).value;
    ck_assert_double_gt(chance, 0.0);
    ck_assert_double_eq_tol(w.hazard->risks[0].chance, chance, 1e-9 * chance);
    ck_assert_double_eq_tol(w.hazard->casualties, chance * 40.0 * 4.0 / 70000.0, 0.01 * chance);
    ck_assert_double_gt(w.hazard->casualties, 0.9 * chance * 40.0 * 4.0 / 70000.0);
    ck_assert_double_eq(pappus_keep_out_limit(&w.s.field, w.s.given.plan, 0), 1e-5);
    limit[0] = NAN;
    ck_assert_double_eq(pappus_keep_out_limit(&w.s.field, w.s.given.plan, 0), 0.01);
    whole_end(&w);
}
END_TEST

/* Chance that the electronics do nothing: no power, else both altimeters fail (X). */
static double dead(double no_power, double fails)
{
    return no_power + (1.0 - no_power) * fails * fails;
}

/* About the pad comes only what has no canopy. Of two altimeters the chance that both fail goes
 * as the square of one's, which here is more than that of no power. */
START_TEST(the_fault_that_tells_most)
{
    whole w;
    choice_setup_set(&w.s);
    w.s.flight.plan.wind.error_mps = 0.05;
    w.s.flight.plan.faults = (pappus_faults){.no_power = 1e-5};
    add_keep_out(&w.s, "pad", -120.0, -120.0, 120.0, 120.0);
    whole_lead(&w, false);
    const pappus_risk *risk = &w.hazard->risks[0];
    double usual = dead(1e-5, 0.005), landed = risk->chance / usual;
    ck_assert_double_gt(landed, 0.9);
    ck_assert_double_le(landed, 1.0);
    ck_assert_int_eq(risk->outcome, PAPPUS_NO_CANOPY);
    ck_assert_int_eq(risk->fault, PAPPUS_FAULT_ALTIMETERS);
    ck_assert_double_eq_tol(risk->doubled / risk->chance, dead(1e-5, 0.01) / usual, 1e-6);
    ck_assert_double_eq_tol(risk->halved / risk->chance, dead(1e-5, 0.0025) / usual, 1e-6);
    whole_end(&w);
}
END_TEST

/* A wind without error and an apogee without spread: nothing to lead by. What is counted says
 * which part of an outcome hurts: the heaviest section at the speed over the ground (X). */
START_TEST(what_hurts_where_nothing_is_led)
{
    static char nose[] = "nose";
    pappus_section section = {nose, 0.5};
    whole w;
    double people[1] = {1.0}, chance = 0.0, hurting = 0.0;
    choice_setup_set(&w.s);
    w.s.flight.plan.wind.error_mps = 0.0;
    w.s.flight.plan.apogee.spread_m = 0.0;
    w.s.flight.plan.rocket.section_count = 1;
    w.s.flight.plan.rocket.sections = &section;
    add_keep_out(&w.s, "all round", -5000.0, -5000.0, 5000.0, 5000.0);
    w.s.field.keep_out_people = people;
    whole_lead(&w, false);
    for (size_t i = 0; i < w.cloud->count; i++) {
        double v = (double)w.cloud->speed_mps[i], weight = pappus_cloud_weight(w.cloud, i);
        chance += weight;
        hurting += 0.25 * v * v > PAPPUS_HURTS_J ? weight : 0.0;
    }
    ck_assert_double_gt(hurting, 0.1 * chance);
    ck_assert_double_lt(hurting, 0.9 * chance);
    ck_assert_double_eq_tol(w.hazard->risks[0].chance, chance, 1e-9);
    ck_assert_double_eq_tol(w.hazard->risks[0].hurting, hurting, 1e-9);
    ck_assert_double_eq_tol(w.hazard->casualties, hurting * 4.0 / 1e8, 1e-16);
    whole_end(&w);
}
END_TEST

SUITE("hazard")
{
    tcase_add_test(tests, areas_all_round);
    tcase_add_test(tests, areas_of_a_fault_and_of_nothing);
    tcase_add_test(tests, field_of_the_flight);
    tcase_add_test(tests, persons_on_an_area);
    tcase_add_test(tests, the_fault_that_tells_most);
    tcase_add_test(tests, what_hurts_where_nothing_is_led);
}
