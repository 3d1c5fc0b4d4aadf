/* SPDX-License-Identifier: GPL-3.0-or-later
 * The trade over main heights on plans where the answer is known by construction. X:
 * computed here from the rule of the design. */
#include "heights.h"
#include "situation.h"
#include "suite.h"
#include "uncertain.h"

#include <stdlib.h>

static choice_setup setup;

static void set_up(void)
{
    choice_setup_set(&setup);
}

static void tear_down(void)
{
    choice_setup_end(&setup);
}

/* What a brief of the plan at another main height says of an area: the yardstick, on landings
 * of its own. */
static pappus_estimate at_height(double main_m, size_t area)
{
    pappus_error err = {0};
    pappus_cloud *cloud;
    pappus_hits *hits;
    pappus_hazard *hazard;
    pappus_hazard_options options = PAPPUS_HAZARD_OPTIONS_INIT;
    pappus_scatter_options scatter = PAPPUS_SCATTER_OPTIONS_INIT;
    double planned_m = setup.flight.altimeters[0].main_height_m;
    for (int a = 0; a < 2; a++)
        setup.flight.altimeters[a].main_height_m += main_m - planned_m;
    scatter.run.seed = options.run.seed = 99;
    options.field = false;
    options.effort = 4;
    ck_assert_int_eq(pappus_scatter(&cloud, setup.given.plan, setup.given.air, &scatter, &err), 0);
    ck_assert_int_eq(pappus_hits_count(&hits, cloud, &setup.field, 0, &err), 0);
    ck_assert_int_eq(pappus_hazard_find(&hazard, hits, &setup.given, cloud, &options, &err), 0);
    pappus_estimate e = pappus_hits_keep_out(hits, area, 0.999);
    for (int a = 0; a < 2; a++)
        setup.flight.altimeters[a].main_height_m += planned_m - main_m;
    pappus_hazard_free(hazard);
    pappus_hits_free(hits);
    pappus_cloud_free(cloud);
    return e;
}

static pappus_heights *trade(void)
{
    pappus_heights *heights = NULL;
    pappus_error error = {0};
    int status = pappus_heights_trade(&heights, &setup.given, &setup.run, NULL, &error);
    ck_assert_msg(status == PAPPUS_OK, "%s", error.message);
    return heights;
}

/* X: the rule of the design, spelled out: among the rows that are met and below the apogee,
 * the nearest to the planned height of those with use <= 0.5, the higher of two; else the
 * least use, and within 0.02 the highest. */
static double by_rule(const pappus_heights *heights)
{
    double best = NAN, least = INFINITY;
    for (size_t i = 0; i < heights->row_count; i++)
        if (heights->rows[i].verdict == PAPPUS_MET && !heights->rows[i].above_apogee)
            least = fmin(least, heights->rows[i].use);
    for (size_t i = heights->row_count; i-- > 0;) {
        const pappus_height_row *row = &heights->rows[i];
        double away = fabs(row->height_m - heights->planned_m);
        if (row->verdict != PAPPUS_MET || row->above_apogee) continue;
        bool takes = least <= 0.5 ? row->use <= 0.5 && !(away >= fabs(best - heights->planned_m))
                                  : row->use <= least + 0.02 && isnan(best);
        if (takes) best = row->height_m;
    }
    return best;
}

/* The wind blows towards the north-east: a wall 400 m east of the pad. Every metre
 * of main height is more drift towards it, so the lowest height is the best. */
START_TEST(a_wall_downwind_asks_for_the_lowest_height)
{
    set_boundary(&setup, -5000, -5000, 400, 5000);
    choice_setup_build(&setup);
    pappus_heights *heights = trade();
    ck_assert_uint_eq(heights->row_count, 9);
    for (size_t i = 1; i < heights->row_count; i++) {
        ck_assert_double_le(heights->rows[i].inside_field.value,
                            heights->rows[i - 1].inside_field.value);
        ck_assert_double_gt(heights->rows[i].time_s, heights->rows[i - 1].time_s);
    }
    ck_assert_double_lt(heights->rows[8].inside_field.value, 0.9);
    ck_assert_double_eq(heights->recommended_m, by_rule(heights));
    ck_assert_double_lt(heights->recommended_m, heights->planned_m);
    ck_assert_int_eq(heights->higher.limit, PAPPUS_LIMIT_INSIDE_FIELD);
    ck_assert_int_eq(heights->rows[8].nearest, PAPPUS_LIMIT_INSIDE_FIELD);
    pappus_heights_free(heights);
}
END_TEST

