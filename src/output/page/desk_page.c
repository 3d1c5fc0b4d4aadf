/* SPDX-License-Identifier: GPL-3.0-or-later
 * The page of the desk: the tree of the report with what the knobs and the notes show put into
 * it under "desk". The answer's parts are the report's own files. */
#include <pappus/desk.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "bearing.h"
#include "c_locale.h"
#include "error.h"
#include "page_value.h"
#include "report_view.h"
#include "timestamp.h"
#include "window_words.h"

enum { MOST_HOURS = 120, HOUR_S = 3600, WEEK_S = 6 * 86400 };

typedef struct {
    json_builder *build;
    const pappus_desk_view *view;
    cJSON *desk;
} desk_maker;

/* -------------------------------------------------------------------- knobs */

/* What the reader itself came to (a gust that goes with its speed) stands last. */
const char *pappus_desk_value(const pappus_plan *plan, const char *key)
{
    bool us = plan->units == PAPPUS_UNITS_US;
    const pappus_plan_entry *found = NULL;
    for (size_t i = 0; i < plan->entry_count; i++)
        if (strcmp(plan->entries[i].key, key) == 0) found = &plan->entries[i];
    if (!found) return strcmp(key, "wind.surface.height") == 0 ? "2 m" : "";
    if (found->given && !found->assumed) return found->given;
    return us ? found->us : found->si;
}

const char *pappus_desk_main_key(char out[60], const pappus_plan *plan)
{
    double highest_m = -INFINITY;
    out[0] = '\0';
    for (size_t i = 0; i < plan->altimeter_count; i++) {
        double height_m = plan->altimeters[i].main_height_m;
        if (isnan(height_m) || height_m <= highest_m) continue;
        highest_m = height_m;
        snprintf(out, 60, "altimeters[%zu].main_height", i);
    }
    return out;
}

/* As text: it goes into a form. */
static void add_count(const desk_maker *m, cJSON *to, const char *key, uint64_t count)
{
    char text[24];
    snprintf(text, sizeof text, "%llu", (unsigned long long)count);
    json_add_text(m->build, to, key, text);
}

/* A text, and the number in the reader's unit that a slider stands at ("" without one). */
static void add_knob(const desk_maker *m, const char *name, const char *value, double shown)
{
    char number[32] = "";
    cJSON *knob = json_add_object(m->build, m->desk, name);
    if (isfinite(shown)) snprintf(number, sizeof number, "%.0f", shown);
    json_add_text(m->build, knob, "value", value);
    json_add_text(m->build, knob, "at", number);
}

static void add_wind(const desk_maker *m)
{
    const pappus_plan *plan = m->view->plan;
    const pappus_wind_plan *wind = &plan->wind;
    bool us = plan->units == PAPPUS_UNITS_US, known = plan->has_wind && wind->has_surface;
    double speed = known ? wind->surface.speed_mps : NAN, gust = known ? wind->gust_mps : NAN;
    double from = known ? wind->surface.direction_deg : NAN;
    json_add_text(m->build, m->desk, "wind_unit", us ? "mph" : "m/s");
    json_add_text(m->build, m->desk, "wind_most", us ? "40" : "20");
    add_knob(m, "speed", pappus_desk_value(plan, "wind.surface.speed"),
             pappus_quantity_value(PAPPUS_SHOW_WIND, speed, plan->units));
    add_knob(m, "gust", pappus_desk_value(plan, "wind.surface.gust"),
             pappus_quantity_value(PAPPUS_SHOW_WIND, gust, plan->units));
    add_knob(m, "direction", pappus_desk_value(plan, "wind.surface.direction"), from);
    add_knob(m, "sensor", pappus_desk_value(plan, "wind.surface.height"), NAN);
}

