/* SPDX-License-Identifier: GPL-3.0-or-later
 * One plan on one day: the sounding is the middle of what could be, with the plan's error of a
 * wind of that age about it, and what the plan says of its own day's wind (reading, gust,
 * observations, time) is left out. Its lowest level stands for the reading that will be taken
 * on the field, so that the wind near the ground is known as well as it would be then.
 *
 * Every limit is judged by counts, as the trade over main heights judges it, with fewer
 * landings of the rare outcomes than a brief has: a day's verdict next to a bound is a toss,
 * the share of days is not.
 *
 * Where it stops being right: gusts are not in a sounding, so none are in a season; a station
 * is not the field; a sounding is itself not the wind of the hour. */
#ifndef PAPPUS_SEASON_DAY_H
#define PAPPUS_SEASON_DAY_H

#include "sums.h"

#include <pappus/givens.h>

/** What a sounding is taken as. */
typedef struct {
    const pappus_wind_profile *profile; /**< its kind settled */
    double valid_utc_s;
    double station_msl_m; /**< NaN: not known */
    double age_s;
    bool reading; /**< wanted; whether there is one depends on the lowest level */
} season_sounding;

/** The sounding's lowest level as the reading on the field; false when it has none that
 * was measured near the ground. */
bool season_reading(pappus_observation *out, const season_sounding *sounding,
                    const pappus_plan *plan);
/** Seed of a day: below 2^53, the same whatever shard or plan it is in. */
uint64_t season_seed(uint64_t seed, double valid_utc_s);

/** Judges one plan (given->air is not looked at) on one day into *row, whose heights are
 * beside plan->heights_m, and hands out the landings (NULL: not judged; the caller frees) and
 * the surface wind. A day that cannot be judged says why and is no failure. */
int season_judge(pappus_season_row *row, pappus_cloud **cloud, double *surface_mps,
                 double *surface_from_deg, const pappus_givens *given,
                 const season_sounding *sounding, const pappus_season_plan *plan,
                 const pappus_run *run, pappus_error *err);

#endif
