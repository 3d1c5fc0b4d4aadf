/* SPDX-License-Identifier: GPL-3.0-or-later
 * The rules for a level of wind, the same for all formats:
 * - repaired and told: direction 360 (is 0) where people write it, levels out of
 *   height order, one height twice with the same values;
 * - left out and told: no height, nothing but a height;
 * - refused: a direction outside 0 to 360, a negative speed, more than 150 m/s, a
 *   direction without speed or the reverse, two different values at one height,
 *   air that is not of this planet. In a table made by hand a refusal is a fault
 *   of the file; in a bulletin or an archive the level alone is left out.
 * A wind under 150 m/s in the wrong unit cannot be told from a true one; above
 * 50 m/s under 5 km (A) it is pointed out. */
#include "wind_levels.h"
#include "grow.h"
#include "si.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define FAULTS_TOLD 20
#define STRANGE_SPEED_MPS 50.0
#define STRANGE_BELOW_M 5000.0

static const struct {
    pappus_severity severity;
    const char *text;
} tally_texts[PAPPUS_TALLY_COUNT] = {
    {PAPPUS_NOTE, "not in height order; sorted"},
    {PAPPUS_NOTE, "repeats a height with the same values; taken once"},
    {PAPPUS_NOTE, "direction 360 is read as 0"},
    {PAPPUS_NOTE, "no height; left out"},
    {PAPPUS_NOTE, "no wind, temperature or pressure; left out"},
};

pappus_wind_raw pappus_wind_raw_empty(size_t row, pappus_height_kind kind)
{
    return (pappus_wind_raw){row, kind, NAN, NAN, NAN, NAN, NAN, NAN, NAN, NAN};
}

void pappus_wind_components(double *u_mps, double *v_mps, double direction_deg, double speed_mps)
{
    double angle = direction_deg * (M_PI / 180.0);
    *u_mps = speed_mps == 0.0 ? 0.0 : -speed_mps * sin(angle);
    *v_mps = speed_mps == 0.0 ? 0.0 : -speed_mps * cos(angle);
}

static void row_key(char out[160], size_t row, const char *column)
{
    if (column)
        snprintf(out, 160, "row %zu, column %s", row, column);
    else
        snprintf(out, 160, "row %zu", row);
}

int pappus_wind_fault(pappus_wind_reading *reading, size_t row, const char *column,
                      const char *value, const char *message, ...)
{
    char key[160], text[512];
    va_list arguments;
    reading->fault_count++;
    if (reading->fault_count == FAULTS_TOLD + 1)
        return pappus_log_add(reading->log, PAPPUS_FAULT, PAPPUS_E_WIND, reading->path, NULL, NULL,
                              "more than %d faults; the rest is not told", FAULTS_TOLD);
    if (reading->fault_count > FAULTS_TOLD) return PAPPUS_E_WIND;
    va_start(arguments, message);
    vsnprintf(text, sizeof text, message, arguments);
    va_end(arguments);
    row_key(key, row, column);
    return pappus_log_add(reading->log, PAPPUS_FAULT, PAPPUS_E_WIND, reading->path, key, value,
                          "%s", text);
}

int pappus_wind_file_fault(const pappus_wind_reading *reading, const char *key, const char *value,
                           const char *message, ...)
{
    char text[512];
    va_list arguments;
    va_start(arguments, message);
    vsnprintf(text, sizeof text, message, arguments);
    va_end(arguments);
    return pappus_log_add(reading->log, PAPPUS_FAULT, PAPPUS_E_WIND, reading->path, key, value,
                          "%s", text);
}

int pappus_wind_memory_fault(const pappus_wind_reading *reading)
{
    return pappus_log_add(reading->log, PAPPUS_FAULT, PAPPUS_E_MEMORY, reading->path, NULL, NULL,
                          "out of memory");
}

static void tally(pappus_wind_builder *builder, pappus_wind_tally which, size_t row)
{
    if (builder->tally_count[which]++ == 0) builder->tally_row[which] = row;
}

static void tell_tallies(const pappus_wind_builder *builder)
{
    for (int i = 0; i < PAPPUS_TALLY_COUNT; i++) {
        char key[160], more[64] = "";
        size_t count = builder->tally_count[i];
        if (count == 0) continue;
        if (count > 1)
            snprintf(more, sizeof more, " (and %zu more row%s)", count - 1, count > 2 ? "s" : "");
        row_key(key, builder->tally_row[i], NULL);
        pappus_log_add(builder->reading->log, tally_texts[i].severity, PAPPUS_OK,
                       builder->reading->path, key, NULL, "%s%s", tally_texts[i].text, more);
    }
}

