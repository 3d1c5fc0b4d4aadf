/* SPDX-License-Identifier: GPL-3.0-or-later
 * Text laid out for a terminal: broken between words, never within one; a table too wide
 * for its columns is told row by row. A column is a character here; wide characters take
 * two on a terminal, and such a line may run over. */
#ifndef PAPPUS_OUTPUT_LAYOUT_H
#define PAPPUS_OUTPUT_LAYOUT_H

#include "writer.h"

enum { LAYOUT_USUAL = 80, LAYOUT_LEAST = 40, LAYOUT_MOST = 100, LAYOUT_CELLS = 10 };

typedef struct {
    FILE *stream;
    int columns;
    bool failed; /* out of memory */
} layout;

/** columns: of the terminal; 0: not known. */
layout layout_begin(FILE *stream, int columns);
/** Columns that a text takes. */
int layout_width(const char *text);
/** Prints text from `column` on, and ends the line; further lines start at `indent`. Control
 * characters become spaces, so that no text of a user drives a terminal. A word longer than a
 * line is cut. most: lines of 80 columns, the
 * last of them cut at a word; 0: as many as it takes. */
void layout_words(layout *to, int column, int indent, int most, const char *text);
/** The same behind a mark or heading, indented by its width or more. */
void layout_beside(layout *to, const char *heading, int indent, int most, const char *text);

typedef struct {
    size_t cell_count, row_count, capacity;
    const char *(*rows)[LAYOUT_CELLS]; /* texts are borrowed; the first row is the headings */
    bool blanks;                       /* to write in: empty cells are drawn */
} layout_table;
void layout_table_add(layout *to, layout_table *table, const char *const *cells, size_t count);
/** Prints the table and forgets its rows. */
void layout_table_end(layout *to, layout_table *table);

#endif
