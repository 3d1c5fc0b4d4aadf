/* SPDX-License-Identifier: GPL-3.0-or-later
 * Plug-in scale of a marginal distribution; method in bandwidth.h. */
#include "bandwidth.h"

#include <math.h>

#define BINS 512
#define PASSES 3

/* Linear binning of the values in [low, high] to shares of 1; returns their count. */
static size_t bin(double share[BINS], const double *values, size_t count, double low, double step)
{
    size_t used = 0;
    for (size_t b = 0; b < BINS; b++)
        share[b] = 0.0;
    for (size_t i = 0; i < count; i++) {
        double place = (values[i] - low) / step;
        if (!(place >= 0.0 && place <= BINS - 1)) continue;
        size_t b = place < BINS - 2 ? (size_t)place : BINS - 2;
        share[b] += 1.0 - (place - (double)b);
        share[b + 1] += place - (double)b;
        used++;
    }
    for (size_t b = 0; b < BINS; b++)
        share[b] /= used > 0 ? (double)used : 1.0;
    return used;
}

static double standard_deviation(const double share[BINS], double step)
{
    double mean = 0.0, variance = 0.0;
    for (size_t b = 0; b < BINS; b++)
        mean += share[b] * (double)b;
    for (size_t b = 0; b < BINS; b++)
        variance += share[b] * pow((double)b - mean, 2.0);
    return step * sqrt(variance);
}

/* pairs[d]: share of pairs of values that lie d bins apart, both ways. */
static void correlate(double pairs[BINS], const double share[BINS])
{
    for (size_t d = 0; d < BINS; d++)
        pairs[d] = 0.0;
    for (size_t b = 0; b < BINS; b++) {
        double here = share[b];
#pragma omp simd
        for (size_t d = 0; d < BINS - b; d++)
            pairs[d] += here * share[b + d];
    }
    for (size_t d = 1; d < BINS; d++)
        pairs[d] *= 2.0;
}

/* Fourth or sixth derivative of the standard normal density (Hermite polynomials). */
static double normal_derivative(int order, double x)
{
    double x2 = x * x, density = exp(-0.5 * x2) / sqrt(2.0 * M_PI);
    if (order == 4) return ((x2 - 6.0) * x2 + 3.0) * density;
    return (((x2 - 15.0) * x2 + 45.0) * x2 - 15.0) * density;
}

/* The functional psi_r, integral f^(r) f, with a kernel of width g. */
static double functional(int order, double g, const double pairs[BINS], double step)
{
    double sum = 0.0;
    for (size_t d = 0; d < BINS; d++)
        sum += pairs[d] * normal_derivative(order, (double)d * step / g);
    return sum / pow(g, order + 1);
}

/* One pass of the two stages, which begin as if the values were Gaussian with the
 * given scale. The Gaussian of scale s has psi_8 = 105 / (32 sqrt(pi) s^9) and psi_4 =
 * 3 / (8 sqrt(pi) s^5). */
static double plug_in(double scale, double n, const double pairs[BINS], double step)
{
    double psi8 = 105.0 / (32.0 * sqrt(M_PI) * pow(scale, 9.0));
    double psi6 =
        functional(6, pow(-2.0 * normal_derivative(6, 0.0) / (psi8 * n), 1.0 / 9.0), pairs, step);
    if (!(psi6 < 0.0)) return scale;
    double psi4 =
        functional(4, pow(-2.0 * normal_derivative(4, 0.0) / (psi6 * n), 1.0 / 7.0), pairs, step);
    if (!(psi4 > 0.0)) return scale;
    return fmin(scale, pow(3.0 / (8.0 * sqrt(M_PI) * psi4), 0.2));
}

double pappus_rough_scale(const double *values, size_t count, double low, double high)
{
    double share[BINS], pairs[BINS], step = (high - low) / (BINS - 1);
    if (!(step > 0.0)) return 0.0;
    double n = (double)bin(share, values, count, low, step);
    double scale = standard_deviation(share, step);
    if (!(scale > 0.0)) return 0.0;
    correlate(pairs, share);
    for (int pass = 0; pass < PASSES; pass++)
        scale = plug_in(scale, n, pairs, step);
    return scale;
}
