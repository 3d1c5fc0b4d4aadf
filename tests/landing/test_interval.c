/* SPDX-License-Identifier: GPL-3.0-or-later
 * Intervals of shares and percentiles: published rows, and coverage. */
#include "interval.h"

#include "ranks.h"
#include "statistics.h"
#include "landing/clouds.h"
#include "suite.h"

#include <gsl/gsl_cdf.h>
#include <gsl/gsl_sort.h>

/* M: Newcombe, Statistics in Medicine 17:857, 1998, table I, score method without
 * continuity correction; recomputed (X). */
static const struct {
    double successes, n, low, high;
} wilson_rows[] = {
    {81.0, 263.0, 0.2553, 0.3662},
    {15.0, 148.0, 0.0624, 0.1605},
    {0.0, 20.0, 0.0, 0.1611},
    {1.0, 29.0, 0.0061, 0.1718},
};

START_TEST(wilson_published)
{
    pappus_estimate e = pappus_wilson(wilson_rows[_i].successes, wilson_rows[_i].n, 0.95);
    ck_assert_double_eq_tol(e.value, wilson_rows[_i].successes / wilson_rows[_i].n, 1e-15);
    ck_assert_double_eq_tol(e.low, wilson_rows[_i].low, 5e-5);
    ck_assert_double_eq_tol(e.high, wilson_rows[_i].high, 5e-5);
    pappus_estimate mirrored =
        pappus_wilson(wilson_rows[_i].n - wilson_rows[_i].successes, wilson_rows[_i].n, 0.95);
    ck_assert_double_eq_tol(mirrored.high, 1.0 - e.low, 1e-12);
    ck_assert_double_eq_tol(mirrored.low, 1.0 - e.high, 1e-12);
}
END_TEST

/* Of values spread, alike, tied and few those of a sorted copy, whatever bins they fall into. */
START_TEST(ranks_of_a_sorted_copy)
{
    enum { MOST = 5000 };
    const size_t count = _i == 3 ? 7 : MOST;
    double *values = malloc(MOST * sizeof *values), *sorted = malloc(MOST * sizeof *sorted);
    ck_assert(values && sorted);
    for (size_t i = 0; i < count; i++) {
        double x = gsl_cdf_ugaussian_Pinv(((double)(i * 7919 % MOST) + 0.5) / MOST);
        values[i] = _i == 0 ? x : _i == 1 ? 3.0 : _i == 2 ? floor(x) : _i == 3 ? x : exp(20.0 * x);
        sorted[i] = values[i];
    }
    gsl_sort(sorted, 1, count);
    const size_t rank[] = {count / 20, 0, count - 1, count / 2, count / 2};
    double out[5];
    pappus_ranks(out, values, count, rank, 5);
    for (size_t i = 0; i < 5; i++)
        ck_assert_double_eq(out[i], sorted[rank[i]]);
    free(values);
    free(sorted);
}
END_TEST

START_TEST(wilson_edges)
{
    ck_assert_double_nan(pappus_wilson(0.0, 0.0, 0.95).value);
    ck_assert_double_eq(pappus_wilson(0.0, 2000.0, 0.99).low, 0.0);
    ck_assert_double_eq(pappus_wilson(2000.0, 2000.0, 0.99).high, 1.0);
    ck_assert_double_gt(pappus_wilson(0.0, 2000.0, 0.99).high,
                        pappus_wilson(0.0, 2000.0, 0.95).high);
}
END_TEST

/* With one stratum the combination is that stratum's own interval; strata that were
 * not drawn are left out. */
START_TEST(one_stratum_is_wilson)
{
    double probability[PAPPUS_OUTCOMES] = {0.97, 0.03};
    size_t count[PAPPUS_OUTCOMES] = {263}, hits[PAPPUS_OUTCOMES] = {81};
    pappus_estimate e = pappus_share_estimate(probability, count, hits, 0.95);
    ck_assert_double_eq_tol(e.value, 81.0 / 263.0, 1e-12);
    ck_assert_double_eq_tol(e.low, 0.2553, 5e-5);
    ck_assert_double_eq_tol(e.high, 0.3662, 5e-5);
    count[0] = 0;
    ck_assert_double_nan(pappus_share_estimate(probability, count, hits, 0.95).value);
}
END_TEST

