/* SPDX-License-Identifier: GPL-3.0-or-later
 * The table of contents of a debrief: each flight is read in the air of its day and held
 * against what the plan says for that day. */
#include <pappus/debrief.h>

#include "against.h"
#include "bearing.h"
#include "error.h"
#include "run.h"
#include "situation.h"
#include "statistics.h"
#include "timestamp.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

typedef struct {
    const pappus_situation *situation;
    pappus_run run;
    pappus_debrief *debrief;
    pappus_log *log;
} debrief_work;

/** One flight on its way. */
typedef struct {
    const debrief_work *work;
    pappus_debriefed *out;
    pappus_situation *day; /* the plan with that day's wind */
    pappus_givens given;
    pappus_cloud *cloud;
    pappus_error error;
} flight_work;

/* ----------------------------------------------------------- the plan of the day */

#define SETTINGS_MOST 64

typedef struct {
    size_t count;
    char *settings[SETTINGS_MOST];
} day_settings;

static bool lay(day_settings *to, const char *key, const char *value)
{
    if (to->count == SETTINGS_MOST) return false;
    if (asprintf(&to->settings[to->count], "%s=%s", key, value) < 0) return false;
    to->count++;
    return true;
}

/* The plan's own measured winds are of another day, unless they are of this hour. */
static bool lay_readings(day_settings *to, const pappus_plan *plan, const pappus_flight *record)
{
    const pappus_wind_plan *wind = &plan->wind;
    double holds_s = wind->has_surface ? wind->reading_holds_s : PAPPUS_READING_HOLDS_S;
    bool same = isnan(record->time_utc_s) || fabs(record->time_utc_s - wind->time_utc_s) <= holds_s;
    if (record->surface) {
        if (!lay(to, "wind.surface", record->surface)) return false;
    } else if (!same && wind->has_surface && wind->profile_count > 0) {
        if (!lay(to, "wind.surface", "null")) return false;
    }
    if (!same && wind->observation_count > 0 && !lay(to, "wind.observations", "null")) return false;
    return true;
}

static bool lay_day(day_settings *to, const pappus_plan *plan, const pappus_flight *record)
{
    char time[40];
    if (!isnan(record->time_utc_s)) {
        pappus_time_format(time, sizeof time, record->time_utc_s);
        if (!lay(to, "wind.time", time)) return false;
    }
    if (!lay_readings(to, plan, record)) return false;
    if (record->mass && !lay(to, "rocket.mass", record->mass)) return false;
    for (size_t i = 0; i < record->setting_count; i++) {
        if (to->count == SETTINGS_MOST) return false;
        to->settings[to->count] = strdup(record->settings[i]);
        if (!to->settings[to->count++]) return false;
    }
    return true;
}

/* A fault in what a record lays over the plan is the record's. */
static void tell_of_record(pappus_log *log, const pappus_log *of_day, const char *path)
{
    for (size_t i = 0; i < of_day->count; i++) {
        pappus_error error = of_day->entries[i].error;
        if (of_day->entries[i].severity != PAPPUS_FAULT) continue;
        if (strcmp(error.file, "--set") == 0) snprintf(error.file, sizeof error.file, "%s", path);
        pappus_log_error(log, &error);
    }
}

static int open_day(flight_work *f)
{
    const pappus_flight *record = f->out->record;
    day_settings settings = {0};
    pappus_log log = {0};
    const pappus_plan *plan = pappus_situation_givens(f->work->situation).plan;
    int status = lay_day(&settings, plan, record)
                     ? pappus_situation_vary(&f->day, f->work->situation, settings.count,
                                             (const char *const *)settings.settings, &log)
                     : pappus_fail_memory(&f->error);
    if (status != PAPPUS_OK) tell_of_record(f->work->log, &log, record->path);
    for (size_t i = 0; i < settings.count; i++)
        free(settings.settings[i]);
    pappus_log_clear(&log);
    if (status == PAPPUS_OK) f->given = pappus_situation_givens(f->day);
    return status;
}

/* -------------------------------------------------------------------- one flight */

static int read_log(flight_work *f)
{
    const pappus_flight_log *flight_log = f->out->record->log;
    f->out->has_log = flight_log != NULL;
    if (!flight_log) return PAPPUS_OK;
    return pappus_flown_find(&f->out->flown, flight_log, f->given.plan, f->given.air, &f->error);
}

static int place_landing(flight_work *f)
{
    pappus_debriefed *out = f->out;
    const pappus_site *site = &f->given.plan->site;
    double place_deg[2] = {out->record->landing_latitude_deg, out->record->landing_longitude_deg};
    double place_m[2];
    pappus_frame *frame = NULL;
    out->east_m = out->north_m = NAN;
    if (isnan(place_deg[0])) return PAPPUS_OK;
    int status = pappus_frame_new(&frame, site->latitude_deg, site->longitude_deg, &f->error);
    if (status == PAPPUS_OK)
        status = pappus_frame_to_local(frame, 1, place_deg, place_m, &f->error);
    pappus_frame_free(frame);
    if (status != PAPPUS_OK) return status;
    out->east_m = place_m[0];
    out->north_m = place_m[1];
    return PAPPUS_OK;
}

