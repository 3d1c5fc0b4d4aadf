/* SPDX-License-Identifier: GPL-3.0-or-later
 * Out of memory at every single allocation of counting days: PAPPUS_E_MEMORY, nothing left
 * allocated. */
#include "tally.h"

#include "failing_allocator.h"
#include "suite.h"

static char name[] = "";
static double heights_m[] = {100, 200};
static pappus_season_plan plans[] = {
    {.name = name, .title = name, .planned_m = 100, .height_count = 2, .heights_m = heights_m},
    {.name = name, .title = name, .planned_m = 200, .height_count = 2, .heights_m = heights_m}};

static int add_days(season_tally *tally)
{
    pappus_verdict met[] = {PAPPUS_MET, PAPPUS_BROKEN};
    pappus_season_row rows[] = {{.verdict = PAPPUS_MET, .height_count = 2, .heights = met},
                                {.verdict = PAPPUS_BROKEN, .height_count = 2, .heights = met}};
    int status = PAPPUS_OK;
    for (size_t d = 0; d < 40 && status == PAPPUS_OK; d++) {
        pappus_season_day day = {
            .number = d, .valid_utc_s = 86400.0 * (double)d, .row_count = 2, .rows = rows};
        status = season_tally_add(tally, &day, (int)(d / 20) + 1, 12, (long)d, NULL);
    }
    return status;
}

static int count(void *unused)
{
    pappus_season_result result = {.head = {.plan_count = 2, .plans = plans}};
    season_tally *tally = NULL;
    (void)unused;
    result.sums = calloc(2, sizeof *result.sums);
    int status = result.sums ? season_tally_new(&tally, &result.head, NULL) : PAPPUS_E_MEMORY;
    if (status == PAPPUS_OK) status = add_days(tally);
    if (status == PAPPUS_OK) status = season_tally_finish(&result, tally, NULL);
    if (status == PAPPUS_OK && result.last_utc_s != 39 * 86400.0) status = ATTEMPT_BROKEN;
    season_tally_free(tally);
    for (size_t i = 0; i < result.group_count; i++)
        free(result.groups[i].height_days);
    free(result.groups);
    free(result.sums);
    return status;
}

START_TEST(every_allocation_of_counting_may_fail)
{
    if (!allocation_can_fail()) return;
    allocation_trial trial = fail_each_allocation(count, NULL);
    ck_assert_int_gt(trial.failed, 10);
    ck_assert_int_eq(trial.refused, trial.failed);
}
END_TEST

SUITE("season memory")
{
    tcase_add_test(tests, every_allocation_of_counting_may_fail);
}
