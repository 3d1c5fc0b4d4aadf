/* SPDX-License-Identifier: GPL-3.0-or-later
 * The layer table: comma-separated (RFC 4180), one level per row, the unit in
 * each column's name (see column_table). A row has one height, of the ground at
 * the pad (agl), of the sea geometric (msl) or geopotential, or of the standard
 * atmosphere (pressure); and a wind, as direction and speed or as u and v, or a
 * temperature or pressure, or both. With a column `time` each time is a profile
 * of its own, as hourly forecasts come; `issued` is when it was observed or
 * computed. Unknown columns are passed over with a note, but not those that look
 * like a known one with no known unit: there a misreading would be silent. */
#include "wind_levels.h"
#include "csv.h"
#include "grow.h"
#include "si.h"
#include "timestamp.h"
#include "units.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

typedef enum {
    HEIGHT_AGL,
    HEIGHT_MSL,
    HEIGHT_GEOPOTENTIAL,
    HEIGHT_PRESSURE,
    DIRECTION,
    SPEED,
    U,
    V,
    SD,
    TEMPERATURE,
    PRESSURE,
    TIME,
    ISSUED,
    QUANTITIES,
    IGNORED = QUANTITIES
} quantity;

typedef struct {
    const char *name;
    quantity quantity;
    double factor, offset; /* SI = value * factor + offset */
} column_kind;

#define LENGTHS(stem, q)                                                                           \
    {stem "_m", q, 1, 0}, {stem "_ft", q, PAPPUS_FOOT_M, 0}, {stem "_km", q, 1000, 0}
#define SPEEDS(stem, q)                                                                            \
    {stem "_mps", q, 1, 0}, {stem "_kt", q, PAPPUS_KNOT_MPS, 0}, {stem "_mph", q, PAPPUS_MPH_MPS, 0},      \
        {stem "_kph", q, PAPPUS_KPH_MPS, 0}, {stem "_fps", q, PAPPUS_FOOT_M, 0}

static const column_kind column_table[] = {
    LENGTHS("height_agl", HEIGHT_AGL),
    LENGTHS("height_msl", HEIGHT_MSL),
    LENGTHS("height_geopotential", HEIGHT_GEOPOTENTIAL),
    LENGTHS("height_pressure", HEIGHT_PRESSURE),
    {"direction_deg", DIRECTION, 1, 0},
    SPEEDS("speed", SPEED),
    SPEEDS("u", U),
    SPEEDS("v", V),
    SPEEDS("speed_sd", SD),
    {"temperature_degC", TEMPERATURE, 1, PAPPUS_ZERO_DEGC_K},
    {"temperature_degF", TEMPERATURE, PAPPUS_DEGF_K, PAPPUS_ZERO_DEGF_R *PAPPUS_DEGF_K},
    {"temperature_K", TEMPERATURE, 1, 0},
    {"pressure_hPa", PRESSURE, 100, 0},
    {"pressure_Pa", PRESSURE, 1, 0},
    {"time", TIME, 1, 0},
    {"issued", ISSUED, 1, 0},
};
#define COLUMN_KINDS (sizeof column_table / sizeof *column_table)

/* A column whose name begins so must be one of the table. */
static const char *const stems[] = {"height", "alt",  "direction",   "dir",      "speed", "wind",
                                    "u_",     "v_",   "temperature", "pressure", "time",  "issued"};

static const char accepted_heights[] =
    "accepted are height_agl, height_msl, height_geopotential, height_pressure with _m, _ft or _km";
static const char accepted_winds[] =
    "accepted are direction_deg with speed_mps, _kt, _mph, _kph or _fps, or u_mps with v_mps";

typedef struct {
    size_t count;
    column_kind columns[PAPPUS_CSV_MAX_CELLS];
    int where[QUANTITIES]; /* column of a quantity, or -1 */
} header;

/* One profile of the file: its builder and times. */
typedef struct {
    pappus_wind_builder builder;
    double valid_utc_s, issued_utc_s;
} sheet;

