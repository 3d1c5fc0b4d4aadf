/* SPDX-License-Identifier: GPL-3.0-or-later
 * summary.json (RFC 8259), built with cJSON. SI, units in the names; ten
 * significant digits; what is not known, or what the plan does not have, is
 * null. Nothing that could differ between two runs of the same input goes in:
 * no clock, no threads, no folder names. */
#include "summary.h"
#include "summary_hazard.h"
#include "summary_zones.h"

#include <cjson/cJSON.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "c_locale.h"
#include "error.h"
#include "format.h"
#include "json_build.h"
#include "parts.h"
#include "timestamp.h"
#include "window_data.h"

static void add_limits(json_builder *build, cJSON *root, const pappus_judgement *judgement)
{
    if (!judgement) {
        json_add_null(build, root, "limits");
        return;
    }
    char note[PAPPUS_REASON_SIZE];
    cJSON *list = json_add_array(build, root, "limits");
    for (size_t i = 0; i < judgement->reason_count; i++) {
        const pappus_reason *reason = &judgement->reasons[i];
        cJSON *item = json_append_object(build, list);
        json_add_text(build, item, "limit", pappus_limit_text(reason->limit));
        summary_put_estimate(build, item, reason->value);
        json_add_number(build, item, "bound", reason->bound);
        json_add_text(build, item, "unit", pappus_limit_unit(reason->limit));
        json_add_text(build, item, "name", reason->name);
        json_add_text(build, item, "verdict", pappus_verdict_text(reason->verdict));
        json_add_bool(build, item, "at_least", reason->at_least);
        pappus_format_caveat(note, sizeof note, &reason->caveat);
        json_add_text(build, item, "note", note[0] ? note : NULL);
    }
}

static void add_lead(json_builder *build, cJSON *to, const pappus_judgement *judgement)
{
    const pappus_reason *lead;
    if (!judgement || pappus_judgement_lead(&lead, 1, judgement) == 0) {
        json_add_null(build, to, "leading_limit");
        return;
    }
    cJSON *object = json_add_object(build, to, "leading_limit");
    json_add_text(build, object, "limit", pappus_limit_text(lead->limit));
    json_add_text(build, object, "name", lead->name);
    json_add_text(build, object, "verdict", pappus_verdict_text(lead->verdict));
    json_add_number(build, object, "use", pappus_reason_use(lead));
}

static void put_height(json_builder *build, cJSON *item, const pappus_field *field,
                       const pappus_height_row *row)
{
    json_add_number(build, item, "height_m", row->height_m);
    summary_add_estimate(build, item, "inside_field", row->inside_field);
    if (!field || field->keep_out_count == 0 || row->keep_out_count != field->keep_out_count) {
        json_add_null(build, item, "keep_out");
    } else {
        cJSON *list = json_add_array(build, item, "keep_out");
        for (size_t i = 0; i < row->keep_out_count; i++) {
            cJSON *area = json_append_object(build, list);
            json_add_text(build, area, "name", field->keep_outs[i].name);
            json_add_number(build, area, "value", row->keep_out[i].value);
            json_add_number(build, area, "low", row->keep_out[i].low);
            json_add_number(build, area, "high", row->keep_out[i].high);
        }
    }
    json_add_number(build, item, "time_s", row->time_s);
    json_add_number(build, item, "walk_m", row->walk_m);
    json_add_number(build, item, "full_open_p05_m", row->full_open_p05_m);
    json_add_number(build, item, "use", row->use);
    json_add_text(build, item, "nearest", pappus_limit_text(row->nearest));
    json_add_text(build, item, "broken", pappus_limit_text(row->broken));
    json_add_text(build, item, "verdict", pappus_verdict_text(row->verdict));
}

static void add_why_not(json_builder *build, cJSON *to, const char *key,
                        const pappus_height_reason *reason)
{
    if (reason->why == PAPPUS_WHY_NOT_NO_ROW) {
        json_add_null(build, to, key);
        return;
    }
    cJSON *object = json_add_object(build, to, key);
    json_add_text(build, object, "why", pappus_why_not_text(reason->why));
    json_add_text(build, object, "limit", pappus_limit_text(reason->limit));
    json_add_count(build, object, "row", reason->row);
}

