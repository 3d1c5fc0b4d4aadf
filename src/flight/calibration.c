/* SPDX-License-Identifier: GPL-3.0-or-later
 * Calibration of zones by where flights fell in them.
 *
 * The rank r of a landing (against.h) is uniform where the zone is right, whatever its shape
 * and tails: a probability integral transform. So -2 ln(1 - r) is chi-square with 2 degrees of
 * freedom, and its sum over n flights with 2n (Fisher, Statistical Methods for Research
 * Workers, 1925, section 21.1). For a normal zone it is the square of the Mahalanobis
 * distance; for a zone with the tails of a Student wind it is what that square would have to
 * be, where the square itself is 2 F(2, nu) (nu - 2)/nu and a share of it under 1 is not 0.393
 * but, of nu = 8, 0.460 (X). A large sum: zones too narrow; a small one: too wide.
 *
 * Among N landings no rank is nearer to 1 than half a landing, so that one wild flight adds
 * 2 ln 2N and no more.
 *
 * Histogram of the ranks: a bin's count is binomial where the zone is right. The band holds
 * each with all but 5 % over the number of bins, so that it holds all of them in 95 % of such
 * seasons and more (Bonferroni).
 *
 * Power: the chance that the sum leaves its 95 % if the wind's error were twice or half what
 * the plan says, from the surprises of landings made so, the flights' histograms convolved.
 * Bias: Student's interval of the mean. Flights of a day share its wind: then all this is too
 * sure. */
#include "calibration.h"

#include "error.h"

#include <gsl/gsl_cdf.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define LEAST_FLIGHTS 3
#define LEVEL 0.05
#define FEW_BINS 5
#define MANY_FLIGHTS 50

double pappus_surprise(double rank, size_t landings)
{
    return -2.0 * log(fmax(1.0 - rank, 0.5 / (double)landings));
}

void pappus_surprise_count(double bins[PAPPUS_SURPRISE_BINS], double surprise, double weight)
{
    double at = fmin(surprise / PAPPUS_SURPRISE_BIN, PAPPUS_SURPRISE_BINS - 1.0);
    bins[(size_t)fmax(at, 0.0)] += weight;
}

static double sum_of(const double *bins, size_t count)
{
    double sum = 0.0;
    for (size_t i = 0; i < count; i++)
        sum += bins[i];
    return sum;
}

/* Chance that the sum of the histograms leaves (low, high). A bin stands for its middle. */
static int power_of(double *out, const pappus_ranked *ranked, size_t count, bool narrow, double low,
                    double high, pappus_error *err)
{
    size_t bins = count * (PAPPUS_SURPRISE_BINS - 1) + 1, filled = 1;
    double *sum = calloc(bins, sizeof *sum), *next = calloc(bins, sizeof *next), within = 0.0;
    *out = NAN;
    if (!sum || !next) {
        free(sum);
        free(next);
        return pappus_fail_memory(err);
    }
    sum[0] = 1.0;
    for (size_t f = 0; f < count; f++) {
        const double *one = narrow ? ranked[f].narrow : ranked[f].wide;
        double total = sum_of(one, PAPPUS_SURPRISE_BINS);
        memset(next, 0, bins * sizeof *next);
        for (size_t i = 0; i < filled; i++)
            for (size_t k = 0; k < PAPPUS_SURPRISE_BINS && sum[i] > 0.0; k++)
                next[i + k] += sum[i] * one[k] / total;
        filled += PAPPUS_SURPRISE_BINS - 1;
        double *swap = sum;
        sum = next;
        next = swap;
    }
    for (size_t i = 0; i < filled; i++) {
        double value = PAPPUS_SURPRISE_BIN * ((double)i + 0.5 * (double)count);
        if (value > low && value < high) within += sum[i];
    }
    *out = 1.0 - within;
    free(sum);
    free(next);
    return PAPPUS_OK;
}

static void test_sum(pappus_calibration *out, const pappus_ranked *ranked, size_t count)
{
    out->sum = 0.0;
    for (size_t i = 0; i < count; i++)
        out->sum += pappus_surprise(ranked[i].rank, ranked[i].landings);
    out->degrees = 2.0 * (double)count;
    double below = gsl_cdf_chisq_P(out->sum, out->degrees);
    double above = gsl_cdf_chisq_Q(out->sum, out->degrees);
    out->p = fmin(2.0 * fmin(below, above), 1.0);
    out->verdict = count < LEAST_FLIGHTS ? PAPPUS_ZONES_UNTOLD
                   : out->p >= LEVEL     ? PAPPUS_ZONES_AS_SAID
                   : above < below       ? PAPPUS_ZONES_NARROW
                                         : PAPPUS_ZONES_WIDE;
}

