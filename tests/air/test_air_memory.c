/* SPDX-License-Identifier: GPL-3.0-or-later
 * Out of memory at every single allocation of the air's building: PAPPUS_E_MEMORY,
 * nothing left allocated, no crash. The C library's own allocator stands behind a
 * counter here; sanitizers bring their own, so there the test is empty. */
#include "air/air_fixture.h"
#include "air.h"

#include <check.h>
#include <errno.h>
#include <stdlib.h>

#ifndef __SANITIZE_ADDRESS__

extern void *__libc_calloc(size_t count, size_t size);
extern void __libc_free(void *memory);

static bool armed;
static long until_failure, held;

void *calloc(size_t count, size_t size)
{
    if (armed && until_failure-- == 0) {
        errno = ENOMEM;
        return NULL;
    }
    void *memory = __libc_calloc(count, size);
    if (armed && memory) held++;
    return memory;
}

void free(void *memory)
{
    if (armed && memory) held--;
    __libc_free(memory);
}

/* Builds with allocation number `fail` failing; true when it did fail. */
static bool attempt(const pappus_plan *plan, const pappus_winds *winds, long fail)
{
    pappus_air_options options = PAPPUS_AIR_OPTIONS_INIT;
    pappus_air *air = NULL;
    until_failure = fail;
    held = 0;
    armed = true;
    int status = pappus_air_build(&air, plan, winds, &options, NULL);
    pappus_air_free(air);
    armed = false;
    ck_assert_int_eq(held, 0);
    if (until_failure < 0) ck_assert_int_eq(status, PAPPUS_E_MEMORY);
    else ck_assert_int_eq(status, PAPPUS_OK);
    return until_failure < 0;
}

START_TEST(every_allocation)
{
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
        long failures = 0;
        while (attempt(&plan, cases[i], failures))
            failures++;
        ck_assert_int_ge(failures, 8);
        ck_assert_int_le(failures, 100);
    }
}
END_TEST

#endif

int main(void)
{
    Suite *suite = suite_create("air memory");
    TCase *tests = tcase_create("air memory");
#ifndef __SANITIZE_ADDRESS__
    tcase_add_test(tests, every_allocation);
#endif
    suite_add_tcase(suite, tests);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
