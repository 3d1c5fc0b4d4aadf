/* SPDX-License-Identifier: GPL-3.0-or-later
 * Probability ellipses of the bivariate normal with the cloud's mean and
 * covariance: x' C^-1 x <= k^2, k^2 the chi-square quantile with two degrees of
 * freedom, -2 ln(1 - level). Right where the cloud is Gaussian; how far it is not
 * shows in the share of landings truly inside. */
#ifndef PAPPUS_LANDING_ELLIPSE_H
#define PAPPUS_LANDING_ELLIPSE_H

#include "statistics.h"

/** Principal axes of a covariance: the variances along them, and the direction of
 * the major axis as a unit vector (east, north). Equal variances: north. */
typedef struct {
    double major_m2, minor_m2;
    double axis[2];
} pappus_axes;

pappus_axes pappus_axes_of(const double covariance_m2[2][2]);

/** Bearing of an undirected axis, degrees clockwise from north, 0 <= b < 180. */
double pappus_axis_bearing_deg(const double axis[2]);

/** Fills the ellipses of all levels with the share of the sample inside each. An
 * axis without spread (a cloud on a line or a point) has length 0, and every
 * landing counts as inside along it. */
void pappus_ellipses_fill(pappus_ellipse out[PAPPUS_LEVELS], const double mean_m[2],
                          const double covariance_m2[2][2], const pappus_cloud *cloud,
                          const pappus_sample *sample);

#endif
