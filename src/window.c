/* SPDX-License-Identifier: GPL-3.0-or-later
 * The decision hour by hour. Each hour is the situation with wind.time set to it, briefed
 * as it would be by itself: on the same draws, so that two hours differ by the wind alone.
 * Beside it the trade over main heights, that of a brief without its zones and walks. The files
 * are not read again; hours are shared out among the threads, and each works on one.
 *
 * Where it stops being right: what was measured counts as long as wind.surface.holds says, and
 * a wind that ends under the planned apogee is not taken further up. */
#include <pappus/window.h>

#include <pappus/brief.h>

#include "error.h"
#include "run.h"
#include "situation.h"
#include "timestamp.h"
#include "units.h"

#include <math.h>
#include <omp.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define NEAR_S (6 * 3600.0)   /* (A) the hours about a flight: so long before and after it */
#define HOURLY_S (6 * 3600.0) /* (A) between two times of winds that have hours, at most */

typedef struct {
    const pappus_situation *situation;
    const pappus_window_options *options;
    const pappus_plan *plan;
    pappus_window *window;
    double first_utc_s, last_utc_s; /* of the winds; NaN: no time known */
    pappus_log told;                /* of the situation as it is: no hour says it again */
    size_t done;
    int status; /* that stops all */
} window_work;

/* ------------------------------------------------------------------ one hour */

/* What is measured now says nothing of an hour far away; without wind.time nobody knows when
 * it was. */
static bool reading_holds(const pappus_plan *plan, double time_utc_s)
{
    const pappus_wind_plan *wind = &plan->wind;
    double holds_s = wind->has_surface ? wind->reading_holds_s : PAPPUS_READING_HOLDS_S;
    return fabs(time_utc_s - wind->time_utc_s) <= holds_s;
}

static int vary(pappus_situation **out, const window_work *work, pappus_window_hour *hour,
                pappus_log *log)
{
    const pappus_wind_plan *wind = &work->plan->wind;
    const char *settings[3];
    char time[40], setting[60];
    size_t count = 0;
    pappus_time_format(time, sizeof time, hour->time_utc_s);
    snprintf(setting, sizeof setting, "wind.time=%s", time);
    settings[count++] = setting;
    if (!reading_holds(work->plan, hour->time_utc_s)) {
        if (wind->has_surface) settings[count++] = "wind.surface=null";
        if (wind->observation_count > 0) settings[count++] = "wind.observations=null";
    }
    hour->reading_left_out = count > 1;
    return pappus_situation_vary(out, work->situation, count, settings, log);
}

static bool give_why(pappus_window_hour *hour, const char *why)
{
    hour->why = strdup(why);
    return hour->why != NULL;
}

/* The first fault of a log; memory is no reason of an hour. */
static int tell_why(pappus_window_hour *hour, int status, const pappus_log *log)
{
    if (status == PAPPUS_E_MEMORY || status == PAPPUS_E_STOPPED) return status;
    for (size_t i = 0; i < log->count; i++)
        if (log->entries[i].severity == PAPPUS_FAULT)
            return give_why(hour, log->entries[i].error.message) ? PAPPUS_OK : PAPPUS_E_MEMORY;
    return give_why(hour, pappus_status_text(status)) ? PAPPUS_OK : PAPPUS_E_MEMORY;
}

static bool same_text(const char *a, const char *b)
{
    return strcmp(a ? a : "", b ? b : "") == 0;
}

static bool is_told(const pappus_log *told, const pappus_error *warning)
{
    for (size_t i = 0; i < told->count; i++) {
        const pappus_error *before = &told->entries[i].error;
        if (same_text(before->message, warning->message) && same_text(before->key, warning->key) &&
            same_text(before->file, warning->file))
            return true;
    }
    return false;
}

