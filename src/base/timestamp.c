/* SPDX-License-Identifier: GPL-3.0-or-later
 * Times of ISO 8601 (extended format, with a zone) to seconds since 1970, UTC. A blank may
 * stand for the T, as RFC 3339 (section 5.6) lets it, and before the zone.
 * Days from the proleptic Gregorian calendar by counting in years that begin in
 * March, so that the leap day is the last of the year (Richards, in: Explanatory
 * Supplement to the Astronomical Almanac, 3rd ed., 2013, section 15.11). Without
 * leap seconds; years 1900 to 2199. The C library's own conversions are not used:
 * they depend on the time zone of the machine or read less strictly. */
#include "timestamp.h"
#include "error.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

/* Days since 1970-01-01. */
static long days_of(long year, long month, long day)
{
    long march_year = month > 2 ? year : year - 1;
    long march_month = month > 2 ? month - 3 : month + 9;
    long day_of_year = (153 * march_month + 2) / 5 + day - 1;
    return march_year * 365 + march_year / 4 - march_year / 100 + march_year / 400 + day_of_year -
           719468;
}

static void date_of(long days, long *year, long *month, long *day)
{
    *year = 1970 + days / 366 - 1;
    while (days_of(*year + 1, 1, 1) <= days)
        (*year)++;
    *month = 1;
    while (*month < 12 && days_of(*year, *month + 1, 1) <= days)
        (*month)++;
    *day = days - days_of(*year, *month, 1) + 1;
}

double pappus_time_of(int year, int month, int day, int hour, int minute, double second)
{
    if (year < 1900 || year > 2199 || month < 1 || month > 12 || day < 1 || day > 31) return NAN;
    if (hour < 0 || hour > 24 || minute < 0 || minute > 59 || !(second >= 0.0 && second < 60.0)) {
        return NAN;
    }
    if (hour == 24 && (minute > 0 || second > 0.0)) return NAN;
    long next = month == 12 ? days_of(year + 1, 1, 1) : days_of(year, month + 1, 1);
    if (day > next - days_of(year, month, 1)) return NAN;
    return 86400.0 * (double)days_of(year, month, day) + 3600.0 * hour + 60.0 * minute + second;
}

/* Exactly `count` digits; moves on past them. */
static bool take_digits(int *out, const char **text, int count)
{
    int value = 0;
    for (int i = 0; i < count; i++, (*text)++) {
        if (**text < '0' || **text > '9') return false;
        value = 10 * value + (**text - '0');
    }
    *out = value;
    return true;
}

static bool take(const char **text, char expected)
{
    if (**text != expected) return false;
    (*text)++;
    return true;
}

static bool take_second(double *out, const char **text)
{
    int whole;
    double scale = 0.1;
    if (!take_digits(&whole, text, 2)) return false;
    *out = whole;
    if (!take(text, '.')) return true;
    if (**text < '0' || **text > '9') return false;
    for (; **text >= '0' && **text <= '9'; (*text)++, scale *= 0.1)
        *out += scale * (**text - '0');
    return true;
}

/* "Z", "UTC", "+05:30", "+0530", "+05", a blank before it or not. */
static bool take_zone(double *offset_s, const char **text)
{
    int hour, minute = 0;
    *offset_s = 0.0;
    take(text, ' ');
    if (take(text, 'Z') || take(text, 'z')) return true;
    if (strcmp(*text, "UTC") == 0) {
        *text += 3;
        return true;
    }
    double sign = **text == '-' ? -1.0 : 1.0;
    if (!take(text, '+') && !take(text, '-')) return false;
    if (!take_digits(&hour, text, 2)) return false;
    if ((take(text, ':') || **text != '\0') && !take_digits(&minute, text, 2)) return false;
    *offset_s = sign * (3600.0 * hour + 60.0 * minute);
    return hour <= 14 && minute <= 59;
}

int pappus_time_parse(double *utc_s, const char *text, pappus_error *err)
{
    int year = 0, month = 0, day = 0, hour = 0, minute = 0;
    double second = 0.0, offset_s = 0.0, value = NAN;
    const char *p = text;
    bool date = take_digits(&year, &p, 4) && take(&p, '-') && take_digits(&month, &p, 2) &&
                take(&p, '-') && take_digits(&day, &p, 2) && (take(&p, 'T') || take(&p, ' ')) &&
                take_digits(&hour, &p, 2);
    bool time = date && (!take(&p, ':') || (take_digits(&minute, &p, 2) &&
                                            (!take(&p, ':') || take_second(&second, &p))));
    if (time && take_zone(&offset_s, &p) && *p == '\0') {
        value = pappus_time_of(year, month, day, hour, minute, second) - offset_s;
    }
    if (!isfinite(value)) {
        return pappus_fail(err, PAPPUS_E_PLAN, NULL, NULL, NULL,
                           "not a time; accepted is a date and time of ISO 8601 with its zone, as "
                           "in \"2027-04-17T15:00Z\" or \"2027-04-17 10:00 -05:00\"");
    }
    *utc_s = value;
    return PAPPUS_OK;
}

int pappus_time_format(char *out, size_t size, double utc_s)
{
    long year, month, day;
    if (!(fabs(utc_s) < 1e11)) return snprintf(out, size, "none");
    long total = lround(utc_s);
    long days = total >= 0 ? total / 86400 : -((-total + 86399) / 86400);
    long rest = total - 86400 * days;
    date_of(days, &year, &month, &day);
    return snprintf(out, size, "%04ld-%02ld-%02ldT%02ld:%02ld:%02ldZ", year, month, day,
                    rest / 3600, rest / 60 % 60, rest % 60);
}

void pappus_time_month_hour(int *month, int *hour, double utc_s)
{
    long year, of_year, day, days = (long)floor(utc_s / 86400.0);
    date_of(days, &year, &of_year, &day);
    *month = (int)of_year;
    *hour = (int)floor((utc_s - 86400.0 * (double)days) / 3600.0);
}
