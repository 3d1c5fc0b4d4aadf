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
    const uint32_t *index;          /**< into the cloud */
    const uint8_t *outcome;         /**< the cloud's; NULL: all weigh 1 */
    double weight[PAPPUS_OUTCOMES]; /**< of a landing of each outcome */
    double total;                   /**< sum of the weights */
} pappus_sample;

/** Weight of the sample's landing i. */
static inline double pappus_sample_weight(const pappus_sample *sample, size_t i)
{
    return sample->outcome ? sample->weight[sample->outcome[sample->index[i]]] : 1.0;
}

/** The landings of a cloud, fewer than 2^32, in order of outcome. */
typedef struct {
    uint32_t *index;
    const uint8_t *outcome; /**< the cloud's */
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
/** The same of a sample's values, beside its landings and NaN where there is none: what is
 * copied are the values about a quantile. PAPPUS_E_MEMORY. */
int pappus_sample_quantiles_at(double *out, const double *values, const pappus_sample *sample,
                               const double *p, size_t quantiles);
int pappus_sample_quantiles(pappus_quantiles *out, const double *values,
                            const pappus_sample *sample);
/** The same of angles in degrees: quantiles of the deviation from the weighted
 * circular mean, results 0 <= angle < 360; leaves the deviations in values. Means something
 * for angles within half a turn of each other; where the mean resultant vanishes, NaN. */
int pappus_sample_angle_quantiles(pappus_quantiles *out, double *values,
                                  const pappus_sample *sample);

/** Weighted mean and covariance, sum w (x-m)(x-m)' / (1 - sum w^2) with weights
 * summing to 1; covariance NaN for fewer than two landings. */
void pappus_sample_moments(double mean_m[2], double covariance_m2[2][2], const pappus_cloud *cloud,
                           const pappus_sample *sample);

#endif
