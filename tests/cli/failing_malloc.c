/* SPDX-License-Identifier: GPL-3.0-or-later
 * Preloaded into the program: the allocation of the number PAPPUS_FAIL_AT fails, whoever asks
 * for it; without it, how many there were is written to PAPPUS_COUNT_TO. */
#define _GNU_SOURCE
#include <errno.h>
#include <fcntl.h>
#include <stdatomic.h>
#include <stddef.h>
#include <stdio.h>
#include <stdlib.h>
#include <unistd.h>

void *__libc_malloc(size_t size);
void *__libc_calloc(size_t count, size_t size);
void *__libc_realloc(void *at, size_t size);

static atomic_ulong made, fails_at;

__attribute__((constructor)) static void begin(void)
{
    const char *at = getenv("PAPPUS_FAIL_AT");
    if (at) fails_at = strtoul(at, NULL, 10);
}

__attribute__((destructor)) static void end(void)
{
    const char *to = getenv("PAPPUS_COUNT_TO");
    char text[32];
    int file = to ? open(to, O_WRONLY | O_CREAT | O_TRUNC, 0600) : -1;
    if (file < 0) return;
    if (write(file, text, (size_t)snprintf(text, sizeof text, "%lu", made)) < 0) _exit(99);
    close(file);
}

static int fails(void)
{
    if (atomic_fetch_add(&made, 1) + 1 != fails_at) return 0;
    errno = ENOMEM;
    return 1;
}

void *malloc(size_t size)
{
    return fails() ? NULL : __libc_malloc(size);
}

void *calloc(size_t count, size_t size)
{
    return fails() ? NULL : __libc_calloc(count, size);
}

void *realloc(void *at, size_t size)
{
    return fails() ? NULL : __libc_realloc(at, size);
}
