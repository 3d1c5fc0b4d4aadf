/* SPDX-License-Identifier: GPL-3.0-or-later
 * Where a fall lands that is led to x, told by falls that were flown: near m(x) = c + B x,
 * off by a scatter rho. Much of that scatter hangs on the values that were drawn with the
 * fall, z by their normal numbers (how long it takes, how fast it was at apogee):
 *   landing = c + B x + S z + rest.
 * A fall that shall land d beside m(x) is likeliest to have z = G d,
 *   G = S' (S S' + P)^-1, P the rest's covariance,
 * which is the mean of z given d where all is normal: z is leaned by that (normals.h).
 * Whatever the numbers are, landings are weighed by what they were drawn from; bad ones only
 * cost landings. */
#ifndef PAPPUS_RARE_MAP_H
#define PAPPUS_RARE_MAP_H

#include "normals.h"

/** The values' and, where the apogee turns with the wind, two of the low wind (low.h). */
#define RARE_NORMALS_MOST (PAPPUS_QUANTITIES_MOST + 2)

typedef struct {
    double shift_m[2], matrix[2][2]; /**< c, B */
    double back[2][2];               /**< B^-1 */
    double scatter_m[2];             /**< rho, as x would be off: along its axes */
    double told;                     /**< part of rho's variance that z tells, 0 to 1 */
    size_t normal_count;
    double lean_per_m[RARE_NORMALS_MOST][2]; /**< G */
} rare_map;

/** Falls that were flown: where each was led, where it landed, its z[normal_count]. */
typedef struct {
    size_t count, normal_count;
    const double (*x_m)[2], (*at_m)[2];
    const double *normal;
} rare_flown;

/** Least squares of c and B over led falls. */
void rare_map_fit(rare_map *out, const rare_flown *flown);
/** c, rho and G of those whose landing lies nearest to a place. */
int rare_map_localise(rare_map *map, const rare_flown *flown, const double near_m[2],
                      pappus_error *err);
void rare_map_to(double out_m[2], const rare_map *map, const double x_m[2]);
void rare_map_from(double x_m[2], const rare_map *map, double east_m, double north_m);

#endif
