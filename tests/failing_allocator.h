/* SPDX-License-Identifier: GPL-3.0-or-later
 * For a test program: the C library's allocator behind a counter, so that each allocation in
 * turn fails and what stays allocated is counted. Include once. Sanitizers and valgrind bring
 * an allocator of their own: there allocation_can_fail says false, and why. */
#ifndef PAPPUS_TESTS_FAILING_ALLOCATOR_H
#define PAPPUS_TESTS_FAILING_ALLOCATOR_H

#include <pappus/status.h>

#include <check.h>
#include <errno.h>
#include <malloc.h>
#include <stdbool.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>

/* volatile: the compiler knows malloc and would not see that it reads these. Inside shared
 * libraries allocations fail only where `everywhere`: GSL 2.7's gsl_odeiv2_control_y_new
 * writes through NULL when its allocation does. */
static volatile bool armed, everywhere;
static volatile long until_failure, held;

#if defined(__GLIBC__) && !defined(__SANITIZE_ADDRESS__)
extern void *__libc_malloc(size_t size);
extern void *__libc_calloc(size_t count, size_t size);
extern void *__libc_realloc(void *old, size_t size);
extern void *__libc_memalign(size_t alignment, size_t size);
extern void __libc_free(void *memory);

extern const char __executable_start, etext;

static bool fails(const void *caller)
{
    uintptr_t at = (uintptr_t)caller;
    bool own = at >= (uintptr_t)&__executable_start && at < (uintptr_t)&etext;
    if (!armed || (!own && !everywhere)) return false;
    until_failure = until_failure - 1;
    if (until_failure != -1) return false;
    errno = ENOMEM;
    return true;
}

static void *counted(void *memory)
{
    if (armed && memory) held = held + 1;
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

void *aligned_alloc(size_t alignment, size_t size)
{
    return fails(__builtin_return_address(0)) ? NULL : counted(__libc_memalign(alignment, size));
}

/* libgomp's. */
void *memalign(size_t alignment, size_t size)
{
    return counted(__libc_memalign(alignment, size));
}

int posix_memalign(void **out, size_t alignment, size_t size)
{
    *out = counted(__libc_memalign(alignment, size));
    return *out ? 0 : ENOMEM;
}

void free(void *memory)
{
    if (armed && memory) held = held - 1;
    __libc_free(memory);
}
#endif

static inline bool allocation_can_fail(void)
{
    void *volatile memory;
    until_failure = 0;
    armed = true;
    memory = malloc(16);
    armed = false;
    bool works = memory == NULL;
    free(memory);
    if (!works) printf("SKIPPED: allocation cannot be made to fail here\n");
    return works;
}

typedef struct {
    long failed;  /* allocations that were made to fail, one in each attempt */
    long refused; /* attempts that then ended with PAPPUS_E_MEMORY */
} allocation_trial;

/* What an attempt returns that breaks a promise. It asserts nothing itself: Check allocates. */
#define ATTEMPT_BROKEN (-1)

/* Calls `attempt`, which frees all that it makes, with its allocation number 0, 1, 2 ...
 * failing, until none did; that last one must end well. Nothing may stay allocated. */
static inline allocation_trial fail_each_allocation(int (*attempt)(void *), void *context)
{
    allocation_trial trial = {0, 0};
    for (;; trial.failed++) {
        until_failure = trial.failed;
        held = 0;
        armed = true;
        int status = attempt(context);
        armed = false;
        ck_assert_int_ne(status, ATTEMPT_BROKEN);
        ck_assert_msg(held == 0, "allocation %ld: %ld left behind", trial.failed, held);
        if (until_failure >= 0) {
            ck_assert_int_eq(status, PAPPUS_OK);
            return trial;
        }
        trial.refused += status == PAPPUS_E_MEMORY;
    }
}

#endif
