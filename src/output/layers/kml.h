/* SPDX-License-Identifier: GPL-3.0-or-later
 * The zone for a map program. */
#ifndef PAPPUS_OUTPUT_KML_H
#define PAPPUS_OUTPUT_KML_H

#include "writer.h"

/** zone.kml: contours (ellipses where there are none), field, pad and posts. */
pappus_writer pappus_write_kml;

#endif
