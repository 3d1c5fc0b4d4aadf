/* SPDX-License-Identifier: GPL-3.0-or-later
 * The fit of the wind's error on invented winds whose law is known. */
#include "blocks.h"
#include "fit.h"
#include "random.h"
#include "suite.h"

#include <gsl/gsl_errno.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Invented (X: drawn from the law of DESIGN, wind error, by its formulas): a wind and a
 * later one, four days apart from the next two, so that no other pairs arise. The change
 * has the error of both winds in it. */
typedef struct {
    pappus_archive archive;
    double *values;
    pappus_random random;
    uint64_t drawn;
} invented;

static const double ages_h[] = {1, 3, 6, 12, 24};
#define AGES (sizeof ages_h / sizeof *ages_h)
#define DOF 8
#define LEVELS (1 + PAPPUS_GRID_HEIGHTS) /* near the ground, and those of the grid */

static double normal(invented *a)
{
    return pappus_random_normal(a->random, PAPPUS_STREAM_WIND_PRIOR, 0, a->drawn++, 0);
}

/* Standard deviation 1, DOF degrees of freedom: sqrt((nu - 2)/chi2). */
static double student_scale(invented *a)
{
    double chi2 = 0.0;
    for (int i = 0; i < DOF; i++) {
        double x = normal(a);
        chi2 += x * x;
    }
    return sqrt((DOF - 2.0) / chi2);
}

/* From the ground up; the ground's own numbers come of a stream beside the others'. */
static void draw_change(invented *a, double *out, const pappus_wind_error *law, double sd_mps)
{
    const double *z = pappus_grid_heights_m;
    double x = 0.0;
    for (int j = 0; j < PAPPUS_GRID_HEIGHTS; j++) {
        double r = j ? pappus_wind_error_correlation(law, z[j - 1], z[j], 6.0) : 0.0;
        x = r * x + sqrt(1.0 - r * r) * normal(a);
        out[1 + j] = sd_mps * pappus_wind_error_height_factor(law, z[j]) * x;
        if (j > 0) continue;
        /* a Markov process is one downwards as well */
        r = pappus_wind_error_correlation(law, PAPPUS_GROUND_M, z[0], 6.0);
        double own = pappus_random_normal(a->random, PAPPUS_STREAM_WIND_PRIOR, 1, a->drawn, 0);
        out[0] = sd_mps * pappus_wind_error_height_factor(law, PAPPUS_GROUND_M) *
                 (r * x + sqrt(1.0 - r * r) * own);
    }
}

/* One wind over all heights, 6 m/s per component. */
static void draw_before(const invented *a, pappus_sounding *s, size_t i)
{
    double u = 6.0 * pappus_random_normal(a->random, PAPPUS_STREAM_WIND_PRIOR, 2, i, 0);
    double v = 6.0 * pappus_random_normal(a->random, PAPPUS_STREAM_WIND_PRIOR, 3, i, 0);
    for (int j = 0; j < LEVELS; j++) {
        s->u_mps[j] = u;
        s->v_mps[j] = v;
    }
}

static void invent(invented *a, const pappus_wind_error *law, size_t pairs, uint64_t seed)
{
    *a = (invented){.random = {seed, 0}, .archive = {.count = 2 * pairs}};
    a->values = calloc(2 * pairs, 3 * LEVELS * sizeof *a->values);
    a->archive.soundings = calloc(2 * pairs, sizeof *a->archive.soundings);
    ck_assert(a->values && a->archive.soundings);
    for (size_t i = 0; i < 2 * pairs; i++) {
        pappus_sounding *s = &a->archive.soundings[i];
        double age_h = ages_h[i / 2 % AGES];
        s->valid_utc_s = s->issued_utc_s =
            1e9 + 345600.0 * (double)(i / 2) + (i % 2 ? 3600.0 * age_h : 0.0);
        s->level_count = LEVELS;
        s->height_m = a->values + 3 * i * LEVELS;
        s->u_mps = s->height_m + LEVELS;
        s->v_mps = s->height_m + 2 * LEVELS;
        s->height_m[0] = PAPPUS_GROUND_M;
        memcpy(s->height_m + 1, pappus_grid_heights_m, sizeof pappus_grid_heights_m);
        if (i % 2 == 0) {
            draw_before(a, s, i);
            continue;
        }
        const pappus_sounding *before = s - 1;
        double over = hypot(before->u_mps[0], before->v_mps[0]) / 8.0;
        double faster = 1.0 + law->speed_share * (over * over - 1.0);
        double grown = law->growth_mps * cbrt(age_h) * sqrt(faster);
        double sd = student_scale(a) * hypot(M_SQRT2 * law->error_mps, grown);
        pappus_wind_error aged = *law;
        aged.correlation_height_m = pappus_wind_error_length_m(law, age_h);
        draw_change(a, s->u_mps, &aged, sd);
        draw_change(a, s->v_mps, &aged, sd);
        for (int j = 0; j < LEVELS; j++) {
            s->u_mps[j] += before->u_mps[j];
            s->v_mps[j] += before->v_mps[j];
        }
    }
}

