/* SPDX-License-Identifier: GPL-3.0-or-later
 * Highest-density contours: the smallest areas that hold 50, 90, 95 and 99 % of the
 * landings (Hyndman, The American Statistician 50:120, 1996). The threshold is the
 * weighted (1 - p) quantile of the leave-one-out density at the landings: with its own
 * kernel every landing would look at home and the area would come out too large for
 * landings to come. The area over the threshold becomes polygons with parts and holes
 * by marching squares on the density's grid (density.h, isoline.h). No part is dropped,
 * however small.
 *
 * share is the weighted fraction of the same landings in the polygons as they are
 * handed out. Where many landings lie in one spot no contour holds exactly p: the
 * threshold is halved to take the spot in, and share says what is held. */
#ifndef PAPPUS_LANDING_CONTOUR_H
#define PAPPUS_LANDING_CONTOUR_H

#include "density.h"

/** Contours of all together and of each outcome that has landings; those of an outcome
 * without are left {0}. outcomes may be NULL: not wanted. threads 0: all; the same on
 * any number of threads. To be cleared with pappus_contours_clear. A cloud without
 * landings leaves all {0}. */
int pappus_contours_build(pappus_contour all[PAPPUS_LEVELS],
                          pappus_contour outcomes[PAPPUS_OUTCOMES][PAPPUS_LEVELS],
                          const pappus_cloud *cloud, const pappus_strata *strata,
                          pappus_grid_detail detail, int threads, pappus_error *err);
void pappus_contours_clear(pappus_contour contours[PAPPUS_LEVELS]);

#endif
