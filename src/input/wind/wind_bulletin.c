/* SPDX-License-Identifier: GPL-3.0-or-later
 * FB bulletins: forecasts of winds and temperatures aloft for aviation (US NWS
 * Aviation Weather Center, About Forecast Winds and Temperatures Aloft; US Navy
 * P-1246, page 2-50). A line per station, read by column: each group ends at or
 * before the right edge of its level's label, and a blank one is not forecast (no
 * wind within 1500 ft of the station's height).
 *
 * DDff is the direction in tens of degrees true and the speed in knots; from 100
 * kt the direction is raised by 50 and the speed lowered by 100, up to 199 and
 * more. A temperature in degC follows, signed to 24000 ft and negative above. The
 * levels to 12000 ft are true heights above the sea, those above are pressure
 * altitudes.
 *
 * 9900 is light and variable, less than 5 kt: here calm with 1.3 m/s standard
 * deviation per component, half of 5 kt, as of a wind spread evenly over that
 * disc (A). Month and year are not in a bulletin: they are those that bring its
 * day nearest to the launch, so a launch time that is wrong by weeks is not
 * noticed; without a launch time the times are not known. Text of several
 * bulletins gives a profile for each in which the station is. */
#include "wind_levels.h"
#include "si.h"
#include "wind_lines.h"
#include "timestamp.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>
#include <time.h>

#define LIGHT_SD_MPS 1.3
#define HIGHEST_FT 60000 /* no bulletin goes above 53000 */
#define TRUE_HEIGHT_TO_FT 12000
#define SIGNED_TO_FT 24000
#define MAX_COLUMNS 16
#define DAY_S 86400.0

typedef struct {
    int level_ft;
    size_t first, last; /* columns of the group, from 1 */
    char label[16];
} column;

typedef struct {
    pappus_wind_reading *reading;
    pappus_winds *out;
    size_t column_count;
    column columns[MAX_COLUMNS];
    double issued_utc_s, valid_utc_s;
    double use_from_s, use_to_s; /* launch times the bulletin is for; NaN: not said */
    size_t station_count;
    char stations[320]; /* names met, for the message */
} bulletin;

static bool starts_with(const pappus_lines *lines, const char *start)
{
    size_t n = strlen(start);
    return lines->length >= n && memcmp(lines->text, start, n) == 0;
}

static bool probe_bulletin(const char *text, size_t length)
{
    pappus_lines lines = {.at = text, .end = text + length};
    int level;
    while (pappus_lines_next(&lines)) {
        if (starts_with(&lines, "DATA BASED ON ")) return true;
        if (starts_with(&lines, "FT ") &&
            pappus_columns_integer(lines.text, lines.length, 3, 8, &level))
            return true;
    }
    return false;
}

/* ------------------------------------------------------------------- times */

/* The time of a day of the month that is nearest to near_utc_s. */
static double day_near(int day, int hour, int minute, double near_utc_s)
{
    double best = NAN;
    struct tm date;
    if (!(fabs(near_utc_s) < 1e11)) return NAN;
    time_t near = (time_t)near_utc_s;
    if (!gmtime_r(&near, &date)) return NAN;
    for (int shift = -1; shift <= 1; shift++) {
        int months = date.tm_year * 12 + date.tm_mon + shift;
        double t = pappus_time_of(1900 + months / 12, 1 + months % 12, day, hour, minute, 0.0);
        if (!isnan(t) && (isnan(best) || fabs(t - near_utc_s) < fabs(best - near_utc_s))) best = t;
    }
    return best;
}

/* Reads "ddhhmmZ" at a column (from 1). */
static int read_day_time(bulletin *b, const pappus_lines *lines, const char *name, size_t first,
                         double near_utc_s, double *out)
{
    int day, hour, minute;
    bool good = lines->length > first + 5 && lines->text[first + 5] == 'Z' &&
                pappus_columns_integer(lines->text, lines->length, first, first + 1, &day) &&
                pappus_columns_integer(lines->text, lines->length, first + 2, first + 3, &hour) &&
                pappus_columns_integer(lines->text, lines->length, first + 4, first + 5, &minute);
    if (!good || day < 1 || day > 31 || hour < 0 || hour > 23 || minute < 0 || minute > 59)
        return pappus_wind_fault(b->reading, lines->row, name, NULL,
                                 "accepted is a day and time as in 180600Z");
    *out = day_near(day, hour, minute, near_utc_s);
    return PAPPUS_OK;
}

/* Seconds from a time of day to the next one of hhmm. */
static double until(double from_s, int hhmm)
{
    double wait = fmod((hhmm / 100) * 3600.0 + (hhmm % 100) * 60.0 - from_s, DAY_S);
    return wait < 0.0 ? wait + DAY_S : wait;
}

