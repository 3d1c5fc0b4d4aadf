/* SPDX-License-Identifier: GPL-3.0-or-later
 * Faults of a plan that need more than one key: what must be there together, what
 * excludes what. Also settles the pad in use. */
#include "plan_reader.h"
#include "body_drag.h"
#include "uncertain.h"

#include "time_zone.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define APOGEE_TILT_SD 0.052 /* tan of 3 degrees: sd of the flight's tilt per axis (A) */

static bool given(double value)
{
    return isfinite(value);
}

/* True when the merged plan holds the key, rightly or not: a value that was
 * refused has its own fault and is not told again as missing. */
static bool is_written(const pappus_plan_reader *reader, const char *group, const char *leaf)
{
    const cJSON *item = reader->sources->whole;
    char name[PAPPUS_KEY_LIMIT];
    while (*group) {
        size_t n = strcspn(group, ".");
        snprintf(name, sizeof name, "%.*s", (int)n, group);
        item = cJSON_GetObjectItemCaseSensitive(item, name);
        group += n + (group[n] == '.');
    }
    item = cJSON_GetObjectItemCaseSensitive(item, leaf);
    return item && !cJSON_IsNull(item);
}

static bool is_object(const pappus_plan_reader *reader, const char *name)
{
    return cJSON_IsObject(cJSON_GetObjectItemCaseSensitive(reader->sources->whole, name));
}

/* -------------------------------------------------------------------- site */

static void pad_names(char *out, size_t size, const pappus_site *site)
{
    size_t n = 0;
    out[0] = '\0';
    for (size_t i = 0; i < site->pad_count && n < size; i++) {
        n += (size_t)snprintf(out + n, size - n, "%s\"%s\"", i ? ", " : "",
                              site->pads[i].name ? site->pads[i].name : "");
    }
}

static void use_pad(pappus_plan_reader *reader, const pappus_pad *pad)
{
    pappus_site *site = &reader->plan->site;
    site->latitude_deg = pad->latitude_deg;
    site->longitude_deg = pad->longitude_deg;
    site->pad_name = strdup(pad->name ? pad->name : "");
    if (!site->pad_name) reader->out_of_memory = true;
}

static const pappus_pad *pad_named(const pappus_site *site, const char *name)
{
    for (size_t i = 0; i < site->pad_count; i++) {
        if (site->pads[i].name && strcmp(site->pads[i].name, name) == 0) return &site->pads[i];
    }
    return NULL;
}

static void check_pad_names(pappus_plan_reader *reader)
{
    const pappus_site *site = &reader->plan->site;
    for (size_t i = 0; i < site->pad_count; i++) {
        const char *name = site->pads[i].name;
        if (name && pad_named(site, name) != &site->pads[i]) {
            char key[64];
            snprintf(key, sizeof key, "site.pads[%zu].name", i);
            pappus_plan_fault(reader, key, name, "two pads of one name; accepted is a name each");
        }
    }
}

static void check_zone(pappus_plan_reader *reader)
{
    const char *zone = reader->plan->site.time_zone;
    if (zone && !pappus_zone_known(zone))
        pappus_plan_fault(reader, "site.time_zone", zone,
                          "accepted is a zone that this system knows, as in \"Europe/Vienna\", or "
                          "an offset, as in \"-06:00\"");
}

static void choose_pad(pappus_plan_reader *reader, const char *wanted)
{
    pappus_site *site = &reader->plan->site;
    bool own = given(site->latitude_deg) && given(site->longitude_deg);
    check_pad_names(reader);
    check_zone(reader);
    if (wanted) {
        const pappus_pad *pad = pad_named(site, wanted);
        char names[300];
        pad_names(names, sizeof names, site);
        if (pad) {
            use_pad(reader, pad);
        } else {
            pappus_plan_fault(reader, "site.pads", wanted, "no such pad; accepted is %s",
                              site->pad_count ? names : "no --pad: the plan names no pads");
        }
        return;
    }
    if (own) return;
    if (site->pad_count > 0 && !is_written(reader, "site", "latitude") &&
        !is_written(reader, "site", "longitude")) {
        use_pad(reader, &site->pads[0]);
        return;
    }
    static const char *const leaves[] = {"latitude", "longitude"};
    for (size_t i = 0; i < 2; i++) {
        char key[32];
        snprintf(key, sizeof key, "site.%s", leaves[i]);
        if (is_object(reader, "site") && !is_written(reader, "site", leaves[i])) {
            pappus_plan_fault(reader, key, NULL, "is required, as in \"%s\"",
                              i ? "-96.5 deg" : "41.25 deg");
        }
    }
}

/* ------------------------------------------------------------------- field */

