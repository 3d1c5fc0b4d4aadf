/* SPDX-License-Identifier: GPL-3.0-or-later
 * Intervals: of a share, of a share over strata, of a percentile.
 *
 * Share: the score interval (Wilson, JASA 22:209, 1927), public as pappus_wilson.
 * Share over strata: the strata's Wilson limits combined by the recovery of
 * variance estimates (Zou & Donner, Statistics in Medicine 27:1693, 2008; the idea
 * is Newcombe's, Statistics in Medicine 17:873, 1998):
 *   low  = p - sqrt(sum P_h^2 (p_h - l_h)^2),  high = p + sqrt(sum P_h^2 (u_h - p_h)^2)
 * Over strata as a launch has them a nominal 95 % covers 94 to 96 % of seeded repetitions
 * (summed variances cover as little as 63 % when events are rare). Where fewer than one
 * hit is expected it wanders, 92 to 97 %, and every miss is then a limit that is too
 * high: the safe side for a keep-out.
 * Weighted sum: of independent terms of which some are not 0, gamma limits that match its
 * mean and variance, the upper one with one more of the heaviest (Fay & Feuer, Statistics
 * in Medicine 16:791, 1997); of a plain count they are those of Poisson's law (Garwood
 * 1936), of many terms the normal ones.
 * Percentile: two order statistics (David & Nagaraja, Order Statistics, 2003,
 * section 7.1), right for any distribution, conservative for discrete ones. */
#ifndef PAPPUS_LANDING_INTERVAL_H
#define PAPPUS_LANDING_INTERVAL_H

#include <pappus/zones.h>

/** A sum of weights and its variance; heaviest: the most that one more would add. */
pappus_estimate pappus_weighted_estimate(double value, double variance, double heaviest,
                                         double confidence);

/** Estimates of the strata in one; those that are NaN are left out and the rest scaled to
 * sum to 1. */
pappus_estimate pappus_strata_estimate(const double probability[PAPPUS_OUTCOMES],
                                       const pappus_estimate strata[PAPPUS_OUTCOMES]);

/** Share over the strata of chance probability[h], hits[h] of count[h] landings in
 * each. Strata without landings are left out and the rest scaled to sum to 1; all
 * NaN when none is left. */
pappus_estimate pappus_share_estimate(const double probability[PAPPUS_OUTCOMES],
                                      const size_t count[PAPPUS_OUTCOMES],
                                      const size_t hits[PAPPUS_OUTCOMES], double confidence);

/** Quantile p of values[count] and its interval; reorders the values. Too few
 * values for a limit at this confidence: -INFINITY, INFINITY. NaN for count 0. */
pappus_estimate pappus_percentile_estimate(double *values, size_t count, double p,
                                           double confidence);

/** Ranks (from 1) of the order statistics that bound quantile p: 0 and count + 1
 * when there are too few values. */
void pappus_percentile_ranks(size_t *low, size_t *high, size_t count, double p, double confidence);

#endif