/* A level that cannot be used. Returns false, so that a check can end with it. */
static bool refuse(pappus_wind_builder *builder, size_t row, const char *column, double value,
                   const char *unit, const char *message)
{
    char text[64] = "", key[160];
    if (unit) snprintf(text, sizeof text, "%.6g%s%s", value, *unit ? " " : "", unit);
    builder->refused_count++;
    if (builder->by_hand) {
        pappus_wind_fault(builder->reading, row, column, text, "%s", message);
        return false;
    }
    row_key(key, row, column);
    if (builder->refused_count <= FAULTS_TOLD)
        pappus_log_add(builder->reading->log, PAPPUS_WARNING, PAPPUS_OK, builder->reading->path,
                       key, text, "%s; the level is left out", message);
    return false;
}

static bool check_height(pappus_wind_builder *builder, const pappus_wind_raw *raw)
{
    if (raw->height_m >= -1000.0 && raw->height_m <= 100000.0) return true;
    return refuse(builder, raw->row, builder->columns.height, raw->height_m, "m",
                  "accepted is a height from -1000 m to 100 km");
}

static bool check_air(pappus_wind_builder *builder, const pappus_wind_raw *raw)
{
    if (raw->temperature_k < 150.0 || raw->temperature_k > 350.0)
        return refuse(builder, raw->row, builder->columns.temperature,
                      raw->temperature_k - PAPPUS_ZERO_DEGC_K, "degC",
                      "accepted is air from -123 to 76 degC");
    if (raw->pressure_pa <= 0.0 || raw->pressure_pa > 120000.0)
        return refuse(builder, raw->row, builder->columns.pressure, raw->pressure_pa / 100.0, "hPa",
                      "accepted is a pressure above 0 and to 1200 hPa");
    if (raw->speed_sd_mps < 0.0 || raw->speed_sd_mps > PAPPUS_WIND_MAX_MPS)
        return refuse(builder, raw->row, builder->columns.sd, raw->speed_sd_mps, "m/s",
                      "accepted is a standard deviation from 0 to 150 m/s");
    return true;
}

static bool check_speed(pappus_wind_builder *builder, const pappus_wind_raw *raw, double speed_mps,
                        const char *column)
{
    if (speed_mps > PAPPUS_WIND_MAX_MPS)
        return refuse(builder, raw->row, column, speed_mps, "m/s",
                      "no wind is faster than 150 m/s; is the unit of the column right?");
    if (speed_mps > STRANGE_SPEED_MPS && raw->height_m < STRANGE_BELOW_M) {
        char key[160], text[64];
        row_key(key, raw->row, column);
        snprintf(text, sizeof text, "%.6g m/s", speed_mps);
        pappus_log_add(builder->reading->log, PAPPUS_WARNING, PAPPUS_OK, builder->reading->path,
                       key, text, "a very strong wind for this height; check the unit");
    }
    return true;
}

static bool check_polar(pappus_wind_builder *builder, pappus_wind_raw *raw)
{
    const pappus_wind_columns *columns = &builder->columns;
    if (raw->speed_mps < 0.0)
        return refuse(builder, raw->row, columns->speed, raw->speed_mps, "m/s",
                      "accepted is a speed of 0 or more");
    if (raw->direction_deg < 0.0 || raw->direction_deg > 360.0)
        return refuse(builder, raw->row, columns->direction, raw->direction_deg, "deg",
                      "accepted is a direction from 0 to 360 deg, where the wind comes from");
    if (isnan(raw->speed_mps) && !isnan(raw->direction_deg))
        return refuse(builder, raw->row, columns->speed, 0, NULL, "a direction without a speed");
    if (isnan(raw->direction_deg) && raw->speed_mps > 0.0)
        return refuse(builder, raw->row, columns->direction, 0, NULL,
                      "a speed without a direction");
    if (!check_speed(builder, raw, raw->speed_mps, columns->speed)) return false;
    if (raw->direction_deg == 360.0) {
        raw->direction_deg = 0.0;
        if (builder->by_hand) {
            tally(builder, PAPPUS_TALLY_NORTH, raw->row);
            builder->repaired_count++;
        }
    }
    if (!isnan(raw->speed_mps))
        pappus_wind_components(&raw->u_mps, &raw->v_mps, raw->direction_deg, raw->speed_mps);
    return true;
}

