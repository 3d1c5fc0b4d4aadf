/* SPDX-License-Identifier: GPL-3.0-or-later
 * The winds of a plan: reads each file, and brings what is valid at several times to the
 * time of the launch.
 *
 * Several profiles are drawn by weight. Only where the plan gives `valid`, one file holds
 * several times, or forecasts on a grid come in several files, are the two neighbours of the
 * time interpolated to one profile, each member of an ensemble by itself. */
#include "wind_format.h"
#include "wind_kind.h"
#include "wind_levels.h"
#include "wind_members.h"
#include "wind_runs.h"
#include "wind_times.h"
#include "c_locale.h"
#include "grow.h"
#include "timestamp.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static int memory_fault(const char *path, pappus_log *log)
{
    return pappus_log_add(log, PAPPUS_FAULT, PAPPUS_E_MEMORY, path, NULL, NULL, "out of memory");
}

int pappus_winds_join(pappus_winds *to, pappus_winds *from)
{
    size_t count = to->profile_count + from->profile_count;
    if (!PAPPUS_GROW(to->profiles, NULL, count)) return PAPPUS_E_MEMORY;
    memcpy(to->profiles + to->profile_count, from->profiles,
           from->profile_count * sizeof *from->profiles);
    to->profile_count = count;
    from->profile_count = 0;
    return PAPPUS_OK;
}

static int other_time(const pappus_winds *file, const pappus_profile_source *source,
                      pappus_log *log)
{
    char asked[40], known[40];
    pappus_time_format(asked, sizeof asked, source->valid_utc_s);
    pappus_time_format(known, sizeof known, file->profiles[0].valid_utc_s);
    return pappus_log_add(log, PAPPUS_FAULT, PAPPUS_E_WIND, source->path, "valid", asked,
                          "the file is valid at %s%s", known,
                          file->profile_count > 1 ? " and other times, not at this" : "");
}

/* Keeps what of one file is for source->valid_utc_s, every member of it; what does not know
 * its own time is for that one. */
static int choose_valid(pappus_winds *file, const pappus_profile_source *source, pappus_log *log)
{
    size_t kept = 0;
    for (size_t i = 0; i < file->profile_count; i++) {
        pappus_wind_profile one = file->profiles[i];
        if (!isnan(one.valid_utc_s) && one.valid_utc_s != source->valid_utc_s) continue;
        file->profiles[i] = file->profiles[kept];
        one.valid_utc_s = source->valid_utc_s;
        file->profiles[kept++] = one;
    }
    if (kept == 0) return other_time(file, source, log);
    for (size_t i = kept; i < file->profile_count; i++)
        pappus_wind_profile_clear(&file->profiles[i]);
    file->profile_count = kept;
    return PAPPUS_OK;
}

#define FAR_STATION_M 200e3 /* (A) another weather */
#define EARTH_RADIUS_M 6371e3

/* Along the great circle of a sphere (haversine), within 0.6 % of the ellipsoid's. */
static double distance_m(double latitude1, double longitude1, double latitude2, double longitude2)
{
    const double degree = M_PI / 180.0;
    double across = sin(0.5 * degree * (latitude2 - latitude1));
    double along = sin(0.5 * degree * (longitude2 - longitude1));
    double h = across * across + cos(degree * latitude1) * cos(degree * latitude2) * along * along;
    return 2.0 * EARTH_RADIUS_M * asin(h < 1.0 ? sqrt(h) : 1.0);
}

/* A sounding of another part of the world is most likely the wrong file. Tables
 * and bulletins do not say where their station is; mobile stations have -98.9 deg. */
