/* SPDX-License-Identifier: GPL-3.0-or-later
 * The plan of a flight's day: what its record says laid over the plan, as settings. Measured
 * winds of the plan count near its own time only. Its wind files may be of another day, which
 * is told: by their times where they have some, else by the plan's wind.time, else where one
 * wind would stand for flights of several days. */
#include "debrief.h"

#include "error.h"
#include "grow.h"
#include "situation.h"
#include "timestamp.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define DAY_S 86400.0

typedef struct {
    size_t count;
    char **settings;
} day_settings;

/* Takes over `setting`. */
static bool add(day_settings *to, char *setting)
{
    if (setting && PAPPUS_GROW(to->settings, NULL, to->count + 1)) {
        to->settings[to->count++] = setting;
        return true;
    }
    free(setting);
    return false;
}

static bool lay(day_settings *to, const char *key, const char *value)
{
    char *setting = NULL;
    return asprintf(&setting, "%s=%s", key, value) >= 0 && add(to, setting);
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
    if (record->profiles) { /* the plan's age is that of its own winds */
        if (!lay(to, "wind.age", "null") || !lay(to, "wind.profiles", record->profiles))
            return false;
    }
    if (record->mass && !lay(to, "rocket.mass", record->mass)) return false;
    for (size_t i = 0; i < record->setting_count; i++)
        if (!add(to, strdup(record->settings[i]))) return false;
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

int pappus_debrief_day(pappus_situation **out, const pappus_situation *situation,
                       const pappus_flight *record, pappus_log *log)
{
    day_settings settings = {0};
    pappus_log of_day = {0};
    const pappus_plan *plan = pappus_situation_givens(situation).plan;
    int status = PAPPUS_E_MEMORY;
    *out = NULL;
    if (lay_day(&settings, plan, record))
        status = pappus_situation_vary(out, situation, settings.count,
                                       (const char *const *)settings.settings, &of_day);
    if (status != PAPPUS_OK) tell_of_record(log, &of_day, record->path);
    for (size_t i = 0; i < settings.count; i++)
        free(settings.settings[i]);
    free(settings.settings);
    pappus_log_clear(&of_day);
    return status;
}

/* ------------------------------------------------------------- whether it is that day's wind */

/* All flights whose time is known are of one day. */
bool pappus_debrief_one_day(const pappus_flights *flights)
{
    double first_s = INFINITY, last_s = -INFINITY;
    for (size_t i = 0; i < flights->count; i++) {
        first_s = fmin(first_s, flights->flights[i].time_utc_s);
        last_s = fmax(last_s, flights->flights[i].time_utc_s);
    }
    return !(last_s - first_s > DAY_S);
}

static bool brings_wind(const pappus_flight *record, const pappus_winds *winds)
{
    if (record->profiles || (winds->profile_count == 0 && record->surface)) return true;
    for (size_t i = 0; i < record->setting_count; i++)
        if (strncmp(record->settings[i], "wind.profiles", 13) == 0 ||
            strncmp(record->settings[i], "wind=", 5) == 0)
            return true;
    return false;
}

/* From a flight to the nearest time that a wind is of; NaN: the winds have no times. */
static double nearest_s(const pappus_winds *winds, double time_utc_s)
{
    double nearest = NAN;
    for (size_t i = 0; i < winds->profile_count; i++) {
        nearest = fmin(nearest, fabs(winds->profiles[i].issued_utc_s - time_utc_s));
        nearest = fmin(nearest, fabs(winds->profiles[i].valid_utc_s - time_utc_s));
    }
    return nearest;
}

bool pappus_debrief_other_wind(const pappus_flight *record, const pappus_plan *plan,
                               const pappus_winds *winds, bool one_day)
{
    double from_s = nearest_s(winds, record->time_utc_s);
    if (!isnan(from_s)) return from_s > DAY_S;
    if (isnan(record->time_utc_s) || brings_wind(record, winds)) return false;
    if (isnan(plan->wind.time_utc_s)) return !one_day;
    return fabs(record->time_utc_s - plan->wind.time_utc_s) > 0.5 * DAY_S;
}
