/* SPDX-License-Identifier: GPL-3.0-or-later
 * The summary's tree extended for the page: statements under the names by which the page
 * asks for them, the first of them for the first screen, what is set on the altimeters,
 * the winds and the inputs. */
#include "report_view.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "error.h"
#include "statement.h"
#include "summary.h"
#include "window_words.h"

enum { FIRST_REASONS = 3, FIRST_POSTS = 2, FIRST_ALTIMETERS = 3, WIND_ROWS = 7, MOST_SOURCES = 8 };
#define READING_HEIGHT_M 10.0

typedef struct {
    json_builder *build;
    const pappus_answer *answer;
    const statements *said;
    pappus_unit_system units;
    cJSON *root;
} view_maker;

static cJSON *at(const cJSON *object, const char *key)
{
    return cJSON_GetObjectItemCaseSensitive(object, key);
}

static bool any(const cJSON *list)
{
    return list && list->child;
}

/* -------------------------------------------------------------- statements */

/* Kinds of which there is one at most, and kinds of which there are many. */
static const struct {
    say_kind kind;
    const char *key;
} singles[] = {{SAY_WHY, "why"},
               {SAY_SAMPLED, "sampled"},
               {SAY_HEIGHT, "height_advice"},
               {SAY_RECOMMENDED, "recommended"},
               {SAY_NOT_LOWER, "not_lower"},
               {SAY_NOT_HIGHER, "not_higher"},
               {SAY_CEILING, "ceiling_told"},
               {SAY_CREWS, "no_posts"},
               {SAY_HOURS, "hours_told"}},
  lists[] = {{SAY_STAMP, "stamp_words"},
             {SAY_DOUBT, "doubts"},
             {SAY_LEAD, "leads"},
             {SAY_LIMIT, "reasons"},
             {SAY_UNOPENED, "unopened_words"},
             {SAY_CEILING_ROW, "ceiling_rows"},
             {SAY_CEILING_NOTE, "ceiling_notes"},
             {SAY_RISK, "risks"},
             {SAY_RISK_NOTE, "risk_notes"},
             {SAY_WARNING, "warning_words"},
             {SAY_NOTE, "note_words"},
             {SAY_CAUTION, "cautions"}};

static void put_statement(const view_maker *m, cJSON *to, const statement *it)
{
    static const char *const tones[] = {"yes", "no", "open", "plain"};
    json_add_text(m->build, to, "tone", tones[it->tone]);
    json_add_text(m->build, to, "lead", it->lead);
    json_add_text(m->build, to, "strong", it->strong);
    json_add_text(m->build, to, "full", it->full);
}

static void add_statement(const view_maker *m, const char *key, const statement *it)
{
    if (it)
        put_statement(m, json_add_object(m->build, m->root, key), it);
    else
        json_add_null(m->build, m->root, key);
}

/* Those that are for a page. */
static void add_list(const view_maker *m, const char *key, say_kind kind)
{
    cJSON *list = json_add_array(m->build, m->root, key), *item = NULL;
    for (const statement *it = NULL; (it = statement_next(m->said, kind, it));) {
        if (!it->full) continue;
        if (item) json_add_bool(m->build, item, "last", false);
        item = json_append_object(m->build, list);
        put_statement(m, item, it);
    }
    if (item) json_add_bool(m->build, item, "last", true);
}

/* A verdict stands first: of a flight in parts the worst of them, then this part's. */
static void add_verdicts(const view_maker *m)
{
    const statement *flight = statement_next(m->said, SAY_FLIGHT, NULL);
    const statement *decision = statement_next(m->said, SAY_DECISION, NULL);
    const statement *first = flight ? flight : decision;
    json_add_text(m->build, m->root, "headline", first ? first->strong : "Landing zone");
    json_add_bool(m->build, m->root, "in_parts", flight != NULL);
    add_statement(m, "verdict", first);
    add_statement(m, "part_verdict", flight ? decision : NULL);
}

static void add_statements(const view_maker *m)
{
    add_verdicts(m);
    for (size_t i = 0; i < sizeof singles / sizeof singles[0]; i++)
        add_statement(m, singles[i].key, statement_next(m->said, singles[i].kind, NULL));
    for (size_t i = 0; i < sizeof lists / sizeof lists[0]; i++)
        add_list(m, lists[i].key, lists[i].kind);
    json_add_bool(m->build, m->root, "judged", any(at(m->root, "reasons")));
    json_add_bool(m->build, m->root, "any_unopened", any(at(m->root, "unopened_words")));
    json_add_bool(m->build, m->root, "hazarded", any(at(m->root, "risk_notes")));
    json_add_bool(m->build, m->root, "risked", any(at(m->root, "risks")));
    json_add_bool(m->build, m->root, "warned", any(at(m->root, "warning_words")));
    json_add_bool(m->build, m->root, "noted", any(at(m->root, "note_words")));
    json_add_bool(m->build, m->root, "fielded", !statement_next(m->said, SAY_FIELD, NULL));
    json_add_text(m->build, m->root, "caution", pappus_caution());
}

