/* SPDX-License-Identifier: GPL-3.0-or-later
 * Probability ellipses, moments: against the chi-square quantile, GSL's weighted
 * statistics, and counted Gaussian landings. */
#include "ellipse.h"

#include "landing/clouds.h"
#include "suite.h"

#include <gsl/gsl_cdf.h>
#include <gsl/gsl_statistics_double.h>

/* X: a level's name is its percent; they ascend. */
START_TEST(levels_are_what_they_are_called)
{
#define NAMED(name, level) ck_assert_double_eq(pappus_levels[PAPPUS_LEVEL_##name], name / 100.0);
    PAPPUS_LEVEL_LIST(NAMED)
#undef NAMED
    for (int l = 1; l < PAPPUS_LEVELS; l++)
        ck_assert_double_gt(pappus_levels[l], pappus_levels[l - 1]);
}
END_TEST

/* X: sqrt(-2 ln(1 - p)), four decimals, from the table of sources; and by GSL's
 * chi-square quantile with two degrees of freedom. */
START_TEST(scale_of_each_level)
{
    static const double k[PAPPUS_LEVELS] = {1.1774, 2.1460, 2.4477, 3.0349};
    static const double covariance_m2[2][2] = {{4.0, 0.0}, {0.0, 1.0}}, mean_m[2] = {0.0, 0.0};
    pappus_ellipse ellipses[PAPPUS_LEVELS];
    pappus_cloud *cloud = cloud_nominal(0);
    pappus_sample none = {.count = 0};
    pappus_ellipses_fill(ellipses, mean_m, covariance_m2, cloud, &none);
    for (int l = 0; l < PAPPUS_LEVELS; l++) {
        double exact = sqrt(gsl_cdf_chisq_Pinv(pappus_levels[l], 2.0));
        ck_assert_double_eq_tol(ellipses[l].minor_m, k[l], 5e-5);
        ck_assert_double_eq_tol(ellipses[l].minor_m, exact, 1e-9);
        ck_assert_double_eq_tol(ellipses[l].major_m, 2.0 * exact, 1e-9);
        ck_assert_double_eq_tol(ellipses[l].bearing_deg, 90.0, 1e-9);
        ck_assert_double_eq_tol(ellipses[l].area_m2, 2.0 * M_PI * exact * exact, 1e-9);
        ck_assert_double_nan(ellipses[l].share);
    }
    pappus_cloud_free(cloud);
}
END_TEST

/* X: covariance of sd 300 m along the bearing and 100 m across, R diag R'. */
START_TEST(axes_and_bearing)
{
    static const double bearings_deg[] = {0.0, 1e-7, 30.0, 45.0, 90.0, 135.0, 179.0};
    double b = bearings_deg[_i] * M_PI / 180.0, s = sin(b), c = cos(b);
    double covariance_m2[2][2] = {{9e4 * s * s + 1e4 * c * c, 8e4 * s * c},
                                  {8e4 * s * c, 9e4 * c * c + 1e4 * s * s}};
    pappus_axes axes = pappus_axes_of((const double(*)[2])covariance_m2);
    double bearing_deg = pappus_axis_bearing_deg(axes.axis);
    ck_assert_double_eq_tol(axes.major_m2, 9e4, 1e-6);
    ck_assert_double_eq_tol(axes.minor_m2, 1e4, 1e-6);
    ck_assert_double_ge(bearing_deg, 0.0);
    ck_assert_double_lt(bearing_deg, 180.0);
    ck_assert_double_eq_tol(remainder(bearing_deg - bearings_deg[_i], 180.0), 0.0, 1e-6);
}
END_TEST

/* GSL's weighted variance carries the same factor for weights, (sum w)^2 /
 * ((sum w)^2 - sum w^2); the covariance comes from the variance of the sum. */
START_TEST(moments_as_gsl)
{
    enum { N = 400 };
    size_t landings[PAPPUS_OUTCOMES] = {200, 0, 150, 0, 50};
    double probability[PAPPUS_OUTCOMES] = {0.9, 0.0, 0.07, 0.0, 0.03};
    pappus_cloud *cloud = cloud_new(landings, probability);
    pappus_strata strata;
    gsl_rng *random = random_of(3);
    double sum_m[N], mean_m[2], covariance_m2[2][2], weight[N];
    for (size_t i = 0; i < N; i++) {
        gaussian_place(&cloud->east_m[i], &cloud->north_m[i], random, 300.0, 90.0, 25.0);
        cloud->east_m[i] += 500.0 * cloud->outcome[i];
        sum_m[i] = cloud->east_m[i] + cloud->north_m[i];
        weight[i] = probability[cloud->outcome[i]] / (double)landings[cloud->outcome[i]];
    }
    ck_assert_int_eq(pappus_strata_build(&strata, cloud, NULL), PAPPUS_OK);
    pappus_sample all = pappus_strata_all(&strata);
    pappus_sample_moments(mean_m, covariance_m2, cloud, &all);
    double ee = gsl_stats_wvariance(weight, 1, cloud->east_m, 1, N);
    double nn = gsl_stats_wvariance(weight, 1, cloud->north_m, 1, N);
    double both = gsl_stats_wvariance(weight, 1, sum_m, 1, N);
    ck_assert_double_eq_tol(mean_m[0], gsl_stats_wmean(weight, 1, cloud->east_m, 1, N), 1e-9);
    ck_assert_double_eq_tol(mean_m[1], gsl_stats_wmean(weight, 1, cloud->north_m, 1, N), 1e-9);
    ck_assert_double_eq_tol(covariance_m2[0][0], ee, 1e-9 * ee);
    ck_assert_double_eq_tol(covariance_m2[1][1], nn, 1e-9 * nn);
    ck_assert_double_eq_tol(covariance_m2[0][1], 0.5 * (both - ee - nn), 1e-9 * ee);
    ck_assert_double_eq(covariance_m2[0][1], covariance_m2[1][0]);
    pappus_strata_clear(&strata);
    gsl_rng_free(random);
    pappus_cloud_free(cloud);
}
END_TEST

