/* SPDX-License-Identifier: GPL-3.0-or-later
 * The hazard field: at a place the chance per flight that a person standing there is hit,
 *   H(y) = A sum_h P_h D_h(y),  D_h the density of landings that would hurt.
 * D_h from weighted landings by a kernel estimate with a parametric start s (Hjort & Glad,
 * Annals of Statistics 23:882, 1995),
 *   D(y) = s(y) sum_i W_i / s(r_i) K(y - r_i),
 * s the normal or Student law of the landings' mean and covariance: what is smoothed is
 * their ratio to it, which is flat, so that the far tail is not the kernel's. Landings that
 * were led far out make the sum there one of many.
 *
 * Where it stops being right: structure narrower than the kernel (a quarter of the zone's
 * own scale) is smoothed; a zone of two lobes far apart is smoothed by the scale of both.
 * A vehicle is taken to hit the ground once, as one piece of a person's size: parts that
 * scatter, slides and bounces are not in it. */
#ifndef PAPPUS_RARE_FIELD_H
#define PAPPUS_RARE_FIELD_H

#include "density.h"

/** Weighted landings of one outcome. */
typedef struct {
    size_t count;
    const double *east_m, *north_m, *weight; /**< weights of all sum to about 1 */
    const uint8_t *counts;                   /**< 1: would hurt; the others are left out */
    double dof;                              /**< of the start; infinite: normal */
} field_sample;

/** Density of the landings that count, per flight with the outcome: a grid that ends where
 * chance times the start falls under least_per_m2. per_m2 NULL when it is nowhere over it. */
int field_density(pappus_grid *out, const field_sample *sample, double chance, double least_per_m2,
                  pappus_error *err);

/** H over a level grid (axes east and north) that holds those of the outcomes. */
int field_sum(pappus_grid *out, const pappus_grid *outcomes, const double *factor, size_t count,
              int threads, pappus_error *err);

#endif
