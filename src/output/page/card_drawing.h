/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PAPPUS_OUTPUT_CARD_DRAWING_H
#define PAPPUS_OUTPUT_CARD_DRAWING_H

#include "json_build.h"

/** The scheme of the bays, drawn from the card's section "bays"; NULL for a card without. */
int card_add_drawing(json_builder *build, cJSON *card, pappus_error *err);

#endif
