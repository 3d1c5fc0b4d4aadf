/* SPDX-License-Identifier: GPL-3.0-or-later
 * Ranks, calibration and what is learned, on landings whose law is known. */
#include "against.h"
#include "calibration.h"
#include "learn.h"
#include "statistics.h"
#include "suite.h"

#include "descent/real_air.h"

#include <gsl/gsl_cdf.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static flight_setup setup;

/* Nothing is uncertain but the wind, with the tails of a Student law of 8 degrees of freedom. */
static void begin(void)
{
    flight_setup_set(&setup);
    setup.plan.wind.error_mps = 3.0;
    setup.plan.wind.growth_mps = 0.0;
    setup.plan.wind.error_dof = 8.0;
    flight_setup_build(&setup);
}

static pappus_cloud *fly(double factor, size_t landings, uint64_t seed)
{
    pappus_scatter_options options = PAPPUS_SCATTER_OPTIONS_INIT;
    pappus_cloud *cloud = NULL;
    pappus_error error = {0};
    setup.plan.wind.error_mps = 3.0 * factor;
    flight_setup_build(&setup);
    options.run.landings = landings;
    options.run.seed = seed;
    options.nominal_only = true;
    int status = pappus_scatter(&cloud, &setup.plan, setup.air, &options, &error);
    ck_assert_msg(status == PAPPUS_OK, "%s", error.message);
    return cloud;
}

static void expect(pappus_expected *out, const pappus_cloud *cloud)
{
    pappus_error error = {0};
    ck_assert_msg(pappus_expected_build(out, cloud, &error) == PAPPUS_OK, "%s", error.message);
}

static double share_within(const pappus_cloud *cloud, double squared)
{
    pappus_strata strata;
    double mean[2], c[2][2];
    size_t within = 0;
    ck_assert_int_eq(pappus_strata_build(&strata, cloud, NULL), PAPPUS_OK);
    pappus_sample all = pappus_strata_all(&strata);
    pappus_sample_moments(mean, c, cloud, &all);
    double det = c[0][0] * c[1][1] - c[0][1] * c[0][1];
    for (size_t i = 0; i < cloud->count; i++) {
        double e = cloud->east_m[i] - mean[0], n = cloud->north_m[i] - mean[1];
        within += (c[1][1] * e * e - 2.0 * c[0][1] * e * n + c[0][0] * n * n) / det < squared;
    }
    pappus_strata_clear(&strata);
    return (double)within / (double)cloud->count;
}

/* X: of a bivariate Student law with its covariance taken out, d2 is 2 F(2, nu) (nu - 2)/nu, so
 * that P(d2 < 1) = 1 - (1 + 1/(nu - 2))^(-nu/2): 0.4602 for nu = 8. Of a normal law
 * 1 - exp(-1/2) = 0.3935. Four standard deviations of a share. */
START_TEST(squared_distances_have_the_winds_tails)
{
    double bound = 4.0 * sqrt(0.25 / 20000.0);
    pappus_cloud *student = fly(1.0, 20000, 5);
    setup.plan.wind.error_dof = PAPPUS_NORMAL_DOF;
    pappus_cloud *normal = fly(1.0, 20000, 6);
    ck_assert_double_eq_tol(share_within(student, 1.0), 1.0 - pow(1.0 + 1.0 / 6.0, -4.0), bound);
    ck_assert_double_eq_tol(share_within(normal, 1.0), 1.0 - exp(-0.5), bound);
    pappus_cloud_free(student);
    pappus_cloud_free(normal);
}
END_TEST

/* Landings of the law that a zone is of: their ranks are uniform, whatever its tails. The
 * zone's own landings add their scatter: a share of 20000 and of 10000 together. */
