/* SPDX-License-Identifier: GPL-3.0-or-later
 * The layer table: one level per row, its cells parted as csv.c finds out, the columns
 * named as wind_columns.c and wind_header.c read them. A row has one height, of the ground at the
 * pad (agl), of the sea geometric (msl) or geopotential, or of the standard atmosphere (pressure);
 * and a wind, as direction and speed or as u and v, or a temperature or pressure, or both. With
 * columns `time` and `member` each time and member is a profile of its own, as forecasts come;
 * `issued` is when it was observed or computed, `kind` which of both. The table is gone over twice:
 * first for what only the whole of it tells, the sign of the decimals and whether every number has
 * a unit, then row by row. Nothing is guessed: what can be read in two ways is refused with an
 * example. Unknown columns are passed over with a note. */
#include "wind_levels.h"
#include "bearing.h"
#include "decimal.h"
#include "grow.h"
#include "timestamp.h"
#include "units.h"
#include "wind_header.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* What tells one profile of the file from the others, and what its rows must share. */
typedef struct {
    double valid_utc_s, issued_utc_s;
    int member; /* -1: none */
    int kind;   /* pappus_wind_kind; -1: not said */
} sheet_mark;

typedef struct {
    pappus_wind_builder builder;
    sheet_mark mark;
    double gust_mps, gust_height_m; /* of the lowest row that has one */
} sheet;

typedef struct {
    pappus_wind_reading *reading;
    pappus_csv csv;
    pappus_layer_header header;
    char decimal;
    size_t sheet_count, sheet_capacity;
    sheet *sheets;
} table;

static pappus_wind_columns names_of(const pappus_layer_header *h)
{
    return (pappus_wind_columns){.height = NULL,
                                 .direction = pappus_layer_name(h, PAPPUS_LAYER_DIRECTION),
                                 .speed = pappus_layer_name(h, PAPPUS_LAYER_SPEED),
                                 .u = pappus_layer_name(h, PAPPUS_LAYER_U),
                                 .v = pappus_layer_name(h, PAPPUS_LAYER_V),
                                 .sd = pappus_layer_name(h, PAPPUS_LAYER_SD),
                                 .temperature = pappus_layer_name(h, PAPPUS_LAYER_TEMPERATURE),
                                 .pressure = pappus_layer_name(h, PAPPUS_LAYER_PRESSURE)};
}

/* --------------------------------------------------------- the table as a whole */

/* People mark a missing value so. */
static bool is_missing(const char *cell)
{
    static const char *const words[] = {"", "-", "--", "---", "NA", "N/A", "n/a"};
    for (size_t i = 0; i < sizeof words / sizeof *words; i++)
        if (strcmp(words[i], cell) == 0) return true;
    return false;
}

static bool is_number(pappus_layer_quantity q)
{
    return q < PAPPUS_LAYER_TIME;
}

/* Where a number ends in a cell, whatever its sign of decimals. */
static const char *behind_number(const char *cell)
{
    return cell + strspn(cell, "0123456789.,+-eE\xE2\x88\x92");
}

/* A number that neither its column nor its cell gives a unit, or a height above nothing:
 * false, and told. */
static bool check_unit(table *t, const pappus_csv *csv, const pappus_layer_column *column,
                       const char *cell)
{
    pappus_layer_column said;
    char why[PAPPUS_LAYER_WHY];
    bool height = column->quantity == PAPPUS_LAYER_HEIGHT;
    if ((column->has_unit && !height) || column->quantity == PAPPUS_LAYER_DIRECTION) return true;
    if (!pappus_layer_cell_read(&said, column, behind_number(cell), why)) return true;
    if (!said.has_unit)
        pappus_wind_fault(t->reading, csv->row, column->name, cell,
                          "a number without its unit; accepted is the unit in the column's name, "
                          "as in speed_kt or height_agl_ft, or in each cell, as in 12 kt");
    else if (said.quantity == PAPPUS_LAYER_HEIGHT)
        pappus_wind_fault(
            t->reading, csv->row, column->name, cell,
            "above the ground or above the sea? accepted are height_agl_ft (above "
            "the pad) and height_msl_ft, or the same in each cell, as in 1500 ft AGL");
    else
        return true;
    return false;
}

