/* SPDX-License-Identifier: GPL-3.0-or-later
 * An altimeter's log: a table of text (csv.h) whose header names a time and a height, each
 * with its unit: time_s, height_ft; other columns are passed over. A height called gps is
 * geometric and taken only where there is none of pressure. Nothing is guessed of units.
 *
 * Rows without a number, out of order or of a time that was there are left out and counted: a
 * logger hiccups. More than a fifth of them is no log. Rows from the last to the first are
 * turned round. */
#include <pappus/debrief.h>

#include "csv.h"
#include "decimal.h"
#include "error.h"
#include "file.h"
#include "grow.h"
#include "units.h"
#include "utf8.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define UNUSABLE_MOST 0.2
#define HIGHEST_M 100e3
#define STEP_MOST_S 5.0

#define ACCEPTED_TIME "accepted is a time with its unit, as in time_s or time_ms"
#define ACCEPTED_HEIGHT                                                                            \
    "accepted is a height above the pad with its unit, as in height_m or height_ft"

/* A column as its name says. */
typedef struct {
    int at; /* -1: none */
    double factor;
    char name[48];
} column;

typedef struct {
    const char *path;
    pappus_log *log;
    pappus_flight_log *out;
    pappus_csv csv;
    column time, height, satellite;
    char decimal;
    size_t capacity;
    size_t first_bad_row;
    char first_bad[48];
} reading;

static int fault(const reading *r, size_t row, const char *name, const char *found,
                 const char *message)
{
    char key[120];
    if (row > 0)
        snprintf(key, sizeof key, "row %zu%s%.60s", row, name ? ", column " : "", name ? name : "");
    return pappus_log_add(r->log, PAPPUS_FAULT, PAPPUS_E_RECORD, r->path, row > 0 ? key : name,
                          found, "%s", message);
}

static int memory_fault(const reading *r)
{
    return pappus_log_add(r->log, PAPPUS_FAULT, PAPPUS_E_MEMORY, r->path, NULL, NULL,
                          "out of memory");
}

/* ------------------------------------------------------------------------ header */

typedef enum { OTHER, TIME, HEIGHT, UNIT_TIME, UNIT_LENGTH, SATELLITE, ABOVE_SEA, NOISE } meaning;

/* What a word of a name says; a unit's factor too. */
static meaning meaning_of(const char *word, double *factor)
{
    static const struct {
        const char *word;
        meaning says;
    } words[] = {
        {"time", TIME},       {"t", TIME},           {"timestamp", TIME}, {"height", HEIGHT},
        {"altitude", HEIGHT}, {"alt", HEIGHT},       {"gps", SATELLITE},  {"gnss", SATELLITE},
        {"msl", ABOVE_SEA},   {"asl", ABOVE_SEA},    {"amsl", ABOVE_SEA}, {"agl", NOISE},
        {"baro", NOISE},      {"barometric", NOISE}, {"above", NOISE},    {"pad", NOISE},
        {"ground", NOISE},    {"flight", NOISE},     {"elapsed", NOISE},  {"in", NOISE}};
    double offset;
    for (size_t i = 0; i < sizeof words / sizeof *words; i++)
        if (strcmp(words[i].word, word) == 0) return words[i].says;
    if (pappus_unit_find(factor, &offset, PAPPUS_DIM_TIME, word)) return UNIT_TIME;
    if (strcmp(word, "ms") == 0 || strcmp(word, "msec") == 0) {
        *factor = 1e-3;
        return UNIT_TIME;
    }
    if (pappus_unit_find(factor, &offset, PAPPUS_DIM_LENGTH, word)) return UNIT_LENGTH;
    return OTHER;
}

typedef struct {
    unsigned says; /* a bit for each meaning */
    double factor;
} name_reading;

static name_reading read_name(const char *name)
{
    name_reading out = {0, NAN};
    char word[48];
    size_t n = 0;
    for (const char *p = name;; p++) {
        char c = *p >= 'A' && *p <= 'Z' ? (char)(*p - 'A' + 'a') : *p;
        if ((c >= 'a' && c <= 'z') || (c >= '0' && c <= '9') || (unsigned char)c >= 0x80) {
            if (n + 1 < sizeof word) word[n++] = c;
            continue;
        }
        word[n] = '\0';
        if (n > 0) out.says |= 1U << meaning_of(word, &out.factor);
        n = 0;
        if (!c) return out;
    }
}

static bool says(const name_reading *name, meaning what)
{
    return (name->says & 1U << what) != 0;
}