/* Warnings that are of this hour alone. */
static void keep_warnings(pappus_window_hour *hour, const pappus_log *told, const pappus_log *log)
{
    for (size_t i = 0; i < log->count; i++) {
        const pappus_error *warning = &log->entries[i].error;
        if (log->entries[i].severity != PAPPUS_WARNING || is_told(told, warning) ||
            is_told(&hour->log, warning))
            continue;
        pappus_log_add(&hour->log, PAPPUS_WARNING, warning->code, warning->file, warning->key,
                       warning->value, "%s", warning->message);
    }
}

/* The tightest of the limits that the wind decides. */
static void weigh_wind(pappus_window_hour *hour, const pappus_judgement *judgement)
{
    hour->wind_use = NAN;
    for (size_t i = 0; i < judgement->reason_count; i++) {
        const pappus_reason *reason = &judgement->reasons[i];
        bool wind = reason->limit == PAPPUS_LIMIT_INSIDE_FIELD ||
                    reason->limit == PAPPUS_LIMIT_KEEP_OUT ||
                    reason->limit == PAPPUS_LIMIT_SURFACE_WIND;
        double use = pappus_reason_use(reason);
        if (!wind || !(isnan(hour->wind_use) || use > hour->wind_use)) continue;
        hour->wind_use = use;
        hour->wind_limit = reason->limit;
    }
}

static int take_answer(pappus_window_hour *hour, const pappus_answer *answer)
{
    const pappus_reason *lead = NULL;
    double u, v;
    pappus_air_mean_wind(answer->air, 10.0, &u, &v);
    hour->decision = answer->judgement->decision;
    hour->inside_field = answer->zones->all.inside_field;
    hour->mean_east_m = answer->zones->all.mean_east_m;
    hour->mean_north_m = answer->zones->all.mean_north_m;
    hour->reach_m = answer->zones->all.drift_m.p95;
    hour->surface_wind_mps = pappus_air_surface_wind_mps(answer->air);
    hour->surface_from_deg =
        u == 0.0 && v == 0.0 ? NAN : fmod(atan2(-u, -v) * 180.0 / M_PI + 360.0, 360.0);
    hour->gust_mps = pappus_air_gust_mps(answer->air);
    hour->use = NAN;
    weigh_wind(hour, answer->judgement);
    if (pappus_judgement_lead(&lead, 1, answer->judgement) == 0) return PAPPUS_OK;
    hour->limit = lead->limit;
    hour->use = pappus_reason_use(lead);
    hour->limit_name = lead->name ? strdup(lead->name) : NULL;
    return lead->name && !hour->limit_name ? PAPPUS_E_MEMORY : PAPPUS_OK;
}

/* The contours change hands: nobody else looks at this answer. */
static void take_contours(pappus_window_hour *hour, pappus_zones *zones)
{
    hour->contour_count = zones->all.contour_count;
    memcpy(hour->contours, zones->all.contours, sizeof hour->contours);
    zones->all.contour_count = 0;
}

static int take_heights(pappus_window_hour *hour, const pappus_heights *heights)
{
    hour->recommended_m = heights->recommended_m;
    hour->cells = calloc(heights->row_count, sizeof *hour->cells);
    if (!hour->cells) return PAPPUS_E_MEMORY;
    for (size_t i = 0; i < heights->row_count; i++) {
        const pappus_height_row *row = &heights->rows[i];
        hour->cells[i] = (pappus_window_cell){
            row->verdict, row->use, row->verdict == PAPPUS_MET ? row->nearest : row->broken,
            row->above_apogee};
    }
    return PAPPUS_OK;
}

/* One hour works in one thread. */
static pappus_run run_of(const window_work *work)
{
    pappus_run run = pappus_run_of_plan(&work->options->run, work->plan);
    run.threads = 1;
    run.progress = NULL;
    run.stage = NULL;
    return run;
}

static int judge(pappus_window_hour *hour, const window_work *work,
                 const pappus_situation *situation, pappus_log *log)
{
    pappus_brief_options options = PAPPUS_BRIEF_OPTIONS_INIT;
    pappus_answer *answer = NULL;
    options.run = run_of(work);
    options.parts = PAPPUS_PART_DECISION | (work->options->contours ? PAPPUS_PART_CONTOURS : 0);
    int status = pappus_brief(&answer, situation, &options, log);
    if (status == PAPPUS_OK) status = take_answer(hour, answer);
    if (status == PAPPUS_OK) keep_warnings(hour, &work->told, &answer->log);
    if (status == PAPPUS_OK) take_contours(hour, answer->zones);
    pappus_answer_free(answer);
    return status;
}

