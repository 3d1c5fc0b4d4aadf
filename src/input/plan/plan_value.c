/* SPDX-License-Identifier: GPL-3.0-or-later
 * One value of a plan: from JSON by its row of the key table into the plan, with
 * a note of how it was understood. A value that is wrong leaves its place as
 * absent and a fault in the log; reading goes on. */
#include "plan_value.h"
#include "coordinate.h"
#include "bearing.h"
#include "error.h"
#include "grow.h"
#include "timestamp.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

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

bool plan_value_fault(const plan_reading *r, const char *message)
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

static void note(const plan_reading *r, bool assumed)
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

void plan_value_show(plan_reading *r, const char *text)
{
    snprintf(r->si, sizeof r->si, "%s", text);
    snprintf(r->us, sizeof r->us, "%s", text);
}

/* ------------------------------------------------------------------- texts */

static bool read_text(plan_reading *r, char **out)
{
    char message[SHOWN];
    if (!cJSON_IsString(r->item)) return plan_value_fault(r, "accepted is a text in quotes");
    size_t length = strlen(r->item->valuestring);
    if ((double)length < r->row->low || (double)length > r->row->high) {
        snprintf(message, sizeof message, "%s; accepted is a text of %.0f to %.0f bytes",
                 length ? "too long" : "empty", r->row->low, r->row->high);
        return plan_value_fault(r, message);
    }
    if (out) {
        free(*out);
        *out = r->row->kind == PAPPUS_KEY_PATH
                   ? pappus_plan_sources_path(r->reader->sources, r->key, r->item->valuestring)
                   : strdup(r->item->valuestring);
        if (!*out) r->reader->out_of_memory = true;
        if (*out && r->row->kind == PAPPUS_KEY_PATH) plan_value_show(r, r->item->valuestring);
    }
    if (r->row->kind == PAPPUS_KEY_TEXT) plan_value_show(r, r->item->valuestring);
    return true;
}

static bool read_choice(plan_reading *r, unsigned *out)
{
    char message[400] = "accepted is";
    const char *const *choices = r->row->choices;
    for (unsigned i = 0; choices[i]; i++) {
        if (cJSON_IsString(r->item) && strcmp(choices[i], r->item->valuestring) == 0) {
            *out = i;
            plan_value_show(r, choices[i]);
            return true;
        }
        size_t n = strlen(message);
        snprintf(message + n, sizeof message - n, "%s \"%s\"", i ? "," : "", choices[i]);
    }
    return plan_value_fault(r, message);
}

/* ---------------------------------------------------------------- bearings */

static bool bearing_of(plan_reading *r, double *out)
{
    pappus_error error = {0};
    double declination_deg = r->reader->plan->site.declination_deg;
    if (!cJSON_IsString(r->item))
        return plan_value_fault(r, "accepted is a bearing, as in \"240 deg\" or \"WSW\"");
    if (pappus_bearing_parse(out, r->item->valuestring, declination_deg, &error)) {
        return plan_value_fault(r, error.message);
    }
    pappus_bearing_format(r->si, sizeof r->si, *out, declination_deg);
    pappus_bearing_format(r->us, sizeof r->us, *out, declination_deg);
    return true;
}

static bool read_heading(plan_reading *r, pappus_heading *out)
{
    static const char *const words[] = {[PAPPUS_UPWIND] = "upwind", [PAPPUS_DOWNWIND] = "downwind"};
    for (int kind = PAPPUS_UPWIND; kind <= PAPPUS_DOWNWIND; kind++) {
        if (!cJSON_IsString(r->item) || strcmp(r->item->valuestring, words[kind]) != 0) continue;
        *out = (pappus_heading){(pappus_heading_kind)kind, NAN};
        plan_value_show(r, words[kind]);
        return true;
    }
    double bearing_deg;
    if (!bearing_of(r, &bearing_deg)) return false;
    *out = (pappus_heading){PAPPUS_BEARING, bearing_deg};
    return true;
}

static bool read_time(plan_reading *r, double *out)
{
    pappus_error error = {0};
    if (!cJSON_IsString(r->item)) {
        return plan_value_fault(r, "accepted is a time in quotes, as in \"2027-04-17T15:00Z\"");
    }
    if (pappus_time_parse(out, r->item->valuestring, &error))
        return plan_value_fault(r, error.message);
    pappus_time_format(r->si, sizeof r->si, *out);
    pappus_time_format(r->us, sizeof r->us, *out);
    return true;
}

/* ------------------------------------------------------------------ points */

/* A latitude or longitude: a number, or a text with its hemisphere. */
static bool side_of(const cJSON *item, bool latitude, double *out)
{
    if (cJSON_IsString(item)) return pappus_coordinate_read(out, item->valuestring, latitude);
    *out = item->valuedouble;
    return cJSON_IsNumber(item) && fabs(*out) <= (latitude ? 90.0 : 180.0);
}

static bool point_of(const plan_reading *r, const cJSON *item, size_t index, double *out)
{
    char message[SHOWN];
    bool pair = cJSON_IsArray(item) && cJSON_GetArraySize(item) == 2;
    if (pair && side_of(cJSON_GetArrayItem(item, 0), true, &out[0]) &&
        side_of(cJSON_GetArrayItem(item, 1), false, &out[1]))
        return true;
    snprintf(message, sizeof message,
             "point %zu; accepted is [latitude, longitude] in degrees, -90 to 90 and -180 to 180, "
             "or as [\"41 15.000 N\", \"96 30.000 W\"]",
             index + 1);
    return plan_value_fault(r, message);
}

static bool read_points(plan_reading *r, double **out, size_t *count)
{
    char message[SHOWN];
    const cJSON *item;
    size_t n = cJSON_IsArray(r->item) ? (size_t)cJSON_GetArraySize(r->item) : 0, i = 0;
    if ((double)n < r->row->low || (double)n > r->row->high) {
        snprintf(message, sizeof message,
                 "accepted is a list of %.0f to %.0f points, [[latitude, longitude], ...]",
                 r->row->low, r->row->high);
        return plan_value_fault(r, message);
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
    plan_value_show(r, message);
    return true;
}

/* --------------------------------------------------------------------- rows */

static bool read_kind(plan_reading *r, void *owner)
{
    double whole = 0.0;
    unsigned choice = 0;
    void *place = r->row->offset == PAPPUS_NO_OFFSET ? NULL : at(owner, r->row->offset);
    switch (r->row->kind) {
    case PAPPUS_KEY_VALUE:
        return plan_read_value(r, place);
    case PAPPUS_KEY_UNCERTAIN:
        return plan_read_uncertain(r, place);
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
        if (!plan_read_whole(r, &whole)) return false;
        *(size_t *)place = (size_t)whole;
        return true;
    case PAPPUS_KEY_INT:
        if (!plan_read_whole(r, &whole)) return false;
        *(int *)place = (int)whole;
        return true;
    case PAPPUS_KEY_UINT64:
        if (!plan_read_whole(r, &whole)) return false;
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
    plan_reading r = {.reader = reader, .row = row, .key = key};
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
    plan_reading r = {.reader = reader, .row = row, .key = key, .item = item};
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
    plan_reading r = {.reader = reader, .row = pappus_plan_key_find(key, false), .key = key};
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
