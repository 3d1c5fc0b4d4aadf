/* SPDX-License-Identifier: GPL-3.0-or-later
 * Drag areas of a body that the plan gives none of. */
#ifndef PAPPUS_BASE_BODY_DRAG_H
#define PAPPUS_BASE_BODY_DRAG_H

#include <pappus/plan.h>

/** Drag area of the body tumbling, and of the whole rocket nose first, from its length
 * and diameter, or without them from an assumed terminal speed of its mean mass. */
double pappus_body_tumble_m2(const pappus_rocket *rocket);
double pappus_body_ballistic_m2(const pappus_rocket *rocket);

#endif
