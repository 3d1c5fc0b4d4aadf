/* SPDX-License-Identifier: GPL-3.0-or-later
 * A season as tables. */
#ifndef PAPPUS_OUTPUT_SEASON_DATA_H
#define PAPPUS_OUTPUT_SEASON_DATA_H

#include <pappus/season.h>

#include <stdio.h>

/** The groups as CSV (RFC 4180); the caller frees. */
int season_groups_csv(char **out, const pappus_season_result *result, pappus_error *err);
/** Every day and plan as CSV: the headings, then each day as it comes (a
 * pappus_season_visit); a failed write is kept by the stream. */
typedef struct {
    FILE *stream;
    const pappus_season_head *head;
} season_days_table;
void season_days_head(FILE *stream);
int season_days_put(void *context, const pappus_season_day *day, pappus_error *err);

#endif
