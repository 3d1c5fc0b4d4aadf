/* SPDX-License-Identifier: GPL-3.0-or-later
 * Which sign parts the decimals of a table, told by all its numbers together. */
#ifndef PAPPUS_INPUT_TEXT_DECIMAL_H
#define PAPPUS_INPUT_TEXT_DECIMAL_H

#include <stdbool.h>
#include <stddef.h>

/** Rows that speak for a sign, 0: none. A number such as 1,500 speaks for neither: it may be
 * one and a half or fifteen hundred. */
typedef struct {
    size_t comma_row, point_row;             /**< it can only be decimal there */
    size_t comma_doubt_row, point_doubt_row; /**< it is in a number there, and may be either */
    char sign[24], other[24],
        doubt[24]; /**< the numbers: a decimal comma, a decimal point, a doubt */
} pappus_decimal_evidence;

void pappus_decimal_weigh(pappus_decimal_evidence *evidence, const char *cell, size_t row);

/** The number at the start of a cell, its decimals behind `decimal`; the other sign may part
 * thousands. Returns its length, 0 when there is none or it is not finite. */
size_t pappus_decimal_read(double *out, const char *cell, char decimal);

#endif
