/* SPDX-License-Identifier: GPL-3.0-or-later
 * Out of memory at every single allocation of opening, setting and freeing a situation:
 * PAPPUS_E_MEMORY or a success that only lost a note, nothing left allocated, and after a
 * set that failed the situation is as it was. Under a sanitizer the test is empty. */
#include <pappus/pappus.h>

#include "suite.h"

#include <string.h>

#ifndef __SANITIZE_ADDRESS__
#include "failing_allocator.h"

#define MOST_ALLOCATIONS 20000

static const char plan_text[] =
    "{\"site\": {\"latitude\": \"41.25 deg\", \"longitude\": \"-96.5 deg\"},"
    " \"field\": {\"radius\": \"900 m\"}, \"rocket\": {\"mass\": \"8 kg\"},"
    " \"apogee\": {\"height\": \"900 m\"}, \"main\": {\"drag_area\": \"4 m2\"},"
    " \"wind\": {\"surface\": {\"speed\": \"4 m/s\", \"direction\": \"240 deg\"}}}";

static int opened(pappus_situation **out)
{
    pappus_log log = {0};
    int status = pappus_situation_open_text(out, plan_text, strlen(plan_text), "plan.json", NULL,
                                            NULL, &log);
    pappus_log_clear(&log);
    return status;
}

static void begin(long n)
{
    until_failure = n;
    held = 0;
    armed = true;
}

/* Whether an allocation has failed. */
static bool end(void)
{
    armed = false;
    return until_failure < 0;
}

START_TEST(every_allocation_of_an_opening_may_fail)
{
    long n = 0, refused = 0;
    bool failed = true;
    pappus_situation *situation = NULL;
    pappus_quiet_dependencies();
    ck_assert_int_eq(opened(&situation), PAPPUS_OK); /* dependencies keep memory for life */
    pappus_situation_free(situation);
    for (; failed && n < MOST_ALLOCATIONS; n++) {
        begin(n);
        int status = opened(&situation);
        bool there = situation != NULL;
        pappus_situation_free(situation);
        failed = end();
        ck_assert(there == (status == PAPPUS_OK));
        ck_assert_msg(held == 0, "allocation %ld: %ld held", n, held);
        refused += status != PAPPUS_OK;
    }
    ck_assert(!failed);
    ck_assert_int_gt(refused, 20);
}
END_TEST

START_TEST(every_allocation_of_a_set_may_fail)
{
    static const char *const settings[][2] = {
        {"wind.surface.speed", "6 m/s"}, {"field.radius", "700 m"}, {"site.latitude", "41.3 deg"}};
    const char *const *setting = settings[_i];
    bool failed = true;
    pappus_situation *situation = NULL;
    pappus_quiet_dependencies();
    ck_assert_int_eq(opened(&situation), PAPPUS_OK);
    for (long n = 0; failed && n < MOST_ALLOCATIONS; n++) {
        pappus_givens before = pappus_situation_givens(situation);
        pappus_log log = {0};
        begin(n);
        int status = pappus_situation_set(situation, setting[0], setting[1], &log);
        pappus_log_clear(&log);
        failed = end();
        pappus_givens after = pappus_situation_givens(situation);
        bool same = memcmp(&before, &after, sizeof before) == 0;
        ck_assert_msg(same == (status != PAPPUS_OK), "allocation %ld: status %d", n, status);
        if (status != PAPPUS_OK) ck_assert_msg(held == 0, "allocation %ld: %ld held", n, held);
    }
    ck_assert(!failed);
    pappus_situation_free(situation);
}
END_TEST

static void add(TCase *tests)
{
    tcase_add_test(tests, every_allocation_of_an_opening_may_fail);
    tcase_add_loop_test(tests, every_allocation_of_a_set_may_fail, 0, 3);
}
#else
static void add(TCase *tests)
{
    (void)tests;
}
#endif

int main(void)
{
    return run_suite("situation memory", add);
}
