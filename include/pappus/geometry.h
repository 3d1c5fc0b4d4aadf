/* SPDX-License-Identifier: GPL-3.0-or-later
 * Rings, areas and roads on the local plane, and the plane itself. Conventions: pappus.h. */
#ifndef PAPPUS_GEOMETRY_H
#define PAPPUS_GEOMETRY_H

#include <pappus/status.h>

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#ifdef __cplusplus
extern "C" {
#endif

/** A closed ring without its repeated last point: east, north pairs. */
typedef struct {
    size_t point_count;
    double *points_m;
} pappus_ring;

typedef struct {
    size_t ring_count; /**< the shell first (counter-clockwise), then holes (clockwise) */
    pappus_ring *rings;
} pappus_polygon;

typedef struct {
    char *name; /**< never NULL */
    size_t polygon_count;
    pappus_polygon *polygons;
} pappus_area;

typedef struct {
    char *name;
    size_t point_count;
    double *points_m;
} pappus_road;

/** The local tangent plane: latitude and longitude (WGS 84 degrees) to and from
 * metres east and north of the pad. */
typedef struct pappus_frame pappus_frame;
int pappus_frame_new(pappus_frame **out, double latitude_deg, double longitude_deg,
                     pappus_error *err);
int pappus_frame_to_local(const pappus_frame *frame, size_t count,
                          const double *latitude_longitude_deg, double *east_north_m,
                          pappus_error *err);
int pappus_frame_to_geographic(const pappus_frame *frame, size_t count, const double *east_north_m,
                               double *latitude_longitude_deg, pappus_error *err);
void pappus_frame_free(pappus_frame *frame);

#ifdef __cplusplus
}
#endif
#endif
