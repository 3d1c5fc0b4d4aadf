/* SPDX-License-Identifier: GPL-3.0-or-later
 * A season's work: every day of this shard judged for every plan, and what is done put down.
 * Days are read one batch at a time and shared out among the threads, plan by plan; what a
 * day says depends on nothing but the day, so that neither threads nor shards change a byte.
 * A run that was killed goes on from what it put down last.
 *
 * Memory is that of a batch, of the sums (1.4 MB a plan), and 24 bytes a sounding. */
#include "season_work.h"

#include "c_locale.h"
#include "day.h"
#include "error.h"
#include "run.h"
#include "time_zone.h"
#include "wind_kind.h"
#include "wind_levels.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

#define BATCH_CASES 64   /* days times plans, about */
#define PUT_AFTER_S 10.0 /* what is done is put down so often, */
#define PUT_TIMES 20.0   /* and no oftener than so many times what that took */

static int memory_fault(pappus_log *log)
{
    return pappus_log_add(log, PAPPUS_FAULT, PAPPUS_E_MEMORY, NULL, NULL, NULL, "out of memory");
}

/* --------------------------------------------------------------------- batch */

typedef struct {
    pappus_season *season;
    size_t count, most;
    pappus_wind_profile *profiles;
    pappus_season_day *days; /* beside them */
    int status;
    pappus_error error;
} batch;

static int batch_new(batch *b, pappus_season *s, int threads)
{
    size_t plans = s->head.plan_count, most = BATCH_CASES / plans;
    size_t least = 2 * (size_t)threads / plans + 1;
    *b = (batch){.season = s, .most = most > least ? most : least};
    b->profiles = calloc(b->most, sizeof *b->profiles);
    b->days = calloc(b->most, sizeof *b->days);
    return b->profiles && b->days ? PAPPUS_OK : PAPPUS_E_MEMORY;
}

static void batch_empty(batch *b)
{
    for (size_t i = 0; i < b->count; i++) {
        pappus_wind_profile_clear(&b->profiles[i]);
        pappus_season_day_clear(&b->days[i]);
    }
    b->count = 0;
}

static void batch_free(batch *b)
{
    batch_empty(b);
    free(b->profiles);
    free(b->days);
}

/* The next days from `first` on, of the shard. */
static int batch_fill(batch *b, size_t first, pappus_log *log)
{
    pappus_season *s = b->season;
    size_t number = 0;
    bool more = true;
    while (b->count < b->most && first + b->count < s->to) {
        pappus_wind_profile *to = &b->profiles[b->count];
        int status = archive_days_next(s->days, to, &number, &more, log);
        if (status != PAPPUS_OK || !more) return status;
        if (number < first + b->count) {
            pappus_wind_profile_clear(to);
            continue;
        }
        pappus_season_day *day = &b->days[b->count++];
        *day = (pappus_season_day){
            .number = number, .valid_utc_s = to->valid_utc_s, .row_count = s->head.plan_count};
        day->rows = calloc(s->head.plan_count, sizeof *day->rows);
        if (!day->rows) return memory_fault(log);
    }
    return PAPPUS_OK;
}