typedef struct {
    pappus_wind_reading *reading;
    pappus_csv csv;
    header header;
    size_t sheet_count, sheet_capacity;
    sheet *sheets;
} table;

static bool starts_with(const char *text, const char *start)
{
    return strncasecmp(text, start, strlen(start)) == 0;
}

static const column_kind *find_column(const char *name)
{
    for (size_t i = 0; i < COLUMN_KINDS; i++)
        if (strcasecmp(name, column_table[i].name) == 0) return &column_table[i];
    return NULL;
}

static bool looks_known(const char *name)
{
    for (size_t i = 0; i < sizeof stems / sizeof *stems; i++)
        if (starts_with(name, stems[i])) return true;
    return false;
}

/* The first line that is no comment names columns: it has a comma. */
static bool probe_layers(const char *text, size_t length)
{
    const char *end = text + length;
    while (text < end) {
        const char *stop = memchr(text, '\n', (size_t)(end - text));
        size_t n = (size_t)((stop ? stop : end) - text);
        if (*text != '#' && strspn(text, " \t\r") < n) return memchr(text, ',', n) != NULL;
        text += n + 1;
    }
    return false;
}

static int read_column(table *t, size_t i, const char *name)
{
    const column_kind *kind = find_column(name);
    header *h = &t->header;
    h->columns[i] = (column_kind){name, IGNORED, 1, 0};
    if (!kind) {
        char key[64];
        if (looks_known(name))
            return pappus_wind_fault(
                t->reading, t->csv.row, "names", name, "not a column with a known unit; %s; %s",
                accepted_heights, accepted_winds);
        snprintf(key, sizeof key, "row %zu", t->csv.row);
        if (name[0])
            pappus_log_add(t->reading->log, PAPPUS_NOTE, PAPPUS_OK, t->reading->path, key, name,
                           "a column that is not used");
        return PAPPUS_OK;
    }
    if (h->where[kind->quantity] >= 0)
        return pappus_wind_fault(t->reading, t->csv.row, "names", name,
                                         "the same quantity as column %s; one of them is accepted",
                                         h->columns[h->where[kind->quantity]].name);
    h->where[kind->quantity] = (int)i;
    h->columns[i] = *kind;
    return PAPPUS_OK;
}

static bool has(const header *h, quantity q)
{
    return h->where[q] >= 0;
}

static int check_header(table *t)
{
    const header *h = &t->header;
    bool polar = has(h, DIRECTION) || has(h, SPEED), components = has(h, U) || has(h, V);
    if (!has(h, HEIGHT_AGL) && !has(h, HEIGHT_MSL) && !has(h, HEIGHT_GEOPOTENTIAL) &&
        !has(h, HEIGHT_PRESSURE))
        return pappus_wind_fault(t->reading, t->csv.row, "names", NULL,
                                         "no column of heights; %s", accepted_heights);
    if (polar && components)
        return pappus_wind_fault(t->reading, t->csv.row, "names", NULL,
                                         "both direction or speed and u or v; %s", accepted_winds);
    if (has(h, DIRECTION) != has(h, SPEED) || has(h, U) != has(h, V) || (!polar && !components))
        return pappus_wind_fault(t->reading, t->csv.row, "names", NULL,
                                         "no complete wind; %s", accepted_winds);
    return PAPPUS_OK;
}

static int read_header(table *t)
{
    header *h = &t->header;
    for (int q = 0; q < QUANTITIES; q++) h->where[q] = -1;
    if (!pappus_csv_next(&t->csv))
        return pappus_wind_file_fault(
            t->reading, NULL, NULL, "%s",
            t->csv.fault ? t->csv.fault : "nothing but comments: no header");
    h->count = t->csv.cell_count;
    for (size_t i = 0; i < h->count; i++) read_column(t, i, t->csv.cells[i]);
    return t->reading->fault_count ? PAPPUS_E_WIND : check_header(t);
}

static const char *name_of(const header *h, quantity q)
{
    return has(h, q) ? h->columns[h->where[q]].name : NULL;
}

