/* SPDX-License-Identifier: GPL-3.0-or-later
 * The main of every Check program:
 *
 *     SUITE("units")
 *     {
 *         tcase_add_test(tests, feet_and_metres);
 *     }
 *
 * No time limit of Check's: how fast a machine is, is not under test; a test that hangs is
 * ended by ctest. */
#ifndef PAPPUS_TESTS_SUITE_H
#define PAPPUS_TESTS_SUITE_H

#include <check.h>
#include <stdlib.h>

static inline int run_suite(const char *name, void (*add)(TCase *tests))
{
    Suite *suite = suite_create(name);
    TCase *tests = tcase_create(name);
    tcase_set_timeout(tests, 0);
    add(tests);
    suite_add_tcase(suite, tests);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_ENV);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}

#define SUITE(name)                                                                                \
    static void add_tests(TCase *tests);                                                           \
    int main(void)                                                                                 \
    {                                                                                              \
        return run_suite(name, add_tests);                                                         \
    }                                                                                              \
    static void add_tests(TCase *tests)

#endif
