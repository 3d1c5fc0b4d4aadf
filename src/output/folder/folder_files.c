/* SPDX-License-Identifier: GPL-3.0-or-later
 * The files of an output folder against those that its marker lists: a folder without a
 * marker, or with a file that is not in it, is not ours to replace. */
#include "folder_files.h"
#include "error.h"
#include "grow.h"
#include "publish.h"

#include <dirent.h>
#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#define MARKER_HEAD "Files of this folder, written by pappus; a new result replaces them.\n"

int folder_refuse(pappus_error *err, const char *folder, const char *reason)
{
    return pappus_fail(err, PAPPUS_E_REFUSED, folder, NULL, NULL,
                       "the output folder is refused: %s", reason);
}

int folder_fail(pappus_error *err, const char *folder, const char *what, int reason)
{
    return pappus_fail(err, PAPPUS_E_OUTPUT, folder, NULL, NULL, "%s: %s", what, strerror(reason));
}

/* Lines of a marker, sorted by nothing: a result has some thirty. */
typedef struct {
    size_t count;
    char **names;
} name_list;

static void clear_names(name_list *list)
{
    for (size_t i = 0; i < list->count; i++)
        free(list->names[i]);
    free(list->names);
    *list = (name_list){0};
}

static bool add_name(name_list *list, const char *name)
{
    if (!PAPPUS_GROW(list->names, NULL, list->count + 1)) return false;
    list->names[list->count] = strdup(name);
    if (!list->names[list->count]) return false;
    list->count++;
    return true;
}

static bool holds(const name_list *list, const char *name)
{
    for (size_t i = 0; i < list->count; i++)
        if (strcmp(list->names[i], name) == 0) return true;
    return false;
}

static int compare_names(const void *a, const void *b)
{
    return strcmp(*(char *const *)a, *(char *const *)b);
}

static bool is_folder_at(int folder, const char *name)
{
    struct stat state;
    return fstatat(folder, name, &state, AT_SYMLINK_NOFOLLOW) == 0 && S_ISDIR(state.st_mode);
}

static int list_files(name_list *list, int folder, const char *prefix);

/* One entry: a file goes into the list, an empty folder too, another is gone through. A link or a
 * device is a file here: it is in no marker. */
static int list_entry(name_list *list, int folder, const char *prefix, const char *name)
{
    char *path;
    if (strcmp(name, ".") == 0 || strcmp(name, "..") == 0) return 0;
    if (prefix[0] == '\0' && strcmp(name, PAPPUS_MARKER) == 0) return 0;
    if (asprintf(&path, "%s%s%s", prefix, prefix[0] ? "/" : "", name) < 0) return ENOMEM;
    int reason;
    if (is_folder_at(folder, name)) {
        size_t before = list->count;
        reason = list_files(list, openat(folder, name, FOLDER_FLAGS), path);
        if (reason == 0 && list->count == before) /* ours are never empty */
            reason = add_name(list, path) ? 0 : ENOMEM;
    } else
        reason = add_name(list, path) ? 0 : ENOMEM;
    free(path);
    return reason;
}

/* Every file under the folder but the marker, relative to it. Takes the folder's
 * descriptor; returns 0 or an errno. */
static int list_files(name_list *list, int folder, const char *prefix)
{
    DIR *stream = folder >= 0 ? fdopendir(folder) : NULL;
    if (!stream) {
        int reason = errno;
        if (folder >= 0) close(folder);
        return reason;
    }
    int reason = 0;
    while (reason == 0) {
        errno = 0;
        struct dirent *entry = readdir(stream);
        if (!entry) {
            reason = errno;
            break;
        }
        reason = list_entry(list, folder, prefix, entry->d_name);
    }
    closedir(stream);
    return reason;
}

static int list_folder(name_list *list, const char *folder)
{
    *list = (name_list){0};
    return list_files(list, open(folder, FOLDER_FLAGS), "");
}

static FILE *open_marker(const char *folder, const char *mode)
{
    char *path;
    if (asprintf(&path, "%s/%s", folder, PAPPUS_MARKER) < 0) return NULL;
    FILE *file = fopen(path, mode);
    free(path);
    return file;
}

static bool read_marker(name_list *list, const char *folder)
{
    char *line = NULL;
    size_t size = 0;
    ssize_t length;
    *list = (name_list){0};
    FILE *file = open_marker(folder, "re");
    if (!file) return false;
    bool good = getline(&line, &size, file) > 0 && strcmp(line, MARKER_HEAD) == 0;
    while (good && (length = getline(&line, &size, file)) > 0) {
        if (line[length - 1] == '\n') line[length - 1] = '\0';
        good = add_name(list, line);
    }
    free(line);
    fclose(file);
    return good;
}

int folder_check(const char *folder, pappus_error *err)
{
    name_list marked, found;
    if (!read_marker(&marked, folder)) {
        clear_names(&marked);
        return folder_refuse(err, folder,
                             "it exists and was not written by pappus; name another folder");
    }
    int status = PAPPUS_OK;
    int reason = list_folder(&found, folder);
    if (reason != 0) status = folder_fail(err, folder, "cannot be read", reason);
    for (size_t i = 0; status == PAPPUS_OK && i < found.count; i++)
        if (!holds(&marked, found.names[i]))
            status =
                pappus_fail(err, PAPPUS_E_REFUSED, folder, NULL, found.names[i],
                            "the output folder is refused: this file in it is not from pappus; "
                            "move it away or name another folder");
    clear_names(&marked);
    clear_names(&found);
    return status;
}

int folder_mark(const char *folder)
{
    name_list files;
    int reason = list_folder(&files, folder);
    FILE *marker = reason == 0 ? open_marker(folder, "we") : NULL;
    if (reason == 0 && !marker) reason = errno;
    if (marker) {
        if (files.count > 1) qsort(files.names, files.count, sizeof *files.names, compare_names);
        bool good = fputs(MARKER_HEAD, marker) >= 0;
        for (size_t i = 0; i < files.count; i++)
            good = good && fprintf(marker, "%s\n", files.names[i]) > 0;
        if (!good) reason = errno;
        if (fclose(marker) != 0 && good) reason = errno;
    }
    clear_names(&files);
    return reason;
}