static int judge_case(batch *b, size_t i, size_t p, pappus_error *err)
{
    pappus_season *s = b->season;
    const season_design *d = &s->designs[p];
    pappus_season_day *day = &b->days[i];
    pappus_wind_profile profile = b->profiles[i];
    const pappus_profile_source source = {.path = profile.path};
    pappus_givens given = {.plan = d->plan, .field = d->field};
    season_sounding sounding = {.profile = &profile,
                                .valid_utc_s = day->valid_utc_s,
                                .station_msl_m = archive_days_elevation_m(s->days, &profile),
                                .age_s = s->options.age_s,
                                .reading = s->options.reading};
    pappus_run run = pappus_run_of_plan(&s->options.run, d->plan);
    pappus_cloud *cloud = NULL;
    pappus_observation ignored;
    pappus_log log = {0};
    int month, hour;
    long local_day;
    double speed, from;
    run.threads = 1;
    run.progress = NULL;
    run.stage = NULL;
    pappus_wind_settle_kind(&profile, &source, &d->plan->wind, &log);
    pappus_log_clear(&log);
    int status = season_judge(&day->rows[p], &cloud, &speed, &from, &given, &sounding,
                              &s->head.plans[p], &run, err);
    if (p == 0) {
        day->surface_wind_mps = speed;
        day->surface_from_deg = from;
        day->reading = season_reading(&ignored, &sounding, d->plan);
    }
    pappus_time_local(&month, &hour, &local_day, s->head.time_zone, day->valid_utc_s);
    if (cloud) {
#pragma omp critical(pappus_season_sums)
        season_sums_add(&s->sums[p], cloud, s->head.cell_m, month);
    }
    pappus_cloud_free(cloud);
    return status;
}

/* Each case is the work of one thread. */
static int batch_judge(batch *b, int threads, pappus_log *log)
{
    size_t plans = b->season->head.plan_count, cases = b->count * plans;
    b->status = PAPPUS_OK;
#pragma omp parallel for schedule(dynamic) num_threads(threads)
    for (size_t k = 0; k < cases; k++) {
        pappus_error error = {0};
        int status = judge_case(b, k / plans, k % plans, &error);
        if (status == PAPPUS_OK) continue;
#pragma omp critical(pappus_season_status)
        if (b->status == PAPPUS_OK) {
            b->status = status;
            b->error = error;
        }
    }
    if (b->status == PAPPUS_OK) return PAPPUS_OK;
    return b->error.code == PAPPUS_OK ? memory_fault(log) : pappus_log_error(log, &b->error);
}

/* ---------------------------------------------------------------------- work */

typedef struct {
    pappus_season *season;
    part_maker part;
    int threads;
    double put_s, put_took_s; /* when what is done was put down last; how long it took */
    pappus_error error;
} work;