static int trade(pappus_window_hour *hour, const window_work *work,
                 const pappus_situation *situation, pappus_log *log)
{
    pappus_givens given = pappus_situation_givens(situation);
    pappus_run run = run_of(work);
    pappus_heights *heights = NULL;
    pappus_error error = {0};
    hour->recommended_m = NAN;
    if (work->window->height_count == 0) return PAPPUS_OK;
    int status = pappus_heights_count(&heights, &given, &run, true, &error);
    if (status != PAPPUS_OK) return pappus_log_error(log, &error);
    status = take_heights(hour, heights);
    pappus_heights_free(heights);
    return status;
}

/* Whether the winds of the hour reach the planned apogee; if not, says so. */
static int reaches_apogee(bool *reaches, pappus_window_hour *hour,
                          const pappus_situation *situation)
{
    char why[160], top[48], apogee[48];
    pappus_givens given = pappus_situation_givens(situation);
    pappus_unit_system units = given.plan->units;
    double top_m = pappus_air_wind_top_m(given.air), apogee_m = given.plan->apogee.height_m.mean;
    *reaches = top_m >= apogee_m;
    if (*reaches) return PAPPUS_OK;
    pappus_units_format_whole(top, sizeof top, PAPPUS_DIM_LENGTH, units, top_m);
    pappus_units_format_whole(apogee, sizeof apogee, PAPPUS_DIM_LENGTH, units, apogee_m);
    snprintf(why, sizeof why, "its winds end %s above the pad, under the apogee at %s", top,
             apogee);
    return give_why(hour, why) ? PAPPUS_OK : PAPPUS_E_MEMORY;
}

static int fill_hour(pappus_window_hour *hour, const window_work *work)
{
    pappus_situation *situation = NULL;
    pappus_log log = {0};
    if (hour->time_utc_s < work->first_utc_s || hour->time_utc_s > work->last_utc_s)
        return give_why(hour, "no wind for this hour") ? PAPPUS_OK : PAPPUS_E_MEMORY;
    bool reaches = false;
    int status = vary(&situation, work, hour, &log);
    if (status == PAPPUS_OK) status = reaches_apogee(&reaches, hour, situation);
    if (status == PAPPUS_OK && reaches) status = judge(hour, work, situation, &log);
    if (status == PAPPUS_OK && reaches) status = trade(hour, work, situation, &log);
    if (status != PAPPUS_OK) status = tell_why(hour, status, &log);
    pappus_situation_free(situation);
    pappus_log_clear(&log);
    return status;
}

/* ----------------------------------------------------------------- all hours */

/* The caller is told, and may stop it, on its own thread. */
static void end_hour(window_work *work, int status)
{
    const pappus_run *run = &work->options->run;
#pragma omp critical(pappus_window)
    {
        pappus_error ignored = {0};
        work->done++;
        if (work->status == PAPPUS_OK) work->status = status;
        if (work->status == PAPPUS_OK && omp_get_thread_num() == 0)
            work->status = pappus_run_progress(
                run, (double)work->done / (double)work->window->hour_count, &ignored);
    }
}

static bool stopped(const window_work *work)
{
    int status;
#pragma omp critical(pappus_window)
    status = work->status;
    return status != PAPPUS_OK;
}

static int fill_hours(window_work *work)
{
    pappus_window *window = work->window;
#pragma omp parallel for schedule(dynamic) num_threads(pappus_threads(work->options->run.threads))
    for (size_t i = 0; i < window->hour_count; i++)
        if (!stopped(work)) end_hour(work, fill_hour(&window->hours[i], work));
    for (size_t i = 0; i < window->hour_count; i++)
        window->readings_left_out += window->hours[i].reading_left_out;
    return work->status;
}

