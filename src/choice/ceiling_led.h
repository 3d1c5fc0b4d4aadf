/* SPDX-License-Identifier: GPL-3.0-or-later
 * Keep-outs whose limit is too small for counted landings, at the edges of a range of winds. */
#ifndef PAPPUS_CHOICE_CEILING_LED_H
#define PAPPUS_CHOICE_CEILING_LED_H

#include "ceiling_winds.h"

/** A range of winds of the planned direction that are go by counting, in steps. */
typedef struct {
    bool go;
    size_t first, last;
    bool lowered;        /**< `last` was */
    ceiling_verdict why; /**< of the wind above it, or of all */
} ceiling_led_range;

/** Is there a limit that landings are led for? */
bool ceiling_has_strict(const pappus_givens *given);
/** Draws the ends in to winds at which such limits are met by led landings. */
int ceiling_lead(ceiling_led_range *range, ceiling_question *q, pappus_error *err);

#endif
