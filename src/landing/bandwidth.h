/* SPDX-License-Identifier: GPL-3.0-or-later
 * The scale of a marginal distribution for a kernel bandwidth: the standard deviation
 * of the Gaussian with the same roughness, integral f''^2, which two-stage direct
 * plug-in estimates (Sheather & Jones, JRSS B 53:683, 1991; Wand & Jones, Kernel
 * Smoothing, 1995, section 3.6, on binned values). The pilot takes the scale to be that of
 * one Gaussian, so it is passed through three times. Two equal lobes far apart give 2^0.2
 * times the scale of one. */
#ifndef PAPPUS_LANDING_BANDWIDTH_H
#define PAPPUS_LANDING_BANDWIDTH_H

#include <stddef.h>

/** Scale of the values that lie in [low, high]; at most their standard deviation. 0
 * when they have no spread. */
double pappus_rough_scale(const double *values, size_t count, double low, double high);

#endif
