/* SPDX-License-Identifier: GPL-3.0-or-later
 * A debrief as JSON (RFC 8259): SI, units in the names, null for what is not known. */
#include <pappus/debrief.h>

#include "c_locale.h"
#include "error.h"
#include "json_build.h"
#include "timestamp.h"

#include <math.h>

static void add_estimate(json_builder *b, cJSON *to, const char *key, pappus_estimate e)
{
    if (!isfinite(e.value)) {
        json_add_null(b, to, key);
        return;
    }
    cJSON *at = json_add_object(b, to, key);
    json_add_number(b, at, "value", e.value);
    json_add_number(b, at, "low", e.low);
    json_add_number(b, at, "high", e.high);
}

static void add_place(json_builder *b, cJSON *to, const char *key, double east_m, double north_m)
{
    if (isnan(east_m)) {
        json_add_null(b, to, key);
        return;
    }
    cJSON *at = json_add_object(b, to, key);
    json_add_number(b, at, "east_m", east_m);
    json_add_number(b, at, "north_m", north_m);
}

static void add_phases(json_builder *b, cJSON *to, const pappus_flown *flown)
{
    cJSON *list = json_add_array(b, to, "phases");
    for (size_t i = 0; i < flown->phase_count; i++) {
        const pappus_flown_phase *phase = &flown->phases[i];
        cJSON *at = json_append_object(b, list);
        json_add_number(b, at, "from_s", phase->from_s);
        json_add_number(b, at, "to_s", phase->to_s);
        json_add_number(b, at, "top_m", phase->top_m);
        json_add_number(b, at, "bottom_m", phase->bottom_m);
        add_estimate(b, at, "rate_mps", phase->rate_mps);
        add_estimate(b, at, "drag_area_m2", phase->drag_area_m2);
        json_add_number(b, at, "wander_m", phase->wander_m);
    }
}

static void add_bands(json_builder *b, cJSON *to, const pappus_flown *flown)
{
    cJSON *list = json_add_array(b, to, "by_height");
    for (size_t i = 0; i < flown->band_count; i++) {
        const pappus_flown_band *band = &flown->bands[i];
        cJSON *at = json_append_object(b, list);
        json_add_number(b, at, "top_m", band->top_m);
        json_add_number(b, at, "bottom_m", band->bottom_m);
        add_estimate(b, at, "rate_mps", band->rate_mps);
        add_estimate(b, at, "drag_area_m2", band->drag_area_m2);
    }
    cJSON *drift = json_add_object(b, to, "drift");
    json_add_number(b, drift, "east_m", flown->drift_east_m);
    json_add_number(b, drift, "north_m", flown->drift_north_m);
    json_add_number(b, drift, "from_m", flown->drift_from_m);
    json_add_number(b, drift, "to_m", flown->drift_to_m);
}

static void add_missing(json_builder *b, cJSON *to, const pappus_flown *flown)
{
    cJSON *list = json_add_array(b, to, "missing");
    for (int i = 0; i < PAPPUS_MISSINGS; i++)
        if (flown->missing & 1U << i)
            json_append_text(b, list, pappus_missing_text((pappus_missing)i));
}

static void add_log(json_builder *b, cJSON *to, const pappus_debriefed *flight)
{
    const pappus_flown *flown = &flight->flown;
    if (!flight->has_log) {
        json_add_null(b, to, "log");
        return;
    }
    cJSON *at = json_add_object(b, to, "log");
    json_add_number(b, at, "rate_hz", flown->rate_hz);
    json_add_number(b, at, "noise_m", flown->noise_m);
    json_add_number(b, at, "longest_gap_s", flown->longest_gap_s);
    json_add_count(b, at, "spikes", flown->spikes);
    json_add_count(b, at, "rows", flight->record->log->rows);
    json_add_count(b, at, "unusable_rows", flight->record->log->unusable);
    json_add_count(b, at, "repeated_rows", flight->record->log->repeated);
    add_phases(b, at, flown);
    add_bands(b, at, flown);
    add_missing(b, at, flown);
}

