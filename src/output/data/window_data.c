/* SPDX-License-Identifier: GPL-3.0-or-later
 * The window as JSON (RFC 8259) and as a table (CSV, RFC 4180): SI, null or an empty cell for
 * what is not known. */
#include "c_locale.h"
#include "error.h"
#include "timestamp.h"
#include "summary.h"
#include "window_data.h"
#include "window_words.h"
#include "writer.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static void add_time(json_builder *build, cJSON *to, const char *key, double utc_s)
{
    char text[40];
    pappus_time_format(text, sizeof text, utc_s);
    json_add_text(build, to, key, text);
}

static void add_cells(json_builder *build, cJSON *to, const pappus_window *window,
                      const pappus_window_hour *hour)
{
    cJSON *cells = json_add_array(build, to, "heights");
    for (size_t k = 0; hour->cells && k < window->height_count; k++) {
        const pappus_window_cell *cell = &hour->cells[k];
        cJSON *at = json_append_object(build, cells);
        json_add_number(build, at, "main_height_m", window->heights_m[k]);
        json_add_text(build, at, "verdict", pappus_verdict_text(cell->verdict));
        json_add_number(build, at, "use", cell->use);
        json_add_text(build, at, "limit", pappus_limit_text(cell->limit));
    }
}

static void add_judged(json_builder *build, cJSON *to, const pappus_window *window,
                       const pappus_window_hour *hour)
{
    json_add_text(build, to, "decision", pappus_decision_text(hour->decision));
    cJSON *inside = json_add_object(build, to, "inside_field");
    json_add_number(build, inside, "value", hour->inside_field.value);
    json_add_number(build, inside, "low", hour->inside_field.low);
    json_add_number(build, inside, "high", hour->inside_field.high);
    json_add_text(build, to, "limit", pappus_limit_text(hour->limit));
    json_add_text(build, to, "limit_name", hour->limit_name);
    json_add_number(build, to, "use", hour->use);
    json_add_text(build, to, "wind_limit", pappus_limit_text(hour->wind_limit));
    json_add_number(build, to, "wind_use", hour->wind_use);
    json_add_number(build, to, "recommended_m", hour->recommended_m);
    json_add_number(build, to, "surface_wind_mps", hour->surface_wind_mps);
    json_add_number(build, to, "surface_from_deg", hour->surface_from_deg);
    json_add_number(build, to, "gust_mps", hour->gust_mps);
    cJSON *mean = json_add_object(build, to, "mean");
    json_add_number(build, mean, "east_m", hour->mean_east_m);
    json_add_number(build, mean, "north_m", hour->mean_north_m);
    json_add_number(build, to, "reach_m", hour->reach_m);
    json_add_bool(build, to, "reading_left_out", hour->reading_left_out);
    cJSON *warnings = json_add_array(build, to, "warnings");
    for (size_t i = 0; i < hour->log.count; i++)
        json_append_text(build, warnings, hour->log.entries[i].error.message);
    add_cells(build, to, window, hour);
}

static void add_hour(json_builder *build, cJSON *hours, const pappus_window *window,
                     const pappus_plan *plan, const pappus_window_hour *hour)
{
    char local[PAPPUS_TEXT_SIZE];
    cJSON *to = json_append_object(build, hours);
    add_time(build, to, "time", hour->time_utc_s);
    window_local(local, plan->site.time_zone, hour->time_utc_s);
    json_add_text(build, to, "local", local[0] ? local : NULL);
    json_add_text(build, to, "why", hour->why);
    if (hour->why)
        json_add_null(build, to, "decision");
    else
        add_judged(build, to, window, hour);
}

static void add_best(json_builder *build, cJSON *to, const pappus_window *window)
{
    if (!window->go) {
        json_add_null(build, to, "best");
        json_add_null(build, to, "stretch");
        return;
    }
    const pappus_window_hour *hour = &window->hours[window->best];
    cJSON *best = json_add_object(build, to, "best");
    add_time(build, best, "time", hour->time_utc_s);
    json_add_number(build, best, "main_height_m", hour->recommended_m);
    cJSON *stretch = json_add_object(build, to, "stretch");
    add_time(build, stretch, "from", window->hours[window->first].time_utc_s);
    add_time(build, stretch, "to", window->hours[window->last].time_utc_s);
}

