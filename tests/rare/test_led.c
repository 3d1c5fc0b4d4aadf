/* SPDX-License-Identifier: GPL-3.0-or-later
 * Led landings against closed forms, on a fall that is linear in the wind: its landing is
 * normal, or Student's in the plane (X: sums of the plan's covariance; GSL's
 * distributions). */
#include "rare/linear_fall.h"

#include "interval.h"
#include "suite.h"

#include <gsl/gsl_cdf.h>
#include <stdlib.h>
#include <string.h>

#define SEEDS 500
#define FAR_M 40000.0

/* Chance of being farther east than z standard deviations of the wind's part. */
static double upper_chance(double dof, double z)
{
    if (dof >= PAPPUS_NORMAL_DOF) return gsl_cdf_ugaussian_Q(z);
    return gsl_cdf_tdist_Q(z * sqrt(dof / (dof - 2.0)), dof);
}

static double upper_quantile(double dof, double chance)
{
    if (dof >= PAPPUS_NORMAL_DOF) return gsl_cdf_ugaussian_Qinv(chance);
    return gsl_cdf_tdist_Qinv(chance, dof) / sqrt(dof / (dof - 2.0));
}

/* Beside the drift the landing has as much by its mass, or half as much by the low wind. */
#define NOTHING                                                                                    \
    {                                                                                              \
        0.0, 0.0, 0.0                                                                              \
    }
#define BY_MASS                                                                                    \
    {                                                                                              \
        300.0, 0.0, 0.0                                                                            \
    }
#define BY_LOW_WIND                                                                                \
    {                                                                                              \
        0.0, 60.0, 0.0                                                                             \
    }

static const struct {
    double dof, chance;
    linear_beside beside;
} tails[] = {{PAPPUS_NORMAL_DOF, 1e-3, NOTHING},
             {PAPPUS_NORMAL_DOF, 1e-5, NOTHING},
             {PAPPUS_NORMAL_DOF, 1e-7, NOTHING},
             {8.0, 1e-3, NOTHING},
             {8.0, 1e-5, NOTHING},
             {8.0, 1e-7, NOTHING},
             {PAPPUS_NORMAL_DOF, 1e-5, BY_MASS},
             {PAPPUS_NORMAL_DOF, 1e-7, BY_MASS},
             {PAPPUS_NORMAL_DOF, 1e-5, BY_LOW_WIND},
             {PAPPUS_NORMAL_DOF, 1e-7, BY_LOW_WIND}};
#define TAILS ((int)(sizeof tails / sizeof tails[0]))

/* What a tail's seeds say. */
typedef struct {
    size_t held; /* seeds whose 95 % interval holds the closed form */
    double mean, sd;
} told;

static told tell_tail(double dof, double chance, linear_beside beside)
{
    linear_fall f;
    told t = {0, 0.0, 0.0};
    linear_fall_begin(&f, dof, dof >= PAPPUS_NORMAL_DOF ? LINEAR_SPREAD_M : 0.0, beside);
    double east_m = f.mean_m[0] + linear_sd_m(&f) * upper_quantile(dof, chance), sum2 = 0.0;
    linear_area(&f, east_m, -FAR_M, FAR_M, FAR_M);
    for (uint64_t seed = 1; seed <= SEEDS; seed++) {
        led_outcome led;
        linear_lead(&led, &f, seed);
        const pappus_rare_share *share = &led.areas[0].share;
        ck_assert_uint_gt(share->landings, 0);
        pappus_estimate e =
            pappus_weighted_estimate(share->value, share->variance, share->heaviest, 0.95);
        t.held += e.low <= chance && chance <= e.high;
        t.mean += share->value / chance / SEEDS;
        sum2 += pow(share->value / chance, 2.0) / SEEDS;
        led_outcome_clear(&led);
    }
    t.sd = sqrt(sum2 - t.mean * t.mean);
    linear_fall_end(&f);
    return t;
}

/* A 95 % interval holds the closed form in 93 to 97 %: of all seeds of all tails together (its
 * standard error is 0.3 %), and of one tail's 500 to four of their standard errors of 1 %
 * (binomial, X). The mean is off it by under four of its own. Three hundred landings tell it to
 * a fifth (A), whatever carries the fall there. */
START_TEST(tails_of_closed_forms)
{
    double held = 0.0;
    for (int i = 0; i < TAILS; i++) {
        double chance = tails[i].chance, dof = tails[i].dof;
        told t = tell_tail(dof, chance, tails[i].beside);
        ck_assert_double_eq_tol(upper_chance(dof, upper_quantile(dof, chance)), chance,
                                1e-6 * chance);
        ck_assert_msg(fabs(t.mean - 1.0) <= 4.0 * t.sd / sqrt(SEEDS), "tail %d: mean %g", i,
                      t.mean);
        ck_assert_msg(t.sd < 0.2, "tail %d: %g", i, t.sd);
        ck_assert_msg(fabs((double)t.held / SEEDS - 0.95) <= 4.0 * sqrt(0.95 * 0.05 / SEEDS),
                      "tail %d: held by %zu", i, t.held);
        held += (double)t.held / SEEDS / TAILS;
    }
    ck_assert_double_ge(held, 0.93);
    ck_assert_double_le(held, 0.97);
}
END_TEST

