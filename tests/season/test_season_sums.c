/* SPDX-License-Identifier: GPL-3.0-or-later
 * Sums of landings and counts of days, against closed forms. Landings and days by GSL's
 * Mersenne twister. */
#include "day.h"
#include "sums.h"
#include "tally.h"

#include "../landing/clouds.h"
#include "contour.h"
#include "suite.h"

#include <string.h>

#define SIGMA_M 300.0
#define CELL_M 20.0

static season_sums *sums_new(void)
{
    season_sums *sums = calloc(1, sizeof *sums);
    if (!sums) exit(EXIT_FAILURE);
    return sums;
}

/* Round normal landings of so many days, each day about a place of its own. */
static season_sums *round_days(size_t days, size_t landings, double between_m, double within_m)
{
    season_sums *sums = sums_new();
    gsl_rng *random = random_of(7);
    pappus_cloud *cloud = cloud_nominal(landings);
    for (size_t d = 0; d < days; d++) {
        double east, north;
        gaussian_place(&east, &north, random, between_m, between_m, 0);
        for (size_t i = 0; i < landings; i++) {
            gaussian_place(&cloud->east_m[i], &cloud->north_m[i], random, within_m, within_m, 0);
            cloud->east_m[i] += east;
            cloud->north_m[i] += north;
        }
        season_sums_add(sums, cloud, CELL_M, (int)(d % 12) + 1);
    }
    pappus_cloud_free(cloud);
    gsl_rng_free(random);
    return sums;
}

/* X: about the pad the distance of a round normal place has P(r < R) = 1 - exp(-R^2/2s^2)
 * (Rayleigh), so quantiles s sqrt(-2 ln(1-p)); 400 000 landings, classes 2 % wide. */
START_TEST(drift_is_rayleigh)
{
    season_sums *sums = round_days(400, 1000, 0.0, SIGMA_M);
    pappus_quantiles q = season_drift_m(sums, (1U << 12) - 1U);
    ck_assert_double_eq_tol(q.p05, SIGMA_M * sqrt(-2 * log(0.95)), 0.02 * q.p05);
    ck_assert_double_eq_tol(q.p50, SIGMA_M * sqrt(-2 * log(0.50)), 0.012 * q.p50);
    ck_assert_double_eq_tol(q.p95, SIGMA_M * sqrt(-2 * log(0.05)), 0.012 * q.p95);
    q = season_drift_m(sums, 1U << 3);
    ck_assert_double_eq_tol(q.p50, SIGMA_M * sqrt(-2 * log(0.50)), 0.03 * q.p50);
    ck_assert_double_nan(season_drift_m(sums, 0).p50);
    free(sums);
}
END_TEST

/* X: the smallest area that holds p of a round normal law is the disc of -2 ln(1-p) s^2 pi.
 * Smoothing adds its own variance; 1 - p of the landings, not of a law, are outside. */
START_TEST(footprint_of_a_round_law)
{
    const size_t days = 2000;
    season_sums *sums = round_days(days, 200, SIGMA_M * sqrt(0.8), SIGMA_M * sqrt(0.2));
    pappus_contour contours[PAPPUS_LEVELS];
    pappus_error error = {0};
    ck_assert_int_eq(season_footprint(contours, sums, CELL_M, days, &error), PAPPUS_OK);
    for (int l = 0; l < PAPPUS_LEVELS; l++) {
        double p = pappus_levels[l], area = -2 * log(1 - p) * SIGMA_M * SIGMA_M * M_PI;
        ck_assert_double_eq_tol(contours[l].share, p, 0.006);
        ck_assert_uint_eq(contours[l].shape.polygon_count, 1);
        /* 2000 places of days: the area strays by some 1/sqrt(2000 p (1-p)...): 6 % */
        ck_assert_double_eq_tol(contours[l].area_m2, area, (p > 0.98 ? 0.12 : 0.07) * area);
    }
    ck_assert_double_eq(season_beyond(sums), 0.0);
    pappus_contours_clear(contours);
    free(sums);
}
END_TEST