static void read_use(bulletin *b, const pappus_lines *lines)
{
    static const char mark[] = "FOR USE ";
    int from, to;
    const char *found = memmem(lines->text, lines->length, mark, sizeof mark - 1);
    if (!found || isnan(b->valid_utc_s)) return;
    size_t first = (size_t)(found - lines->text) + sizeof mark;
    if (!pappus_columns_integer(lines->text, lines->length, first, first + 3, &from) ||
        !pappus_columns_integer(lines->text, lines->length, first + 5, first + 8, &to))
        return;
    double day_s = fmod(b->valid_utc_s, DAY_S);
    double to_s = until(day_s, to), since_s = DAY_S - until(day_s, from);
    b->use_from_s = b->valid_utc_s - (since_s == DAY_S ? 0.0 : since_s);
    b->use_to_s = b->valid_utc_s + to_s;
}

static void check_use(const bulletin *b)
{
    double t = b->reading->wanted.time_utc_s;
    if (isnan(t) || isnan(b->use_from_s) || (t >= b->use_from_s && t <= b->use_to_s)) return;
    char from[40], to[40], launch[40];
    pappus_time_format(launch, sizeof launch, t);
    pappus_time_format(from, sizeof from, b->use_from_s);
    pappus_time_format(to, sizeof to, b->use_to_s);
    pappus_log_add(b->reading->log, PAPPUS_WARNING, PAPPUS_OK, b->reading->path, "wind.time",
                   launch, "the bulletin is for use from %s to %s", from, to);
}

/* ------------------------------------------------------------------ groups */

static int read_labels(bulletin *b, const pappus_lines *lines)
{
    size_t i = 2;
    b->column_count = 0;
    while (i < lines->length) {
        column *c = &b->columns[b->column_count];
        size_t start = i;
        while (start < lines->length && lines->text[start] == ' ')
            start++;
        size_t stop = start;
        while (stop < lines->length && lines->text[stop] != ' ')
            stop++;
        if (b->column_count == MAX_COLUMNS || stop - start > 6 ||
            !pappus_columns_integer(lines->text, lines->length, start + 1, stop, &c->level_ft) ||
            c->level_ft <= (b->column_count ? c[-1].level_ft : 0) || c->level_ft > HIGHEST_FT)
            return pappus_wind_fault(
                b->reading, lines->row, "FT", NULL,
                "accepted are rising heights up to 60000 ft, as in FT  3000    "
                "6000");
        c->first = b->column_count ? c[-1].last + 1 : 5;
        c->last = stop;
        snprintf(c->label, sizeof c->label, "%d ft", c->level_ft);
        b->column_count++;
        i = stop;
    }
    return PAPPUS_OK;
}

/* Direction and speed of DDff; false when there is no such code. */
static bool decode_wind(pappus_wind_raw *raw, const char *group)
{
    int dd, ff;
    if (strspn(group, "0123456789") < 4) return false;
    dd = (group[0] - '0') * 10 + group[1] - '0';
    ff = (group[2] - '0') * 10 + group[3] - '0';
    if (dd == 99 && ff == 0) {
        raw->speed_sd_mps = LIGHT_SD_MPS;
        dd = 0;
    } else if (dd > 50) {
        dd -= 50;
        ff += 100;
    }
    if (dd > 36 || (dd == 0 && ff > 0)) return false;
    raw->direction_deg = dd * 10.0;
    raw->speed_mps = ff * PAPPUS_KNOT_MPS;
    return true;
}

/* Temperature behind DDff: signed, or two digits and negative above 24000 ft. */
static bool decode_temperature(pappus_wind_raw *raw, const char *text, int level_ft)
{
    bool is_signed = text[0] == '+' || text[0] == '-';
    const char *digits = text + is_signed;
    if (text[0] == '\0') return true;
    if (strspn(digits, "0123456789") != 2 || digits[2] != '\0') return false;
    if (!is_signed && level_ft <= SIGNED_TO_FT) return false;
    int value = (digits[0] - '0') * 10 + digits[1] - '0';
    raw->temperature_k = PAPPUS_ZERO_DEGC_K + (text[0] == '+' ? value : -value);
    return true;
}

static int read_group(bulletin *b, pappus_wind_builder *builder, const pappus_lines *lines,
                      const column *c)
{
    char group[16];
    size_t first = c->first - 1, last = c->last < lines->length ? c->last : lines->length;
    while (first < last && lines->text[first] == ' ')
        first++;
    while (last > first && lines->text[last - 1] == ' ')
        last--;
    if (first >= last) return PAPPUS_OK;
    bool fits = last - first < sizeof group;
    snprintf(group, sizeof group, "%.*s", (int)(last - first), lines->text + first);
    pappus_wind_raw raw = pappus_wind_raw_empty(
        lines->row, c->level_ft <= TRUE_HEIGHT_TO_FT ? PAPPUS_HEIGHT_MSL : PAPPUS_HEIGHT_PRESSURE);
    raw.height_m = c->level_ft * 3048 / 10000.0;
    if (!fits || !decode_wind(&raw, group) || !decode_temperature(&raw, group + 4, c->level_ft))
        return pappus_wind_fault(b->reading, lines->row, c->label, group,
                                 "not a wind group; accepted is as 3222 or 3136-08, above 24000 ft "
                                 "801944");
    if (raw.speed_mps >= 199 * PAPPUS_KNOT_MPS)
        pappus_log_add(b->reading->log, PAPPUS_WARNING, PAPPUS_OK, b->reading->path, c->label,
                       group, "199 kt or more; 199 kt is taken");
    builder->columns = (pappus_wind_columns){
        .height = c->label, .direction = c->label, .speed = c->label, .temperature = c->label};
    return pappus_wind_builder_add(builder, &raw);
}

