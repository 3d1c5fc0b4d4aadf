/* SPDX-License-Identifier: GPL-3.0-or-later
 * Work in a process of its own: whatever it does to itself costs one message. */
#include "suite.h"

#include "error.h"
#include "isolate.h"

#include <fcntl.h>
#include <math.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

static int answer(pappus_reply *reply, void *context, pappus_error *err)
{
    size_t length = *(const size_t *)context;
    for (size_t i = 0; i < length; i++) {
        char byte = (char)(i % 251);
        if (!pappus_reply_add(reply, &byte, 1)) return pappus_fail_memory(err);
    }
    return PAPPUS_OK;
}

static int fault(pappus_reply *reply, void *context, pappus_error *err)
{
    (void)reply, (void)context;
    return pappus_fail(err, PAPPUS_E_FIELD, "x", "row 3", "17", "is odd; accepted is even");
}

static int crash(pappus_reply *reply, void *context, pappus_error *err)
{
    (void)reply, (void)context, (void)err;
    signal(SIGSEGV, SIG_DFL); /* whatever a sanitizer makes of it */
    raise(SIGSEGV);
    return PAPPUS_OK;
}

static int give_up(pappus_reply *reply, void *context, pappus_error *err)
{
    (void)reply, (void)context, (void)err;
    abort();
}

static int leave(pappus_reply *reply, void *context, pappus_error *err)
{
    (void)reply, (void)context, (void)err;
    _exit(0);
}

static int hang(pappus_reply *reply, void *context, pappus_error *err)
{
    (void)reply, (void)context, (void)err;
    for (;;)
        pause();
    return PAPPUS_OK;
}

#ifndef __SANITIZE_ADDRESS__ /* memory is not limited under it */
static int eat(pappus_reply *reply, void *context, pappus_error *err)
{
    (void)reply, (void)context;
    for (size_t i = 0; i < 4096; i++) {
        char *block = malloc(1 << 20);
        if (!block) return pappus_fail_memory(err);
        memset(block, 1, 1 << 20);
    }
    return PAPPUS_OK;
}
#endif

static int print(pappus_reply *reply, void *context, pappus_error *err)
{
    (void)context, (void)err;
    printf("to be seen by nobody\n");
    fprintf(stderr, "neither\n");
    fflush(stdout);
    return pappus_reply_add(reply, "done", 4) ? PAPPUS_OK : PAPPUS_E_MEMORY;
}

static int write_file(pappus_reply *reply, void *context, pappus_error *err)
{
    (void)err;
    signal(SIGXFSZ, SIG_IGN);
    int file = open(context, O_CREAT | O_WRONLY, 0600);
    bool written = file >= 0 && write(file, "x", 1) == 1;
    return pappus_reply_add(reply, written ? "yes" : "no", written ? 3 : 2) ? PAPPUS_OK
                                                                            : PAPPUS_E_MEMORY;
}

static int try(pappus_reply *reply, pappus_isolated work, void *context,
               const pappus_isolate_limits *limits, pappus_error *err)
{
    *err = (pappus_error){0};
    return pappus_isolate(reply, work, context, "a.grib", PAPPUS_E_WIND, limits, err);
}

START_TEST(an_answer_comes_whole)
{
    const size_t lengths[] = {0, 1, 65536, 3000001}; /* over what a pipe holds */
    for (size_t i = 0; i < sizeof lengths / sizeof lengths[0]; i++) {
        pappus_reply reply;
        pappus_error error;
        size_t length = lengths[i];
        ck_assert_int_eq(try(&reply, answer, &length, NULL, &error), PAPPUS_OK);
        ck_assert_uint_eq(reply.length, length);
        for (size_t k = 0; k < length; k++)
            if (reply.bytes[k] != (char)(k % 251)) ck_abort_msg("byte %zu", k);
        pappus_reply_clear(&reply);
    }
}
END_TEST