static void check_area(pappus_plan_reader *reader, const pappus_inline_area *area, size_t index)
{
    char key[64];
    snprintf(key, sizeof key, "field.keep_out[%zu]", index);
    bool any = given(area->bearing_deg) || given(area->distance_m) || given(area->radius_m);
    bool disc = given(area->bearing_deg) && given(area->distance_m) && given(area->radius_m);
    if ((area->point_count > 0 && !any) || (area->point_count == 0 && disc)) return;
    pappus_plan_fault(reader, key, NULL,
                      "accepted is a name with points, or with bearing, distance and radius");
}

static void check_field(pappus_plan_reader *reader)
{
    const pappus_field_source *field = &reader->plan->field;
    int forms = (field->boundary_path != NULL) + given(field->radius_m) + (field->point_count > 0);
    if (forms > 1) {
        pappus_plan_fault(reader, "field", NULL,
                          "more than one outline; accepted is one of boundary, radius, points");
    }
    for (size_t i = 0; i < field->keep_out_count; i++)
        check_area(reader, &field->keep_outs[i], i);
}

/* ---------------------------------------------------------------- canopies */

static void canopy_fault(pappus_plan_reader *reader, const char *name, const char *message)
{
    pappus_plan_fault(reader, name, NULL, "%s", message);
}

static void check_streamer(pappus_plan_reader *reader, const char *name)
{
    bool whole = is_written(reader, name, "length") && is_written(reader, name, "width") &&
                 is_written(reader, name, "drag_coefficient");
    bool other = is_written(reader, name, "drag_area") || is_written(reader, name, "rate");
    if (is_written(reader, name, "diameter") || is_written(reader, name, "area") ||
        is_written(reader, name, "area_basis")) {
        canopy_fault(reader, name,
                     "a streamer has no diameter, area or area_basis; accepted is length, width "
                     "and drag_coefficient on length times width, or drag_area, or rate");
    } else if (whole == other) {
        canopy_fault(reader, name,
                     "a streamer takes either length, width and drag_coefficient, or drag_area, or "
                     "rate");
    }
}

/* Exactly one way to its drag area. */
static void check_drag(pappus_plan_reader *reader, const char *name)
{
    bool diameter = is_written(reader, name, "diameter"), area = is_written(reader, name, "area");
    bool coefficient = is_written(reader, name, "drag_coefficient");
    bool drag_area = is_written(reader, name, "drag_area"), rate = is_written(reader, name, "rate");
    int forms = (diameter || area || coefficient) + drag_area + rate;
    if (forms != 1 || (diameter && area)) {
        canopy_fault(reader, name,
                     "accepted is exactly one of: diameter with drag_coefficient and area_basis; "
                     "area with drag_coefficient; drag_area; rate; diameter with type");
    } else if (coefficient && !diameter && !area) {
        canopy_fault(reader, name, "a drag_coefficient needs its diameter or area");
    } else if (area && !coefficient) {
        canopy_fault(reader, name, "an area needs its drag_coefficient");
    } else if (diameter && !coefficient && !is_written(reader, name, "type")) {
        canopy_fault(reader, name,
                     "a diameter needs its drag_coefficient and area_basis, or at least the type");
    } else if (diameter && coefficient && !is_written(reader, name, "area_basis")) {
        canopy_fault(reader, name,
                     "makers reckon areas differently: area_basis is needed beside diameter and "
                     "drag_coefficient; accepted is \"nominal\" (all the cloth), \"constructed\" "
                     "(laid flat) or \"projected\" (the inflated mouth)");
    }
}

static void check_canopy(pappus_plan_reader *reader, const char *name,
                         const pappus_canopy_plan *canopy)
{
    if (!canopy->present) return;
    bool streamer = canopy->type_given && canopy->type == PAPPUS_STREAMER;
    if (streamer) {
        check_streamer(reader, name);
        return;
    }
    if (is_written(reader, name, "length") || is_written(reader, name, "width")) {
        canopy_fault(reader, name,
                     "length and width are of a streamer; accepted with \"type\": "
                     "\"streamer\"");
    }
    check_drag(reader, name);
    if (given(canopy->diameter_m) && canopy->spill_hole_m >= canopy->diameter_m) {
        canopy_fault(reader, name, "the spill hole is as large as the canopy");
    }
}

/* True when no altimeter has a main_height, nor one that was refused. */
static bool lacks_main_height(const pappus_plan_reader *reader)
{
    const cJSON *item, *list;
    list = cJSON_GetObjectItemCaseSensitive(reader->sources->whole, "altimeters");
    if (!list || cJSON_IsNull(list)) return true;
    if (!cJSON_IsArray(list)) return false;
    cJSON_ArrayForEach(item, list)
    {
        const cJSON *height = cJSON_GetObjectItemCaseSensitive(item, "main_height");
        if (!cJSON_IsObject(item) || (height && !cJSON_IsNull(height))) return false;
    }
    return true;
}