/* The first of a list, and under `more` (unless NULL) how many there are beside. */
static void add_first(const view_maker *m, const char *key, const char *more, cJSON *list, int most)
{
    int count = cJSON_GetArraySize(list);
    cJSON *first = json_add_array(m->build, m->root, key);
    for (int i = 0; i < count && i < most; i++)
        m->build->failed |= !cJSON_AddItemReferenceToArray(first, cJSON_GetArrayItem(list, i));
    if (!more) return;
    if (count > most)
        json_add_count(m->build, m->root, more, (uint64_t)(count - most));
    else
        json_add_null(m->build, m->root, more);
}

/* -------------------------------------------------- beside the summary's own */

static void extend_posts(const view_maker *m)
{
    const pappus_crews *crews = m->answer->crews;
    const statement *it = NULL, *note = NULL;
    cJSON *item = at(m->root, "posts") ? at(m->root, "posts")->child : NULL;
    for (size_t i = 0; item; i++, item = item->next) {
        const pappus_post *post = &crews->posts[i];
        double east_m = post->served_east_m - post->east_m;
        double north_m = post->served_north_m - post->north_m;
        it = statement_next(m->said, SAY_POST, it);
        json_add_count(m->build, item, "number", i + 1);
        json_add_text(m->build, item, "place", it ? it->strong : NULL);
        json_add_text(m->build, item, "whereabouts", it ? it->full : NULL);
        char minutes[PAPPUS_TEXT_SIZE], together[2 * PAPPUS_TEXT_SIZE];
        pappus_format_minutes(minutes, sizeof minutes, post->latitude_deg, post->longitude_deg);
        pappus_format_together(together, sizeof together, minutes);
        json_add_text(m->build, item, "minutes", together);
        note = statement_next(m->said, SAY_POST_NOTE, note);
        json_add_text(m->build, item, "beside", note ? note->full : NULL);
        json_add_number(m->build, item, "served_m", hypot(east_m, north_m));
        json_add_number(m->build, item, "served_deg", pappus_bearing_of(east_m, north_m));
    }
    double walking_mps = m->answer->plan->crew_walking_speed_mps;
    double minutes = crews ? ceil(crews->walk_mean_m / walking_mps / 60.0) : NAN;
    json_add_number(m->build, m->root, "walk_minutes", minutes);
    json_add_number(m->build, m->root, "walking_mps", walking_mps);
}

static void extend_heights(const view_maker *m)
{
    const pappus_heights *heights = m->answer->heights;
    cJSON *trade = at(at(m->root, "heights"), "trade"), *item = trade ? trade->child : NULL;
    bool compared = item != NULL;
    for (const statement *it = NULL; item; item = item->next) {
        it = statement_next(m->said, SAY_HEIGHT_ROW, it);
        if (!it) break;
        const pappus_height_row *row = &heights->rows[it->index];
        json_add_text(m->build, item, "verdict_words", it->strong);
        json_add_text(m->build, item, "breaks", it->full);
        json_add_bool(m->build, item, "named", it->about != NULL);
        json_add_number(m->build, item, "inside_chance", row->inside_field.value);
        json_add_number(m->build, item, "worst_keep_out", pappus_height_worst_keep_out(row));
    }
    json_add_bool(m->build, m->root, "compared", compared);
    if (!compared || heights->row_count < 2) {
        json_add_null(m->build, m->root, "slider");
        return;
    }
    cJSON *slider = json_add_object(m->build, m->root, "slider");
    json_add_count(m->build, slider, "last", heights->row_count - 1);
    json_add_count(m->build, slider, "planned", heights->planned_row);
}

/* Outcomes that were drawn, as a list. */
static void extend_outcomes(const view_maker *m)
{
    cJSON *rows = json_add_array(m->build, m->root, "outcome_rows");
    for (size_t i = 0; i < PAPPUS_OUTCOMES; i++) {
        const char *name = pappus_outcome_text((pappus_outcome)i);
        cJSON *zone = at(at(m->root, "outcomes"), name);
        json_add_text(m->build, zone, "outcome", name);
        if (m->answer->zones->outcomes[i].landings > 0)
            m->build->failed |= !cJSON_AddItemReferenceToArray(rows, zone);
    }
}

