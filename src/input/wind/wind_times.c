/* SPDX-License-Identifier: GPL-3.0-or-later
 * Winds between two valid times: the components are linear in time at each height
 * that either profile has, and linear in height within a profile; above its top
 * the top value holds, below its lowest level the power law of the air. So a wind
 * that backs from 10 to 350 degrees passes through north and weakens meanwhile,
 * as the mean of the two vectors does. Temperature is linear, pressure linear in
 * its logarithm, both only where both profiles have them.
 *
 * Age is the time from observation or issue to the launch; of several profiles
 * the greatest. A launch before the observation, as in a debrief, counts its
 * distance in time too: the error grows either way. */
#include "wind_times.h"
#include "timestamp.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define OLD_S 86400.0
#define FAR_S (6 * 3600.0)
#define LEAST_AGL_M 2.0

typedef enum { FIELD_U, FIELD_V, FIELD_SD, FIELD_TEMPERATURE, FIELD_PRESSURE } field;

static double field_of(const pappus_wind_level *level, field which)
{
    switch (which) {
    case FIELD_U:
        return level->u_mps;
    case FIELD_V:
        return level->v_mps;
    case FIELD_SD:
        return isnan(level->u_mps) ? NAN : level->speed_sd_mps;
    case FIELD_TEMPERATURE:
        return level->temperature_k;
    default:
        return log(level->pressure_pa);
    }
}

/* The levels that have the field, about a height; either may be NULL. */
static void neighbours(const pappus_wind_profile *profile, field which, double height_m,
                       const pappus_wind_level **below, const pappus_wind_level **above)
{
    *below = *above = NULL;
    for (size_t i = 0; i < profile->level_count; i++) {
        const pappus_wind_level *level = &profile->levels[i];
        if (isnan(field_of(level, which))) continue;
        if (level->height_m <= height_m) *below = level;
        if (level->height_m >= height_m) {
            *above = level;
            return;
        }
    }
}

static double agl(const pappus_wind_level *level, double height_m, pappus_wind_ground ground)
{
    return level->height_kind == PAPPUS_HEIGHT_AGL ? height_m : height_m - ground.elevation_msl_m;
}

/* What is left of the lowest level's wind at a height under it, and at no less than
 * LEAST_AGL_M: between a calm at the pad and the next level the mean of the two would
 * be far under the power law. */
static double power_law(const pappus_wind_level *lowest, double height_m, pappus_wind_ground ground)
{
    double z = agl(lowest, height_m, ground), z_low = agl(lowest, lowest->height_m, ground);
    if (z_low <= 0.0) return 1.0;
    return fmin(1.0, pow(fmax(z, LEAST_AGL_M) / z_low, ground.shear_exponent));
}

static double value_at(const pappus_wind_profile *profile, field which, double height_m,
                       pappus_wind_ground ground)
{
    const pappus_wind_level *below, *above;
    neighbours(profile, which, height_m, &below, &above);
    if (below && above) {
        double a = field_of(below, which), b = field_of(above, which);
        if (below == above || below->height_m == above->height_m) return a;
        return a + (b - a) * (height_m - below->height_m) / (above->height_m - below->height_m);
    }
    if (which == FIELD_TEMPERATURE || which == FIELD_PRESSURE || (!below && !above)) return NAN;
    if (below) return field_of(below, which);
    double factor = which == FIELD_SD ? 1.0 : power_law(above, height_m, ground);
    return factor * field_of(above, which);
}

/* Whether a profile has a wind at or under a height. */
static bool has_wind_below(const pappus_wind_profile *profile, double height_m)
{
    const pappus_wind_level *below, *above;
    neighbours(profile, FIELD_U, height_m, &below, &above);
    return below != NULL;
}

static bool over_ground(const pappus_wind_profile *profile)
{
    return profile->levels[0].height_kind == PAPPUS_HEIGHT_AGL;
}

static bool one_base(const pappus_wind_profile *profile)
{
    for (size_t i = 1; i < profile->level_count; i++)
        if ((profile->levels[i].height_kind == PAPPUS_HEIGHT_AGL) != over_ground(profile))
            return false;
    return true;
}

