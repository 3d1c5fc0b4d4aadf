/* SPDX-License-Identifier: GPL-3.0-or-later
 * One file, whole or not at all: written beside its place, synced, renamed. */
#include <pappus/output.h>

#include "error.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

static int fault(pappus_error *err, const char *path, const char *what)
{
    return pappus_fail(err, PAPPUS_E_OUTPUT, path, NULL, NULL, "%s: %s", what, strerror(errno));
}

/* ".name.pappus-XXXXXX" in the folder of path. */
static char *name_beside(const char *path)
{
    const char *slash = strrchr(path, '/');
    int folder = slash ? (int)(slash - path) + 1 : 0;
    char *name = NULL;
    if (asprintf(&name, "%.*s.%s.pappus-XXXXXX", folder, path, path + folder) < 0) return NULL;
    return name;
}

static bool write_all(int file, const char *bytes, size_t size)
{
    while (size > 0) {
        ssize_t written = write(file, bytes, size);
        if (written < 0 && errno == EINTR) continue;
        if (written <= 0) return false;
        bytes += written;
        size -= (size_t)written;
    }
    return fsync(file) == 0;
}

static int fill_and_rename(const char *beside, int file, const char *path, const char *bytes,
                           size_t size, pappus_error *err)
{
    mode_t mask = umask(0);
    umask(mask);
    bool written = write_all(file, bytes, size) && fchmod(file, 0666 & ~mask) == 0;
    int status = written ? PAPPUS_OK : fault(err, path, "could not be written");
    if (close(file) != 0 && status == PAPPUS_OK) status = fault(err, path, "could not be written");
    if (status == PAPPUS_OK && rename(beside, path) != 0)
        status = fault(err, path, "could not be put in place");
    return status;
}

int pappus_file_write(const char *path, const char *bytes, size_t size, pappus_error *err)
{
    char *beside = name_beside(path);
    if (!beside) return pappus_fail_memory(err);
    int file = mkstemp(beside);
    int status = file < 0 ? fault(err, path, "could not be made")
                          : fill_and_rename(beside, file, path, bytes, size, err);
    if (file >= 0 && status != PAPPUS_OK) unlink(beside);
    free(beside);
    return status;
}