static void add_shares(json_builder *b, cJSON *to, const pappus_debriefed *flight)
{
    cJSON *at = json_add_object(b, to, "share_below");
    json_add_number(b, at, "apogee", flight->apogee_share);
    json_add_number(b, at, "time_aloft", flight->time_aloft_share);
    json_add_number(b, at, "touchdown", flight->touchdown_share);
    json_add_number(b, at, "main_fired", flight->main_fired_share);
}

static const char *const cause_keys[PAPPUS_CAUSES] = {
    [PAPPUS_CAUSE_APOGEE] = "apogee", [PAPPUS_CAUSE_FALL] = "fall", [PAPPUS_CAUSE_WIND] = "wind"};

static void add_causes(json_builder *b, cJSON *to, const pappus_debriefed *flight)
{
    if (!flight->explained) {
        json_add_null(b, to, "causes");
        return;
    }
    cJSON *at = json_add_object(b, to, "causes");
    for (int c = 0; c < PAPPUS_CAUSES; c++)
        add_place(b, at, cause_keys[c], flight->cause_east_m[c], flight->cause_north_m[c]);
    json_add_text(b, at, "most", cause_keys[flight->most]);
}

static void add_calibration(json_builder *b, cJSON *to, const pappus_calibration *c)
{
    static const char *const verdicts[] = {"too few flights", "as said", "too narrow", "too wide"};
    if (c->count == 0) {
        json_add_null(b, to, "calibration");
        return;
    }
    cJSON *at = json_add_object(b, to, "calibration"), *list = json_add_array(b, at, "levels");
    json_add_count(b, at, "flights", c->count);
    for (int l = 0; l < PAPPUS_LEVELS; l++) {
        cJSON *level = json_append_object(b, list);
        json_add_number(b, level, "level", c->levels[l].level);
        json_add_count(b, level, "inside", c->levels[l].inside);
        add_estimate(b, level, "share", c->levels[l].share);
    }
    list = json_add_array(b, at, "ranks");
    for (size_t i = 0; i < c->rank_bins; i++)
        json_append_number(b, list, (double)c->ranks[i]);
    json_add_count(b, at, "ranks_low", c->ranks_low);
    json_add_count(b, at, "ranks_high", c->ranks_high);
    json_add_number(b, at, "sum", c->sum);
    json_add_number(b, at, "degrees", c->degrees);
    json_add_number(b, at, "p", c->p);
    json_add_text(b, at, "zones", verdicts[c->verdict]);
    json_add_number(b, at, "wind_share", c->wind_share);
    json_add_number(b, at, "power_half", c->power_narrow);
    json_add_number(b, at, "power_twice", c->power_wide);
    add_estimate(b, at, "along_m", c->along_m);
    add_estimate(b, at, "across_m", c->across_m);
}

static void add_drag(json_builder *b, cJSON *to, const char *key, const pappus_learned_drag *drag)
{
    if (drag->flights == 0) {
        json_add_null(b, to, key);
        return;
    }
    cJSON *at = json_add_object(b, to, key);
    json_add_number(b, at, "value", drag->drag_area_m2.value);
    json_add_number(b, at, "low", drag->drag_area_m2.low);
    json_add_number(b, at, "high", drag->drag_area_m2.high);
    json_add_number(b, at, "next_sd_m2", drag->next_sd_m2);
    json_add_number(b, at, "before_m2", drag->before_m2);
    json_add_number(b, at, "before_sd_m2", drag->before_sd_m2);
    json_add_count(b, at, "flights", drag->flights);
}

static void add_learned(json_builder *b, cJSON *to, const pappus_learned *l)
{
    static const pappus_estimate none = {NAN, NAN, NAN};
    bool wind = l->wind_flights > 0;
    cJSON *at = json_add_object(b, to, "learned");
    add_drag(b, at, "drogue_drag_area_m2", &l->drogue);
    add_drag(b, at, "main_drag_area_m2", &l->main);
    add_estimate(b, at, "wind_factor", wind ? l->wind_factor : none);
    add_estimate(b, at, "error_factor", wind && l->split ? l->error_factor : none);
    add_estimate(b, at, "growth_factor", wind && l->split ? l->growth_factor : none);
    json_add_number(b, at, "wind_error_mps", wind ? l->error_mps : NAN);
    json_add_number(b, at, "wind_growth_mps", wind ? l->growth_mps : NAN);
    json_add_number(b, at, "wind_error_before_mps", l->error_before_mps);
    json_add_number(b, at, "wind_growth_before_mps", l->growth_before_mps);
    json_add_count(b, at, "wind_flights", l->wind_flights);
}

