/* SPDX-License-Identifier: GPL-3.0-or-later
 * Values as a page shows them: kept together by no-break spaces, so that a line breaks
 * between values and not within. */
#ifndef PAPPUS_OUTPUT_BOTH_H
#define PAPPUS_OUTPUT_BOTH_H

#include "format.h"

#define PAPPUS_BOTH_SIZE (2 * PAPPUS_TEXT_SIZE + 8)

/** "1200 ft (366 m)": in the reader's unit, then in the other. */
char *pappus_format_both(char out[PAPPUS_BOTH_SIZE], pappus_quantity quantity, double si,
                         pappus_unit_system units);
/** "1200 ft": in the reader's unit alone. */
char *pappus_format_own(char out[PAPPUS_BOTH_SIZE], pappus_quantity quantity, double si,
                        pappus_unit_system units);
/** Copies text with its spaces made no-break spaces; cut to size. */
char *pappus_keep_together(char *out, size_t size, const char *text);

#endif
