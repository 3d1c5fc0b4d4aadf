/* SPDX-License-Identifier: GPL-3.0-or-later
 * Faults of a plan that need more than one key: what must be there together, what
 * excludes what. Also settles the pad in use. */
#include "plan_reader.h"

#include "time_zone.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

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

static void check_wind(pappus_plan_reader *reader, bool needed)
{
    const pappus_wind_plan *wind = &reader->plan->wind;
    bool written = is_written(reader, "", "wind");
    if (!written && needed) {
        pappus_plan_fault(reader, "wind", NULL,
                          "is required: profiles from wind files, or surface with speed and "
                          "direction");
    }
    if (written && reader->plan->has_wind && !is_written(reader, "wind", "surface") &&
        !is_written(reader, "wind", "profiles")) {
        pappus_plan_fault(reader, "wind", NULL,
                          "no wind in it; accepted is profiles from wind files, or surface with "
                          "speed and direction, or both");
    }
    for (size_t i = 0; i < wind->profile_count; i++)
        check_profile(reader, i);
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
    static const pappus_unit_system systems[] = {PAPPUS_UNITS_SI, PAPPUS_UNITS_US};
    pappus_plan *plan = reader->plan;
    if (!plan->has_wind || plan->wind.profile_count > 0 || plan->wind.error_given) return;
    plan->wind.error_mps = PAPPUS_SURFACE_ONLY_ERROR_MPS;
    for (size_t i = 0; i < plan->entry_count; i++) {
        pappus_plan_entry *entry = &plan->entries[i];
        if (!entry->key || strcmp(entry->key, "wind.error") != 0) continue;
        char **texts[] = {&entry->si, &entry->us};
        for (size_t k = 0; k < 2; k++) {
            char text[48];
            pappus_units_format(text, sizeof text, PAPPUS_DIM_SPEED, systems[k],
                                PAPPUS_SURFACE_ONLY_ERROR_MPS);
            free(*texts[k]);
            *texts[k] = strdup(text);
            if (!*texts[k]) reader->out_of_memory = true;
        }
    }
}

void pappus_plan_check(pappus_plan_reader *reader, const pappus_plan_options *options)
{
    pappus_plan *plan = reader->plan;
    choose_pad(reader, options->pad);
    check_field(reader);
    check_canopies(reader);
    check_charge(reader, "charges.drogue", &plan->drogue_charge);
    check_charge(reader, "charges.main", &plan->main_charge);
    check_wind(reader, options->needs_wind);
    settle_wind_error(reader);
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