static bool check_wind(pappus_wind_builder *builder, pappus_wind_raw *raw)
{
    bool has_u = !isnan(raw->u_mps), has_v = !isnan(raw->v_mps);
    if (has_u != has_v)
        return refuse(builder, raw->row, has_u ? builder->columns.v : builder->columns.u, 0, NULL,
                      "one component without the other");
    if (has_u) return check_speed(builder, raw, hypot(raw->u_mps, raw->v_mps), builder->columns.u);
    return check_polar(builder, raw);
}

static int keep(pappus_wind_builder *builder, const pappus_wind_raw *raw)
{
    if (builder->row_count >= PAPPUS_WIND_MAX_LEVELS)
        return pappus_wind_file_fault(builder->reading, NULL, NULL,
                                      "more than %d levels in one profile", PAPPUS_WIND_MAX_LEVELS);
    if (!PAPPUS_GROW(builder->rows, &builder->row_capacity, builder->row_count + 1))
        return pappus_wind_memory_fault(builder->reading);
    builder->rows[builder->row_count++] =
        (pappus_wind_row){raw->row,
                          {raw->height_kind, raw->height_m, raw->u_mps, raw->v_mps,
                           raw->speed_sd_mps, raw->temperature_k, raw->pressure_pa}};
    return PAPPUS_OK;
}

int pappus_wind_builder_add(pappus_wind_builder *builder, const pappus_wind_raw *given)
{
    pappus_wind_raw raw = *given;
    builder->read_count++;
    if (isnan(raw.height_m)) {
        tally(builder, PAPPUS_TALLY_NO_HEIGHT, raw.row);
        builder->refused_count++;
        return PAPPUS_OK;
    }
    if (!check_height(builder, &raw) || !check_air(builder, &raw) || !check_wind(builder, &raw))
        return PAPPUS_OK;
    if (isnan(raw.u_mps) && isnan(raw.temperature_k) && isnan(raw.pressure_pa)) {
        tally(builder, PAPPUS_TALLY_EMPTY, raw.row);
        builder->refused_count++;
        return PAPPUS_OK;
    }
    return keep(builder, &raw);
}

static int by_height_and_row(const void *a, const void *b)
{
    const pappus_wind_row *p = a, *q = b;
    if (p->level.height_m != q->level.height_m)
        return p->level.height_m < q->level.height_m ? -1 : 1;
    if (p->level.height_kind != q->level.height_kind)
        return p->level.height_kind < q->level.height_kind ? -1 : 1;
    return (p->row > q->row) - (p->row < q->row);
}

/* From the top down is an order too. */
static bool is_top_down(const pappus_wind_builder *builder)
{
    for (size_t i = 1; i < builder->row_count; i++)
        if (builder->rows[i].level.height_m > builder->rows[i - 1].level.height_m) return false;
    return true;
}

static void sort_rows(pappus_wind_builder *builder)
{
    if (builder->by_hand && !is_top_down(builder)) {
        for (size_t i = 1; i < builder->row_count; i++) {
            if (builder->rows[i].level.height_m >= builder->rows[i - 1].level.height_m) continue;
            tally(builder, PAPPUS_TALLY_UNSORTED, builder->rows[i].row);
            builder->repaired_count++;
        }
    }
    if (builder->row_count > 1)
        qsort(builder->rows, builder->row_count, sizeof *builder->rows, by_height_and_row);
}

/* Puts b where a has nothing; false when both have something and it differs. */
static bool join_value(double *a, double b)
{
    if (isnan(b)) return true;
    if (isnan(*a)) *a = b;
    return *a == b;
}

static bool join_level(pappus_wind_level *a, const pappus_wind_level *b)
{
    pappus_wind_level joined = *a;
    if (!join_value(&joined.u_mps, b->u_mps) || !join_value(&joined.v_mps, b->v_mps) ||
        !join_value(&joined.speed_sd_mps, b->speed_sd_mps) ||
        !join_value(&joined.temperature_k, b->temperature_k) ||
        !join_value(&joined.pressure_pa, b->pressure_pa))
        return false;
    *a = joined;
    return true;
}