START_TEST(ranks_are_uniform)
{
    pappus_cloud *cloud = fly(1.0, 20000, 1), *flights = fly(1.0, 10000, 2);
    pappus_expected expected;
    double below[9] = {0};
    expect(&expected, cloud);
    for (size_t i = 0; i < flights->count; i++) {
        double rank = pappus_expected_rank(&expected, flights->east_m[i], flights->north_m[i]);
        for (int k = 0; k < 9; k++)
            below[k] += rank < 0.1 * (k + 1);
    }
    for (int k = 0; k < 9; k++) {
        double p = 0.1 * (k + 1), sd = sqrt(p * (1.0 - p) * (1.0 / 10000.0 + 1.0 / 20000.0));
        ck_assert_msg(fabs(below[k] / 10000.0 - p) < 4.0 * sd, "%g under %g", below[k] / 10000.0,
                      p);
    }
    pappus_expected_clear(&expected);
    pappus_cloud_free(cloud);
    pappus_cloud_free(flights);
}
END_TEST

START_TEST(levels_by_rank)
{
    ck_assert_double_eq(pappus_level_of_rank(0.0), 0.5);
    ck_assert_double_eq(pappus_level_of_rank(0.5), 0.9);
    ck_assert_double_eq(pappus_level_of_rank(0.949), 0.95);
    ck_assert_double_eq(pappus_level_of_rank(0.98), 0.99);
    ck_assert_double_eq(pappus_level_of_rank(0.995), 1.0);
}
END_TEST

/* Ranks that are uniform have surprises of chi-squared with two degrees: exponential, mean 2
 * (R. A. Fisher 1932). Their sum leaves the interval of the test with the test's own level,
 * 0.05; the bins are 0.2 wide, which moves that by 0.001 (X: convolved in numpy, 0.0506; with
 * bins at their lower ends 0.066). Two
 * flights are too few to say anything (A), however far they lie; three are not. */
START_TEST(power_of_the_law_itself)
{
    enum { FLIGHTS = 20 };
    pappus_ranked *ranked = calloc(FLIGHTS, sizeof *ranked);
    pappus_calibration c;
    ck_assert_ptr_nonnull(ranked);
    for (int i = 0; i < FLIGHTS; i++) {
        ranked[i].rank = 0.9999;
        ranked[i].landings = 100000;
        for (int k = 0; k < PAPPUS_SURPRISE_BINS; k++) {
            double at = 0.5 * PAPPUS_SURPRISE_BIN * k, next = at + 0.5 * PAPPUS_SURPRISE_BIN;
            bool last = k == PAPPUS_SURPRISE_BINS - 1;
            ranked[i].narrow[k] = ranked[i].wide[k] = exp(-at) - (last ? 0.0 : exp(-next));
        }
    }
    ck_assert_int_eq(pappus_calibration_find(&c, ranked, FLIGHTS, NULL), PAPPUS_OK);
    ck_assert_double_eq_tol(c.power_narrow, 0.05, 0.0015);
    ck_assert_double_eq_tol(c.power_wide, 0.05, 0.0015);
    ck_assert_int_eq(pappus_calibration_find(&c, ranked, 2, NULL), PAPPUS_OK);
    ck_assert_int_eq(c.verdict, PAPPUS_ZONES_UNTOLD);
    ck_assert_int_eq(pappus_calibration_find(&c, ranked, 3, NULL), PAPPUS_OK);
    ck_assert_int_eq(c.verdict, PAPPUS_ZONES_NARROW);
    free(ranked);
}
END_TEST

#define SEASON 20
#define SEASONS 500

/* Seasons of flights in a wind whose error is `truth` times the model's; how many are found
 * to have zones too narrow, too wide. */
