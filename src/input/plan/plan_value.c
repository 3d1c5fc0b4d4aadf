/* SPDX-License-Identifier: GPL-3.0-or-later
 * One value of a plan: from JSON by its row of the key table into the plan, with
 * a note of how it was understood. A value that is wrong leaves its place as
 * absent and a fault in the log; reading goes on. */
#include "plan_reader.h"
#include "bearing.h"
#include "error.h"
#include "grow.h"
#include "timestamp.h"
#include "uncertain.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define SHOWN 200

/** A value on its way: where it stands, what it is. */
typedef struct {
    pappus_plan_reader *reader;
    const pappus_plan_key *row;
    const char *key;
    const cJSON *item;
    char given[SHOWN]; /* as written */
    char si[SHOWN], us[SHOWN];
} reading;

void pappus_plan_fault(pappus_plan_reader *reader, const char *key, const char *value,
                       const char *message, ...)
{
    char text[512];
    va_list arguments;
    va_start(arguments, message);
    vsnprintf(text, sizeof text, message, arguments);
    va_end(arguments);
    reader->fault_count++;
    pappus_log_add(reader->log, PAPPUS_FAULT, PAPPUS_E_PLAN,
                   pappus_plan_sources_file(reader->sources, key), key, value, "%s", text);
}

static bool fault(const reading *r, const char *message)
{
    pappus_plan_fault(r->reader, r->key, r->given, "%s", message);
    return false;
}

static char *keep(pappus_plan_reader *reader, const char *text)
{
    char *copy = strdup(text);
    if (!copy) reader->out_of_memory = true;
    return copy;
}

static void *at(void *owner, size_t offset)
{
    return (char *)owner + offset;
}

/* ----------------------------------------------------------------- entries */

static pappus_plan_entry *next_entry(pappus_plan_reader *reader)
{
    pappus_plan *plan = reader->plan;
    if (!PAPPUS_GROW(plan->entries, &reader->entry_capacity, plan->entry_count + 1)) {
        reader->out_of_memory = true;
        return NULL;
    }
    pappus_plan_entry *entry = &plan->entries[plan->entry_count++];
    *entry = (pappus_plan_entry){0};
    return entry;
}

static void note(const reading *r, bool assumed)
{
    pappus_plan_entry *entry = next_entry(r->reader);
    if (!entry) return;
    entry->key = keep(r->reader, r->key);
    entry->given = assumed ? NULL : keep(r->reader, r->given);
    entry->si = keep(r->reader, r->si);
    entry->us = keep(r->reader, r->us);
    entry->help = keep(r->reader, r->row->help);
    entry->assumed = assumed;
}

static void show_both(reading *r, const char *text)
{
    snprintf(r->si, sizeof r->si, "%s", text);
    snprintf(r->us, sizeof r->us, "%s", text);
}

/* ------------------------------------------------------------------ bounds */

static bool within(const reading *r, double value)
{
    char low[48], high[48], low_us[48], high_us[48];
    const pappus_plan_key *row = r->row;
    if (value >= row->low && value <= row->high) return true;
    pappus_units_format(low, sizeof low, row->dimension, PAPPUS_UNITS_SI, row->low);
    pappus_units_format(high, sizeof high, row->dimension, PAPPUS_UNITS_SI, row->high);
    pappus_units_format(low_us, sizeof low_us, row->dimension, PAPPUS_UNITS_US, row->low);
    pappus_units_format(high_us, sizeof high_us, row->dimension, PAPPUS_UNITS_US, row->high);
    bool same = strcmp(low, low_us) == 0 && strcmp(high, high_us) == 0;
    pappus_plan_fault(r->reader, r->key, r->given, "out of range; accepted is %s to %s%s%s%s%s%s",
                      low, high, same ? "" : " (", same ? "" : low_us, same ? "" : " to ",
                      same ? "" : high_us, same ? "" : ")");
    return false;
}

/* ----------------------------------------------------------------- numbers */

static bool wrong_type(const reading *r)
{
    pappus_dimension dimension = r->row->dimension;
    char message[SHOWN];
    snprintf(message, sizeof message, "%s; accepted is %s, as in \"%s\"",
             cJSON_IsNumber(r->item) ? "a number without its unit" : "not a value",
             pappus_dimension_text(dimension), pappus_dimension_example(dimension));
    return fault(r, message);
}