static int sample_landings(flight_work *f)
{
    pappus_scatter_options options = PAPPUS_SCATTER_OPTIONS_INIT;
    options.run = pappus_run_of_plan(&f->work->run, f->given.plan);
    options.run.progress = NULL;
    return pappus_scatter(&f->cloud, f->given.plan, f->given.air, &options, &f->error);
}

static void find_offset(pappus_debriefed *out)
{
    double east = out->east_m - out->expected_east_m, north = out->north_m - out->expected_north_m;
    double drift = hypot(out->expected_east_m, out->expected_north_m);
    out->offset_m = hypot(east, north);
    out->offset_bearing_deg = isnan(east) ? NAN : pappus_bearing_of(east, north);
    out->along_m = (east * out->expected_east_m + north * out->expected_north_m) / drift;
    out->across_m = (east * out->expected_north_m - north * out->expected_east_m) / drift;
}

static int compare(flight_work *f)
{
    pappus_debriefed *out = f->out;
    pappus_strata strata = {0};
    pappus_expected expected;
    double mean_m[2], covariance_m2[2][2];
    int status = pappus_strata_build(&strata, f->cloud, &f->error);
    if (status != PAPPUS_OK) return status;
    pappus_sample nominal = pappus_strata_outcome(&strata, PAPPUS_NOMINAL);
    pappus_sample_moments(mean_m, covariance_m2, f->cloud, &nominal);
    pappus_strata_clear(&strata);
    out->expected_east_m = mean_m[0];
    out->expected_north_m = mean_m[1];
    out->rank = out->level = NAN;
    find_offset(out);
    if (isnan(out->east_m)) return PAPPUS_OK;
    status = pappus_expected_build(&expected, f->cloud, &f->error);
    if (status != PAPPUS_OK) return status;
    out->rank = pappus_expected_rank(&expected, out->east_m, out->north_m);
    out->level = pappus_level_of_rank(out->rank);
    pappus_expected_clear(&expected);
    return PAPPUS_OK;
}

static const struct {
    int (*run)(flight_work *f);
} steps[] = {{open_day}, {read_log}, {place_landing}, {sample_landings}, {compare}};

static int debrief_flight(const debrief_work *work, pappus_debriefed *out)
{
    flight_work f = {.work = work, .out = out};
    int status = PAPPUS_OK;
    for (size_t i = 0; i < sizeof steps / sizeof *steps && status == PAPPUS_OK; i++)
        status = steps[i].run(&f);
    if (status != PAPPUS_OK && f.error.code != PAPPUS_OK) {
        if (!f.error.file[0]) snprintf(f.error.file, sizeof f.error.file, "%s", out->record->path);
        pappus_log_error(work->log, &f.error);
    }
    if (f.given.winds) out->age_s = f.given.winds->age_s;
    pappus_cloud_free(f.cloud);
    pappus_situation_free(f.day);
    return status;
}

/* ------------------------------------------------------------------- all flights */

static int debrief_flights(debrief_work *work, const pappus_flights *flights)
{
    int status = PAPPUS_OK;
    pappus_error error = {0};
    for (size_t i = 0; i < flights->count; i++) {
        pappus_debriefed *out = &work->debrief->flights[work->debrief->count++];
        out->record = &flights->flights[i];
        int one = debrief_flight(work, out);
        if (status == PAPPUS_OK) status = one;
        one = pappus_run_progress(&work->run, (double)(i + 1) / (double)flights->count, &error);
        if (one != PAPPUS_OK) return pappus_log_error(work->log, &error);
    }
    return status;
}

int pappus_debrief_make(pappus_debrief **out, const pappus_situation *situation,
                        const pappus_flights *flights, const pappus_run *run, pappus_log *log)
{
    static const pappus_run usual = PAPPUS_RUN_INIT;
    pappus_debrief *debrief = calloc(1, sizeof *debrief);
    if (debrief) debrief->flights = calloc(flights->count + 1, sizeof *debrief->flights);
    debrief_work work = {situation, run ? *run : usual, debrief, log};
    int status = debrief && debrief->flights ? PAPPUS_OK : PAPPUS_E_MEMORY;
    *out = NULL;
    if (status == PAPPUS_OK && work.run.stage) work.run.stage(work.run.stage_context, "flights");
    if (status == PAPPUS_OK) status = debrief_flights(&work, flights);
    if (status == PAPPUS_OK) {
        pappus_situation_tell(&debrief->log, situation);
        *out = debrief;
        return PAPPUS_OK;
    }
    pappus_debrief_free(debrief);
    if (pappus_log_faults(log) > 0) return status;
    return pappus_log_add(log, PAPPUS_FAULT, status, NULL, NULL, NULL, "%s",
                          pappus_status_text(status));
}

void pappus_debrief_free(pappus_debrief *debrief)
{
    if (!debrief) return;
    free(debrief->flights);
    pappus_log_clear(&debrief->log);
    free(debrief);
}
