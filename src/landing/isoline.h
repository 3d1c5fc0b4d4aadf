/* SPDX-License-Identifier: GPL-3.0-or-later
 * The area where a grid's values reach a threshold, as polygons: marching squares
 * (Lorensen & Cline, SIGGRAPH 1987, in the plane) with linear interpolation along the
 * edges of the grid. Neighbouring cells share the crossing on their edge, so rings close
 * and never cross; a crossing keeps 1/1000 of an edge away from the nodes, so rings
 * never touch. A saddle is settled by the mean of its four nodes. */
#ifndef PAPPUS_LANDING_ISOLINE_H
#define PAPPUS_LANDING_ISOLINE_H

#include "density.h"

/** Shells counter-clockwise with their holes clockwise, name "". The values on the
 * border of the grid must be under the threshold. No polygon when no value reaches it.
 * To be freed with pappus_area_clear. */
int pappus_isoline_area(pappus_area *out, const pappus_grid *grid, double threshold_per_m2,
                        pappus_error *err);

#endif
