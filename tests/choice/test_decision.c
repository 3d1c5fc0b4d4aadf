/* SPDX-License-Identifier: GPL-3.0-or-later
 * The judgement of the limits: verdicts against the intervals, what is over all
 * outcomes and what of the nominal one, reasons in their order. */
#include "decision.h"

#include "air/air_fixture.h"
#include "interval.h"
#include "landing/clouds.h"
#include "suite.h"
#include "uncertain.h"

#include <string.h>

#define NOMINAL 10000
#define OTHER 2000

static const pappus_air_options as_given = PAPPUS_AIR_OPTIONS_INIT;
static char crowd[] = "crowd", nose[] = "nose", booster[] = "booster";
static pappus_section sections[2] = {{nose, 2.0}, {booster, 6.0}};

/* A square field of 1 km with a strip of keep-out at its east side, a nominal outcome
 * with chance 0.9 and `no canopy` with 0.1. The landing's number i gives its place and
 * values, so that every share and percentile is known. */
typedef struct {
    pappus_plan plan;
    pappus_field field;
    pappus_area keep_out;
    double points_m[2][8];
    pappus_ring rings[2];
    pappus_polygon polygons[2];
    pappus_air *air;
    pappus_cloud *cloud;
    pappus_hits *hits;
    pappus_judgement *judgement;
} launch;

static void set_up_field(launch *l)
{
    static const double field_m[4] = {-500.0, -500.0, 500.0, 500.0};
    static const double strip_m[4] = {400.0, -500.0, 500.0, 500.0};
    l->field.has_boundary = true;
    l->field.boundary = rectangle("field", l->points_m[0], &l->rings[0], &l->polygons[0], field_m);
    l->keep_out = rectangle(crowd, l->points_m[1], &l->rings[1], &l->polygons[1], strip_m);
    l->field.keep_out_count = 1;
    l->field.keep_outs = &l->keep_out;
}

/* Within an outcome: vz runs from 4 to 6 m/s (nominal) or is 50; loads run to 20 g on
 * the drogue and 30 on the main; the main is full open from 100 to 200 m. */
static void set_up_cloud(launch *l)
{
    size_t landings[PAPPUS_OUTCOMES] = {[PAPPUS_NOMINAL] = NOMINAL, [PAPPUS_NO_CANOPY] = OTHER};
    double probability[PAPPUS_OUTCOMES] = {[PAPPUS_NOMINAL] = 0.9, [PAPPUS_NO_CANOPY] = 0.1};
    pappus_cloud *cloud = l->cloud = cloud_new(landings, probability);
    for (size_t i = 0; i < cloud->count; i++) {
        bool nominal = i < NOMINAL;
        float part = (float)(nominal ? i : i - NOMINAL) / (float)(nominal ? NOMINAL : OTHER);
        cloud->vz_mps[i] = nominal ? 4.0f + 2.0f * part : 50.0f;
        cloud->speed_mps[i] = cloud->vz_mps[i] + 10.0f;
        cloud->drogue_load[i] = nominal ? 20.0f * part : NAN;
        cloud->main_load[i] = nominal ? 30.0f * part : NAN;
        cloud->main_full_open_m[i] = nominal ? 100.0f + 100.0f * part : 0.0f;
        cloud->unopened[i] = !nominal;
    }
    cloud->unopened_count[PAPPUS_NO_CANOPY] = OTHER;
}

static void set_up(launch *l)
{
    static pappus_wind_level levels[2];
    levels[0] = fixture_level(10.0, 5.0, 0.0);
    levels[1] = fixture_level(3000.0, 15.0, 0.0);
    pappus_wind_profile profile = fixture_profile(levels, 2);
    pappus_winds winds = {.profile_count = 1, .profiles = &profile};
    *l = (launch){.plan = fixture_plan(200.0, 1500.0)};
    l->plan.rocket.mass_kg = pappus_exact(8.0);
    l->plan.drogue.present = l->plan.main.present = true;
    l->plan.wind.has_surface = true;
    l->plan.wind.surface = (pappus_observation){2.0, 6.0, 270.0, 1.0};
    l->plan.limits = (pappus_limits){NAN, NAN, NAN, NAN, NAN, NAN, NAN};
    set_up_field(l);
    set_up_cloud(l);
    ck_assert_int_eq(pappus_air_build(&l->air, &l->plan, &winds, &as_given, NULL), PAPPUS_OK);
}

/* Puts the first so many landings of an outcome at a place, the rest on the pad. */
static void place_first(launch *l, int outcome, size_t count, double east_m)
{
    size_t first = outcome == PAPPUS_NOMINAL ? 0 : NOMINAL;
    for (size_t i = 0; i < count; i++)
        l->cloud->east_m[first + i] = east_m;
}

