/* SPDX-License-Identifier: GPL-3.0-or-later
 * What on a bench card is out of the usual range. */
#ifndef PAPPUS_BENCH_FINDINGS_H
#define PAPPUS_BENCH_FINDINGS_H

#include <pappus/card.h>
#include "si.h"

/** Usual bands of descent rates (common practice, no source), m/s. */
#define USUAL_DROGUE_LOW_MPS (70.0 * PAPPUS_FOOT_M)
#define USUAL_DROGUE_HIGH_MPS (100.0 * PAPPUS_FOOT_M)
#define USUAL_MAIN_LOW_MPS (17.0 * PAPPUS_FOOT_M)
#define USUAL_MAIN_HIGH_MPS (22.0 * PAPPUS_FOOT_M)

/** Adds to card->findings. file: the plan's path. */
void pappus_card_find(pappus_card *card, const char *file);

#endif
