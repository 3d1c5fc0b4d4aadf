/* SPDX-License-Identifier: GPL-3.0-or-later
 * Lines and fixed columns of the older text formats. */
#ifndef PAPPUS_INPUT_WIND_LINES_H
#define PAPPUS_INPUT_WIND_LINES_H

#include <stdbool.h>
#include <stddef.h>

/** Walks the lines of a text; text and length are the current line's, without
 * its end and the blanks before that. Begin with {.at, .end}, and .row where lines of the
 * file came before. */
typedef struct {
    const char *at, *end;
    size_t row; /**< of the line, from 1 */
    const char *text;
    size_t length;
} pappus_lines;

bool pappus_lines_next(pappus_lines *lines);

/** The whole number in columns first to last (from 1), blanks around it allowed.
 * False when there is none, or anything else. */
bool pappus_columns_integer(const char *text, size_t length, size_t first, size_t last, int *out);

#endif