static double planned_height_m(const pappus_plan *plan)
{
    double highest = NAN;
    for (size_t i = 0; i < plan->altimeter_count; i++)
        highest = fmax(highest, plan->altimeters[i].main_height_m);
    return highest;
}

static int set_heights(pappus_window *window, const pappus_plan *plan)
{
    double steps = floor((plan->heights_to_m - plan->heights_from_m) / plan->heights_step_m + 1e-9);
    window->planned_m = planned_height_m(plan);
    if (isnan(window->planned_m) || !(steps >= 0.0)) return PAPPUS_OK;
    window->height_count = (size_t)steps + 1;
    window->heights_m = calloc(window->height_count, sizeof *window->heights_m);
    if (!window->heights_m) return PAPPUS_E_MEMORY;
    for (size_t i = 0; i < window->height_count; i++)
        window->heights_m[i] = plan->heights_from_m + (double)i * plan->heights_step_m;
    return PAPPUS_OK;
}

static int refuse(const window_work *work, const char *key, const char *message, pappus_log *log)
{
    return pappus_log_add(log, PAPPUS_FAULT, PAPPUS_E_WIND, work->plan->path, key, NULL, "%s",
                          message);
}

/* From and to as asked; else from the first whole step to the last time of the winds. */
static int set_hours(window_work *work, pappus_log *log)
{
    const pappus_window_options *options = work->options;
    double from = options->from_utc_s, to = options->to_utc_s, step = options->step_s;
    double planned = work->plan->wind.time_utc_s;
    if (!(step >= 60.0)) return refuse(work, "step", "accepted is 1 min and more", log);
    if (isnan(from)) from = isnan(work->first_utc_s) ? planned : work->first_utc_s;
    if (isnan(to)) to = isnan(work->last_utc_s) ? from : work->last_utc_s;
    if (isnan(options->from_utc_s) && ceil(from / step) * step <= to)
        from = ceil(from / step) * step;
    if (isnan(from) || isnan(to))
        return refuse(work, "wind.profiles",
                      "no time is known of these winds; give the hours (--from, --to)", log);
    if (to < from)
        return refuse(work, "to", "is before the first hour; accepted is a later time", log);
    double steps = floor((to - from) / step + 1e-6);
    if (steps >= PAPPUS_WINDOW_MOST_HOURS)
        return refuse(work, "step", "makes more than 1000 hours; accepted is a longer step", log);
    work->window->step_s = step;
    work->window->hours = calloc((size_t)steps + 1, sizeof *work->window->hours);
    if (!work->window->hours) return PAPPUS_E_MEMORY;
    work->window->hour_count = (size_t)steps + 1;
    for (size_t i = 0; i < work->window->hour_count; i++)
        work->window->hours[i].time_utc_s = from + (double)i * step;
    return PAPPUS_OK;
}

/* The time that the winds cover: none when they are of one time, which then stands for all. */
static void find_span(window_work *work)
{
    double first, last;
    work->first_utc_s = work->last_utc_s = NAN;
    if (!pappus_winds_span(&first, &last, pappus_situation_files(work->situation))) return;
    work->first_utc_s = first;
    work->last_utc_s = last;
}

