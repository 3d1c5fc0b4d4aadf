/* SPDX-License-Identifier: GPL-3.0-or-later
 * Publishing by rename. The stage `.NAME.pappus-XXXXXX` lies beside the target,
 * so on the same file system. It is filled, listed in its marker, synced, and
 * put into place by renameat2: RENAME_NOREPLACE where nothing is, RENAME_EXCHANGE
 * over an earlier result, which is then deleted (Linux 3.15). Where the file
 * system has neither, two renames, the first taken back when the second fails;
 * a power cut between the two leaves the earlier result as `.NAME.pappus-before`,
 * and the next run puts it back.
 *
 * A stage is locked (flock) while its run lives, so a stage without a lock is
 * what a killed run left. An earlier result is locked while it is looked at or
 * replaced, so runs that write to the same folder take turns, and the last wins.
 * Where locks do not work (some network file systems) nothing is removed. */
#include "publish.h"
#include "folder_files.h"

#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <ftw.h>
#include <limits.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/file.h>
#include <sys/random.h>
#include <sys/stat.h>
#include <unistd.h>

#include "error.h"

#define STAGE_TRIES 100
#define OPEN_FILES 16 /* of nftw */
#define BEFORE "before"

static const pappus_stage no_stage = {.lock = -1, .displaced = -1};

/* ------------------------------------------------------------------- locks */

static void release(int *lock)
{
    if (*lock >= 0) close(*lock);
    *lock = -1;
}

static bool names_it(const char *path, int file)
{
    struct stat opened, named;
    return fstat(file, &opened) == 0 && lstat(path, &named) == 0 && opened.st_ino == named.st_ino &&
           opened.st_dev == named.st_dev;
}

/* Waits for the lock of the folder that has this name. Another run may replace
 * it meanwhile: then the new one is locked. -1: there is no such folder. */
static int lock_folder(const char *path)
{
    for (;;) {
        int lock = open(path, FOLDER_FLAGS);
        if (lock < 0) return -1;
        while (flock(lock, LOCK_EX) != 0 && errno == EINTR)
            continue;
        if (names_it(path, lock)) return lock;
        close(lock);
    }
}

/* The lock of a folder that nobody else holds, or -1. */
static int lock_if_free(const char *path)
{
    int lock = open(path, FOLDER_FLAGS);
    if (lock >= 0 && (flock(lock, LOCK_EX | LOCK_NB) != 0 || !names_it(path, lock))) release(&lock);
    return lock;
}

/* ------------------------------------------------------------------- names */

/* Splits a path into parent and name; refuses what has no name of its own. */
static int split(pappus_stage *stage, const char *folder, pappus_error *err)
{
    size_t length = strlen(folder);
    while (length > 1 && folder[length - 1] == '/')
        length--;
    stage->target = strndup(folder, length);
    if (!stage->target) return pappus_fail_memory(err);
    const char *slash = strrchr(stage->target, '/');
    const char *name = slash ? slash + 1 : stage->target;
    if (name[0] == '\0' || strcmp(name, ".") == 0 || strcmp(name, "..") == 0)
        return folder_refuse(err, folder, "give the name of a folder to be made");
    stage->name = strdup(name);
    stage->parent = !slash ? strdup(".")
                    : slash == stage->target
                        ? strdup("/")
                        : strndup(stage->target, (size_t)(slash - stage->target));
    return stage->name && stage->parent ? PAPPUS_OK : pappus_fail_memory(err);
}

static void forget(pappus_stage *stage)
{
    release(&stage->lock);
    release(&stage->displaced);
    free(stage->target);
    free(stage->parent);
    free(stage->name);
    free(stage->folder);
    *stage = no_stage;
}

/* ".NAME.pappus-ENDING" beside the target; NULL when out of memory. */
static char *sibling(const pappus_stage *stage, const char *ending)
{
    char *path;
    if (asprintf(&path, "%s/.%s.pappus-%s", stage->parent, stage->name, ending) < 0) return NULL;
    return path;
}

static int check_target(const pappus_stage *stage, pappus_error *err)
{
    struct stat state;
    if (stat(stage->parent, &state) != 0)
        return pappus_fail(err, PAPPUS_E_REFUSED, stage->target, NULL, NULL,
                           "the output folder is refused: the folder '%s' that it would be in "
                           "cannot be used: %s",
                           stage->parent, strerror(errno));
    if (!S_ISDIR(state.st_mode))
        return folder_refuse(err, stage->target, "what it would be in is not a folder");
    if (lstat(stage->target, &state) != 0)
        return errno == ENOENT ? PAPPUS_OK
                               : folder_fail(err, stage->target, "cannot be used", errno);
    if (S_ISLNK(state.st_mode))
        return folder_refuse(err, stage->target, "it is a symbolic link; name the folder itself");
    if (!S_ISDIR(state.st_mode))
        return folder_refuse(err, stage->target, "it exists and is a file");
    int lock = lock_folder(stage->target);
    int status = lock < 0 && errno == ENOENT ? PAPPUS_OK : folder_check(stage->target, err);
    release(&lock);
    return status;
}