static void fly_seasons(const pappus_expected *expected, double truth, pappus_ranked *ranked,
                        int *narrow, int *wide, double *power)
{
    pappus_cloud *flights = fly(truth, SEASON * SEASONS, 11 + (uint64_t)(10.0 * truth));
    pappus_calibration c;
    *narrow = *wide = 0;
    for (int s = 0; s < SEASONS; s++) {
        for (int i = 0; i < SEASON; i++) {
            size_t at = (size_t)(s * SEASON + i);
            ranked[i].rank =
                pappus_expected_rank(expected, flights->east_m[at], flights->north_m[at]);
            ranked[i].landings = expected->count;
        }
        /* the power is the same for all seasons: asked once */
        pappus_ranked saved = ranked[0];
        if (s > 0) memset(ranked[0].narrow, 0, sizeof ranked[0].narrow);
        ck_assert_int_eq(pappus_calibration_find(&c, ranked, SEASON, NULL), PAPPUS_OK);
        memcpy(ranked[0].narrow, saved.narrow, sizeof saved.narrow);
        if (s == 0 && power) *power = truth > 1.0 ? c.power_narrow : c.power_wide;
        *narrow += c.verdict == PAPPUS_ZONES_NARROW;
        *wide += c.verdict == PAPPUS_ZONES_WIDE;
    }
    pappus_cloud_free(flights);
}

static void count_surprises(double bins[PAPPUS_SURPRISE_BINS], const pappus_expected *expected,
                            double truth)
{
    pappus_cloud *cloud = fly(truth, 4000, 77);
    for (size_t i = 0; i < cloud->count; i++)
        pappus_surprise_count(
            bins,
            pappus_surprise(pappus_expected_rank(expected, cloud->east_m[i], cloud->north_m[i]),
                            expected->count),
            1.0);
    pappus_cloud_free(cloud);
}

/* X: a right model is flagged in 5 % of seasons, half of them on each side; a wrong one as
 * often as the power says. Four standard deviations of a share of 500, and for the power those
 * of the 4000 landings it is reckoned from besides (less than 0.03). */
START_TEST(seasons_flag_what_they_say)
{
    static pappus_ranked ranked[SEASON];
    pappus_cloud *cloud = fly(1.0, 20000, 1);
    pappus_expected expected;
    int narrow, wide;
    double power;
    expect(&expected, cloud);
    memset(ranked, 0, sizeof ranked);
    count_surprises(ranked[0].narrow, &expected, 2.0);
    count_surprises(ranked[0].wide, &expected, 0.5);
    for (int i = 1; i < SEASON; i++) {
        memcpy(ranked[i].narrow, ranked[0].narrow, sizeof ranked[0].narrow);
        memcpy(ranked[i].wide, ranked[0].wide, sizeof ranked[0].wide);
    }
    fly_seasons(&expected, 1.0, ranked, &narrow, &wide, NULL);
    double bound = 4.0 * sqrt(0.05 * 0.95 / SEASONS);
    ck_assert_msg(fabs((narrow + wide) / (double)SEASONS - 0.05) < bound, "%d and %d", narrow,
                  wide);
    fly_seasons(&expected, 2.0, ranked, &narrow, &wide, &power);
    ck_assert_msg(fabs(narrow / (double)SEASONS - power) <
                      4.0 * sqrt(power * (1.0 - power) / SEASONS) + 0.03,
                  "%d narrow, power %g", narrow, power);
    if (getenv("PAPPUS_CASES"))
        printf("narrow by half: %d of %d, power %.3f\n", narrow, SEASONS, power);
    ck_assert_double_gt(power, 0.9);
    fly_seasons(&expected, 0.5, ranked, &narrow, &wide, &power);
    ck_assert_msg(fabs(wide / (double)SEASONS - power) <
                      4.0 * sqrt(power * (1.0 - power) / SEASONS) + 0.03,
                  "%d wide, power %g", wide, power);
    pappus_expected_clear(&expected);
    pappus_cloud_free(cloud);
}
END_TEST

/* X: the sum of ranks 0.5, 0.9, 0.1 by hand, its p from GSL's chi-square; Student's interval of
 * 1, 2, 3 is 2 -+ 4.302653 / sqrt 3 (t of 2 degrees, M). */