int pappus_window_find(pappus_window **out, const pappus_situation *situation,
                       const pappus_window_options *options, pappus_log *log)
{
    static const pappus_window_options defaults = PAPPUS_WINDOW_OPTIONS_INIT;
    window_work work = {.situation = situation,
                        .options = options ? options : &defaults,
                        .plan = pappus_situation_givens(situation).plan,
                        .window = calloc(1, sizeof *work.window)};
    *out = NULL;
    find_span(&work);
    pappus_situation_tell(&work.told, situation);
    int status = work.window ? set_hours(&work, log) : PAPPUS_E_MEMORY;
    if (status == PAPPUS_OK) status = set_heights(work.window, work.plan);
    if (status == PAPPUS_OK && work.first_utc_s == work.last_utc_s)
        work.first_utc_s = work.last_utc_s = NAN; /* one time stands for all */
    if (status == PAPPUS_OK && work.options->run.stage)
        work.options->run.stage(work.options->run.stage_context, "hours");
    if (status == PAPPUS_OK) status = fill_hours(&work);
    if (status != PAPPUS_OK) {
        pappus_log_clear(&work.told);
        pappus_window_free(work.window);
        if (pappus_log_faults(log) > 0) return status;
        return pappus_log_add(log, PAPPUS_FAULT, status, NULL, NULL, NULL, "%s",
                              pappus_status_text(status));
    }
    work.window->log = work.told;
    work.window->flight_utc_s = work.plan->wind.time_utc_s;
    pappus_window_choose(work.window);
    *out = work.window;
    return PAPPUS_OK;
}

/* ------------------------------------------------------- the hours of a flight */

typedef struct {
    const pappus_winds *files;
    const pappus_plan *plan;
} flight_winds;

/* One of several times that are interpolated (pappus_winds_settle). */
static bool in_series(const flight_winds *w, size_t i)
{
    const pappus_wind_profile *p = &w->files->profiles[i];
    for (size_t j = 0; j < w->files->profile_count; j++) {
        const pappus_wind_profile *q = &w->files->profiles[j];
        bool together = p->entry == q->entry || (p->gridded && q->gridded) ||
                        !isnan(w->plan->wind.profiles[p->entry].valid_utc_s);
        if (together && fabs(q->valid_utc_s - p->valid_utc_s) > 0.0) return true;
    }
    return false;
}

/* The farthest time from `from` on, up to `to`, that is reached without a gap over HOURLY_S;
 * `to` may lie before. */
static double reach(const flight_winds *w, double from, double to)
{
    double sign = to < from ? -1.0 : 1.0, at = from;
    for (bool moved = true; moved && sign * (to - at) > 0.0;) {
        double next = NAN;
        for (size_t i = 0; i < w->files->profile_count; i++) {
            double ahead = sign * (w->files->profiles[i].valid_utc_s - at);
            if (!(ahead > 0.0) || ahead > HOURLY_S || sign * (next - at) <= ahead) continue;
            if (in_series(w, i)) next = w->files->profiles[i].valid_utc_s;
        }
        moved = !isnan(next);
        if (moved) at = next;
    }
    return sign * (to - at) > 0.0 ? at : to;
}

/* Whether a time of the winds and another one stand around the flight, not too far apart. */
static bool has_hours(const flight_winds *w, double flight_utc_s)
{
    double before = -INFINITY, after = INFINITY;
    for (size_t i = 0; i < w->files->profile_count; i++) {
        double valid = w->files->profiles[i].valid_utc_s;
        if (!in_series(w, i)) continue;
        if (valid <= flight_utc_s) before = fmax(before, valid);
        if (valid >= flight_utc_s) after = fmin(after, valid);
    }
    return after - before <= HOURLY_S;
}

int pappus_window_about_flight(pappus_window **out, const pappus_situation *situation,
                               const pappus_run *run, pappus_log *log)
{
    pappus_window_options options = PAPPUS_WINDOW_OPTIONS_INIT;
    flight_winds w = {pappus_situation_files(situation), pappus_situation_givens(situation).plan};
    double flight_utc_s = w.plan->wind.time_utc_s;
    *out = NULL;
    if (isnan(flight_utc_s) || !has_hours(&w, flight_utc_s)) return PAPPUS_OK;
    double first = reach(&w, flight_utc_s, flight_utc_s - NEAR_S);
    double last = reach(&w, flight_utc_s, flight_utc_s + NEAR_S);
    if (last - first < options.step_s) return PAPPUS_OK;
    options.run = *run;
    options.run.stage = NULL;
    options.from_utc_s =
        flight_utc_s - options.step_s * floor((flight_utc_s - first) / options.step_s + 1e-6);
    options.to_utc_s = last;
    return pappus_window_find(out, situation, &options, log);
}
