/* SPDX-License-Identifier: GPL-3.0-or-later
 * Out of memory at every single allocation of reading what a log shows: PAPPUS_E_MEMORY or what
 * is right, never a log that is said to lack something. */
#include "failing_allocator.h"
#include "flown.h"
#include "suite.h"

#include <string.h>

typedef struct {
    flight_setup setup;
    pappus_flight_log log;
    pappus_flown right;
} inputs;

static bool alike(double a, double b)
{
    return a == b || (isnan(a) && isnan(b));
}

static int find(void *given)
{
    const inputs *in = given;
    pappus_flown flown;
    int status = pappus_flown_find(&flown, &in->log, &in->setup.plan, in->setup.air, NULL);
    if (status != PAPPUS_OK) return status;
    bool same = flown.missing == in->right.missing && flown.outcome == in->right.outcome &&
                flown.band_count == in->right.band_count &&
                alike(flown.main_fired_m, in->right.main_fired_m) &&
                alike(flown.drogue_fired_s.value, in->right.drogue_fired_s.value) &&
                alike(flown.drogue_drag_area_m2.value, in->right.drogue_drag_area_m2.value) &&
                alike(flown.main_drag_area_m2.high, in->right.main_drag_area_m2.high);
    return same ? PAPPUS_OK : ATTEMPT_BROKEN;
}

START_TEST(every_allocation)
{
    static inputs in;
    flown_truth truth = FLOWN_TRUTH;
    if (!allocation_can_fail()) return;
    truth.rate_hz = 5.0;
    flight_setup_set(&in.setup);
    flight_setup_build(&in.setup);
    flown_log(&in.log, &truth, in.setup.air);
    ck_assert_int_eq(pappus_flown_find(&in.right, &in.log, &in.setup.plan, in.setup.air, NULL),
                     PAPPUS_OK);
    ck_assert_uint_eq(in.right.missing, 0);
    allocation_trial trial = fail_each_allocation(find, &in);
    ck_assert_int_eq(trial.refused, trial.failed);
    ck_assert_int_ge(trial.failed, 9);
    flown_free(&in.log);
    pappus_air_free(in.setup.air);
}
END_TEST

SUITE("flown memory")
{
    tcase_add_test(tests, every_allocation);
}