/* Strata as a launch has them: chance, landings; and the true share in each. */
static const double chance[PAPPUS_OUTCOMES] = {0.960, 0.005, 0.0099, 0.0099, 0.0152};
static const size_t drawn[PAPPUS_OUTCOMES] = {19200, 2000, 2000, 2000, 2000};
static const struct {
    double share[PAPPUS_OUTCOMES];
} cases[] = {
    {{0.98, 0.50, 0.90, 0.70, 0.95}},  /* inside the field */
    {{0.008, 0.05, 0.02, 0.10, 0.02}}, /* a keep-out near its limit */
    {{1e-4, 0.02, 0.01, 0.01, 0.002}}, /* a rare one: 2 nominal landings expected */
    {{2e-5, 0.001, 0.0, 0.002, 0.01}}, /* rarer: less than one nominal landing */
    {{3e-4, 0.10, 0.02, 0.03, 0.04}},
};

/* Nominal 95 % must cover between 93.5 and 96.5 % of 2000 repetitions. */
START_TEST(coverage_over_strata)
{
    enum { REPETITIONS = 2000 };
    gsl_rng *random = random_of((unsigned long)_i + 1);
    double truth = 0.0;
    int covered = 0;
    for (int h = 0; h < PAPPUS_OUTCOMES; h++)
        truth += chance[h] * cases[_i].share[h];
    for (int r = 0; r < REPETITIONS; r++) {
        size_t hits[PAPPUS_OUTCOMES];
        for (int h = 0; h < PAPPUS_OUTCOMES; h++)
            hits[h] = gsl_ran_binomial(random, cases[_i].share[h], (unsigned)drawn[h]);
        pappus_estimate e = pappus_share_estimate(chance, drawn, hits, 0.95);
        ck_assert(e.low <= e.value && e.value <= e.high);
        covered += e.low <= truth && truth <= e.high;
    }
    ck_assert_double_ge((double)covered / REPETITIONS, 0.935);
    ck_assert_double_le((double)covered / REPETITIONS, 0.965);
    gsl_rng_free(random);
}
END_TEST

/* M: the sign test's interval of the median at 95 %: ranks 2 and 9 of 10, 6 and 15 of
 * 20 (exact coverage 97.9 and 95.9 %), as in textbooks of distribution-free methods. */
START_TEST(ranks_of_the_median)
{
    size_t low, high;
    pappus_percentile_ranks(&low, &high, 10, 0.5, 0.95);
    ck_assert_uint_eq(low, 2);
    ck_assert_uint_eq(high, 9);
    pappus_percentile_ranks(&low, &high, 20, 0.5, 0.95);
    ck_assert_uint_eq(low, 6);
    ck_assert_uint_eq(high, 15);
}
END_TEST

/* X: the largest of n values is above the 95th percentile with 97.5 % when
 * 1 - 0.95^n >= 0.975, from n = 72 on; the least below the 5th likewise. */
START_TEST(too_few_values)
{
    double values[72];
    for (int i = 0; i < 72; i++)
        values[i] = i;
    ck_assert_double_infinite(pappus_percentile_estimate(values, 71, 0.95, 0.95).high);
    ck_assert_double_eq(pappus_percentile_estimate(values, 72, 0.95, 0.95).high, 71.0);
    ck_assert_double_infinite(pappus_percentile_estimate(values, 71, 0.05, 0.95).low);
    ck_assert_double_eq(pappus_percentile_estimate(values, 72, 0.05, 0.95).low, 0.0);
    /* the 48th of 50: 48 / 50 >= 0.95 > 47 / 50 */
    for (int i = 0; i < 50; i++)
        values[i] = i;
    ck_assert_double_eq(pappus_percentile_estimate(values, 50, 0.95, 0.95).value, 47.0);
    ck_assert_double_nan(pappus_percentile_estimate(values, 0, 0.05, 0.95).value);
}
END_TEST

static const struct {
    double p, confidence;
} percentiles[] = {{0.05, 0.95}, {0.95, 0.95}, {0.95, 0.99}, {0.5, 0.95}};

/* Values against a sorted copy; coverage against the binomial probability of the
 * ranks, within 4 standard deviations of the count. */
