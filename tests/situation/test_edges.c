/* SPDX-License-Identifier: GPL-3.0-or-later
 * Calls at their edges: lists of nothing, an hour that memory is short for, and the thread that
 * is asked how far it is. Plan and winds are our own (A). */
#include <pappus/pappus.h>

#include "failing_allocator.h"
#include "suite.h"
#include "test_folder.h"

#include <pthread.h>

#define HOURS 10

/* A table of hours whose winds end at so many metres. */
static pappus_situation *open_hours(int top_m)
{
    static const char plan[] =
        "{\"site\": {\"latitude\": \"41.25 deg\", \"longitude\": \"-96.5 deg\"},"
        " \"field\": {\"radius\": \"900 m\"}, \"rocket\": {\"mass\": \"8 kg\"},"
        " \"apogee\": {\"height\": \"900 m\"}, \"main\": {\"drag_area\": \"4 m2\"},"
        " \"wind\": {\"profiles\": [\"winds.csv\"]}, \"run\": {\"landings\": 500}}";
    pappus_plan_options options = PAPPUS_PLAN_OPTIONS_INIT;
    pappus_situation *situation = NULL;
    char name[100];
    snprintf(name, sizeof name, "%s/winds.csv", test_folder);
    FILE *winds = fopen(name, "w");
    ck_assert_ptr_nonnull(winds);
    fprintf(winds, "valid,height_agl_m,speed_mps,direction_deg\n");
    for (int hour = 0; hour < HOURS; hour++)
        for (int k = 0; k < 2; k++)
            fprintf(winds, "2027-04-17T%dZ,%d,%d,240\n", 10 + hour, k * top_m, 3 + k);
    ck_assert_int_eq(fclose(winds), 0);
    snprintf(name, sizeof name, "%s/plan.json", test_folder);
    options.any_time = true;
    ck_assert_int_eq(
        pappus_situation_open_text(&situation, plan, strlen(plan), name, &options, NULL, NULL),
        PAPPUS_OK);
    return situation;
}

START_TEST(lists_of_nothing)
{
    pappus_season *season = NULL;
    pappus_season_result *result = NULL;
    pappus_flights *flights = NULL;
    pappus_log log = {0};
    ck_assert_int_eq(pappus_season_open(&season, NULL, 0, NULL, 0, NULL, NULL, &log),
                     PAPPUS_E_USAGE);
    ck_assert_ptr_null(season);
    ck_assert_int_eq(pappus_season_merge(&result, NULL, 0, &log), PAPPUS_E_USAGE);
    ck_assert_ptr_null(result);
    ck_assert_uint_eq(pappus_log_faults(&log), 2);
    ck_assert_int_eq(pappus_flights_read(&flights, NULL, 0, &log), PAPPUS_OK);
    ck_assert_uint_eq(flights->count, 0);
    pappus_flights_free(flights);
    pappus_log_clear(&log);
}
END_TEST

typedef struct {
    pthread_t caller;
    int asked, elsewhere;
} asking;

static int ask(void *context, double fraction)
{
    asking *a = context;
    a->asked++;
    a->elsewhere +=
        !pthread_equal(a->caller, pthread_self()) || !(fraction > 0.0 && fraction <= 1.0);
    return 0;
}

START_TEST(the_calling_thread_is_asked)
{
    asking a = {.caller = pthread_self()};
    pappus_window_options options = PAPPUS_WINDOW_OPTIONS_INIT;
    pappus_situation *situation = open_hours(3000);
    pappus_window *window = NULL;
    options.run.threads = 3;
    options.run.progress = ask;
    options.run.progress_context = &a;
    ck_assert_int_eq(pappus_window_find(&window, situation, &options, NULL), PAPPUS_OK);
    ck_assert_uint_eq(window->hour_count, HOURS);
    ck_assert_int_gt(a.asked, 0);
    ck_assert_int_eq(a.elsewhere, 0);
    pappus_window_free(window);
    pappus_situation_free(situation);
}
END_TEST

/* One hour, whose winds end under the apogee: it is never told as judged. */
static int find_hour(void *context)
{
    pappus_window_options options = PAPPUS_WINDOW_OPTIONS_INIT;
    pappus_window *window = NULL;
    pappus_log log = {0};
    options.run.threads = 1;
    options.step_s = 86400.0;
    int status = pappus_window_find(&window, context, &options, &log);
    if (status == PAPPUS_OK && !window->hours[0].why) status = ATTEMPT_BROKEN;
    pappus_window_free(window);
    pappus_log_clear(&log);
    return status;
}

START_TEST(an_hour_short_of_memory_is_not_go)
{
    if (!allocation_can_fail()) return;
    pappus_quiet_dependencies();
    pappus_situation *situation = open_hours(300);
    everywhere = true;                                 /* strdup's too */
    ck_assert_int_eq(find_hour(situation), PAPPUS_OK); /* dependencies keep memory for life */
    ck_assert_int_gt(fail_each_allocation(find_hour, situation).refused, 20);
    pappus_situation_free(situation);
}
END_TEST

SUITE("edges")
{
    tcase_add_checked_fixture(tests, make_folder, remove_folder);
    tcase_add_test(tests, lists_of_nothing);
    tcase_add_test(tests, the_calling_thread_is_asked);
    tcase_add_test(tests, an_hour_short_of_memory_is_not_go);
}
