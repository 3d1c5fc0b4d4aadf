/* SPDX-License-Identifier: GPL-3.0-or-later
 * The scale that one landing's wind error has over all heights. */
#ifndef PAPPUS_AIR_WIND_SCALE_H
#define PAPPUS_AIR_WIND_SCALE_H

/** The scale is told by a normal number, as it is drawn: knots from -WIDTH to WIDTH. */
#define PAPPUS_SCALE_PARTS 64
#define PAPPUS_SCALE_WIDTH 6.4

/** 1/sqrt(c) for c of a chi-square law, as a function of a normal number. */
typedef struct {
    double dof;
    double knot[PAPPUS_SCALE_PARTS + 1];
    double chance[PAPPUS_SCALE_PARTS + 1]; /**< of the knots, by the trapezoid rule */
    float cubic[PAPPUS_SCALE_PARTS][4];    /**< by the part of a knot's step, 0 to 1 */
} pappus_wind_scale;

void pappus_wind_scale_fill(pappus_wind_scale *out, double dof);
/** Of the product of a scale and a normal number: Student's law over sqrt(dof). */
double pappus_scaled_normal_cdf(double dof, double x);
double pappus_scaled_normal_quantile(double dof, double p);
/** Chance of no more than x, of that product times sd and another normal number of
 * deviation gust added. */
double pappus_gusty_normal_cdf(const pappus_wind_scale *scale, double sd, double gust, double x);

#endif
