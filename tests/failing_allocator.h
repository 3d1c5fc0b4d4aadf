/* SPDX-License-Identifier: GPL-3.0-or-later
 * For a test program: the C library's allocator behind a counter, so that one chosen
 * allocation fails and what stays allocated is counted. Include once, not under a
 * sanitizer, which brings its own. Only the program's own calls fail, not those made
 * inside shared libraries: GSL 2.7's gsl_odeiv2_control_y_new writes through NULL when
 * its allocation does. */
#ifndef PAPPUS_TESTS_FAILING_ALLOCATOR_H
#define PAPPUS_TESTS_FAILING_ALLOCATOR_H

#include <errno.h>
#include <stdbool.h>
#include <stdint.h>
#include <stdlib.h>

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

#endif