/* ---------------------------------------------------------------- stations */

static size_t name_length(const pappus_lines *lines)
{
    size_t n = 0;
    while (n < lines->length && n < 5 && lines->text[n] >= '0' && lines->text[n] <= 'Z')
        n++;
    return n >= 3 && n <= 4 && (n == lines->length || lines->text[n] == ' ') ? n : 0;
}

static void note_station(bulletin *b, const char *name, size_t length)
{
    size_t used = strlen(b->stations);
    b->station_count++;
    if (used + length + 6 < sizeof b->stations)
        snprintf(b->stations + used, sizeof b->stations - used, "%s%.*s", used ? " " : "",
                 (int)length, name);
    else if (b->stations[used - 1] != '.')
        memcpy(b->stations + used, " ...", 5);
}

static int read_station(bulletin *b, const pappus_lines *lines)
{
    const char *path = b->reading->path;
    pappus_wind_builder builder = {.reading = b->reading};
    int status = PAPPUS_OK;
    if (lines->length > b->columns[b->column_count - 1].last)
        return pappus_wind_fault(b->reading, lines->row, NULL, NULL,
                                 "text behind the last column, which ends at character %zu",
                                 b->columns[b->column_count - 1].last);
    for (size_t i = 0; i < b->column_count && status != PAPPUS_E_MEMORY; i++)
        status = read_group(b, &builder, lines, &b->columns[i]);
    pappus_wind_profile *profile =
        pappus_winds_append(b->out, path, pappus_wind_bulletin.name, b->reading->source->station);
    if (!profile || status == PAPPUS_E_MEMORY) {
        pappus_wind_builder_clear(&builder);
        return pappus_wind_memory_fault(b->reading);
    }
    profile->dated_by_launch = true;
    profile->issued_utc_s = b->issued_utc_s;
    profile->valid_utc_s = b->valid_utc_s;
    check_use(b);
    return pappus_wind_builder_finish(&builder, profile);
}

static int read_line(bulletin *b, const pappus_lines *lines)
{
    static const char data[] = "DATA BASED ON ", valid[] = "VALID ";
    const char *station = b->reading->source->station;
    if (starts_with(lines, data)) {
        b->column_count = 0;
        b->valid_utc_s = b->use_from_s = b->use_to_s = NAN;
        return read_day_time(b, lines, "DATA BASED ON", sizeof data, b->reading->wanted.time_utc_s,
                             &b->issued_utc_s);
    }
    if (starts_with(lines, valid)) {
        int status =
            read_day_time(b, lines, "VALID", sizeof valid, b->issued_utc_s, &b->valid_utc_s);
        read_use(b, lines);
        return status;
    }
    if (starts_with(lines, "FT ")) return read_labels(b, lines);
    size_t length = name_length(lines);
    if (b->column_count == 0 || length == 0) return PAPPUS_OK;
    note_station(b, lines->text, length);
    if (!station || strlen(station) != length || strncasecmp(station, lines->text, length) != 0)
        return PAPPUS_OK;
    if (b->out->profile_count == PAPPUS_WIND_MAX_PROFILES)
        return pappus_wind_fault(b->reading, lines->row, NULL, NULL,
                                 "more than %d bulletins with this station",
                                 PAPPUS_WIND_MAX_PROFILES);
    return read_station(b, lines);
}

static int read_bulletin(pappus_winds *out, pappus_wind_reading *reading)
{
    bulletin b = {.reading = reading,
                  .out = out,
                  .issued_utc_s = NAN,
                  .valid_utc_s = NAN,
                  .use_from_s = NAN,
                  .use_to_s = NAN};
    pappus_lines lines = {.at = reading->bytes, .end = reading->bytes + reading->length};
    int status = PAPPUS_OK;
    while (status == PAPPUS_OK && pappus_lines_next(&lines))
        status = read_line(&b, &lines);
    if (status != PAPPUS_OK || out->profile_count > 0) {
        if (status == PAPPUS_OK && isnan(reading->wanted.time_utc_s))
            pappus_log_add(reading->log, PAPPUS_NOTE, PAPPUS_OK, reading->path, NULL, NULL,
                           "a bulletin has no month and year, so its age is known only with "
                           "wind.time");
        return status;
    }
    return pappus_wind_file_fault(
        reading, "station", reading->source->station,
        b.station_count ? "%s %s" : "%s: no line of a station under FT is in the bulletin%s",
        reading->source->station ? "not in the bulletin; accepted is one of"
                                 : "not given; accepted is one of",
        b.stations);
}

const pappus_wind_format pappus_wind_bulletin = {.name = "FB bulletin",
                                                 .help = "an FB bulletin of winds aloft",
                                                 .says_kind = true,
                                                 .kind = PAPPUS_WIND_FORECAST,
                                                 .text = true,
                                                 .chooses = "station",
                                                 .probe = probe_bulletin,
                                                 .read = read_bulletin};
