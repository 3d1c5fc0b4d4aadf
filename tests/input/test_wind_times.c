/* SPDX-License-Identifier: GPL-3.0-or-later
 * The winds of a plan: interpolation in time, weights, age. */
#include "wind_texts.h"
#include "suite.h"
#include "wind_times.h"

#include <stdio.h>

#define T0 1807974000.0 /* 2027-04-17T15:00Z by date(1) */
#define HOUR 3600.0

/* The plan is on the stack: what is noted among its entries is given back at once. */
static int read_winds(pappus_winds **out, pappus_plan *plan, pappus_log *log)
{
    int status = pappus_winds_read(out, plan, log);
    for (size_t i = 0; i < plan->entry_count; i++) {
        free(plan->entries[i].key);
        free(plan->entries[i].given);
        free(plan->entries[i].si);
        free(plan->entries[i].us);
        free(plan->entries[i].help);
    }
    free(plan->entries);
    plan->entries = NULL;
    plan->entry_count = 0;
    return status;
}

static pappus_plan plan_with(pappus_profile_source *sources, size_t count)
{
    static char path[] = "plan.json";
    pappus_plan plan = {.path = path, .has_wind = true, .site = {.elevation_msl_m = 300.0}};
    plan.wind = (pappus_wind_plan){.profile_count = count,
                                   .profiles = sources,
                                   .time_utc_s = NAN,
                                   .age_s = NAN,
                                   .gust_mps = NAN,
                                   .shear_exponent = 0.143};
    return plan;
}

static double direction_deg(const pappus_wind_level *level)
{
    double direction = atan2(-level->u_mps, -level->v_mps) * 180.0 / M_PI;
    return direction < -1e-9 ? direction + 360.0 : direction;
}

START_TEST(direction_passes_through_north)
{
    /* X: the mean of 10 m/s from 350 and from 10 degrees is 10 cos 10 deg from 0 */
    char *path = file_of("time,height_agl_m,direction_deg,speed_mps\n"
                         "2027-04-17T15:00Z,100,350,10\n2027-04-17T16:00Z,100,10,10\n");
    pappus_profile_source source = {path, NULL, NAN, NAN, 1.0, PAPPUS_WIND_SOUNDING, false};
    pappus_plan plan = plan_with(&source, 1);
    pappus_winds *winds = NULL;
    pappus_log log = {0};
    plan.wind.time_utc_s = T0 + 0.5 * HOUR;
    ck_assert_int_eq(read_winds(&winds, &plan, &log), PAPPUS_OK);
    ck_assert_uint_eq(winds->profile_count, 1);
    const pappus_wind_level *level = &winds->profiles[0].levels[0];
    ck_assert_double_eq_tol(direction_deg(level), 0.0, 1e-9);
    ck_assert_double_eq_tol(hypot(level->u_mps, level->v_mps), 10 * cos(10 * M_PI / 180), 1e-12);
    ck_assert_double_eq(winds->profiles[0].valid_utc_s, T0 + 0.5 * HOUR);
    pappus_winds_free(winds);
    pappus_log_clear(&log);
    drop_file(path);
}
END_TEST

START_TEST(heights_of_both_are_merged)
{
    /* X, a quarter of the way: at 100 m 0.75*4 + 0.25*8*(100/200)^0.143; at 200 m
     * 0.75*(4+8)/2 + 0.25*8; at 300 m 0.75*8 + 0.25*8 (top holds). Temperatures
     * only where both have them. */
    char *path = file_of("time,height_agl_m,u_mps,v_mps,temperature_degC\n"
                         "2027-04-17T15:00Z,100,4,0,10\n2027-04-17T15:00Z,300,8,0,8\n"
                         "2027-04-17T19:00Z,200,8,0,13\n");
    pappus_profile_source source = {path, NULL, NAN, NAN, 1.0, PAPPUS_WIND_SOUNDING, false};
    pappus_plan plan = plan_with(&source, 1);
    pappus_winds *winds = NULL;
    pappus_log log = {0};
    plan.wind.time_utc_s = T0 + HOUR;
    ck_assert_int_eq(read_winds(&winds, &plan, &log), PAPPUS_OK);
    const pappus_wind_profile *p = &winds->profiles[0];
    ck_assert_uint_eq(p->level_count, 3);
    ck_assert_double_eq_tol(p->levels[0].u_mps, 3.0 + 2.0 * pow(0.5, 0.143), 1e-12);
    ck_assert_double_eq_tol(p->levels[1].u_mps, 6.5, 1e-12);
    ck_assert_double_eq_tol(p->levels[2].u_mps, 8.0, 1e-12);
    ck_assert(isnan(p->levels[0].temperature_k));
    ck_assert_double_eq_tol(p->levels[1].temperature_k, 273.15 + 0.75 * 9 + 0.25 * 13, 1e-9);
    pappus_winds_free(winds);
    pappus_log_clear(&log);
    drop_file(path);
}
END_TEST

