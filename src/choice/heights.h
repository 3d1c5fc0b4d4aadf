/* SPDX-License-Identifier: GPL-3.0-or-later
 * What follows from the rows of a trade. */
#ifndef PAPPUS_CHOICE_HEIGHTS_H
#define PAPPUS_CHOICE_HEIGHTS_H

#include <pappus/choice.h>

/* Limits that the height of the main decides. */
#define MENDABLE                                                                                   \
    (1U << PAPPUS_LIMIT_INSIDE_FIELD | 1U << PAPPUS_LIMIT_KEEP_OUT | 1U << PAPPUS_LIMIT_MAIN_HEIGHT)
#define SAME_HEIGHT_M 0.0005 /**< rounding: no altimeter is set as finely */

/** From rows (ascending, judged, with their use) and planned_m: the recommended height and
 * why no other. */
void pappus_heights_conclude(pappus_heights *heights);
/** The heights that a trade of this plan has rows of, ascending; the caller frees. */
int pappus_heights_list(double **heights_m, size_t *count, const pappus_plan *plan,
                        pappus_error *err);
/** The highest main height of the plan; NaN: none. */
double pappus_heights_planned_m(const pappus_plan *plan);

#endif
