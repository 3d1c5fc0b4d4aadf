/* SPDX-License-Identifier: GPL-3.0-or-later
 * Outlines in formats of map programs and receivers, as GeoJSON. */
#ifndef PAPPUS_INPUT_FOREIGN_VECTOR_H
#define PAPPUS_INPUT_FOREIGN_VECTOR_H

#include <pappus/status.h>

/** True when a file begins like one that is read here: KML, KMZ, GPX, GeoPackage. */
bool pappus_vector_is(const char *bytes, size_t length);

/** Every area and line of every layer of the file as one GeoJSON FeatureCollection on WGS 84,
 * the name of each in its `name`; points (waypoints) are left out. Reads in a process of its
 * own. The caller frees *out. */
int pappus_vector_read(char **out, size_t *length, const char *path, pappus_error *err);

#endif