int pappus_output_check(const char *folder, pappus_error *err)
{
    pappus_stage stage = no_stage;
    int status = split(&stage, folder, err);
    if (status == PAPPUS_OK) status = check_target(&stage, err);
    forget(&stage);
    return status;
}

/* ------------------------------------------------------------------ removing */

static int remove_one(const char *path, const struct stat *state, int type, struct FTW *where)
{
    (void)state;
    (void)type;
    (void)where;
    remove(path); /* what cannot be removed now, the next run finds again */
    return 0;
}

static void remove_tree(const char *folder)
{
    nftw(folder, remove_one, OPEN_FILES, FTW_DEPTH | FTW_PHYS | FTW_MOUNT);
}

/* Removes a stage that nobody holds the lock of. */
static void remove_if_left(const char *folder)
{
    int lock = lock_if_free(folder);
    if (lock >= 0) remove_tree(folder);
    release(&lock);
}

/* ".NAME.pappus-" and six characters of ours. */
static bool is_stage_name(const char *entry, const char *name)
{
    size_t length = strlen(name);
    if (entry[0] != '.' || strncmp(entry + 1, name, length) != 0) return false;
    const char *rest = entry + 1 + length;
    static const char middle[] = ".pappus-";
    if (strncmp(rest, middle, sizeof middle - 1) != 0) return false;
    rest += sizeof middle - 1;
    return strlen(rest) == 6 && strspn(rest, "0123456789abcdefghijklmnopqrstuv") == 6 &&
           strcmp(rest, BEFORE) != 0;
}

/* An earlier result that a power cut left between two renames goes back. */
static void restore_before(const pappus_stage *stage)
{
    struct stat state;
    char *before = sibling(stage, BEFORE);
    int lock = before ? lock_if_free(before) : -1;
    if (lock >= 0) {
        if (lstat(stage->target, &state) != 0 && errno == ENOENT)
            rename(before, stage->target);
        else
            remove_tree(before);
    }
    release(&lock);
    free(before);
}

static void remove_left(const pappus_stage *stage)
{
    DIR *stream = opendir(stage->parent);
    if (!stream) return;
    struct dirent *entry;
    while ((entry = readdir(stream))) {
        char *path;
        if (!is_stage_name(entry->d_name, stage->name)) continue;
        if (asprintf(&path, "%s/%s", stage->parent, entry->d_name) < 0) break;
        remove_if_left(path);
        free(path);
    }
    closedir(stream);
}

/* ------------------------------------------------------------------- staging */

static bool random_ending(char out[7])
{
    static const char letters[] = "0123456789abcdefghijklmnopqrstuv";
    unsigned char bytes[6];
    if (getrandom(bytes, sizeof bytes, 0) != (ssize_t)sizeof bytes) return false;
    for (size_t i = 0; i < 6; i++)
        out[i] = letters[bytes[i] % 32];
    out[6] = '\0';
    return strcmp(out, BEFORE) != 0;
}

/* Locks the folder just made. Another run may have taken it for a left one
 * before the lock; then it is gone, or about to be, and false comes back. */
static bool lock_stage(pappus_stage *stage)
{
    stage->lock = open(stage->folder, FOLDER_FLAGS);
    if (stage->lock < 0) return false;
    bool taken = flock(stage->lock, LOCK_EX | LOCK_NB) != 0 && errno == EWOULDBLOCK;
    if (!taken && names_it(stage->folder, stage->lock)) return true;
    release(&stage->lock);
    return false;
}

static int make_stage(pappus_stage *stage, pappus_error *err)
{
    char ending[7];
    int reason = EEXIST;
    for (int i = 0; i < STAGE_TRIES; i++) {
        if (!random_ending(ending)) continue;
        stage->folder = sibling(stage, ending);
        if (!stage->folder) return pappus_fail_memory(err);
        if (mkdir(stage->folder, 0777) == 0) {
            if (lock_stage(stage)) return PAPPUS_OK;
        } else if (errno != EEXIST) {
            reason = errno;
            break;
        }
        free(stage->folder);
        stage->folder = NULL;
    }
    return folder_fail(err, stage->target, "the output folder cannot be begun", reason);
}

int pappus_stage_begin(pappus_stage *out, const char *folder, pappus_error *err)
{
    *out = no_stage;
    int status = split(out, folder, err);
    if (status == PAPPUS_OK) restore_before(out);
    if (status == PAPPUS_OK) status = check_target(out, err);
    if (status == PAPPUS_OK) {
        remove_left(out);
        status = make_stage(out, err);
    }
    if (status != PAPPUS_OK) forget(out);
    return status;
}