static void count(launch *l)
{
    pappus_error err = {0};
    ck_assert_int_eq(pappus_hits_count(&l->hits, l->cloud, &l->field, 0, &err), PAPPUS_OK);
}

static void judge_at(launch *l, double confidence)
{
    pappus_error err = {0};
    int status = pappus_judge(&l->judgement, &l->plan, &l->field, l->air, l->cloud, l->hits,
                              confidence, &err);
    ck_assert_msg(status == PAPPUS_OK, "%s", err.message);
}

static void judge(launch *l)
{
    count(l);
    judge_at(l, 0.99);
}

static void tear_down(launch *l)
{
    pappus_judgement_free(l->judgement);
    pappus_hits_free(l->hits);
    pappus_air_free(l->air);
    pappus_cloud_free(l->cloud);
}

/* ---------------------------------------------------------------------- rule */

static const struct {
    double low, high;
    bool at_least;
    pappus_verdict verdict;
} rules[] = {
    {0.96, 0.98, true, PAPPUS_MET},
    {0.95, 0.98, true, PAPPUS_MET},
    {0.90, 0.94, true, PAPPUS_BROKEN},
    {0.94, 0.96, true, PAPPUS_UNDECIDED},
    {0.90, 0.95, true, PAPPUS_UNDECIDED},
    {0.96, 0.98, false, PAPPUS_BROKEN},
    {0.90, 0.95, false, PAPPUS_MET},
    {0.94, 0.96, false, PAPPUS_UNDECIDED},
    {NAN, NAN, true, PAPPUS_UNDECIDED},
    {NAN, NAN, false, PAPPUS_UNDECIDED},
    {-INFINITY, 0.99, true, PAPPUS_UNDECIDED},
    {0.99, INFINITY, false, PAPPUS_BROKEN},
};

START_TEST(rule)
{
    pappus_estimate interval = {0.5 * (rules[_i].low + rules[_i].high), rules[_i].low,
                                rules[_i].high};
    ck_assert_int_eq(pappus_verdict_of(&interval, 0.95, rules[_i].at_least), rules[_i].verdict);
}
END_TEST

/* ---------------------------------------------------------------- each limit */

START_TEST(no_limits_no_reasons)
{
    launch l;
    set_up(&l);
    judge(&l);
    ck_assert_uint_eq(l.judgement->reason_count, 0);
    ck_assert_int_eq(l.judgement->decision, PAPPUS_GO);
    tear_down(&l);
    pappus_judgement_free(NULL);
}
END_TEST

/* Landings outside, of 10000 nominal (each 0.009 %) and 2000 others (each 0.005 %). */
static const struct {
    size_t nominal_out, other_out;
    double share;
    pappus_verdict verdict;
} fields[] = {
    {0, 0, 1.0, PAPPUS_MET},        {300, 0, 0.973, PAPPUS_MET},
    {0, 2000, 0.90, PAPPUS_BROKEN}, /* the rare outcome alone breaks it */
    {1000, 0, 0.91, PAPPUS_BROKEN}, {560, 0, 0.9496, PAPPUS_UNDECIDED},
};

START_TEST(inside_field)
{
    launch l;
    set_up(&l);
    l.plan.limits.inside_field = 0.95;
    place_first(&l, PAPPUS_NOMINAL, fields[_i].nominal_out, 900.0);
    place_first(&l, PAPPUS_NO_CANOPY, fields[_i].other_out, 900.0);
    judge(&l);
    const pappus_reason *reason = &l.judgement->reasons[0];
    ck_assert_uint_eq(l.judgement->reason_count, 1);
    ck_assert_int_eq(reason->limit, PAPPUS_LIMIT_INSIDE_FIELD);
    ck_assert(reason->at_least);
    ck_assert_double_eq_tol(reason->value.value, fields[_i].share, 1e-12);
    /* X: the outcomes' Wilson intervals, combined in quadrature. */
    double nominal_in = (double)(NOMINAL - fields[_i].nominal_out);
    double other_in = (double)(OTHER - fields[_i].other_out);
    pappus_estimate a = pappus_wilson(nominal_in, NOMINAL, 0.95);
    pappus_estimate b = pappus_wilson(other_in, OTHER, 0.95);
    double below = hypot(0.9 * (a.value - a.low), 0.1 * (b.value - b.low));
    double above = hypot(0.9 * (a.high - a.value), 0.1 * (b.high - b.value));
    ck_assert_double_eq_tol(reason->value.low, reason->value.value - below, 1e-12);
    ck_assert_double_eq_tol(reason->value.high, reason->value.value + above, 1e-12);
    ck_assert_int_eq(reason->verdict, fields[_i].verdict);
    pappus_decision decision = fields[_i].verdict == PAPPUS_MET      ? PAPPUS_GO
                               : fields[_i].verdict == PAPPUS_BROKEN ? PAPPUS_NO_GO
                                                                     : PAPPUS_NOT_DECIDED;
    ck_assert_int_eq(l.judgement->decision, decision);
    tear_down(&l);
}
END_TEST