static void check_canopies(pappus_plan_reader *reader)
{
    const pappus_plan *plan = reader->plan;
    if (!is_written(reader, "", "drogue") && !is_written(reader, "", "main")) {
        pappus_plan_fault(reader, "main", NULL,
                          "no canopy; accepted is a plan with drogue, main or both");
    }
    check_canopy(reader, "drogue", &plan->drogue);
    check_canopy(reader, "main", &plan->main);
    if (plan->drogue.present && plan->main.present && lacks_main_height(reader)) {
        pappus_plan_fault(reader, "altimeters[0].main_height", NULL,
                          "is required with a drogue and a main: the main's deployment height as "
                          "set on the altimeter, as in \"700 ft\"");
    }
}

/* -------------------------------------------------------------------- wind */

static void check_profile(pappus_plan_reader *reader, size_t index)
{
    char key[64];
    const cJSON *wind = cJSON_GetObjectItemCaseSensitive(reader->sources->whole, "wind");
    const cJSON *list = cJSON_GetObjectItemCaseSensitive(wind, "profiles");
    const cJSON *item = cJSON_GetArrayItem(list, (int)index);
    if (cJSON_GetObjectItemCaseSensitive(item, "valid") &&
        cJSON_GetObjectItemCaseSensitive(item, "weight")) {
        snprintf(key, sizeof key, "wind.profiles[%zu]", index);
        pappus_plan_fault(reader, key, NULL,
                          "accepted is valid (interpolated in time) or weight (drawn), not both");
    }
}

static void check_wind(pappus_plan_reader *reader, const pappus_plan_options *options)
{
    const pappus_wind_plan *wind = &reader->plan->wind;
    bool needed = options->needs_wind;
    bool written = is_written(reader, "", "wind");
    if (!written && needed) {
        pappus_plan_fault(reader, "wind", NULL,
                          "is required: profiles from wind files, or surface with speed and "
                          "direction");
    }
    if (!options->winds_elsewhere && written && reader->plan->has_wind &&
        !is_written(reader, "wind", "surface") && !is_written(reader, "wind", "profiles")) {
        pappus_plan_fault(reader, "wind", NULL,
                          "no wind in it; accepted is profiles from wind files, or surface with "
                          "speed and direction, or both");
    }
    for (size_t i = 0; i < wind->profile_count; i++)
        check_profile(reader, i);
}

static bool is_set(const pappus_plan_reader *reader, const char *key)
{
    for (size_t i = 0; i < reader->sources->setting_count; i++)
        if (strcmp(reader->sources->setting_keys[i], key) == 0) return true;
    return false;
}

/* The reading's speed as the files have it, before any setting; NaN: none. */
static double written_speed_mps(const pappus_plan_reader *reader)
{
    double speed_mps;
    const pappus_plan_sources *sources = reader->sources;
    for (size_t i = 0; i < sources->document_count; i++) {
        const cJSON *wind = cJSON_GetObjectItemCaseSensitive(sources->documents[i].tree, "wind");
        const cJSON *surface = cJSON_GetObjectItemCaseSensitive(wind, "surface");
        const cJSON *speed = cJSON_GetObjectItemCaseSensitive(surface, "speed");
        pappus_error error = {0};
        if (!cJSON_IsString(speed)) continue;
        int status = pappus_units_parse(&speed_mps, reader->units, PAPPUS_DIM_WIND_SPEED,
                                        speed->valuestring, &error);
        return status == PAPPUS_OK ? speed_mps : NAN;
    }
    return NAN;
}

/* A gust belongs to its reading: a speed set by itself takes the gust along at its ratio. */
static void scale_gust(pappus_plan_reader *reader)
{
    pappus_wind_plan *wind = &reader->plan->wind;
    double ratio = wind->surface.speed_mps / written_speed_mps(reader);
    char before[48], after[48];
    if (!is_set(reader, "wind.surface.speed") || is_set(reader, "wind.surface.gust")) return;
    if (!isfinite(ratio) || ratio == 1.0) return;
    pappus_units_format(before, sizeof before, PAPPUS_DIM_WIND_SPEED, reader->plan->units,
                        wind->gust_mps);
    wind->gust_mps *= ratio;
    pappus_units_format(after, sizeof after, PAPPUS_DIM_WIND_SPEED, reader->plan->units,
                        wind->gust_mps);
    pappus_plan_value_assume(reader, "wind.surface.gust", wind->gust_mps);
    pappus_log_add(reader->log, PAPPUS_NOTE, PAPPUS_OK, reader->plan->path, "wind.surface.gust",
                   before,
                   "goes with the speed that was set: %s is taken; set the gust too if it "
                   "was measured",
                   after);
}

