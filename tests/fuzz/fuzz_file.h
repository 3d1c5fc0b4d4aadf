/* SPDX-License-Identifier: GPL-3.0-or-later
 * Bytes as a file, for readers that take a path: a folder of the process's own, removed at
 * its end; in memory where Linux has room for that. */
#ifndef PAPPUS_TESTS_FUZZ_FILE_H
#define PAPPUS_TESTS_FUZZ_FILE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#define FUZZ_FILES 8

static char fuzz_folder[] = "/dev/shm/pappus-fuzz-XXXXXX";
static bool fuzz_has_folder;
static char fuzz_paths[FUZZ_FILES][96];

static void fuzz_leave(void)
{
    for (int i = 0; i < FUZZ_FILES; i++)
        if (fuzz_paths[i][0]) unlink(fuzz_paths[i]);
    rmdir(fuzz_folder);
}

/* The path of a file of that name with these bytes. */
static const char *fuzz_file(const char *name, const void *bytes, size_t length)
{
    if (!fuzz_has_folder) {
        fuzz_has_folder = true;
        if (access("/dev/shm", W_OK) != 0) strcpy(fuzz_folder, "/tmp/pappus-fuzz-XXXXXX");
        if (!mkdtemp(fuzz_folder) || atexit(fuzz_leave) != 0) abort();
    }
    char path[96];
    snprintf(path, sizeof path, "%s/%s", fuzz_folder, name);
    int i = 0;
    while (fuzz_paths[i][0] && strcmp(fuzz_paths[i], path) != 0)
        if (++i == FUZZ_FILES) abort();
    memcpy(fuzz_paths[i], path, sizeof path);
    FILE *file = fopen(path, "wb");
    if (!file || fwrite(bytes, 1, length, file) != length || fclose(file) != 0) abort();
    return fuzz_paths[i];
}

#endif