static void add_heights(json_builder *build, cJSON *root, const pappus_answer *answer)
{
    const pappus_heights *heights = answer->heights;
    if (!heights) {
        json_add_null(build, root, "heights");
        return;
    }
    cJSON *object = json_add_object(build, root, "heights");
    json_add_number(build, object, "recommended_m", heights->recommended_m);
    json_add_number(build, object, "planned_m", heights->planned_m);
    json_add_number(build, object, "shift_m", heights->shift_m);
    add_why_not(build, object, "why_not_lower", &heights->lower);
    add_why_not(build, object, "why_not_higher", &heights->higher);
    add_why_not(build, object, "why_none", &heights->closest);
    json_add_text(build, object, "beyond", pappus_limit_text(heights->beyond));
    cJSON *trade = json_add_array(build, object, "trade");
    for (size_t i = 0; i < heights->row_count; i++)
        put_height(build, json_append_object(build, trade), answer->field, &heights->rows[i]);
}

static void put_ceiling_row(json_builder *build, cJSON *item, const pappus_ceiling_row *row)
{
    json_add_bool(build, item, "go", row->go);
    json_add_number(build, item, "surface_wind_mps", row->surface_wind_mps);
    json_add_number(build, item, "floor_mps", row->floor_mps);
    json_add_number(build, item, "wind_from_deg", row->wind_from_deg);
    json_add_text(build, item, "turns", pappus_limit_text(row->turns_limit));
    json_add_text(build, item, "name", row->turns_name);
    json_add_bool(build, item, "reached", row->reached);
    json_add_bool(build, item, "monotonic", row->monotonic);
}

static void put_round(json_builder *build, cJSON *object, const pappus_ceiling_round *round)
{
    put_ceiling_row(build, object, &round->planned);
    put_ceiling_row(build, json_add_object(build, object, "worst"), &round->worst);
    cJSON *rows = json_add_array(build, object, "directions");
    for (size_t i = 0; i < round->row_count; i++)
        put_ceiling_row(build, json_append_object(build, rows), &round->rows[i]);
}

static void add_ceiling(json_builder *build, cJSON *root, const pappus_ceiling *ceiling)
{
    if (!ceiling) {
        json_add_null(build, root, "ceiling");
        return;
    }
    cJSON *object = json_add_object(build, root, "ceiling");
    json_add_text(build, object, "of", ceiling->has_reading ? "reading" : "whole wind");
    put_round(build, object, pappus_ceiling_first(ceiling));
    put_round(build, json_add_object(build, object, "whole_wind"), &ceiling->whole);
    json_add_number(build, object, "top_mps", ceiling->top_mps);
    json_add_bool(build, object, "fixed_bearing", ceiling->fixed_bearing);
}

static void add_walk(json_builder *build, cJSON *to, double mean_m, double p90_m)
{
    cJSON *walk = json_add_object(build, to, "walk_m");
    json_add_number(build, walk, "mean", mean_m);
    json_add_number(build, walk, "p90", p90_m);
}

static void put_post(json_builder *build, cJSON *item, const pappus_post *post)
{
    json_add_number(build, item, "latitude", post->latitude_deg);
    json_add_number(build, item, "longitude", post->longitude_deg);
    json_add_number(build, item, "east_m", post->east_m);
    json_add_number(build, item, "north_m", post->north_m);
    json_add_number(build, item, "distance_m", post->distance_m);
    json_add_number(build, item, "bearing_deg", post->bearing_deg);
    json_add_number(build, item, "share", post->share);
    json_add_number(build, item, "served_east_m", post->served_east_m);
    json_add_number(build, item, "served_north_m", post->served_north_m);
    json_add_number(build, item, "near_chance", post->near_chance);
    json_add_number(build, item, "look_bearing_deg", post->look_bearing_deg);
    json_add_number(build, item, "look_elevation_deg", post->look_elevation_deg);
    json_add_number(build, item, "look_s", post->look_s);
    json_add_text(build, item, "road", post->road);
    add_walk(build, item, post->walk_mean_m, post->walk_p90_m);
}

static void add_crews(json_builder *build, cJSON *root, const pappus_crews *crews)
{
    if (!crews) {
        json_add_null(build, root, "posts");
        json_add_null(build, root, "crews");
        return;
    }
    cJSON *posts = json_add_array(build, root, "posts");
    for (size_t i = 0; i < crews->post_count; i++)
        put_post(build, json_append_object(build, posts), &crews->posts[i]);
    cJSON *object = json_add_object(build, root, "crews");
    add_walk(build, object, crews->walk_mean_m, crews->walk_p90_m);
    json_add_text(build, object, "blocked_by", pappus_post_rule_text(crews->blocked_by));
}