START_TEST(calibration_by_hand)
{
    static pappus_ranked ranked[3];
    static const double ranks[] = {0.5, 0.9, 0.1};
    pappus_calibration c;
    memset(ranked, 0, sizeof ranked);
    for (int i = 0; i < 3; i++) {
        ranked[i].rank = ranks[i];
        ranked[i].landings = 1000;
        ranked[i].along_m = i + 1.0;
    }
    ck_assert_int_eq(pappus_calibration_find(&c, ranked, 3, NULL), PAPPUS_OK);
    ck_assert_double_eq_tol(c.sum, -2.0 * log(0.5 * 0.1 * 0.9), 1e-12);
    ck_assert_double_eq(c.degrees, 6.0);
    ck_assert_double_eq_tol(c.p, 2.0 * fmin(gsl_cdf_chisq_P(c.sum, 6), gsl_cdf_chisq_Q(c.sum, 6)),
                            1e-12);
    ck_assert_double_eq_tol(c.along_m.value, 2.0, 1e-12);
    ck_assert_double_eq_tol(c.along_m.low, 2.0 - 4.302653 / sqrt(3.0), 1e-5);
    ck_assert_uint_eq(c.levels[PAPPUS_LEVEL_50].inside, 1);
    ck_assert_uint_eq(c.levels[PAPPUS_LEVEL_90].inside, 2);
    ck_assert_uint_eq(c.levels[PAPPUS_LEVEL_95].inside, 3);
    ck_assert(isnan(c.power_narrow));
}
END_TEST

/* ------------------------------------------------------------------------- learned */

/* X: precisions add. Two flights 10 % above with sd 4 % each beside the 3 % from flight to
 * flight, a prior of 10 %. */
START_TEST(drag_is_learned_by_precision)
{
    double s = 0.04, part = 1.959964 * s;
    pappus_estimate one = {1.1, 1.1 * exp(-part), 1.1 * exp(part)}, areas[2] = {one, one};
    double precision = 2.0 / (s * s + 0.03 * 0.03) + 1.0 / 0.01;
    double mean = 2.0 / (s * s + 0.03 * 0.03) * log(1.1) / precision;
    pappus_learned_drag d = pappus_learn_drag(areas, 2, 1.0, 0.1);
    ck_assert_uint_eq(d.flights, 2);
    ck_assert_double_eq_tol(d.drag_area_m2.value, exp(mean), 1e-9);
    ck_assert_double_eq_tol(d.drag_area_m2.high, exp(mean + 1.959964 / sqrt(precision)), 1e-6);
    ck_assert_double_eq_tol(d.next_sd_m2, exp(mean) * sqrt(1.0 / precision + 0.0009), 1e-9);
    pappus_estimate none = {NAN, NAN, NAN};
    d = pappus_learn_drag(&none, 1, 2.0, 0.1);
    ck_assert_uint_eq(d.flights, 0);
    ck_assert_double_eq_tol(d.drag_area_m2.value, 2.0, 1e-12);
}
END_TEST

static double normal(uint32_t sub, uint64_t index)
{
    return pappus_random_normal((pappus_random){9, 0}, PAPPUS_STREAM_MASS, sub, index, 0);
}

/* Lessons in a wind whose error is `factor` times what is said, of 100 m beside 30 m that is
 * right. */
static pappus_wind_lesson lesson(double factor, size_t i, double age_h)
{
    double sd = hypot(100.0 * factor, 30.0);
    return (pappus_wind_lesson){.east_m = sd * normal(1, i),
                                .north_m = sd * normal(2, i),
                                .wind_m2 = {1e4, 0.0, 1e4},
                                .rest_m2 = {900.0, 0.0, 900.0},
                                .error_part = 0.2,
                                .age_h = age_h,
                                .dof = PAPPUS_NORMAL_DOF};
}

static pappus_learned learn(double factor, size_t count, double oldest_h)
{
    pappus_wind_lesson *lessons = calloc(count + 1, sizeof *lessons);
    pappus_learned out = {.error_before_mps = 1.0, .growth_before_mps = 2.4};
    for (size_t i = 0; i < count; i++)
        lessons[i] = lesson(factor, i, i % 2 ? oldest_h : 3.0);
    pappus_learn_wind(&out, lessons, count);
    free(lessons);
    return out;
}

