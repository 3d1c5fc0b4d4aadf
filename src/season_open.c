/* SPDX-License-Identifier: GPL-3.0-or-later
 * A season opened: its plans read, the days of its archives numbered, what all its parts have
 * in common, with digests by which parts are told that do not belong together. The digest of
 * a plan is of every value as it was given and understood, and of its outlines. */
#include "season_work.h"

#include "c_locale.h"
#include "digest.h"
#include "error.h"
#include "geometry.h"
#include "heights.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define RARE_SHARE 0.05 /* least landings of an outcome, of all */

static int memory_fault(pappus_log *log)
{
    return pappus_log_add(log, PAPPUS_FAULT, PAPPUS_E_MEMORY, NULL, NULL, NULL, "out of memory");
}

/* --------------------------------------------------------------------- plans */

static void add_area(pappus_digest *digest, const pappus_area *area)
{
    pappus_digest_add_text(digest, area->name);
    for (size_t i = 0; i < area->polygon_count; i++)
        for (size_t k = 0; k < area->polygons[i].ring_count; k++) {
            const pappus_ring *ring = &area->polygons[i].rings[k];
            char text[32];
            for (size_t n = 0; n < 2 * ring->point_count; n++) {
                snprintf(text, sizeof text, "%.6f", ring->points_m[n]);
                pappus_digest_add_text(digest, text);
            }
            pappus_digest_add_text(digest, "ring");
        }
}

/* Every value as it was given and understood, and the outlines; not where the files are. */
static int digest_plan(char **out, const pappus_plan *plan, const pappus_field *field)
{
    char text[PAPPUS_DIGEST_SIZE];
    pappus_digest *digest = pappus_digest_new();
    if (!digest) return PAPPUS_E_MEMORY;
    for (size_t i = 0; i < plan->entry_count; i++) {
        if (strcmp(plan->entries[i].key, "units") == 0) continue; /* to show */
        pappus_digest_add_text(digest, plan->entries[i].key);
        pappus_digest_add_text(digest, plan->entries[i].given);
        pappus_digest_add_text(digest, plan->entries[i].si);
    }
    if (field && field->has_boundary) add_area(digest, &field->boundary);
    for (size_t i = 0; field && i < field->keep_out_count; i++)
        add_area(digest, &field->keep_outs[i]);
    pappus_digest_text(text, digest);
    pappus_digest_free(digest);
    *out = strdup(text);
    return *out ? PAPPUS_OK : PAPPUS_E_MEMORY;
}

static bool name_is_taken(const pappus_season_head *head, size_t p, const char *name)
{
    for (size_t i = 0; i < p; i++)
        if (strcmp(head->plans[i].name, name) == 0) return true;
    return false;
}

/* "windy" of "plans/windy.json"; "windy-2" when an earlier plan has that. */
static char *name_of(const pappus_season_head *head, size_t p, const char *path)
{
    const char *slash = strrchr(path, '/'), *base = slash ? slash + 1 : path;
    size_t length = strlen(base);
    char *name = NULL;
    if (length > 5 && strcmp(base + length - 5, ".json") == 0) length -= 5;
    for (int n = 1;; n++) {
        int made = n == 1 ? asprintf(&name, "%.*s", (int)length, base)
                          : asprintf(&name, "%.*s-%d", (int)length, base, n);
        if (made < 0) return NULL;
        if (!name_is_taken(head, p, name)) return name;
        free(name);
    }
}

static int describe_plan(pappus_season_head *head, size_t p, const season_design *d,
                         pappus_error *err)
{
    pappus_season_plan *to = &head->plans[p];
    to->name = name_of(head, p, d->plan->path);
    to->title = strdup(d->plan->title);
    to->planned_m = pappus_heights_planned_m(d->plan);
    to->apogee_m = d->plan->apogee.height_m.mean;
    head->plan_count = p + 1;
    if (!to->name || !to->title || digest_plan(&to->digest, d->plan, d->field) != PAPPUS_OK)
        return pappus_fail_memory(err);
    if (isnan(to->planned_m)) return PAPPUS_OK;
    return pappus_heights_list(&to->heights_m, &to->height_count, d->plan, err);
}

static bool same_text(const char *a, const char *b)
{
    return a && b ? strcmp(a, b) == 0 : a == b;
}

