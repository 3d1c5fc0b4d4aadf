/* SPDX-License-Identifier: GPL-3.0-or-later
 * The plot of the trade over main heights. */
#ifndef PAPPUS_OUTPUT_DRAWING_TRADE_H
#define PAPPUS_OUTPUT_DRAWING_TRADE_H

#include "drawing.h"

/** Path data of the upright mark at a height. */
void drawing_trade_mark(char *out, size_t size, const pappus_heights *heights, double height_m);

#endif
