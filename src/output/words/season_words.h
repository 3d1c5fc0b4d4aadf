/* SPDX-License-Identifier: GPL-3.0-or-later
 * A season in words, for the terminal, the page and the drawings. */
#ifndef PAPPUS_OUTPUT_SEASON_WORDS_H
#define PAPPUS_OUTPUT_SEASON_WORDS_H

#include "format.h"

#include <pappus/season.h>

#define SEASON_WORDS 400

/** "Jan"; "all" for 0. */
const char *season_month(int month);
/** "08h"; "all" for all. */
char *season_hour(char out[PAPPUS_TEXT_SIZE], int hour);
/** "71 % (64 to 77)". */
char *season_share(char out[PAPPUS_TEXT_SIZE], const pappus_estimate *share);
/** "71 %"; "-" when not known. */
char *season_percent(char out[PAPPUS_TEXT_SIZE], double share);
/** Days, from when to when, of which station. */
char *season_stamp(char out[SEASON_WORDS], const pappus_season_result *result);
/** What each day is judged by: landings, age, reading. */
char *season_basis(char out[SEASON_WORDS], const pappus_season_head *head);
/** What hours are. */
char *season_clock(char out[SEASON_WORDS], const pappus_season_head *head);
/** Days left out, and why the first; "" when none is. */
char *season_left_out(char out[SEASON_WORDS], const pappus_season_result *result, size_t plan);
/** "Go on 71 % of 1390 days (64 to 77); with the main at 600 ft 78 %." */
char *season_headline(char out[SEASON_WORDS], const pappus_season_result *result, size_t plan,
                      pappus_unit_system units);
/** Title, or the name where there is none. */
const char *season_title(const pappus_season_plan *plan);
/** The same for one of several plans, whose titles may be alike: "windy: Evening flight". */
char *season_heading(char out[SEASON_WORDS], const pappus_season_head *head, size_t plan);
/** The group of all days of a plan; NULL: none was judged. */
const pappus_season_group *season_all(const pappus_season_result *result, size_t plan);
const pappus_season_group *season_group(const pappus_season_result *result, size_t plan, int month,
                                        int hour);
/** What a season cannot know. */
const char *season_limits_text(void);

#endif