/* The same wall, and a floor: full open by 150 m in 19 of 20 flights. Heights that open
 * lower are not recommended, and the reason is named. */
START_TEST(the_floor_of_the_open_main_stops_it)
{
    set_boundary(&setup, -5000, -5000, 900, 5000);
    setup.flight.plan.limits.main_height_m = 150.0;
    choice_setup_build(&setup);
    pappus_heights *heights = trade();
    const pappus_height_row *lowest = &heights->rows[0];
    ck_assert_int_eq(lowest->verdict, PAPPUS_BROKEN);
    ck_assert_int_eq(lowest->broken, PAPPUS_LIMIT_MAIN_HEIGHT);
    ck_assert_double_gt(heights->recommended_m, 150.0);
    ck_assert_int_ne(heights->lower.why, PAPPUS_WHY_NOT_NO_ROW);
    const pappus_height_row *chosen = &heights->rows[heights->recommended_row];
    ck_assert_double_ge(chosen->full_open_p05_m, 150.0);
    ck_assert_double_eq(heights->recommended_m, by_rule(heights));
    pappus_heights_free(heights);
}
END_TEST

/* A keep-out that the low heights fall on, upwind of where the high ones land: the
 * higher the better. */
START_TEST(a_keep_out_upwind_asks_for_a_high_one)
{
    add_keep_out(&setup, "crowd", 0, 0, 300, 430);
    choice_setup_build(&setup);
    setup.flight.plan.limits.keep_out = 0.5;
    setup.flight.plan.limits.inside_field = NAN;
    pappus_heights *heights = trade();
    for (size_t i = 1; i < heights->row_count; i++)
        ck_assert_double_le(heights->rows[i].keep_out[0].value,
                            heights->rows[i - 1].keep_out[0].value);
    ck_assert_double_gt(heights->rows[0].keep_out[0].value,
                        heights->rows[8].keep_out[0].value + 0.1);
    ck_assert_double_eq(heights->recommended_m, by_rule(heights));
    ck_assert_double_gt(heights->recommended_m, heights->planned_m);
    const pappus_height_row *lower = &heights->rows[heights->recommended_row - 1];
    ck_assert_int_eq(heights->lower.why, lower->verdict == PAPPUS_BROKEN ? PAPPUS_WHY_NOT_BROKEN
                                         : lower->use > lower[1].use     ? PAPPUS_WHY_NOT_USES_MORE
                                                                     : PAPPUS_WHY_NOT_NO_BETTER);
    if (heights->lower.why != PAPPUS_WHY_NOT_NO_BETTER)
        ck_assert_int_eq(heights->lower.limit, PAPPUS_LIMIT_KEEP_OUT);
    pappus_heights_free(heights);
}
END_TEST

START_TEST(none_is_recommended_when_none_meets_every_limit)
{
    set_boundary(&setup, -5000, -5000, 100, 5000);
    choice_setup_build(&setup);
    pappus_heights *heights = trade();
    ck_assert(isnan(heights->recommended_m));
    ck_assert(isnan(heights->shift_m));
    ck_assert_int_eq(heights->closest.why, PAPPUS_WHY_NOT_BROKEN);
    ck_assert_int_eq(heights->closest.limit, PAPPUS_LIMIT_INSIDE_FIELD);
    pappus_heights_free(heights);
}
END_TEST

/* Sum of squared second differences of the chance inside. */
static double roughness(const double *p, size_t n)
{
    double sum = 0.0;
    for (size_t i = 2; i < n; i++) {
        double d = p[i] - 2.0 * p[i - 1] + p[i - 2];
        sum += d * d;
    }
    return sum;
}

/* With independent draws each second difference carries six times the variance
 * p(1-p)/n of one estimate (X). With common ones it carries that of the landings between
 * two heights, a tenth of it here: half is far from chance. */
/* Above the apogee every height is the same flight, with the main at apogee: however
 * good, none of them is a height to set. */
