/* SPDX-License-Identifier: GPL-3.0-or-later
 * The error model fitted to pairs: the roots of the summed estimating functions of
 * moments.h, the scales first, then the correlation length and the decoupling, then the degrees of
 * freedom.
 *
 * Every parameter has a weak normal prior in its transformed scale about the default:
 * what an archive cannot tell (the factor aloft from low soundings) stays near it. That
 * of `error` is what the literature gives for a sounding, 0.5 to 2 m/s (SOURCES 6), the
 * others are wide. Pairs of 6 h and more tell how the wind changes, by the weather and
 * by the time of day, and not the error at age 0: an archive without younger ones leaves
 * `error` to its prior and the others follow it.
 *
 * Pairs are not independent: they share soundings, and days in a row are alike. The
 * spread is A^-1 (J + P) A^-T, A the derivative of the functions, J the covariance of
 * their sums under the block bootstrap (blocks.h; a bootstrap of the estimating function
 * in one Newton step, Hu & Kalbfleisch, Canadian Journal of Statistics 28:449, 2000), P
 * that of the priors as one more observation each. Intervals are symmetric in the
 * transformed scale, that of 1/nu in its root. */
#ifndef PAPPUS_SKILL_FIT_H
#define PAPPUS_SKILL_FIT_H

#include "moments.h"

/** Fewer pairs are not fitted. */
#define PAPPUS_FIT_LEAST_PAIRS 30

/** Fits the pairs of one age (of pappus_ages_h), or of all up to a day (-1). PAPPUS_E_WIND
 * for too few pairs, PAPPUS_E_NUMERIC when the fit does not settle. */
int pappus_fit_model(pappus_skill_fit *out, const pappus_pairs *pairs, int age, pappus_error *err);
/** The correlation length of one age by itself, all else as fitted; NaN without pairs. */
int pappus_fit_length(pappus_skill_length *out, const pappus_pairs *pairs,
                      const pappus_skill_fit *fit, int age, pappus_error *err);
/** The values of a fit. */
pappus_wind_error pappus_fit_law(const pappus_skill_fit *fit);

#endif