static void forget(invented *a)
{
    free(a->values);
    free(a->archive.soundings);
}

static pappus_wind_error truth(void)
{
    pappus_wind_error law = pappus_law_default(false);
    law.error_mps = 1.2;
    law.growth_mps = 2.0;
    law.correlation_growth_m = 400.0;
    law.ground_factor = 0.6;
    law.top_factor = 1.2;
    law.decoupling = 0.35;
    law.speed_share = 0.4;
    law.dof = DOF;
    return law;
}

static int fit(pappus_skill_fit *out, const pappus_archive *archive)
{
    const pappus_skill_options all = PAPPUS_SKILL_OPTIONS_INIT;
    pappus_pairs pairs;
    pappus_error error = {0};
    ck_assert_int_eq(pappus_pairs_form(&pairs, archive, &all, &error), PAPPUS_OK);
    int status = pappus_fit_model(out, &pairs, -1, &error);
    pappus_pairs_clear(&pairs);
    return status;
}

static bool holds(pappus_estimate e, double value)
{
    return e.low <= value && value <= e.high;
}

#define RUNS 300
#define PAIRS 200
#define FIRST_SEED 1

/* Issue: recovered within their 95 % intervals in 93 to 97 % of 300 seeded runs. */
START_TEST(test_recovers_the_law)
{
    pappus_wind_error law = truth();
    int held[8] = {0};
    for (uint64_t run = 0; run < RUNS; run++) {
        invented a;
        pappus_skill_fit f;
        invent(&a, &law, PAIRS, FIRST_SEED + run);
        ck_assert_int_eq(fit(&f, &a.archive), PAPPUS_OK);
        ck_assert_uint_eq(f.pairs, PAIRS);
        held[0] += holds(f.error_mps, law.error_mps);
        held[1] += holds(f.growth_mps, law.growth_mps);
        held[2] += holds(f.correlation_growth_m, law.correlation_growth_m);
        held[3] += holds(f.ground_factor, law.ground_factor);
        held[4] += holds(f.top_factor, law.top_factor);
        held[5] += holds(f.error_dof, law.dof);
        held[6] += holds(f.decoupling, law.decoupling);
        held[7] += holds(f.speed_share, law.speed_share);
        forget(&a);
    }
    for (int i = 0; i < 8; i++)
        ck_assert_msg(held[i] >= 0.93 * RUNS && held[i] <= 0.97 * RUNS,
                      "value %d was in its interval in %d of %d runs", i, held[i], RUNS);
}
END_TEST

/* Many pairs: the values themselves, within 5 standard errors of some thousand pairs. */
START_TEST(test_comes_near_with_many_pairs)
{
    pappus_wind_error law = truth();
    invented a;
    pappus_skill_fit f;
    invent(&a, &law, 6000, 99);
    ck_assert_int_eq(fit(&f, &a.archive), PAPPUS_OK);
    ck_assert_double_eq_tol(f.error_mps.value, 1.2, 0.1);
    ck_assert_double_eq_tol(f.growth_mps.value, 2.0, 0.06);
    ck_assert_double_eq_tol(f.correlation_growth_m.value, 400.0, 30.0);
    ck_assert_double_eq_tol(f.ground_factor.value, 0.6, 0.03);
    ck_assert_double_eq_tol(f.top_factor.value, 1.2, 0.03);
    ck_assert_double_eq_tol(f.decoupling.value, 0.35, 0.06);
    ck_assert_double_eq_tol(f.speed_share.value, 0.4, 0.07);
    ck_assert_double_eq_tol(f.error_dof.value, 8.0, 1.5);
    forget(&a);
}
END_TEST