/* No flight: nothing is learned. Many: the truth. Few: between it and what is said. */
START_TEST(wind_factor_goes_from_prior_to_truth)
{
    ck_assert_uint_eq(learn(2.0, 0, 3.0).wind_flights, 0);
    pappus_learned few = learn(2.0, 3, 3.0), many = learn(2.0, 400, 3.0);
    ck_assert_double_eq_tol(many.wind_factor.value, 2.0, 0.15); /* sd of 400: 2/sqrt(1600) (X) */
    ck_assert_double_lt(many.wind_factor.low, 2.0);
    ck_assert_double_gt(many.wind_factor.high, 2.0);
    ck_assert_double_gt(few.wind_factor.high - few.wind_factor.low, 0.5);
    ck_assert(!many.split);
    ck_assert_double_eq_tol(many.growth_mps, 2.4 * many.wind_factor.value, 1e-9);
    ck_assert_double_eq_tol(learn(0.5, 400, 3.0).wind_factor.value, 0.5, 0.05);
    ck_assert(learn(1.0, 8, 12.0).split);
    ck_assert(!learn(1.0, 8, 11.0).split);
}
END_TEST

/* Where next to nothing of the spread is the wind's, strays of the rest teach nothing: what is
 * left is the prior, exp(0 +- 1.96 times its standard deviation). */
START_TEST(rest_teaches_nothing_of_the_wind)
{
    enum { FLIGHTS = 40 };
    pappus_wind_lesson lessons[FLIGHTS];
    pappus_learned out = {.error_before_mps = 1.0, .growth_before_mps = 2.4};
    for (size_t i = 0; i < FLIGHTS; i++) {
        lessons[i] = lesson(1.0, i, 3.0);
        for (int axis = 0; axis < 3; axis += 2) {
            lessons[i].wind_m2[axis] = 1.0;
            lessons[i].rest_m2[axis] = 1e4;
        }
    }
    pappus_learn_wind(&out, lessons, FLIGHTS);
    double reach = 1.959964 * PAPPUS_WIND_FACTOR_SD;
    ck_assert_double_eq_tol(log(out.wind_factor.value), 0.0, 0.02);
    ck_assert_double_eq_tol(log(out.wind_factor.low), -reach, 0.02);
    ck_assert_double_eq_tol(log(out.wind_factor.high), reach, 0.02);
}
END_TEST

/* A landing's lesson in a wind with Student's tails, its error and growth times factors: the
 * covariance of a t of 8 degrees is 8/(8 - 2) times that of its normal numerator. */
static pappus_wind_lesson student_lesson(double error, double growth, double part, uint64_t i)
{
    double chi2 = 0.0, k2 = part * error * error + (1.0 - part) * growth * growth;
    double sd = hypot(100.0 * sqrt(k2), 30.0);
    for (uint32_t j = 0; j < 8; j++)
        chi2 += pow(normal(10 + j, i), 2.0);
    sd *= sqrt(6.0 / chi2);
    return (pappus_wind_lesson){.east_m = sd * normal(1, i),
                                .north_m = sd * normal(2, i),
                                .wind_m2 = {1e4, 0.0, 1e4},
                                .rest_m2 = {900.0, 0.0, 900.0},
                                .error_part = part,
                                .age_h = part > 0.5 ? 1.0 : 12.0,
                                .dof = 8.0};
}

static bool within(pappus_estimate e, double truth)
{
    return e.low <= truth && truth <= e.high;
}

/* X: of truths drawn from the prior an interval of the posterior holds its share, 95 %,
 * whatever the number of flights (Cook, Gelman & Rubin, Journal of Computational and Graphical
 * Statistics 15:675, 2006). Four standard deviations of a share. */
