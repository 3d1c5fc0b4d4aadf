/* SPDX-License-Identifier: GPL-3.0-or-later
 * Shapefile layers of an answer. */
#ifndef PAPPUS_OUTPUT_SHAPEFILE_H
#define PAPPUS_OUTPUT_SHAPEFILE_H

#include "writer.h"

/** layers/landings, ellipses, contours, posts, boundary, keep_outs, roads; those
 * the answer has nothing for are left out. */
pappus_writer pappus_write_shapefiles;

#endif