void pappus_stage_abandon(pappus_stage *stage)
{
    if (stage->folder) remove_tree(stage->folder);
    forget(stage);
}

/* ---------------------------------------------------------------- publishing */

static int sync_path(const char *path, bool folder)
{
    int file = open(path, O_RDONLY | O_CLOEXEC | (folder ? O_DIRECTORY : 0));
    if (file < 0) return errno;
    int reason = fsync(file) != 0 ? errno : 0;
    if (folder && (reason == EINVAL || reason == ENOTSUP))
        reason = 0; /* some cannot sync a folder */
    if (close(file) != 0 && reason == 0) reason = errno;
    return reason;
}

static int sync_one(const char *path, const struct stat *state, int type, struct FTW *where)
{
    (void)state;
    (void)where;
    return sync_path(path, type == FTW_D || type == FTW_DP);
}

static int sync_tree(const char *folder)
{
    int reason = nftw(folder, sync_one, OPEN_FILES, FTW_DEPTH | FTW_PHYS);
    return reason < 0 ? errno : reason;
}

/* The file system, or the kernel, does not know this flag of renameat2. */
static bool unknown_flag(int reason)
{
    return reason == EINVAL || reason == ENOSYS || reason == ENOTSUP;
}

/* The displaced folder is checked once more before it is deleted: a file may
 * have been put into it since. */
static int check_displaced(const char *displaced, const pappus_stage *stage, pappus_error *err)
{
    pappus_error found = {0};
    if (folder_check(displaced, &found) == PAPPUS_OK) return PAPPUS_OK;
    return pappus_fail(err, found.code, stage->target, NULL, found.value, "%s", found.message);
}

static int place_by_renames(pappus_stage *stage, pappus_error *err)
{
    char *before = sibling(stage, BEFORE);
    if (!before) return pappus_fail_memory(err);
    int status = PAPPUS_OK;
    stage->displaced = lock_folder(stage->target);
    bool displaced = rename(stage->target, before) == 0;
    if (!displaced && errno != ENOENT)
        status = folder_fail(err, stage->target, "the earlier result cannot be replaced", errno);
    if (displaced) status = check_displaced(before, stage, err);
    if (status == PAPPUS_OK && rename(stage->folder, stage->target) != 0)
        status = folder_fail(err, stage->target, "the result cannot be put into place", errno);
    if (displaced && status == PAPPUS_OK) remove_tree(before);
    if (displaced && status != PAPPUS_OK) rename(before, stage->target);
    free(before);
    return status;
}

/* After the exchange the earlier result is where the stage was, still locked
 * until it is removed. ENOENT comes back when the target went away. */
static int place_over(pappus_stage *stage, int *reason, pappus_error *err)
{
    stage->displaced = lock_folder(stage->target);
    if (renameat2(AT_FDCWD, stage->folder, AT_FDCWD, stage->target, RENAME_EXCHANGE) != 0) {
        *reason = errno;
        release(&stage->displaced);
        return PAPPUS_OK;
    }
    *reason = 0;
    int status = check_displaced(stage->folder, stage, err);
    if (status != PAPPUS_OK)
        renameat2(AT_FDCWD, stage->folder, AT_FDCWD, stage->target, RENAME_EXCHANGE);
    return status;
}

static int place(pappus_stage *stage, pappus_error *err)
{
    int status = PAPPUS_OK, reason;
    do {
        reason = 0;
        if (renameat2(AT_FDCWD, stage->folder, AT_FDCWD, stage->target, RENAME_NOREPLACE) != 0)
            reason = errno;
        if (reason == EEXIST) status = place_over(stage, &reason, err);
    } while (reason == ENOENT && names_it(stage->folder, stage->lock));
    if (reason == 0) return status;
    if (unknown_flag(reason)) return place_by_renames(stage, err);
    return folder_fail(err, stage->target, "the result cannot be put into place", reason);
}

static int publish(pappus_stage *stage, int (*put)(pappus_stage *, pappus_error *),
                   pappus_error *err)
{
    int status = PAPPUS_OK;
    int reason = folder_mark(stage->folder);
    if (reason == 0) reason = sync_tree(stage->folder);
    if (reason != 0)
        status = folder_fail(err, stage->target, "the result cannot be written", reason);
    if (status == PAPPUS_OK) status = put(stage, err);
    if (status == PAPPUS_OK) {
        reason = sync_path(stage->parent, true);
        if (reason != 0)
            status = folder_fail(err, stage->target, "the result cannot be made lasting", reason);
    }
    pappus_stage_abandon(stage);
    return status;
}

int pappus_stage_publish(pappus_stage *stage, pappus_error *err)
{
    return publish(stage, place, err);
}

int pappus_stage_publish_by_renames(pappus_stage *stage, pappus_error *err)
{
    return publish(stage, place_by_renames, err);
}
