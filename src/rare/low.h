/* SPDX-License-Identifier: GPL-3.0-or-later
 * The wind that an "upwind" apogee goes by, and what of it a fall's drift leaves open. The
 * mean wind of the lowest 300 m is b'w, the drift a'w (law.h): given profile and scale,
 *   b'w - beta a'w,  beta = a'Cb / a'Ca,
 * is normal and independent of the drift, and adding C (b - beta a) d / (b'Cb - beta a'Cb) to
 * the wind adds d to it and nothing to the drift. */
#ifndef PAPPUS_RARE_LOW_H
#define PAPPUS_RARE_LOW_H

#include "wind_lean.h"

typedef struct {
    bool there; /**< false: nothing goes by it, or the drift leaves nothing open */
    pappus_wind_lean lean;
    double *across; /**< [profile] a'Sb at unit scale */
    double gust_across;
} rare_low;

/** main: of the drift. */
int rare_low_build(rare_low *out, const pappus_wind_lean *main, pappus_error *err);
void rare_low_clear(rare_low *low);
/** beta, and the standard deviation of what is left open; 0: nothing is. */
void rare_low_of(double *beta, double *sd, const rare_low *low, const pappus_wind_lean *main,
                 int profile, double scale);

#endif
