/* SPDX-License-Identifier: GPL-3.0-or-later
 * The fields of a GRIB file at one place on the ground. */
#ifndef PAPPUS_INPUT_FOREIGN_GRIB_POINT_H
#define PAPPUS_INPUT_FOREIGN_GRIB_POINT_H

#include "grib_scan.h"

/** One field at the place; a wind's u and v are towards true east and north. */
typedef struct {
    pappus_grib_element element;
    pappus_grib_level level_kind;
    double level, issued_utc_s, valid_utc_s;
    int member;
    size_t field; /**< its number in the file, from 1 */
    double value; /**< NaN: missing there */
} pappus_grib_value;

typedef struct {
    size_t count;
    pappus_grib_value *values; /**< in the order of the file; u and v in pairs */
} pappus_grib_values;

/** Winds, temperatures and geopotential heights on pressure levels and above ground of
 * every time and member, interpolated between the four grid points about the place.
 * Reads in a process of its own. PAPPUS_E_WIND with one message: the file does not reach
 * the place, is of a grid that is not known, cut, or damaged. The caller clears. */
int pappus_grib_read(pappus_grib_values *out, const char *path, double latitude_deg,
                     double longitude_deg, pappus_error *err);
void pappus_grib_values_clear(pappus_grib_values *values);

#endif
