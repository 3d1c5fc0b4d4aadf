/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "both.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

char *pappus_keep_together(char *out, size_t size, const char *text)
{
    size_t length = 0;
    for (; *text && length + 3 < size; text++) {
        if (*text == ' ') out[length++] = '\xC2';
        out[length++] = *text == ' ' ? '\xA0' : *text;
    }
    out[length] = '\0';
    return out;
}

char *pappus_format_own(char out[PAPPUS_BOTH_SIZE], pappus_quantity quantity, double si,
                        pappus_unit_system units)
{
    char text[PAPPUS_TEXT_SIZE];
    pappus_format(text, sizeof text, quantity, si, units);
    return pappus_keep_together(out, PAPPUS_BOTH_SIZE, text);
}

char *pappus_format_both(char out[PAPPUS_BOTH_SIZE], pappus_quantity quantity, double si,
                         pappus_unit_system units)
{
    char own[PAPPUS_BOTH_SIZE], other[PAPPUS_BOTH_SIZE];
    pappus_format_own(own, quantity, si, units);
    pappus_format_own(other, quantity, si,
                      units == PAPPUS_UNITS_US ? PAPPUS_UNITS_SI : PAPPUS_UNITS_US);
    bool one = !isfinite(si) || strcmp(own, other) == 0;
    snprintf(out, PAPPUS_BOTH_SIZE, one ? "%.64s" : "%.64s (%.64s)", own, other);
    return out;
}
