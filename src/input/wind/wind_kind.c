/* SPDX-License-Identifier: GPL-3.0-or-later
 * A sounding was measured at one time and ages from then; a forecast was computed for
 * the time it is for, and its error grows less. Most formats say which they are; a layer
 * table does not, and is taken for a sounding, the wider of the two, unless the plan
 * says it. The time of a table that is said to be a sounding is its observation.
 *
 * A sounding of another time of day errs by the daily cycle too, which its growth does
 * not hold: told when the two times of day are more than four hours apart (the hours of
 * the sun differ by as much as those of the clock, pad and station being near). */
#include "wind_kind.h"

#include "error.h"
#include "units.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define DAY_S 86400.0
#define OTHER_HOUR_S (4 * 3600.0)

int pappus_wind_settle_kind(pappus_wind_profile *profile, const pappus_profile_source *source,
                            const pappus_wind_plan *plan, pappus_log *log)
{
    bool given = source->kind_given || plan->kind_given;
    pappus_wind_kind kind = source->kind_given ? source->kind : plan->kind;
    if (profile->kind_assumed && given) {
        profile->kind = kind;
        profile->kind_assumed = false;
        if (kind == PAPPUS_WIND_SOUNDING && isnan(profile->issued_utc_s))
            profile->issued_utc_s = profile->valid_utc_s;
    }
    if (!given || kind == profile->kind) return PAPPUS_OK;
    bool of_all = !source->kind_given;
    return pappus_log_add(
        log, of_all ? PAPPUS_WARNING : PAPPUS_FAULT, of_all ? PAPPUS_OK : PAPPUS_E_WIND,
        profile->path, of_all ? "wind.kind" : "kind", pappus_wind_kind_text(kind),
        "this %s is a %s%s", profile->format, pappus_wind_kind_text(profile->kind),
        of_all ? " and counts as one" : "; leave kind out");
}

void pappus_winds_check_hours(const pappus_winds *winds, const pappus_plan *plan, pappus_log *log)
{
    for (size_t i = 0; i < winds->profile_count; i++) {
        const pappus_wind_profile *p = &winds->profiles[i];
        double apart_s = fabs(remainder(plan->wind.time_utc_s - p->issued_utc_s, DAY_S));
        if (p->kind != PAPPUS_WIND_SOUNDING || !(apart_s > OTHER_HOUR_S)) continue;
        pappus_log_add(log, PAPPUS_WARNING, PAPPUS_OK, p->path, "wind.time", NULL,
                       "the sounding is of another time of day, %.0f h apart: the daily cycle of "
                       "the wind is not in the error",
                       apart_s / 3600.0);
    }
}

/* ----------------------------------------------------------------- assumed */

/* The entry of a key, or room for one behind the last; NULL: out of memory. */
static pappus_plan_entry *place_of(pappus_plan *plan, const char *key)
{
    for (size_t i = 0; i < plan->entry_count; i++)
        if (strcmp(plan->entries[i].key, key) == 0) return &plan->entries[i];
    pappus_plan_entry *entries = realloc(plan->entries, (plan->entry_count + 1) * sizeof *entries);
    if (!entries) return NULL;
    plan->entries = entries;
    entries[plan->entry_count] = (pappus_plan_entry){.assumed = true};
    return &entries[plan->entry_count];
}

/* All of an entry or nothing. */
static bool note(pappus_plan *plan, const char *key, const char *si, const char *us,
                 const char *help)
{
    pappus_plan_entry made = {strdup(key), NULL, strdup(si), strdup(us), strdup(help), false};
    bool whole = made.key && made.si && made.us && made.help;
    pappus_plan_entry *place = whole ? place_of(plan, key) : NULL, old = made;
    if (place) {
        old = *place;
        made.given = old.given;
        made.assumed = old.assumed;
        *place = made;
        plan->entry_count += !old.key;
    }
    free(old.key);
    free(old.si);
    free(old.us);
    free(old.help);
    return place;
}

/* "2.4 m/s for a sounding, 1.5 m/s for a forecast", of those that are there. */
static void growth_text(char *out, size_t size, const bool there[2], bool spread,
                        pappus_unit_system system)
{
    const double growth[] = {PAPPUS_SOUNDING_GROWTH_MPS, PAPPUS_FORECAST_GROWTH_MPS};
    size_t used = 0;
    if (spread) used = (size_t)snprintf(out, size, "none: the spread of the members stands for it");
    for (int kind = 0; kind < 2; kind++) {
        char value[48];
        if (!there[kind]) continue;
        pappus_units_format(value, sizeof value, PAPPUS_DIM_SPEED, system, growth[kind]);
        used += (size_t)snprintf(out + used, size - used, "%s%s for a %s", used ? ", " : "", value,
                                 pappus_wind_kind_text((pappus_wind_kind)kind));
    }
}

static bool note_growth(pappus_plan *plan, const bool there[2], bool spread)
{
    char si[160], us[160];
    growth_text(si, sizeof si, there, spread, PAPPUS_UNITS_SI);
    growth_text(us, sizeof us, there, spread, PAPPUS_UNITS_US);
    return note(plan, "wind.growth", si, us,
                "standard deviation that one hour adds, per component: of a sounding as measured "
                "at Vienna 2015 and Perth 2014-17, of a forecast as published for one of 6 h");
}

static bool note_all(pappus_plan *plan, const pappus_winds *winds)
{
    bool there[2] = {false, false}, assumed = false, spread = false, good = true;
    for (size_t i = 0; i < winds->profile_count; i++) {
        spread = spread || winds->profiles[i].of_spread;
        there[winds->profiles[i].kind] |= !winds->profiles[i].of_spread;
        assumed = assumed || winds->profiles[i].kind_assumed;
    }
    if (assumed)
        good = note(plan, "wind.kind", "sounding", "sounding",
                    "what a layer table was made from: neither it nor the plan says");
    if (good && winds->profile_count > 0 && isnan(plan->wind.growth_mps))
        good = note_growth(plan, there, spread);
    if (good && pappus_winds_age_is_assumed(winds, plan))
        good = note(plan, "wind.age", "6 h", "6 h",
                    "of the profiles at launch: neither they nor the plan tell it");
    return good;
}

int pappus_winds_note_assumed(pappus_plan *plan, const pappus_winds *winds, pappus_log *log)
{
    if (!winds || note_all(plan, winds)) return PAPPUS_OK;
    return pappus_log_add(log, PAPPUS_FAULT, PAPPUS_E_MEMORY, plan->path, NULL, NULL,
                          "out of memory");
}