START_TEST(percentile_values_and_coverage)
{
    enum { N = 2000, REPETITIONS = 2000 };
    double p = percentiles[_i].p, confidence = percentiles[_i].confidence, values[N], sorted[N];
    size_t low, high;
    int covered = 0;
    gsl_rng *random = random_of((unsigned long)_i + 11);
    pappus_percentile_ranks(&low, &high, N, p, confidence);
    double exact =
        gsl_cdf_binomial_P((unsigned)high - 1, p, N) - gsl_cdf_binomial_P((unsigned)low - 1, p, N);
    ck_assert_double_ge(exact, confidence);
    ck_assert_double_le(exact, confidence + 0.01);
    for (int r = 0; r < REPETITIONS; r++) {
        for (int i = 0; i < N; i++)
            values[i] = sorted[i] = gsl_rng_uniform(random);
        pappus_estimate e = pappus_percentile_estimate(values, N, p, confidence);
        covered += e.low <= p && p <= e.high;
        if (r >= 20) continue;
        gsl_sort(sorted, 1, N);
        ck_assert_double_eq(e.value, sorted[(int)lround(N * p) - 1]);
        ck_assert_double_eq(e.low, sorted[low - 1]);
        ck_assert_double_eq(e.high, sorted[high - 1]);
    }
    ck_assert_double_eq_tol((double)covered / REPETITIONS, exact,
                            4.0 * sqrt(exact * (1.0 - exact) / REPETITIONS));
    gsl_rng_free(random);
}
END_TEST

/* The weighted quantile against a walk through the sorted values. */
START_TEST(weighted_quantile_of_a_sorted_copy)
{
    enum { N = 777 };
    pappus_weighted pairs[N];
    double values[N], weights[N], total = 0.0;
    gsl_rng *random = random_of(5);
    for (int i = 0; i < N; i++) {
        /* rounded: many ties */
        values[i] = pairs[i].value = floor(100.0 * gsl_rng_uniform(random));
        weights[i] = pairs[i].weight = i % 7 == 0 ? 3.0 : gsl_rng_uniform(random);
        total += weights[i];
    }
    gsl_sort2(values, 1, weights, 1, N);
    for (double p = 0.005; p < 1.0; p += 0.013) {
        double sum = 0.0;
        int i = -1;
        while (sum < p * total)
            sum += weights[++i];
        ck_assert_double_eq(pappus_weighted_quantile(pairs, N, p), values[i]);
    }
    ck_assert_double_nan(pappus_weighted_quantile(pairs, 0, 0.5));
    gsl_rng_free(random);
}
END_TEST

/* Kinds of values that bins of equal width find hard. */
static double hard_value(int kind, gsl_rng *random)
{
    switch (kind) {
    case 0:
        return gsl_ran_gaussian(random, 1.0);
    case 1:
        return exp(gsl_ran_gaussian(random, 50.0)); /* over a hundred decades */
    case 2:
        return gsl_rng_uniform(random) < 0.03 ? -1e300 : gsl_rng_uniform(random);
    case 3:
        return gsl_rng_uniform(random) < 0.5 ? 1.0 : 1.0 + 0x1p-52; /* neighbours */
    case 4:
        return -0.25; /* all one */
    default:
        return gsl_rng_uniform(random) < 0.01 ? INFINITY : gsl_rng_uniform(random);
    }
}

/* Several quantiles at once against the sorted values, of equal weight. */
START_TEST(quantiles_of_hard_values)
{
    enum { N = 20000, QUANTILES = 5 };
    static const double p[QUANTILES] = {0.95, 0.0101, 0.5, 0.05, 1.0};
    static pappus_weighted pairs[N];
    static double values[N], gappy[2 * N];
    double found[QUANTILES], of_sample[QUANTILES];
    gsl_rng *random = random_of(11 + (unsigned long)_i);
    for (int i = 0; i < N; i++) {
        pairs[i] = (pappus_weighted){values[i] = hard_value(_i, random), 0.125};
        gappy[2 * i] = values[i];
        gappy[2 * i + 1] = NAN;
    }
    gsl_sort(values, 1, N);
    pappus_weighted_quantiles_at(found, pairs, N, p, QUANTILES);
    pappus_sample sample = {.count = 2 * N, .total = 2 * N};
    ck_assert_int_eq(pappus_sample_quantiles_at(of_sample, gappy, &sample, p, QUANTILES),
                     PAPPUS_OK);
    for (int q = 0; q < QUANTILES; q++) {
        ck_assert_double_eq(found[q], values[lround(p[q] * N) - 1]);
        ck_assert_double_eq(of_sample[q], found[q]);
    }
    gsl_rng_free(random);
}
END_TEST