START_TEST(levels_of_air_alone_stay_without_wind)
{
    /* A station under the pad: its air is there, its wind 40 m above the pad. */
    char *path = file_of("time,height_msl_m,u_mps,v_mps,temperature_degC\n"
                         "2027-04-17T15:00Z,295,,,10\n2027-04-17T15:00Z,340,4,0,9\n"
                         "2027-04-17T19:00Z,295,,,14\n2027-04-17T19:00Z,340,8,0,13\n");
    pappus_profile_source source = {path, NULL, NAN, NAN, 1.0, PAPPUS_WIND_SOUNDING, false};
    pappus_plan plan = plan_with(&source, 1);
    pappus_winds *winds = NULL;
    pappus_log log = {0};
    plan.wind.time_utc_s = T0 + HOUR;
    ck_assert_int_eq(read_winds(&winds, &plan, &log), PAPPUS_OK);
    const pappus_wind_profile *p = &winds->profiles[0];
    ck_assert_uint_eq(p->level_count, 2);
    ck_assert(isnan(p->levels[0].u_mps) && isnan(p->levels[0].v_mps));
    ck_assert_double_eq_tol(p->levels[0].temperature_k, 273.15 + 11, 1e-9);
    ck_assert_double_eq_tol(p->levels[1].u_mps, 5.0, 1e-12);
    pappus_winds_free(winds);
    pappus_log_clear(&log);
    drop_file(path);
}
END_TEST

START_TEST(ends_of_the_range_and_beyond)
{
    char *path = file_of("time,height_agl_m,u_mps,v_mps\n2027-04-17T15:00Z,100,1,0\n"
                         "2027-04-17T16:00Z,100,2,0\n2027-04-17T17:00Z,100,5,0\n");
    static const struct {
        double time_utc_s, u_mps; /* NaN: refused */
    } cases[] = {{T0, 1},
                 {T0 + HOUR, 2},
                 {T0 + 1.5 * HOUR, 3.5},
                 {T0 + 2 * HOUR, 5},
                 {T0 - 1, NAN},
                 {T0 + 2 * HOUR + 1, NAN},
                 {NAN, NAN}};
    pappus_profile_source source = {path, NULL, NAN, NAN, 1.0, PAPPUS_WIND_SOUNDING, false};
    pappus_plan plan = plan_with(&source, 1);
    plan.site.latitude_deg = 71.2889; /* at the station */
    plan.site.longitude_deg = -156.7833;
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        pappus_winds *winds = NULL;
        pappus_log log = {0};
        plan.wind.time_utc_s = cases[i].time_utc_s;
        int status = read_winds(&winds, &plan, &log);
        ck_assert_int_eq(status, isnan(cases[i].u_mps) ? PAPPUS_E_WIND : PAPPUS_OK);
        if (status == PAPPUS_OK)
            ck_assert_double_eq_tol(winds->profiles[0].levels[0].u_mps, cases[i].u_mps, 1e-12);
        else
            ck_assert_ptr_nonnull(find_entry(&log, "from 2027-04-17T15:00:00Z to "
                                                   "2027-04-17T17:00:00Z"));
        pappus_winds_free(winds);
        pappus_log_clear(&log);
    }
    drop_file(path);
}
END_TEST

/* Two files, one level each; `valid` and weight as given. */
typedef struct {
    double valid_a, valid_b, weight_b, time_utc_s;
    size_t profiles; /* 0: refused */
    const char *part;
} pair_case;

