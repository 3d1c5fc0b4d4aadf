/* SPDX-License-Identifier: GPL-3.0-or-later
 * A place on the grid of a GRIB file. */
#ifndef PAPPUS_INPUT_FOREIGN_GRIB_GRID_H
#define PAPPUS_INPUT_FOREIGN_GRIB_GRID_H

#include "grib_scan.h"

#define PAPPUS_GRIB_CORNERS 4

/** The four grid points about a place, on a raster whose first row is the northernmost and
 * whose first column the westernmost. Corner i is column[i % 2], row[i / 2]. */
typedef struct {
    int column[2], row[2];
    double weight[PAPPUS_GRIB_CORNERS]; /**< bilinear; sum to 1 */
    double cosine[PAPPUS_GRIB_CORNERS], sine[PAPPUS_GRIB_CORNERS];
    /**< of the angle from the grid's y clockwise to true north at each */
} pappus_grib_place;

/** False when the place is outside the grid, or the grid is not one of a projection. */
bool pappus_grib_locate(pappus_grib_place *out, const pappus_grib_grid *grid, double latitude_deg,
                        double longitude_deg);

#endif
