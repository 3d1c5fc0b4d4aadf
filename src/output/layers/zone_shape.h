/* SPDX-License-Identifier: GPL-3.0-or-later
 * Ellipses and contours of every outcome as shapes to be written: one list for
 * shapefile, GeoJSON, KML and drawings. */
#ifndef PAPPUS_OUTPUT_ZONE_SHAPE_H
#define PAPPUS_OUTPUT_ZONE_SHAPE_H

#include <pappus/output.h>

#define PAPPUS_ELLIPSE_POINTS 120

typedef struct {
    const char *outcome; /**< "all" or the outcome's text; static */
    double level, share, area_m2;
    double major_m, minor_m;  /**< semi-axes; of a contour half its length and half its breadth */
    double bearing_deg;       /**< of the major axis; a contour is measured along it */
    const pappus_area *shape; /**< on the local plane: the contour, or these */
    pappus_area area;
    pappus_polygon polygon;
    pappus_ring ring;
    double points_m[2 * PAPPUS_ELLIPSE_POINTS];
} pappus_zone_shape;

/** Large, and not to be moved. */
typedef struct {
    size_t count;
    pappus_zone_shape shapes[(PAPPUS_OUTCOMES + 1) * PAPPUS_LEVELS];
} pappus_zone_shapes;

/** `all` first, then the outcomes that were drawn; levels rising. */
void pappus_zone_ellipses(pappus_zone_shapes *out, const pappus_zones *zones);
void pappus_zone_contours(pappus_zone_shapes *out, const pappus_zones *zones);

#endif
