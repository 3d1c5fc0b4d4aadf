/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PAPPUS_OUTPUT_SEASON_LAYER_H
#define PAPPUS_OUTPUT_SEASON_LAYER_H

#include "writer.h"

#include <pappus/season.h>

/** layers/footprint.shp and .geojson: where the landings of all days lie. "layers" is there. */
int season_layer_write(const pappus_output *output, const pappus_season_result *result,
                       pappus_error *err);

#endif
