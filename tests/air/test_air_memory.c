/* SPDX-License-Identifier: GPL-3.0-or-later
 * Out of memory at every single allocation of the air's building: PAPPUS_E_MEMORY,
 * nothing left allocated, no crash. */
#include "air/air_fixture.h"
#include "air.h"
#include "failing_allocator.h"
#include "suite.h"

typedef struct {
    const pappus_plan *plan;
    const pappus_winds *winds;
} inputs;

static int build(void *given)
{
    const inputs *in = given;
    pappus_air_options options = PAPPUS_AIR_OPTIONS_INIT;
    pappus_air *air = NULL;
    int status = pappus_air_build(&air, in->plan, in->winds, &options, NULL);
    pappus_air_free(air);
    return status;
}

START_TEST(every_allocation)
{
    if (!allocation_can_fail()) return;
    pappus_wind_level levels[3] = {fixture_level(10.0, 3.0, 1.0), fixture_level(500.0, 6.0, 2.0),
                                   fixture_level(2000.0, 9.0, 0.0)};
    levels[1].temperature_k = 285.0;
    pappus_wind_profile profiles[2] = {fixture_profile(levels, 3), fixture_profile(levels, 2)};
    pappus_winds winds[2] = {{2, profiles, 3600.0}, {0, NULL, 0.0}};
    pappus_plan plan = fixture_plan(200.0, 1500.0);
    plan.wind.has_surface = true;
    plan.wind.surface = (pappus_observation){2.0, 4.0, 200.0, 1.0};
    plan.wind.gust_mps = 6.0;
    const pappus_winds *cases[3] = {&winds[0], &winds[1], NULL};
    for (int i = 0; i < 3; i++) {
        inputs in = {&plan, cases[i]};
        allocation_trial trial = fail_each_allocation(build, &in);
        ck_assert_int_eq(trial.refused, trial.failed);
        ck_assert_int_ge(trial.failed, 8);
        ck_assert_int_le(trial.failed, 100);
    }
}
END_TEST

SUITE("air memory")
{
    tcase_add_test(tests, every_allocation);
}
