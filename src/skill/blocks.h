/* SPDX-License-Identifier: GPL-3.0-or-later
 * How far a sum over days may stray when days in a row are alike: the covariance of the
 * sum under the circular moving-block bootstrap (Kuensch, Annals of Statistics 17:1217,
 * 1989; Politis & Romano, 1992). Drawing blocks of b days with replacement gives a sum of
 * independent blocks, whose covariance is known without drawing: n/b times that of a
 * block. b is n^(1/3) days, at least 5, which weather takes to change (A).
 *
 * Too small where what links the days lasts longer than a block: a season, a year. */
#ifndef PAPPUS_SKILL_BLOCKS_H
#define PAPPUS_SKILL_BLOCKS_H

#include <stddef.h>

/** How many blocks the days make; 1 or more. */
double pappus_block_count(size_t days);
/** out[width][width], from sums[days][width] in order of time. */
void pappus_block_covariance(double *out, const double *sums, size_t days, size_t width);
/** Quantile of Student's t for a two-sided 95 % with so many blocks. */
double pappus_block_quantile(size_t days);

#endif
