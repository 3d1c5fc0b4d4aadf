/* SPDX-License-Identifier: GPL-3.0-or-later
 * Out of memory at every single allocation of the draws and of the central path:
 * PAPPUS_E_MEMORY, nothing left allocated, no crash. The C library's own allocator
 * stands behind a counter here; sanitizers bring their own, so there the test is
 * empty. Only the program's own calls fail, not those of shared libraries: GSL
 * 2.7's gsl_odeiv2_control_y_new writes through NULL when its allocation does. */
#include "draws.h"
#include "reference.h"

#include "real_air.h"

#include <check.h>
#include <errno.h>
#include <stdlib.h>

#ifndef __SANITIZE_ADDRESS__

extern void *__libc_malloc(size_t size);
extern void *__libc_calloc(size_t count, size_t size);
extern void *__libc_realloc(void *old, size_t size);
extern void __libc_free(void *memory);

static bool armed;
static long until_failure, held;

extern const char __executable_start, etext;

static bool fails(const void *caller)
{
    uintptr_t at = (uintptr_t)caller;
    bool own = at >= (uintptr_t)&__executable_start && at < (uintptr_t)&etext;
    if (!armed || !own || until_failure-- != 0) return false;
    errno = ENOMEM;
    return true;
}

static void *counted(void *memory)
{
    if (armed && memory) held++;
    return memory;
}

void *malloc(size_t size)
{
    return fails(__builtin_return_address(0)) ? NULL : counted(__libc_malloc(size));
}

void *calloc(size_t count, size_t size)
{
    return fails(__builtin_return_address(0)) ? NULL : counted(__libc_calloc(count, size));
}

void *realloc(void *old, size_t size)
{
    if (fails(__builtin_return_address(0))) return NULL;
    return old ? __libc_realloc(old, size) : counted(__libc_realloc(NULL, size));
}

void free(void *memory)
{
    if (armed && memory) held--;
    __libc_free(memory);
}

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
