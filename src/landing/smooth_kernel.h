/* SPDX-License-Identifier: GPL-3.0-or-later
 * pappus_grid_smooth (density.h), per instruction set. */
#ifndef PAPPUS_LANDING_SMOOTH_KERNEL_H
#define PAPPUS_LANDING_SMOOTH_KERNEL_H

#include "grid.h"

#define NODES_PER_BANDWIDTH 3.0 /* of the finer grid */
#define REACH 4.0               /* bandwidths at which a kernel is cut off */
#define WIDEST 2.0              /* widening of a bandwidth */

void smooth_kernel_generic(pappus_grid *grid, const double *mass, double *row,
                           const double bandwidth_m[2]);
void smooth_kernel_avx2(pappus_grid *grid, const double *mass, double *row,
                        const double bandwidth_m[2]);
void smooth_kernel_avx512(pappus_grid *grid, const double *mass, double *row,
                          const double bandwidth_m[2]);

#endif
