/* SPDX-License-Identifier: GPL-3.0-or-later
 * Soundings of the Integrated Global Radiosonde Archive, version 2 (NOAA NCEI,
 * IGRA v2.2 Format Description: Sounding Data, 2023): fixed columns, a header
 * line with # for each sounding and one line per level, pressure levels first and
 * the levels of wind from the bottom again. -9999 is missing, -8888 was removed
 * by their checks. Heights are geopotential, above the sea.
 *
 * The newest sounding of the file is read, or the one asked for; it must have as
 * many levels as its header says. Its surface level is split: the air is the
 * station's, the wind is measured 10 m above it. Levels of a pressure and no height (many
 * wind levels are) get one by hydrostatics (wind_hydrostatic.c). A launch site
 * far from the station has another wind; the file cannot tell how far. */
#include "wind_hydrostatic.h"
#include "wind_levels.h"
#include "si.h"
#include "wind_lines.h"
#include "timestamp.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define MISSING (-9999)
#define REMOVED (-8888)
#define WIND_ABOVE_STATION_M 10.0
#define HEADER_COLUMNS 36
#define LEVEL_COLUMNS 51

typedef struct {
    char station[12];
    double time_utc_s;
    double latitude_deg, longitude_deg; /* NaN: not known */
    int level_count;                    /* as the header says */
    size_t found_count;                 /* lines that follow */
    pappus_lines lines;                 /* behind the header */
    size_t row;                         /* of the header */
} sounding;

typedef struct {
    size_t count;
    double first_utc_s, last_utc_s; /* least and greatest time */
    sounding chosen, complete;      /* complete: the newest that is */
    size_t cut_row;                 /* header of a sounding that is not complete, 0: none */
} survey;

static bool begins_sounding(const char *line, size_t length)
{
    return length > 0 && line[0] == '#';
}

static bool probe_igra(const char *text, size_t length)
{
    int year, month, day;
    if (length < HEADER_COLUMNS || !begins_sounding(text, length)) return false;
    if (memchr(text, '\n', HEADER_COLUMNS)) return false;
    if (memchr(text + 1, ' ', 11) || text[12] != ' ') return false;
    return pappus_columns_integer(text, length, 14, 17, &year) &&
           pappus_columns_integer(text, length, 19, 20, &month) &&
           pappus_columns_integer(text, length, 22, 23, &day);
}

/* The nominal hour, else the time of release; NaN when neither is known. */
static double time_of_header(const char *text, size_t length)
{
    int year, month, day, hour = 99, release = 9999;
    if (!pappus_columns_integer(text, length, 14, 17, &year) ||
        !pappus_columns_integer(text, length, 19, 20, &month) ||
        !pappus_columns_integer(text, length, 22, 23, &day))
        return NAN;
    pappus_columns_integer(text, length, 25, 26, &hour);
    pappus_columns_integer(text, length, 28, 31, &release);
    if (hour != 99) return pappus_time_of(year, month, day, hour, 0, 0.0);
    return pappus_time_of(year, month, day, release / 100, release % 100, 0.0);
}

/* Ten-thousandths of a degree; what is no place on Earth (-98.8888 is "missing" for the
 * latitude, -998.8888 for the longitude) is not known. */
static double degrees_of_header(const pappus_lines *lines, size_t first, size_t last, double most)
{
    int parts;
    if (!pappus_columns_integer(lines->text, lines->length, first, last, &parts)) return NAN;
    return fabs(parts / 1e4) <= most ? parts / 1e4 : NAN;
}

static int read_header(sounding *out, const pappus_lines *lines, pappus_wind_reading *reading)
{
    *out = (sounding){.lines = *lines, .row = lines->row};
    if (lines->length < HEADER_COLUMNS ||
        !pappus_columns_integer(lines->text, lines->length, 33, 36, &out->level_count) ||
        out->level_count < 0)
        return pappus_wind_fault(reading, lines->row, "NUMLEV", NULL,
                                 "not a header of a sounding; accepted is a number of levels in "
                                 "columns 33 to 36");
    out->time_utc_s = time_of_header(lines->text, lines->length);
    if (isnan(out->time_utc_s))
        return pappus_wind_fault(reading, lines->row, "YEAR to HOUR", NULL,
                                 "no such time; accepted is a date in columns 14 to 23 and an hour "
                                 "in 25 to 26, or 99 and a release time in 28 to 31");
    out->latitude_deg = degrees_of_header(lines, 56, 62, 90.0);
    out->longitude_deg = degrees_of_header(lines, 64, 71, 180.0);
    memcpy(out->station, lines->text + 1, 11);
    return PAPPUS_OK;
}