/* A level that is off the grid has no shape, and the share beyond is told. */
START_TEST(what_lies_beyond)
{
    season_sums *sums = sums_new();
    pappus_cloud *cloud = cloud_nominal(100);
    pappus_contour contours[PAPPUS_LEVELS];
    pappus_error error = {0};
    for (int i = 0; i < 100; i++)
        cloud->east_m[i] = i < 30 ? 1e6 : 10.0 * i;
    season_sums_add(sums, cloud, CELL_M, 1);
    ck_assert_double_eq_tol(season_beyond(sums), 0.30, 1e-6);
    ck_assert_int_eq(season_footprint(contours, sums, CELL_M, 1, &error), PAPPUS_OK);
    ck_assert_uint_gt(contours[PAPPUS_LEVEL_50].shape.polygon_count, 0);
    ck_assert_double_eq_tol(contours[PAPPUS_LEVEL_50].share, 0.5, 0.05);
    ck_assert_uint_eq(contours[PAPPUS_LEVEL_90].shape.polygon_count, 0);
    pappus_contours_clear(contours);
    pappus_cloud_free(cloud);
    free(sums);
}
END_TEST

/* Weights are whole: any order gives the same sums. */
START_TEST(sums_do_not_depend_on_order)
{
    season_sums *all = sums_new(), *back = sums_new();
    gsl_rng *random = random_of(3);
    pappus_cloud *clouds[9];
    for (size_t d = 0; d < 9; d++) {
        clouds[d] = cloud_new((size_t[PAPPUS_OUTCOMES]){70 + d, 9, 8, 7, 6},
                              (double[PAPPUS_OUTCOMES]){0.961, 0.01, 0.013, 0.009, 0.007});
        for (size_t i = 0; i < clouds[d]->count; i++)
            gaussian_place(&clouds[d]->east_m[i], &clouds[d]->north_m[i], random, 2000, 500, 30);
        season_sums_add(all, clouds[d], CELL_M, (int)d + 1);
    }
    for (size_t d = 9; d-- > 0;)
        season_sums_add(back, clouds[d], CELL_M, (int)d + 1);
    ck_assert_mem_eq(back, all, sizeof *all);
    double total = (double)all->beyond;
    for (int j = 0; j < SEASON_CELLS; j++)
        for (int i = 0; i < SEASON_CELLS; i++)
            total += (double)all->cells[j][i];
    ck_assert_double_eq_tol(total / SEASON_WHOLE, 9.0, 1e-4); /* a day is a day */
    for (size_t d = 0; d < 9; d++)
        pappus_cloud_free(clouds[d]);
    gsl_rng_free(random);
    free(all);
    free(back);
}
END_TEST

START_TEST(cells_are_round)
{
    static const double pairs[][2] = {{1600, 20}, {1601, 50},  {800, 10}, {3999, 50},
                                      {4000, 50}, {4001, 100}, {40, 1},   {10, 1}};
    for (size_t i = 0; i < sizeof pairs / sizeof pairs[0]; i++)
        ck_assert_double_eq_tol(season_cell_m(pairs[i][0]), pairs[i][1], 1e-9);
}
END_TEST

/* ---------------------------------------------------------------------- days */

static pappus_season_head one_plan(pappus_season_plan *plan, double *heights_m, size_t count)
{
    static char empty[] = "";
    *plan = (pappus_season_plan){.name = empty,
                                 .title = empty,
                                 .planned_m = count > 1 ? heights_m[1] : NAN,
                                 .height_count = count,
                                 .heights_m = heights_m};
    return (pappus_season_head){.plan_count = 1, .plans = plan};
}

static void add_day(season_tally *tally, size_t number, int month, bool go)
{
    pappus_season_row row = {.verdict = go ? PAPPUS_MET : PAPPUS_BROKEN};
    pappus_season_day day = {.number = number,
                             .valid_utc_s = 86400.0 * (double)number,
                             .surface_wind_mps = 3.0,
                             .surface_from_deg = 200.0,
                             .row_count = 1,
                             .rows = &row};
    pappus_error error = {0};
    ck_assert_int_eq(season_tally_add(tally, &day, month, 12, (long)number, &error), PAPPUS_OK);
}