START_TEST(intervals_of_the_wind_hold_what_they_say)
{
    enum { HELD_SEASONS = 600, HELD_FLIGHTS = 12, PARTED = 60 };
    pappus_wind_lesson lessons[HELD_FLIGHTS];
    int one = 0, error_held = 0, growth_held = 0;
    for (uint64_t s = 0; s < HELD_SEASONS + PARTED; s++) {
        bool parted = s >= HELD_SEASONS;
        double error = exp(PAPPUS_WIND_FACTOR_SD * normal(30, s));
        double growth = parted ? exp(PAPPUS_WIND_FACTOR_SD * normal(31, s)) : error;
        pappus_learned out = {.error_before_mps = 1.0, .growth_before_mps = 1.0};
        for (uint64_t i = 0; i < HELD_FLIGHTS; i++)
            lessons[i] = student_lesson(error, growth, parted && i % 2 ? 0.1 : 0.9,
                                        1000 + s * HELD_FLIGHTS + i);
        pappus_learn_wind(&out, lessons, HELD_FLIGHTS);
        ck_assert(out.split == parted);
        one += !parted && within(out.wind_factor, error);
        error_held += parted && within(out.error_factor, error);
        growth_held += parted && within(out.growth_factor, growth);
    }
    if (getenv("PAPPUS_CASES"))
        printf("wind: %d of %d held, error %d and growth %d of %d\n", one, HELD_SEASONS, error_held,
               growth_held, PARTED);
    ck_assert(fabs(one - 0.95 * HELD_SEASONS) <= 4.0 * sqrt(0.95 * 0.05 * HELD_SEASONS));
    ck_assert(fabs(error_held - 0.95 * PARTED) <= 4.0 * sqrt(0.95 * 0.05 * PARTED));
    ck_assert(fabs(growth_held - 0.95 * PARTED) <= 4.0 * sqrt(0.95 * 0.05 * PARTED));
}
END_TEST

/* X: with a normal law and no rest, n flights of sum of squares S have the likelihood
 * k^(-2n) exp(-S/2k^2); its posterior median by Simpson's rule over ln k. */
START_TEST(wind_factor_by_quadrature)
{
    pappus_wind_lesson lessons[5];
    pappus_learned out = {.error_before_mps = 1.0, .growth_before_mps = 1.0};
    double squares = 0.0, total = 0.0, half = 0.0, median = NAN;
    for (size_t i = 0; i < 5; i++) {
        lessons[i] = (pappus_wind_lesson){.east_m = 1.0 + (double)i,
                                          .north_m = -2.0,
                                          .wind_m2 = {4.0, 0.0, 4.0},
                                          .error_part = 0.5,
                                          .age_h = 1.0,
                                          .dof = PAPPUS_NORMAL_DOF};
        squares += (lessons[i].east_m * lessons[i].east_m + 4.0) / 4.0;
    }
    for (int pass = 0; pass < 2; pass++)
        for (int i = 0; i <= 40000; i++) {
            double x = -2.0 + 1e-4 * i, k2 = exp(2.0 * x), s = PAPPUS_WIND_FACTOR_SD;
            double one = exp(-10.0 * x - 0.5 * squares / k2 - 0.5 * x * x / (s * s));
            if (pass == 0) total += one;
            if (pass == 0) continue;
            half += one;
            if (isnan(median) && half >= 0.5 * total) median = exp(x);
        }
    pappus_learn_wind(&out, lessons, 5);
    ck_assert_double_eq_tol(out.wind_factor.value, median, 0.01 * median);
}
END_TEST

SUITE("calibration")
{
    tcase_add_checked_fixture(tests, begin, NULL);
    tcase_add_test(tests, squared_distances_have_the_winds_tails);
    tcase_add_test(tests, ranks_are_uniform);
    tcase_add_test(tests, power_of_the_law_itself);
    tcase_add_test(tests, levels_by_rank);
    tcase_add_test(tests, seasons_flag_what_they_say);
    tcase_add_test(tests, calibration_by_hand);
    tcase_add_test(tests, drag_is_learned_by_precision);
    tcase_add_test(tests, wind_factor_goes_from_prior_to_truth);
    tcase_add_test(tests, rest_teaches_nothing_of_the_wind);
    tcase_add_test(tests, wind_factor_by_quadrature);
    tcase_add_test(tests, intervals_of_the_wind_hold_what_they_say);
}
