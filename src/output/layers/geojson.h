/* SPDX-License-Identifier: GPL-3.0-or-later
 * GeoJSON layers of an answer. */
#ifndef PAPPUS_OUTPUT_GEOJSON_H
#define PAPPUS_OUTPUT_GEOJSON_H

#include "writer.h"

/** layers/ellipses.geojson, contours.geojson, posts.geojson. */
pappus_writer pappus_write_geojson;

#endif