START_TEST(no_height_above_the_apogee_is_recommended)
{
    set_boundary(&setup, -5000, -5000, 5000, 5000);
    setup.flight.plan.apogee.height_m = pappus_normal(260.0, 5.0);
    setup.flight.altimeters[0].main_height_m = 300.0;
    choice_setup_build(&setup);
    pappus_heights *heights = trade();
    ck_assert_int_eq(heights->rows[8].verdict, PAPPUS_MET);
    ck_assert_double_eq(heights->recommended_m, 250.0);
    ck_assert_int_eq(heights->higher.why, PAPPUS_WHY_NOT_ABOVE_APOGEE);
    pappus_heights_free(heights);
    setup.flight.plan.apogee.height_m = pappus_normal(80.0, 5.0);
    choice_setup_build(&setup);
    heights = trade();
    ck_assert(isnan(heights->recommended_m));
    ck_assert_int_eq(heights->closest.why, PAPPUS_WHY_NOT_ABOVE_APOGEE);
    pappus_heights_free(heights);
}
END_TEST

/* What follows from rows alone. X: 699 ft is 0.3048 m below 700 ft, another height though an
 * altimeter could hardly tell; 1e-9 m is rounding. */
START_TEST(another_height_is_another_height)
{
    static const struct {
        double planned_m, shift_m;
    } cases[] = {{213.36, -0.3048}, {213.0552, 0}, {213.0552 + 1e-9, 0}, {213.0552 - 1e-3, 1e-3}};
    pappus_height_row row = {.height_m = 213.0552, .verdict = PAPPUS_MET};
    pappus_heights heights = {.row_count = 1, .rows = &row, .planned_m = cases[_i].planned_m};
    pappus_heights_conclude(&heights);
    ck_assert_double_eq(heights.recommended_m, 213.0552);
    ck_assert_double_eq_tol(heights.shift_m, cases[_i].shift_m, 1e-10);
    ck_assert((heights.shift_m == 0) == (cases[_i].shift_m == 0));
    ck_assert_int_eq(heights.lower.why, PAPPUS_WHY_NOT_NO_ROW);
    ck_assert_int_eq(heights.higher.why, PAPPUS_WHY_NOT_NO_ROW);
}
END_TEST

/* X: u of 0.80, 0.81, 0.90: none has room; the second is within 0.02 of the least, and the
 * higher. */
START_TEST(why_not_the_rows_beside_it)
{
    pappus_height_row rows[] = {
        {.height_m = 100, .verdict = PAPPUS_MET, .use = 0.80, .nearest = PAPPUS_LIMIT_KEEP_OUT},
        {.height_m = 200, .verdict = PAPPUS_MET, .use = 0.81, .nearest = PAPPUS_LIMIT_KEEP_OUT},
        {.height_m = 300, .verdict = PAPPUS_MET, .use = 0.90, .nearest = PAPPUS_LIMIT_INSIDE_FIELD},
    };
    pappus_heights heights = {.row_count = 3, .rows = rows, .planned_m = 260};
    pappus_heights_conclude(&heights);
    ck_assert_uint_eq(heights.recommended_row, 1);
    ck_assert_uint_eq(heights.planned_row, 2);
    ck_assert_int_eq(heights.lower.why, PAPPUS_WHY_NOT_NO_BETTER);
    ck_assert_int_eq(heights.higher.why, PAPPUS_WHY_NOT_USES_MORE);
    ck_assert_int_eq(heights.higher.limit, PAPPUS_LIMIT_INSIDE_FIELD);
    rows[1].verdict = PAPPUS_UNDECIDED;
    rows[1].broken = PAPPUS_LIMIT_SURFACE_WIND;
    pappus_heights_conclude(&heights);
    ck_assert_uint_eq(heights.recommended_row, 0);
    ck_assert_int_eq(heights.higher.why, PAPPUS_WHY_NOT_UNDECIDED);
    ck_assert_int_eq(heights.higher.limit, PAPPUS_LIMIT_SURFACE_WIND);
}
END_TEST

/* X: with room the planned height stays, whatever is better; else the nearest that has it,
 * of two as near the higher. */