/* The highest main height of the altimeters; the others keep their distance to it. */
static void add_main(const desk_maker *m)
{
    const pappus_plan *plan = m->view->plan;
    bool us = plan->units == PAPPUS_UNITS_US;
    char key[60];
    double height_m = NAN;
    for (size_t i = 0; i < plan->altimeter_count; i++)
        height_m = fmax(height_m, plan->altimeters[i].main_height_m);
    pappus_desk_main_key(key, plan);
    json_add_text(m->build, m->desk, "height_unit", us ? "ft" : "m");
    json_add_text(m->build, m->desk, "height_step", us ? "50" : "10");
    add_knob(m, "main_low", "",
             pappus_quantity_value(PAPPUS_SHOW_HEIGHT, plan->heights_from_m, plan->units));
    add_knob(m, "main_high", "",
             pappus_quantity_value(PAPPUS_SHOW_HEIGHT, plan->heights_to_m, plan->units));
    add_knob(m, "main_height", key[0] ? pappus_desk_value(plan, key) : "",
             pappus_quantity_value(PAPPUS_SHOW_HEIGHT, height_m, plan->units));
    json_add_bool(m->build, m->desk, "has_main", key[0] != '\0');
    add_knob(m, "apogee_height", pappus_desk_value(plan, "apogee.height"), NAN);
}

static void add_pads(const desk_maker *m)
{
    const pappus_site *site = &m->view->plan->site;
    cJSON *pads = json_add_array(m->build, m->desk, "pads");
    json_add_bool(m->build, m->desk, "any_pads", site->pad_count > 0);
    for (size_t i = 0; i < site->pad_count; i++) {
        cJSON *pad = json_append_object(m->build, pads);
        json_add_text(m->build, pad, "name", site->pads[i].name);
        json_add_bool(m->build, pad, "flown",
                      site->pad_name && strcmp(site->pad_name, site->pads[i].name) == 0);
    }
}

/* "Sat 19:00Z (14:00 CDT)"; where a day of the week may be another, "Sat 17 19:00Z". */
static char *clock_words(char out[PAPPUS_TEXT_SIZE], const desk_maker *m, double time_utc_s,
                         bool weeks)
{
    char text[40], local[PAPPUS_TEXT_SIZE], day[PAPPUS_TEXT_SIZE];
    pappus_time_format(text, sizeof text, time_utc_s);
    window_local(local, m->view->plan->site.time_zone, time_utc_s);
    window_day(day, time_utc_s);
    snprintf(out, PAPPUS_TEXT_SIZE, local[0] ? "%.4s%s%s%.5sZ (%.40s)" : "%.4s%s%s%.5sZ", day,
             weeks ? day + 12 : "", weeks ? " " : "", text + 11, local);
    return out;
}

static void add_hour(const desk_maker *m, cJSON *hours, double time_utc_s)
{
    char text[40], words[PAPPUS_TEXT_SIZE];
    cJSON *hour = json_append_object(m->build, hours);
    pappus_time_format(text, sizeof text, time_utc_s);
    json_add_text(m->build, hour, "time", text);
    json_add_text(
        m->build, hour, "words",
        clock_words(words, m, time_utc_s, m->view->last_utc_s - m->view->first_utc_s >= WEEK_S));
    json_add_bool(m->build, hour, "flown", time_utc_s == m->view->plan->wind.time_utc_s);
}

/* The whole hours that the winds cover, and that of the plan where it is none of them. The picture
 * of the hours is computed last of all: until then the one before stays where it is. */
static void add_hours(const desk_maker *m, const pappus_answer *answer)
{
    const pappus_desk_view *view = m->view;
    bool has_hours = view->last_utc_s > view->first_utc_s;
    cJSON *hours = json_add_array(m->build, m->desk, "hours");
    double flown = view->plan->wind.time_utc_s;
    double first = ceil(view->first_utc_s / HOUR_S) * HOUR_S;
    if (isfinite(flown) &&
        (fmod(flown, HOUR_S) != 0.0 || flown < first || flown > view->last_utc_s))
        add_hour(m, hours, flown);
    if (has_hours)
        for (int i = 0; i < MOST_HOURS && first + i * HOUR_S <= view->last_utc_s; i++)
            add_hour(m, hours, first + i * HOUR_S);
    json_add_bool(m->build, m->desk, "many_hours", cJSON_GetArraySize(hours) > 1);
    json_add_bool(m->build, m->desk, "hours_to_come", has_hours && !(answer && answer->window));
}

