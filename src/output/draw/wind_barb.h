/* SPDX-License-Identifier: GPL-3.0-or-later
 * Wind barbs in SVG. */
#ifndef PAPPUS_OUTPUT_WIND_BARB_H
#define PAPPUS_OUTPUT_WIND_BARB_H

#include <stddef.h>

/** What a barb shows. */
typedef struct {
    int pennants, full, half; /**< 50, 10, 5 kt */
} pappus_barb;

/** The barb of a speed, to the nearest 5 kt; all 0 under 2.5 kt (a calm's circle). */
pappus_barb pappus_barb_of(double speed_mps);
/** The SVG path data of a barb about (0, 0) for a wind from north, shaft up; to be
 * turned clockwise by the direction. Feathers on the clockwise side, as north of
 * the equator. Returns what snprintf does. */
int pappus_barb_path(char *out, size_t size, pappus_barb barb);

#endif