/* Days of a year in months of 30, go or not by a two-state chain: go with chance p, and as
 * the day before with `alike` more. Correlation of neighbours is `alike`, so the variance of
 * a long sum is (1 + alike)/(1 - alike) times that of independent days. */
static void chain_year(pappus_season_result *result, gsl_rng *random,
                       const pappus_season_head *head, double p, double alike, size_t years)
{
    season_tally *tally;
    pappus_error error = {0};
    bool go = gsl_rng_uniform(random) < p;
    *result = (pappus_season_result){.head = *head, .sums = calloc(1, sizeof *result->sums)};
    ck_assert_int_eq(season_tally_new(&tally, &result->head, &error), PAPPUS_OK);
    for (size_t d = 0; d < 360 * years; d++) {
        add_day(tally, d, (int)(d / 30 % 12) + 1, go);
        if (gsl_rng_uniform(random) >= alike) go = gsl_rng_uniform(random) < p;
    }
    ck_assert_int_eq(season_tally_finish(result, tally, &error), PAPPUS_OK);
    season_tally_free(tally);
}

static void clear(pappus_season_result *result)
{
    for (size_t i = 0; i < result->group_count; i++)
        free(result->groups[i].height_days);
    free(result->groups);
    free(result->sums);
}

/* Share of years and months whose interval holds p. */
static void coverage(double out[2], double p, double alike, size_t years)
{
    enum { TRIES = 300 };
    pappus_season_plan plan;
    pappus_season_head head = one_plan(&plan, NULL, 0);
    gsl_rng *random = random_of(11);
    size_t held[2] = {0}, of[2] = {0};
    for (int i = 0; i < TRIES; i++) {
        pappus_season_result result;
        chain_year(&result, random, &head, p, alike, years);
        for (size_t g = 0; g < result.group_count; g++) {
            const pappus_season_group *group = &result.groups[g];
            if (group->hour != PAPPUS_SEASON_ALL_HOURS) continue;
            int kind = group->month != 0;
            of[kind]++;
            held[kind] += group->go.low <= p && p <= group->go.high;
        }
        clear(&result);
    }
    gsl_rng_free(random);
    for (int k = 0; k < 2; k++)
        out[k] = (double)held[k] / (double)of[k];
}

/* 95 % is meant. 300 years stray by 1.3 % (sd), 3600 months by less than 0.7 %. Without regard
 * to days being alike, (1 + 0.5)/(1 - 0.5) = 3 times the variance gives 2 Phi(1.96/sqrt 3) - 1
 * = 74 %. Blocks of 5 to 7 days miss a part of it: no less than 88 % is asked. */
START_TEST(intervals_hold)
{
    double held[2];
    coverage(held, 0.6, 0.0, 1);
    ck_assert_double_ge(held[0], 0.915);
    ck_assert_double_ge(held[1], 0.935);
    ck_assert_double_le(held[1], 0.985);
    coverage(held, 0.6, 0.5, 1);
    ck_assert_double_ge(held[0], 0.88);
    ck_assert_double_ge(held[1], 0.88);
    ck_assert_double_le(held[1], 0.985);
    coverage(held, 0.9, 0.3, 2);
    ck_assert_double_ge(held[0], 0.90);
    ck_assert_double_ge(held[1], 0.90);
}
END_TEST

/* Of heights that are go as often the nearest to the planned one, of two as near the higher;
 * an undecided day is no go day; a limit is counted on each day that it is not met. */
