/* SPDX-License-Identifier: GPL-3.0-or-later
 * What follows from the rows of a trade. */
#ifndef PAPPUS_CHOICE_HEIGHTS_H
#define PAPPUS_CHOICE_HEIGHTS_H

#include <pappus/choice.h>

/** From rows (ascending, judged, with their use) and planned_m: the recommended height and
 * why no other. */
void pappus_heights_conclude(pappus_heights *heights);

#endif
