/* SPDX-License-Identifier: GPL-3.0-or-later
 * Latitudes and longitudes with the letter of their hemisphere. */
#ifndef PAPPUS_BASE_COORDINATE_H
#define PAPPUS_BASE_COORDINATE_H

#include <stdbool.h>
#include <stddef.h>

/** Reads degrees, degrees and minutes, or degrees, minutes and seconds, the last with decimals
 * and the hemisphere before or behind: "41 15.000 N", "N41° 15.000'", "96°30'00\" W", "41.25 N".
 * False, *degrees untouched, when it is not such a text. */
bool pappus_coordinate_read(double *degrees, const char *text, bool latitude);
/** "41 15.000 N", as hand-held receivers show it. Returns what snprintf does. */
int pappus_coordinate_format(char *out, size_t size, double degrees, bool latitude);

#endif