static double now_s(void)
{
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

/* Ten seconds, or as a test says. */
static double put_after_s(void)
{
    const char *given = getenv("PAPPUS_SEASON_PUT_AFTER");
    return given ? strtod(given, NULL) : PUT_AFTER_S;
}

static int put_down(work *w)
{
    double begun = now_s();
    int status = part_put(&w->part, w->season->sums, w->season->head.plan_count, &w->error);
    w->put_s = now_s();
    w->put_took_s = w->put_s - begun;
    return status;
}

static int keep_batch(work *w, const batch *b)
{
    int status = PAPPUS_OK;
    for (size_t i = 0; i < b->count && status == PAPPUS_OK; i++)
        status = part_add_day(&w->part, &b->days[i], &w->error);
    size_t all = w->part.to - w->part.from;
    if (status == PAPPUS_OK)
        status = pappus_run_progress(&w->season->options.run, (double)w->part.done / (double)all,
                                     &w->error);
    double since_s = now_s() - w->put_s;
    bool due = since_s >= put_after_s() && since_s >= PUT_TIMES * w->put_took_s;
    if (status == PAPPUS_OK && due && w->part.done < all) status = put_down(w);
    return status;
}

/* Warnings of the files were told when they were numbered. */
static int batch_read(batch *b, size_t first, pappus_log *log)
{
    pappus_log again = {0};
    int status = batch_fill(b, first, &again);
    if (status != PAPPUS_OK) pappus_log_append(log, &again);
    pappus_log_clear(&again);
    if (status == PAPPUS_OK && b->count == 0)
        return pappus_log_add(log, PAPPUS_FAULT, PAPPUS_E_WIND, NULL, NULL, NULL,
                              "the archive has changed while it was read; run again");
    return status;
}

static int judge_days(work *w, pappus_log *log)
{
    batch b;
    int status = batch_new(&b, w->season, w->threads) == PAPPUS_OK ? PAPPUS_OK : memory_fault(log);
    archive_days_rewind(w->season->days);
    w->put_s = now_s();
    while (status == PAPPUS_OK && w->part.from + w->part.done < w->part.to) {
        status = batch_read(&b, w->part.from + w->part.done, log);
        if (status == PAPPUS_OK) status = batch_judge(&b, w->threads, log);
        if (status == PAPPUS_OK) {
            status = keep_batch(w, &b);
            if (status != PAPPUS_OK) pappus_log_error(log, &w->error);
        }
        batch_empty(&b);
    }
    batch_free(&b);
    return status;
}

static int refuse(const work *w, const char *found, const char *accepted, pappus_log *log)
{
    return pappus_log_add(log, PAPPUS_FAULT, PAPPUS_E_SEASON, w->part.path, NULL, NULL, "%s; %s",
                          found, accepted);
}

/* A part of this name is there: goes on with it, or refuses. */
static int take_up(work *w, const part_file *there, pappus_log *log)
{
    bool unfinished = there->done < there->to - there->from;
    if (!w->season->options.resume)
        return unfinished
                   ? refuse(w, "is of a run that was stopped",
                            "accepted are --resume, which goes on with it, or to remove it", log)
                   : PAPPUS_OK;
    if (strcmp(there->head, w->part.head) != 0 || there->shard != w->part.shard ||
        there->shards != w->part.shards)
        return refuse(w, "is of other plans, archives or settings",
                      "accepted with --resume is a part of the same season", log);
    int status = part_resume(&w->part, there, &w->season->head, w->season->sums, &w->error);
    return status == PAPPUS_OK ? status : pappus_log_error(log, &w->error);
}

static int look_for_part(work *w, pappus_log *log)
{
    part_file there;
    if (access(w->part.path, F_OK) != 0) return PAPPUS_OK;
    int status = part_open(&there, w->part.path, &w->error);
    if (status != PAPPUS_OK) return pappus_log_error(log, &w->error);
    status = take_up(w, &there, log);
    part_clear(&there);
    return status;
}

static int begin(work *w, const char *path, pappus_log *log)
{
    pappus_season *s = w->season;
    char *head = NULL;
    int status = part_head_text(&head, &s->head, &w->error);
    if (status == PAPPUS_OK)
        status = part_begin(&w->part, path, head, s->options.shard, s->options.shards, s->from,
                            s->to, &w->error);
    if (status != PAPPUS_OK) return pappus_log_error(log, &w->error);
    memset(s->sums, 0, s->head.plan_count * sizeof *s->sums);
    return look_for_part(w, log);
}

int pappus_season_work(pappus_season *season, const char *path, pappus_log *log)
{
    pappus_locale locale;
    const pappus_run *run = &season->options.run;
    work w = {.season = season, .threads = pappus_threads(run->threads)};
    if (!pappus_locale_enter(&locale)) return memory_fault(log);
    int status = begin(&w, path, log);
    if (status == PAPPUS_OK && run->stage) run->stage(run->stage_context, "days");
    if (status == PAPPUS_OK) status = judge_days(&w, log);
    if (status == PAPPUS_OK) {
        status = put_down(&w);
        if (status != PAPPUS_OK) pappus_log_error(log, &w.error);
    }
    part_end(&w.part);
    pappus_locale_leave(&locale);
    return status;
}

int pappus_season_try(pappus_season *season, pappus_log *log)
{
    pappus_locale locale;
    batch b;
    if (pappus_season_day_count(season) == 0) return PAPPUS_OK;
    if (!pappus_locale_enter(&locale)) return memory_fault(log);
    int status = batch_new(&b, season, 1) == PAPPUS_OK ? PAPPUS_OK : memory_fault(log);
    b.most = 1;
    archive_days_rewind(season->days);
    if (status == PAPPUS_OK) status = batch_read(&b, season->from, log);
    if (status == PAPPUS_OK) status = batch_judge(&b, 1, log);
    batch_free(&b);
    pappus_locale_leave(&locale);
    return status;
}
