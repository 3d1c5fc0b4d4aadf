/* SPDX-License-Identifier: GPL-3.0-or-later
 * One file, whole or not at all: written beside its place, synced, renamed. A stage
 * is locked (flock) while its run lives; one without a lock is what a killed run left. */
#include <pappus/output.h>

#include "error.h"

#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

#define MARK "pappus"
#define HEAD_BYTES 4096
#define ENDING 6 /* characters that mkstemp chooses */

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

/* ------------------------------------------------------ what is there already */

static bool is_ours(const char *path)
{
    char head[HEAD_BYTES];
    int file = open(path, O_RDONLY | O_NONBLOCK | O_CLOEXEC);
    ssize_t length = file >= 0 ? read(file, head, sizeof head) : -1;
    if (file >= 0) close(file);
    return length == 0 || (length > 0 && memmem(head, (size_t)length, MARK, sizeof MARK - 1));
}

static int check_place(const char *path, pappus_error *err)
{
    struct stat state;
    if (lstat(path, &state) != 0) return PAPPUS_OK;
    if (S_ISREG(state.st_mode) && is_ours(path)) return PAPPUS_OK;
    if (S_ISCHR(state.st_mode)) return PAPPUS_OK;
    return pappus_fail(err, PAPPUS_E_REFUSED, path, NULL, NULL,
                       "is there already and was not written by pappus; accepted is another name");
}

/* Removes what a killed run left: a stage that nobody holds the lock of. */
static void remove_left(const char *beside)
{
    const char *slash = strrchr(beside, '/'), *name = slash ? slash + 1 : beside;
    size_t stem = strlen(name) - ENDING;
    char *folder = slash ? strndup(beside, (size_t)(slash - beside) + 1) : strdup(".");
    DIR *stream = folder ? opendir(folder) : NULL;
    for (struct dirent *entry; stream && (entry = readdir(stream));) {
        if (strncmp(entry->d_name, name, stem) != 0 || strlen(entry->d_name) != stem + ENDING)
            continue;
        int file = openat(dirfd(stream), entry->d_name, O_RDONLY | O_NOFOLLOW | O_CLOEXEC);
        if (file >= 0 && flock(file, LOCK_EX | LOCK_NB) == 0)
            unlinkat(dirfd(stream), entry->d_name, 0);
        if (file >= 0) close(file);
    }
    if (stream) closedir(stream);
    free(folder);
}

/* -------------------------------------------------------------------- writing */

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
    if (status == PAPPUS_OK && rename(beside, path) != 0)
        status = fault(err, path, "could not be put in place");
    close(file); /* what was written is synced; the lock held until here */
    return status;
}

int pappus_file_write(const char *path, const char *bytes, size_t size, pappus_error *err)
{
    int status = check_place(path, err);
    if (status != PAPPUS_OK) return status;
    char *beside = name_beside(path);
    if (!beside) return pappus_fail_memory(err);
    remove_left(beside);
    int file = mkstemp(beside);
    if (file >= 0) flock(file, LOCK_EX);
    status = file < 0 ? fault(err, path, "could not be made")
                      : fill_and_rename(beside, file, path, bytes, size, err);
    if (file >= 0 && status != PAPPUS_OK) unlink(beside);
    free(beside);
    return status;
}