/* A number from a JSON number (where no unit is due) or a text. */
static bool scalar(const reading *r, const cJSON *item, bool difference, double *out)
{
    pappus_error error = {0};
    pappus_dimension dimension = r->row->dimension;
    if (cJSON_IsNumber(item) && !pappus_dimension_needs_unit(dimension)) {
        *out = item->valuedouble;
        return true;
    }
    if (!cJSON_IsString(item)) return wrong_type(r);
    int status = difference ? pappus_units_parse_difference(out, r->reader->units, dimension,
                                                            item->valuestring, &error)
                            : pappus_units_parse(out, r->reader->units, dimension,
                                                 item->valuestring, &error);
    return status == PAPPUS_OK || fault(r, error.message);
}

static bool read_value(reading *r, double *out)
{
    double value;
    bool can_be_off = (r->row->flags & PAPPUS_KEY_CAN_BE_OFF) != 0;
    if (can_be_off && (cJSON_IsNull(r->item) ||
                       (cJSON_IsString(r->item) && strcmp(r->item->valuestring, "off") == 0))) {
        *out = NAN;
        show_both(r, "off");
        return true;
    }
    if (!scalar(r, r->item, false, &value) || !within(r, value)) return false;
    *out = value;
    pappus_units_format(r->si, sizeof r->si, r->row->dimension, PAPPUS_UNITS_SI, value);
    pappus_units_format(r->us, sizeof r->us, r->row->dimension, PAPPUS_UNITS_US, value);
    return true;
}

#define UNCERTAIN_ACCEPTED                                                                         \
    "accepted is {\"mean\", \"sd\"}, {\"low\", \"high\"} or {\"low\", \"mode\", \"high\"}, with "  \
    "mean and sd also \"distribution\": \"normal\" or \"lognormal\""

/* The members of an uncertain object, NaN where not given. */
typedef struct {
    double mean, sd, low, mode, high;
    bool lognormal, named;
} parts;

static bool read_distribution(const reading *r, const cJSON *item, parts *out)
{
    out->named = true;
    out->lognormal = cJSON_IsString(item) && strcmp(item->valuestring, "lognormal") == 0;
    bool normal = cJSON_IsString(item) && strcmp(item->valuestring, "normal") == 0;
    return normal || out->lognormal || fault(r, "no such distribution; " UNCERTAIN_ACCEPTED);
}

/* A standard deviation; "20 %" is of the mean. */
static bool read_sd(const reading *r, const cJSON *item, double mean, double *out)
{
    double share;
    const char *text = cJSON_IsString(item) ? item->valuestring : "";
    size_t n = pappus_number_read(&share, text);
    if (n == 0 || strcmp(text + n + (text[n] == ' '), "%") != 0) return scalar(r, item, true, out);
    if (r->row->dimension == PAPPUS_DIM_TEMPERATURE || !(fabs(mean) > 0.0)) {
        return fault(r, "a share of a value that has no natural zero or is zero");
    }
    *out = 0.01 * share * fabs(mean);
    return true;
}

static bool read_parts(const reading *r, parts *out)
{
    *out = (parts){NAN, NAN, NAN, NAN, NAN, false, false};
    const struct {
        const char *name;
        double *value;
    } known[] = {
        {"mean", &out->mean}, {"low", &out->low}, {"mode", &out->mode}, {"high", &out->high}};
    const cJSON *member, *sd = NULL;
    cJSON_ArrayForEach(member, r->item)
    {
        bool found = false;
        if (strcmp(member->string, "distribution") == 0) {
            if (!read_distribution(r, member, out)) return false;
            continue;
        }
        if (strcmp(member->string, "sd") == 0) {
            sd = member;
            continue;
        }
        for (size_t i = 0; i < sizeof known / sizeof *known; i++) {
            if (strcmp(member->string, known[i].name) != 0) continue;
            if (!scalar(r, member, false, known[i].value)) return false;
            found = true;
        }
        if (!found) return fault(r, "an unknown key inside; " UNCERTAIN_ACCEPTED);
    }
    return !sd || read_sd(r, sd, out->mean, &out->sd);
}

