/* SPDX-License-Identifier: GPL-3.0-or-later
 * Weighted statistics of a cloud of landings: the landings put in order of their
 * outcome, mean and covariance, quantiles.
 *
 * A quantile is the inverse of the weighted empirical distribution: the least
 * value whose cumulative weight reaches p (Hyndman & Fan, The American
 * Statistician 50:361, 1996, definition 1). Values are never interpolated, so a
 * quantile is a value that was seen. Landings for which a value does not exist
 * (NaN: the canopy did not fire) are left out. */
#ifndef PAPPUS_LANDING_STATISTICS_H
#define PAPPUS_LANDING_STATISTICS_H

#include <pappus/zones.h>

/** Landings that a statistic is of. */
typedef struct {
    size_t count;
    const size_t *index;  /**< into the cloud */
    const double *weight; /**< beside index; NULL: 1 each */
    double total;         /**< sum of the weights */
} pappus_sample;

/** The landings of a cloud in order of outcome, with their weights. */
typedef struct {
    size_t *index;
    double *weight; /**< beside index; sums to 1 over the cloud */
    size_t start[PAPPUS_OUTCOMES + 1];
    double probability[PAPPUS_OUTCOMES]; /**< of the outcomes drawn; sums to 1 */
} pappus_strata;

/** Weights are the cloud's; where some outcome with a chance was not drawn (a
 * cloud of the nominal outcome alone) they are scaled to sum to 1. */
int pappus_strata_build(pappus_strata *out, const pappus_cloud *cloud, pappus_error *err);
void pappus_strata_clear(pappus_strata *strata);
/** The landings of one outcome, equally weighted. */
pappus_sample pappus_strata_outcome(const pappus_strata *strata, int outcome);
/** All landings, weighted. */
pappus_sample pappus_strata_all(const pappus_strata *strata);

typedef struct {
    double value, weight;
} pappus_weighted;

/** Least value with cumulative weight >= p of the total; reorders the pairs. NaN
 * for count 0. Values are sorted into bins, again and again those of the bin that
 * holds the quantile, until few are left. */
double pappus_weighted_quantile(pappus_weighted *pairs, size_t count, double p);
/** Several at once, out[quantiles] beside p[quantiles]; does most of the work once. */
void pappus_weighted_quantiles_at(double *out, pappus_weighted *pairs, size_t count,
                                  const double *p, size_t quantiles);
/** The 5, 50 and 95 % quantiles. */
pappus_quantiles pappus_weighted_quantiles(pappus_weighted *pairs, size_t count);
/** The same of angles in degrees: quantiles of the deviation from the weighted
 * circular mean, results 0 <= angle < 360. Means something for angles within half a
 * turn of each other; where the mean resultant vanishes, NaN. */
pappus_quantiles pappus_angle_quantiles(pappus_weighted *pairs, size_t count);

/** Weighted mean and covariance, sum w (x-m)(x-m)' / (1 - sum w^2) with weights
 * summing to 1; covariance NaN for fewer than two landings. */
void pappus_sample_moments(double mean_m[2], double covariance_m2[2][2], const pappus_cloud *cloud,
                           const pappus_sample *sample);

#endif
