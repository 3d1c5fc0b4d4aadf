/* SPDX-License-Identifier: GPL-3.0-or-later
 * A sheet in words: one ordered tree of sections, which the terminal and a page lay out
 * and neither words again.
 *
 *   title, lines[]                 the head
 *   sections[]: id, heading, whole (kept on one sheet), columns (parts side by side),
 *     notes[], list (what items[] are: "notes", or "check" to tick), items[], caution, and
 *     parts[]: heading, style ("", "flown", "dense steps" or "blanks": to write in), caption,
 *       headings[], rows[]: name, user, cells[]: label, text; and totals[] */
#ifndef PAPPUS_OUTPUT_SHEET_H
#define PAPPUS_OUTPUT_SHEET_H

#include "format.h"
#include "json_build.h"

typedef struct {
    json_builder *build;
    pappus_unit_system units;
    bool both; /**< values in the other units too */
    cJSON *sections, *scratch;
} sheet;

/** The sheet's tree with an empty head; the caller adds "title", ends the sheet and frees
 * the tree. */
cJSON *sheet_begin(sheet *s, json_builder *build, pappus_unit_system units, bool both);
void sheet_end(sheet *s);

/** A text by a format, good until the sheet ends. */
const char *sheet_text(const sheet *s, const char *format, ...)
    __attribute__((format(printf, 2, 3)));
/** "1200 ft (366 m)", or "1200 ft"; "300 to 1240 ft". */
const char *sheet_show(const sheet *s, pappus_quantity quantity, double si);
const char *sheet_range(const sheet *s, pappus_quantity quantity, double low, double high);

/** Adds a line to a list of a section, a part or the root. */
void sheet_say(const sheet *s, cJSON *to, const char *list, const char *line);

typedef struct {
    const char *id, *text, *list, *caution;
    bool whole, columns;
} sheet_heading;
cJSON *sheet_section(const sheet *s, sheet_heading heading);
/** headings: of the columns, separated by '|'. */
cJSON *sheet_part(const sheet *s, cJSON *section, const char *heading, const char *style,
                  const char *caption, const char *headings);
/** A row of a part: its name, and the texts of its cells, NULL behind the last.
 * user: the name is in words of the plan. */
void sheet_row(const sheet *s, cJSON *part, bool user, const char *name, ...)
    __attribute__((sentinel));

#endif
