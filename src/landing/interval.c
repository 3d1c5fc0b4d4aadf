/* SPDX-License-Identifier: GPL-3.0-or-later
 * Intervals of shares and percentiles; methods in interval.h. */
#include "interval.h"

#include "ranks.h"

#include <gsl/gsl_cdf.h>
#include <math.h>

#define LARGE 100.0 /* shape of a gamma law */

pappus_estimate pappus_wilson(double successes, double n, double confidence)
{
    if (!(n > 0.0)) return (pappus_estimate){NAN, NAN, NAN};
    double z = gsl_cdf_ugaussian_Qinv(0.5 * (1.0 - confidence));
    double share = successes / n, z2n = z * z / n;
    double middle = (share + 0.5 * z2n) / (1.0 + z2n);
    double half = z * sqrt(share * (1.0 - share) / n + 0.25 * z2n / n) / (1.0 + z2n);
    return (pappus_estimate){share, successes > 0.0 ? fmax(middle - half, 0.0) : 0.0,
                             successes < n ? fmin(middle + half, 1.0) : 1.0};
}

/* Quantile of the gamma law of a mean and variance: exactly by GSL, which has no inverse of
 * large shapes; those by Wilson & Hilferty (PNAS 17:684, 1931), right to 1e-4 from LARGE. */
static double gamma_quantile(double p, double mean, double variance)
{
    double shape = mean * mean / variance;
    if (shape < LARGE) return gsl_cdf_gamma_Pinv(p, shape, variance / mean);
    double root = 1.0 - 1.0 / (9.0 * shape) + gsl_cdf_ugaussian_Pinv(p) / (3.0 * sqrt(shape));
    return mean * root * root * root;
}

pappus_estimate pappus_weighted_estimate(double value, double variance, double heaviest,
                                         double confidence)
{
    double tail = 0.5 * (1.0 - confidence), low = 0.0;
    double above = value + heaviest, spread = variance + heaviest * heaviest;
    if (!(spread > 0.0)) return (pappus_estimate){value, value, value};
    if (value > 0.0 && variance > 0.0) low = gamma_quantile(tail, value, variance);
    double high = gamma_quantile(1.0 - tail, above, spread);
    return (pappus_estimate){value, fmin(low, value), fmin(fmax(high, value), 1.0)};
}

pappus_estimate pappus_strata_estimate(const double probability[PAPPUS_OUTCOMES],
                                       const pappus_estimate strata[PAPPUS_OUTCOMES])
{
    double total = 0.0, share = 0.0, below = 0.0, above = 0.0;
    for (size_t h = 0; h < PAPPUS_OUTCOMES; h++) {
        const pappus_estimate *one = &strata[h];
        if (isnan(one->value)) continue;
        total += probability[h];
        share += probability[h] * one->value;
        below += pow(probability[h] * (one->value - one->low), 2.0);
        above += pow(probability[h] * (one->high - one->value), 2.0);
    }
    if (!(total > 0.0)) return (pappus_estimate){NAN, NAN, NAN};
    return (pappus_estimate){share / total, fmax((share - sqrt(below)) / total, 0.0),
                             fmin((share + sqrt(above)) / total, 1.0)};
}

pappus_estimate pappus_share_estimate(const double probability[PAPPUS_OUTCOMES],
                                      const size_t count[PAPPUS_OUTCOMES],
                                      const size_t hits[PAPPUS_OUTCOMES], double confidence)
{
    pappus_estimate strata[PAPPUS_OUTCOMES];
    for (size_t h = 0; h < PAPPUS_OUTCOMES; h++)
        strata[h] = pappus_wilson((double)hits[h], (double)count[h], confidence);
    return pappus_strata_estimate(probability, strata);
}

/* Least k with P(B <= k) >= q for B ~ Binomial(n, p): where the normal approximation
 * with its skewness (Cornish & Fisher 1937) says, then step by step. */
static size_t binomial_quantile(double q, double p, size_t n)
{
    double z = gsl_cdf_ugaussian_Pinv(q), spread = sqrt((double)n * p * (1.0 - p));
    double about = (double)n * p + z * spread + (z * z - 1.0) * (1.0 - 2.0 * p) / 6.0;
    size_t k = (size_t)fmin(fmax(round(about), 0.0), (double)n);
    while (k < n && gsl_cdf_binomial_P((unsigned)k, p, (unsigned)n) < q)
        k++;
    while (k > 0 && gsl_cdf_binomial_P((unsigned)k - 1, p, (unsigned)n) >= q)
        k--;
    return k;
}

void pappus_percentile_ranks(size_t *low, size_t *high, size_t count, double p, double confidence)
{
    double tail = 0.5 * (1.0 - confidence);
    *low = binomial_quantile(tail, p, count);
    *high = binomial_quantile(1.0 - tail, p, count) + 1;
}

pappus_estimate pappus_percentile_estimate(double *values, size_t count, double p,
                                           double confidence)
{
    pappus_estimate out = {NAN, NAN, NAN};
    size_t low, high, at;
    if (count == 0) return out;
    pappus_percentile_ranks(&low, &high, count, p, confidence);
    at = (size_t)ceil((double)count * (p - 1e-12));
    const size_t rank[3] = {at > 0 ? at - 1 : 0, low > 0 ? low - 1 : 0,
                            high <= count ? high - 1 : 0};
    double value[3];
    pappus_ranks(value, values, count, rank, 3);
    return (pappus_estimate){value[0], low > 0 ? value[1] : -INFINITY,
                             high <= count ? value[2] : INFINITY};
}
