/* SPDX-License-Identifier: GPL-3.0-or-later
 * Files in blocks, against the C library's stdio doing the same: seeks, writes and reads
 * in a random order (fixed seed) must leave the same bytes and give the same. */
#include <check.h>
#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "block_file.h"
#include "suite.h"

#define STEPS 4000
#define MOST_BYTES 200000 /* of one write: up to three blocks */

static char folder[] = "/tmp/test_block_file.XXXXXX";
static char ours[64], theirs[64];

static void begin(void)
{
    strcpy(folder + strlen(folder) - 6, "XXXXXX");
    ck_assert_ptr_nonnull(mkdtemp(folder));
    snprintf(ours, sizeof ours, "%s/ours", folder);
    snprintf(theirs, sizeof theirs, "%s/theirs", folder);
}

static void end(void)
{
    unlink(ours);
    unlink(theirs);
    rmdir(folder);
}

/* Small pieces as records are, and now and then a large one. */
static size_t any_size(void)
{
    return random() % 50 == 0 ? (size_t)random() % MOST_BYTES : (size_t)random() % 150;
}

static void seek(SAFile a, FILE *b)
{
    const SAHooks *on = &block_file_hooks;
    ck_assert_int_eq(fseek(b, 0, SEEK_END), 0);
    long size = ftell(b), at = random() % 3 == 0 ? random() % (size + 1) : size;
    ck_assert_int_eq(fseek(b, at, SEEK_SET), 0);
    if (at == size && random() % 2)
        ck_assert_uint_eq(on->FSeek(a, 0, SEEK_END), 0);
    else
        ck_assert_uint_eq(on->FSeek(a, (SAOffset)at, SEEK_SET), 0);
}

static void step(SAFile a, FILE *b)
{
    static char bytes[MOST_BYTES], read_a[MOST_BYTES], read_b[MOST_BYTES];
    const SAHooks *on = &block_file_hooks;
    size_t size = any_size();
    if (random() % 2) seek(a, b);
    fseek(b, 0, SEEK_CUR); /* C11 7.21.5.3: between reading and writing */
    if (random() % 8 == 0) {
        size_t count = fread(read_b, 1, size, b);
        ck_assert_uint_eq(on->FRead(read_a, 1, size, a), count);
        ck_assert_mem_eq(read_a, read_b, count);
    } else {
        for (size_t i = 0; i < size; i++)
            bytes[i] = (char)random();
        ck_assert_uint_eq(on->FWrite(bytes, 1, size, a), size);
        ck_assert_uint_eq(fwrite(bytes, 1, size, b), size);
    }
    ck_assert_uint_eq(on->FTell(a), (SAOffset)ftell(b));
}

static char *whole(const char *path, size_t *size)
{
    FILE *file = fopen(path, "rb");
    ck_assert_ptr_nonnull(file);
    fseek(file, 0, SEEK_END);
    *size = (size_t)ftell(file);
    rewind(file);
    char *bytes = malloc(*size + 1);
    ck_assert_ptr_nonnull(bytes);
    ck_assert_uint_eq(fread(bytes, 1, *size, file), *size);
    fclose(file);
    return bytes;
}

START_TEST(test_same_as_stdio)
{
    begin();
    srandom(20261125);
    size_t size_a, size_b;
    SAFile a = block_file_hooks.FOpen(ours, "wb+");
    FILE *b = fopen(theirs, "wb+");
    ck_assert(a && b);
    block_file_keep(a);
    for (int i = 0; i < STEPS; i++)
        step(a, b);
    ck_assert_int_eq(block_file_hooks.FClose(a), 0);
    ck_assert_int_eq(block_file_end(a), 0);
    fclose(b);
    char *bytes_a = whole(ours, &size_a), *bytes_b = whole(theirs, &size_b);
    ck_assert_uint_eq(size_a, size_b);
    ck_assert_uint_gt(size_a, MOST_BYTES);
    ck_assert_mem_eq(bytes_a, bytes_b, size_a);
    free(bytes_a);
    free(bytes_b);
    end();
}
END_TEST

/* Linux full(4): each write fails with ENOSPC. The failure shows at the latest when the
 * file is closed, and is told afterwards. */
START_TEST(test_failure_is_kept)
{
    char bytes[1000] = {0};
    SAFile file = block_file_hooks.FOpen("/dev/full", "wb");
    ck_assert_ptr_nonnull(file);
    block_file_keep(file);
    for (int i = 0; i < 200; i++)
        block_file_hooks.FWrite(bytes, 1, sizeof bytes, file);
    ck_assert_uint_eq(block_file_hooks.FWrite(bytes, 1, sizeof bytes, file), 0);
    ck_assert_int_ne(block_file_hooks.FClose(file), 0);
    ck_assert_int_eq(block_file_end(file), ENOSPC);
    ck_assert_ptr_null(block_file_hooks.FOpen("/absent/folder/file", "wb"));
    ck_assert_int_eq(block_file_end(NULL), 0);
}
END_TEST

SUITE("block_file")
{
    tcase_add_test(tests, test_same_as_stdio);
    tcase_add_test(tests, test_failure_is_kept);
}
