/* SPDX-License-Identifier: GPL-3.0-or-later
 * Heights of levels that have a pressure alone. */
#ifndef PAPPUS_INPUT_WIND_HYDROSTATIC_H
#define PAPPUS_INPUT_WIND_HYDROSTATIC_H

#include "wind_levels.h"

/** Gives a geopotential height to the levels of one sounding that have a pressure and no
 * height, from those that have both. What lies too far from them stays without. Returns
 * how many got one. */
size_t pappus_wind_fill_heights(pappus_wind_raw *levels, size_t count);

#endif
