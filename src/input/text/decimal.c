/* SPDX-License-Identifier: GPL-3.0-or-later
 * Decimal commas and points. One table has one way of writing numbers: a number that can be
 * read in one way only (7,5 or 1.234,5) settles it for all. One with three digits behind its
 * only sign and one to three before it (1,500) could be either, and settles nothing. */
#include "decimal.h"
#include "units.h"

#include <stdio.h>
#include <string.h>

#define NUMBER_LIMIT 64
#define DIGITS "0123456789"

static bool is_digit(char c)
{
    return c >= '0' && c <= '9';
}

/* Length of the sign before a number: a hyphen, a plus or U+2212. */
static size_t sign_length(const char *cell)
{
    if (strncmp(cell, "\xE2\x88\x92", 3) == 0) return 3;
    return cell[0] == '-' || cell[0] == '+';
}

static size_t span_of(const char *number)
{
    size_t n = strspn(number, DIGITS ".,");
    while (n > 0 && number[n - 1] == ',')
        n--; /* punctuation behind it */
    return n;
}

/* Whether the only sign of a number may part thousands. */
static bool may_be_thousands(const char *number, size_t at, size_t length)
{
    return at >= 1 && at <= 3 && number[0] != '0' && length - at - 1 == 3;
}

static void keep(size_t *row, char out[24], const char *number, size_t length, size_t at_row)
{
    if (*row) return;
    *row = at_row;
    snprintf(out, 24, "%.*s", (int)length, number);
}

void pappus_decimal_weigh(pappus_decimal_evidence *evidence, const char *cell, size_t row)
{
    const char *number = cell + sign_length(cell);
    size_t length = span_of(number), commas = 0, points = 0, last = 0;
    for (size_t i = 0; i < length; i++) {
        commas += number[i] == ',';
        points += number[i] == '.';
        if (!is_digit(number[i])) last = i;
    }
    if (commas + points == 0 || commas + points == length) return;
    bool comma = number[last] == ',';
    if ((comma ? commas : points) > 1) /* groups of thousands: decimal is the other */
        comma = !comma;
    else if (commas + points == 1 && may_be_thousands(number, last, length)) {
        keep(comma ? &evidence->comma_doubt_row : &evidence->point_doubt_row, evidence->doubt,
             number, length, row);
        return;
    }
    if (comma)
        keep(&evidence->comma_row, evidence->sign, number, length, row);
    else
        keep(&evidence->point_row, evidence->other, number, length, row);
}

/* A number being gathered as C writes it. */
typedef struct {
    char text[NUMBER_LIMIT];
    size_t used;
} gathered;

/* Takes `count` bytes over, false when they do not fit. */
static bool gather(gathered *g, const char *from, size_t count)
{
    if (g->used + count >= sizeof g->text) return false;
    memcpy(g->text + g->used, from, count);
    g->used += count;
    g->text[g->used] = '\0';
    return true;
}

/* The digits before the decimals, without the signs between thousands. False when such a
 * sign stands elsewhere. */
static bool take_whole(gathered *g, const char **number, char thousands)
{
    size_t n = strspn(*number, DIGITS);
    if (!gather(g, *number, n)) return false;
    *number += n;
    while (**number == thousands) {
        if (n < 1 || n > 3 || strspn(*number + 1, DIGITS) != 3) return false;
        if (!gather(g, *number + 1, 3)) return false;
        *number += 4;
    }
    return true;
}

static bool take_decimals(gathered *g, const char **number, char decimal)
{
    if (**number != decimal) return true;
    size_t n = strspn(*number + 1, DIGITS);
    bool taken = gather(g, ".", 1) && gather(g, *number + 1, n);
    *number += 1 + n;
    return taken;
}

static bool take_exponent(gathered *g, const char **number)
{
    if (**number != 'e' && **number != 'E') return true;
    size_t sign = (*number)[1] == '+' || (*number)[1] == '-';
    size_t n = strspn(*number + 1 + sign, DIGITS);
    if (n == 0) return true;
    bool taken = gather(g, *number, 1 + sign + n);
    *number += 1 + sign + n;
    return taken;
}

size_t pappus_decimal_read(double *out, const char *cell, char decimal)
{
    gathered g = {.used = 0};
    size_t sign = sign_length(cell);
    const char *at = cell + sign;
    if (sign && cell[0] != '+') gather(&g, "-", 1);
    if (!take_whole(&g, &at, decimal == ',' ? '.' : ',') || !take_decimals(&g, &at, decimal) ||
        !take_exponent(&g, &at))
        return 0;
    if (is_digit(*at) || *at == '.' || *at == ',') return 0;
    return pappus_number_read(out, g.text) == g.used ? (size_t)(at - cell) : 0;
}
