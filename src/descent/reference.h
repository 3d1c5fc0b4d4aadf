/* SPDX-License-Identifier: GPL-3.0-or-later
 * The reference integrator: one fall, tight tolerance, whole path if asked. */
#ifndef PAPPUS_DESCENT_REFERENCE_H
#define PAPPUS_DESCENT_REFERENCE_H

#include "fall.h"

/** Error per step in metres and m/s, absolute and relative: the tolerance of the
 * yardstick (path errors under 1 mm). */
#define PAPPUS_REFERENCE_TOLERANCE 1e-9

/** Brings one fall down. u_mps, v_mps: the wind at the air's nodes, linear between
 * them. path may be NULL; else its points are appended (start with {0}), thinned to
 * about 10 per second, and are the caller's to clear with pappus_path_clear.
 * PAPPUS_E_NUMERIC when the integration fails. */
int pappus_reference_fall(pappus_touchdown *out, pappus_path *path, const pappus_fall *fall,
                          const pappus_air *air, const double *u_mps, const double *v_mps,
                          double tolerance, pappus_error *err);
/** Frees the points of a path, not the path. */
void pappus_path_clear(pappus_path *path);

#endif