START_TEST(best_height_and_limits)
{
    const unsigned keep_out = 1U << PAPPUS_LIMIT_KEEP_OUT;
    const unsigned both = keep_out | 1U << PAPPUS_LIMIT_SURFACE_WIND;
    double heights[] = {100, 200, 300};
    static const char *const verdicts[] = {"mmm", "mbm", "bmb", "ubu"};
    pappus_season_plan plan;
    pappus_season_head head = one_plan(&plan, heights, 3);
    pappus_season_result result = {.head = head, .sums = calloc(1, sizeof *result.sums)};
    season_tally *tally;
    pappus_error error = {0};
    ck_assert_int_eq(season_tally_new(&tally, &result.head, &error), PAPPUS_OK);
    for (size_t d = 0; d < 4; d++) {
        pappus_verdict at[3];
        for (int k = 0; k < 3; k++)
            at[k] = verdicts[d][k] == 'm'   ? PAPPUS_MET
                    : verdicts[d][k] == 'b' ? PAPPUS_BROKEN
                                            : PAPPUS_UNDECIDED;
        pappus_season_row row = {.verdict = at[1],
                                 .unmet = at[1] == PAPPUS_MET ? 0
                                          : d == 3            ? both
                                                              : keep_out,
                                 .height_count = 3,
                                 .heights = at};
        pappus_season_day day = {.number = d,
                                 .valid_utc_s = 1e5 * (double)d,
                                 .surface_wind_mps = 2.0 * (double)d,
                                 .surface_from_deg = d == 0 ? NAN : 355.0,
                                 .row_count = 1,
                                 .rows = &row};
        ck_assert_int_eq(season_tally_add(tally, &day, 7, 3, (long)d, &error), PAPPUS_OK);
    }
    ck_assert_int_eq(season_tally_finish(&result, tally, &error), PAPPUS_OK);
    season_tally_free(tally);
    ck_assert_uint_eq(result.group_count, 4); /* all, July, 3 h, both */
    for (size_t g = 0; g < 4; g++) {
        const pappus_season_group *group = &result.groups[g];
        ck_assert_uint_eq(group->days, 4);
        ck_assert_double_eq(group->go.value, 0.5);
        ck_assert_double_eq(group->go_any, 0.75);
        ck_assert_double_eq(group->best_main_m, 200.0); /* each is go twice */
        ck_assert_double_eq(group->go_best, 0.5);
        ck_assert_uint_eq(group->unmet[PAPPUS_LIMIT_KEEP_OUT], 2);
        ck_assert_uint_eq(group->unmet[PAPPUS_LIMIT_SURFACE_WIND], 1);
        ck_assert_int_eq((int)group->worst, PAPPUS_LIMIT_KEEP_OUT);
    }
    ck_assert_int_eq(result.groups[3].month, 7);
    ck_assert_int_eq(result.groups[3].hour, 3);
    /* a calm is in the first class of the first sector, 355 degrees in the first sector too */
    for (int v = 0; v < 4; v++) {
        ck_assert_uint_eq(result.sums[0].rose[0][v].days, 1);
        ck_assert_uint_eq(result.sums[0].rose[0][v].go, v == 0 || v == 2);
    }
    clear(&result);
}
END_TEST

/* Half the days: two heights as near, the higher is told. */
START_TEST(the_higher_of_two_as_near)
{
    double heights[] = {100, 200, 300};
    pappus_verdict at[] = {PAPPUS_MET, PAPPUS_BROKEN, PAPPUS_MET};
    pappus_season_plan plan;
    pappus_season_head head = one_plan(&plan, heights, 3);
    pappus_season_result result = {.head = head, .sums = calloc(1, sizeof *result.sums)};
    season_tally *tally;
    pappus_error error = {0};
    pappus_season_row row = {.verdict = PAPPUS_BROKEN, .height_count = 3, .heights = at};
    pappus_season_day day = {.row_count = 1, .rows = &row};
    ck_assert_int_eq(season_tally_new(&tally, &result.head, &error), PAPPUS_OK);
    ck_assert_int_eq(season_tally_add(tally, &day, 1, 0, 0, &error), PAPPUS_OK);
    ck_assert_int_eq(season_tally_finish(&result, tally, &error), PAPPUS_OK);
    season_tally_free(tally);
    ck_assert_double_eq(result.groups[0].best_main_m, 300.0);
    clear(&result);
}
END_TEST

/* ------------------------------------------------------------------ soundings */

START_TEST(seeds_differ_by_day)
{
    uint64_t seen[2000];
    for (size_t d = 0; d < 2000; d++) {
        seen[d] = season_seed(1, 43200.0 * (double)d);
        ck_assert(seen[d] < UINT64_C(1) << 53);
        for (size_t e = 0; e < d; e++)
            ck_assert(seen[e] != seen[d]);
    }
    ck_assert(season_seed(1, 5e8) != season_seed(2, 5e8));
    ck_assert(season_seed(1, 5e8) == season_seed(1, 5e8));
}
END_TEST