/* One level of the merged profile; share is that of the later one. */
static pappus_wind_level level_between(const pappus_wind_profile *before,
                                       const pappus_wind_profile *after, double share,
                                       const pappus_wind_level *at, pappus_wind_ground ground)
{
    double values[FIELD_PRESSURE + 1];
    for (int i = FIELD_U; i <= FIELD_PRESSURE; i++) {
        double a = value_at(before, (field)i, at->height_m, ground);
        double b = value_at(after, (field)i, at->height_m, ground);
        values[i] = (1.0 - share) * a + share * b;
    }
    /* under the lowest wind of both the power law of the air goes on as it is */
    if (!has_wind_below(before, at->height_m) && !has_wind_below(after, at->height_m))
        values[FIELD_U] = values[FIELD_V] = values[FIELD_SD] = NAN;
    return (pappus_wind_level){at->height_kind,
                               at->height_m,
                               values[FIELD_U],
                               values[FIELD_V],
                               values[FIELD_SD],
                               values[FIELD_TEMPERATURE],
                               exp(values[FIELD_PRESSURE])};
}

static void merge(pappus_wind_profile *out, const pappus_wind_profile *before,
                  const pappus_wind_profile *after, double share, pappus_wind_ground ground)
{
    size_t i = 0, j = 0;
    while (i < before->level_count || j < after->level_count) {
        const pappus_wind_level *a = i < before->level_count ? &before->levels[i] : NULL;
        const pappus_wind_level *b = j < after->level_count ? &after->levels[j] : NULL;
        const pappus_wind_level *at = !b || (a && a->height_m <= b->height_m) ? a : b;
        if (a && a->height_m == at->height_m) i++;
        if (b && b->height_m == at->height_m) j++;
        out->levels[out->level_count++] = level_between(before, after, share, at, ground);
    }
}

/* Appends what lies between two profiles of one member. */
static int append_between(pappus_winds *winds, const pappus_wind_profile *before,
                          const pappus_wind_profile *after, double time_utc_s,
                          pappus_wind_ground ground, pappus_log *log)
{
    double span = after->valid_utc_s - before->valid_utc_s;
    double share = span > 0.0 ? (time_utc_s - before->valid_utc_s) / span : 0.0;
    if (!one_base(before) || !one_base(after) || over_ground(before) != over_ground(after))
        return pappus_log_add(log, PAPPUS_FAULT, PAPPUS_E_WIND, after->path, NULL, NULL,
                              "heights above the pad and above the sea cannot be mixed between "
                              "two times; accepted is one kind in both");
    pappus_wind_profile *out = pappus_winds_append_copy(winds, before, false);
    if (out) out->levels = calloc(before->level_count + after->level_count, sizeof *out->levels);
    if (!out || !out->levels)
        return pappus_log_add(log, PAPPUS_FAULT, PAPPUS_E_MEMORY, after->path, NULL, NULL,
                              "out of memory");
    merge(out, before, after, share, ground);
    out->valid_utc_s = time_utc_s;
    out->issued_utc_s = isnan(before->issued_utc_s) || isnan(after->issued_utc_s)
                            ? NAN
                            : fmin(before->issued_utc_s, after->issued_utc_s);
    if (before == after) return PAPPUS_OK;
    out->gust_mps = (1.0 - share) * before->gust_mps + share * after->gust_mps;
    out->read_count += after->read_count;
    out->repaired_count += after->repaired_count;
    out->refused_count += after->refused_count;
    return PAPPUS_OK;
}

static int outside(const pappus_wind_profile *const *series, size_t count, double time_utc_s,
                   pappus_log *log)
{
    char time[40], from[40], to[40];
    double from_s = INFINITY, to_s = -INFINITY;
    for (size_t i = 0; i < count; i++) {
        from_s = fmin(from_s, series[i]->valid_utc_s);
        to_s = fmax(to_s, series[i]->valid_utc_s);
    }
    pappus_time_format(time, sizeof time, time_utc_s);
    pappus_time_format(from, sizeof from, from_s);
    pappus_time_format(to, sizeof to, to_s);
    return pappus_log_add(log, PAPPUS_FAULT, PAPPUS_E_WIND, series[0]->path, "wind.time", time,
                          "accepted is a time from %s to %s, for which there are winds", from, to);
}

/* Of two profiles for one time the one issued later. */
static bool nearer(const pappus_wind_profile *a, const pappus_wind_profile *best, double time_utc_s)
{
    if (!best) return true;
    double d = fabs(a->valid_utc_s - time_utc_s), d_best = fabs(best->valid_utc_s - time_utc_s);
    return d < d_best || (d == d_best && a->issued_utc_s > best->issued_utc_s);
}

static bool is_first_of_member(const pappus_wind_profile *const *series, size_t i)
{
    for (size_t j = 0; j < i; j++)
        if (series[j]->member == series[i]->member) return false;
    return true;
}