static void extend_drivers(const view_maker *m)
{
    const pappus_sensitivity *s = m->answer->sensitivity;
    cJSON *drivers = at(at(m->root, "sensitivity"), "drivers");
    cJSON *item = drivers ? drivers->child : NULL;
    json_add_bool(m->build, m->root, "drivers_told", item != NULL);
    for (size_t i = 0; item; i++, item = item->next) {
        double share = fmax(0, s->drivers[i].share);
        json_add_number(m->build, item, "shown", share);
        json_add_number(m->build, item, "bar", fmin(1, share));
    }
}

/* ------------------------------------------------------------- hour by hour */

static void add_window_words(const view_maker *m, cJSON *to)
{
    const pappus_window *window = m->answer->window;
    const char *zone = m->answer->plan->site.time_zone;
    char words[WINDOW_WORDS];
    cJSON *list = json_add_array(m->build, to, "sentences");
    json_append_text(m->build, list, window_then(words, window));
    json_append_text(m->build, list, window_height(words, window, zone, m->units));
    json_append_text(m->build, list, window_readings(words, window));
}

static void extend_hour(const view_maker *m, cJSON *item, const pappus_window_hour *hour)
{
    char words[WINDOW_WORDS], clock[PAPPUS_TEXT_SIZE];
    const pappus_window *window = m->answer->window;
    window_clock(clock, window, m->answer->plan->site.time_zone, hour->time_utc_s);
    json_add_text(m->build, item, "clock", clock);
    json_add_text(m->build, item, "verdict_words", window_verdict(hour));
    json_add_text(m->build, item, "limit_words", window_limit(words, hour));
    json_add_bool(m->build, item, "judged", !hour->why);
    json_add_bool(m->build, item, "is_best", window->go && hour == &window->hours[window->best]);
    json_add_number(m->build, item, "inside_chance", hour->why ? NAN : hour->inside_field.value);
}

static void extend_window(const view_maker *m)
{
    const pappus_window *window = m->answer->window;
    cJSON *to = at(m->root, "window");
    if (!window) return;
    add_window_words(m, to);
    cJSON *item = at(to, "hours")->child;
    for (size_t i = 0; item; i++, item = item->next)
        extend_hour(m, item, &window->hours[i]);
}

/* ---------------------------------------------------------- what is set, wind */

static void add_altimeters(const view_maker *m)
{
    const pappus_plan *plan = m->answer->plan;
    double shift_m = m->answer->heights ? m->answer->heights->shift_m : NAN;
    cJSON *list = json_add_array(m->build, m->root, "altimeters");
    for (size_t i = 0; i < plan->altimeter_count; i++) {
        const pappus_altimeter *a = &plan->altimeters[i];
        bool known = m->answer->air && !isnan(a->main_height_m);
        cJSON *item = json_append_object(m->build, list);
        json_add_text(m->build, item, "name", a->name);
        json_add_number(m->build, item, "delay_s", a->drogue_delay_s.mean);
        json_add_number(m->build, item, "main_height_m", a->main_height_m);
        json_add_number(m->build, item, "true_height_m",
                        known ? pappus_air_true_height_m(m->answer->air, a->main_height_m) : NAN);
        json_add_number(m->build, item, "recommended_m", a->main_height_m + shift_m);
        json_add_bool(m->build, item, "moves",
                      isfinite(a->main_height_m + shift_m) && shift_m != 0);
    }
    char delay[32];
    snprintf(delay, sizeof delay, "%+.1f", plan->motor_delay_s.mean);
    json_add_text(m->build, m->root, "motor_delay",
                  pappus_is_present(plan->motor_delay_s) ? delay : NULL);
    json_add_bool(m->build, m->root, "has_drogue", plan->drogue.present);
}

static void add_wind_sources(const view_maker *m, cJSON *wind)
{
    const pappus_winds *winds = m->answer->winds;
    cJSON *list = json_add_array(m->build, wind, "sources");
    for (size_t i = 0; winds && i < winds->profile_count && i < MOST_SOURCES; i++) {
        const pappus_wind_profile *p = &winds->profiles[i];
        cJSON *item = json_append_object(m->build, list);
        json_add_text(m->build, item, "file", pappus_file_name(p->path));
        json_add_text(m->build, item, "format", p->format ? p->format : "");
        json_add_count(m->build, item, "levels", p->level_count);
        json_add_bool(m->build, item, "mended", p->repaired_count + p->refused_count > 0);
    }
    json_add_number(m->build, wind, "age_h", winds && winds->age_s > 0 ? winds->age_s / 3600 : NAN);
}

