/* SPDX-License-Identifier: GPL-3.0-or-later
 * Areas on the local plane and their way to and from GEOS. Every function that
 * takes a GEOSContextHandle_t uses that context only; a context belongs to one
 * thread. */
#ifndef PAPPUS_BASE_GEOMETRY_H
#define PAPPUS_BASE_GEOMETRY_H

#include <pappus/geometry.h>

#define GEOS_USE_ONLY_R_API
#include <geos_c.h>

/** Frees what the area holds, its name too, and leaves it {0}. */
void pappus_area_clear(pappus_area *area);
/** Deep copy; the name becomes "" when it was NULL. */
int pappus_area_copy(pappus_area *out, const pappus_area *area, pappus_error *err);
/** Area of a ring by the shoelace formula: positive counter-clockwise. */
double pappus_ring_area_m2(const pappus_ring *ring);
/** Area of all polygons, holes taken off (polygons that do not overlap). */
double pappus_area_m2(const pappus_area *area);
/** Turns shells counter-clockwise and holes clockwise. */
void pappus_area_orient(pappus_area *area);
/** West, south, east, north of all points; false when there are none. */
bool pappus_area_bounds(double bounds_m[4], const pappus_area *area);
/** Half the length and half the breadth of an area along and across a bearing. */
void pappus_area_extent(double *along_m, double *across_m, const pappus_area *area,
                        double bearing_deg);

/** A context without handlers: GEOS prints nothing. NULL when out of memory. */
GEOSContextHandle_t pappus_geos_begin(void);
void pappus_geos_end(GEOSContextHandle_t geos);

/** A multipolygon of the area; *out is the caller's, GEOSGeom_destroy_r. */
int pappus_area_to_geos(GEOSGeometry **out, GEOSContextHandle_t geos, const pappus_area *area,
                        pappus_error *err);
/** The polygons in a geometry (lines and points in a collection are left out),
 * oriented. `name` is copied; NULL gives "". */
int pappus_area_from_geos(pappus_area *out, GEOSContextHandle_t geos, const GEOSGeometry *geometry,
                          const char *name, pappus_error *err);

/** What is wrong with an area, by GEOS. */
typedef struct {
    bool valid;
    char reason[96];        /**< GEOS's words, "Self-intersection" */
    double east_m, north_m; /**< where; NaN when GEOS does not say */
} pappus_validity;
int pappus_area_check(pappus_validity *out, const pappus_area *area, pappus_error *err);
/** Unites the polygons of an area (valid each, overlapping or touching) in place. */
int pappus_area_unite(pappus_area *area, pappus_error *err);

#endif