/* Takes a sounding whose lines are all counted into the survey. */
static void enter(survey *s, const sounding *one, double asked_utc_s)
{
    bool complete = one->found_count == (size_t)one->level_count && one->level_count > 0;
    bool newest = isnan(asked_utc_s) && (s->count == 0 || one->time_utc_s > s->chosen.time_utc_s);
    if (newest || one->time_utc_s == asked_utc_s) s->chosen = *one;
    if (complete && (s->complete.row == 0 || one->time_utc_s > s->complete.time_utc_s))
        s->complete = *one;
    if (!complete) s->cut_row = one->row;
    s->first_utc_s = s->count ? fmin(s->first_utc_s, one->time_utc_s) : one->time_utc_s;
    s->last_utc_s = s->count ? fmax(s->last_utc_s, one->time_utc_s) : one->time_utc_s;
    s->count++;
}

static int look_through(survey *s, pappus_wind_reading *reading)
{
    pappus_lines lines = {
        .at = reading->bytes, .end = reading->bytes + reading->length, .row = reading->rows_before};
    sounding current = {.row = 0};
    int status = PAPPUS_OK;
    while (status == PAPPUS_OK && pappus_lines_next(&lines)) {
        if (begins_sounding(lines.text, lines.length)) {
            if (current.row) enter(s, &current, reading->source->sounding_utc_s);
            status = read_header(&current, &lines, reading);
        } else if (lines.length > 0) {
            current.found_count++;
        }
    }
    if (status == PAPPUS_OK) enter(s, &current, reading->source->sounding_utc_s);
    return status;
}

static int not_there(const survey *s, pappus_wind_reading *reading)
{
    char asked[40], first[40], last[40];
    pappus_time_format(asked, sizeof asked, reading->source->sounding_utc_s);
    pappus_time_format(first, sizeof first, s->first_utc_s);
    pappus_time_format(last, sizeof last, s->last_utc_s);
    return pappus_wind_file_fault(reading, "sounding", asked,
                                  "not among the %zu soundings of the file, from %s to %s",
                                  s->count, first, last);
}

static int cut_short(const survey *s, pappus_wind_reading *reading)
{
    char time[40], whole[120] = "";
    pappus_time_format(time, sizeof time, s->chosen.time_utc_s);
    if (s->complete.row) {
        char text[40];
        pappus_time_format(text, sizeof text, s->complete.time_utc_s);
        snprintf(whole, sizeof whole, "; whole is \"sounding\": \"%s\"", text);
    }
    return pappus_wind_fault(reading, s->chosen.row, "NUMLEV", NULL,
                             "the sounding of %s has %zu levels where its header says %d: the file "
                             "is cut short or damaged%s",
                             time, s->chosen.found_count, s->chosen.level_count, whole);
}

static int choose(survey *s, pappus_wind_reading *reading)
{
    int status = look_through(s, reading);
    if (status != PAPPUS_OK) return status;
    if (s->chosen.row == 0) return not_there(s, reading);
    if (s->chosen.level_count == 0 || s->chosen.found_count != (size_t)s->chosen.level_count)
        return cut_short(s, reading);
    if (s->cut_row) {
        char key[40];
        snprintf(key, sizeof key, "row %zu", s->cut_row);
        pappus_log_add(reading->log, PAPPUS_WARNING, PAPPUS_OK, reading->path, key, NULL,
                       "a sounding with other levels than its header says: the file is cut short "
                       "or damaged; the one read is whole");
    }
    return PAPPUS_OK;
}

/* A value of a level, in so many parts of its unit; NaN when missing or removed. */
static bool read_value(pappus_wind_reading *reading, const pappus_lines *lines, const char *name,
                       size_t first, size_t last, double parts, double *out)
{
    int value;
    *out = NAN;
    if (!pappus_columns_integer(lines->text, lines->length, first, last, &value)) {
        char cell[16] = "";
        if (lines->length >= last)
            snprintf(cell, sizeof cell, "%.*s", (int)(last - first + 1), lines->text + first - 1);
        pappus_wind_fault(reading, lines->row, name, cell,
                          "accepted is a whole number in columns %zu to %zu", first, last);
        return false;
    }
    if (value != MISSING && value != REMOVED) *out = value / parts;
    return true;
}

