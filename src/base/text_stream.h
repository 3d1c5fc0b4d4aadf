/* SPDX-License-Identifier: GPL-3.0-or-later
 * Text in memory, put together by printing. Not glibc's open_memstream: short of memory that
 * loses text while ferror and fclose say nothing (2.36). */
#ifndef PAPPUS_BASE_TEXT_STREAM_H
#define PAPPUS_BASE_TEXT_STREAM_H

#include <pappus/status.h>

#include <stdbool.h>
#include <stdio.h>

typedef struct {
    FILE *stream;
    char *bytes;
    size_t size;
    size_t capacity;
    bool failed;
} pappus_text;

/** Not to be moved until its end. */
int pappus_text_begin(pappus_text *text, pappus_error *err);
/** Ends the text; bytes, with a NUL behind them, are the caller's to free. On failure nothing
 * is left. */
int pappus_text_finish(pappus_text *text, pappus_error *err);

#endif
