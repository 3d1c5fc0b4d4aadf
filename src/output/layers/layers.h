/* SPDX-License-Identifier: GPL-3.0-or-later
 * The layers of an answer in every format. */
#ifndef PAPPUS_OUTPUT_LAYERS_H
#define PAPPUS_OUTPUT_LAYERS_H

#include "writer.h"

/** layers/ with shapefiles and GeoJSON; posts.gpx and zone.kml. */
pappus_writer pappus_write_layers;

#endif