/* Of 1e5 Gaussian landings the share inside is binomial about the level: 4 standard
 * deviations. (The fitted ellipse follows the landings, which only narrows it.) */
START_TEST(true_share_of_gaussian_landings)
{
    enum { N = 100000 };
    pappus_cloud *cloud = cloud_nominal(N);
    pappus_strata strata;
    pappus_ellipse ellipses[PAPPUS_LEVELS];
    gsl_rng *random = random_of((unsigned long)_i + 1);
    double mean_m[2], covariance_m2[2][2];
    for (size_t i = 0; i < N; i++)
        gaussian_place(&cloud->east_m[i], &cloud->north_m[i], random, 250.0, 60.0, 70.0);
    ck_assert_int_eq(pappus_strata_build(&strata, cloud, NULL), PAPPUS_OK);
    pappus_sample sample = pappus_strata_outcome(&strata, PAPPUS_NOMINAL);
    pappus_sample_moments(mean_m, covariance_m2, cloud, &sample);
    pappus_ellipses_fill(ellipses, mean_m, (const double(*)[2])covariance_m2, cloud, &sample);
    for (int l = 0; l < PAPPUS_LEVELS; l++) {
        double p = pappus_levels[l];
        ck_assert_double_eq_tol(ellipses[l].share, p, 4.0 * sqrt(p * (1.0 - p) / N));
        /* standard error of a bearing: s1 s2 / (s1^2 - s2^2) / sqrt(n), here 0.05 degrees */
        ck_assert_double_eq_tol(ellipses[l].bearing_deg, 70.0, 0.2);
    }
    pappus_strata_clear(&strata);
    gsl_rng_free(random);
    pappus_cloud_free(cloud);
}
END_TEST

/* Landings without spread across, or without any: nothing is lost. */
START_TEST(line_and_point)
{
    pappus_cloud *cloud = cloud_nominal(1001);
    pappus_strata strata;
    pappus_ellipse ellipses[PAPPUS_LEVELS];
    double mean_m[2], covariance_m2[2][2];
    for (size_t i = 0; i < 1001; i++) {
        cloud->east_m[i] = _i == 0 ? 300.0 + 0.6 * (double)i : 300.0;
        cloud->north_m[i] = _i == 0 ? -200.0 + 0.8 * (double)i : -200.0;
    }
    ck_assert_int_eq(pappus_strata_build(&strata, cloud, NULL), PAPPUS_OK);
    pappus_sample sample = pappus_strata_all(&strata);
    pappus_sample_moments(mean_m, covariance_m2, cloud, &sample);
    pappus_ellipses_fill(ellipses, mean_m, (const double(*)[2])covariance_m2, cloud, &sample);
    ck_assert_double_eq_tol(ellipses[PAPPUS_LEVEL_50].minor_m, 0.0, 1e-6);
    if (_i == 0) {
        /* X: a uniform line of length L has sd L / sqrt(12); within k sd lies 2 k / sqrt(12) */
        ck_assert_double_eq_tol(ellipses[PAPPUS_LEVEL_50].bearing_deg,
                                atan2(0.6, 0.8) * 180.0 / M_PI, 1e-6);
        ck_assert_double_eq_tol(ellipses[PAPPUS_LEVEL_50].share, 2.0 * 1.17741 / sqrt(12.0), 2e-3);
        ck_assert_double_eq_tol(ellipses[PAPPUS_LEVEL_99].share, 1.0, 1e-12);
    } else {
        ck_assert_double_eq_tol(ellipses[PAPPUS_LEVEL_50].share, 1.0, 1e-12);
        ck_assert_double_eq_tol(ellipses[PAPPUS_LEVEL_99].major_m, 0.0, 1e-6);
    }
    pappus_strata_clear(&strata);
    pappus_cloud_free(cloud);
}
END_TEST

SUITE("ellipse")
{
    tcase_add_test(tests, levels_are_what_they_are_called);
    tcase_add_test(tests, scale_of_each_level);
    tcase_add_loop_test(tests, axes_and_bearing, 0, 7);
    tcase_add_test(tests, moments_as_gsl);
    tcase_add_loop_test(tests, true_share_of_gaussian_landings, 0, 3);
    tcase_add_loop_test(tests, line_and_point, 0, 2);
}
