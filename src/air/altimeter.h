/* SPDX-License-Identifier: GPL-3.0-or-later
 * What a barometric altimeter zeroed at the pad shows. */
#ifndef PAPPUS_AIR_ALTIMETER_H
#define PAPPUS_AIR_ALTIMETER_H

#include "atmosphere.h"

/** Shown height at a true height above the pad. */
double pappus_altimeter_indicated_m(const pappus_atmosphere *atmosphere, double height_m);
/** True height at which a height is shown. */
double pappus_altimeter_true_m(const pappus_atmosphere *atmosphere, double indicated_m);

#endif
