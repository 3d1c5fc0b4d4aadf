/* SPDX-License-Identifier: GPL-3.0-or-later
 * A density of x that leads landings onto one area. Falls that were flown from the wide
 * density tell where a fall that is led to x lands: near m(x) = c + B x, off by a scatter
 * rho. On cells about the area the density is
 *   q(x) ~ f(x) sqrt(P(x)),  P(x) = area's indicator at m(x), smoothed by rho,
 * which is nearly the best there is for a chance to be estimated with (Owen, Monte Carlo
 * theory, methods and examples, chapter 9). Cells are laid finer, in rounds, where most of
 * f P lies. Whatever cells and c, B, rho are, q is a density that is known exactly; bad
 * ones only cost landings. */
#ifndef PAPPUS_RARE_AIM_H
#define PAPPUS_RARE_AIM_H

#include "containment.h"
#include "law.h"

#define AIM_SIDE 40
#define AIM_CELLS (AIM_SIDE * AIM_SIDE)

/** Where falls land that are led to x. */
typedef struct {
    double shift_m[2], matrix[2][2]; /**< c, B */
    double back[2][2];               /**< B^-1 */
    double scatter_m;                /**< rho */
} rare_map;

/** Least squares over led falls: x and where they landed. */
void rare_map_fit(rare_map *out, size_t count, const double (*x_m)[2], const double (*at_m)[2]);
/** c and rho of those whose landing lies nearest to a place. */
void rare_map_localise(rare_map *map, size_t count, const double (*x_m)[2], const double (*at_m)[2],
                       const double near_m[2]);

typedef struct {
    bool in_reach;     /**< false: no x within the law's reach lands on the area */
    double log_chance; /**< ln of what f P sums to: about the chance of the area */
    double low_m[2], step_m[2];
    double per_m2[AIM_CELLS], upto[AIM_CELLS]; /**< density, and chance of all cells so far */
} rare_aim;

/** The chance of an area, foreseen without laying cells: from its bounds alone. */
typedef struct {
    double most;  /**< it is no more, as far as m and rho hold there and the scatter is normal */
    double about; /**< for ranking only */
} rare_foresight;

rare_foresight rare_aim_foresee(const rare_law *law, const rare_map *map, const pappus_area *area);

int rare_aim_build(rare_aim *out, const rare_law *law, const rare_map *map,
                   const pappus_containment *shape, const pappus_area *area, pappus_error *err);
double rare_aim_per_m2(const rare_aim *aim, const double x_m[2]);
void rare_aim_draw(double x_m[2], const rare_aim *aim, const double uniform[3]);

#endif