START_TEST(a_plan_that_has_room_stays)
{
    static const struct {
        double use[4], planned_m, recommended_m;
    } cases[] = {
        {{0.01, 0.49, 0.02, 0.01}, 200, 200}, {{0.40, 0.60, 0.50, 0.01}, 200, 300},
        {{0.40, 0.60, 0.51, 0.01}, 200, 100}, {{0.40, 0.40, 0.40, 0.40}, 150, 200},
        {{0.70, 0.60, 0.59, 0.90}, 400, 300}, {{0.00, 0.00, 0.00, 0.00}, 900, 400},
    };
    pappus_height_row rows[4];
    for (int i = 0; i < 4; i++)
        rows[i] = (pappus_height_row){
            .height_m = 100 * (i + 1), .verdict = PAPPUS_MET, .use = cases[_i].use[i]};
    pappus_heights heights = {.row_count = 4, .rows = rows, .planned_m = cases[_i].planned_m};
    pappus_heights_conclude(&heights);
    ck_assert_double_eq(heights.recommended_m, cases[_i].recommended_m);
    ck_assert_double_eq(by_rule(&heights), cases[_i].recommended_m);
}
END_TEST

/* The planned height has its row, in its place, wherever it lies; the surface wind is above
 * its limit at every height: none mends that, and that is what is told. */
START_TEST(a_limit_that_no_height_mends)
{
    setup.flight.altimeters[0].main_height_m = 222.0;
    set_boundary(&setup, -5000, -5000, 5000, 5000);
    choice_setup_build(&setup);
    pappus_heights *heights = trade();
    ck_assert_uint_eq(heights->row_count, 10);
    ck_assert_double_eq(heights->rows[3].height_m, 222.0);
    ck_assert_uint_eq(heights->planned_row, 3);
    ck_assert_double_eq(heights->recommended_m, 222.0);
    ck_assert_int_eq(heights->beyond, PAPPUS_LIMIT_NONE);
    pappus_heights_free(heights);
    setup.flight.plan.limits.surface_wind_mps = 1.0;
    heights = trade();
    ck_assert(isnan(heights->recommended_m));
    ck_assert_int_eq(heights->beyond, PAPPUS_LIMIT_SURFACE_WIND);
    pappus_heights_free(heights);
    set_boundary(&setup, -5000, -5000, 100, 5000); /* and one that heights do decide */
    heights = trade();
    ck_assert_int_eq(heights->beyond, PAPPUS_LIMIT_SURFACE_WIND);
    ck_assert_int_eq(heights->closest.limit, PAPPUS_LIMIT_INSIDE_FIELD);
    pappus_heights_free(heights);
}
END_TEST

/* The opening is too hard wherever the main may open: that it is not above the apogee, where it
 * cannot, mends nothing. */
START_TEST(above_the_apogee_nothing_is_mended)
{
    const unsigned load = 1U << PAPPUS_LIMIT_OPENING_LOAD;
    pappus_height_row rows[3];
    for (int i = 0; i < 3; i++)
        rows[i] =
            (pappus_height_row){.height_m = 100 * (i + 1),
                                .above_apogee = i == 2,
                                .verdict = i == 2 ? PAPPUS_MET : PAPPUS_BROKEN,
                                .broken = i == 2 ? PAPPUS_LIMIT_NONE : PAPPUS_LIMIT_OPENING_LOAD,
                                .unmet = i == 2 ? 0 : load,
                                .use = 0.3 - 0.1 * i};
    pappus_heights heights = {.row_count = 3, .rows = rows, .planned_m = 100};
    pappus_heights_conclude(&heights);
    ck_assert(isnan(heights.recommended_m));
    ck_assert_int_eq(heights.beyond, PAPPUS_LIMIT_OPENING_LOAD);
    ck_assert_uint_eq(heights.closest.row, 1);
    rows[1].unmet = 0;
    pappus_heights_conclude(&heights);
    ck_assert_int_eq(heights.beyond, PAPPUS_LIMIT_NONE);
}
END_TEST