/* Equal weights reach p exactly: 5 % of 20 is the first, not the second value. */
START_TEST(quantile_reached_exactly)
{
    pappus_weighted pairs[20];
    for (int i = 0; i < 20; i++)
        pairs[i] = (pappus_weighted){i, 0.05};
    ck_assert_double_eq(pappus_weighted_quantile(pairs, 20, 0.05), 0.0);
    ck_assert_double_eq(pappus_weighted_quantile(pairs, 20, 0.50), 9.0);
    ck_assert_double_eq(pappus_weighted_quantile(pairs, 20, 0.95), 18.0);
    ck_assert_double_eq(pappus_weighted_quantile(pairs, 20, 1.00), 19.0);
}
END_TEST

/* Landings of unequal weight. X: counted by hand. */
START_TEST(quantiles_of_a_weighted_sample)
{
    enum { N = 90, LIGHT = 60 };
    double values[N], found[3];
    const double p[3] = {0.25, 0.5, 0.75};
    uint8_t outcome[N];
    uint32_t index[N];
    for (uint32_t i = 0; i < N; i++) {
        index[i] = N - 1 - i;
        outcome[i] = i < LIGHT ? PAPPUS_NOMINAL : PAPPUS_NO_CANOPY;
        values[N - 1 - i] = i; /* beside the sample's order */
    }
    /* The light ones, 0 to 59, weigh 1/120 each and half in all; the others 1/60. */
    pappus_sample sample = {.count = N, .index = index, .outcome = outcome, .total = 1.0};
    sample.weight[PAPPUS_NOMINAL] = 1.0 / 120.0;
    sample.weight[PAPPUS_NO_CANOPY] = 1.0 / 60.0;
    ck_assert_int_eq(pappus_sample_quantiles_at(found, values, &sample, p, 3), PAPPUS_OK);
    ck_assert_double_eq(found[0], 29.0);
    ck_assert_double_eq(found[1], 59.0);
    ck_assert_double_eq(found[2], 74.0);
}
END_TEST

static pappus_quantiles angles(double *values_deg, size_t count)
{
    pappus_quantiles q;
    pappus_sample sample = {.count = count, .total = (double)count};
    ck_assert_int_eq(pappus_sample_angle_quantiles(&q, values_deg, &sample), PAPPUS_OK);
    return q;
}

/* Angles about north: 340 ... 20 degrees in steps of 0.4. */
START_TEST(angles_over_north)
{
    double values_deg[101], across_deg[2] = {0.0, 180.0};
    for (int i = 0; i <= 100; i++)
        values_deg[i] = fmod(340.0 + 0.4 * i, 360.0);
    pappus_quantiles q = angles(values_deg, 101);
    ck_assert_double_eq_tol(q.p05, 342.0, 1e-9);
    ck_assert_double_eq_tol(remainder(q.p50, 360.0), 0.0, 1e-9);
    ck_assert_double_eq_tol(q.p95, 18.0, 1e-9);
    ck_assert(q.p50 >= 0.0 && q.p50 < 360.0);
    ck_assert_double_nan(angles(across_deg, 2).p50);
    ck_assert_double_nan(angles(across_deg, 0).p50);
}
END_TEST

SUITE("interval")
{
    tcase_add_loop_test(tests, wilson_published, 0, 4);
    tcase_add_test(tests, wilson_edges);
    tcase_add_test(tests, one_stratum_is_wilson);
    tcase_add_loop_test(tests, coverage_over_strata, 0, 5);
    tcase_add_test(tests, ranks_of_the_median);
    tcase_add_loop_test(tests, ranks_of_a_sorted_copy, 0, 5);
    tcase_add_test(tests, too_few_values);
    tcase_add_loop_test(tests, percentile_values_and_coverage, 0, 4);
    tcase_add_test(tests, weighted_quantile_of_a_sorted_copy);
    tcase_add_loop_test(tests, quantiles_of_hard_values, 0, 6);
    tcase_add_test(tests, quantile_reached_exactly);
    tcase_add_test(tests, quantiles_of_a_weighted_sample);
    tcase_add_test(tests, angles_over_north);
}