static int take_column(reading *r, column *to, size_t i, const name_reading *name, meaning unit,
                       const char *accepted)
{
    char message[200];
    const char *text = r->csv.cells[i];
    if (!says(name, unit)) {
        snprintf(message, sizeof message, "a column without a unit that is known; %s", accepted);
        return fault(r, r->csv.row, text, NULL, message);
    }
    if (to->at >= 0) return PAPPUS_OK; /* the first of its kind */
    to->at = (int)i;
    to->factor = name->factor;
    snprintf(to->name, sizeof to->name, "%s", text);
    return PAPPUS_OK;
}

/* Words that are not known beside a quantity make it another: "time of flight to apogee". */
static int look_at_column(reading *r, size_t i)
{
    name_reading name = read_name(r->csv.cells[i]);
    if (says(&name, OTHER)) return PAPPUS_OK;
    if (says(&name, TIME) && !says(&name, HEIGHT))
        return take_column(r, &r->time, i, &name, UNIT_TIME, ACCEPTED_TIME);
    if (!says(&name, HEIGHT) || says(&name, TIME)) return PAPPUS_OK;
    if (says(&name, ABOVE_SEA))
        return fault(r, r->csv.row, r->csv.cells[i], NULL,
                     "a height above the sea; " ACCEPTED_HEIGHT);
    return take_column(r, says(&name, SATELLITE) ? &r->satellite : &r->height, i, &name,
                       UNIT_LENGTH, ACCEPTED_HEIGHT);
}

static int read_header(reading *r)
{
    int status = PAPPUS_OK;
    if (!pappus_csv_next(&r->csv))
        return fault(r, r->csv.row, NULL, NULL,
                     r->csv.fault ? r->csv.fault : "no header; accepted is time_s,height_m");
    for (size_t i = 0; i < r->csv.cell_count; i++) {
        int one = look_at_column(r, i);
        if (status == PAPPUS_OK) status = one;
    }
    if (status != PAPPUS_OK) return status;
    if (r->height.at < 0) {
        r->height = r->satellite;
        r->out->geometric = r->height.at >= 0;
    }
    if (r->time.at < 0) return fault(r, r->csv.row, "time", NULL, "none; " ACCEPTED_TIME);
    if (r->height.at < 0) return fault(r, r->csv.row, "height", NULL, "none; " ACCEPTED_HEIGHT);
    return PAPPUS_OK;
}

/* -------------------------------------------------------------------------- rows */

/* The number of a cell of this row, NaN when it is none. */
static double number_of(const reading *r, const column *c)
{
    double value;
    if (c->at >= (int)r->csv.cell_count) return NAN;
    const char *cell = r->csv.cells[c->at];
    size_t n = pappus_decimal_read(&value, cell, r->decimal);
    return n > 0 && cell[n] == '\0' ? value * c->factor : NAN;
}

static void note_bad(reading *r)
{
    r->out->unusable++;
    if (r->first_bad_row) return;
    r->first_bad_row = r->csv.row;
    const column *c = isnan(number_of(r, &r->time)) ? &r->time : &r->height;
    const char *cell = c->at < (int)r->csv.cell_count ? r->csv.cells[c->at] : "";
    pappus_text_cut(r->first_bad, sizeof r->first_bad, cell);
}

static int read_row(reading *r)
{
    pappus_flight_log *out = r->out;
    double time_s = number_of(r, &r->time), height_m = number_of(r, &r->height);
    out->rows++;
    if (isnan(time_s) || isnan(height_m) || fabs(height_m) > HIGHEST_M) {
        note_bad(r);
        return PAPPUS_OK;
    }
    size_t capacity = r->capacity;
    if (!PAPPUS_GROW(out->time_s, &capacity, out->count + 1) ||
        !PAPPUS_GROW(out->height_m, &r->capacity, out->count + 1))
        return memory_fault(r);
    out->time_s[out->count] = time_s;
    out->height_m[out->count++] = height_m;
    return PAPPUS_OK;
}

/* A sign of decimals that any number of the two columns tells. */
static int find_decimal(reading *r, const char *text, size_t length)
{
    pappus_decimal_evidence evidence = {0};
    char *copy = malloc(length + 1);
    r->decimal = '.';
    if (!copy) return memory_fault(r);
    memcpy(copy, text, length + 1);
    pappus_csv csv;
    pappus_csv_begin(&csv, copy, length);
    for (bool header = true; pappus_csv_next(&csv); header = false)
        for (int i = 0; !header && i < (int)csv.cell_count; i++)
            if (i == r->time.at || i == r->height.at)
                pappus_decimal_weigh(&evidence, csv.cells[i], csv.row);
    if (evidence.comma_row && !evidence.point_row) r->decimal = ',';
    free(copy);
    return PAPPUS_OK;
}

