/* SPDX-License-Identifier: GPL-3.0-or-later
 * Places: the pad's local plane, other reference systems by PROJ, and their text for
 * .prj files. A transform may not be shared between threads. Axis order is always x east,
 * y north, and for geographic systems longitude, latitude in degrees. */
#ifndef PAPPUS_BASE_GEODESY_H
#define PAPPUS_BASE_GEODESY_H

#include <pappus/geometry.h>

#define PAPPUS_EPSG_WGS84 4326

/** From one reference system to another. */
typedef struct pappus_transform pappus_transform;

/** from, to: anything that PROJ knows as a reference system ("EPSG:4326", WKT
 * of any kind, a PROJ string). PAPPUS_E_FIELD when either is not one or there is
 * no way between them. */
int pappus_transform_new(pappus_transform **out, const char *from, const char *to,
                         pappus_error *err);
/** Transforms `count` x, y pairs in place. A pair that cannot be transformed
 * becomes NaN, NaN. */
void pappus_transform_run(const pappus_transform *transform, size_t count, double *xy);
void pappus_transform_free(pappus_transform *transform);

/** From the local plane of a pad to a reference system: for the writers. Where that is WGS 84,
 * as where a .prj says so in the words of pappus_crs_wkt, PROJ and its data are not needed. */
int pappus_transform_from_local(pappus_transform **out, double latitude_deg, double longitude_deg,
                                int epsg, pappus_error *err);

/** EPSG code of the UTM zone (WGS 84) that holds a place: 326zz north, 327zz
 * south; plain six-degree zones, without the exceptions of Norway and Svalbard.
 * 0 beyond 84 north and 80 south, where UTM ends. */
int pappus_utm_epsg(double latitude_deg, double longitude_deg);

/** The text of WGS 84 or a UTM zone of it as .prj files have it (WKT1 as ESRI writes it,
 * one line); the caller frees it. */
int pappus_crs_wkt(char **out, int epsg, pappus_error *err);

#endif