START_TEST(a_fault_keeps_its_place)
{
    pappus_reply reply;
    pappus_error error;
    ck_assert_int_eq(try(&reply, fault, NULL, NULL, &error), PAPPUS_E_FIELD);
    ck_assert_str_eq(error.file, "a.grib");
    ck_assert_str_eq(error.key, "row 3");
    ck_assert_str_eq(error.value, "17");
    ck_assert_str_eq(error.message, "is odd; accepted is even");
    ck_assert_ptr_null(reply.bytes);
}
END_TEST

START_TEST(a_child_that_dies_is_a_damaged_file)
{
    const pappus_isolated deaths[] = {crash, give_up, leave};
    for (size_t i = 0; i < sizeof deaths / sizeof deaths[0]; i++) {
        pappus_reply reply;
        pappus_error error;
        ck_assert_int_eq(try(&reply, deaths[i], NULL, NULL, &error), PAPPUS_E_WIND);
        ck_assert_ptr_nonnull(strstr(error.message, "damaged"));
        ck_assert_ptr_null(reply.bytes);
    }
}
END_TEST

START_TEST(a_hang_ends_at_the_limit)
{
    pappus_isolate_limits limits = PAPPUS_ISOLATE_LIMITS_INIT;
    pappus_reply reply;
    pappus_error error;
    limits.seconds = 0.2;
    ck_assert_int_eq(try(&reply, hang, NULL, &limits, &error), PAPPUS_E_WIND);
    ck_assert_ptr_nonnull(strstr(error.message, "not read within"));
}
END_TEST

START_TEST(memory_has_a_limit)
{
#ifndef __SANITIZE_ADDRESS__
    pappus_isolate_limits limits = PAPPUS_ISOLATE_LIMITS_INIT;
    pappus_reply reply;
    pappus_error error;
    limits.memory_bytes = (size_t)64 << 20;
    ck_assert_int_ne(try(&reply, eat, NULL, &limits, &error), PAPPUS_OK);
    /* what the host has does not count: it may be more than the limit */
    char *own = malloc((size_t)100 << 20);
    size_t length = 1000;
    ck_assert_ptr_nonnull(own);
    memset(own, 1, (size_t)100 << 20);
    ck_assert_int_eq(try(&reply, answer, &length, &limits, &error), PAPPUS_OK);
    pappus_reply_clear(&reply);
    free(own);
#endif
}
END_TEST

START_TEST(nothing_is_printed_or_written)
{
    char path[] = "/tmp/pappus-isolate-XXXXXX", seen[64] = "";
    pappus_reply reply;
    pappus_error error;
    int file = mkstemp(path), kept[2] = {dup(1), dup(2)};
    ck_assert_int_ge(file, 0);
    fflush(stdout);
    dup2(file, 1);
    dup2(file, 2);
    int status = try(&reply, print, NULL, NULL, &error);
    dup2(kept[0], 1);
    dup2(kept[1], 2);
    ck_assert_int_eq(status, PAPPUS_OK);
    ck_assert_uint_eq(reply.length, 4);
    pappus_reply_clear(&reply);
    ck_assert_int_eq(pread(file, seen, sizeof seen, 0), 0);
    ck_assert_int_eq(try(&reply, write_file, path, NULL, &error), PAPPUS_OK);
    ck_assert_uint_eq(reply.length, 2);
    pappus_reply_clear(&reply);
    close(file);
    close(kept[0]);
    close(kept[1]);
    unlink(path);
}
END_TEST

SUITE("isolate")
{
    tcase_add_test(tests, an_answer_comes_whole);
    tcase_add_test(tests, a_fault_keeps_its_place);
    tcase_add_test(tests, a_child_that_dies_is_a_damaged_file);
    tcase_add_test(tests, a_hang_ends_at_the_limit);
    tcase_add_test(tests, memory_has_a_limit);
    tcase_add_test(tests, nothing_is_printed_or_written);
}
