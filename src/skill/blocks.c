/* SPDX-License-Identifier: GPL-3.0-or-later
 * The block bootstrap of a sum in closed form; method in blocks.h. */
#include "blocks.h"

#include <gsl/gsl_cdf.h>
#include <math.h>
#include <string.h>

#define LEAST_BLOCK_DAYS 5.0
#define LEAST_BLOCKS 4.0
#define WIDEST 16

static size_t block_days(size_t days)
{
    double length = fmax(LEAST_BLOCK_DAYS, ceil(cbrt((double)days)));
    return (size_t)fmax(1.0, fmin(length, floor((double)days / LEAST_BLOCKS)));
}

double pappus_block_count(size_t days)
{
    return days ? (double)days / (double)block_days(days) : 1.0;
}

void pappus_block_covariance(double *out, const double *sums, size_t days, size_t width)
{
    double mean[WIDEST] = {0}, block[WIDEST] = {0};
    size_t length = block_days(days);
    memset(out, 0, width * width * sizeof *out);
    if (days < 2) return;
    for (size_t d = 0; d < days; d++)
        for (size_t p = 0; p < width; p++)
            mean[p] += sums[d * width + p] / (double)days;
    for (size_t d = 0; d < length; d++)
        for (size_t p = 0; p < width; p++)
            block[p] += sums[d * width + p] - mean[p];
    for (size_t d = 0; d < days; d++) {
        for (size_t p = 0; p < width; p++)
            for (size_t q = 0; q < width; q++)
                out[p * width + q] += block[p] * block[q] / (double)length;
        size_t next = (d + length) % days;
        for (size_t p = 0; p < width; p++)
            block[p] += sums[next * width + p] - sums[d * width + p];
    }
    double blocks = pappus_block_count(days);
    for (size_t p = 0; p < width * width; p++) /* the blocks' own mean has been taken off */
        out[p] *= blocks > 1.0 ? blocks / (blocks - 1.0) : 1.0;
}

double pappus_block_quantile(size_t days)
{
    return gsl_cdf_tdist_Pinv(0.975, fmax(pappus_block_count(days) - 1.0, 1.0));
}