/* Chance that a Student law of `dof` in a plane, of variance 1 along each axis, is within the
 * distance where the normal law holds p (X: F(2, dof) in closed form). */
static double student_within(double p, double dof)
{
    return 1.0 - pow(1.0 - 2.0 * log1p(-p) / (dof - 2.0), -0.5 * dof);
}

/* What stands beside the fit: the law that the winds are drawn from holds what it says of them,
 * the normal law what a Student law of 8 degrees has there, and each height has its factor;
 * within 4 standard errors of 6000 pairs, of a height 3.5 % by its tails. */
START_TEST(test_measures_what_the_fit_says)
{
    const pappus_skill_options all = PAPPUS_SKILL_OPTIONS_INIT;
    pappus_wind_error law = truth();
    invented a;
    pappus_skill *skill = NULL;
    pappus_error error = {0};
    invent(&a, &law, 6000, 99);
    ck_assert_int_eq(pappus_skill_measure(&skill, &a.archive, &all, &error), PAPPUS_OK);
    ck_assert_uint_eq(skill->tail_count, PAPPUS_LEVELS);
    for (size_t l = 0; l < skill->tail_count; l++) {
        const pappus_skill_tail *tail = &skill->tails[l];
        double p = pappus_levels[l], normal = student_within(p, DOF);
        ck_assert_double_eq_tol(tail->student, p, 4.0 * sqrt(p * (1.0 - p) / 6000.0));
        ck_assert_double_eq_tol(tail->normal, normal, 4.0 * sqrt(normal * (1.0 - normal) / 6000.0));
    }
    ck_assert_uint_eq(skill->height_count, PAPPUS_GRID_HEIGHTS);
    for (size_t j = 0; j < skill->height_count; j++) {
        double factor = pappus_wind_error_height_factor(&law, skill->heights[j].height_m);
        ck_assert_double_eq_tol(skill->heights[j].measured, factor, 0.035 * factor);
        ck_assert_double_eq_tol(skill->heights[j].model, factor, 0.035 * factor);
    }
    pappus_skill_free(skill);
    forget(&a);
}
END_TEST

/* An archive without young pairs: the error is the prior's (SOURCES 6: 0.5 to 2 m/s). */
START_TEST(test_leaves_the_error_to_its_prior)
{
    pappus_wind_error law = truth();
    invented a;
    pappus_skill_fit f;
    invent(&a, &law, 500, 7);
    for (size_t i = 0; i < a.archive.count; i += 2) /* every pair 12 h old */
        a.archive.soundings[i + 1].valid_utc_s = a.archive.soundings[i + 1].issued_utc_s =
            a.archive.soundings[i].valid_utc_s + 43200.0;
    ck_assert_int_eq(fit(&f, &a.archive), PAPPUS_OK);
    ck_assert_double_eq_tol(f.error_mps.value, 1.0, 1e-9);
    ck_assert(f.error_mps.low < 0.51 && f.error_mps.high > 1.96);
    ck_assert_double_eq_tol(log(f.error_mps.high / f.error_mps.low), 4.0 * 0.354, 0.12);
    forget(&a);
}
END_TEST

START_TEST(test_too_few_pairs)
{
    pappus_wind_error law = truth();
    invented a;
    pappus_skill_fit f;
    invent(&a, &law, 29, 1);
    ck_assert_int_eq(fit(&f, &a.archive), PAPPUS_E_WIND);
    forget(&a);
}
END_TEST

/* X: independent days, and days alike in fives. A sum of n independent days of variance
 * 1 has variance n; in runs of five alike it has 5 n. A block straddles two runs but
 * for one start in five: the mean over starts of (k^2 + (5-k)^2)/5, k = 0 ... 4, is 3.4. */
