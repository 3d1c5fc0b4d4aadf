/* SPDX-License-Identifier: GPL-3.0-or-later
 * Reads a file once from its beginning, so pipes work, into a buffer that doubles. */
#include "file.h"
#include "error.h"
#include "grow.h"

#include <errno.h>
#include <fcntl.h>
#include <poll.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#define PIPE_PATIENCE_MS 3000

typedef struct {
    FILE *file;
    char *bytes;
    size_t length, capacity;
} buffer;

/* Reads until `wanted` bytes are there or the file ends; keeps room for a NUL. */
static int fill(buffer *b, size_t wanted)
{
    while (b->length < wanted && !feof(b->file) && !ferror(b->file)) {
        size_t needed = b->length ? b->length + 2 : PAPPUS_FILE_HEAD_BYTES + 1;
        if (!PAPPUS_GROW(b->bytes, &b->capacity, needed)) return PAPPUS_E_MEMORY;
        size_t room = b->capacity - 1 - b->length, left = wanted - b->length;
        b->length += fread(b->bytes + b->length, 1, left < room ? left : room, b->file);
    }
    return PAPPUS_OK;
}

static int read_open(buffer *b, const char *path, size_t limit, int status, pappus_file_look look,
                     void *context, pappus_error *err)
{
    if (fill(b, PAPPUS_FILE_HEAD_BYTES) != PAPPUS_OK) return pappus_fail_memory(err);
    if (b->length > 0 && look) {
        int judged = look(context, b->bytes, b->length, err);
        if (judged != PAPPUS_OK) return judged;
    }
    if (fill(b, limit + 1) != PAPPUS_OK) return pappus_fail_memory(err);
    if (ferror(b->file))
        return pappus_fail(err, pappus_file_code(errno, status), path, NULL, NULL,
                           "cannot be read: %s", strerror(errno));
    if (b->length == 0) return pappus_fail(err, status, path, NULL, NULL, "the file is empty");
    if (b->length > limit)
        return pappus_fail(err, status, path, NULL, NULL, "larger than %zu MiB", limit >> 20);
    b->bytes[b->length] = '\0';
    return PAPPUS_OK;
}

int pappus_file_code(int reason, int status)
{
    switch (reason) {
    case EMFILE:
    case ENFILE:
    case ENOMEM:
    case EIO:
    case ENOSPC:
        return PAPPUS_E_SYSTEM;
    default:
        return status;
    }
}

/* A pipe is opened without waiting for who writes to it, who must then come in time. */
static int wait_for_writer(int file, const char *path, int status, pappus_error *err)
{
    struct pollfd wait = {.fd = file, .events = POLLIN};
    int ready;
    while ((ready = poll(&wait, 1, PIPE_PATIENCE_MS)) < 0 && errno == EINTR)
        continue;
    if (ready <= 0)
        return pappus_fail(err, status, path, NULL, NULL,
                           "is a pipe that nobody has written to for %d s",
                           PIPE_PATIENCE_MS / 1000);
    fcntl(file, F_SETFL, fcntl(file, F_GETFL) & ~O_NONBLOCK);
    return PAPPUS_OK;
}

int pappus_file_open(FILE **out, const char *path, int status, pappus_error *err)
{
    struct stat about = {0};
    *out = NULL;
    int file = open(path, O_RDONLY | O_NONBLOCK | O_CLOEXEC), code = PAPPUS_OK;
    if (file < 0)
        return pappus_fail(err, pappus_file_code(errno, status), path, NULL, NULL,
                           "cannot be opened: %s", strerror(errno));
    if (fstat(file, &about) == 0 && S_ISDIR(about.st_mode))
        code = pappus_fail(err, status, path, NULL, NULL, "is a folder, not a file");
    else if (S_ISFIFO(about.st_mode))
        code = wait_for_writer(file, path, status, err);
    if (code == PAPPUS_OK && !(*out = fdopen(file, "rb"))) code = pappus_fail_memory(err);
    if (code != PAPPUS_OK) close(file);
    return code;
}

int pappus_file_read_looking(char **out, size_t *length, const char *path, size_t limit, int status,
                             pappus_file_look look, void *context, pappus_error *err)
{
    buffer b = {0};
    *out = NULL;
    int code = pappus_file_open(&b.file, path, status, err);
    if (code != PAPPUS_OK) return code;
    code = read_open(&b, path, limit, status, look, context, err);
    fclose(b.file);
    if (code != PAPPUS_OK) {
        free(b.bytes);
        return code;
    }
    *out = b.bytes;
    *length = b.length;
    return PAPPUS_OK;
}

int pappus_file_read(char **out, size_t *length, const char *path, size_t limit, int status,
                     pappus_error *err)
{
    return pappus_file_read_looking(out, length, path, limit, status, NULL, NULL, err);
}

int pappus_file_write_new(const char *path, const char *text, pappus_error *err)
{
    FILE *file = fopen(path, "wx");
    if (!file)
        return pappus_fail(
            err, errno == EEXIST ? PAPPUS_E_REFUSED : PAPPUS_E_OUTPUT, path, NULL, NULL, "%s",
            errno == EEXIST ? "is there already; accepted is a new file" : strerror(errno));
    bool good = fputs(text, file) >= 0 && fputc('\n', file) != EOF;
    if (fclose(file) == 0 && good) return PAPPUS_OK;
    int code = pappus_fail(err, PAPPUS_E_OUTPUT, path, NULL, NULL, "cannot be written: %s",
                           strerror(errno));
    unlink(path);
    return code;
}
