/* SPDX-License-Identifier: GPL-3.0-or-later
 * A whole file in memory. */
#ifndef PAPPUS_BASE_FILE_H
#define PAPPUS_BASE_FILE_H

#include <pappus/status.h>

#include <stdio.h>

/** No text that we read is larger. */
#define PAPPUS_FILE_LIMIT ((size_t)64 << 20)
/** What a look at the beginning gets to see, at most. */
#define PAPPUS_FILE_HEAD_BYTES ((size_t)64 << 10)

/** Opens a file to read. status: the code of a fault of the file's own (missing, not allowed, a
 * folder); what the machine lacks (file handles, memory, a read error) is PAPPUS_E_SYSTEM. A
 * pipe that nobody writes to is given up after some seconds. */
int pappus_file_open(FILE **out, const char *path, int status, pappus_error *err);
/** The code of a fault that errno tells: status, or PAPPUS_E_SYSTEM for the machine's. */
int pappus_file_code(int reason, int status);
/** Reads a whole file of at most `limit` bytes into a buffer with a NUL behind them (the
 * caller's to free). status: the code of a fault, as PAPPUS_E_PLAN. Missing, unreadable, a
 * directory, empty, too large: each said as it is. */
int pappus_file_read(char **out, size_t *length, const char *path, size_t limit, int status,
                     pappus_error *err);

/** Judges the beginning of a file; what it returns but PAPPUS_OK ends the reading. */
typedef int (*pappus_file_look)(void *context, const char *head, size_t length, pappus_error *err);
/** pappus_file_read that looks first, so that a disk image is not read to its end. */
int pappus_file_read_looking(char **out, size_t *length, const char *path, size_t limit, int status,
                             pappus_file_look look, void *context, pappus_error *err);
/** Writes a text and a line end to a new file; PAPPUS_E_REFUSED when there is one of that name
 * already. Leaves nothing when it fails. */
int pappus_file_write_new(const char *path, const char *text, pappus_error *err);

#endif