/* Goes over one record; false when what is missing there is missing everywhere. */
static bool look_at(table *t, const pappus_csv *csv, pappus_decimal_evidence *evidence)
{
    bool good = true;
    for (size_t i = 0; i < csv->cell_count && i < t->header.count; i++) {
        const pappus_layer_column *column = &t->header.columns[i];
        if (!is_number(column->quantity) || is_missing(csv->cells[i])) continue;
        pappus_decimal_weigh(evidence, csv->cells[i], csv->row);
        good = check_unit(t, csv, column, csv->cells[i]) && good;
    }
    return good;
}

/* The sign of the decimals; a doubt that no other number settles is a fault. In a table
 * parted by commas a point is the decimal one. */
static int judge_decimals(table *t, const pappus_decimal_evidence *e)
{
    t->decimal = e->comma_row ? ',' : '.';
    if (e->comma_row && e->point_row)
        return pappus_wind_fault(t->reading, e->comma_row, NULL, e->sign,
                                 "a decimal comma, and in row %zu %s a decimal point; accepted is "
                                 "one of them in the whole table",
                                 e->point_row, e->other);
    bool settled = e->comma_row || e->point_row;
    size_t doubt = e->comma_doubt_row                              ? e->comma_doubt_row
                   : e->point_doubt_row && t->csv.separator != ',' ? e->point_doubt_row
                                                                   : 0;
    if (settled || !doubt) return PAPPUS_OK;
    return pappus_wind_fault(t->reading, doubt, NULL, e->doubt,
                             "thousands or decimals? no other number of the table tells; accepted "
                             "is 1500 for thousands, 1.50 or 1,50 for decimals");
}

/* Reads a copy of the rows that are left, for reading cuts them up. */
static int survey(table *t)
{
    pappus_decimal_evidence evidence = {0};
    size_t length = (size_t)(t->csv.end - t->csv.at);
    char *copy = malloc(length + 1);
    pappus_csv *csv = malloc(sizeof *csv);
    int status = copy && csv ? PAPPUS_OK : pappus_wind_memory_fault(t->reading);
    if (status == PAPPUS_OK) {
        memcpy(copy, t->csv.at, length);
        copy[length] = '\0';
        *csv = t->csv;
        csv->at = copy;
        csv->end = copy + length;
        while (status == PAPPUS_OK && pappus_csv_next(csv))
            if (!look_at(t, csv, &evidence)) status = PAPPUS_E_WIND;
        if (status == PAPPUS_OK) status = judge_decimals(t, &evidence);
    }
    free(csv);
    free(copy);
    return status;
}

/* ---------------------------------------------------------------------- cells */

#define NUMBER_ACCEPTED "accepted is one finite number, with its unit or not, or nothing"

static bool cell_fault(table *t, const pappus_layer_column *column, const char *cell,
                       const char *why)
{
    pappus_wind_fault(t->reading, t->csv.row, column->name, cell, "%s", why);
    return false;
}

/* WSW or wsw; a calm has no direction. */
static bool read_compass(table *t, const pappus_layer_column *column, const char *cell, double *out)
{
    char point[8];
    pappus_error error = {0};
    size_t n = 0;
    for (; cell[n] && n + 1 < sizeof point; n++)
        point[n] = cell[n] >= 'a' && cell[n] <= 'z' ? (char)(cell[n] - 'a' + 'A') : cell[n];
    point[n] = '\0';
    if (strcmp(point, "CALM") == 0) return true;
    if (!cell[n] && pappus_bearing_parse(out, point, NAN, &error) == PAPPUS_OK) return true;
    return cell_fault(t, column, cell,
                      "accepted is where the wind comes from, in degrees from true north or as a "
                      "compass point, as in 240 or WSW; of a calm, nothing");
}