static bool from_parts(const reading *r, const parts *p, pappus_uncertain *out)
{
    bool mean = isfinite(p->mean), sd = isfinite(p->sd), low = isfinite(p->low);
    bool mode = isfinite(p->mode), high = isfinite(p->high);
    if (mean && sd && !low && !mode && !high) {
        if (p->sd < 0.0) return fault(r, "a standard deviation below zero");
        if (p->lognormal && p->mean <= 0.0) return fault(r, "a lognormal mean not above zero");
        *out = p->sd == 0.0   ? pappus_exact(p->mean)
               : p->lognormal ? pappus_lognormal(p->mean, p->sd)
                              : pappus_normal(p->mean, p->sd);
        return within(r, p->mean);
    }
    if (mean || sd || !low || !high || p->named) {
        return fault(r, "members that do not go together; " UNCERTAIN_ACCEPTED);
    }
    if (!within(r, p->low) || !within(r, p->high)) return false;
    if (p->low > p->high || (mode && (p->mode < p->low || p->mode > p->high))) {
        return fault(r, "not in order; accepted is low <= mode <= high");
    }
    *out = p->low == p->high ? pappus_exact(p->low)
           : mode            ? pappus_triangular(p->low, p->mode, p->high)
                             : pappus_uniform(p->low, p->high);
    return true;
}

static bool uncertain_of(const reading *r, pappus_uncertain *out)
{
    pappus_error error = {0};
    parts p;
    if (cJSON_IsObject(r->item)) return read_parts(r, &p) && from_parts(r, &p, out);
    if (cJSON_IsString(r->item)) {
        int status = pappus_units_parse_uncertain(out, r->reader->units, r->row->dimension,
                                                  r->item->valuestring, &error);
        if (status != PAPPUS_OK) return fault(r, error.message);
    } else {
        double value;
        if (!scalar(r, r->item, false, &value)) return false;
        *out = pappus_exact(value);
    }
    return within(r, out->mean);
}

static bool read_uncertain(reading *r, pappus_uncertain *out)
{
    pappus_uncertain value = {0};
    if (!uncertain_of(r, &value)) return false;
    *out = value;
    pappus_dimension dimension = r->row->dimension;
    pappus_units_format_uncertain(r->si, sizeof r->si, dimension, PAPPUS_UNITS_SI, value);
    pappus_units_format_uncertain(r->us, sizeof r->us, dimension, PAPPUS_UNITS_US, value);
    return true;
}

/* A whole number within the row's bounds. */
static bool read_whole(reading *r, double *out)
{
    char message[SHOWN];
    double value = NAN;
    if (cJSON_IsNumber(r->item)) value = r->item->valuedouble;
    if (cJSON_IsString(r->item)) {
        size_t n = pappus_number_read(&value, r->item->valuestring);
        if (n == 0 || r->item->valuestring[n]) value = NAN;
    }
    if (!(value >= r->row->low && value <= r->row->high) || value != floor(value)) {
        snprintf(message, sizeof message, "accepted is a whole number of %.0f to %.0f", r->row->low,
                 r->row->high);
        return fault(r, message);
    }
    *out = value;
    snprintf(r->si, sizeof r->si, "%.0f", value);
    snprintf(r->us, sizeof r->us, "%.0f", value);
    return true;
}

/* ------------------------------------------------------------------- texts */

static bool read_text(reading *r, char **out)
{
    char message[SHOWN];
    if (!cJSON_IsString(r->item)) return fault(r, "accepted is a text in quotes");
    size_t length = strlen(r->item->valuestring);
    if ((double)length < r->row->low || (double)length > r->row->high) {
        snprintf(message, sizeof message, "%s; accepted is a text of %.0f to %.0f bytes",
                 length ? "too long" : "empty", r->row->low, r->row->high);
        return fault(r, message);
    }
    if (out) {
        free(*out);
        *out = r->row->kind == PAPPUS_KEY_PATH
                   ? pappus_plan_sources_path(r->reader->sources, r->key, r->item->valuestring)
                   : strdup(r->item->valuestring);
        if (!*out) r->reader->out_of_memory = true;
        if (*out && r->row->kind == PAPPUS_KEY_PATH) show_both(r, *out);
    }
    if (r->row->kind == PAPPUS_KEY_TEXT) show_both(r, r->item->valuestring);
    return true;
}

static bool read_choice(reading *r, unsigned *out)
{
    char message[400] = "accepted is";
    const char *const *choices = r->row->choices;
    for (unsigned i = 0; choices[i]; i++) {
        if (cJSON_IsString(r->item) && strcmp(choices[i], r->item->valuestring) == 0) {
            *out = i;
            show_both(r, choices[i]);
            return true;
        }
        size_t n = strlen(message);
        snprintf(message + n, sizeof message - n, "%s \"%s\"", i ? "," : "", choices[i]);
    }
    return fault(r, message);
}