START_TEST(common_draws_make_the_curve_smooth)
{
    double inside[9], independent = 0.0;
    setup.flight.plan.landings = 16000;
    setup.flight.plan.heights_from_m = 200.0; /* close together: little curvature of its own */
    setup.flight.plan.heights_to_m = 300.0;
    setup.flight.plan.heights_step_m = 12.5;
    set_boundary(&setup, -5000, -5000, 400, 5000);
    choice_setup_build(&setup);
    pappus_heights *heights = trade();
    for (size_t i = 0; i < 9; i++) {
        double p = inside[i] = heights->rows[i].inside_field.value;
        if (i >= 2) independent += 6.0 * p * (1.0 - p) / 16000.0;
    }
    ck_assert_double_gt(inside[0], inside[8] + 0.02);
    ck_assert_double_lt(roughness(inside, 9), 0.5 * independent);
    pappus_heights_free(heights);
}
END_TEST

START_TEST(too_many_heights_are_refused)
{
    pappus_heights *heights = NULL;
    pappus_error error = {0};
    choice_setup_build(&setup);
    setup.flight.plan.heights_step_m = 0.1;
    ck_assert_int_eq(pappus_heights_trade(&heights, &setup.given, &setup.run, NULL, &error),
                     PAPPUS_E_FLIGHT);
    ck_assert_ptr_null(heights);
    ck_assert_str_eq(error.key, "heights");
}
END_TEST

/* A cloud of its own at the height of a row, on the same draws. */
static pappus_cloud *cloud_at(const pappus_heights *heights, size_t row)
{
    pappus_cloud *cloud = NULL;
    pappus_scatter_options options = PAPPUS_SCATTER_OPTIONS_INIT;
    double shift_m = heights->rows[row].height_m - heights->planned_m;
    for (int a = 0; a < 2; a++)
        setup.flight.altimeters[a].main_height_m += shift_m;
    options.run.landings = setup.flight.plan.landings;
    ck_assert_int_eq(pappus_scatter(&cloud, &setup.flight.plan, setup.flight.air, &options, NULL),
                     PAPPUS_OK);
    for (int a = 0; a < 2; a++)
        setup.flight.altimeters[a].main_height_m -= shift_m;
    return cloud;
}

/* Fewer than three landings on an area say nothing of a height: their chance uses up nothing. */
START_TEST(a_landing_or_two_rank_no_heights)
{
    size_t few = 0, more = 0;
    add_keep_out(&setup, "crowd", 700, 400, 1300, 900);
    setup.flight.plan.limits.inside_field = NAN;
    setup.flight.plan.faults.main_early = 0.0;
    choice_setup_build(&setup);
    pappus_heights *heights = trade();
    for (size_t i = 0; i < heights->row_count; i++) {
        pappus_hits *hits = NULL;
        pappus_cloud *cloud = cloud_at(heights, i);
        size_t on = 0;
        ck_assert_int_eq(pappus_hits_count(&hits, cloud, &setup.field, 1, NULL), PAPPUS_OK);
        for (int h = 0; h < PAPPUS_OUTCOMES; h++)
            on += hits->keep_out[0][h];
        double share = pappus_hits_keep_out(hits, 0, 0.95).value;
        ck_assert_double_eq_tol(heights->rows[i].use, on < 3 ? 0.0 : share / 0.01, 0.01);
        few += on == 1 || on == 2;
        more += on >= 3;
        pappus_hits_free(hits);
        pappus_cloud_free(cloud);
    }
    ck_assert_uint_gt(few, 0);
    ck_assert_uint_gt(more, 0);
    pappus_heights_free(heights);
}
END_TEST

/* limits.main_height is on the 5th percentile: the chance that is used up is that of opening
 * lower over 0.05, counted here in a cloud of its own at each height (common draws). */
START_TEST(a_low_opening_uses_up_its_twentieth)
{
    pappus_plan *plan = &setup.flight.plan;
    plan->limits.main_height_m = 150.0;
    for (int a = 0; a < 2; a++)
        setup.flight.altimeters[a].height_error_m = pappus_normal(0.0, 25.0);
    plan->limits.inside_field = NAN;
    choice_setup_build(&setup);
    pappus_heights *heights = trade();
    size_t between = 0;
    for (size_t i = 0; i < heights->row_count; i++) {
        pappus_cloud *cloud = cloud_at(heights, i);
        size_t low = 0, count = 0;
        for (size_t k = 0; k < cloud->count; k++) {
            count += cloud->outcome[k] == PAPPUS_NOMINAL;
            low += cloud->outcome[k] == PAPPUS_NOMINAL && cloud->main_full_open_m[k] < 150.0f;
        }
        /* a landing or two at the limit may fall either way by rounding */
        ck_assert_double_eq_tol(heights->rows[i].use, (double)low / (double)count / 0.05,
                                3.0 / (double)count / 0.05);
        between += low > 10 && low < count;
        pappus_cloud_free(cloud);
    }
    ck_assert_uint_gt(between, 0);
    pappus_heights_free(heights);
}
END_TEST