/* The value of a column in this row, NaN for an empty cell; *quantity as the cell says it. */
static bool read_cell(table *t, const pappus_layer_column *column, const char *cell, double *out,
                      pappus_layer_quantity *quantity)
{
    pappus_layer_column said;
    char why[PAPPUS_LAYER_WHY];
    double value = NAN;
    *out = NAN;
    *quantity = column->quantity;
    if (is_missing(cell)) return true;
    size_t length = pappus_decimal_read(&value, cell, t->decimal);
    if (length == 0 && column->quantity == PAPPUS_LAYER_DIRECTION)
        return read_compass(t, column, cell, out);
    if (length == 0) return cell_fault(t, column, cell, NUMBER_ACCEPTED);
    if (!pappus_layer_cell_read(&said, column, cell + length, why)) {
        char message[PAPPUS_LAYER_WHY + 80];
        snprintf(message, sizeof message, "%s; " NUMBER_ACCEPTED, why);
        return cell_fault(t, column, cell, message);
    }
    *quantity = said.quantity;
    *out = (value + said.offset) * said.factor;
    return true;
}

static bool read_number(table *t, pappus_layer_quantity q, double *out,
                        pappus_layer_quantity *quantity)
{
    int i = t->header.where[q];
    *out = NAN;
    return i < 0 || read_cell(t, &t->header.columns[i], t->csv.cells[i], out, quantity);
}

/* A column that says its times are UTC needs no zone in its cells. */
static bool read_time(table *t, pappus_layer_quantity q, double *out)
{
    pappus_error error = {0};
    char text[64];
    *out = NAN;
    if (!pappus_layer_has(&t->header, q)) return true;
    const pappus_layer_column *column = &t->header.columns[t->header.where[q]];
    const char *cell = t->csv.cells[t->header.where[q]];
    if (is_missing(cell) && q == PAPPUS_LAYER_ISSUED) return true;
    if (pappus_time_parse(out, cell, &error) == PAPPUS_OK) return true;
    snprintf(text, sizeof text, "%.60sZ", cell);
    if (column->utc && pappus_time_parse(out, text, NULL) == PAPPUS_OK) return true;
    *out = NAN;
    return cell_fault(t, column, cell, error.message);
}

static bool read_member(table *t, int *out)
{
    int i = t->header.where[PAPPUS_LAYER_MEMBER];
    *out = -1;
    if (i < 0) return true;
    const char *cell = t->csv.cells[i];
    size_t n = strspn(cell, "0123456789");
    if (n == 0 || n > 6 || cell[n])
        return cell_fault(t, &t->header.columns[i], cell,
                          "accepted is the number of a member, a whole number of 0 or more");
    *out = atoi(cell);
    return true;
}

static bool read_kind(table *t, int *out)
{
    int i = t->header.where[PAPPUS_LAYER_KIND];
    *out = -1;
    if (i < 0 || is_missing(t->csv.cells[i])) return true;
    if (strcmp(t->csv.cells[i], "sounding") == 0) *out = PAPPUS_WIND_SOUNDING;
    if (strcmp(t->csv.cells[i], "forecast") == 0) *out = PAPPUS_WIND_FORECAST;
    return *out >= 0 || cell_fault(t, &t->header.columns[i], t->csv.cells[i],
                                   "accepted are sounding and forecast");
}

/* *name: of the column that has the height. */
static bool read_height(table *t, pappus_wind_raw *raw, const char **name)
{
    for (int q = PAPPUS_LAYER_HEIGHT_AGL; q <= PAPPUS_LAYER_HEIGHT; q++) {
        double value;
        pappus_layer_quantity quantity = PAPPUS_LAYER_HEIGHT;
        if (!read_number(t, (pappus_layer_quantity)q, &value, &quantity)) return false;
        if (isnan(value)) continue;
        const char *column = pappus_layer_name(&t->header, (pappus_layer_quantity)q);
        if (!isnan(raw->height_m)) {
            pappus_wind_fault(t->reading, t->csv.row, column, NULL,
                              "a second height in this row; one is accepted");
            return false;
        }
        raw->height_m = value;
        raw->height_kind = (pappus_height_kind)quantity;
        *name = column;
    }
    return true;
}