/* Designs are flown from one pad: the days are the pad's. */
static int check_site(const pappus_plan *plan, const pappus_plan *first, pappus_log *log)
{
    const pappus_site *a = &plan->site, *b = &first->site;
    const char *key = a->latitude_deg != b->latitude_deg         ? "site.latitude"
                      : a->longitude_deg != b->longitude_deg     ? "site.longitude"
                      : a->elevation_msl_m != b->elevation_msl_m ? "site.elevation"
                      : !same_text(a->time_zone, b->time_zone)   ? "site.time_zone"
                                                                 : NULL;
    if (!key) return PAPPUS_OK;
    return pappus_log_add(log, PAPPUS_FAULT, PAPPUS_E_PLAN, plan->path, key, NULL,
                          "is not that of %s; accepted are plans of one pad", first->path);
}

static int read_design(pappus_season *s, size_t p, const char *path,
                       const pappus_plan_options *options, pappus_log *log)
{
    season_design *d = &s->designs[p];
    pappus_error error = {0};
    int status = pappus_plan_read(&d->plan, path, options, log);
    if (status == PAPPUS_OK) status = pappus_field_read(&d->field, d->plan, log);
    if (status == PAPPUS_OK && p > 0 && s->designs[0].plan)
        status = check_site(d->plan, s->designs[0].plan, log);
    if (status != PAPPUS_OK) return status;
    status = describe_plan(&s->head, p, d, &error);
    return status == PAPPUS_OK ? status : pappus_log_error(log, &error);
}

static int copy_field(pappus_field **out, const pappus_field *from, pappus_error *err)
{
    pappus_field *field = calloc(1, sizeof *field);
    *out = field;
    if (!field) return pappus_fail_memory(err);
    if (!from) return PAPPUS_OK;
    field->has_boundary = from->has_boundary;
    field->keep_outs = calloc(from->keep_out_count + 1, sizeof *field->keep_outs);
    int status = field->keep_outs ? PAPPUS_OK : pappus_fail_memory(err);
    if (status == PAPPUS_OK && from->has_boundary)
        status = pappus_area_copy(&field->boundary, &from->boundary, err);
    for (size_t i = 0; i < from->keep_out_count && status == PAPPUS_OK; i++) {
        status = pappus_area_copy(&field->keep_outs[i], &from->keep_outs[i], err);
        field->keep_out_count += status == PAPPUS_OK;
    }
    return status;
}

static int describe_site(pappus_season *s, pappus_log *log)
{
    const pappus_plan *plan = s->designs[0].plan;
    pappus_season_head *head = &s->head;
    pappus_error error = {0};
    double highest_m = 0.0;
    for (size_t p = 0; p < head->plan_count; p++)
        highest_m = fmax(highest_m, head->plans[p].apogee_m);
    head->cell_m = season_cell_m(highest_m);
    head->latitude_deg = plan->site.latitude_deg;
    head->longitude_deg = plan->site.longitude_deg;
    head->elevation_msl_m = plan->site.elevation_msl_m;
    head->declination_deg = plan->site.declination_deg;
    head->units = plan->units;
    head->time_zone = plan->site.time_zone ? strdup(plan->site.time_zone) : NULL;
    if (plan->site.time_zone && !head->time_zone) return memory_fault(log);
    int status = copy_field(&head->field, s->designs[0].field, &error);
    return status == PAPPUS_OK ? status : pappus_log_error(log, &error);
}

static int read_designs(pappus_season *s, const char *const *paths, size_t count,
                        const pappus_plan_options *given, pappus_log *log)
{
    pappus_plan_options options = PAPPUS_PLAN_OPTIONS_INIT;
    int status = PAPPUS_OK;
    if (given) options = *given;
    options.needs_wind = false;
    options.winds_elsewhere = true;
    s->designs = calloc(count, sizeof *s->designs);
    s->head.plans = calloc(count, sizeof *s->head.plans);
    if (!s->designs || !s->head.plans) return memory_fault(log);
    for (size_t p = 0; p < count && status != PAPPUS_E_MEMORY; p++) {
        int one = read_design(s, p, paths[p], &options, log); /* all faults are told at once */
        s->head.plan_count = p + 1;
        if (status == PAPPUS_OK) status = one;
    }
    return status == PAPPUS_OK ? describe_site(s, log) : status;
}

/* ---------------------------------------------------------------------- open */

