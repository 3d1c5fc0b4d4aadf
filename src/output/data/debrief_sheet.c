/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "debrief_sheet.h"

#include "debrief_words.h"
#include "timestamp.h"

#include <math.h>

#define FLIGHTS                                                                                    \
    "Flight|Apogee|Main fired|Fell at|Drogue's area|Main's area|Time aloft|Landed off|"            \
    "Within|Most by"
#define KNOWN "After|Drogue's area|Main's area|Wind's error"

static const char *show(const sheet *s, pappus_quantity quantity, double si)
{
    return isnan(si) ? "-" : sheet_show(s, quantity, si);
}

/* A line breaks behind a comma alone. */
static const char *together(const sheet *s, const char *words)
{
    char out[4 * PAPPUS_TEXT_SIZE];
    return sheet_text(s, "%s", pappus_format_together(out, sizeof out, words));
}

static const char *area(const sheet *s, pappus_estimate e)
{
    char low[PAPPUS_TEXT_SIZE], high[PAPPUS_TEXT_SIZE];
    if (isnan(e.value)) return "-";
    pappus_format_number(low, sizeof low, PAPPUS_SHOW_DRAG_AREA, e.low, s->units);
    pappus_format_number(high, sizeof high, PAPPUS_SHOW_DRAG_AREA, e.high, s->units);
    return together(
        s, sheet_text(s, "%s, %s to %s", sheet_show(s, PAPPUS_SHOW_DRAG_AREA, e.value), low, high));
}

/* A name and the day, which may say the same. */
static const char *name_of(const sheet *s, const pappus_debriefed *flight)
{
    char time[40];
    const char *name = pappus_file_name(flight->record->path);
    if (isnan(flight->record->time_utc_s)) return sheet_text(s, "%s", name);
    pappus_time_format(time, sizeof time, flight->record->time_utc_s);
    return sheet_text(s, "%.10s %.5s UTC, %s", time, time + 11, name);
}

static const char *fired(const sheet *s, const pappus_debriefed *flight)
{
    if (flight->has_log && flight->flown.outcome != PAPPUS_NOMINAL)
        return pappus_outcome_text(flight->flown.outcome);
    if (!flight->has_log || isnan(flight->flown.main_fired_shown_m)) return "-";
    const char *shown = sheet_show(s, PAPPUS_SHOW_HEIGHT, flight->flown.main_fired_shown_m);
    if (isnan(flight->main_set_m)) return shown;
    return together(s, sheet_text(s, "%s, set to %s", shown,
                                  sheet_show(s, PAPPUS_SHOW_HEIGHT, flight->main_set_m)));
}

/* The first fall and the last. */
static const char *rates(const sheet *s, const pappus_debriefed *flight)
{
    const pappus_flown *flown = &flight->flown;
    char first[PAPPUS_TEXT_SIZE];
    if (!flight->has_log || flown->phase_count == 0) return "-";
    const char *last =
        sheet_show(s, PAPPUS_SHOW_SPEED, flown->phases[flown->phase_count - 1].rate_mps.value);
    if (flown->phase_count == 1) return last;
    pappus_format_number(first, sizeof first, PAPPUS_SHOW_SPEED, flown->phases[0].rate_mps.value,
                         s->units);
    return together(s, sheet_text(s, "%s, then %s", first, last));
}

static const char *aloft(const sheet *s, const pappus_debriefed *flight)
{
    if (!flight->has_log || isnan(flight->flown.time_aloft_s)) return "-";
    const char *time = sheet_show(s, PAPPUS_SHOW_TIME, flight->flown.time_aloft_s);
    if (isnan(flight->time_aloft_share)) return time;
    return together(s, sheet_text(s, "%s, above %.0f %%", time, 100.0 * flight->time_aloft_share));
}

static const char *offset(const sheet *s, const pappus_debriefed *flight)
{
    if (isnan(flight->offset_m)) return "-";
    return together(s, sheet_text(s, "%s %s", sheet_show(s, PAPPUS_SHOW_DISTANCE, flight->offset_m),
                                  pappus_compass_point(flight->offset_bearing_deg)));
}

static const char *contour(const sheet *s, const pappus_debriefed *flight)
{
    if (isnan(flight->level)) return "-";
    if (flight->other_wind) return "- (wind of another day)";
    return flight->level < 1.0 ? sheet_text(s, "%.0f %%", 100.0 * flight->level) : "none";
}