static bool read_values(table *t, pappus_wind_raw *raw, const char **height_name)
{
    struct {
        pappus_layer_quantity q;
        double *value;
    } cells[] = {{PAPPUS_LAYER_DIRECTION, &raw->direction_deg},
                 {PAPPUS_LAYER_SPEED, &raw->speed_mps},
                 {PAPPUS_LAYER_U, &raw->u_mps},
                 {PAPPUS_LAYER_V, &raw->v_mps},
                 {PAPPUS_LAYER_SD, &raw->speed_sd_mps},
                 {PAPPUS_LAYER_TEMPERATURE, &raw->temperature_k},
                 {PAPPUS_LAYER_PRESSURE, &raw->pressure_pa}};
    bool good = read_height(t, raw, height_name);
    for (size_t i = 0; i < sizeof cells / sizeof *cells; i++) {
        pappus_layer_quantity quantity;
        good = read_number(t, cells[i].q, cells[i].value, &quantity) && good;
    }
    return good;
}

#define GUST_MOST_MPS 150.0

static bool read_gust(table *t, double *gust_mps)
{
    pappus_layer_quantity quantity;
    int i = t->header.where[PAPPUS_LAYER_GUST];
    if (!read_number(t, PAPPUS_LAYER_GUST, gust_mps, &quantity)) return false;
    if (isnan(*gust_mps) || (*gust_mps >= 0.0 && *gust_mps <= GUST_MOST_MPS)) return true;
    return cell_fault(t, &t->header.columns[i], t->csv.cells[i],
                      "accepted is a gust from 0 to 150 m/s");
}

static void keep_gust(sheet *s, double gust_mps, double height_m)
{
    if (isnan(gust_mps) || s->gust_height_m <= height_m) return;
    s->gust_mps = gust_mps;
    s->gust_height_m = height_m;
}

static bool read_mark(table *t, sheet_mark *mark)
{
    bool good = read_time(t, PAPPUS_LAYER_TIME, &mark->valid_utc_s);
    good = read_time(t, PAPPUS_LAYER_ISSUED, &mark->issued_utc_s) && good;
    good = read_member(t, &mark->member) && good;
    return read_kind(t, &mark->kind) && good;
}

/* --------------------------------------------------------------------- sheets */

static bool same_time(double a, double b)
{
    return a == b || (isnan(a) && isnan(b));
}

