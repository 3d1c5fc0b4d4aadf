/* SPDX-License-Identifier: GPL-3.0-or-later
 * What an outcome's led landings say of each area. */
#ifndef PAPPUS_RARE_LED_TALLY_H
#define PAPPUS_RARE_LED_TALLY_H

#include "aims.h"

/** Fills out->areas, out->unled and what is said of all its landings. */
int led_tally(led_outcome *out, const led_task *task, const led_aims *aims, pappus_error *err);

#endif
