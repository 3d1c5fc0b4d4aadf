/* SPDX-License-Identifier: GPL-3.0-or-later
 * Bearings in degrees, clockwise from true north, 0 <= b < 360. */
#ifndef PAPPUS_BASE_BEARING_H
#define PAPPUS_BASE_BEARING_H

#include <pappus/status.h>

/** The same bearing in 0 to 360, 360 excluded. */
double pappus_bearing_wrap_deg(double bearing_deg);
/** Bearing of a vector: towards it. A wind's direction is that of (-u, -v). */
double pappus_bearing_of(double east, double north);
/** The nearest of the 16 compass points, "WSW"; static; "" when not finite. */
const char *pappus_compass_point(double bearing_deg);

/** Reads "240 deg", "240 degT", "240 degM" (declination_deg, east positive; NaN: refused),
 * "WSW". */
int pappus_bearing_parse(double *bearing_deg, const char *text, double declination_deg,
                         pappus_error *err);
/** "240 deg true", with the magnetic bearing where declination_deg is known. */
int pappus_bearing_format(char *out, size_t size, double bearing_deg, double declination_deg);

#endif
