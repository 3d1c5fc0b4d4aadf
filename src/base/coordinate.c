/* SPDX-License-Identifier: GPL-3.0-or-later
 * Latitudes and longitudes as degrees and decimal minutes (ISO 6709, annex D, has these forms
 * for people). A thousandth of a minute of latitude is 1.9 m. */
#include "coordinate.h"
#include "error.h"
#include "units.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static void skip_blanks(const char **text)
{
    while (**text == ' ')
        ++*text;
}

/* +1 or -1 for a hemisphere's letter, which is passed; 0 when there is none. */
static int take_hemisphere(const char **text, bool latitude)
{
    char c = **text;
    if (c >= 'a' && c <= 'z') c = (char)(c - 'a' + 'A');
    int sign = c == (latitude ? 'N' : 'E') ? 1 : c == (latitude ? 'S' : 'W') ? -1 : 0;
    if (sign) ++*text;
    return sign;
}

/* Passes one of the marks that may stand behind degrees, minutes or seconds. */
static void skip_mark(const char **text, int part)
{
    static const char *const marks[3][4] = {{"\xC2\xB0", "deg", NULL, NULL},
                                            {"'", "\xE2\x80\xB2", "min", NULL},
                                            {"\"", "\xE2\x80\xB3", "''", "sec"}};
    skip_blanks(text);
    for (int i = 0; i < 4 && marks[part][i]; i++) {
        size_t n = strlen(marks[part][i]);
        if (strncmp(*text, marks[part][i], n) != 0) continue;
        *text += n;
        break;
    }
    skip_blanks(text);
}

/* One number without sign or exponent; only the last one may have decimals. */
static bool take_part(double *out, const char **text)
{
    size_t n = strspn(*text, "0123456789."), read;
    char number[32];
    if (n == 0 || n >= sizeof number) return false;
    memcpy(number, *text, n);
    number[n] = '\0';
    read = pappus_number_read(out, number);
    *text += n;
    return read == n;
}

bool pappus_coordinate_read(double *degrees, const char *text, bool latitude)
{
    double part[3] = {0, 0, 0};
    int count = 0;
    skip_blanks(&text);
    int before = take_hemisphere(&text, latitude);
    skip_blanks(&text);
    for (; count < 3 && *text >= '0' && *text <= '9'; count++) {
        if (count > 0 && part[count - 1] != floor(part[count - 1])) return false;
        if (!take_part(&part[count], &text)) return false;
        skip_mark(&text, count);
    }
    int behind = take_hemisphere(&text, latitude);
    skip_blanks(&text);
    if (count == 0 || *text || (before != 0) == (behind != 0)) return false;
    double value = part[0] + part[1] / 60.0 + part[2] / 3600.0;
    if (part[1] >= 60.0 || part[2] >= 60.0 || value > (latitude ? 90.0 : 180.0)) return false;
    *degrees = (before + behind) * value;
    return true;
}

/* Degrees with a sign, or a coordinate with its hemisphere. */
static bool take_degrees(double *degrees, const char *text, bool latitude)
{
    double value;
    skip_blanks(&text);
    size_t n = pappus_number_read(&value, text);
    const char *rest = text + n;
    skip_blanks(&rest);
    if (n == 0 || *rest) return pappus_coordinate_read(degrees, text, latitude);
    if (!(fabs(value) <= (latitude ? 90.0 : 360.0))) return false;
    *degrees = value;
    return true;
}

int pappus_place_parse(double *latitude_deg, double *longitude_deg, const char *text,
                       pappus_error *err)
{
    char first[80];
    double place_deg[2];
    size_t n = strcspn(text, ",");
    bool good = text[n] == ',' && n < sizeof first;
    snprintf(first, sizeof first, "%.*s", good ? (int)n : 0, text);
    if (!good || !take_degrees(&place_deg[0], first, true) ||
        !take_degrees(&place_deg[1], text + n + 1, false))
        return pappus_fail(err, PAPPUS_E_PLAN, NULL, NULL, text,
                           "accepted is latitude,longitude in degrees, north and east positive, "
                           "or in minutes: 41.76,-98.44 or \"41 45.930 N, 98 26.100 W\"");
    *latitude_deg = place_deg[0];
    *longitude_deg = place_deg[1];
    return PAPPUS_OK;
}

int pappus_coordinate_format(char *out, size_t size, double degrees, bool latitude)
{
    long thousandths = lround(fabs(degrees) * 60000.0);
    const char *letter = latitude ? (degrees < 0 ? "S" : "N") : degrees < 0 ? "W" : "E";
    return snprintf(out, size, "%ld %02ld.%03ld %s", thousandths / 60000, thousandths / 1000 % 60,
                    thousandths % 1000, letter);
}