static void join_repeated(pappus_wind_builder *builder)
{
    size_t kept = 0;
    for (size_t i = 0; i < builder->row_count; i++) {
        pappus_wind_row *row = &builder->rows[i], *before = kept ? &builder->rows[kept - 1] : NULL;
        if (!before || row->level.height_m != before->level.height_m ||
            row->level.height_kind != before->level.height_kind) {
            builder->rows[kept++] = *row;
        } else if (join_level(&before->level, &row->level)) {
            tally(builder, PAPPUS_TALLY_REPEATED, row->row);
            builder->repaired_count++;
        } else {
            char message[96];
            snprintf(message, sizeof message,
                     "other values at the height that row %zu has; one level a height is accepted",
                     before->row);
            refuse(builder, row->row, builder->columns.height, row->level.height_m, "m", message);
        }
    }
    builder->row_count = kept;
}

static bool has_wind(const pappus_wind_builder *builder)
{
    for (size_t i = 0; i < builder->row_count; i++)
        if (!isnan(builder->rows[i].level.u_mps)) return true;
    return false;
}

int pappus_wind_builder_finish(pappus_wind_builder *builder, pappus_wind_profile *profile)
{
    int status = PAPPUS_OK;
    sort_rows(builder);
    join_repeated(builder);
    tell_tallies(builder);
    if (builder->reading->fault_count > 0)
        status = PAPPUS_E_WIND;
    else if (!has_wind(builder))
        status = pappus_wind_file_fault(builder->reading, NULL, NULL,
                                        "no level has a wind; at least one is needed");
    if (status == PAPPUS_OK) {
        profile->levels = malloc(builder->row_count * sizeof *profile->levels);
        if (!profile->levels) status = pappus_wind_memory_fault(builder->reading);
    }
    if (status == PAPPUS_OK) {
        for (size_t i = 0; i < builder->row_count; i++)
            profile->levels[i] = builder->rows[i].level;
        profile->level_count = builder->row_count;
        profile->read_count = builder->read_count;
        profile->repaired_count = builder->repaired_count;
        profile->refused_count = builder->refused_count;
    }
    pappus_wind_builder_clear(builder);
    return status;
}

void pappus_wind_builder_clear(pappus_wind_builder *builder)
{
    free(builder->rows);
    builder->rows = NULL;
    builder->row_count = builder->row_capacity = 0;
}

pappus_wind_profile *pappus_winds_append(pappus_winds *winds, const char *path, const char *format,
                                         const char *station)
{
    size_t count = winds->profile_count;
    if (!PAPPUS_GROW(winds->profiles, NULL, count + 1)) return NULL;
    pappus_wind_profile *profile = &winds->profiles[count];
    *profile = (pappus_wind_profile){.station_elevation_msl_m = NAN,
                                     .station_latitude_deg = NAN,
                                     .station_longitude_deg = NAN,
                                     .issued_utc_s = NAN,
                                     .gust_mps = NAN,
                                     .valid_utc_s = NAN,
                                     .member = -1,
                                     .kind_assumed = true,
                                     .weight = 1.0};
    profile->path = strdup(path);
    profile->format = strdup(format);
    profile->station = station ? strdup(station) : NULL;
    if (!profile->path || !profile->format || (station && !profile->station)) {
        pappus_wind_profile_clear(profile);
        return NULL;
    }
    winds->profile_count++;
    return profile;
}

pappus_wind_profile *pappus_winds_append_copy(pappus_winds *winds,
                                              const pappus_wind_profile *profile, bool with_levels)
{
    pappus_wind_profile *copy =
        pappus_winds_append(winds, profile->path, profile->format, profile->station);
    if (!copy) return NULL;
    char *path = copy->path, *format = copy->format, *station = copy->station;
    size_t bytes = profile->level_count * sizeof *profile->levels;
    *copy = *profile;
    copy->path = path;
    copy->format = format;
    copy->station = station;
    copy->levels = NULL;
    copy->level_count = 0;
    if (!with_levels || bytes == 0) return copy;
    copy->levels = malloc(bytes);
    if (!copy->levels) return NULL;
    memcpy(copy->levels, profile->levels, bytes);
    copy->level_count = profile->level_count;
    return copy;
}

void pappus_wind_profile_clear(pappus_wind_profile *profile)
{
    free(profile->path);
    free(profile->format);
    free(profile->station);
    free(profile->levels);
    *profile = (pappus_wind_profile){0};
}