/* Under 20 hits are too few for an interval (A), however alike they weigh: what was counted is
 * left to speak. */
START_TEST(few_hits_do_not_speak)
{
    linear_fall f;
    led_outcome led;
    linear_fall_begin(&f, PAPPUS_NORMAL_DOF, LINEAR_SPREAD_M, (linear_beside)NOTHING);
    double east_m = f.mean_m[0] + linear_sd_m(&f) * upper_quantile(PAPPUS_NORMAL_DOF, 1e-5);
    linear_area(&f, east_m, -FAR_M, FAR_M, FAR_M);
    for (int many = 0; many < 2; many++) {
        f.task.wide = 0;
        f.task.aimed = many ? 40 : 18;
        linear_lead(&led, &f, 1);
        const pappus_rare_share *share = &led.areas[0].share;
        ck_assert_double_gt(share->effective, 8.0);
        ck_assert_uint_gt(share->hits, many ? 20 : 8);
        if (!many) ck_assert_uint_lt(share->hits, 20);
        ck_assert_uint_eq(share->landings, many ? led.shots.count : 0);
        led_outcome_clear(&led);
    }
    /* so far out that the few say enough: with what is foreseen, ten times (A), as upper end */
    double far_m = f.mean_m[0] + linear_sd_m(&f) * upper_quantile(PAPPUS_NORMAL_DOF, 1e-10);
    linear_area(&f, far_m, -FAR_M, FAR_M, FAR_M);
    f.task.aimed = 12;
    linear_lead(&led, &f, 1);
    const pappus_rare_share *share = &led.areas[0].share;
    ck_assert_uint_lt(share->hits, 20);
    ck_assert_uint_eq(share->landings, led.shots.count);
    ck_assert_double_ge(
        pappus_weighted_estimate(share->value, share->variance, share->heaviest, 0.95).high, 5e-10);
    led_outcome_clear(&led);
    linear_fall_end(&f);
}
END_TEST

/* Landings flown for several main heights at once: each row's chance beyond one line, against
 * the closed form of a row that is moved east by half of its main's height (X). */
#define LINE_ROWS 8
#define LINE_CHANCE 1e-6 /* of the planned row */
#define LINE_SEEDS 100

START_TEST(rows_of_one_landing)
{
    linear_fall f;
    pappus_error err = {0};
    pappus_draws *draws[LINE_ROWS];
    pappus_hits hits[LINE_ROWS];
    double sum[LINE_ROWS] = {0.0}, sum2[LINE_ROWS] = {0.0}, chance[LINE_ROWS];
    linear_fall_begin(&f, PAPPUS_NORMAL_DOF, LINEAR_SPREAD_M, (linear_beside){0.0, 0.0, 0.5});
    double z = upper_quantile(PAPPUS_NORMAL_DOF, LINE_CHANCE), sd_m = linear_sd_m(&f);
    linear_area(&f, f.mean_m[0] + sd_m * z, -FAR_M, FAR_M, FAR_M);
    f.flight.plan.altimeter_count = 1;
    f.task.rows = LINE_ROWS;
    f.task.hits = hits;
    for (int r = 0; r < LINE_ROWS; r++) {
        hits[r] = f.hits;
        chance[r] = gsl_cdf_ugaussian_Q(z - 0.5 * 40.0 * (r - 3) / sd_m);
    }
    for (uint64_t seed = 1; seed <= LINE_SEEDS; seed++) {
        led_outcome led;
        f.task.random = (pappus_random){seed, 0};
        for (int r = 0; r < LINE_ROWS; r++)
            ck_assert_int_eq(pappus_draws_build(&draws[r], &f.flight.plan, f.flight.air,
                                                f.task.random, 40.0 * (r - 3), &err),
                             0);
        linear_lead_rows(&led, &f, (const pappus_draws *const *)draws);
        for (int r = 0; r < LINE_ROWS; r++) {
            const pappus_rare_share *share = &led.areas[r].share;
            ck_assert_uint_gt(share->landings, 0);
            sum[r] += share->value / chance[r] / LINE_SEEDS;
            sum2[r] += pow(share->value / chance[r], 2.0) / LINE_SEEDS;
            pappus_draws_free(draws[r]);
        }
        led_outcome_clear(&led);
    }
    for (int r = 0; r < LINE_ROWS; r++) {
        double sd = sqrt(sum2[r] - sum[r] * sum[r]);
        ck_assert_double_eq_tol(sum[r], 1.0, 4.0 * sd / sqrt(LINE_SEEDS));
        ck_assert_double_lt(sd, 0.2); /* as of one row */
    }
    linear_fall_end(&f);
}
END_TEST

/* A thousand strips from south to north, a twentieth of a standard deviation wide: some in
 * the tail, the rest where nothing comes. */