/* ---------------------------------------------------------------- bearings */

static bool bearing_of(reading *r, double *out)
{
    pappus_error error = {0};
    double declination_deg = r->reader->plan->site.declination_deg;
    if (!cJSON_IsString(r->item))
        return fault(r, "accepted is a bearing, as in \"240 deg\" or \"WSW\"");
    if (pappus_bearing_parse(out, r->item->valuestring, declination_deg, &error)) {
        return fault(r, error.message);
    }
    pappus_bearing_format(r->si, sizeof r->si, *out, declination_deg);
    pappus_bearing_format(r->us, sizeof r->us, *out, declination_deg);
    return true;
}

static bool read_heading(reading *r, pappus_heading *out)
{
    static const char *const words[] = {[PAPPUS_UPWIND] = "upwind", [PAPPUS_DOWNWIND] = "downwind"};
    for (int kind = PAPPUS_UPWIND; kind <= PAPPUS_DOWNWIND; kind++) {
        if (!cJSON_IsString(r->item) || strcmp(r->item->valuestring, words[kind]) != 0) continue;
        *out = (pappus_heading){(pappus_heading_kind)kind, NAN};
        show_both(r, words[kind]);
        return true;
    }
    double bearing_deg;
    if (!bearing_of(r, &bearing_deg)) return false;
    *out = (pappus_heading){PAPPUS_BEARING, bearing_deg};
    return true;
}

static bool read_time(reading *r, double *out)
{
    pappus_error error = {0};
    if (!cJSON_IsString(r->item)) {
        return fault(r, "accepted is a time in quotes, as in \"2027-04-17T15:00Z\"");
    }
    if (pappus_time_parse(out, r->item->valuestring, &error)) return fault(r, error.message);
    pappus_time_format(r->si, sizeof r->si, *out);
    pappus_time_format(r->us, sizeof r->us, *out);
    return true;
}

/* ------------------------------------------------------------------ points */

static bool point_of(const reading *r, const cJSON *item, size_t index, double *out)
{
    char message[SHOWN];
    const cJSON *latitude = cJSON_GetArrayItem(item, 0), *longitude = cJSON_GetArrayItem(item, 1);
    bool pair = cJSON_IsArray(item) && cJSON_GetArraySize(item) == 2 && cJSON_IsNumber(latitude) &&
                cJSON_IsNumber(longitude);
    if (pair && fabs(latitude->valuedouble) <= 90.0 && fabs(longitude->valuedouble) <= 180.0) {
        out[0] = latitude->valuedouble;
        out[1] = longitude->valuedouble;
        return true;
    }
    snprintf(message, sizeof message,
             "point %zu; accepted is [latitude, longitude] in degrees, -90 to 90 and -180 to 180",
             index + 1);
    return fault(r, message);
}

static bool read_points(reading *r, double **out, size_t *count)
{
    char message[SHOWN];
    const cJSON *item;
    size_t n = cJSON_IsArray(r->item) ? (size_t)cJSON_GetArraySize(r->item) : 0, i = 0;
    if ((double)n < r->row->low || (double)n > r->row->high) {
        snprintf(message, sizeof message,
                 "accepted is a list of %.0f to %.0f points, [[latitude, longitude], ...]",
                 r->row->low, r->row->high);
        return fault(r, message);
    }
    double *points = malloc(2 * n * sizeof *points);
    if (!points) {
        r->reader->out_of_memory = true;
        return false;
    }
    cJSON_ArrayForEach(item, r->item)
    {
        if (!point_of(r, item, i, points + 2 * i)) {
            free(points);
            return false;
        }
        i++;
    }
    free(*out);
    *out = points;
    *count = n;
    snprintf(message, sizeof message, "%zu points", n);
    show_both(r, message);
    return true;
}

/* --------------------------------------------------------------------- rows */