static pappus_wind_columns names_of(const header *h)
{
    return (pappus_wind_columns){.height = NULL,
                                 .direction = name_of(h, DIRECTION),
                                 .speed = name_of(h, SPEED),
                                 .u = name_of(h, U),
                                 .v = name_of(h, V),
                                 .sd = name_of(h, SD),
                                 .temperature = name_of(h, TEMPERATURE),
                                 .pressure = name_of(h, PRESSURE)};
}

/* The value of a quantity in this row, NaN for an empty cell. */
static bool read_number(table *t, quantity q, double *out)
{
    *out = NAN;
    if (!has(&t->header, q)) return true;
    const column_kind *column = &t->header.columns[t->header.where[q]];
    const char *cell = t->csv.cells[t->header.where[q]];
    double value = NAN;
    if (cell[0] == '\0') return true;
    size_t length = pappus_number_read(&value, cell);
    if (length == 0 || cell[length] != '\0') {
        pappus_wind_fault(t->reading, t->csv.row, column->name, cell,
                                  "accepted is one finite number with a decimal point, or nothing");
        return false;
    }
    *out = value * column->factor + column->offset;
    return true;
}

static bool read_time(table *t, quantity q, double *out)
{
    pappus_error error = {0};
    *out = NAN;
    if (!has(&t->header, q)) return true;
    const char *cell = t->csv.cells[t->header.where[q]];
    if (cell[0] == '\0' && q == ISSUED) return true;
    if (pappus_time_parse(out, cell, &error) == PAPPUS_OK) return true;
    *out = NAN;
    pappus_wind_fault(t->reading, t->csv.row, name_of(&t->header, q), cell, "%s",
                              error.message);
    return false;
}

static bool read_height(table *t, pappus_wind_raw *raw)
{
    static const pappus_height_kind kinds[] = {PAPPUS_HEIGHT_AGL, PAPPUS_HEIGHT_MSL,
                                               PAPPUS_HEIGHT_MSL_GEOPOTENTIAL,
                                               PAPPUS_HEIGHT_PRESSURE};
    for (int q = HEIGHT_AGL; q <= HEIGHT_PRESSURE; q++) {
        double value;
        if (!read_number(t, (quantity)q, &value)) return false;
        if (isnan(value)) continue;
        if (!isnan(raw->height_m)) {
            pappus_wind_fault(t->reading, t->csv.row, name_of(&t->header, (quantity)q),
                                      NULL, "a second height in this row; one is accepted");
            return false;
        }
        raw->height_m = value;
        raw->height_kind = kinds[q - HEIGHT_AGL];
    }
    return true;
}

static bool read_values(table *t, pappus_wind_raw *raw)
{
    struct {
        quantity q;
        double *value;
    } cells[] = {{DIRECTION, &raw->direction_deg}, {SPEED, &raw->speed_mps},
                 {U, &raw->u_mps},                 {V, &raw->v_mps},
                 {SD, &raw->speed_sd_mps},         {TEMPERATURE, &raw->temperature_k},
                 {PRESSURE, &raw->pressure_pa}};
    bool good = read_height(t, raw);
    for (size_t i = 0; i < sizeof cells / sizeof *cells; i++)
        good = read_number(t, cells[i].q, cells[i].value) && good;
    return good;
}

/* The profile of a time, made when it is met first; none at a fault of the row. */
static int find_sheet(table *t, sheet **out, double valid_utc_s, double issued_utc_s)
{
    for (size_t i = t->sheet_count; i-- > 0;) {
        sheet *s = &t->sheets[i];
        if (s->valid_utc_s != valid_utc_s && !(isnan(s->valid_utc_s) && isnan(valid_utc_s)))
            continue;
        bool differs =
            s->issued_utc_s != issued_utc_s && !(isnan(s->issued_utc_s) && isnan(issued_utc_s));
        if (differs && t->reading->wanted.archive) continue;
        if (differs)
            pappus_wind_fault(t->reading, t->csv.row, name_of(&t->header, ISSUED), NULL,
                              "another issue time within one profile");
        else
            *out = s;
        return PAPPUS_OK;
    }
    if (t->sheet_count >= PAPPUS_WIND_MAX_PROFILES)
        return pappus_wind_file_fault(t->reading, NULL, NULL, "more than %d times in one file",
                                      PAPPUS_WIND_MAX_PROFILES);
    if (!PAPPUS_GROW(t->sheets, &t->sheet_capacity, t->sheet_count + 1))
        return pappus_wind_memory_fault(t->reading);
    *out = &t->sheets[t->sheet_count++];
    **out = (sheet){.builder = {.reading = t->reading,
                                .columns = names_of(&t->header),
                                .by_hand = true},
                    .valid_utc_s = valid_utc_s,
                    .issued_utc_s = issued_utc_s};
    return PAPPUS_OK;
}