static void add_wind_row(const view_maker *m, cJSON *list, double height_m)
{
    double u, v;
    pappus_air_mean_wind(m->answer->air, height_m, &u, &v);
    cJSON *item = json_append_object(m->build, list);
    json_add_number(m->build, item, "height_m", height_m);
    json_add_number(m->build, item, "from_deg", hypot(u, v) > 0 ? pappus_bearing_of(-u, -v) : NAN);
    json_add_number(m->build, item, "speed_mps", hypot(u, v));
}

static int add_wind(const view_maker *m, const pappus_output *output, pappus_error *err)
{
    if (!m->answer->air || output->answer_alone) {
        json_add_null(m->build, m->root, "wind");
        return PAPPUS_OK;
    }
    cJSON *wind = json_add_object(m->build, m->root, "wind");
    double apogee_m = m->answer->plan->apogee.height_m.mean;
    add_wind_sources(m, wind);
    cJSON *rows = json_add_array(m->build, wind, "rows");
    add_wind_row(m, rows, READING_HEIGHT_M);
    for (int i = 1; i <= WIND_ROWS; i++)
        add_wind_row(m, rows, apogee_m * i / WIND_ROWS);
    return report_add_wind_drawing(m->build, wind, output, err);
}

/* ------------------------------------------------------------------ inputs */

/* "18.5 lb = 8.391 kg", the reader's own unit first; once when there is but one. */
static void add_entry(const view_maker *m, cJSON *list, const pappus_plan_entry *entry)
{
    bool us = m->units == PAPPUS_UNITS_US;
    const char *own = us ? entry->us : entry->si, *other = us ? entry->si : entry->us;
    char *both = NULL;
    bool same = !other || other[0] == '\0' || (own && strcmp(own, other) == 0);
    if (!same && asprintf(&both, "%s = %s", own ? own : "", other) < 0) both = NULL;
    m->build->failed |= !same && !both;
    cJSON *item = json_append_object(m->build, list);
    json_add_text(m->build, item, "key", entry->key);
    json_add_text(m->build, item, "value", both ? both : own ? own : "");
    free(both);
}

static void add_entries(const view_maker *m, const char *key, bool assumed)
{
    const pappus_plan *plan = m->answer->plan;
    cJSON *entries = NULL;
    for (size_t i = 0; i < plan->entry_count; i++) {
        if (plan->entries[i].assumed != assumed) continue;
        if (!entries)
            entries = json_add_array(m->build, json_add_object(m->build, m->root, key), "entries");
        add_entry(m, entries, &plan->entries[i]);
    }
    if (!entries) json_add_null(m->build, m->root, key);
}

/* ------------------------------------------------------------------- whole */

static int extend(const view_maker *m, const pappus_output *output, pappus_error *err)
{
    if (m->build->failed) return pappus_fail_memory(err);
    add_statements(m);
    extend_posts(m);
    extend_heights(m);
    extend_outcomes(m);
    extend_drivers(m);
    extend_window(m);
    add_altimeters(m);
    add_entries(m, "given", false);
    add_entries(m, "assumed", true);
    add_first(m, "first_leads", "more_leads", at(m->root, "leads"), FIRST_REASONS);
    add_first(m, "first_posts", "more_posts", at(m->root, "posts"), FIRST_POSTS);
    add_first(m, "first_altimeters", NULL, at(m->root, "altimeters"), FIRST_ALTIMETERS);
    int status = report_add_drawings(m->build, m->root, output, err);
    if (status == PAPPUS_OK) status = add_wind(m, output, err);
    return status == PAPPUS_OK && m->build->failed ? pappus_fail_memory(err) : status;
}

int report_view(cJSON **out, const pappus_output *output, pappus_error *err)
{
    json_builder build = {false};
    statements said;
    pappus_unit_system units = output->options->units;
    *out = NULL;
    int status = statements_make(&said, output->answer, output->flight, units, err);
    if (status == PAPPUS_OK) {
        *out = pappus_summary_tree(&build, output->answer);
        view_maker m = {&build, output->answer, &said, units, *out};
        status = extend(&m, output, err);
    }
    statements_clear(&said);
    if (status == PAPPUS_OK) return status;
    cJSON_Delete(*out);
    *out = NULL;
    return status;
}