cJSON *window_tree(json_builder *build, const pappus_window *window, const pappus_plan *plan)
{
    cJSON *root = cJSON_CreateObject();
    json_add_number(build, root, "step_s", window->step_s);
    json_add_number(build, root, "planned_main_height_m", window->planned_m);
    cJSON *hours = json_add_array(build, root, "hours");
    for (size_t i = 0; i < window->hour_count; i++)
        add_hour(build, hours, window, plan, &window->hours[i]);
    add_best(build, root, window);
    return root;
}

int pappus_window_json_text(char **out, const pappus_window *window, const pappus_givens *given,
                            pappus_error *err)
{
    pappus_locale locale;
    json_builder build = {false};
    *out = NULL;
    if (!pappus_locale_enter(&locale)) return pappus_fail_memory(err);
    const pappus_answer rests_on = {.plan = given->plan, .winds = given->winds, .air = given->air};
    cJSON *root = window_tree(&build, window, given->plan);
    json_add_text(&build, root, "title", given->plan->title ? given->plan->title : "");
    pappus_summary_stamp(&build, root, &rests_on);
    int status = json_finish(out, &build, root, err);
    pappus_locale_leave(&locale);
    return status;
}

/* ---------------------------------------------------------------------- table */

/* A text cell, quoted. */
static void put_text(FILE *stream, const char *text)
{
    fputc('"', stream);
    for (; text && *text; text++) {
        if (*text == '"') fputc('"', stream);
        fputc(*text, stream);
    }
    fputc('"', stream);
}

static void put_number(FILE *stream, double value)
{
    if (isfinite(value))
        fprintf(stream, ",%.10g", value);
    else
        fputc(',', stream);
}

static void put_row(FILE *stream, const pappus_plan *plan, const pappus_window_hour *hour)
{
    char time[40], local[PAPPUS_TEXT_SIZE];
    pappus_time_format(time, sizeof time, hour->time_utc_s);
    fprintf(stream, "%s,", time);
    put_text(stream, window_local(local, plan->site.time_zone, hour->time_utc_s));
    fprintf(stream, ",%s,", hour->why ? "" : pappus_decision_text(hour->decision));
    put_text(stream, hour->why ? NULL : pappus_limit_text(hour->limit));
    const double numbers[] = {hour->inside_field.value,
                              hour->inside_field.low,
                              hour->inside_field.high,
                              hour->use,
                              hour->recommended_m,
                              hour->surface_wind_mps,
                              hour->surface_from_deg,
                              hour->gust_mps,
                              hour->mean_east_m,
                              hour->mean_north_m,
                              hour->reach_m};
    for (size_t i = 0; i < sizeof numbers / sizeof numbers[0]; i++)
        put_number(stream, hour->why ? NAN : numbers[i]);
    fputc(',', stream);
    put_text(stream, hour->why);
    fputc('\n', stream);
}

int pappus_window_csv_text(char **out, const pappus_window *window, const pappus_givens *given,
                           pappus_error *err)
{
    pappus_locale locale;
    pappus_text text;
    *out = NULL;
    if (!pappus_locale_enter(&locale)) return pappus_fail_memory(err);
    int status = pappus_text_begin(&text, err);
    if (status == PAPPUS_OK) {
        fprintf(text.stream, "time,local,decision,limit,inside_field,inside_low,inside_high,use,"
                             "recommended_m,surface_wind_mps,surface_from_deg,gust_mps,east_m,"
                             "north_m,reach_m,why\n");
        for (size_t i = 0; i < window->hour_count; i++)
            put_row(text.stream, given->plan, &window->hours[i]);
        status = pappus_text_finish(&text, err);
        *out = text.bytes;
    }
    pappus_locale_leave(&locale);
    return status;
}
