/* SPDX-License-Identifier: GPL-3.0-or-later
 * A page of HTML to read on a phone and to print: the style and the elements that
 * the report and the bench card share. One file, no network, no fonts to fetch. All
 * text is escaped; text of users carries dir="auto" and is cut to PAGE_LONGEST. */
#ifndef PAPPUS_OUTPUT_PAGE_H
#define PAPPUS_OUTPUT_PAGE_H

#include "format.h"
#include "xml_text.h"

#define PAGE_LONGEST 300 /* bytes of a user's text that are shown */

/** Begins the page up to <body>; end with page_end and pappus_xml_finish. */
int page_begin(pappus_xml *xml, const char *title, pappus_error *err);
void page_end(pappus_xml *xml);

/** <element class="style">; style may be NULL. Close with page_close, which never
 * writes the short form that HTML does not know. */
void page_open(pappus_xml *xml, const char *element, const char *style);
void page_open_id(pappus_xml *xml, const char *element, const char *style, const char *id);
void page_close(pappus_xml *xml);
/** Element with text by a format. */
void page_put(pappus_xml *xml, const char *element, const char *style, const char *format, ...)
    __attribute__((format(printf, 4, 5)));
/** Element with text of a user. */
void page_put_user(pappus_xml *xml, const char *element, const char *style, const char *text);
void page_text(pappus_xml *xml, const char *format, ...) __attribute__((format(printf, 2, 3)));
/** Copies a user's text, cut with an ellipsis. */
char *page_cut(char out[PAGE_LONGEST + 4], const char *text);
/** A section with its heading; close with page_close. */
void page_section(pappus_xml *xml, const char *id, const char *heading);

typedef enum { PAGE_YES, PAGE_NO, PAGE_OPEN } page_mark;
/** A sign that is told by its shape: a tick, a cross, a question mark. */
void page_put_mark(pappus_xml *xml, page_mark mark);
page_mark page_mark_of(pappus_verdict verdict);

/** A table that becomes a list of cards on a narrow screen. */
#define PAGE_MOST_COLUMNS 12
typedef struct {
    pappus_xml *xml;
    size_t columns, column;
    const char *headings[PAGE_MOST_COLUMNS];
} page_table;
/** style: NULL, "dense" (short on a narrow screen) or "cards" (cards at any width). */
void page_table_begin(page_table *table, pappus_xml *xml, const char *style, const char *caption,
                      const char *const *headings, size_t columns);
void page_table_end(page_table *table);
void page_row_begin(page_table *table);
void page_row_end(page_table *table);
/** The first cell of a row is its heading. */
void page_cell(page_table *table, const char *format, ...) __attribute__((format(printf, 2, 3)));
void page_cell_user(page_table *table, const char *text);

/** "1200 ft (366 m)": in the reader's unit, then in the other; a line breaks between
 * them and not within. */
#define PAGE_BOTH_SIZE PAPPUS_BOTH_SIZE
char *page_both(char out[PAGE_BOTH_SIZE], pappus_quantity quantity, double si,
                pappus_unit_system units);
/** The same in the reader's unit alone, and a chance. */
char *page_one(char out[PAGE_BOTH_SIZE], pappus_quantity quantity, double si,
               pappus_unit_system units);
char *page_chance(char out[PAGE_BOTH_SIZE], double chance);

#endif