#define STRIPS 1000
#define NEAR_STRIPS 30
#define STRIP_WIDTH 0.05
#define STRIP_LIMIT 1e-6

typedef struct {
    double corners[STRIPS][8], chance[STRIPS];
    pappus_ring rings[STRIPS];
    pappus_polygon polygons[STRIPS];
    pappus_area areas[STRIPS];
    size_t counted[STRIPS][PAPPUS_OUTCOMES];
} strips;

/* Far ones come first: the order of the areas says nothing. */
static void set_strips(strips *s, linear_fall *f, size_t first, size_t count)
{
    pappus_error err = {0};
    double sd_m = linear_sd_m(f);
    for (size_t i = 0; i < STRIPS; i++) {
        size_t near = STRIPS - 1 - i;
        double z = STRIP_WIDTH * (double)i + (near < STRIPS - NEAR_STRIPS ? 10.0 : 3.0);
        double west = f->mean_m[0] + sd_m * z, east = west + 0.99 * STRIP_WIDTH * sd_m;
        const double corners[8] = {west, -FAR_M, east, -FAR_M, east, FAR_M, west, FAR_M};
        memcpy(s->corners[near], corners, sizeof corners);
        s->chance[near] = gsl_cdf_ugaussian_Q(z) - gsl_cdf_ugaussian_Q(z + 0.99 * STRIP_WIDTH);
        s->rings[near] = (pappus_ring){4, s->corners[near]};
        s->polygons[near] = (pappus_polygon){1, &s->rings[near]};
        s->areas[near] = (pappus_area){(char *)(uintptr_t) "strip", 1, &s->polygons[near]};
    }
    pappus_field_shapes_free(f->shapes);
    f->field = (pappus_field){.keep_out_count = count, .keep_outs = s->areas + first};
    f->hits.keep_out_count = count;
    f->hits.keep_out = s->counted;
    f->flight.plan.limits.keep_out = STRIP_LIMIT;
    ck_assert_int_eq(pappus_field_shapes_new(&f->shapes, &f->field, &err), 0);
    f->task.shapes = f->shapes;
}

/* What is led to an area, against the closed form; how it stands to the limit. */
static int side_of_limit(const pappus_rare_share *share, double chance)
{
    pappus_estimate e =
        pappus_weighted_estimate(share->value, share->variance, share->heaviest, 0.999);
    ck_assert_double_le(e.low, chance);
    ck_assert_double_ge(e.high, chance);
    return e.low > STRIP_LIMIT ? 1 : e.high < STRIP_LIMIT ? -1 : 0;
}

/* The likeliest are aimed at and stand as when they are alone; those where nothing comes are
 * bounded; of the rest either what is led tells right, or they are said to be unled. */
START_TEST(many_areas)
{
    linear_fall f;
    led_outcome all, alone;
    strips *s = calloc(1, sizeof *s);
    size_t first = STRIPS - LED_AIMS_MOST, unled = 0;
    ck_assert_ptr_nonnull(s);
    linear_fall_begin(&f, PAPPUS_NORMAL_DOF, LINEAR_SPREAD_M, (linear_beside)NOTHING);
    set_strips(s, &f, first, LED_AIMS_MOST);
    linear_lead(&alone, &f, (uint64_t)_i);
    set_strips(s, &f, 0, STRIPS);
    linear_lead(&all, &f, (uint64_t)_i);
    ck_assert_uint_eq(alone.shots.part_count, SHOTS_AIMED + LED_AIMS_MOST);
    ck_assert_uint_eq(all.shots.part_count, SHOTS_AIMED + LED_AIMS_MOST);
    ck_assert_uint_eq(all.shots.count, alone.shots.count);
    ck_assert_uint_eq(alone.unled, 0);
    for (size_t k = 0; k < STRIPS; k++) {
        const pappus_rare_share *share = &all.areas[k].share;
        if (k >= first) {
            ck_assert_uint_gt(share->landings, 0);
            ck_assert_int_eq(side_of_limit(share, s->chance[k]), 1);
            ck_assert_int_eq(side_of_limit(&alone.areas[k - first].share, s->chance[k]), 1);
        } else if (k < STRIPS - NEAR_STRIPS) {
            ck_assert_uint_gt(share->landings, 0);
            ck_assert_uint_eq(share->hits, 0);
            ck_assert_int_eq(side_of_limit(share, s->chance[k]), -1);
        } else if (share->landings > 0) {
            side_of_limit(share, s->chance[k]);
        } else {
            unled++;
        }
    }
    ck_assert_uint_eq(all.unled, unled);
    ck_assert_uint_lt(unled, NEAR_STRIPS - LED_AIMS_MOST + 1);
    led_outcome_clear(&all);
    led_outcome_clear(&alone);
    linear_fall_end(&f);
    free(s);
}
END_TEST

SUITE("led")
{
    tcase_add_loop_test(tests, many_areas, 1, 9);
    tcase_add_test(tests, tails_of_closed_forms);
    tcase_add_test(tests, rows_of_one_landing);
    tcase_add_test(tests, few_hits_do_not_speak);
}