/* The profile of a time and member, made when it is met first; none at a fault of the row. */
static int find_sheet(table *t, sheet **out, const sheet_mark *mark)
{
    for (size_t i = t->sheet_count; i-- > 0;) {
        sheet *s = &t->sheets[i];
        if (!same_time(s->mark.valid_utc_s, mark->valid_utc_s) || s->mark.member != mark->member)
            continue;
        bool issue_differs = !same_time(s->mark.issued_utc_s, mark->issued_utc_s);
        bool kind_differs = s->mark.kind != mark->kind;
        if (issue_differs && t->reading->wanted.archive) continue;
        if (issue_differs || kind_differs)
            pappus_wind_fault(t->reading, t->csv.row,
                              pappus_layer_name(&t->header, issue_differs ? PAPPUS_LAYER_ISSUED
                                                                          : PAPPUS_LAYER_KIND),
                              NULL, "another %s within one profile",
                              issue_differs ? "issue time" : "kind");
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
    **out = (sheet){
        .builder = {.reading = t->reading, .columns = names_of(&t->header), .by_hand = true},
        .mark = *mark,
        .gust_mps = NAN,
        .gust_height_m = INFINITY};
    return PAPPUS_OK;
}

/* Cells behind the last column and rows of nothing but separators come from spreadsheets. */
static bool is_empty(const pappus_csv *csv, size_t from)
{
    for (size_t i = from; i < csv->cell_count; i++)
        if (csv->cells[i][0]) return false;
    return true;
}

static int count_fault(table *t)
{
    bool commas = t->csv.separator == ',' && t->csv.cell_count > t->header.count;
    bool blanks = t->csv.separator == ' ';
    return pappus_wind_fault(
        t->reading, t->csv.row, NULL, NULL, "%zu cells where the header has %zu%s",
        t->csv.cell_count, t->header.count,
        commas   ? "; where commas are decimals, part the cells by semicolons, as in 1,5;240;12"
        : blanks ? "; where blanks part the cells, a missing one is a dash and two blanks or more "
                   "stand between cells that have blanks inside"
                 : "");
}

/* A fault of one row does not end the reading: all faults are told at once. */
static int read_row(table *t)
{
    pappus_wind_raw raw = pappus_wind_raw_empty(t->csv.row, PAPPUS_HEIGHT_AGL);
    const char *height_name = NULL;
    double gust_mps;
    sheet_mark mark;
    sheet *s = NULL;
    if (is_empty(&t->csv, 0) && t->csv.cell_count > 1) return PAPPUS_OK;
    if (t->csv.cell_count < t->header.count || !is_empty(&t->csv, t->header.count)) {
        count_fault(t);
        return PAPPUS_OK;
    }
    bool good = read_mark(t, &mark);
    good = read_values(t, &raw, &height_name) && good;
    good = read_gust(t, &gust_mps) && good;
    if (!good) return PAPPUS_OK;
    int status = find_sheet(t, &s, &mark);
    if (!s) return status;
    keep_gust(s, gust_mps, raw.height_m);
    s->builder.columns.height = height_name;
    return pappus_wind_builder_add(&s->builder, &raw);
}

static void mark_profile(pappus_wind_profile *profile, const sheet_mark *mark)
{
    profile->valid_utc_s = mark->valid_utc_s;
    profile->issued_utc_s = mark->issued_utc_s;
    profile->member = mark->member;
    profile->kind_assumed = mark->kind < 0;
    if (mark->kind >= 0) profile->kind = (pappus_wind_kind)mark->kind;
    if (mark->kind == PAPPUS_WIND_SOUNDING && isnan(profile->issued_utc_s))
        profile->issued_utc_s = profile->valid_utc_s;
}

static int finish_sheets(table *t, pappus_winds *out)
{
    int status = PAPPUS_OK;
    for (size_t i = 0; i < t->sheet_count; i++) {
        sheet *s = &t->sheets[i];
        pappus_wind_profile *profile =
            pappus_winds_append(out, t->reading->path, pappus_wind_layers.name, NULL);
        if (!profile) return pappus_wind_memory_fault(t->reading);
        mark_profile(profile, &s->mark);
        profile->gust_mps = s->gust_mps;
        int finished = pappus_wind_builder_finish(&s->builder, profile);
        if (finished != PAPPUS_OK) status = finished;
    }
    return status;
}

static int read_rows(table *t)
{
    int status = PAPPUS_OK;
    while (status == PAPPUS_OK && pappus_csv_next(&t->csv))
        status = read_row(t);
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
    int status = pappus_layer_header_read(&t->header, &t->csv, reading);
    if (status == PAPPUS_OK) status = survey(t);
    if (status == PAPPUS_OK) status = read_rows(t);
    if (status == PAPPUS_OK) status = finish_sheets(t, out);
    if (status == PAPPUS_OK && reading->fault_count > 0) status = PAPPUS_E_WIND;
    for (size_t i = 0; i < t->sheet_count; i++)
        pappus_wind_builder_clear(&t->sheets[i].builder);
    free(t->sheets);
    free(t);
    return status;
}

const pappus_wind_format pappus_wind_layers = {
    .name = "layer table",
    .help = "a layer table (text, names with units in the first row: pappus manual wind)",
    .text = true,
    .probe = pappus_layer_probe,
    .read = read_layers};
