/* SPDX-License-Identifier: GPL-3.0-or-later
 * Numbers of a plan: with their unit, uncertain or whole, within the bounds of their row. */
#include "plan_value.h"
#include "coordinate.h"
#include "uncertain.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

/* ------------------------------------------------------------------ bounds */

static bool within(const plan_reading *r, double value)
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

static bool wrong_type(const plan_reading *r)
{
    pappus_dimension dimension = r->row->dimension;
    char message[SHOWN];
    snprintf(message, sizeof message, "%s; accepted is %s, as in \"%s\"",
             cJSON_IsNumber(r->item) ? "a number without its unit" : "not a value",
             pappus_dimension_text(dimension), pappus_dimension_example(dimension));
    return plan_value_fault(r, message);
}

/* A number from a JSON number (where no unit is due) or a text. */
static bool scalar(const plan_reading *r, const cJSON *item, bool difference, double *out)
{
    pappus_error error = {0};
    pappus_dimension dimension = r->row->dimension;
    if (cJSON_IsNumber(item) && !pappus_dimension_needs_unit(dimension)) {
        *out = item->valuedouble;
        return true;
    }
    if (!cJSON_IsString(item)) return wrong_type(r);
    bool latitude = dimension == PAPPUS_DIM_LATITUDE;
    if ((latitude || dimension == PAPPUS_DIM_LONGITUDE) &&
        pappus_coordinate_read(out, item->valuestring, latitude))
        return true;
    int status = difference ? pappus_units_parse_difference(out, r->reader->units, dimension,
                                                            item->valuestring, &error)
                            : pappus_units_parse(out, r->reader->units, dimension,
                                                 item->valuestring, &error);
    return status == PAPPUS_OK || plan_value_fault(r, error.message);
}

/* Places to a centimetre, for this is where they are compared with the receiver. */
static void show_value(plan_reading *r, double value)
{
    pappus_dimension dimension = r->row->dimension;
    char minutes[48], text[120];
    if (dimension == PAPPUS_DIM_LATITUDE || dimension == PAPPUS_DIM_LONGITUDE) {
        pappus_coordinate_format(minutes, sizeof minutes, value, dimension == PAPPUS_DIM_LATITUDE);
        snprintf(text, sizeof text, "%.7f deg (%s)", value, minutes);
        plan_value_show(r, text);
        return;
    }
    pappus_units_format(r->si, sizeof r->si, dimension, PAPPUS_UNITS_SI, value);
    pappus_units_format(r->us, sizeof r->us, dimension, PAPPUS_UNITS_US, value);
}

bool plan_read_value(plan_reading *r, double *out)
{
    double value;
    bool can_be_off = (r->row->flags & PAPPUS_KEY_CAN_BE_OFF) != 0;
    if (can_be_off && (cJSON_IsNull(r->item) ||
                       (cJSON_IsString(r->item) && strcmp(r->item->valuestring, "off") == 0))) {
        *out = NAN;
        plan_value_show(r, "off");
        return true;
    }
    if (!scalar(r, r->item, false, &value) || !within(r, value)) return false;
    *out = value;
    show_value(r, value);
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

static bool read_distribution(const plan_reading *r, const cJSON *item, parts *out)
{
    out->named = true;
    out->lognormal = cJSON_IsString(item) && strcmp(item->valuestring, "lognormal") == 0;
    bool normal = cJSON_IsString(item) && strcmp(item->valuestring, "normal") == 0;
    return normal || out->lognormal ||
           plan_value_fault(r, "no such distribution; " UNCERTAIN_ACCEPTED);
}

/* A standard deviation; "20 %" is of the mean. */
static bool read_sd(const plan_reading *r, const cJSON *item, double mean, double *out)
{
    double share;
    const char *text = cJSON_IsString(item) ? item->valuestring : "";
    size_t n = pappus_number_read(&share, text);
    if (n == 0 || strcmp(text + n + (text[n] == ' '), "%") != 0) return scalar(r, item, true, out);
    if (r->row->dimension == PAPPUS_DIM_TEMPERATURE || !(fabs(mean) > 0.0)) {
        return plan_value_fault(r, "a share of a value that has no natural zero or is zero");
    }
    *out = 0.01 * share * fabs(mean);
    return true;
}

static bool read_parts(const plan_reading *r, parts *out)
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
        if (!found) return plan_value_fault(r, "an unknown key inside; " UNCERTAIN_ACCEPTED);
    }
    return !sd || read_sd(r, sd, out->mean, &out->sd);
}

static bool from_parts(const plan_reading *r, const parts *p, pappus_uncertain *out)
{
    bool mean = isfinite(p->mean), sd = isfinite(p->sd), low = isfinite(p->low);
    bool mode = isfinite(p->mode), high = isfinite(p->high);
    if (mean && sd && !low && !mode && !high) {
        if (p->sd < 0.0) return plan_value_fault(r, "a standard deviation below zero");
        if (p->lognormal && p->mean <= 0.0)
            return plan_value_fault(r, "a lognormal mean not above zero");
        *out = p->sd == 0.0   ? pappus_exact(p->mean)
               : p->lognormal ? pappus_lognormal(p->mean, p->sd)
                              : pappus_normal(p->mean, p->sd);
        return within(r, p->mean);
    }
    if (mean || sd || !low || !high || p->named) {
        return plan_value_fault(r, "members that do not go together; " UNCERTAIN_ACCEPTED);
    }
    if (!within(r, p->low) || !within(r, p->high)) return false;
    if (p->low > p->high || (mode && (p->mode < p->low || p->mode > p->high))) {
        return plan_value_fault(r, "not in order; accepted is low <= mode <= high");
    }
    *out = p->low == p->high ? pappus_exact(p->low)
           : mode            ? pappus_triangular(p->low, p->mode, p->high)
                             : pappus_uniform(p->low, p->high);
    return true;
}

static bool uncertain_of(const plan_reading *r, pappus_uncertain *out)
{
    pappus_error error = {0};
    parts p;
    if (cJSON_IsObject(r->item)) return read_parts(r, &p) && from_parts(r, &p, out);
    if (cJSON_IsString(r->item)) {
        int status = pappus_units_parse_uncertain(out, r->reader->units, r->row->dimension,
                                                  r->item->valuestring, &error);
        if (status != PAPPUS_OK) return plan_value_fault(r, error.message);
    } else {
        double value;
        if (!scalar(r, r->item, false, &value)) return false;
        *out = pappus_exact(value);
    }
    return within(r, out->mean);
}

bool plan_read_uncertain(plan_reading *r, pappus_uncertain *out)
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
bool plan_read_whole(plan_reading *r, double *out)
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
        return plan_value_fault(r, message);
    }
    *out = value;
    snprintf(r->si, sizeof r->si, "%.0f", value);
    snprintf(r->us, sizeof r->us, "%.0f", value);
    return true;
}