static void count_levels(pappus_calibration *out, const pappus_ranked *ranked, size_t count)
{
    for (int l = 0; l < PAPPUS_LEVELS; l++) {
        pappus_calibration_level *at = &out->levels[l];
        at->level = pappus_levels[l];
        for (size_t i = 0; i < count; i++)
            at->inside += ranked[i].rank < at->level;
        at->share = pappus_wilson((double)at->inside, (double)count, 0.95);
    }
}

static void count_ranks(pappus_calibration *out, const pappus_ranked *ranked, size_t count)
{
    size_t bins = count < MANY_FLIGHTS ? FEW_BINS : PAPPUS_RANK_BINS_MOST;
    double part = 1.0 / (double)bins, tail = 0.5 * LEVEL / (double)bins;
    unsigned n = (unsigned)count, low = 0, high = n;
    out->rank_bins = bins;
    for (size_t i = 0; i < count; i++)
        out->ranks[(size_t)fmin(ranked[i].rank * (double)bins, (double)bins - 1.0)]++;
    while (gsl_cdf_binomial_P(low, part, n) <= tail)
        low++;
    while (high > 0 && gsl_cdf_binomial_Q(high - 1, part, n) <= tail)
        high--;
    out->ranks_low = low;
    out->ranks_high = high;
}

static pappus_estimate mean_of(const pappus_ranked *ranked, size_t count, bool along)
{
    double sum = 0.0, squares = 0.0, n = (double)count;
    for (size_t i = 0; i < count; i++)
        sum += along ? ranked[i].along_m : ranked[i].across_m;
    for (size_t i = 0; i < count; i++) {
        double d = (along ? ranked[i].along_m : ranked[i].across_m) - sum / n;
        squares += d * d;
    }
    if (count < 2) return (pappus_estimate){sum / n, -INFINITY, INFINITY};
    double half = gsl_cdf_tdist_Pinv(0.975, n - 1.0) * sqrt(squares / (n - 1.0) / n);
    return (pappus_estimate){sum / n, sum / n - half, sum / n + half};
}

/* The power of the test, where every flight's histograms are known. */
static int find_power(pappus_calibration *out, const pappus_ranked *ranked, size_t count,
                      pappus_error *err)
{
    double low = gsl_cdf_chisq_Pinv(0.5 * LEVEL, out->degrees);
    double high = gsl_cdf_chisq_Qinv(0.5 * LEVEL, out->degrees);
    for (size_t i = 0; i < count; i++)
        if (!(sum_of(ranked[i].narrow, PAPPUS_SURPRISE_BINS) > 0.0) ||
            !(sum_of(ranked[i].wide, PAPPUS_SURPRISE_BINS) > 0.0))
            return PAPPUS_OK;
    int status = power_of(&out->power_narrow, ranked, count, true, low, high, err);
    if (status == PAPPUS_OK)
        status = power_of(&out->power_wide, ranked, count, false, low, high, err);
    return status;
}

int pappus_calibration_find(pappus_calibration *out, const pappus_ranked *ranked, size_t count,
                            pappus_error *err)
{
    static const pappus_estimate none = {NAN, NAN, NAN};
    *out = (pappus_calibration){.count = count,
                                .sum = NAN,
                                .degrees = NAN,
                                .p = NAN,
                                .wind_share = NAN,
                                .power_narrow = NAN,
                                .power_wide = NAN,
                                .along_m = none,
                                .across_m = none};
    if (count == 0) return PAPPUS_OK;
    test_sum(out, ranked, count);
    count_levels(out, ranked, count);
    count_ranks(out, ranked, count);
    out->along_m = mean_of(ranked, count, true);
    out->across_m = mean_of(ranked, count, false);
    out->wind_share = 0.0;
    for (size_t i = 0; i < count; i++)
        out->wind_share += ranked[i].wind_share / (double)count;
    return find_power(out, ranked, count, err);
}