START_TEST(valid_times_or_weights)
{
    static const pair_case cases[] = {
        {NAN, NAN, 3.0, NAN, 2, NULL},
        {T0, T0 + HOUR, 1.0, T0 + 0.25 * HOUR, 1, NULL},
        {T0, NAN, 1.0, T0, 0, "all or none"},
        {T0, T0 + HOUR, 2.0, T0, 0, "with weight"},
        {T0, T0 + HOUR, 1.0, NAN, 0, "need it"},
        {T0, T0 + HOUR, 1.0, T0 + 2 * HOUR, 0, "accepted is a time from"},
    };
    char *a = file_of("height_agl_m,u_mps,v_mps\n100,4,0\n");
    char *b = file_of("height_agl_m,u_mps,v_mps\n100,8,0\n");
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        pappus_profile_source sources[] = {
            {a, NULL, NAN, cases[i].valid_a, 1.0, PAPPUS_WIND_SOUNDING, false},
            {b, NULL, NAN, cases[i].valid_b, cases[i].weight_b, PAPPUS_WIND_SOUNDING, false}};
        pappus_plan plan = plan_with(sources, 2);
        pappus_winds *winds = NULL;
        pappus_log log = {0};
        plan.wind.time_utc_s = cases[i].time_utc_s;
        int status = read_winds(&winds, &plan, &log);
        ck_assert_int_eq(status, cases[i].profiles ? PAPPUS_OK : PAPPUS_E_WIND);
        if (cases[i].part) ck_assert_ptr_nonnull(find_entry(&log, cases[i].part));
        if (winds) ck_assert_uint_eq(winds->profile_count, cases[i].profiles);
        if (winds && cases[i].profiles == 2)
            ck_assert_double_eq(winds->profiles[1].weight, cases[i].weight_b);
        if (winds && cases[i].profiles == 1)
            ck_assert_double_eq_tol(winds->profiles[0].levels[0].u_mps, 5.0, 1e-12);
        pappus_winds_free(winds);
        pappus_log_clear(&log);
    }
    drop_file(a);
    drop_file(b);
}
END_TEST

START_TEST(valid_chooses_in_a_file)
{
    char *path = file_of("time,height_agl_m,u_mps,v_mps\n2027-04-17T15:00Z,100,1,0\n"
                         "2027-04-17T16:00Z,100,2,0\n");
    pappus_profile_source source = {path, NULL, NAN, T0 + HOUR, 1.0, PAPPUS_WIND_SOUNDING, false};
    pappus_plan plan = plan_with(&source, 1);
    pappus_winds *winds = NULL;
    pappus_log log = {0};
    ck_assert_int_eq(read_winds(&winds, &plan, &log), PAPPUS_OK);
    ck_assert_double_eq(winds->profiles[0].levels[0].u_mps, 2.0);
    pappus_winds_free(winds);
    source.valid_utc_s = T0 + 60;
    ck_assert_int_eq(read_winds(&winds, &plan, &log), PAPPUS_E_WIND);
    ck_assert_ptr_nonnull(find_entry(&log, "the file is valid at 2027-04-17T15:00:00Z"));
    pappus_log_clear(&log);
    drop_file(path);
}
END_TEST

START_TEST(bases_of_height_do_not_mix_in_time)
{
    char *a = file_of("height_agl_m,u_mps,v_mps\n100,4,0\n");
    char *b = file_of("height_msl_m,u_mps,v_mps\n100,8,0\n");
    pappus_profile_source sources[] = {{a, NULL, NAN, T0, 1.0, PAPPUS_WIND_SOUNDING, false},
                                       {b, NULL, NAN, T0 + HOUR, 1.0, PAPPUS_WIND_SOUNDING, false}};
    pappus_plan plan = plan_with(sources, 2);
    pappus_winds *winds = NULL;
    pappus_log log = {0};
    plan.wind.time_utc_s = T0 + 60;
    ck_assert_int_eq(read_winds(&winds, &plan, &log), PAPPUS_E_WIND);
    ck_assert_ptr_nonnull(find_entry(&log, "cannot be mixed"));
    pappus_log_clear(&log);
    drop_file(a);
    drop_file(b);
}
END_TEST

