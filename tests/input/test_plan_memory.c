/* SPDX-License-Identifier: GPL-3.0-or-later
 * A plan read while memory runs out: whichever allocation fails, those of the JSON and units
 * libraries too, the reader ends with a plan or with none, and leaves nothing behind. */
#include "failing_allocator.h"
#include "plan_text.h"
#include "suite.h"

static long good;

static int read_plan(void *options)
{
    pappus_log log = {0};
    pappus_plan *plan = NULL;
    int status = pappus_plan_parse(&plan, good_plan, strlen(good_plan), "t.json", options, &log);
    if ((plan != NULL) != (status == PAPPUS_OK)) status = ATTEMPT_BROKEN;
    good += status == PAPPUS_OK;
    pappus_plan_free(plan);
    pappus_log_clear(&log);
    return status;
}

START_TEST(each_allocation_fails_once)
{
    static const char *const settings[] = {"main.diameter=84 inch", "wind.profiles=[\"a.csv\"]"};
    pappus_plan_options options = PAPPUS_PLAN_OPTIONS_INIT;
    options.setting_count = 2;
    options.settings = settings;
    if (!allocation_can_fail()) return;
    everywhere = true;
    allocation_trial trial = fail_each_allocation(read_plan, &options);
    everywhere = false;
    ck_assert_int_gt(trial.failed, 500);
    ck_assert_int_gt(trial.failed + 1 - good, 300);
}
END_TEST

SUITE("plan memory")
{
    tcase_add_test(tests, each_allocation_fails_once);
}
