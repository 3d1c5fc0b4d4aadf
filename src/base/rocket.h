/* SPDX-License-Identifier: GPL-3.0-or-later
 * What follows from the rocket of a plan alone. */
#ifndef PAPPUS_BASE_ROCKET_H
#define PAPPUS_BASE_ROCKET_H

#include <pappus/plan.h>

/** All sections land at one speed, so the heaviest has the most energy. Without sections the
 * whole rocket at its mean mass, with no name (NULL). The name is the plan's. */
pappus_section pappus_rocket_heaviest(const pappus_rocket *rocket);

#endif