/* A fault of one row does not end the reading: all faults are told at once. */
static int read_row(table *t)
{
    static const quantity heights[] = {HEIGHT_AGL, HEIGHT_MSL, HEIGHT_GEOPOTENTIAL,
                                       HEIGHT_PRESSURE};
    pappus_wind_raw raw = pappus_wind_raw_empty(t->csv.row, PAPPUS_HEIGHT_AGL);
    double valid_utc_s, issued_utc_s;
    sheet *s = NULL;
    if (t->csv.cell_count != t->header.count) {
        pappus_wind_fault(t->reading, t->csv.row, NULL, NULL,
                                  "%zu cells where the header has %zu", t->csv.cell_count,
                                  t->header.count);
        return PAPPUS_OK;
    }
    bool good = read_time(t, TIME, &valid_utc_s);
    good = read_time(t, ISSUED, &issued_utc_s) && good;
    good = read_values(t, &raw) && good;
    if (!good) return PAPPUS_OK;
    int status = find_sheet(t, &s, valid_utc_s, issued_utc_s);
    if (!s) return status;
    s->builder.columns.height = name_of(&t->header, heights[raw.height_kind]);
    return pappus_wind_builder_add(&s->builder, &raw);
}

static int finish_sheets(table *t, pappus_winds *out)
{
    int status = PAPPUS_OK;
    for (size_t i = 0; i < t->sheet_count; i++) {
        sheet *s = &t->sheets[i];
        pappus_wind_profile *profile =
            pappus_winds_append(out, t->reading->path, pappus_wind_layers.name, NULL);
        if (!profile) return pappus_wind_memory_fault(t->reading);
        profile->valid_utc_s = s->valid_utc_s;
        profile->issued_utc_s = s->issued_utc_s;
        int finished = pappus_wind_builder_finish(&s->builder, profile);
        if (finished != PAPPUS_OK) status = finished;
    }
    return status;
}

static int read_rows(table *t)
{
    int status = PAPPUS_OK;
    while (status == PAPPUS_OK && pappus_csv_next(&t->csv)) status = read_row(t);
    if (status == PAPPUS_OK && t->csv.fault)
        pappus_wind_fault(t->reading, t->csv.row, NULL, NULL, "%s", t->csv.fault);
    if (status == PAPPUS_OK && t->sheet_count == 0 && t->reading->fault_count == 0)
        status = pappus_wind_file_fault(t->reading, NULL, NULL, "a header and no row under it");
    return status;
}

static int read_layers(pappus_winds *out, pappus_wind_reading *reading)
{
    table *t = calloc(1, sizeof *t);
    if (!t) return pappus_wind_memory_fault(reading);
    t->reading = reading;
    pappus_csv_begin(&t->csv, reading->bytes, reading->length);
    int status = read_header(t);
    if (status == PAPPUS_OK) status = read_rows(t);
    if (status == PAPPUS_OK) status = finish_sheets(t, out);
    if (status == PAPPUS_OK && reading->fault_count > 0) status = PAPPUS_E_WIND;
    for (size_t i = 0; i < t->sheet_count; i++) pappus_wind_builder_clear(&t->sheets[i].builder);
    free(t->sheets);
    free(t);
    return status;
}

const pappus_wind_format pappus_wind_layers = {
    .name = "layer table",
    .help = "a layer table (text, comma-separated, names with units in the first row)",
    .text = true,
    .probe = probe_layers,
    .read = read_layers};
