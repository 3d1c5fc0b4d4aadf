/* SPDX-License-Identifier: GPL-3.0-or-later
 * The zones of summary.json: of all landings and of each outcome. */
#include "summary_zones.h"

#include <math.h>

#include "bearing.h"

void summary_put_estimate(json_builder *build, cJSON *to, pappus_estimate estimate)
{
    json_add_number(build, to, "value", estimate.value);
    json_add_number(build, to, "low", estimate.low);
    json_add_number(build, to, "high", estimate.high);
}

void summary_add_estimate(json_builder *build, cJSON *to, const char *key, pappus_estimate estimate)
{
    if (isnan(estimate.value))
        json_add_null(build, to, key);
    else
        summary_put_estimate(build, json_add_object(build, to, key), estimate);
}

static void put_quantiles(json_builder *build, cJSON *to, pappus_quantiles quantiles)
{
    json_add_number(build, to, "p05", quantiles.p05);
    json_add_number(build, to, "p50", quantiles.p50);
    json_add_number(build, to, "p95", quantiles.p95);
}

static void add_quantiles(json_builder *build, cJSON *to, const char *key,
                          pappus_quantiles quantiles)
{
    if (isnan(quantiles.p50))
        json_add_null(build, to, key);
    else
        put_quantiles(build, json_add_object(build, to, key), quantiles);
}

static void add_keep_outs(json_builder *build, cJSON *to, const pappus_field *field,
                          const pappus_zone *zone)
{
    if (!field || field->keep_out_count == 0 || zone->keep_out_count != field->keep_out_count) {
        json_add_null(build, to, "keep_out");
        return;
    }
    cJSON *list = json_add_array(build, to, "keep_out");
    for (size_t i = 0; i < zone->keep_out_count; i++) {
        cJSON *area = json_append_object(build, list);
        json_add_text(build, area, "name", field->keep_outs[i].name);
        summary_put_estimate(build, area, zone->keep_out[i]);
    }
}

static void add_covariance(json_builder *build, cJSON *to, const pappus_zone *zone)
{
    cJSON *rows = json_add_array(build, to, "covariance_m2");
    for (int i = 0; i < 2; i++) {
        cJSON *row = json_append_array(build, rows);
        for (int j = 0; j < 2; j++)
            json_append_number(build, row, zone->covariance_m2[i][j]);
    }
}

static void add_ellipses(json_builder *build, cJSON *to, const pappus_zone *zone)
{
    cJSON *list = json_add_array(build, to, "ellipses");
    for (size_t k = 0; k < PAPPUS_LEVELS; k++) {
        const pappus_ellipse *ellipse = &zone->ellipses[k];
        cJSON *item = json_append_object(build, list);
        json_add_number(build, item, "level", ellipse->level);
        json_add_number(build, item, "major_m", ellipse->major_m);
        json_add_number(build, item, "minor_m", ellipse->minor_m);
        json_add_number(build, item, "bearing_deg", ellipse->bearing_deg);
        json_add_number(build, item, "share", ellipse->share);
        json_add_number(build, item, "area_m2", ellipse->area_m2);
    }
}

static void add_contours(json_builder *build, cJSON *to, const pappus_zone *zone)
{
    if (zone->contour_count == 0) {
        json_add_null(build, to, "contours");
        return;
    }
    cJSON *list = json_add_array(build, to, "contours");
    for (size_t k = 0; k < zone->contour_count; k++) {
        const pappus_contour *contour = &zone->contours[k];
        cJSON *item = json_append_object(build, list);
        json_add_number(build, item, "level", contour->level);
        json_add_number(build, item, "area_m2", contour->area_m2);
        json_add_count(build, item, "parts", contour->shape.polygon_count);
        json_add_number(build, item, "share", contour->share);
    }
}

static void add_energy(json_builder *build, cJSON *to, const char *key, const pappus_zone *zone,
                       const pappus_quantiles *energy_j, const pappus_rocket *rocket)
{
    cJSON *list = json_add_array(build, to, key);
    for (size_t i = 0; i < zone->section_count; i++) {
        cJSON *item = json_append_object(build, list);
        bool named = i < rocket->section_count;
        json_add_text(build, item, "section", named ? rocket->sections[i].name : NULL);
        put_quantiles(build, item, energy_j[i]);
    }
}

static void add_mean(json_builder *build, cJSON *to, const pappus_zone *zone)
{
    cJSON *mean = json_add_object(build, to, "mean");
    json_add_number(build, mean, "east_m", zone->mean_east_m);
    json_add_number(build, mean, "north_m", zone->mean_north_m);
    json_add_number(build, mean, "distance_m", hypot(zone->mean_east_m, zone->mean_north_m));
    json_add_number(build, mean, "bearing_deg",
                    pappus_bearing_of(zone->mean_east_m, zone->mean_north_m));
}

static void add_statistics(json_builder *build, cJSON *to, const pappus_zone *zone)
{
#define ADD(name, unit, value) add_quantiles(build, to, #name, zone->name);
    PAPPUS_STATISTIC_LIST(ADD)
#undef ADD
    json_add_number(build, to, "unopened", zone->unopened);
}

/* Null for what would hold nothing but null. */
static void forget_values(json_builder *build, cJSON *zone)
{
    for (cJSON *item = zone ? zone->child : NULL, *next; item; item = next) {
        next = item->next;
        if ((cJSON_IsObject(item) || cJSON_IsArray(item)) &&
            !cJSON_ReplaceItemInObjectCaseSensitive(zone, item->string, cJSON_CreateNull()))
            build->failed = true;
    }
}

/* An outcome that was not drawn has the keys of all, and beside its probability null. */
static void put_zone(json_builder *build, cJSON *to, const pappus_answer *answer,
                     const pappus_zone *zone)
{
    json_add_number(build, to, "probability", zone->probability);
    json_add_count(build, to, "landings", zone->landings);
    summary_add_estimate(build, to, "inside_field", zone->inside_field);
    add_keep_outs(build, to, answer->field, zone);
    add_mean(build, to, zone);
    add_covariance(build, to, zone);
    add_ellipses(build, to, zone);
    add_contours(build, to, zone);
    add_statistics(build, to, zone);
    add_energy(build, to, "energy_j", zone, zone->energy_j, &answer->plan->rocket);
    add_energy(build, to, "energy_total_j", zone, zone->energy_total_j, &answer->plan->rocket);
    if (zone->landings == 0) forget_values(build, to);
}

void summary_add_zones(json_builder *build, cJSON *root, const pappus_answer *answer)
{
    put_zone(build, json_add_object(build, root, "all"), answer, &answer->zones->all);
    cJSON *outcomes = json_add_object(build, root, "outcomes");
    for (size_t i = 0; i < PAPPUS_OUTCOMES; i++)
        put_zone(build, json_add_object(build, outcomes, pappus_outcome_text((pappus_outcome)i)),
                 answer, &answer->zones->outcomes[i]);
}
