/* SPDX-License-Identifier: GPL-3.0-or-later
 * What a window says in words, once for the terminal, the picture and the page. */
#ifndef PAPPUS_OUTPUT_WINDOW_WORDS_H
#define PAPPUS_OUTPUT_WINDOW_WORDS_H

#include "format.h"

#define WINDOW_WORDS 320

/** "07:30Z", in a zone "07:30Z (09:30 CEST)"; in a window of several days "Sat 07:30Z". */
char *window_clock(char out[PAPPUS_TEXT_SIZE], const pappus_window *window, const char *zone,
                   double utc_s);
/** "09:30 CEST"; "" without a zone. */
char *window_local(char out[PAPPUS_TEXT_SIZE], const char *zone, double utc_s);
/** "Sat 2027-04-17", by UTC; of it the first 4 and the last 2 letters make a short one. */
char *window_day(char out[PAPPUS_TEXT_SIZE], double utc_s);
/** "96.8 %" in at most 7 letters; never 0 or 100 % of what is neither. */
char *window_chance(char out[PAPPUS_TEXT_SIZE], double chance);
/** "Go 06:30Z to 09:00Z; best 07:30Z, 96.8 % inside the field" or that no hour is go. */
char *window_head(char out[WINDOW_WORDS], const pappus_window *window, const char *zone);
/** What ends the stretch: "Then: inside the field."; "" when nothing does. */
char *window_then(char out[WINDOW_WORDS], const pappus_window *window);
/** What main height at the best hour; without a go hour another height that would be. */
char *window_height(char out[WINDOW_WORDS], const pappus_window *window, const char *zone,
                    pappus_unit_system units);
/** On measured winds that were left out; "" when none was. */
char *window_readings(char out[WINDOW_WORDS], const pappus_window *window);
/** "GO", "NO-GO", "?" for undecided, "-" for an hour that was not judged. */
const char *window_verdict(const pappus_window_hour *hour);
/** The limit in the way, or the tightest that the wind decides: "64 % surface wind"; or why the
 * hour was not judged. */
char *window_limit(char out[WINDOW_WORDS], const pappus_window_hour *hour);

#endif
