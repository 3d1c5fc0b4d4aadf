/* SPDX-License-Identifier: GPL-3.0-or-later
 * Splits a table of text into records and cells. */
#ifndef PAPPUS_INPUT_TEXT_CSV_H
#define PAPPUS_INPUT_TEXT_CSV_H

#include <stdbool.h>
#include <stddef.h>

#define PAPPUS_CSV_MAX_CELLS 256

typedef struct {
    char *at, *end; /**< what is still to be read; *end is a NUL */
    size_t line;    /**< line at `at`, from 1 */
    size_t row;     /**< line where the current record begins */
    char separator; /**< comma, semicolon or tab; ' ': blanks */
    bool wide;      /**< of blanks, two and more part cells, one does not; the caller's to set */
    size_t cell_count;
    char *cells[PAPPUS_CSV_MAX_CELLS]; /**< without quotes and outer spaces; in the text itself */
    const char *fault;                 /**< what is wrong, when pappus_csv_next said false */
} pappus_csv;

/** Finds out what parts the cells. text[length] must be a NUL. The text is changed while it
 * is read, but not yet here. */
void pappus_csv_begin(pappus_csv *csv, char *text, size_t length);
/** Whether every record, parted by blanks, has as many cells as the first. */
bool pappus_csv_is_even(const pappus_csv *csv);
/** The next record that is neither empty nor a comment (# first). False at the
 * end, and at a fault, which is then set. */
bool pappus_csv_next(pappus_csv *csv);

#endif
