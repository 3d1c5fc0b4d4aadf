/* SPDX-License-Identifier: GPL-3.0-or-later
 * Out of memory at every single allocation of the draws and of the central path:
 * PAPPUS_E_MEMORY, nothing left allocated, no crash. */
#include "draws.h"
#include "reference.h"

#include "failing_allocator.h"
#include "real_air.h"
#include "suite.h"

static int draws(void *given)
{
    const flight_setup *setup = given;
    pappus_draws *made;
    int status =
        pappus_draws_build(&made, &setup->plan, setup->air, (pappus_random){1, 0}, 0.0, NULL);
    pappus_draws_free(made);
    return status;
}

static int path(void *given)
{
    const flight_setup *setup = given;
    pappus_path *made;
    int status = pappus_reference_path(&made, &setup->plan, setup->air, PAPPUS_NOMINAL, NULL);
    pappus_path_free(made);
    return status;
}

static int (*const attempts[])(void *) = {draws, path};

START_TEST(every_allocation_may_fail)
{
    static flight_setup setup;
    if (!allocation_can_fail()) return;
    pappus_quiet_dependencies();
    flight_setup_set(&setup);
    flight_setup_build(&setup);
    allocation_trial trial = fail_each_allocation(attempts[_i], &setup);
    ck_assert_int_eq(trial.refused, trial.failed);
    ck_assert_int_gt(trial.failed, 1);
    pappus_air_free(setup.air);
}
END_TEST

SUITE("descent memory")
{
    tcase_add_loop_test(tests, every_allocation_may_fail, 0, sizeof attempts / sizeof *attempts);
}
