/* SPDX-License-Identifier: GPL-3.0-or-later
 * A season as tables. */
#ifndef PAPPUS_OUTPUT_SEASON_DATA_H
#define PAPPUS_OUTPUT_SEASON_DATA_H

#include <pappus/season.h>

#include <stdio.h>

/** The groups as CSV (RFC 4180); the caller frees. */
int season_groups_csv(char **out, const pappus_season_result *result, pappus_error *err);
/** Every day and plan as CSV; a failed write is kept by the stream. */
int season_days_csv(FILE *stream, const pappus_season_result *result, pappus_error *err);

#endif
