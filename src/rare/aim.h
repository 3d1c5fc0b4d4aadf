/* SPDX-License-Identifier: GPL-3.0-or-later
 * A density of x, and of the drawn values' normal numbers z, that leads landings onto one
 * area. Falls that were flown tell where a fall that is led to x lands: near m(x) = c + B x,
 * off by a scatter rho (map.h). On cells about the area the density of x is
 *   q(x) ~ f(x) P(x)^g,  P(x) = area's indicator at m(x), smoothed by rho.
 * Where the scatter is left to chance, g = 1/2 is nearly the best there is for a chance to be
 * estimated with (Owen, Monte Carlo theory, methods and examples, chapter 9); where z carries
 * the fall from m(x) onto the area, g = 1; between them g goes by the part of rho that z
 * tells. Of the landings of a cell the part AIM_LEANED has z leaned by G d, d from m(x) to the
 * mean place of the area's landings that are led there. Cells are laid finer, in rounds,
 * where most of f P lies. Whatever cells and c, B, rho, G are, the density is known exactly;
 * bad ones only cost landings. */
#ifndef PAPPUS_RARE_AIM_H
#define PAPPUS_RARE_AIM_H

#include "containment.h"
#include "law.h"
#include "map.h"

#define AIM_SIDE 40
#define AIM_CELLS (AIM_SIDE * AIM_SIDE)
#define AIM_LEANED 0.8

typedef struct {
    bool in_reach;     /**< false: no x within the law's reach lands on the area */
    double log_chance; /**< ln of what f P sums to: about the chance of the area */
    double low_m[2], step_m[2];
    double per_m2[AIM_CELLS], upto[AIM_CELLS]; /**< density, and chance of all cells so far */
    double beside_m[AIM_CELLS][2];             /**< d */
    rare_map map;
} rare_aim;

/** The chance of an area, foreseen without laying cells: from its bounds alone. */
typedef struct {
    double most;  /**< it is no more, as far as m and rho hold there and the scatter is normal */
    double about; /**< for ranking only */
} rare_foresight;

rare_foresight rare_aim_foresee(const rare_law *law, const rare_map *map, const pappus_area *area);

int rare_aim_build(rare_aim *out, const rare_law *law, const rare_map *map,
                   const pappus_containment *shape, const pappus_area *area, pappus_error *err);
/** Density of x over area, times that of z over its own law's. z: of a fall that can be. */
double rare_aim_per_m2(const rare_aim *aim, const double x_m[2], const double *z,
                       const pappus_normals *normals);
void rare_aim_draw(double x_m[2], const rare_aim *aim, const double uniform[3]);
/** by[]: what z is leaned by at x. */
void rare_aim_lean(double *by, const rare_aim *aim, const double x_m[2]);

#endif
