/* SPDX-License-Identifier: GPL-3.0-or-later
 * The drawn wind leaned towards where a fall is wanted to land, and what that does to its
 * chance. A fall that spends a(z) seconds about each height drifts by nearly a'w. Given its
 * profile and scale a drawn wind is normal, of covariance C = s^2 S + G (error and gusts,
 * u and v alike), so that
 *   w + (C a / a'Ca) d
 * drifts farther by d, and where w has its law given a'w, so has the leaned one given
 * a'w + d: what is left of w is independent of a'w. Whoever chooses a'w from another law
 * then weighs the fall by the two densities of a'w alone.
 * Where it stops being right: it does not, but for rounding; a(z) only has to be about
 * right for the leaning to be of use. */
#ifndef PAPPUS_AIR_WIND_LEAN_H
#define PAPPUS_AIR_WIND_LEAN_H

#include "wind_field.h"

typedef struct {
    const pappus_air *air; /**< borrowed */
    double *seconds;       /**< [node] a */
    double (*mean_m)[2];   /**< [profile] a'w of the mean wind: east, north */
    double *variance_m2;   /**< [profile] a'Sa, at unit scale */
    double gust_variance_m2;
    double *error;   /**< [profile][node] S a */
    double *gust;    /**< [node] G a */
    double *numbers; /**< what these point to */
} pappus_wind_lean;

/** seconds[node_count]: about each node of the air. */
int pappus_wind_lean_build(pappus_wind_lean *out, const pappus_air *air, const double *seconds,
                           pappus_error *err);
void pappus_wind_lean_clear(pappus_wind_lean *lean);

/** The scale of a landing whose scale is drawn as a normal number; 1 of a normal law. */
double pappus_wind_scale_of(const pappus_air *air, size_t profile, double normal);

/** As pappus_wind_draw, of given profiles and scales. */
void pappus_wind_draw_given(const pappus_air *air, pappus_isa isa, pappus_random random,
                            const uint64_t index[PAPPUS_LANES], const int profile[PAPPUS_LANES],
                            const float scale[PAPPUS_LANES], float *u_mps, float *v_mps);

/** a'w of every lane less that of its profile's mean wind: east, north. */
void pappus_wind_lean_measure(double out_m[2][PAPPUS_LANES], const pappus_wind_lean *lean,
                              const int profile[PAPPUS_LANES], const float *u_mps,
                              const float *v_mps);
/** Adds C a times share (east, north) to every lane's wind. */
void pappus_wind_lean_apply(const pappus_wind_lean *lean, const int profile[PAPPUS_LANES],
                            const float scale[PAPPUS_LANES], double share[2][PAPPUS_LANES],
                            float *u_mps, float *v_mps);

#endif
