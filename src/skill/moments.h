/* SPDX-License-Identifier: GPL-3.0-or-later
 * What one pair of winds says of each parameter of the error model: estimating functions,
 * slopes that are 0 on average at the truth (Godambe & Heyde, International Statistical
 * Review 55:231, 1987). They ask what a drift asks, and so hold where the true error has
 * not quite the model's shape.
 *
 * - The scales (error, growth, factors of height) by the mean square of the change at a
 *   few heights: the slope of the normal likelihood of each height by itself.
 * - The correlation length by the products of the changes at two heights, over their
 *   standard deviations, against their mean square: x y - r (x^2 + y^2)/2, which is 0 on
 *   average at r = exp(-dz/L) whatever the scales; summed over the lowest 3 km with the
 *   weight that the two heights have in a mean over it, as a fall averages them, times
 *   the slope of r.
 * - The decoupling in the same way by the products of the change near the ground and those
 *   at 200 to 2000 m, with the weight that each height has in the mean over them: so that a
 *   reading at the ground pulls the mean wind of a fall as far as it knows it, even where
 *   the correlation does not fall off as the model's (at Perth in 12 h, by the sea breeze:
 *   0.9 at 200 m, none at 1500 m).
 * - The degrees of freedom by how the layers' means spread: the slope of the likelihood
 *   of a Student pair (u, v) with one scale and d2 = (u^2 + v^2)/V,
 *     l = ln(nu/2) - ln(pi (nu-2) V) - (nu+2)/2 ln(1 + d2/(nu-2)).
 *
 * A sounding is not the truth: its own error is in both winds of a pair, so that the
 * change has variance h^2 (2 error^2 + growth^2 t^(2/3)), where the model has error^2
 * once. A forecast is held against a sounding whose error is taken as known. */
#ifndef PAPPUS_SKILL_MOMENTS_H
#define PAPPUS_SKILL_MOMENTS_H

#include "pairs.h"
#include "wind_error.h"

/** Parameters as they are fitted: logarithms, the decoupling and the share of speed themselves, and
 * 1/nu. The scales come first. */
typedef enum {
    AT_ERROR,
    AT_GROWTH,
    AT_GROUND,
    AT_TOP,
    AT_LENGTH,
    AT_DECOUPLING,
    AT_SHARE,
    AT_TAIL,
    PARAMETERS
} parameter;
#define SCALES 4

/** Error per component of the sounding that a forecast is held against (SOURCES 6:
 * 0.5 to 2 m/s). */
#define PAPPUS_SOUNDING_ERROR_MPS 1.0

#define PAPPUS_LAYERS 5
/** Heights whose change is held against that near the ground. */
#define PAPPUS_COUPLED 5

/** The law before anything is measured. */
pappus_wind_error pappus_law_default(bool forecasts);
void pappus_parameters_of(double out[PARAMETERS], const pappus_wind_error *law);
/** What is not fitted is the default's. */
pappus_wind_error pappus_law_of(const double at[PARAMETERS]);

/** What the model says of pairs of one age. */
typedef struct {
    double age_h;
    double error_part, growth_part; /**< variances per component where the height factor is 1 and
                                       the wind aloft the usual one */
    double known_part;              /**< of the sounding that a forecast is held against */
    double speed_share;             /**< of growth_part */
    double layer[PAPPUS_LAYERS];    /**< variance of a layer's mean, over pappus_pair_variance */
    double correlation[PAPPUS_GRID_HEIGHTS][PAPPUS_GRID_HEIGHTS];
    double link[PAPPUS_GRID_HEIGHTS][PAPPUS_GRID_HEIGHTS];          /**< weights of the products */
    double coupled[PAPPUS_COUPLED], coupled_weight[PAPPUS_COUPLED]; /**< with the ground */
    double ground_factor;
    double factor[PAPPUS_GRID_HEIGHTS];
    double ground[PAPPUS_GRID_HEIGHTS], top[PAPPUS_GRID_HEIGHTS]; /**< slopes of its logarithm */
} pappus_age_terms;

void pappus_age_terms_fill(pappus_age_terms *out, const pappus_wind_error *law, bool forecasts,
                           double age_h);

/** Variance per component of a pair's change where the height factor is 1, and what the wind
 * aloft adds to its growth_part, over that part and the share. */
double pappus_pair_variance(double *aloft, const pappus_pair *pair, const pappus_age_terms *terms);

/** Slopes of one pair; returns the likelihood that the slopes of the scales are of. */
double pappus_pair_slopes(double slope[PARAMETERS], const pappus_pairs *pairs,
                          const pappus_pair *pair, const pappus_age_terms *terms, double dof);

/** d2 of each layer's mean, NaN where a height of the layer has no value. */
void pappus_pair_layers(double d2[PAPPUS_LAYERS], const pappus_pairs *pairs,
                        const pappus_pair *pair, const pappus_age_terms *terms);

#endif