static bool read_level(pappus_wind_reading *reading, const pappus_lines *lines,
                       pappus_wind_raw *raw)
{
    *raw = pappus_wind_raw_empty(lines->row, PAPPUS_HEIGHT_MSL_GEOPOTENTIAL);
    if (lines->length < LEVEL_COLUMNS) {
        pappus_wind_fault(reading, lines->row, NULL, NULL,
                          "%zu columns; a level has 51: the file is cut short or damaged",
                          lines->length);
        return false;
    }
    bool good = read_value(reading, lines, "PRESS", 10, 15, 1.0, &raw->pressure_pa);
    good = read_value(reading, lines, "GPH", 17, 21, 1.0, &raw->height_m) && good;
    good = read_value(reading, lines, "TEMP", 23, 27, 10.0, &raw->temperature_k) && good;
    good = read_value(reading, lines, "WDIR", 41, 45, 1.0, &raw->direction_deg) && good;
    good = read_value(reading, lines, "WSPD", 47, 51, 10.0, &raw->speed_mps) && good;
    raw->temperature_k += PAPPUS_ZERO_DEGC_K;
    return good;
}

/* A direction alone or a speed alone is a level without wind here, not a fault. */
static void drop_half_wind(pappus_wind_raw *raw)
{
    if (isnan(raw->speed_mps) || (isnan(raw->direction_deg) && raw->speed_mps > 0.0))
        raw->direction_deg = raw->speed_mps = NAN;
}

/* The wind of the surface level, lifted to where it is measured; what is left in
 * *raw is the station's air. */
static int add_surface_wind(pappus_wind_builder *builder, pappus_wind_raw *raw)
{
    pappus_wind_raw wind = *raw;
    if (isnan(raw->height_m) || isnan(raw->speed_mps)) return PAPPUS_OK;
    wind.height_m += WIND_ABOVE_STATION_M;
    wind.temperature_k = wind.pressure_pa = NAN;
    raw->direction_deg = raw->speed_mps = NAN;
    int status = pappus_wind_builder_add(builder, &wind);
    bool has_air = !isnan(raw->temperature_k) || !isnan(raw->pressure_pa);
    builder->read_count -= has_air; /* the two are one level of the file */
    if (!has_air) raw->row = 0;
    return status;
}

/* The levels as they stand, those that can be read; *count of them. */
static void read_rows(pappus_wind_raw *rows, bool *surface, size_t *count,
                      pappus_wind_reading *reading, sounding *one)
{
    for (size_t i = 0; i < one->found_count && pappus_lines_next(&one->lines);) {
        if (one->lines.length == 0) continue;
        i++;
        if (!read_level(reading, &one->lines, &rows[*count])) continue;
        drop_half_wind(&rows[*count]);
        surface[(*count)++] = one->lines.text[1] == '1';
    }
}

static int read_levels(pappus_wind_builder *builder, pappus_wind_profile *profile, sounding *one)
{
    size_t count = 0;
    pappus_wind_raw *rows = malloc((one->found_count + 1) * sizeof *rows);
    bool *surface = malloc(one->found_count + 1);
    int status = rows && surface ? PAPPUS_OK : pappus_wind_memory_fault(builder->reading);
    if (status == PAPPUS_OK) {
        read_rows(rows, surface, &count, builder->reading, one);
        pappus_wind_fill_heights(rows, count);
    }
    for (size_t i = 0; i < count && status == PAPPUS_OK; i++) {
        if (surface[i]) {
            profile->station_elevation_msl_m = rows[i].height_m;
            status = add_surface_wind(builder, &rows[i]);
        }
        if (status == PAPPUS_OK && rows[i].row) status = pappus_wind_builder_add(builder, &rows[i]);
    }
    free(rows);
    free(surface);
    return status;
}

static int read_igra(pappus_winds *out, pappus_wind_reading *reading)
{
    survey s = {.count = 0};
    int status = choose(&s, reading);
    if (status != PAPPUS_OK) return status;
    pappus_wind_profile *profile =
        pappus_winds_append(out, reading->path, pappus_wind_igra.name, s.chosen.station);
    if (!profile) return pappus_wind_memory_fault(reading);
    profile->issued_utc_s = profile->valid_utc_s = s.chosen.time_utc_s;
    profile->station_latitude_deg = s.chosen.latitude_deg;
    profile->station_longitude_deg = s.chosen.longitude_deg;
    pappus_wind_builder builder = {
        .reading = reading, .columns = {"GPH", "WDIR", "WSPD", NULL, NULL, NULL, "TEMP", "PRESS"}};
    status = read_levels(&builder, profile, &s.chosen);
    if (status == PAPPUS_OK) return pappus_wind_builder_finish(&builder, profile);
    pappus_wind_builder_clear(&builder);
    return status;
}

const pappus_wind_format pappus_wind_igra = {.name = "IGRA v2",
                                             .help = "an IGRA v2 sounding file",
                                             .says_kind = true,
                                             .kind = PAPPUS_WIND_SOUNDING,
                                             .text = true,
                                             .chooses = "sounding",
                                             .probe = probe_igra,
                                             .read = read_igra,
                                             .begins_part = begins_sounding};
