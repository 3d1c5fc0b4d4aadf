/* SPDX-License-Identifier: GPL-3.0-or-later
 * The values of a landing that are drawn from a normal number each: what that number is, and
 * another in its place. */
#ifndef PAPPUS_DESCENT_NORMALS_H
#define PAPPUS_DESCENT_NORMALS_H

#include "draws.h"

typedef struct {
    size_t count;
    size_t at[PAPPUS_QUANTITIES_MOST];
    double low[PAPPUS_QUANTITIES_MOST], high[PAPPUS_QUANTITIES_MOST]; /**< physical: (low, high] */
} pappus_normals;

/** The uncertain quantities that have a normal or lognormal law. */
void pappus_normals_of(pappus_normals *out, const pappus_draws *draws);
/** z[count] of one landing. */
void pappus_normals_read(double *z, const pappus_normals *normals, const pappus_draws *draws,
                         const pappus_drawn *drawn);
/** Adds by[count] to them; false, and nothing is changed, where that is not physical. */
bool pappus_normals_lean(pappus_drawn *drawn, const pappus_normals *normals,
                         const pappus_draws *draws, const double *by);

#endif