START_TEST(test_blocks)
{
    enum { DAYS = 100000 };
    pappus_random random = {5, 0};
    double *days = malloc(DAYS * sizeof *days), variance;
    double n = DAYS, block = ceil(cbrt(n));
    ck_assert_ptr_nonnull(days);
    for (uint64_t i = 0; i < DAYS; i++)
        days[i] = pappus_random_normal(random, PAPPUS_STREAM_WIND_PRIOR, 0, i, 0);
    pappus_block_covariance(&variance, days, DAYS, 1);
    ck_assert_double_eq_tol(variance / n, 1.0, 5.0 * sqrt(2.0 * block / n));
    for (size_t i = 0; i < DAYS; i++)
        days[i] = days[i - i % 5];
    pappus_block_covariance(&variance, days, DAYS, 1);
    /* blocks of 47 days: nine whole runs and two parts, 5 - (5 - 3.4) 5/47 and so on */
    ck_assert_double_eq_tol(variance / n, 5.0, 5.0 * 5.0 * sqrt(2.0 * block / n) + 0.2);
    free(days);
}
END_TEST

START_TEST(test_gaps)
{
    double z[] = {10, 500, 3000}, u[] = {0, 49, 99}, v[] = {0, 0, 0}, got_u, got_v;
    pappus_sounding s = {.level_count = 3, .height_m = z, .u_mps = u, .v_mps = v};
    ck_assert(pappus_sounding_at(&got_u, &got_v, &s, 10.0, 1.0));
    ck_assert_double_eq(got_u, 0.0);
    ck_assert(!pappus_sounding_at(&got_u, &got_v, &s, 300.0, 1.0)); /* 490 m over 390 */
    ck_assert(pappus_sounding_at(&got_u, &got_v, &s, 300.0, 2.0));
    ck_assert_double_eq_tol(got_u, 29.0, 1e-12);
    ck_assert(!pappus_sounding_at(&got_u, &got_v, &s, 2500.0, 2.0)); /* 2500 m over 2100 */
    ck_assert(!pappus_sounding_at(&got_u, &got_v, &s, 3001.0, 9.0));
    ck_assert(!pappus_sounding_at(&got_u, &got_v, &s, 9.0, 9.0));
}
END_TEST

/* Forecasts go with the sounding of their valid time, by the time since issue. */
START_TEST(test_pairs_of_forecasts)
{
    double z[] = {10, 100}, u[] = {1, 1}, v[] = {1, 1};
    pappus_sounding s[] = {{0.0, 0.0, 2, z, u, v},
                           {43200.0, 0.0, 2, z, u, v},
                           {43200.0, 21600.0, 2, z, u, v},
                           {43200.0, 43200.0, 2, z, u, v}};
    pappus_archive archive = {.count = 4, .soundings = s, .forecast_count = 2};
    const pappus_skill_options all = PAPPUS_SKILL_OPTIONS_INIT;
    pappus_skill_options july = PAPPUS_SKILL_OPTIONS_INIT, noon = PAPPUS_SKILL_OPTIONS_INIT;
    pappus_pairs pairs;
    july.months = 1U << 6;
    noon.hours = 1U << 12;
    ck_assert_int_eq(pappus_pairs_form(&pairs, &archive, &all, NULL), PAPPUS_OK);
    ck_assert_uint_eq(pairs.count, 2);
    ck_assert_double_eq(pairs.pairs[0].age_h, 6.0);
    ck_assert_uint_eq(pairs.pairs[0].earlier, 2);
    ck_assert_double_eq(pairs.pairs[1].age_h, 12.0);
    ck_assert_uint_eq(pairs.pairs[1].later, 3);
    pappus_pairs_clear(&pairs);
    ck_assert_int_eq(pappus_pairs_form(&pairs, &archive, &july, NULL), PAPPUS_OK);
    ck_assert_uint_eq(pairs.count, 0);
    pappus_pairs_clear(&pairs);
    ck_assert_int_eq(pappus_pairs_form(&pairs, &archive, &noon, NULL), PAPPUS_OK);
    ck_assert_uint_eq(pairs.count, 2);
    pappus_pairs_clear(&pairs);
}
END_TEST

SUITE("skill_fit")
{
    gsl_set_error_handler_off();
    tcase_add_test(tests, test_recovers_the_law);
    tcase_add_test(tests, test_comes_near_with_many_pairs);
    tcase_add_test(tests, test_measures_what_the_fit_says);
    tcase_add_test(tests, test_leaves_the_error_to_its_prior);
    tcase_add_test(tests, test_too_few_pairs);
    tcase_add_test(tests, test_blocks);
    tcase_add_test(tests, test_gaps);
    tcase_add_test(tests, test_pairs_of_forecasts);
}
