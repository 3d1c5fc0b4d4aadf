/* SPDX-License-Identifier: GPL-3.0-or-later
 * Kernel density of a cloud of landings on a grid.
 *
 * One outcome: Gaussian kernels along the cloud's principal axes, adaptive (Abramson,
 * Annals of Statistics 10:1217, 1982): wider by (f/g)^-1/2 where a pilot density f is
 * thin, g its geometric mean, between 1 and 2 in steps of sqrt 2, so that the thin
 * rim of a cloud gives one smooth contour and not islands. The bandwidth of an axis is
 * s n^-1/6 (Scott, Multivariate Density Estimation, 1992), n the landings, s the scale
 * of the Gaussian that is as rough as the marginal: two-stage direct plug-in (Sheather
 * & Jones, JRSS B 53:683, 1991; Wand & Jones, Kernel Smoothing, 1995, section 3.6).
 * Two lobes far apart so keep the scale of one lobe. Both bandwidths grow together where
 * a landing would else stand too much alone (lobes of unlike size). Landings are shared out to
 * the four nodes around them (linear binning) and the grid is convolved along one axis
 * after the other.
 *
 * All outcomes: the outcomes' densities, weighted by their chance. A lobe that few and
 * light landings make over a wide area so keeps its own bandwidth. With equal weights
 * in each outcome n is its n_eff = 1/sum w^2.
 *
 * Stops being right: a strongly bent cloud is smoothed across its bends (a crescent with
 * ends at right angles comes out a third too large at 95 %); lobes side by side in both axes at
 * once (an X) are smoothed as if they were one; structure under the floor of the bandwidth is not
 * seen. A cloud without spread gets kernels of the floor. */
#ifndef PAPPUS_LANDING_DENSITY_H
#define PAPPUS_LANDING_DENSITY_H

#include "grid.h"
#include "statistics.h"

/** Adds the mass on the nodes, smoothed by Gaussian kernels along the axes, to the grid's
 * values. row: room for one row of nodes. Up to 6 steps to a bandwidth. */
void pappus_grid_smooth(pappus_grid *grid, const double *mass, double *row,
                        const double bandwidth_m[2]);

/** A density, and what it is at each landing it was made from. */
typedef struct {
    pappus_grid grid;
    double bandwidth_m[2]; /**< along the axes, before widening */
    double *at_per_m2;     /**< beside the sample; as the grid has it */
    double *others_per_m2; /**< the same by all other landings (leave-one-out) */
} pappus_density;

/** How fine: for the zones of an answer, or for a first look at them. */
typedef enum { PAPPUS_GRID_FINE, PAPPUS_GRID_COARSE } pappus_grid_detail;

/** The density of one outcome. floor_m: least bandwidth. */
int pappus_density_of_outcome(pappus_density *out, const pappus_cloud *cloud,
                              const pappus_sample *sample, double floor_m,
                              pappus_grid_detail detail, pappus_error *err);
/** The density of all, from those of the outcomes (entries of outcomes without
 * landings are not looked at). */
int pappus_density_of_all(pappus_density *out, const pappus_cloud *cloud,
                          const pappus_strata *strata,
                          const pappus_density outcomes[PAPPUS_OUTCOMES], pappus_grid_detail detail,
                          int threads, pappus_error *err);
void pappus_density_clear(pappus_density *density);

/** Least bandwidth for the zones of a cloud: what a grid over all outcomes can
 * still show, and never under 0.1 m. */
int pappus_density_floor(double *out_m, const pappus_cloud *cloud, const pappus_strata *strata,
                         pappus_grid_detail detail, pappus_error *err);

#endif