static bool read_kind(reading *r, void *owner)
{
    double whole = 0.0;
    unsigned choice = 0;
    void *place = r->row->offset == PAPPUS_NO_OFFSET ? NULL : at(owner, r->row->offset);
    switch (r->row->kind) {
    case PAPPUS_KEY_VALUE:
        return read_value(r, place);
    case PAPPUS_KEY_UNCERTAIN:
        return read_uncertain(r, place);
    case PAPPUS_KEY_TEXT:
    case PAPPUS_KEY_PATH:
        return read_text(r, place);
    case PAPPUS_KEY_CHOICE:
        if (!read_choice(r, &choice)) return false;
        memcpy(place, &choice, sizeof choice); /* enums of the header have its size */
        return true;
    case PAPPUS_KEY_SWITCH:
        if (!read_choice(r, &choice)) return false;
        *(bool *)place = choice == 1;
        return true;
    case PAPPUS_KEY_SIZE:
        if (!read_whole(r, &whole)) return false;
        *(size_t *)place = (size_t)whole;
        return true;
    case PAPPUS_KEY_INT:
        if (!read_whole(r, &whole)) return false;
        *(int *)place = (int)whole;
        return true;
    case PAPPUS_KEY_UINT64:
        if (!read_whole(r, &whole)) return false;
        *(uint64_t *)place = (uint64_t)whole;
        return true;
    case PAPPUS_KEY_HEADING:
        return read_heading(r, place);
    case PAPPUS_KEY_BEARING:
        return bearing_of(r, place);
    case PAPPUS_KEY_TIME:
        return read_time(r, place);
    case PAPPUS_KEY_POINTS:
        return read_points(r, place, at(owner, r->row->extra));
    default:
        return false;
    }
}

void pappus_plan_value_clear(const pappus_plan_key *row, void *owner)
{
    if (row->offset == PAPPUS_NO_OFFSET) return;
    if (row->kind == PAPPUS_KEY_VALUE || row->kind == PAPPUS_KEY_BEARING ||
        row->kind == PAPPUS_KEY_TIME) {
        *(double *)at(owner, row->offset) = NAN;
    }
}

/* The default of a row as JSON would give it. */
static void read_default(pappus_plan_reader *reader, const pappus_plan_key *row, const char *key,
                         void *owner)
{
    reading r = {.reader = reader, .row = row, .key = key};
    if (!row->assumed) return;
    cJSON *item =
        row->assumed[0] == '{' ? cJSON_Parse(row->assumed) : cJSON_CreateString(row->assumed);
    r.item = item;
    if (!item) {
        reader->out_of_memory = true;
    } else if (read_kind(&r, owner)) {
        note(&r, true);
    }
    cJSON_Delete(item);
}

void pappus_plan_value_read(pappus_plan_reader *reader, const pappus_plan_key *row, const char *key,
                            const cJSON *item, void *owner)
{
    reading r = {.reader = reader, .row = row, .key = key, .item = item};
    bool null_is_off = (row->flags & PAPPUS_KEY_CAN_BE_OFF) != 0;
    if (!item || (cJSON_IsNull(item) && !null_is_off)) {
        if (row->flags & PAPPUS_KEY_REQUIRED) {
            pappus_plan_fault(reader, key, NULL, "is required: %s", row->help);
        }
        read_default(reader, row, key, owner);
        return;
    }
    pappus_json_text(r.given, sizeof r.given, item);
    if (!read_kind(&r, owner)) return;
    if (row->kind != PAPPUS_KEY_POINTS && row->extra != PAPPUS_NO_OFFSET) {
        *(bool *)at(owner, row->extra) = true;
    }
    note(&r, false);
}

static pappus_plan_entry *entry_of(const pappus_plan *plan, const char *key)
{
    for (size_t i = 0; i < plan->entry_count; i++)
        if (plan->entries[i].key && strcmp(plan->entries[i].key, key) == 0)
            return &plan->entries[i];
    return NULL;
}

void pappus_plan_value_assume(pappus_plan_reader *reader, const char *key, double value)
{
    reading r = {.reader = reader, .row = pappus_plan_key_find(key, false), .key = key};
    pappus_units_format(r.si, sizeof r.si, r.row->dimension, PAPPUS_UNITS_SI, value);
    pappus_units_format(r.us, sizeof r.us, r.row->dimension, PAPPUS_UNITS_US, value);
    pappus_plan_entry *entry = entry_of(reader->plan, key);
    if (!entry) {
        note(&r, true);
        return;
    }
    free(entry->si);
    free(entry->us);
    entry->si = keep(reader, r.si);
    entry->us = keep(reader, r.us);
}
