/* SPDX-License-Identifier: GPL-3.0-or-later
 * Lines and fixed columns. A line ends in LF, CR LF or, as some telegraph
 * circuits send it, CR CR LF. Numbers have at most nine digits. */
#include "wind_lines.h"

#include <string.h>

bool pappus_lines_next(pappus_lines *lines)
{
    if (lines->at >= lines->end) return false;
    const char *stop = memchr(lines->at, '\n', (size_t)(lines->end - lines->at));
    if (!stop) stop = lines->end;
    lines->text = lines->at;
    lines->length = (size_t)(stop - lines->at);
    while (lines->length > 0 && strchr(" \t\r", lines->text[lines->length - 1]))
        lines->length--;
    lines->at = stop < lines->end ? stop + 1 : stop;
    lines->row++;
    return true;
}

bool pappus_columns_integer(const char *text, size_t length, size_t first, size_t last, int *out)
{
    size_t i = first - 1, end = last < length ? last : length, digits = 0;
    int value = 0;
    while (i < end && text[i] == ' ')
        i++;
    bool negative = i < end && text[i] == '-';
    i += negative;
    for (; i < end && text[i] >= '0' && text[i] <= '9' && digits < 9; i++, digits++)
        value = 10 * value + (text[i] - '0');
    while (i < end && text[i] == ' ')
        i++;
    if (digits == 0 || i < end) return false;
    *out = negative ? -value : value;
    return true;
}
