/* SPDX-License-Identifier: GPL-3.0-or-later
 * The zones of a window's hours as a layer. */
#ifndef PAPPUS_OUTPUT_WINDOW_LAYER_H
#define PAPPUS_OUTPUT_WINDOW_LAYER_H

#include "writer.h"

/** layers/hours.shp and layers/hours.geojson: the 50 % and 95 % zones of each hour, with its
 * time; no file without contours. Of the output's answer only the plan is looked at. */
int window_layer_write(const pappus_output *output, const pappus_window *window, pappus_error *err);

#endif