/* The 95 % interval clears the bound and the 99 % one does not: still undecided. */
START_TEST(decided_at_99_reported_at_95)
{
    launch l;
    set_up(&l);
    l.plan.limits.inside_field = 0.95;
    place_first(&l, PAPPUS_NOMINAL, 505, 900.0);
    judge(&l);
    const pappus_reason *reason = &l.judgement->reasons[0];
    ck_assert_double_gt(reason->value.low, 0.95);
    ck_assert_int_eq(reason->verdict, PAPPUS_UNDECIDED);
    ck_assert_int_eq(reason->caveat.kind, PAPPUS_CAVEAT_NONE);
    tear_down(&l);
}
END_TEST

START_TEST(no_field_given)
{
    launch l;
    set_up(&l);
    l.plan.limits.inside_field = 0.95;
    l.plan.limits.keep_out = 0.01;
    l.field = (pappus_field){0};
    judge(&l);
    ck_assert_uint_eq(l.judgement->reason_count, 1);
    ck_assert_int_eq(l.judgement->reasons[0].verdict, PAPPUS_UNDECIDED);
    ck_assert_int_eq(l.judgement->reasons[0].caveat.kind, PAPPUS_CAVEAT_NO_FIELD);
    ck_assert_double_nan(l.judgement->reasons[0].value.value);
    ck_assert_int_eq(l.judgement->decision, PAPPUS_NOT_DECIDED);
    tear_down(&l);
}
END_TEST

static const struct {
    size_t other_on;
    pappus_verdict verdict;
} strips[] = {{0, PAPPUS_MET}, {100, PAPPUS_MET}, {200, PAPPUS_UNDECIDED}, {400, PAPPUS_BROKEN}};

START_TEST(keep_out)
{
    launch l;
    set_up(&l);
    l.plan.limits.keep_out = 0.01;
    place_first(&l, PAPPUS_NO_CANOPY, strips[_i].other_on, 450.0);
    judge(&l);
    const pappus_reason *reason = &l.judgement->reasons[0];
    ck_assert_str_eq(reason->name, "crowd");
    ck_assert_double_eq_tol(reason->value.value, 0.1 * (double)strips[_i].other_on / OTHER, 1e-12);
    ck_assert_int_eq(reason->verdict, strips[_i].verdict);
    tear_down(&l);
}
END_TEST

/* Chances given `no canopy` by led landings, whose standard deviation is a quarter: 95 % of a
 * normal law is within 0.49 of the chance, of the gamma law somewhat more above and less below
 * (X). A limit under 1e-3 asks for the interval even of a row of heights, which else is judged
 * by its point estimate. */
static const struct {
    double given_no_canopy, limit;
    pappus_verdict verdict;
} led[] = {
    {5e-4, 1e-4, PAPPUS_MET},     {9e-4, 1e-4, PAPPUS_UNDECIDED}, {12e-4, 1e-4, PAPPUS_UNDECIDED},
    {20e-4, 1e-4, PAPPUS_BROKEN}, {95e-4, 1e-3, PAPPUS_MET},      {105e-4, 1e-3, PAPPUS_BROKEN},
};

START_TEST(a_limit_that_is_led_for_is_judged_by_its_interval)
{
    launch l;
    set_up(&l);
    l.plan.limits.keep_out = led[_i].limit;
    count(&l);
    double value = led[_i].given_no_canopy;
    l.hits->rare = calloc(1, sizeof *l.hits->rare);
    l.hits->rare[0][PAPPUS_NOMINAL] = (pappus_rare_share){.landings = 1000};
    l.hits->rare[0][PAPPUS_NO_CANOPY] =
        (pappus_rare_share){1000, 100, value, value * value / 16.0, value / 1000.0, 16.0};
    judge_at(&l, 0.0);
    const pappus_reason *reason = &l.judgement->reasons[0];
    ck_assert_double_eq_tol(reason->value.value, 0.1 * value, 1e-12);
    ck_assert_int_eq(reason->verdict, led[_i].verdict);
    tear_down(&l);
}
END_TEST

