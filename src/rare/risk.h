/* SPDX-License-Identifier: GPL-3.0-or-later
 * What is behind the chance of each keep-out area: which outcome, which wind, which fault,
 * and how many persons. */
#ifndef PAPPUS_RARE_RISK_H
#define PAPPUS_RARE_RISK_H

#include <pappus/hazard.h>

#include "led.h"

/** Fills hazard->risks and what follows from them. outcomes: as far as they were led. */
int risk_fill(pappus_hazard *hazard, const pappus_givens *given, const pappus_hits *hits,
              const led_outcome outcomes[PAPPUS_OUTCOMES], pappus_error *err);

#endif
