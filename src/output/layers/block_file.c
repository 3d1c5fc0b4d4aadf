/* SPDX-License-Identifier: GPL-3.0-or-later
 * Files that shapelib writes, in blocks. shapelib seeks before each record, which
 * with stdio is four system calls a record; here a seek only notes the place, and what
 * is written at the end of the block, or within it, goes to the block.
 *
 * shapelib's closing calls write headers and return nothing, and its hooks get no
 * context. So a file keeps its first failure, and once it is kept outlives its close. */
#include "block_file.h"

#include <errno.h>
#include <fcntl.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#define BLOCK_BYTES 65536

typedef struct {
    int descriptor;
    bool kept;
    int failure;
    size_t at;          /* where shapelib stands in the file */
    size_t start, used; /* of the block: its place in the file, and its bytes */
    char block[BLOCK_BYTES];
} block_file;

static block_file *of(SAFile file)
{
    return (block_file *)(void *)file;
}

static void fail(block_file *file)
{
    if (file->failure == 0) file->failure = errno ? errno : EIO;
}

static SAFile hook_open(const char *path, const char *access)
{
    int flags = strchr(access, '+') ? O_RDWR : access[0] == 'w' ? O_WRONLY : O_RDONLY;
    if (access[0] == 'w') flags |= O_CREAT | O_TRUNC;
    block_file *file = calloc(1, sizeof *file);
    if (!file) return NULL;
    file->descriptor = open(path, flags | O_CLOEXEC, 0666);
    if (file->descriptor >= 0) return (SAFile)(void *)file;
    free(file);
    return NULL;
}

static void put(block_file *file, const char *bytes, size_t size, size_t at)
{
    while (size > 0 && file->failure == 0) {
        ssize_t count = pwrite(file->descriptor, bytes, size, (off_t)at);
        if (count < 0 && errno == EINTR) continue;
        if (count <= 0) {
            fail(file);
            return;
        }
        bytes += count;
        size -= (size_t)count;
        at += (size_t)count;
    }
}

static void put_block(block_file *file)
{
    put(file, file->block, file->used, file->start);
    file->used = 0;
}

static SAOffset hook_write(void *from, SAOffset size, SAOffset count, SAFile handle)
{
    block_file *file = of(handle);
    size_t bytes = size * count;
    bool joins = file->at >= file->start && file->at <= file->start + file->used;
    if (!joins || file->at - file->start + bytes > BLOCK_BYTES) {
        put_block(file);
        file->start = file->at;
    }
    size_t within = file->at - file->start;
    if (bytes > BLOCK_BYTES) {
        put(file, from, bytes, file->at);
    } else {
        memcpy(file->block + within, from, bytes);
        if (within + bytes > file->used) file->used = within + bytes;
    }
    file->at += bytes;
    return file->failure == 0 ? count : 0;
}

static SAOffset hook_read(void *out, SAOffset size, SAOffset count, SAFile handle)
{
    block_file *file = of(handle);
    put_block(file);
    ssize_t got = pread(file->descriptor, out, size * count, (off_t)file->at);
    if (got <= 0) return 0;
    file->at += (size_t)got;
    return (size_t)got / size;
}

static SAOffset hook_seek(SAFile handle, SAOffset offset, int whence)
{
    block_file *file = of(handle);
    struct stat now = {0};
    if (whence == SEEK_END) {
        put_block(file);
        if (fstat(file->descriptor, &now) != 0) {
            fail(file);
            return (SAOffset)-1;
        }
    }
    file->at = offset + (whence == SEEK_CUR ? file->at : (size_t)now.st_size);
    return 0;
}

static SAOffset hook_tell(SAFile handle)
{
    return of(handle)->at;
}

static int hook_flush(SAFile handle)
{
    put_block(of(handle));
    return of(handle)->failure == 0 ? 0 : EOF;
}

static int hook_close(SAFile handle)
{
    block_file *file = of(handle);
    put_block(file);
    if (close(file->descriptor) != 0) fail(file);
    int status = file->failure == 0 ? 0 : EOF;
    if (!file->kept) free(file);
    return status;
}

static void hook_error(const char *message)
{
    (void)message; /* what failed is known from the file and the returned value */
}

/* shapelib asks for it, to read numbers, which no writer does. The caller stands
 * in the C locale. */
static double hook_number(const char *text)
{
    return strtod(text, NULL);
}

const SAHooks block_file_hooks = {hook_open,  hook_read,  hook_write, hook_seek,  hook_tell,
                                  hook_flush, hook_close, remove,     hook_error, hook_number};

void block_file_keep(SAFile file)
{
    of(file)->kept = true;
}

int block_file_end(SAFile file)
{
    int failure = file ? of(file)->failure : 0;
    free(of(file));
    return failure;
}