START_TEST(age_of_a_sounding)
{
    /* The sounding is of 2010-06-01T00Z, 1275350400 by date(1). */
    static const double observed = 1275350400.0;
    static const struct {
        double time_utc_s, age_s, expected_s; /* expected NaN: refused */
        const char *part;
    } cases[] = {{observed + 4 * HOUR, NAN, 4 * HOUR, NULL},
                 {observed + 5 * HOUR, NAN, 5 * HOUR, "another time of day, 5 h apart"},
                 {observed + 12 * HOUR, NAN, 12 * HOUR, "another time of day, 12 h apart"},
                 {observed + 22 * HOUR, NAN, 22 * HOUR, NULL},
                 {observed + 30 * HOUR, NAN, 30 * HOUR, "more than a day"},
                 {observed - 2 * HOUR, NAN, 2 * HOUR, "before the wind was observed"},
                 {observed + HOUR, 3 * HOUR, NAN, "leave wind.age out"},
                 {NAN, 3 * HOUR, 3 * HOUR, NULL},
                 {NAN, NAN, 6 * HOUR, "counts as 6 h; give wind.time"}};
    char *path = file_of(IGRA_HEAD("01", "00", "   1") IGRA_ROW);
    pappus_profile_source source = {path, NULL, NAN, NAN, 1.0, PAPPUS_WIND_SOUNDING, false};
    pappus_plan plan = plan_with(&source, 1);
    plan.site.latitude_deg = 71.2889; /* at the station */
    plan.site.longitude_deg = -156.7833;
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        pappus_winds *winds = NULL;
        pappus_log log = {0};
        plan.wind.time_utc_s = cases[i].time_utc_s;
        plan.wind.age_s = cases[i].age_s;
        int status = read_winds(&winds, &plan, &log);
        ck_assert_int_eq(status, isnan(cases[i].expected_s) ? PAPPUS_E_WIND : PAPPUS_OK);
        if (winds) ck_assert_double_eq(winds->age_s, cases[i].expected_s);
        if (cases[i].part) ck_assert_ptr_nonnull(find_entry(&log, cases[i].part));
        if (!cases[i].part) ck_assert_uint_eq(log.count, 0);
        pappus_winds_free(winds);
        pappus_log_clear(&log);
    }
    drop_file(path);
}
END_TEST

START_TEST(no_profile_is_surface_only)
{
    pappus_plan plan = plan_with(NULL, 0);
    pappus_winds *winds = NULL;
    pappus_log log = {0};
    plan.wind.has_surface = true;
    ck_assert_int_eq(read_winds(&winds, &plan, &log), PAPPUS_OK);
    ck_assert_uint_eq(winds->profile_count, 0);
    ck_assert_double_eq(winds->age_s, 0.0);
    ck_assert_uint_eq(log.count, 0);
    pappus_winds_free(winds);
}
END_TEST

START_TEST(every_bad_file_of_a_plan_is_told)
{
    char none[] = "/nowhere/a.csv", nothing[] = "/nowhere/b.csv";
    pappus_profile_source sources[] = {{none, NULL, NAN, NAN, 1.0, PAPPUS_WIND_SOUNDING, false},
                                       {nothing, NULL, NAN, NAN, 1.0, PAPPUS_WIND_SOUNDING, false}};
    pappus_plan plan = plan_with(sources, 2);
    pappus_winds *winds = NULL;
    pappus_log log = {0};
    ck_assert_int_eq(read_winds(&winds, &plan, &log), PAPPUS_E_WIND);
    ck_assert_uint_eq(pappus_log_faults(&log), 2);
    pappus_log_clear(&log);
}
END_TEST

SUITE("wind times")
{
    tcase_add_test(tests, direction_passes_through_north);
    tcase_add_test(tests, heights_of_both_are_merged);
    tcase_add_test(tests, levels_of_air_alone_stay_without_wind);
    tcase_add_test(tests, ends_of_the_range_and_beyond);
    tcase_add_test(tests, valid_times_or_weights);
    tcase_add_test(tests, valid_chooses_in_a_file);
    tcase_add_test(tests, bases_of_height_do_not_mix_in_time);
    tcase_add_test(tests, age_of_a_sounding);
    tcase_add_test(tests, no_profile_is_surface_only);
    tcase_add_test(tests, every_bad_file_of_a_plan_is_told);
}
