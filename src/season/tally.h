/* SPDX-License-Identifier: GPL-3.0-or-later
 * Days counted: by month and hour, by main height, by limit, by the surface wind.
 *
 * Interval of a share of days: Wilson's (landing/interval.h) of as many days as they are
 * worth, n over the design effect, since days in a row are alike. The effect is the variance
 * of the number of go days under the block bootstrap (skill/blocks.h) over that of
 * independent days, n p (1 - p); both are summed over all groups of the same kind (the months,
 * say) before they are divided, as one month alone has too few blocks to tell; never under 1.
 *
 * Too narrow where what links days lasts longer than a block of five days or more: with a year
 * or two, a dry summer is one case, whatever its days. */
#ifndef PAPPUS_SEASON_TALLY_H
#define PAPPUS_SEASON_TALLY_H

#include <pappus/season.h>

typedef struct season_tally season_tally;

/** The head must outlive it. */
int season_tally_new(season_tally **out, const pappus_season_head *head, pappus_error *err);
void season_tally_free(season_tally *tally);
/** Counts a day; month 1 to 12 and hour 0 to 23, local; local_day: its calendar day. */
int season_tally_add(season_tally *tally, const pappus_season_day *day, int month, int hour,
                     long local_day, pappus_error *err);
/** Groups into result->groups, and of result->sums (one for each plan) the rose and the
 * counts. Days may have been added in any order. */
int season_tally_finish(pappus_season_result *result, season_tally *tally, pappus_error *err);

#endif