static void check_gust(pappus_plan_reader *reader)
{
    const pappus_wind_plan *wind = &reader->plan->wind;
    char gust[48], speed[48];
    if (!reader->plan->has_wind || !wind->has_surface) return;
    if (!given(wind->gust_mps) || !given(wind->surface.speed_mps)) return;
    scale_gust(reader);
    if (wind->gust_mps >= wind->surface.speed_mps * (1.0 - 1e-9)) return;
    pappus_units_format(gust, sizeof gust, PAPPUS_DIM_WIND_SPEED, reader->plan->units,
                        wind->gust_mps);
    pappus_units_format(speed, sizeof speed, PAPPUS_DIM_WIND_SPEED, reader->plan->units,
                        wind->surface.speed_mps);
    pappus_plan_fault(reader, "wind.surface.gust", gust,
                      "less than the speed, %s; accepted is the highest of the same minutes, or no "
                      "gust",
                      speed);
}

/* ----------------------------------------------------------------- the rest */

static void check_charge(pappus_plan_reader *reader, const char *name,
                         const pappus_charge_plan *charge)
{
    if (charge->present && given(charge->force_n) && given(charge->pressure_pa)) {
        pappus_plan_fault(reader, name, NULL, "accepted is force or pressure, not both");
    }
}

static void check_heights(pappus_plan_reader *reader)
{
    const pappus_plan *plan = reader->plan;
    double from = plan->heights_from_m, to = plan->heights_to_m, step = plan->heights_step_m;
    if (!given(from) || !given(to) || !given(step)) return;
    if (from > to || (to - from) / step > 200.0) {
        pappus_plan_fault(reader, "heights", NULL,
                          "accepted is from not above to, and at most 200 steps between them");
    }
}

/* Without profiles the assumed error of the wind is that of a guess: the entry says
 * what will be used. */
static void settle_wind_error(pappus_plan_reader *reader)
{
    pappus_plan *plan = reader->plan;
    if (!plan->has_wind || plan->wind.profile_count > 0 || plan->wind.error_given) return;
    plan->wind.error_mps = PAPPUS_SURFACE_ONLY_ERROR_MPS;
    pappus_plan_value_assume(reader, "wind.error", plan->wind.error_mps);
}

/* The drag of the body where the plan does not give it: it is not nothing because nobody
 * wrote it down. */
static void settle_body(pappus_plan_reader *reader)
{
    pappus_rocket *rocket = &reader->plan->rocket;
    if (!pappus_is_present(rocket->mass_kg)) return;
    if (!pappus_is_present(rocket->tumble_drag_area_m2)) {
        rocket->tumble_drag_area_m2 = pappus_exact(pappus_body_tumble_m2(rocket));
        rocket->tumble_assumed = true;
        pappus_plan_value_assume(reader, "rocket.tumble_drag_area",
                                 rocket->tumble_drag_area_m2.mean);
    }
    if (pappus_is_present(rocket->ballistic_drag_area_m2)) return;
    rocket->ballistic_drag_area_m2 = pappus_exact(pappus_body_ballistic_m2(rocket));
    pappus_plan_value_assume(reader, "rocket.ballistic_drag_area",
                             rocket->ballistic_drag_area_m2.mean);
}

static void settle_apogee(pappus_plan_reader *reader)
{
    pappus_apogee *apogee = &reader->plan->apogee;
    if (given(apogee->spread_m) || is_written(reader, "apogee", "spread")) return;
    if (!pappus_is_present(apogee->height_m)) return;
    apogee->spread_m = APOGEE_TILT_SD * apogee->height_m.mean;
    pappus_plan_value_assume(reader, "apogee.spread", apogee->spread_m);
}

void pappus_plan_check(pappus_plan_reader *reader, const pappus_plan_options *options)
{
    pappus_plan *plan = reader->plan;
    choose_pad(reader, options->pad);
    check_field(reader);
    check_canopies(reader);
    check_charge(reader, "charges.drogue", &plan->drogue_charge);
    check_charge(reader, "charges.main", &plan->main_charge);
    check_wind(reader, options);
    check_gust(reader);
    settle_wind_error(reader);
    settle_body(reader);
    settle_apogee(reader);
    check_heights(reader);
    for (size_t i = 0; i < plan->entry_count; i++) {
        const pappus_plan_entry *entry = &plan->entries[i];
        bool chance =
            entry->key &&
            (strncmp(entry->key, "faults.", 7) == 0 ||
             (strncmp(entry->key, "altimeters[", 11) == 0 && strstr(entry->key, "].works")));
        if (chance && entry->assumed) plan->faults_assumed = true;
    }
}
