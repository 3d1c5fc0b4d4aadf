/* SPDX-License-Identifier: GPL-3.0-or-later
 * Line 2 of a part: what all parts of a season have in common. */
#include "part_value.h"

#include "error.h"
#include "geometry.h"
#include "json.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define MOST_HEIGHTS 1000
#define MOST_PLANS 10000

/* -------------------------------------------------------------------- values */

const cJSON *part_item(const cJSON *from, const char *key)
{
    return cJSON_GetObjectItemCaseSensitive(from, key);
}

bool part_whole(size_t *out, const cJSON *value, double most)
{
    if (!cJSON_IsNumber(value) || !(value->valuedouble >= 0.0 && value->valuedouble <= most) ||
        value->valuedouble != floor(value->valuedouble))
        return false;
    *out = (size_t)value->valuedouble;
    return true;
}

bool part_number(double *out, const cJSON *value)
{
    *out = NAN;
    if (cJSON_IsNull(value)) return true;
    if (!cJSON_IsNumber(value) || !isfinite(value->valuedouble)) return false;
    *out = value->valuedouble;
    return true;
}

bool part_text(char **out, const cJSON *value, bool may_be_null)
{
    *out = NULL;
    if (cJSON_IsNull(value)) return may_be_null;
    if (!cJSON_IsString(value)) return false;
    *out = strdup(value->valuestring);
    return *out != NULL;
}

bool part_truth(bool *out, const cJSON *value)
{
    *out = cJSON_IsTrue(value);
    return cJSON_IsBool(value);
}

/* ---------------------------------------------------------------------- head */

static bool read_ring(pappus_ring *out, const cJSON *points)
{
    size_t count = (size_t)cJSON_GetArraySize(points), i = 0;
    const cJSON *value;
    if (!cJSON_IsArray(points) || count % 2 || count < 6) return false;
    out->points_m = calloc(count, sizeof *out->points_m);
    if (!out->points_m) return false;
    out->point_count = count / 2;
    cJSON_ArrayForEach(value, points)
    {
        if (!cJSON_IsNumber(value)) return false;
        out->points_m[i++] = value->valuedouble;
    }
    return true;
}

static bool read_polygon(pappus_polygon *out, const cJSON *rings)
{
    const cJSON *ring;
    if (!cJSON_IsArray(rings) || cJSON_GetArraySize(rings) < 1) return false;
    out->rings = calloc((size_t)cJSON_GetArraySize(rings), sizeof *out->rings);
    if (!out->rings) return false;
    cJSON_ArrayForEach(ring,
                       rings) if (!read_ring(&out->rings[out->ring_count++], ring)) return false;
    return true;
}

static bool read_area(pappus_area *out, const cJSON *from)
{
    const cJSON *polygons = part_item(from, "polygons"), *polygon;
    if (!part_text(&out->name, part_item(from, "name"), false) || !cJSON_IsArray(polygons))
        return false;
    out->polygons = calloc((size_t)cJSON_GetArraySize(polygons) + 1, sizeof *out->polygons);
    if (!out->polygons) return false;
    cJSON_ArrayForEach(polygon, polygons) if (!read_polygon(&out->polygons[out->polygon_count++],
                                                            polygon)) return false;
    return true;
}

static bool read_field(pappus_season_head *out, const cJSON *tree)
{
    const cJSON *boundary = part_item(tree, "boundary"), *keep_outs = part_item(tree, "keep_outs"),
                *area;
    out->field = calloc(1, sizeof *out->field);
    if (!out->field || !cJSON_IsArray(boundary) || !cJSON_IsArray(keep_outs)) return false;
    out->field->has_boundary = cJSON_GetArraySize(boundary) > 0;
    if (out->field->has_boundary &&
        !read_area(&out->field->boundary, cJSON_GetArrayItem(boundary, 0)))
        return false;
    out->field->keep_outs =
        calloc((size_t)cJSON_GetArraySize(keep_outs) + 1, sizeof *out->field->keep_outs);
    if (!out->field->keep_outs) return false;
    cJSON_ArrayForEach(
        area, keep_outs) if (!read_area(&out->field->keep_outs[out->field->keep_out_count++],
                                        area)) return false;
    return true;
}

