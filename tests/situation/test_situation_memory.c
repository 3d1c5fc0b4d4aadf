/* SPDX-License-Identifier: GPL-3.0-or-later
 * Out of memory at every single allocation of opening, setting and freeing a situation:
 * PAPPUS_E_MEMORY or a success that only lost a note, nothing left allocated, and after a
 * set that failed the situation is as it was. */
#include <pappus/pappus.h>

#include "failing_allocator.h"
#include "suite.h"

#include <string.h>

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

static int open_and_free(void *unused)
{
    pappus_situation *situation = NULL;
    (void)unused;
    int status = opened(&situation);
    if ((situation != NULL) != (status == PAPPUS_OK)) status = ATTEMPT_BROKEN;
    pappus_situation_free(situation);
    return status;
}

START_TEST(every_allocation_of_an_opening_may_fail)
{
    if (!allocation_can_fail()) return;
    pappus_quiet_dependencies();
    ck_assert_int_eq(open_and_free(NULL), PAPPUS_OK); /* dependencies keep memory for life */
    ck_assert_int_gt(fail_each_allocation(open_and_free, NULL).refused, 20);
}
END_TEST

START_TEST(every_allocation_of_a_set_may_fail)
{
    static const char *const settings[][2] = {
        {"wind.surface.speed", "6 m/s"}, {"field.radius", "700 m"}, {"site.latitude", "41.3 deg"}};
    const char *const *setting = settings[_i];
    bool failed = true;
    pappus_situation *situation = NULL;
    if (!allocation_can_fail()) return;
    pappus_quiet_dependencies();
    ck_assert_int_eq(opened(&situation), PAPPUS_OK);
    for (long n = 0; failed && n < MOST_ALLOCATIONS; n++) {
        pappus_givens before = pappus_situation_givens(situation);
        pappus_log log = {0};
        until_failure = n;
        held = 0;
        armed = true;
        int status = pappus_situation_set(situation, setting[0], setting[1], &log);
        pappus_log_clear(&log);
        armed = false;
        failed = until_failure < 0;
        pappus_givens after = pappus_situation_givens(situation);
        bool same = memcmp(&before, &after, sizeof before) == 0;
        ck_assert_msg(same == (status != PAPPUS_OK), "allocation %ld: status %d", n, status);
        if (status != PAPPUS_OK) ck_assert_msg(held == 0, "allocation %ld: %ld held", n, held);
    }
    ck_assert(!failed);
    pappus_situation_free(situation);
}
END_TEST

SUITE("situation memory")
{
    tcase_add_test(tests, every_allocation_of_an_opening_may_fail);
    tcase_add_loop_test(tests, every_allocation_of_a_set_may_fail, 0, 3);
}
