/* SPDX-License-Identifier: GPL-3.0-or-later
 * The ground test on the bench card. */
#ifndef PAPPUS_OUTPUT_CARD_GROUND_TEST_H
#define PAPPUS_OUTPUT_CARD_GROUND_TEST_H

#include "sheet.h"

void card_ground_test(const sheet *s, const pappus_card *card);
/** Whether the plan has a charge. */
bool card_charged(const pappus_card *card);

#endif
