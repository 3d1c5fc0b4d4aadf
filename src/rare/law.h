/* SPDX-License-Identifier: GPL-3.0-or-later
 * Where a fall is led to, as a law of few numbers. With a(z) the seconds that the central
 * fall of an outcome spends about each height, a landing is nearly
 *   x = o_k + a'(w - mean_k) + spread,
 * o_k where the central fall lands in the mean wind of profile k. x is known to the last
 * digit of each landing that is flown; where it lands differs from x by all else that was
 * drawn. Given profile and scale x is normal; the scale is drawn as a normal number n
 * (wind_scale.h). So the joint density of (k, n, x) is
 *   f = w_k phi(n) N(x - o_k; V_k(n)),  V_k(n) = s_k(n)^2 a'S_k a + a'G a + spread^2,
 * and a landing may be led to an x from any other density q(x), its k and n from about
 * their law given x, and be weighed by f over what it was drawn from (wind_lean.h).
 *
 * Given x, n is drawn from one of the bins of the scale with the chance that its middle
 * has, evenly inside: a density kappa(k, n | x) that is known exactly, whatever the bins.
 * Where it stops being right: n ends at 6.4, so what is rarer than LAW_BEYOND is not
 * looked for. */
#ifndef PAPPUS_RARE_LAW_H
#define PAPPUS_RARE_LAW_H

#include "draws.h"
#include "low.h"
#include "wind_lean.h"

/** Chance beyond which no landing is led. */
#define LAW_BEYOND 1e-10
#define LAW_KNOTS 400

typedef struct {
    pappus_wind_lean lean;
    rare_low low; /**< where the apogee turns with the wind */
    double spread_m;
    size_t profile_count, bin_count;
    double bin_width;      /**< 0: the law is normal, there is one bin and n is nothing */
    double (*origin_m)[2]; /**< [profile] o_k */
    double *weight;        /**< [profile] */
    double *reach_m;       /**< [profile] beyond which x is with chance LAW_BEYOND */
    double *variance_m2;   /**< [profile][bin] at the middle of the bin */
    double *log_front;     /**< [profile][bin] ln of bin's chance over 2 pi V */
    double *log_density;   /**< [profile][knot] ln of the density of x, by distance */
    double *middle_m;      /**< [profile] scale of the knots */
    double start_m[2];     /**< x less a'w and spread */
    double seconds;        /**< of the fall */
    double *numbers;
} rare_law;

/** A landing in the law's terms. */
typedef struct {
    int profile;
    double normal, scale;
    double x_m[2];
    double led; /**< kappa over f: what a density q(x) of leading here is times, over f */
} rare_point;

/** The law of one outcome. PAPPUS_OK with profile_count 0: the wind has no error to lead
 * by. */
int rare_law_build(rare_law *out, const pappus_plan *plan, const pappus_air *air,
                   pappus_outcome outcome, pappus_error *err);
/** The same from seconds about each node and the places o_k; for tests as well. */
int rare_law_of(rare_law *out, const pappus_air *air, const double *seconds, double spread_m,
                const double start_m[2], pappus_error *err);
void rare_law_clear(rare_law *law);

/** Logarithm of the density of x, over profiles and scales; interpolated. */
double rare_law_log_density(const rare_law *law, const double x_m[2]);
/** The most that the density of x can be in a box [axis][low, high]; 0: out of reach. */
double rare_law_most_per_m2(const rare_law *law, const double box_m[2][2]);
/** V of a profile at a scale. */
double rare_law_variance_m2(const rare_law *law, int profile, double scale);
/** Draws k and n of their own law: x is still to come. uniform: two of (0, 1). */
void rare_law_draw(rare_point *out, const rare_law *law, const double uniform[2]);
/** Draws k and n given out->x_m, and weighs the point. uniform: three of (0, 1). */
void rare_law_draw_led(rare_point *out, const rare_law *law, const double uniform[3]);
/** Fills `led` of a point that has all else: of one drawn by rare_law_draw. */
void rare_law_weigh(rare_point *point, const rare_law *law);

/** The wide density that leads everywhere: about each o_k Student's law of 2 degrees of
 * freedom in the plane, cut at the reach. */
double rare_law_wide_per_m2(const rare_law *law, const double x_m[2]);
void rare_law_draw_wide(double x_m[2], const rare_law *law, const double uniform[3]);

#endif