static int open_days(pappus_season *s, const char *const *paths, size_t count, pappus_log *log)
{
    const pappus_site *site = &s->designs[0].plan->site;
    pappus_wind_wanted wanted = PAPPUS_WIND_WANTED_INIT;
    wanted.latitude_deg = site->latitude_deg;
    wanted.longitude_deg = site->longitude_deg;
    wanted.elevation_msl_m = site->elevation_msl_m;
    pappus_log told = {0};
    int status = archive_days_open(&s->days, paths, count, wanted, &told);
    for (size_t i = 0; i < told.count; i++) /* notes on single levels are none on years */
        if (told.entries[i].severity != PAPPUS_NOTE)
            pappus_log_add(log, told.entries[i].severity, told.entries[i].error.code,
                           told.entries[i].error.file, told.entries[i].error.key,
                           told.entries[i].error.value, "%s", told.entries[i].error.message);
    pappus_log_clear(&told);
    if (status != PAPPUS_OK) return status;
    s->head.version = strdup(pappus_version());
    s->head.archive = strdup(archive_days_digest(s->days));
    s->head.station = strdup(archive_days_station(s->days));
    if (!s->head.version || !s->head.archive || !s->head.station) return memory_fault(log);
    s->head.day_count = archive_days_count(s->days);
    memcpy(s->head.skipped, archive_days_skipped(s->days), sizeof s->head.skipped);
    return PAPPUS_OK;
}

static void set_options(pappus_season *s, const pappus_season_options *options)
{
    static const pappus_season_options defaults = PAPPUS_SEASON_OPTIONS_INIT;
    s->options = options ? *options : defaults;
    pappus_run *run = &s->options.run;
    if (run->landings == 0) run->landings = PAPPUS_SEASON_LANDINGS;
    run->stratum_minimum = fmax(1.0, RARE_SHARE * (double)run->landings);
    s->head.landings = run->landings;
    s->head.seed = run->seed;
    s->head.age_s = s->options.age_s;
    s->head.reading = s->options.reading;
}

static int open_all(pappus_season *s, const char *const *plans, size_t plan_count,
                    const char *const *archives, size_t archive_count,
                    const pappus_plan_options *plan_options, pappus_log *log)
{
    if (plan_count == 0)
        return pappus_log_add(log, PAPPUS_FAULT, PAPPUS_E_USAGE, NULL, NULL, NULL,
                              "no plan; one or more are needed");
    int status = read_designs(s, plans, plan_count, plan_options, log);
    if (status == PAPPUS_OK) status = open_days(s, archives, archive_count, log);
    if (status != PAPPUS_OK) return status;
    size_t shard = s->options.shard, shards = s->options.shards, days = s->head.day_count;
    if (shard < 1 || shard > shards)
        return pappus_log_add(log, PAPPUS_FAULT, PAPPUS_E_USAGE, NULL, "shard", NULL,
                              "accepted is K/N with K from 1 to N");
    s->from = (size_t)((unsigned long long)days * (shard - 1) / shards);
    s->to = (size_t)((unsigned long long)days * shard / shards);
    s->sums = calloc(plan_count, sizeof *s->sums);
    return s->sums ? PAPPUS_OK : memory_fault(log);
}

int pappus_season_open(pappus_season **out, const char *const *plans, size_t plan_count,
                       const char *const *archives, size_t archive_count,
                       const pappus_plan_options *plan_options,
                       const pappus_season_options *options, pappus_log *log)
{
    pappus_locale locale;
    pappus_season *s = calloc(1, sizeof *s);
    *out = NULL;
    if (!s || !pappus_locale_enter(&locale)) {
        free(s);
        return memory_fault(log);
    }
    set_options(s, options);
    int status = open_all(s, plans, plan_count, archives, archive_count, plan_options, log);
    pappus_locale_leave(&locale);
    if (status == PAPPUS_OK)
        *out = s;
    else
        pappus_season_free(s);
    return status;
}

void pappus_season_free(pappus_season *s)
{
    if (!s) return;
    for (size_t p = 0; s->designs && p < s->head.plan_count; p++) {
        pappus_field_free(s->designs[p].field);
        pappus_plan_free(s->designs[p].plan);
    }
    free(s->designs);
    season_head_clear(&s->head);
    archive_days_free(s->days);
    free(s->sums);
    free(s);
}

const pappus_season_head *pappus_season_about(const pappus_season *season)
{
    return &season->head;
}

size_t pappus_season_day_count(const pappus_season *season)
{
    return season->to - season->from;
}
