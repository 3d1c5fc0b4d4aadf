/* SPDX-License-Identifier: GPL-3.0-or-later
 * What the three forms of the bench card (text, JSON, page) share. */
#ifndef PAPPUS_OUTPUT_CARD_H
#define PAPPUS_OUTPUT_CARD_H

#include <pappus/pappus.h>

/* Exact by definition. */
#define CARD_LB_KG 0.45359237
#define CARD_LBF_N (CARD_LB_KG * 9.80665)
#define CARD_PSI_PA (CARD_LBF_N / (0.0254 * 0.0254))

enum { CARD_CHECKLIST_LINES = 7, CARD_CAUTION_LINES = 3 };
extern const char *const card_checklist[CARD_CHECKLIST_LINES];
extern const char *const card_cautions[CARD_CAUTION_LINES];

const char *card_basis_text(pappus_area_basis basis);
/** What the rate as flown means beside the usual band; static. */
const char *card_advice(const pappus_card_canopy *canopy);

#endif