/* The members of an ensemble, after all of them together. */
static void add_members(const desk_maker *m)
{
    const pappus_desk_view *view = m->view;
    const pappus_wind_plan *wind = &view->plan->wind;
    cJSON *members = json_add_array(m->build, m->desk, "members");
    json_add_bool(m->build, m->desk, "many_members", view->member_count > 1);
    json_add_bool(m->build, m->desk, "all_members", !wind->member_given);
    add_count(m, m->desk, "member_count", view->member_count);
    for (size_t i = 0; i < view->member_count; i++) {
        cJSON *member = json_append_object(m->build, members);
        add_count(m, member, "number", (uint64_t)view->members[i]);
        json_add_bool(m->build, member, "flown",
                      wind->member_given && wind->member == view->members[i]);
    }
}

/* Every key that is one value, to be chosen by its name. */
static int add_keys(const desk_maker *m, pappus_error *err)
{
    char *list, *save = NULL;
    cJSON *keys = json_add_array(m->build, m->desk, "keys");
    int status = pappus_plan_key_list(&list, err);
    if (status != PAPPUS_OK) return status;
    char *line = strtok_r(list, "\n", &save); /* the headings */
    while (line && (line = strtok_r(NULL, "\n", &save))) {
        line[strcspn(line, "\t")] = '\0';
        if (!strchr(line, '$') && !pappus_plan_key_names_file(line))
            json_append_text(m->build, keys, line);
    }
    free(list);
    return PAPPUS_OK;
}

/* -------------------------------------------------------------------- notes */

static const char *const standings[] = {[PAPPUS_NOTE_COUNTS] = "",
                                        [PAPPUS_NOTE_SUPERSEDED] =
                                            "a newer one at its height counts",
                                        [PAPPUS_NOTE_OLD] = "too far from the flight to count",
                                        [PAPPUS_NOTE_LATER] = "measured later than what is shown"};

static void add_age(const desk_maker *m, cJSON *item, const pappus_desk_note *note)
{
    char age[48] = "";
    double minutes = round(note->age_s / 60.0);
    bool after = note->time_utc_s > m->view->plan->wind.time_utc_s && note->age_s > 0.0;
    const char *side = after ? "after the flight" : "old";
    if (note->standing == PAPPUS_NOTE_COUNTS && minutes < 60.0)
        snprintf(age, sizeof age, "%.0f min %s", minutes, side);
    else if (note->standing == PAPPUS_NOTE_COUNTS)
        snprintf(age, sizeof age, "%.0f h %02.0f min %s", floor(minutes / 60.0),
                 fmod(minutes, 60.0), side);
    json_add_text(m->build, item, "age", age);
    json_add_text(m->build, item, "why", standings[note->standing]);
}

static void add_notes(const desk_maker *m)
{
    const pappus_desk_view *view = m->view;
    size_t count = view->note_count;
    bool weeks =
        count > 0 && view->notes[count - 1].time_utc_s - view->notes[0].time_utc_s >= WEEK_S;
    cJSON *notes = json_add_array(m->build, m->desk, "notes");
    for (size_t i = 0; i < view->note_count; i++) {
        const pappus_desk_note *note = &view->notes[i];
        char time[PAPPUS_TEXT_SIZE];
        cJSON *item = json_append_object(m->build, notes);
        add_count(m, item, "number", i + 1);
        json_add_text(m->build, item, "time", clock_words(time, m, note->time_utc_s, weeks));
        json_add_text(m->build, item, "speed", note->speed);
        json_add_text(m->build, item, "direction", note->direction);
        json_add_text(m->build, item, "height", note->height);
        json_add_text(m->build, item, "gust", note->gust);
        json_add_bool(m->build, item, "shown", i == view->note);
        add_age(m, item, note);
    }
    size_t at = view->note < view->note_count ? view->note : view->note_count;
    json_add_bool(m->build, m->desk, "past", at < view->note_count);
    json_add_bool(m->build, m->desk, "any_earlier", at > 0);
    add_count(m, m->desk, "earlier", at);
    add_count(m, m->desk, "later", at + 2 > view->note_count ? 0 : at + 2);
}

