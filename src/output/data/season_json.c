/* SPDX-License-Identifier: GPL-3.0-or-later
 * season.json (RFC 8259): SI, null for what is not known. */
#include <pappus/season.h>

#include "c_locale.h"
#include "error.h"
#include "json_build.h"
#include "timestamp.h"

#include <math.h>
#include <string.h>

static void add_time(json_builder *b, cJSON *to, const char *key, double utc_s)
{
    char text[40];
    pappus_time_format(text, sizeof text, utc_s);
    if (isnan(utc_s))
        json_add_null(b, to, key);
    else
        json_add_text(b, to, key, text);
}

static void add_quantiles(json_builder *b, cJSON *to, const char *key, const pappus_quantiles *q)
{
    cJSON *at = json_add_object(b, to, key);
    json_add_number(b, at, "p05", q->p05);
    json_add_number(b, at, "p50", q->p50);
    json_add_number(b, at, "p95", q->p95);
}

static void add_group(json_builder *b, cJSON *list, const pappus_season_result *result,
                      const pappus_season_group *g)
{
    const pappus_season_plan *plan = &result->head.plans[g->plan];
    cJSON *to = json_append_object(b, list);
    json_add_text(b, to, "plan", plan->name);
    json_add_number(b, to, "month", g->month ? (double)g->month : (double)NAN);
    json_add_number(b, to, "hour",
                    g->hour == PAPPUS_SEASON_ALL_HOURS ? (double)NAN : (double)g->hour);
    json_add_count(b, to, "days", g->days);
    cJSON *go = json_add_object(b, to, "go");
    json_add_number(b, go, "value", g->go.value);
    json_add_number(b, go, "low", g->go.low);
    json_add_number(b, go, "high", g->go.high);
    json_add_number(b, to, "best_main_m", g->best_main_m);
    json_add_number(b, to, "go_best", g->go_best);
    json_add_number(b, to, "go_any", g->go_any);
    json_add_text(b, to, "worst", pappus_limit_text(g->worst));
    cJSON *unmet = json_add_object(b, to, "unmet_days");
    for (int k = PAPPUS_LIMIT_NONE + 1; k < PAPPUS_LIMIT_KINDS; k++)
        json_add_count(b, unmet, pappus_limit_text((pappus_limit_kind)k), g->unmet[k]);
    cJSON *heights = json_add_array(b, to, "height_days");
    for (size_t i = 0; i < plan->height_count; i++)
        json_append_number(b, heights, (double)g->height_days[i]);
    if (g->hour == PAPPUS_SEASON_ALL_HOURS) add_quantiles(b, to, "drift_m", &g->drift_m);
}

/* Groups of one kind. */
static void add_groups(json_builder *b, cJSON *root, const char *key,
                       const pappus_season_result *result, bool months, bool hours)
{
    cJSON *list = json_add_array(b, root, key);
    for (size_t i = 0; i < result->group_count; i++) {
        const pappus_season_group *g = &result->groups[i];
        if ((g->month != 0) == months && (g->hour != PAPPUS_SEASON_ALL_HOURS) == hours)
            add_group(b, list, result, g);
    }
}

static void add_rose(json_builder *b, cJSON *to, const pappus_season_sum *sum)
{
    cJSON *rose = json_add_array(b, to, "rose");
    for (int s = 0; s < PAPPUS_SEASON_SECTORS; s++)
        for (int v = 0; v < PAPPUS_SEASON_SPEEDS; v++) {
            const pappus_season_petal *petal = &sum->rose[s][v];
            if (petal->days == 0) continue;
            cJSON *at = json_append_object(b, rose);
            json_add_number(b, at, "from_deg", s * 360.0 / PAPPUS_SEASON_SECTORS);
            json_add_number(b, at, "least_mps", v * PAPPUS_SEASON_SPEED_MPS);
            json_add_count(b, at, "days", petal->days);
            json_add_count(b, at, "go", petal->go);
        }
}

static void add_footprint(json_builder *b, cJSON *to, const pappus_season_sum *sum)
{
    cJSON *list = json_add_array(b, to, "footprint");
    for (int l = 0; l < PAPPUS_LEVELS; l++) {
        const pappus_contour *c = &sum->footprint[l];
        if (c->shape.polygon_count == 0) continue;
        cJSON *at = json_append_object(b, list);
        json_add_number(b, at, "level", c->level);
        json_add_number(b, at, "share", c->share);
        json_add_number(b, at, "area_m2", c->area_m2);
        json_add_count(b, at, "parts", c->shape.polygon_count);
    }
    json_add_number(b, to, "off_map", sum->off_map);
}

static void add_plan(json_builder *b, cJSON *list, const pappus_season_result *result, size_t p)
{
    const pappus_season_plan *plan = &result->head.plans[p];
    const pappus_season_sum *sum = &result->sums[p];
    cJSON *to = json_append_object(b, list);
    json_add_text(b, to, "plan", plan->name);
    json_add_text(b, to, "title", plan->title);
    json_add_text(b, to, "sha256", plan->digest);
    json_add_number(b, to, "planned_main_height_m", plan->planned_m);
    cJSON *heights = json_add_array(b, to, "heights_m");
    for (size_t i = 0; i < plan->height_count; i++)
        json_append_number(b, heights, plan->heights_m[i]);
    json_add_count(b, to, "days", sum->judged);
    json_add_count(b, to, "left_out", sum->left_out);
    json_add_text(b, to, "first_left_out", sum->first_why);
    add_rose(b, to, sum);
    add_footprint(b, to, sum);
}

static void add_archive(json_builder *b, cJSON *root, const pappus_season_result *result)
{
    const pappus_season_head *head = &result->head;
    cJSON *to = json_add_object(b, root, "archive");
    json_add_text(b, to, "station", head->station[0] ? head->station : NULL);
    add_time(b, to, "first", result->first_utc_s);
    add_time(b, to, "last", result->last_utc_s);
    json_add_text(b, to, "sha256", head->archive);
    cJSON *skipped = json_add_array(b, to, "skipped");
    for (int i = 0; i < PAPPUS_SKIPS; i++) {
        if (head->skipped[i] == 0) continue;
        cJSON *at = json_append_object(b, skipped);
        json_add_count(b, at, "count", head->skipped[i]);
        json_add_text(b, at, "what", pappus_skip_text((pappus_skip)i));
    }
}

int pappus_season_json_text(char **out, const pappus_season_result *result, pappus_error *err)
{
    const pappus_season_head *head = &result->head;
    pappus_locale locale;
    json_builder b = {false};
    *out = NULL;
    if (!pappus_locale_enter(&locale)) return pappus_fail_memory(err);
    cJSON *root = cJSON_CreateObject();
    json_add_text(&b, root, "pappus", head->version);
    json_add_count(&b, root, "days", head->day_count);
    add_groups(&b, root, "groups", result, true, true);
    add_groups(&b, root, "months", result, true, false);
    add_groups(&b, root, "hours", result, false, true);
    add_groups(&b, root, "all", result, false, false);
    cJSON *plans = json_add_array(&b, root, "plans");
    for (size_t p = 0; p < head->plan_count; p++)
        add_plan(&b, plans, result, p);
    add_archive(&b, root, result);
    json_add_count(&b, root, "landings", head->landings);
    json_add_number(&b, root, "age_s", head->age_s);
    json_add_text(&b, root, "reading", head->reading ? "lowest" : "none");
    json_add_text(&b, root, "time_zone", head->time_zone);
    int status = json_finish(out, &b, root, err);
    pappus_locale_leave(&locale);
    return status;
}
