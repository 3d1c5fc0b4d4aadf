/* SPDX-License-Identifier: GPL-3.0-or-later
 * What flights would change in a plan. */
#ifndef PAPPUS_OUTPUT_DEBRIEF_CHANGE_H
#define PAPPUS_OUTPUT_DEBRIEF_CHANGE_H

#include <pappus/debrief.h>

/** One key, its new value and what stood there; texts as a plan writes them. */
typedef struct {
    const char *group, *key, *inner; /**< "main", "drag_coefficient"; "rate", "speed" */
    char value[64], before[64];      /**< before: "" when the plan has none */
} debrief_change;
#define DEBRIEF_CHANGES_MOST 6

/** Fills the changes; returns how many. */
size_t debrief_changes(debrief_change out[DEBRIEF_CHANGES_MOST], const pappus_debrief *debrief,
                       const pappus_plan *plan);

#endif
