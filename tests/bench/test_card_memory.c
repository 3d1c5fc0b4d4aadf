/* SPDX-License-Identifier: GPL-3.0-or-later
 * Out of memory at every single allocation of the bench card: PAPPUS_E_MEMORY, nothing
 * left allocated, no crash. Under a sanitizer the test is empty. */
#include <pappus/pappus.h>

#include "descent/real_air.h"

#include <check.h>
#include <stdlib.h>

#ifndef __SANITIZE_ADDRESS__
#include "failing_allocator.h"

static int attempt(const flight_setup *setup)
{
    pappus_card *card;
    pappus_log log = {0};
    int status = pappus_card_build(&card, &setup->plan, &log);
    ck_assert((card != NULL) == (status == PAPPUS_OK));
    pappus_card_free(card);
    pappus_log_clear(&log);
    return status;
}

START_TEST(every_allocation_may_fail)
{
    static flight_setup setup;
    static pappus_section sections[] = {{(char *)"nose", 3.0}, {(char *)"booster", 5.0}};
    int status = PAPPUS_E_MEMORY;
    long n = 0;
    pappus_quiet_dependencies();
    flight_setup_set(&setup);
    setup.plan.path = (char *)"plan.json";
    setup.plan.rocket.section_count = 2;
    setup.plan.rocket.sections = sections;
    for (; status == PAPPUS_E_MEMORY && n < 1000; n++) {
        until_failure = n;
        held = 0;
        armed = true;
        status = attempt(&setup);
        armed = false;
        ck_assert_int_eq(held, 0);
    }
    ck_assert_int_eq(status, PAPPUS_OK); /* at last none failed */
    ck_assert_int_gt(n, 10);             /* and before that some did */
}
END_TEST

#endif

int main(void)
{
    Suite *suite = suite_create("card memory");
    TCase *cases = tcase_create("card memory");
#ifndef __SANITIZE_ADDRESS__
    tcase_add_test(cases, every_allocation_may_fail);
#endif
    suite_add_tcase(suite, cases);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_ENV);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