static void add_texts(const desk_maker *m, const char *key, const char *const *texts, size_t count)
{
    cJSON *list = json_add_array(m->build, m->desk, key);
    for (size_t i = 0; i < count; i++)
        json_append_text(m->build, list, texts[i]);
}

/* A change with the key by which it is taken back. */
static void add_changes(const desk_maker *m)
{
    cJSON *list = json_add_array(m->build, m->desk, "changes");
    for (size_t i = 0; i < m->view->change_count; i++) {
        const char *change = m->view->changes[i];
        cJSON *item = json_append_object(m->build, list);
        char *name = strndup(change, strcspn(change, "="));
        m->build->failed |= !name;
        json_add_text(m->build, item, "setting", change);
        json_add_text(m->build, item, "of", name);
        free(name);
    }
}

/* --------------------------------------------------------------------- whole */

static int add_desk(const desk_maker *m, const pappus_answer *answer, pappus_error *err)
{
    const pappus_desk_view *view = m->view;
    json_add_text(m->build, m->desk, "key", view->key);
    json_add_text(m->build, m->desk, "nonce", view->nonce);
    json_add_text(m->build, m->desk, "plan_file", pappus_file_name(view->plan->path));
    json_add_bool(m->build, m->desk, "read_only", view->read_only);
    json_add_bool(m->build, m->desk, "shown", answer != NULL);
    json_add_bool(m->build, m->desk, "refined", answer && view->refined);
    json_add_bool(m->build, m->desk, "fresh", view->answered == view->number);
    add_count(m, m->desk, "version", view->version);
    add_count(m, m->desk, "number", view->number);
    add_count(m, m->desk, "answer_of", view->answered);
    add_wind(m);
    add_main(m);
    add_pads(m);
    add_hours(m, answer);
    add_members(m);
    add_notes(m);
    add_changes(m);
    add_texts(m, "messages", view->messages, view->message_count);
    return add_keys(m, err);
}

/* The slider of the report moves contours that a knob moves here. */
static int desk_tree(cJSON **out, const pappus_desk_view *view, const pappus_answer *answer,
                     pappus_error *err)
{
    json_builder build = {false};
    pappus_write_options options = {.units = view->plan->units};
    pappus_output output = {.answer = answer, .options = &options, .answer_alone = true};
    int status = PAPPUS_OK;
    *out = NULL;
    if (answer)
        status = report_view(out, &output, err);
    else
        *out = cJSON_CreateObject();
    if (status != PAPPUS_OK) return status;
    cJSON_DeleteItemFromObjectCaseSensitive(*out, "slider");
    json_add_null(&build, *out, "slider");
    if (!answer) json_add_text(&build, *out, "headline", "The desk");
    if (!answer) json_add_text(&build, *out, "title", view->plan->title);
    desk_maker m = {&build, view, json_add_object(&build, *out, "desk")};
    status = add_desk(&m, answer, err);
    if (status == PAPPUS_OK && build.failed) status = pappus_fail_memory(err);
    if (status == PAPPUS_OK) return status;
    cJSON_Delete(*out);
    *out = NULL;
    return status;
}

static int make(char **out, const char *name, const pappus_desk_view *view,
                const pappus_answer *answer, pappus_error *err)
{
    page_reader reader = {view->plan->units, view->plan->site.declination_deg};
    pappus_locale locale;
    cJSON *tree;
    size_t size;
    *out = NULL;
    if (!pappus_locale_enter(&locale)) return pappus_fail_memory(err);
    int status = desk_tree(&tree, view, answer, err);
    if (status == PAPPUS_OK) status = page_make(out, &size, name, tree, &reader, err);
    cJSON_Delete(tree);
    pappus_locale_leave(&locale);
    return status;
}

int pappus_desk_page(char **out, const pappus_desk_view *view, const pappus_answer *answer,
                     pappus_error *err)
{
    return make(out, "desk.html", view, answer, err);
}

int pappus_desk_part(char **out, const pappus_desk_view *view, const pappus_answer *answer,
                     pappus_error *err)
{
    return make(out, "desk_live.html", view, answer, err);
}