static void warn_of_far_station(const pappus_wind_profile *profile, const pappus_site *site,
                                pappus_log *log)
{
    if (!(fabs(profile->station_latitude_deg) <= 90.0) || isnan(profile->station_longitude_deg))
        return;
    double away_m = distance_m(site->latitude_deg, site->longitude_deg,
                               profile->station_latitude_deg, profile->station_longitude_deg);
    if (away_m > FAR_STATION_M)
        pappus_log_add(log, PAPPUS_WARNING, PAPPUS_OK, profile->path, "station", profile->station,
                       "%.0f km from the pad: its wind may not be the wind there", away_m / 1000.0);
}

static int load_entry(pappus_winds *winds, const pappus_plan *plan, size_t entry, pappus_log *log)
{
    const pappus_profile_source *source = &plan->wind.profiles[entry];
    pappus_winds *file = NULL;
    pappus_wind_wanted wanted = {plan->site.latitude_deg, plan->site.longitude_deg,
                                 plan->site.elevation_msl_m, plan->wind.time_utc_s, false};
    int status = pappus_wind_source_read(&file, source, wanted, log);
    if (status != PAPPUS_OK) return status;
    for (size_t i = 0; status == PAPPUS_OK && i < file->profile_count; i++)
        status = pappus_wind_settle_kind(&file->profiles[i], source, &plan->wind, log);
    if (status == PAPPUS_OK && !isnan(source->valid_utc_s))
        status = choose_valid(file, source, log);
    if (status == PAPPUS_OK) {
        for (size_t i = 0; i < file->profile_count; i++) {
            file->profiles[i].weight = source->weight;
            file->profiles[i].entry = entry;
        }
        warn_of_far_station(&file->profiles[0], &plan->site, log);
        status = pappus_winds_join(winds, file);
        if (status != PAPPUS_OK) memory_fault(source->path, log);
    }
    pappus_winds_free(file);
    return status;
}

/* `valid` is for all profiles or for none, and never with a weight. */
static int check_sources(const pappus_plan *plan, double time_utc_s, bool *by_time, pappus_log *log)
{
    const pappus_wind_plan *wind = &plan->wind;
    size_t with_valid = 0;
    for (size_t i = 0; i < wind->profile_count; i++) {
        const pappus_profile_source *source = &wind->profiles[i];
        if (isnan(source->valid_utc_s)) continue;
        with_valid++;
        if (source->weight != 1.0)
            return pappus_log_add(log, PAPPUS_FAULT, PAPPUS_E_WIND, source->path, "valid", NULL,
                                  "given with weight; one of the two is accepted");
    }
    *by_time = with_valid > 0;
    if (with_valid > 0 && with_valid < wind->profile_count)
        return pappus_log_add(log, PAPPUS_FAULT, PAPPUS_E_WIND, plan->path, "wind.profiles", NULL,
                              "some profiles have `valid` and some not; accepted is all or none");
    if (with_valid > 1 && isnan(time_utc_s))
        return pappus_log_add(log, PAPPUS_FAULT, PAPPUS_E_WIND, plan->path, "wind.time", NULL,
                              "not given; profiles with `valid` need it");
    return PAPPUS_OK;
}

static int load_all(pappus_winds *winds, const pappus_plan *plan, pappus_log *log)
{
    int status = PAPPUS_OK;
    for (size_t i = 0; i < plan->wind.profile_count; i++) {
        int entry = load_entry(winds, plan, i, log);
        if (status == PAPPUS_OK) status = entry;
    }
    if (status == PAPPUS_OK && pappus_winds_join_files(winds) != PAPPUS_OK)
        return memory_fault(plan->path, log);
    return status;
}

bool pappus_winds_span(double *first_utc_s, double *last_utc_s, const pappus_winds *loaded)
{
    double first = INFINITY, last = -INFINITY;
    for (size_t i = 0; i < loaded->profile_count; i++) {
        double valid = loaded->profiles[i].valid_utc_s;
        first = fmin(first, valid);
        last = fmax(last, valid);
    }
    if (!(first <= last)) return false;
    *first_utc_s = first;
    *last_utc_s = last;
    return true;
}