static void add_sensitivity(json_builder *build, cJSON *root, const pappus_sensitivity *sensitivity)
{
    if (!sensitivity) {
        json_add_null(build, root, "sensitivity");
        return;
    }
    cJSON *object = json_add_object(build, root, "sensitivity");
    json_add_number(build, object, "axis_bearing_deg", sensitivity->axis_bearing_deg);
    json_add_bool(build, object, "towards_boundary", sensitivity->towards_boundary);
    json_add_number(build, object, "sd_m", sensitivity->sd_m);
    cJSON *drivers = json_add_array(build, object, "drivers");
    for (size_t i = 0; i < sensitivity->driver_count; i++) {
        cJSON *item = json_append_object(build, drivers);
        json_add_text(build, item, "name", sensitivity->drivers[i].name);
        json_add_number(build, item, "share", sensitivity->drivers[i].share);
        json_add_number(build, item, "error", sensitivity->drivers[i].error);
    }
}

static void add_messages(json_builder *build, cJSON *root, const char *key,
                         pappus_severity severity, const pappus_log *log)
{
    cJSON *list = json_add_array(build, root, key);
    for (size_t i = 0; i < log->count; i++) {
        const pappus_error *error = &log->entries[i].error;
        if (log->entries[i].severity != severity) continue;
        cJSON *item = json_append_object(build, list);
        json_add_text(build, item, "key", error->key[0] ? error->key : NULL);
        json_add_text(build, item, "value", error->value[0] ? error->value : NULL);
        json_add_text(build, item, "message", error->message);
    }
}

static void add_assumptions(json_builder *build, cJSON *root, const pappus_plan *plan)
{
    cJSON *list = json_add_array(build, root, "assumptions");
    for (size_t i = 0; i < plan->entry_count; i++) {
        const pappus_plan_entry *entry = &plan->entries[i];
        if (!entry->assumed) continue;
        cJSON *item = json_append_object(build, list);
        json_add_text(build, item, "key", entry->key);
        json_add_text(build, item, "value", entry->si);
    }
}

/* What the answer rests on, the stamp's values. */
void pappus_summary_stamp(json_builder *build, cJSON *root, const pappus_answer *answer)
{
    const pappus_wind_plan *wind = &answer->plan->wind;
    const pappus_winds *winds = answer->winds;
    cJSON *stamp = json_add_object(build, root, "stamp");
    char time[40];
    pappus_time_format(time, sizeof time, wind->time_utc_s);
    json_add_text(build, stamp, "plan", pappus_file_name(answer->plan->path));
    json_add_text(build, stamp, "flight_time", isnan(wind->time_utc_s) ? NULL : time);
    if (wind->has_surface) {
        cJSON *reading = json_add_object(build, stamp, "surface_wind");
        json_add_number(build, reading, "speed_mps", wind->surface.speed_mps);
        json_add_number(build, reading, "direction_deg", wind->surface.direction_deg);
        json_add_number(build, reading, "height_m", wind->surface.height_m);
        json_add_number(build, reading, "gust_mps", wind->gust_mps);
    } else {
        json_add_null(build, stamp, "surface_wind");
    }
    cJSON *list = json_add_array(build, stamp, "winds");
    for (size_t i = 0; winds && i < winds->profile_count; i++) {
        const pappus_wind_profile *profile = &winds->profiles[i];
        cJSON *item = json_append_object(build, list);
        json_add_text(build, item, "file", pappus_file_name(profile->path));
        json_add_text(build, item, "kind",
                      profile->kind == PAPPUS_WIND_FORECAST ? "forecast" : "sounding");
        json_add_bool(build, item, "kind_assumed", profile->kind_assumed);
    }
    bool aloft = winds && winds->profile_count > 0;
    json_add_number(build, stamp, "member", wind->member_given ? (double)wind->member : NAN);
    json_add_number(build, stamp, "age_h", aloft ? winds->age_s / 3600 : NAN);
    json_add_bool(build, stamp, "age_assumed",
                  aloft && pappus_winds_age_is_assumed(winds, answer->plan));
    json_add_bool(build, stamp, "wind_aloft_guessed", answer->air && wind->profile_count == 0);
    json_add_number(build, stamp, "widening",
                    answer->air ? pappus_air_wind_widening(answer->air) : 1);
}

static void add_head(json_builder *build, cJSON *root, const pappus_answer *answer)
{
    const pappus_judgement *judgement = answer->judgement;
    json_add_text(build, root, "pappus", pappus_version());
    json_add_text(build, root, "title", answer->plan->title ? answer->plan->title : "");
    json_add_count(build, root, "seed", answer->cloud->seed);
    json_add_count(build, root, "landings", answer->cloud->count);
    json_add_text(build, root, "decision",
                  judgement ? pappus_decision_text(judgement->decision) : NULL);
}

