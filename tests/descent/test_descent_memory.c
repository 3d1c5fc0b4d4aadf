/* SPDX-License-Identifier: GPL-3.0-or-later
 * Out of memory at every single allocation of the draws and of the central path:
 * PAPPUS_E_MEMORY, nothing left allocated, no crash. Sanitizers bring their own
 * allocator, so there the test is empty. */
#include "draws.h"
#include "reference.h"

#include "real_air.h"

#include <check.h>
#include <stdlib.h>

#ifndef __SANITIZE_ADDRESS__

#include "failing_allocator.h"

typedef int (*attempt)(const flight_setup *setup);

static int draws(const flight_setup *setup)
{
    pappus_draws *made;
    int status =
        pappus_draws_build(&made, &setup->plan, setup->air, (pappus_random){1, 0}, 0.0, NULL);
    pappus_draws_free(made);
    return status;
}

static int path(const flight_setup *setup)
{
    pappus_path *made;
    int status = pappus_reference_path(&made, &setup->plan, setup->air, PAPPUS_NOMINAL, NULL);
    pappus_path_free(made);
    return status;
}

static const attempt attempts[] = {draws, path};

START_TEST(every_allocation_may_fail)
{
    static flight_setup setup;
    int status = PAPPUS_E_MEMORY;
    long n = 0;
    pappus_quiet_dependencies();
    flight_setup_set(&setup);
    flight_setup_build(&setup);
    for (; status == PAPPUS_E_MEMORY && n < 1000; n++) {
        until_failure = n;
        held = 0;
        armed = true;
        status = attempts[_i](&setup);
        armed = false;
        ck_assert_int_eq(held, 0);
    }
    ck_assert_int_eq(status, PAPPUS_OK); /* at last none failed */
    ck_assert_int_gt(n, 2);              /* and before that some did */
    pappus_air_free(setup.air);
}
END_TEST

#endif

int main(void)
{
    Suite *suite = suite_create("descent memory");
    TCase *cases = tcase_create("descent memory");
#ifndef __SANITIZE_ADDRESS__
    tcase_add_loop_test(cases, every_allocation_may_fail, 0, sizeof attempts / sizeof *attempts);
#endif
    suite_add_tcase(suite, cases);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_ENV);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed == 0 ? EXIT_SUCCESS : EXIT_FAILURE;
}
