/* SPDX-License-Identifier: GPL-3.0-or-later
 * Where a landing lies among those that were expected. */
#ifndef PAPPUS_FLIGHT_AGAINST_H
#define PAPPUS_FLIGHT_AGAINST_H

#include "density.h"

/** Density of all landings of a cloud, and what of them lies where it is higher. */
typedef struct {
    pappus_density density;
    size_t count;
    double *sorted_per_m2; /**< density at the landings by the others, falling */
    double *above;         /**< beside it: share of the landings up to there */
} pappus_expected;

int pappus_expected_build(pappus_expected *out, const pappus_cloud *cloud, pappus_error *err);
void pappus_expected_clear(pappus_expected *expected);
/** Share of the landings that lie where more are expected than at this place: uniform between
 * 0 and 1 where the place is one more landing of the same law. */
double pappus_expected_rank(const pappus_expected *expected, double east_m, double north_m);
/** The least contour that holds a rank, 1: none. */
double pappus_level_of_rank(double rank);

#endif