int pappus_winds_between(pappus_winds *out, const pappus_wind_profile *const *series, size_t count,
                         double time_utc_s, pappus_wind_ground ground, pappus_log *log)
{
    size_t found = 0, left_out = 0;
    for (size_t i = 0; i < count; i++) {
        const pappus_wind_profile *before = NULL, *after = NULL;
        if (!is_first_of_member(series, i)) continue;
        for (size_t j = i; j < count; j++) {
            const pappus_wind_profile *p = series[j];
            if (p->member != series[i]->member) continue;
            if (p->valid_utc_s <= time_utc_s && nearer(p, before, time_utc_s)) before = p;
            if (p->valid_utc_s >= time_utc_s && nearer(p, after, time_utc_s)) after = p;
        }
        if (!before || !after) {
            left_out++;
            continue;
        }
        int status = append_between(out, before, after, time_utc_s, ground, log);
        if (status != PAPPUS_OK) return status;
        found++;
    }
    if (found == 0) return outside(series, count, time_utc_s, log);
    if (left_out > 0)
        pappus_log_add(log, PAPPUS_WARNING, PAPPUS_OK, series[0]->path, "wind.time", NULL,
                       "%zu of %zu members have no wind on both sides of it and are left out",
                       left_out, left_out + found);
    return PAPPUS_OK;
}

/* Warns of a wind that is meant for another time. */
static void check_valid(const pappus_wind_profile *profile, double time_utc_s, pappus_log *log)
{
    double off_s = time_utc_s - profile->valid_utc_s;
    if (!(fabs(off_s) > FAR_S) || profile->valid_utc_s == profile->issued_utc_s) return;
    pappus_log_add(log, PAPPUS_WARNING, PAPPUS_OK, profile->path, "wind.time", NULL,
                   "%.0f h %s the time that this wind is valid for", fabs(off_s) / 3600.0,
                   off_s > 0.0 ? "after" : "before");
}

static double age_of(const pappus_wind_profile *profile, double time_utc_s, pappus_log *log)
{
    double age_s = time_utc_s - profile->issued_utc_s;
    if (age_s < 0.0)
        pappus_log_add(log, PAPPUS_WARNING, PAPPUS_OK, profile->path, "wind.time", NULL,
                       "%.1f h before the wind was observed or issued; the error grows with "
                       "that distance in time too",
                       -age_s / 3600.0);
    return fabs(age_s);
}

bool pappus_winds_age_is_assumed(const pappus_winds *winds, const pappus_plan *plan)
{
    if (winds->profile_count == 0 || !isnan(plan->wind.age_s)) return false;
    for (size_t i = 0; i < winds->profile_count; i++)
        if (!isnan(plan->wind.time_utc_s - winds->profiles[i].issued_utc_s)) return false;
    return true;
}

int pappus_winds_set_age(pappus_winds *winds, const pappus_plan *plan, double time_utc_s,
                         pappus_log *log)
{
    double known_s = NAN;
    bool has_issue = false;
    for (size_t i = 0; i < winds->profile_count; i++) {
        const pappus_wind_profile *profile = &winds->profiles[i];
        has_issue = has_issue || !isnan(profile->issued_utc_s);
        if (isnan(time_utc_s)) continue;
        check_valid(profile, time_utc_s, log);
        if (!isnan(profile->issued_utc_s))
            known_s = fmax(known_s, age_of(profile, time_utc_s, log));
    }
    if (!isnan(known_s) && !isnan(plan->wind.age_s))
        return pappus_log_add(log, PAPPUS_FAULT, PAPPUS_E_WIND, plan->path, "wind.age", NULL,
                              "the wind file knows its time and wind.time is given, so the age is "
                              "known; leave wind.age out");
    bool assumed = pappus_winds_age_is_assumed(winds, plan);
    winds->age_s = !isnan(known_s)            ? known_s
                   : !isnan(plan->wind.age_s) ? plan->wind.age_s
                   : assumed                  ? PAPPUS_UNKNOWN_AGE_S
                                              : 0.0;
    if (winds->age_s > OLD_S)
        pappus_log_add(log, PAPPUS_WARNING, PAPPUS_OK, plan->path, "wind", NULL,
                       "the wind is %.1f h old, more than a day", winds->age_s / 3600.0);
    if (assumed)
        pappus_log_add(log, PAPPUS_WARNING, PAPPUS_OK, plan->path, "wind.age", NULL,
                       "the age of the wind is not known and counts as %.0f h; give %s",
                       PAPPUS_UNKNOWN_AGE_S / 3600.0, has_issue ? "wind.time" : "wind.age");
    return PAPPUS_OK;
}
