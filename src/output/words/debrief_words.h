/* SPDX-License-Identifier: GPL-3.0-or-later
 * What flights say of the zones and of the plan, in words. */
#ifndef PAPPUS_OUTPUT_DEBRIEF_WORDS_H
#define PAPPUS_OUTPUT_DEBRIEF_WORDS_H

#include "format.h"

#include <pappus/debrief.h>

#define DEBRIEF_WORDS 160

/** "The zones, over 12 landings: nothing speaks against the zones"; "" for no landing. */
char *debrief_zones_words(char out[DEBRIEF_WORDS], const pappus_calibration *calibration);
/** "0.83 times the plan's 39.21 ft2, from 12 flights"; "" for no flight. */
char *debrief_drag_words(char out[DEBRIEF_WORDS], const pappus_learned_drag *drag,
                         pappus_unit_system units);
/** "its error is 1.52 times what the plan says (1.12 to 2.09), from 11 landings"; "" for none. */
char *debrief_wind_words(char out[DEBRIEF_WORDS], const pappus_learned *learned);

#endif