static void add_tail(json_builder *build, cJSON *root, const pappus_answer *answer)
{
    const pappus_site *site = &answer->plan->site;
    cJSON *pad = json_add_object(build, root, "pad");
    json_add_text(build, pad, "name", site->pad_name);
    json_add_number(build, pad, "latitude", site->latitude_deg);
    json_add_number(build, pad, "longitude", site->longitude_deg);
    json_add_number(build, pad, "elevation_msl_m", site->elevation_msl_m);
    json_add_count(build, root, "looks", answer->looks);
    json_add_bool(build, root, "capped", answer->judgement && answer->judgement->capped);
    json_add_count(build, root, "redrawn", answer->cloud->redrawn);
    add_messages(build, root, "warnings", PAPPUS_WARNING, &answer->log);
    add_messages(build, root, "notes", PAPPUS_NOTE, &answer->log);
    add_assumptions(build, root, answer->plan);
}

cJSON *pappus_summary_tree(json_builder *build, const pappus_answer *answer)
{
    cJSON *root = cJSON_CreateObject();
    add_head(build, root, answer);
    pappus_summary_stamp(build, root, answer);
    add_limits(build, root, answer->judgement);
    add_lead(build, root, answer->judgement);
    summary_add_zones(build, root, answer);
    add_heights(build, root, answer);
    add_ceiling(build, root, answer->ceiling);
    add_crews(build, root, answer->crews);
    add_sensitivity(build, root, answer->sensitivity);
    summary_add_hazard(build, root, answer);
    if (answer->window)
        json_add_item(build, root, "window", window_tree(build, answer->window, answer->plan));
    else
        json_add_null(build, root, "window");
    add_tail(build, root, answer);
    return root;
}

/* Part of a flight in several: its plan's file names it. */
static cJSON *build_parts(json_builder *build, const pappus_answer *const *answers, size_t count,
                          bool alternatives)
{
    cJSON *root = cJSON_CreateObject();
    json_add_text(build, root, "pappus", pappus_version());
    if (!alternatives)
        json_add_text(build, root, "decision",
                      pappus_decision_text(pappus_decision_of(answers, count)));
    cJSON *parts = json_add_array(build, root, alternatives ? "alternatives" : "parts");
    for (size_t i = 0; i < count; i++) {
        char *name = pappus_part_name(answers, i);
        cJSON *item = json_append_object(build, parts);
        if (!name) build->failed = true;
        if (name) json_add_text(build, item, "name", name);
        json_add_item(build, item, "summary", pappus_summary_tree(build, answers[i]));
        free(name);
    }
    return root;
}

static int make_summary(char **out, const pappus_answer *const *answers, size_t count,
                        bool alternatives, pappus_error *err)
{
    pappus_locale locale;
    json_builder build = {false};
    *out = NULL;
    if (!pappus_locale_enter(&locale)) return pappus_fail_memory(err);
    cJSON *root = count == 1 ? pappus_summary_tree(&build, answers[0])
                             : build_parts(&build, answers, count, alternatives);
    int status = json_finish(out, &build, root, err);
    pappus_locale_leave(&locale);
    return status;
}

int pappus_answers_summary(char **out, const pappus_answer *const *answers, size_t count,
                           pappus_error *err)
{
    return make_summary(out, answers, count, false, err);
}

int pappus_alternatives_summary(char **out, const pappus_answer *const *answers, size_t count,
                                pappus_error *err)
{
    return make_summary(out, answers, count, true, err);
}

int pappus_answer_summary(char **out, const pappus_answer *answer, pappus_error *err)
{
    return pappus_answers_summary(out, &answer, 1, err);
}

int pappus_write_parts_summary(const pappus_output *output, const pappus_answer *const *answers,
                               size_t count, pappus_error *err)
{
    char *text;
    int status = make_summary(&text, answers, count, output->options->alternatives, err);
    if (status != PAPPUS_OK) return status;
    size_t length = strlen(text);
    text[length] = '\n'; /* the end of the string is no part of the file */
    status = pappus_output_bytes(output, "summary.json", text, length + 1, err);
    free(text);
    return status;
}

int pappus_write_summary(const pappus_output *output, pappus_error *err)
{
    return pappus_write_parts_summary(output, &output->answer, 1, err);
}