/* The lowest level as a reading: over its station, on a mast where it is the ground's own. */
START_TEST(readings)
{
    static const struct {
        pappus_height_kind kind;
        double height_m, station_m, reads_at_m; /* NaN: none */
    } rows[] = {
        {PAPPUS_HEIGHT_AGL, 2.0, NAN, 2.0},     {PAPPUS_HEIGHT_AGL, 0.0, NAN, 10.0},
        {PAPPUS_HEIGHT_AGL, 61.0, NAN, NAN},    {PAPPUS_HEIGHT_AGL, -5.0, NAN, NAN},
        {PAPPUS_HEIGHT_MSL, 120.0, NAN, 20.0},  {PAPPUS_HEIGHT_MSL, 120.0, 119.5, 10.0},
        {PAPPUS_HEIGHT_MSL, 120.0, 90.0, 30.0}, {PAPPUS_HEIGHT_MSL, 90.0, NAN, NAN},
    };
    pappus_plan plan = {.site = {.elevation_msl_m = 100.0}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        pappus_wind_level levels[] = {
            {rows[i].kind, rows[i].height_m - 1, NAN, NAN, NAN, 288.0, NAN}, /* air alone */
            {rows[i].kind, rows[i].height_m, 3.0, 4.0, NAN, 288.0, NAN}};
        pappus_wind_profile profile = {.level_count = 2, .levels = levels};
        season_sounding sounding = {&profile, 0.0, rows[i].station_m, 0.0, true};
        pappus_observation reading;
        bool is = season_reading(&reading, &sounding, &plan);
        ck_assert_int_eq(is, !isnan(rows[i].reads_at_m));
        sounding.reading = false;
        ck_assert(!season_reading(&reading, &sounding, &plan));
        if (!is) continue;
        sounding.reading = true;
        ck_assert(season_reading(&reading, &sounding, &plan));
        ck_assert_double_eq_tol(reading.height_m, rows[i].reads_at_m, 1e-9);
        ck_assert_double_eq_tol(reading.speed_mps, 5.0, 1e-12);
        /* u 3, v 4: from the south-west by south, 180 + atan(3/4) */
        ck_assert_double_eq_tol(reading.direction_deg, 180 + 36.8698976458, 1e-6);
        ck_assert_double_eq(reading.error_mps, 1.0); /* DESIGN: of a plan without a reading */
    }
}
END_TEST

/* Classes of drift speak by their middle: over many distances what comes back is neither
 * less nor more (a class is 2 % wide, so each errs by 1 % at most). */
START_TEST(drift_of_a_class_is_its_middle)
{
    double error = 0.0;
    for (int i = 0; i < 100; i++) {
        season_sums *sums = sums_new();
        pappus_cloud *cloud = cloud_nominal(1);
        double drift_m = 200.0 * exp(0.0371 * i);
        cloud->east_m[0] = 0.6 * drift_m;
        cloud->north_m[0] = -0.8 * drift_m;
        season_sums_add(sums, cloud, CELL_M, 1);
        double back = season_drift_m(sums, 1U << 0).p50 / drift_m - 1.0;
        if (isnan(back)) back = season_drift_m(sums, (1U << 12) - 1U).p50 / drift_m - 1.0;
        ck_assert_double_le(fabs(back), 0.0101);
        error += back / 100;
        pappus_cloud_free(cloud);
        free(sums);
    }
    ck_assert_double_le(fabs(error), 0.003); /* 0.58 % uniform over 10: five deviations */
}
END_TEST

SUITE("season")
{
    tcase_add_test(tests, drift_is_rayleigh);
    tcase_add_test(tests, footprint_of_a_round_law);
    tcase_add_test(tests, what_lies_beyond);
    tcase_add_test(tests, sums_do_not_depend_on_order);
    tcase_add_test(tests, cells_are_round);
    tcase_add_test(tests, intervals_hold);
    tcase_add_test(tests, best_height_and_limits);
    tcase_add_test(tests, the_higher_of_two_as_near);
    tcase_add_test(tests, seeds_differ_by_day);
    tcase_add_test(tests, readings);
    tcase_add_test(tests, drift_of_a_class_is_its_middle);
}