/* ------------------------------------------------------------- at the launch */

typedef struct {
    pappus_winds *out;
    const pappus_plan *plan;
    double time_utc_s;
    bool by_time;                       /* all entries are one series of times */
    const pappus_wind_profile **series; /* of the group at hand */
    bool *superseded;                   /* room for as many */
    size_t count;
    pappus_log *log;
} settling;

static bool together(const settling *s, const pappus_wind_profile *a, const pappus_wind_profile *b)
{
    return s->by_time || a->entry == b->entry || (a->gridded && b->gridded);
}

/* Members of a table without times are of one time, which is not known. */
static bool one_time(const settling *s)
{
    double first_utc_s = s->series[0]->valid_utc_s;
    for (size_t i = 1; i < s->count; i++) {
        double utc_s = s->series[i]->valid_utc_s;
        if (utc_s != first_utc_s && !(isnan(utc_s) && isnan(first_utc_s))) return false;
    }
    return true;
}

static bool is_superseded(const settling *s, size_t i)
{
    const pappus_wind_profile *one = s->series[i];
    for (size_t j = 0; j < s->count; j++) {
        const pappus_wind_profile *other = s->series[j];
        if (other->member == one->member && other->valid_utc_s == one->valid_utc_s &&
            other->issued_utc_s > one->issued_utc_s)
            return true;
    }
    return false;
}

/* Of several runs of a model for one time the newest stands. */
static void keep_newest(settling *s)
{
    size_t kept = 0, before = s->count;
    const char *path = s->series[0]->path;
    for (size_t i = 0; i < s->count; i++)
        s->superseded[i] = is_superseded(s, i);
    for (size_t i = 0; i < s->count; i++)
        if (!s->superseded[i]) s->series[kept++] = s->series[i];
    s->count = kept;
    if (kept < before)
        pappus_log_add(s->log, PAPPUS_NOTE, PAPPUS_OK, path, NULL, NULL,
                       "%zu of %zu profiles are left out: a run issued later has the same time",
                       before - kept, before);
}

static int copy_group(settling *s)
{
    for (size_t i = 0; i < s->count; i++)
        if (!pappus_winds_append_copy(s->out, s->series[i], true))
            return memory_fault(s->plan->path, s->log);
    return PAPPUS_OK;
}

static int time_is_missing(const settling *s)
{
    char from[40], to[40];
    pappus_time_format(from, sizeof from, s->series[0]->valid_utc_s);
    pappus_time_format(to, sizeof to, s->series[s->count - 1]->valid_utc_s);
    return pappus_log_add(s->log, PAPPUS_FAULT, PAPPUS_E_WIND, s->series[0]->path, "wind.time",
                          NULL,
                          "the file holds %zu times, from %s to %s; give wind.time, or `valid` of "
                          "the profile",
                          s->count, from, to);
}

static bool times_known(const settling *s)
{
    bool known = !isnan(s->time_utc_s);
    for (size_t i = 0; i < s->count; i++)
        known = known && !isnan(s->series[i]->valid_utc_s);
    return known;
}

/* With so many members at a time their spread stands for the growth of the error. */
#define MEMBERS_OF_SPREAD 5

static bool has_member_before(const pappus_winds *winds, size_t first, size_t i)
{
    for (size_t j = first; j < i; j++)
        if (winds->profiles[j].member == winds->profiles[i].member) return true;
    return false;
}

static void mark_spread(pappus_winds *winds, size_t first)
{
    size_t members = 0;
    for (size_t i = first; i < winds->profile_count; i++)
        members += winds->profiles[i].member >= 0 && !has_member_before(winds, first, i);
    for (size_t i = first; i < winds->profile_count; i++)
        winds->profiles[i].of_spread = members >= MEMBERS_OF_SPREAD;
}