static const struct {
    double bound_mps, gust_mps;
    pappus_verdict verdict;
} winds_of[] = {
    {9.0, NAN, PAPPUS_MET},    {9.0, 8.0, PAPPUS_MET},     {9.0, 10.0, PAPPUS_UNDECIDED},
    {5.0, NAN, PAPPUS_BROKEN}, {5.0, 10.0, PAPPUS_BROKEN},
};

START_TEST(surface_wind)
{
    launch l;
    set_up(&l);
    pappus_air_free(l.air);
    pappus_wind_level levels[1] = {fixture_level(500.0, 8.0, 0.0)};
    pappus_wind_profile profile = fixture_profile(levels, 1);
    pappus_winds winds = {.profile_count = 1, .profiles = &profile};
    l.plan.wind.gust_mps = winds_of[_i].gust_mps;
    ck_assert_int_eq(pappus_air_build(&l.air, &l.plan, &winds, &as_given, NULL), PAPPUS_OK);
    l.plan.limits.surface_wind_mps = winds_of[_i].bound_mps;
    judge(&l);
    const pappus_reason *reason = &l.judgement->reasons[0];
    ck_assert_double_eq_tol(reason->value.value, 6.0, 1e-9);
    ck_assert_double_nan(reason->value.low);
    ck_assert_int_eq(reason->verdict, winds_of[_i].verdict);
    ck_assert_int_eq(reason->caveat.kind, winds_of[_i].verdict == PAPPUS_UNDECIDED
                                              ? PAPPUS_CAVEAT_GUST
                                              : PAPPUS_CAVEAT_NONE);
    tear_down(&l);
}
END_TEST

/* X: vz is uniform from 4 to 6 m/s, its 95th percentile 5.9; energies with the heavier
 * section, 6 kg: 3 * 5.9^2 = 104.43 J; loads 19 and 28.5 g; full open 5th: 105 m. The
 * fast `no canopy` landings have no say. 10000 steps: 1e-4 of each range. */
START_TEST(percentiles_of_the_nominal_outcome)
{
    launch l;
    set_up(&l);
    l.plan.rocket.section_count = 2;
    l.plan.rocket.sections = sections;
    l.plan.limits.landing_speed_mps = 6.0;
    l.plan.limits.landing_energy_j = 100.0;
    l.plan.limits.opening_load = 25.0;
    l.plan.limits.main_height_m = 105.0;
    judge(&l);
    static const struct {
        pappus_limit_kind limit;
        const char *name;
        double value, tolerance;
        pappus_verdict verdict;
    } wanted[] = {
        {PAPPUS_LIMIT_LANDING_ENERGY, booster, 104.43, 0.01, PAPPUS_BROKEN},
        {PAPPUS_LIMIT_OPENING_LOAD, "main", 28.5, 0.01, PAPPUS_BROKEN},
        {PAPPUS_LIMIT_MAIN_HEIGHT, NULL, 105.0, 0.02, PAPPUS_UNDECIDED},
        {PAPPUS_LIMIT_LANDING_SPEED, NULL, 5.9, 0.001, PAPPUS_MET},
        {PAPPUS_LIMIT_OPENING_LOAD, "drogue", 19.0, 0.01, PAPPUS_MET},
    };
    ck_assert_uint_eq(l.judgement->reason_count, 5);
    ck_assert_int_eq(l.judgement->decision, PAPPUS_NO_GO);
    for (int i = 0; i < 5; i++) {
        const pappus_reason *reason = &l.judgement->reasons[i];
        ck_assert_int_eq(reason->limit, wanted[i].limit);
        ck_assert_pstr_eq(reason->name, wanted[i].name);
        ck_assert_double_eq_tol(reason->value.value, wanted[i].value, wanted[i].tolerance);
        ck_assert_int_eq(reason->verdict, wanted[i].verdict);
        ck_assert(reason->value.low < reason->value.value);
        ck_assert(reason->value.high > reason->value.value);
    }
    tear_down(&l);
}
END_TEST

/* Never fully open counts as 0: 6 % of such landings take the 5th percentile there. */
START_TEST(unopened_counts_as_zero)
{
    launch l;
    set_up(&l);
    l.plan.limits.main_height_m = 90.0;
    for (size_t i = 0; i < 600; i++) {
        l.cloud->main_full_open_m[NOMINAL - 1 - i] = 0.0f;
        l.cloud->unopened[NOMINAL - 1 - i] = 1;
    }
    l.cloud->unopened_count[PAPPUS_NOMINAL] = 600;
    judge(&l);
    ck_assert_double_eq(l.judgement->reasons[0].value.value, 0.0);
    ck_assert_int_eq(l.judgement->reasons[0].verdict, PAPPUS_BROKEN);
    ck_assert_int_eq(l.judgement->reasons[0].caveat.kind, PAPPUS_CAVEAT_UNOPENED);
    ck_assert_uint_eq(l.judgement->reasons[0].caveat.count, 600);
    ck_assert_uint_eq(l.judgement->reasons[0].caveat.of, 10000);
    tear_down(&l);
}
END_TEST

