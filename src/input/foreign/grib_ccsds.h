/* SPDX-License-Identifier: GPL-3.0-or-later
 * Values of a GRIB 2 field that GDAL does not unpack. */
#ifndef PAPPUS_INPUT_FOREIGN_GRIB_CCSDS_H
#define PAPPUS_INPUT_FOREIGN_GRIB_CCSDS_H

#include "grib_grid.h"

#define PAPPUS_GRIB_CCSDS 42 /* data representation template 5.42 */

/** The values at the four corners of a place; NaN where the field has none. False when they
 * cannot be unpacked. */
bool pappus_grib_ccsds_corners(double values[PAPPUS_GRIB_CORNERS], const char *path,
                               const pappus_grib_fields *fields, size_t field,
                               const pappus_grib_place *place);

#endif