/* From last to first turned round. */
static void turn_round(pappus_flight_log *out)
{
    size_t falling = 0;
    for (size_t i = 1; i < out->count; i++)
        falling += out->time_s[i] < out->time_s[i - 1];
    if (10 * falling < 9 * out->count) return;
    for (size_t i = 0, k = out->count; i + 1 < k--; i++) {
        double t = out->time_s[i], h = out->height_m[i];
        out->time_s[i] = out->time_s[k];
        out->height_m[i] = out->height_m[k];
        out->time_s[k] = t;
        out->height_m[k] = h;
    }
}

/* Keeps what goes on in time. */
static void keep_order(pappus_flight_log *out)
{
    size_t kept = 0;
    for (size_t i = 0; i < out->count; i++) {
        if (kept > 0 && out->time_s[i] <= out->time_s[kept - 1]) {
            out->repeated++;
            continue;
        }
        out->time_s[kept] = out->time_s[i];
        out->height_m[kept++] = out->height_m[i];
    }
    out->count = kept;
}

static int check_rows(const reading *r)
{
    const pappus_flight_log *out = r->out;
    char message[200];
    if (out->rows == 0)
        return fault(r, 0, NULL, NULL, "a header and no row under it; accepted is a log");
    if ((double)out->unusable > UNUSABLE_MOST * (double)out->rows) {
        snprintf(message, sizeof message,
                 "no number, as in %zu of %zu rows; accepted are finite numbers in the columns "
                 "%.40s and %.40s",
                 out->unusable, out->rows, r->time.name, r->height.name);
        return fault(r, r->first_bad_row, NULL, r->first_bad, message);
    }
    if ((double)out->repeated > UNUSABLE_MOST * (double)out->rows) {
        snprintf(message, sizeof message,
                 "%zu of %zu rows are of a time that was there already, or earlier; accepted "
                 "are times in order",
                 out->repeated, out->rows);
        return fault(r, 0, r->time.name, NULL, message);
    }
    double span_s = out->count > 1 ? out->time_s[out->count - 1] - out->time_s[0] : 0.0;
    if (out->count > 1 && span_s / (double)(out->count - 1) > STEP_MOST_S) {
        snprintf(message, sizeof message,
                 "samples %.1f s apart; accepted are 5 s at most: is the unit of the time right?",
                 span_s / (double)(out->count - 1));
        return fault(r, 0, r->time.name, NULL, message);
    }
    return PAPPUS_OK;
}

static int read_text(reading *r, char *text, size_t length)
{
    size_t bad;
    char *copy = malloc(length + 1);
    if (!copy) return memory_fault(r);
    memcpy(copy, text, length + 1);
    int status = PAPPUS_OK;
    if (memchr(text, '\0', length) || !pappus_utf8_is_valid(text, length, &bad))
        status = fault(r, 0, NULL, NULL, "not a text; accepted is a table as time_s,height_m");
    size_t mark = strncmp(text, "\xEF\xBB\xBF", 3) == 0 ? 3 : 0; /* a byte order mark */
    pappus_csv_begin(&r->csv, text + mark, length - mark);
    if (status == PAPPUS_OK) status = read_header(r);
    if (status == PAPPUS_OK) status = find_decimal(r, copy, length);
    while (status == PAPPUS_OK && pappus_csv_next(&r->csv))
        status = read_row(r);
    if (status == PAPPUS_OK && r->csv.fault)
        status = fault(r, r->csv.row, NULL, NULL, r->csv.fault);
    free(copy);
    if (status != PAPPUS_OK) return status;
    turn_round(r->out);
    keep_order(r->out);
    return check_rows(r);
}

int pappus_flight_log_read(pappus_flight_log **out, const char *path, pappus_log *log)
{
    pappus_error error = {0};
    char *text = NULL;
    size_t length = 0;
    *out = NULL;
    int status = pappus_file_read(&text, &length, path, PAPPUS_FILE_LIMIT, PAPPUS_E_RECORD, &error);
    if (status != PAPPUS_OK) return pappus_log_error(log, &error);
    reading r = {.path = path,
                 .log = log,
                 .out = calloc(1, sizeof *r.out),
                 .time = {.at = -1},
                 .height = {.at = -1},
                 .satellite = {.at = -1}};
    if (r.out) r.out->path = strdup(path);
    status = r.out && r.out->path ? read_text(&r, text, length) : memory_fault(&r);
    free(text);
    if (status != PAPPUS_OK) {
        pappus_flight_log_free(r.out);
        return status;
    }
    *out = r.out;
    return PAPPUS_OK;
}

void pappus_flight_log_free(pappus_flight_log *flight_log)
{
    if (!flight_log) return;
    free(flight_log->path);
    free(flight_log->time_s);
    free(flight_log->height_m);
    free(flight_log);
}