static void add_flight(json_builder *b, cJSON *list, const pappus_debriefed *flight)
{
    static const pappus_estimate none = {NAN, NAN, NAN};
    const pappus_flown *flown = flight->has_log ? &flight->flown : NULL;
    char time[40];
    cJSON *at = json_append_object(b, list);
    json_add_text(b, at, "record", flight->record->path);
    pappus_time_format(time, sizeof time, flight->record->time_utc_s);
    json_add_text(b, at, "time", isnan(flight->record->time_utc_s) ? NULL : time);
    add_estimate(b, at, "drogue_drag_area_m2", flown ? flown->drogue_drag_area_m2 : none);
    add_estimate(b, at, "main_drag_area_m2", flown ? flown->main_drag_area_m2 : none);
    json_add_number(b, at, "apogee_m", flown ? flown->apogee_m : NAN);
    json_add_number(b, at, "main_fired_m", flown ? flown->main_fired_m : NAN);
    json_add_number(b, at, "offset_m", flight->offset_m);
    json_add_number(b, at, "level", flight->level);
    json_add_number(b, at, "apogee_shown_m", flown ? flown->apogee_shown_m : NAN);
    json_add_number(b, at, "main_fired_shown_m", flown ? flown->main_fired_shown_m : NAN);
    json_add_number(b, at, "main_open_m", flown ? flown->main_open_m : NAN);
    add_estimate(b, at, "drogue_fired_s", flown ? flown->drogue_fired_s : none);
    add_estimate(b, at, "main_fired_s", flown ? flown->main_fired_s : none);
    add_estimate(b, at, "main_opening_s", flown ? flown->main_opening_s : none);
    json_add_number(b, at, "time_aloft_s", flown ? flown->time_aloft_s : NAN);
    json_add_number(b, at, "touchdown_mps", flown ? flown->touchdown_mps : NAN);
    json_add_text(b, at, "outcome", flown ? pappus_outcome_text(flown->outcome) : NULL);
    json_add_number(b, at, "rank", flight->rank);
    json_add_number(b, at, "offset_bearing_deg", flight->offset_bearing_deg);
    json_add_number(b, at, "along_m", flight->along_m);
    json_add_number(b, at, "across_m", flight->across_m);
    add_shares(b, at, flight);
    add_causes(b, at, flight);
    add_place(b, at, "landing", flight->east_m, flight->north_m);
    add_place(b, at, "expected", flight->expected_east_m, flight->expected_north_m);
    add_log(b, at, flight);
    json_add_number(b, at, "wind_age_h", flight->age_s / 3600.0);
    json_add_bool(b, at, "wind_of_another_day", flight->other_wind);
    json_add_number(b, at, "main_set_m", flight->main_set_m);
    cJSON *known = json_add_object(b, at, "known");
    add_estimate(b, known, "drogue_drag_area_m2", flight->known.drogue_drag_area_m2);
    add_estimate(b, known, "main_drag_area_m2", flight->known.main_drag_area_m2);
    add_estimate(b, known, "wind_factor", flight->known.wind_factor);
}

static cJSON *debrief_tree(json_builder *b, const pappus_debrief *debrief)
{
    cJSON *root = cJSON_CreateObject();
    cJSON *list = json_add_array(b, root, "flights");
    for (size_t i = 0; i < debrief->count; i++)
        add_flight(b, list, &debrief->flights[i]);
    add_calibration(b, root, &debrief->calibration);
    add_learned(b, root, &debrief->learned);
    return root;
}

int pappus_debrief_json_text(char **out, const pappus_debrief *debrief, const pappus_plan *plan,
                             pappus_error *err)
{
    pappus_locale locale;
    json_builder build = {false};
    (void)plan;
    *out = NULL;
    if (!pappus_locale_enter(&locale)) return pappus_fail_memory(err);
    int status = json_finish(out, &build, debrief_tree(&build, debrief), err);
    pappus_locale_leave(&locale);
    return status;
}
