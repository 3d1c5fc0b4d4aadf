/* SPDX-License-Identifier: GPL-3.0-or-later
 * The soundings of archives as numbered days, read twice: once to number them, then one at a
 * time. What is kept between is 24 bytes a sounding.
 *
 * A number is a place in the order of the files. Of soundings for one time the one issued
 * last is kept, of those the one with most levels. One station alone, as in archive.c. */
#ifndef PAPPUS_INPUT_DAYS_H
#define PAPPUS_INPUT_DAYS_H

#include "digest.h"
#include "wind_stream.h"

#include <pappus/skill.h>

typedef struct archive_days archive_days;

/** wanted: the place, for forecasts on a grid. The paths must outlive it. */
int archive_days_open(archive_days **out, const char *const *paths, size_t count,
                      pappus_wind_wanted wanted, pappus_log *log);
void archive_days_free(archive_days *days);

size_t archive_days_count(const archive_days *days);
const size_t *archive_days_skipped(const archive_days *days); /**< [PAPPUS_SKIPS] */
const char *archive_days_station(const archive_days *days);   /**< "" when not known */
const char *archive_days_digest(const archive_days *days);
/** Height of the station above the sea: as a profile says, else where the lowest levels of
 * most soundings are; NaN: not known. */
double archive_days_elevation_m(const archive_days *days, const pappus_wind_profile *profile);

/** From the first day again. */
void archive_days_rewind(archive_days *days);
/** The next day and its number, the profile the caller's to clear (pappus_wind_profile_clear);
 * *more false behind the last. */
int archive_days_next(archive_days *days, pappus_wind_profile *out, size_t *number, bool *more,
                      pappus_log *log);

#endif
