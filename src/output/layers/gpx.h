/* SPDX-License-Identifier: GPL-3.0-or-later
 * Waypoints for a hand-held receiver. */
#ifndef PAPPUS_OUTPUT_GPX_H
#define PAPPUS_OUTPUT_GPX_H

#include "writer.h"

/** posts.gpx: the crews' posts and the expected landing point. */
pappus_writer pappus_write_gpx;

#endif