static bool read_plan(pappus_season_plan *out, const cJSON *from)
{
    const cJSON *heights = part_item(from, "heights_m"), *height;
    if (!part_text(&out->name, part_item(from, "name"), false) ||
        !part_text(&out->title, part_item(from, "title"), false) ||
        !part_text(&out->digest, part_item(from, "sha256"), false) ||
        !part_number(&out->planned_m, part_item(from, "planned_m")) ||
        !part_number(&out->apogee_m, part_item(from, "apogee_m")) || !cJSON_IsArray(heights) ||
        cJSON_GetArraySize(heights) > MOST_HEIGHTS)
        return false;
    out->heights_m = calloc((size_t)cJSON_GetArraySize(heights) + 1, sizeof *out->heights_m);
    if (!out->heights_m) return false;
    cJSON_ArrayForEach(height, heights)
    {
        if (!cJSON_IsNumber(height)) return false;
        out->heights_m[out->height_count++] = height->valuedouble;
    }
    return true;
}

static bool read_plans(pappus_season_head *out, const cJSON *plans)
{
    const cJSON *plan;
    int count = cJSON_GetArraySize(plans);
    if (!cJSON_IsArray(plans) || count < 1 || count > MOST_PLANS) return false;
    out->plans = calloc((size_t)count, sizeof *out->plans);
    if (!out->plans) return false;
    cJSON_ArrayForEach(plan,
                       plans) if (!read_plan(&out->plans[out->plan_count++], plan)) return false;
    return true;
}

static bool read_head(pappus_season_head *out, const cJSON *tree)
{
    const cJSON *skipped = part_item(tree, "skipped");
    bool si;
    size_t seed = 0;
    bool seeded = part_whole(&seed, part_item(tree, "seed"), 9007199254740992.0);
    out->seed = seeded ? seed : PAPPUS_PLAN_SEED;
    if (!part_text(&out->version, part_item(tree, "version"), false) ||
        !part_text(&out->archive, part_item(tree, "archive_sha256"), false) ||
        !part_text(&out->station, part_item(tree, "station"), false) ||
        !part_whole(&out->day_count, part_item(tree, "days"), MOST_DAYS) ||
        !part_whole(&out->landings, part_item(tree, "landings"), 1e9) ||
        !part_number(&out->age_s, part_item(tree, "age_s")) ||
        !part_truth(&out->reading, part_item(tree, "reading")) ||
        !part_number(&out->latitude_deg, part_item(tree, "latitude_deg")) ||
        !part_number(&out->longitude_deg, part_item(tree, "longitude_deg")) ||
        !part_number(&out->elevation_msl_m, part_item(tree, "elevation_msl_m")) ||
        !part_number(&out->declination_deg, part_item(tree, "declination_deg")) ||
        !part_text(&out->time_zone, part_item(tree, "time_zone"), true) ||
        !part_truth(&si, part_item(tree, "si")) ||
        !part_number(&out->cell_m, part_item(tree, "cell_m")) || !(out->cell_m > 0.0) ||
        cJSON_GetArraySize(skipped) != PAPPUS_SKIPS)
        return false;
    for (int i = 0; i < PAPPUS_SKIPS; i++)
        if (!part_whole(&out->skipped[i], cJSON_GetArrayItem(skipped, i), MOST_DAYS)) return false;
    out->units = si ? PAPPUS_UNITS_SI : PAPPUS_UNITS_US;
    return read_plans(out, part_item(tree, "plans")) && read_field(out, tree);
}

int part_head_read(pappus_season_head *out, const part_file *part, pappus_error *err)
{
    pappus_log log = {0};
    cJSON *tree = NULL;
    *out = (pappus_season_head){0};
    int status =
        pappus_json_parse(&tree, part->head, strlen(part->head), part->path, PAPPUS_E_SEASON, &log);
    if (status != PAPPUS_OK)
        pappus_fail_logged(err, status, &log);
    else if (!read_head(out, tree))
        status = pappus_fail(err, PAPPUS_E_SEASON, part->path, "line 2", NULL,
                             "is not what parts of a season have in common");
    pappus_log_clear(&log);
    cJSON_Delete(tree);
    if (status != PAPPUS_OK) season_head_clear(out);
    return status;
}

void season_head_clear(pappus_season_head *head)
{
    free(head->version);
    free(head->archive);
    free(head->station);
    free(head->time_zone);
    for (size_t p = 0; p < head->plan_count; p++) {
        free(head->plans[p].name);
        free(head->plans[p].title);
        free(head->plans[p].digest);
        free(head->plans[p].heights_m);
    }
    free(head->plans);
    pappus_field_free(head->field);
    *head = (pappus_season_head){0};
}
