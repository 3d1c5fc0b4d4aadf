/* SPDX-License-Identifier: GPL-3.0-or-later
 * Which points lie in an area, many at once, and how near its edge is. Objects
 * are read-only after they are made and may be shared between threads. */
#ifndef PAPPUS_LANDING_CONTAINMENT_H
#define PAPPUS_LANDING_CONTAINMENT_H

#include <pappus/zones.h>

typedef struct pappus_containment pappus_containment;

/** Copies the area. An area without polygons holds no point. */
int pappus_containment_new(pappus_containment **out, const pappus_area *area, pappus_error *err);
void pappus_containment_free(pappus_containment *containment);

/** inside[i] = 1 when the point is in the area or exactly on its edge, as GEOS
 * `intersects` has it (and so do the libraries built on it), else 0; a point that
 * is not finite is in no area. threads 0: all. The same on any number of threads. */
int pappus_containment_test(uint8_t *inside, const pappus_containment *containment, size_t count,
                            const double *east_m, const double *north_m, int threads,
                            pappus_error *err);

/** West, south, east, north; false for an area that holds no point. */
bool pappus_containment_bounds(double bounds_m[4], const pappus_containment *containment);

/** The edge as one point sees it. */
typedef struct {
    double distance_m;      /**< to the nearest edge point; positive inside, negative outside */
    double east_m, north_m; /**< that point */
    double normal_east, normal_north; /**< unit vector out of the area there */
} pappus_edge;

/** PAPPUS_E_NUMERIC for an area without edges or a point that is not finite. */
int pappus_containment_edge(pappus_edge *out, const pappus_containment *containment, double east_m,
                            double north_m, pappus_error *err);

#endif