/* What came of one group shares its weight. */
static int settle_group(settling *s)
{
    pappus_wind_ground ground = {s->plan->site.elevation_msl_m, s->plan->wind.shear_exponent};
    size_t first = s->out->profile_count;
    keep_newest(s);
    int status = s->count == 1 || one_time(s) ? copy_group(s)
                 : !times_known(s)            ? time_is_missing(s)
                                              : pappus_winds_between(s->out, s->series, s->count,
                                                                     s->time_utc_s, ground, s->log);
    for (size_t i = first; i < s->out->profile_count; i++)
        s->out->profiles[i].weight /= (double)(s->out->profile_count - first);
    mark_spread(s->out, first);
    return status;
}

static int settle_all(settling *s, const pappus_winds *loaded)
{
    int status = PAPPUS_OK;
    for (size_t i = 0; i < loaded->profile_count; i++) {
        bool begun = false;
        s->count = 0;
        for (size_t j = 0; j < i && !begun; j++)
            begun = together(s, &loaded->profiles[i], &loaded->profiles[j]);
        if (begun) continue;
        for (size_t j = i; j < loaded->profile_count; j++)
            if (together(s, &loaded->profiles[i], &loaded->profiles[j]))
                s->series[s->count++] = &loaded->profiles[j];
        int group = settle_group(s);
        if (status == PAPPUS_OK) status = group;
    }
    if (status == PAPPUS_OK) status = pappus_winds_set_age(s->out, s->plan, s->time_utc_s, s->log);
    if (status == PAPPUS_OK) pappus_winds_check_hours(s->out, s->plan, s->log);
    return status;
}

/* Hands over what could be made of it. */
static int finish(pappus_winds **out, pappus_winds *winds, int status)
{
    if (status == PAPPUS_OK) {
        *out = winds;
        return PAPPUS_OK;
    }
    pappus_winds_free(winds);
    return status;
}

int pappus_winds_settle(pappus_winds **out, const pappus_winds *loaded, const pappus_plan *plan,
                        double time_utc_s, pappus_log *log)
{
    settling s = {.out = calloc(1, sizeof *s.out),
                  .plan = plan,
                  .time_utc_s = time_utc_s,
                  .series = calloc(loaded->profile_count + 1, sizeof *s.series),
                  .superseded = calloc(loaded->profile_count + 1, sizeof *s.superseded),
                  .log = log};
    pappus_winds chosen = {0};
    *out = NULL;
    int status = s.out && s.series && s.superseded
                     ? check_sources(plan, time_utc_s, &s.by_time, log)
                     : memory_fault(plan->path, log);
    if (status == PAPPUS_OK) status = pappus_winds_of_member(&chosen, loaded, plan, log);
    if (status == PAPPUS_OK) status = settle_all(&s, &chosen);
    free(chosen.profiles);
    free(s.series);
    free(s.superseded);
    return finish(out, s.out, status);
}

int pappus_winds_load(pappus_winds **out, const pappus_plan *plan, pappus_log *log)
{
    pappus_locale locale;
    *out = NULL;
    if (!pappus_locale_enter(&locale)) return memory_fault(plan->path, log);
    pappus_winds *winds = calloc(1, sizeof *winds);
    int status = winds ? load_all(winds, plan, log) : memory_fault(plan->path, log);
    pappus_locale_leave(&locale);
    return finish(out, winds, status);
}

int pappus_winds_read(pappus_winds **out, pappus_plan *plan, pappus_log *log)
{
    pappus_winds *loaded = NULL;
    *out = NULL;
    int status = pappus_winds_load(&loaded, plan, log);
    if (status == PAPPUS_OK)
        status = pappus_winds_settle(out, loaded, plan, plan->wind.time_utc_s, log);
    if (status == PAPPUS_OK) status = pappus_winds_note_assumed(plan, *out, log);
    if (status != PAPPUS_OK && *out) {
        pappus_winds_free(*out);
        *out = NULL;
    }
    pappus_winds_free(loaded);
    return status;
}