static const char *cause(const pappus_debriefed *flight)
{
    static const char *const words[PAPPUS_CAUSES] = {[PAPPUS_CAUSE_APOGEE] = "apogee",
                                                     [PAPPUS_CAUSE_FALL] = "fall",
                                                     [PAPPUS_CAUSE_WIND] = "wind"};
    return flight->explained ? words[flight->most] : "-";
}

static void add_flights(const sheet *s, const pappus_debrief *debrief)
{
    static const pappus_estimate none = {NAN, NAN, NAN};
    cJSON *section = sheet_section(s, (sheet_heading){.id = "flights", .text = "The flights"});
    cJSON *part = sheet_part(
        s, section, NULL, "flown",
        "A row for each flight. Drag areas with their 95 % interval, the drogue's with what hangs "
        "of the rocket beside it. Time aloft: above that share of the flights expected. Landed "
        "off: from the middle of what was expected. Within: the least contour that held it. Most "
        "by: what moved it furthest (apogee; fall: drag and firing; wind, with the apogee's place)",
        FLIGHTS);
    for (size_t i = 0; i < debrief->count; i++) {
        const pappus_debriefed *f = &debrief->flights[i];
        sheet_row(s, part, true, name_of(s, f),
                  show(s, PAPPUS_SHOW_HEIGHT, f->has_log ? f->flown.apogee_m : NAN), fired(s, f),
                  rates(s, f), area(s, f->has_log ? f->flown.drogue_drag_area_m2 : none),
                  area(s, f->has_log ? f->flown.main_drag_area_m2 : none), aloft(s, f),
                  offset(s, f), contour(s, f), cause(f), NULL);
    }
}

static const char *factor(const sheet *s, pappus_estimate e)
{
    if (isnan(e.value)) return "-";
    return together(s, sheet_text(s, "%.2f, %.2f to %.2f", e.value, e.low, e.high));
}

/* What the plan says without a flight; sd NaN or 0: as it is. */
static const char *planned(const sheet *s, const pappus_learned_drag *drag)
{
    double half = 1.959964 * drag->before_sd_m2;
    if (drag->flights == 0) return "-";
    return area(s, (pappus_estimate){drag->before_m2, fmax(drag->before_m2 - half, 0.0),
                                     drag->before_m2 + half});
}

static void add_known(const sheet *s, const pappus_debrief *debrief)
{
    const pappus_learned *l = &debrief->learned;
    if (l->drogue.flights + l->main.flights + l->wind_flights == 0) return;
    cJSON *section =
        sheet_section(s, (sheet_heading){.id = "known", .text = "What is known after each flight"});
    cJSON *part = sheet_part(s, section, NULL, "flown",
                             "From the plan and all flights up to this one, with the 95 % "
                             "interval; the wind's error over the plan's",
                             KNOWN);
    sheet_row(s, part, false, "the plan", planned(s, &l->drogue), planned(s, &l->main),
              l->wind_flights > 0 ? "1" : "-", NULL);
    for (size_t i = 0; i < debrief->count; i++) {
        const pappus_known *known = &debrief->flights[i].known;
        sheet_row(s, part, true, name_of(s, &debrief->flights[i]),
                  area(s, known->drogue_drag_area_m2), area(s, known->main_drag_area_m2),
                  factor(s, known->wind_factor), NULL);
    }
}

/* The answer first. */
static void add_answer(const sheet *s, cJSON *root, const pappus_debrief *debrief)
{
    const pappus_learned *l = &debrief->learned;
    char words[DEBRIEF_WORDS];
    if (debrief_zones_words(words, &debrief->calibration)[0])
        sheet_say(s, root, "lines", sheet_text(s, "%s.", words));
    if (debrief_drag_words(words, &l->drogue, s->units)[0])
        sheet_say(s, root, "lines", sheet_text(s, "The drogue's drag area is %s.", words));
    if (debrief_drag_words(words, &l->main, s->units)[0])
        sheet_say(s, root, "lines", sheet_text(s, "The main's drag area is %s.", words));
    if (debrief_wind_words(words, l)[0])
        sheet_say(s, root, "lines", sheet_text(s, "The wind: %s.", words));
}

cJSON *debrief_sheet(json_builder *build, const pappus_debrief *debrief, const pappus_plan *plan,
                     pappus_unit_system units)
{
    sheet s;
    cJSON *root = sheet_begin(&s, build, units, false);
    json_add_text(build, root, "title", plan->title);
    add_answer(&s, root, debrief);
    add_flights(&s, debrief);
    add_known(&s, debrief);
    sheet_end(&s);
    return root;
}
