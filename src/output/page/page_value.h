/* SPDX-License-Identifier: GPL-3.0-or-later
 * The forms in which a page shows a value: {{key form}}.
 *
 *   cut                 a user's text, cut to PAGE_LONGEST bytes with an ellipsis
 *   own Q, both Q       a quantity of format.h in the reader's units, in both
 *   chance, of100       0.981 as "98.1 %"; 0.981 as "98"
 *   fixed0, fixed1      that many decimals
 *   compass, opposite   the compass point of a bearing, and of the way back
 *   bearing             "240 deg true (237 magnetic)" */
#ifndef PAPPUS_OUTPUT_PAGE_VALUE_H
#define PAPPUS_OUTPUT_PAGE_VALUE_H

#include "page_fill.h"

#define PAGE_LONGEST 300 /* bytes of a user's text that are shown */

typedef struct {
    pappus_unit_system units;
    double declination_deg;
} page_reader;

/** A page_form; context is a page_reader. */
bool page_value(char out[PAGE_VALUE_SIZE], const cJSON *value, const char *form,
                const void *context);
/** Fills an embedded page for a reader. */
int page_make(char **out, size_t *size, const char *name, const cJSON *tree,
              const page_reader *reader, pappus_error *err);

#endif
