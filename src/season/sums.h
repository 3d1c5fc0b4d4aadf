/* SPDX-License-Identifier: GPL-3.0-or-later
 * Sums over the landings of many days: on a grid about the pad, for the footprint, and by
 * how far they drift, for its quantiles. Each landing counts with its weight, each day as
 * much as any other.
 *
 * Weights are whole numbers, 2^24 to a day, so that sums are exact and do not depend on
 * the order in which days, threads and shards add to them; a day's landings are rounded by
 * half of one in 2^24 each. Whole as doubles up to 2^29 days.
 *
 * The grid is 400 cells wide, a fixed size whatever the archive: two and a half apogee
 * heights each way and more. What lands beyond is counted and not placed. A class of drift
 * is 2 % wide, from 1 m to 100 km: a quantile is good to 1 %. */
#ifndef PAPPUS_SEASON_SUMS_H
#define PAPPUS_SEASON_SUMS_H

#include <pappus/season.h>

#define SEASON_CELLS 400
#define SEASON_DRIFTS 582
#define SEASON_WHOLE 16777216.0 /* of a day's landings */

typedef struct {
    uint64_t cells[SEASON_CELLS][SEASON_CELLS]; /**< north, east; the pad is amid them */
    uint64_t drift[12][SEASON_DRIFTS];          /**< by month */
    uint64_t beyond;                            /**< off the grid */
} season_sums;

/** A cell's width for an apogee: 1, 2 or 5 times a power of ten. */
double season_cell_m(double apogee_m);
/** month: 1 to 12. */
void season_sums_add(season_sums *sums, const pappus_cloud *cloud, double cell_m, int month);
/** Of the months that have their bit (1 << month - 1); NaN without landings. */
pappus_quantiles season_drift_m(const season_sums *sums, unsigned months);
/** Share of the landings off the grid; 0 without any. */
double season_beyond(const season_sums *sums);

/** Contours of the sums, which are smoothed by a normal kernel: its width is half of what
 * the normal reference has for as many values as there are days (Scott, Multivariate Density
 * Estimation, 1992: sd n^-1/6), and no less than a cell; half, as the days' zones are wide
 * themselves (A). The threshold of a level is that at which the cells over it hold it. A
 * level that is not on the grid has no polygons. share is of the cells with their middle
 * inside. To be cleared with pappus_contours_clear. */
int season_footprint(pappus_contour out[PAPPUS_LEVELS], const season_sums *sums, double cell_m,
                     size_t days, pappus_error *err);

#endif
