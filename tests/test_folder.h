/* SPDX-License-Identifier: GPL-3.0-or-later
 * A folder of its own for each test: a checked fixture. */
#ifndef PAPPUS_TESTS_TEST_FOLDER_H
#define PAPPUS_TESTS_TEST_FOLDER_H

#include <check.h>
#include <ftw.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static char test_folder[64];

static void make_folder(void)
{
    strcpy(test_folder, "/tmp/pappus-test-XXXXXX");
    ck_assert_ptr_nonnull(mkdtemp(test_folder));
}

static int remove_one(const char *path, const struct stat *about, int kind, struct FTW *place)
{
    (void)about;
    (void)kind;
    (void)place;
    return remove(path);
}

/* With all that is in it. */
static void remove_folder(void)
{
    ck_assert_int_eq(nftw(test_folder, remove_one, 16, FTW_DEPTH | FTW_PHYS), 0);
}

#endif