/* A crowd downwind that no counted landing hits: led ones say at which heights its limit is
 * kept, and what they say is what a brief at that height says. Counting alone sees none of it. */
START_TEST(a_strict_limit_is_judged_at_each_height)
{
    double limit[1] = {1e-5};
    pappus_error err = {0};
    pappus_heights *counted = NULL;
    add_keep_out(&setup, "crowd", 700, 400, 1300, 900);
    setup.flight.plan.limits.inside_field = NAN;
    setup.field.keep_out_limit = limit;
    setup.flight.plan.faults.main_early = 0.0;
    choice_setup_build(&setup);
    pappus_heights *heights = trade();
    for (size_t i = 0; i < heights->row_count; i++) {
        const pappus_height_row *row = &heights->rows[i];
        pappus_estimate brief = at_height(row->height_m, 0), e = row->keep_out[0];
        bool meet = e.low <= brief.high && brief.low <= e.high;
        ck_assert_msg(meet, "%g m: %g to %g, alone %g to %g", row->height_m, e.low, e.high,
                      brief.low, brief.high);
        ck_assert_int_eq(row->verdict, e.high < limit[0]  ? PAPPUS_MET
                                       : e.low > limit[0] ? PAPPUS_BROKEN
                                                          : PAPPUS_UNDECIDED);
        ck_assert_double_eq_tol(row->use, e.value / limit[0], 1e-9 * row->use);
    }
    ck_assert_int_eq(heights->rows[0].verdict, PAPPUS_MET);    /* 1e-13 */
    ck_assert_int_eq(heights->rows[4].verdict, PAPPUS_MET);    /* 8e-7 */
    ck_assert_int_eq(heights->rows[6].verdict, PAPPUS_BROKEN); /* 5e-5 */
    ck_assert_int_eq(heights->rows[6].broken, PAPPUS_LIMIT_KEEP_OUT);
    ck_assert_double_eq(heights->recommended_m, by_rule(heights));
    pappus_heights_free(heights);
    ck_assert_int_eq(pappus_heights_count(&counted, &setup.given, &setup.run, false, &err), 0);
    ck_assert_double_eq(counted->rows[6].keep_out[0].value, 0.0);
    ck_assert_int_eq(counted->rows[6].verdict, PAPPUS_MET);
    pappus_heights_free(counted);
}
END_TEST

SUITE("heights")
{
    tcase_add_checked_fixture(tests, set_up, tear_down);
    tcase_add_test(tests, a_strict_limit_is_judged_at_each_height);
    tcase_add_test(tests, a_wall_downwind_asks_for_the_lowest_height);
    tcase_add_test(tests, the_floor_of_the_open_main_stops_it);
    tcase_add_test(tests, a_keep_out_upwind_asks_for_a_high_one);
    tcase_add_test(tests, none_is_recommended_when_none_meets_every_limit);
    tcase_add_test(tests, no_height_above_the_apogee_is_recommended);
    tcase_add_loop_test(tests, another_height_is_another_height, 0, 4);
    tcase_add_test(tests, why_not_the_rows_beside_it);
    tcase_add_loop_test(tests, a_plan_that_has_room_stays, 0, 6);
    tcase_add_test(tests, a_limit_that_no_height_mends);
    tcase_add_test(tests, above_the_apogee_nothing_is_mended);
    tcase_add_test(tests, common_draws_make_the_curve_smooth);
    tcase_add_test(tests, too_many_heights_are_refused);
    tcase_add_test(tests, a_landing_or_two_rank_no_heights);
    tcase_add_test(tests, a_low_opening_uses_up_its_twentieth);
}