/* A rocket with one canopy is not judged by the other. */
START_TEST(single_canopy)
{
    launch l;
    set_up(&l);
    l.plan.main.present = false;
    l.plan.limits.main_height_m = 90.0;
    l.plan.limits.opening_load = 25.0;
    l.plan.limits.landing_energy_j = 200.0;
    judge(&l);
    ck_assert_uint_eq(l.judgement->reason_count, 2);
    ck_assert_int_eq(l.judgement->decision, PAPPUS_GO);
    for (size_t i = 0; i < 2; i++)
        if (l.judgement->reasons[i].limit == PAPPUS_LIMIT_OPENING_LOAD)
            ck_assert_str_eq(l.judgement->reasons[i].name, "drogue");
        else /* X: 8 kg whole, 4 * 5.9^2 */
            ck_assert_double_eq_tol(l.judgement->reasons[i].value.value, 139.24, 0.01);
    tear_down(&l);
}
END_TEST

/* Told first: broken, then undecided, each in the order of the limits; when all is met, the
 * largest share of a bound: 0.6 and 0.5 before 0.4 (X). */
START_TEST(what_is_told_first)
{
    pappus_reason reasons[4];
    const pappus_reason *told[4];
    pappus_judgement judgement = {.reason_count = 4, .reasons = reasons};
    static const double values[4] = {0.4, 0.6, 0.2, 0.5};
    for (size_t i = 0; i < 4; i++)
        reasons[i] = (pappus_reason){.limit = PAPPUS_LIMIT_KEEP_OUT,
                                     .value = {values[i], NAN, NAN},
                                     .bound = 1.0,
                                     .verdict = PAPPUS_MET};
    ck_assert_uint_eq(pappus_judgement_lead(told, 2, &judgement), 2);
    ck_assert_ptr_eq(told[0], &reasons[1]);
    ck_assert_ptr_eq(told[1], &reasons[3]);
    reasons[0].verdict = PAPPUS_UNDECIDED;
    reasons[2].verdict = PAPPUS_BROKEN;
    ck_assert_uint_eq(pappus_judgement_lead(told, 4, &judgement), 2);
    ck_assert_ptr_eq(told[0], &reasons[2]);
    ck_assert_ptr_eq(told[1], &reasons[0]);
    ck_assert_uint_eq(pappus_judgement_lead(told, 1, &judgement), 1);
    ck_assert_ptr_eq(told[0], &reasons[2]);
    judgement.reason_count = 0;
    ck_assert_uint_eq(pappus_judgement_lead(told, 4, &judgement), 0);
}
END_TEST

START_TEST(names_and_units)
{
    ck_assert_str_eq(pappus_limit_text(PAPPUS_LIMIT_KEEP_OUT), "keep_out");
    ck_assert_str_eq(pappus_limit_unit(PAPPUS_LIMIT_LANDING_ENERGY), "J");
    ck_assert_str_eq(pappus_limit_noun(PAPPUS_LIMIT_SURFACE_WIND), "surface wind");
    ck_assert(pappus_limit_at_least(PAPPUS_LIMIT_MAIN_HEIGHT));
    ck_assert(!pappus_limit_at_least(PAPPUS_LIMIT_OPENING_LOAD));
    ck_assert_ptr_null(pappus_limit_text(PAPPUS_LIMIT_NONE));
}
END_TEST

SUITE("decision")
{
    tcase_add_loop_test(tests, rule, 0, 12);
    tcase_add_test(tests, no_limits_no_reasons);
    tcase_add_loop_test(tests, inside_field, 0, 5);
    tcase_add_test(tests, decided_at_99_reported_at_95);
    tcase_add_test(tests, no_field_given);
    tcase_add_loop_test(tests, keep_out, 0, 4);
    tcase_add_loop_test(tests, a_limit_that_is_led_for_is_judged_by_its_interval, 0, 6);
    tcase_add_loop_test(tests, surface_wind, 0, 5);
    tcase_add_test(tests, percentiles_of_the_nominal_outcome);
    tcase_add_test(tests, unopened_counts_as_zero);
    tcase_add_test(tests, single_canopy);
    tcase_add_test(tests, what_is_told_first);
    tcase_add_test(tests, names_and_units);
}
