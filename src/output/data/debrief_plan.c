/* SPDX-License-Identifier: GPL-3.0-or-later
 * What flights teach as a plan laid over the one they were held against: a few keys and
 * `base`. A canopy's drag goes where the plan has it: into its coefficient (less what hangs of
 * the body, which the plan adds again), its drag area or its rate. */
#include "debrief_change.h"

#include "c_locale.h"
#include "canopy_type.h"
#include "error.h"
#include "json_build.h"
#include "timestamp.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static debrief_change *begin(debrief_change *out, size_t *count, const char *group, const char *key,
                             const char *inner)
{
    debrief_change *change = &out[(*count)++];
    *change = (debrief_change){.group = group, .key = key, .inner = inner};
    return change;
}

static void write_value(char out[64], double mean, double sd, const char *unit)
{
    snprintf(out, 64, "%.4g%s%s +/- %.2g%s%s", mean, unit[0] ? " " : "", unit, sd,
             unit[0] ? " " : "", unit);
}

static void write_before(char out[64], pappus_uncertain before, const char *unit)
{
    if (!pappus_is_present(before)) return;
    if (before.distribution == PAPPUS_EXACT)
        snprintf(out, 64, "%.4g%s%s", before.mean, unit[0] ? " " : "", unit);
    else
        write_value(out, before.mean, before.sd, unit);
}

static void change_canopy(debrief_change *out, size_t *count, const char *group,
                          const pappus_canopy_plan *canopy, const pappus_learned_drag *drag)
{
    double own = drag->drag_area_m2.value - drag->body_m2, was = drag->before_m2 - drag->body_m2;
    double part = drag->next_sd_m2 / own;
    if (drag->flights == 0 || !(own > 0.0)) return;
    if (pappus_is_present(canopy->rate_speed_mps)) {
        double speed = canopy->rate_speed_mps.mean * sqrt(was / own);
        debrief_change *c = begin(out, count, group, "rate", "speed");
        write_value(c->value, speed, 0.5 * part * speed, "m/s");
        write_before(c->before, canopy->rate_speed_mps, "m/s");
    } else if (pappus_is_present(canopy->drag_area_m2)) {
        debrief_change *c = begin(out, count, group, "drag_area", NULL);
        write_value(c->value, own, part * own, "m2");
        write_before(c->before, canopy->drag_area_m2, "m2");
    } else {
        pappus_range type = pappus_canopy_type_of(canopy->type)->drag;
        bool given = pappus_is_present(canopy->drag_coefficient);
        double mean = given ? canopy->drag_coefficient.mean : pappus_range_middle(type);
        debrief_change *c = begin(out, count, group, "drag_coefficient", NULL);
        write_value(c->value, mean * own / was, part * mean * own / was, "");
        write_before(c->before, canopy->drag_coefficient, "");
        if (given) return;
        c = begin(out, count, group, "area_basis", NULL);
        snprintf(c->value, sizeof c->value, "nominal");
    }
}

static void change_wind(debrief_change *out, size_t *count, const pappus_learned *learned)
{
    if (learned->wind_flights == 0) return;
    debrief_change *c = begin(out, count, "wind", "error", NULL);
    snprintf(c->value, sizeof c->value, "%.2f m/s", learned->error_mps);
    snprintf(c->before, sizeof c->before, "%.4g m/s", learned->error_before_mps);
    c = begin(out, count, "wind", "growth", NULL);
    snprintf(c->value, sizeof c->value, "%.2f m/s", learned->growth_mps);
    snprintf(c->before, sizeof c->before, "%.4g m/s", learned->growth_before_mps);
}

size_t debrief_changes(debrief_change out[DEBRIEF_CHANGES_MOST], const pappus_debrief *debrief,
                       const pappus_plan *plan)
{
    size_t count = 0;
    change_canopy(out, &count, "drogue", &plan->drogue, &debrief->learned.drogue);
    change_canopy(out, &count, "main", &plan->main, &debrief->learned.main);
    change_wind(out, &count, &debrief->learned);
    return count;
}

/* ---------------------------------------------------------------------- fragment */

static void write_source(char out[200], const pappus_debrief *debrief)
{
    char first[40] = "", last[40] = "";
    for (size_t i = 0; i < debrief->count; i++) {
        double time = debrief->flights[i].record->time_utc_s;
        if (isnan(time)) continue;
        if (!first[0]) pappus_time_format(first, sizeof first, time);
        pappus_time_format(last, sizeof last, time);
    }
    snprintf(out, 200, PAPPUS_LEARNED_FROM_FLIGHTS " of %zu flight%s%s%.10s%s%.10s", debrief->count,
             debrief->count == 1 ? "" : "s", first[0] ? ", " : "", first, first[0] ? " to " : "",
             last);
}

int pappus_debrief_plan_text(char **out, const pappus_debrief *debrief, const pappus_plan *plan,
                             const char *base, pappus_error *err)
{
    debrief_change changes[DEBRIEF_CHANGES_MOST];
    pappus_locale locale;
    json_builder build = {false};
    char source[200];
    *out = NULL;
    if (!pappus_locale_enter(&locale)) return pappus_fail_memory(err);
    cJSON *root = cJSON_CreateObject();
    json_add_text(&build, root, "base", base);
    size_t count = debrief_changes(changes, debrief, plan);
    for (size_t i = 0; i < count; i++) {
        const debrief_change *c = &changes[i];
        cJSON *at = cJSON_GetObjectItemCaseSensitive(root, c->group);
        if (!at) at = json_add_object(&build, root, c->group);
        if (c->inner)
            json_add_text(&build, json_add_object(&build, at, c->key), c->inner, c->value);
        else
            json_add_text(&build, at, c->key, c->value);
    }
    cJSON *wind = cJSON_GetObjectItemCaseSensitive(root, "wind");
    write_source(source, debrief); /* also tells a later run whose file this is */
    if (!wind) wind = json_add_object(&build, root, "wind");
    json_add_text(&build, wind, "learned_from", source);
    int status = json_finish(out, &build, root, err);
    pappus_locale_leave(&locale);
    return status;
}
