/* SPDX-License-Identifier: GPL-3.0-or-later
 * The fast integrator against the reference integrator (GSL odeiv2) and against a
 * closed form, and that a fall is its own: no neighbour, lane or instruction set
 * changes it. Bounds: the design's 0.25 m at worst, and rms as near as the engine is (0.05 m
 * asked). */
#include "engine.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "fall_samples.h"
#include "reference.h"
#include "suite.h"

#define WILD_BLOCKS (3200 / PAPPUS_LANES)
#define DEMO_BLOCKS (512 / PAPPUS_LANES)

typedef struct {
    sample_air air;
    pappus_fall falls[PAPPUS_LANES];
    pappus_touchdown found[PAPPUS_LANES];
    _Alignas(64) float u[SAMPLE_NODES * PAPPUS_LANES];
    _Alignas(64) float v[SAMPLE_NODES * PAPPUS_LANES];
} sample_block;

static sample_block *block_new(void)
{
    sample_block *b = aligned_alloc(64, (sizeof(sample_block) + 63) / 64 * 64);
    ck_assert_ptr_nonnull(b);
    memset(b, 0, sizeof *b);
    sample_air_fill(&b->air, 286);
    return b;
}

static void draw_wild(sample_block *b, uint64_t *seed)
{
    for (int l = 0; l < PAPPUS_LANES; l++) {
        b->falls[l] = sample_wild_fall(seed);
        sample_wind(b->u, b->v, l, &b->air.air, seed, 40, 3);
    }
}

static void draw_demo(sample_block *b, uint64_t *seed)
{
    for (int l = 0; l < PAPPUS_LANES; l++) {
        b->falls[l] = sample_demo_fall(seed);
        sample_wind(b->u, b->v, l, &b->air.air, seed, 5, 2);
    }
}

/* The main's height is the top itself, give or take; a rise in air turns below it. */
static void draw_top(sample_block *b, uint64_t *seed)
{
    draw_wild(b, seed);
    for (int l = 0; l < PAPPUS_LANES; l++) {
        pappus_fall *f = &b->falls[l];
        if (f->trigger_count > 0)
            f->trigger_height_m[0] = f->apogee_m - sample_scale(seed, 1e-3, 3);
    }
}

/* No drogue: the main opens at high speed within a few metres, anywhere in a layer. */
static void draw_sudden(sample_block *b, uint64_t *seed)
{
    draw_demo(b, seed);
    for (int l = 0; l < PAPPUS_LANES; l++) {
        pappus_fall *f = &b->falls[l];
        f->drogue_cds_m2 = 0;
        f->body_after_m2 = sample_uniform(seed, 0.02, 0.1);
        f->main_open_s = sample_uniform(seed, 0.05, 0.5);
        f->trigger_height_m[0] = f->trigger_height_m[1] = sample_uniform(seed, 100, 300);
    }
}

static void run(sample_block *b, pappus_isa isa)
{
    ck_assert_int_eq(
        pappus_engine_run(b->found, &b->air.air, isa, PAPPUS_LANES, b->falls, b->u, b->v),
        PAPPUS_OK);
}

static pappus_touchdown reference(const sample_block *b, int l)
{
    double u[SAMPLE_NODES], v[SAMPLE_NODES];
    for (size_t k = 0; k < b->air.air.node_count; k++) {
        u[k] = b->u[k * PAPPUS_LANES + (size_t)l];
        v[k] = b->v[k * PAPPUS_LANES + (size_t)l];
    }
    pappus_touchdown t;
    pappus_error error = {0};
    int status = pappus_reference_fall(&t, NULL, &b->falls[l], &b->air.air, u, v, 1e-8, &error);
    ck_assert_msg(status == PAPPUS_OK, "%s", error.message);
    return t;
}

/* Both NaN, or both numbers within the bound. */
static void check_near(double found, double wanted, double bound, const char *what, int fall)
{
    ck_assert_msg(isnan(found) == isnan(wanted) && !(fabs(found - wanted) > bound),
                  "fall %d: %s %g, reference %g, bound %g", fall, what, found, wanted, bound);
}

/* An event within 5 cm of the ground may or may not be seen to happen. */
static bool at_the_ground(double height_m)
{
    return height_m > 0 && height_m < 0.05;
}

static void check_main(const pappus_touchdown *f, const pappus_touchdown *t, int fall)
{
    if (at_the_ground(f->main_fire_m) || at_the_ground(t->main_fire_m)) return;
    check_near(f->main_fire_m, t->main_fire_m, 0.5, "main_fire_m", fall);
    check_near(f->main_fire_mps, t->main_fire_mps, 0.01 * t->main_fire_mps + 0.05, "main_fire_mps",
               fall);
    check_near(f->main_load_n, t->main_load_n, 0.025 * t->main_load_n, "main_load_n", fall);
    if (at_the_ground(f->main_full_open_m) || at_the_ground(t->main_full_open_m)) return;
    check_near(f->main_full_open_m, t->main_full_open_m, 1, "main_full_open_m", fall);
    check_near(f->time_full_open_s, t->time_full_open_s, 0.1, "time_full_open_s", fall);
}

/* Returns the landing error. */
static double check_fall(const pappus_touchdown *f, const pappus_touchdown *t, int fall)
{
    double miss = hypot(f->east_m - t->east_m, f->north_m - t->north_m);
    ck_assert_msg(miss <= 0.25, "fall %d: lands %g m off", fall, miss);
    double speed = sqrt(t->ve_mps * t->ve_mps + t->vn_mps * t->vn_mps + t->vup_mps * t->vup_mps);
    check_near(f->time_s, t->time_s, 0.1, "time_s", fall);
    check_near(f->ve_mps, t->ve_mps, 0.01 * speed, "ve_mps", fall);
    check_near(f->vn_mps, t->vn_mps, 0.01 * speed, "vn_mps", fall);
    check_near(f->vup_mps, t->vup_mps, 0.01 * speed, "vup_mps", fall);
    check_near(f->drogue_fire_mps, t->drogue_fire_mps, 0.01 * t->drogue_fire_mps + 0.05,
               "drogue_fire_mps", fall);
    check_near(f->drogue_load_n, t->drogue_load_n, 0.025 * t->drogue_load_n, "drogue_load_n", fall);
    check_main(f, t, fall);
    return miss;
}

/* From 9 km through layers 100 m deep, one of them with 23 m/s more than the last, in restless
 * air: layers are taken in parts here. The wind is that of tests/speed/hard_wind.csv (A). */
static void draw_hard_in(sample_block *b, uint64_t *seed, double sd_mps)
{
    static const double height_m[] = {0, 800, 900, 3000, 7000, 9000, 12000};
    static const double speed_mps[] = {8, 12, 35, 30, 45, 55, 50};
    draw_demo(b, seed);
    size_t n = 0;
    for (double z = 0; z <= 12000; z += 100, n++) {
        b->air.height_m[n] = z;
        b->air.density_kgpm3[n] = 1.225 * pow(1 - 2.25577e-5 * z, 4.25588);
    }
    b->air.air.node_count = n;
    for (int l = 0; l < PAPPUS_LANES; l++) {
        pappus_fall *f = &b->falls[l];
        f->mass_kg = 20.4;
        f->height_m = f->apogee_m = 9144 + 366 * sample_normal(seed);
        f->drogue_cds_m2 *= 2.8;
        f->main_cds_m2 *= 3.1;
        f->trigger_height_m[0] = f->trigger_height_m[1] = 305;
        sample_wind(b->u, b->v, l, &b->air.air, seed, 0, sd_mps);
        for (size_t k = 0, at = 0; k < n; k++) {
            while (b->air.height_m[k] > height_m[at + 1])
                at++;
            double share = (b->air.height_m[k] - height_m[at]) / (height_m[at + 1] - height_m[at]);
            b->u[k * PAPPUS_LANES + (size_t)l] +=
                (float)(speed_mps[at] + share * (speed_mps[at + 1] - speed_mps[at]));
        }
    }
}

static void draw_hard(sample_block *b, uint64_t *seed)
{
    draw_hard_in(b, seed, 4);
}

static void draw_restless(sample_block *b, uint64_t *seed)
{
    draw_hard_in(b, seed, 7);
}

/* The main's height is a node of the grid, to the float. */
static void draw_on_nodes(sample_block *b, uint64_t *seed)
{
    draw_demo(b, seed);
    for (int l = 0; l < PAPPUS_LANES; l++) {
        pappus_fall *f = &b->falls[l];
        size_t node = b->air.air.node_count / 16 + (size_t)l % 8;
        f->trigger_height_m[0] = b->air.air.height_m[node];
    }
}

/* The top is a node of the grid, to the float, and the main's height just under it. */
static void draw_top_on_nodes(sample_block *b, uint64_t *seed)
{
    draw_demo(b, seed);
    for (int l = 0; l < PAPPUS_LANES; l++) {
        pappus_fall *f = &b->falls[l];
        size_t node = b->air.air.node_count / 16 + (size_t)l % 8;
        f->drogue_cds_m2 = 0;
        f->height_m = f->apogee_m = b->air.air.height_m[node] * (1 + 1e-12);
        f->trigger_height_m[0] = f->apogee_m - sample_scale(seed, 1e-3, 3);
    }
}

/* The main's height is a few millimetres under the start, high up, where single precision
 * cannot tell. */
static void draw_hair(sample_block *b, uint64_t *seed)
{
    draw_demo(b, seed);
    for (int l = 0; l < PAPPUS_LANES; l++) {
        pappus_fall *f = &b->falls[l];
        f->drogue_cds_m2 = 0;
        f->height_m = f->apogee_m = sample_uniform(seed, 8000, 9000);
        f->trigger_height_m[0] = f->apogee_m - sample_scale(seed, 1e-3, 1.5e-2);
        f->trigger_delay_s[0] = 2;
    }
}

static void check_blocks(void (*draw)(sample_block *, uint64_t *), int blocks, uint64_t seed,
                         double rms_bound_m)
{
    sample_block *b = block_new();
    double sum = 0;
    for (int i = 0; i < blocks; i++) {
        draw(b, &seed);
        run(b, pappus_isa_best());
        for (int l = 0; l < PAPPUS_LANES; l++) {
            pappus_touchdown t = reference(b, l);
            double miss = check_fall(&b->found[l], &t, i * PAPPUS_LANES + l);
            sum += miss * miss;
        }
    }
    double rms = sqrt(sum / (blocks * PAPPUS_LANES));
    ck_assert_msg(rms <= rms_bound_m, "rms landing error %g m", rms);
    free(b);
}

START_TEST(wild_falls_as_reference)
{
    check_blocks(draw_wild, WILD_BLOCKS, 7, 0.03);
}
END_TEST

START_TEST(demo_falls_as_reference)
{
    check_blocks(draw_demo, DEMO_BLOCKS, 5, 0.005);
}
END_TEST

START_TEST(mains_at_the_top_as_reference)
{
    check_blocks(draw_top, DEMO_BLOCKS, 3, 0.03);
}
END_TEST

START_TEST(mains_on_nodes_as_reference)
{
    check_blocks(draw_on_nodes, DEMO_BLOCKS, 6, 0.005);
}
END_TEST

START_TEST(mains_under_a_node_as_reference)
{
    check_blocks(draw_top_on_nodes, DEMO_BLOCKS, 9, 0.03);
}
END_TEST

START_TEST(mains_a_hair_under_the_top_as_reference)
{
    check_blocks(draw_hair, DEMO_BLOCKS, 10, 0.02);
}
END_TEST

START_TEST(sudden_mains_as_reference)
{
    check_blocks(draw_sudden, DEMO_BLOCKS, 4, 0.03);
}
END_TEST

START_TEST(hard_falls_as_reference)
{
    check_blocks(draw_hard, DEMO_BLOCKS, 8, 0.03);
}
END_TEST

START_TEST(restless_falls_as_reference)
{
    check_blocks(draw_restless, DEMO_BLOCKS, 11, 0.04);
}
END_TEST

/* X: in a vacuum (no drag area at all) t = sqrt(2 h / g), drift = speed * t. */
START_TEST(no_drag_is_a_parabola)
{
    sample_block *b = block_new();
    for (int l = 0; l < PAPPUS_LANES; l++)
        b->falls[l] = (pappus_fall){.mass_kg = 5,
                                    .height_m = 100 + 400 * l,
                                    .apogee_m = 100 + 400 * l,
                                    .ve_mps = 2 * l,
                                    .vn_mps = -10,
                                    .apogee_fire_s = INFINITY,
                                    .main_fire_s = INFINITY,
                                    .drogue_open_s = NAN,
                                    .main_open_s = NAN};
    run(b, pappus_isa_best());
    for (int l = 0; l < PAPPUS_LANES; l++) {
        double t = sqrt(2 * b->falls[l].height_m / PAPPUS_GRAVITY_MPS2);
        ck_assert_double_eq_tol(b->found[l].time_s, t, 1e-3);
        ck_assert_double_eq_tol(b->found[l].east_m, 2 * l * t, 0.02);
        ck_assert_double_eq_tol(b->found[l].north_m, -10 * t, 0.02);
        ck_assert_double_eq_tol(-b->found[l].vup_mps, PAPPUS_GRAVITY_MPS2 * t, 0.01);
    }
    free(b);
}
END_TEST

/* X: constant density and wind, drag area open from the start, straight down from
 * rest in moving air's frame: h = (v^2/g) ln cosh(g t / v), and the drift is the
 * wind times the time. */
START_TEST(constant_air_is_log_cosh)
{
    sample_block *b = block_new();
    for (size_t k = 0; k < b->air.air.node_count; k++)
        b->air.density_kgpm3[k] = 1.2;
    for (size_t i = 0; i < b->air.air.node_count * PAPPUS_LANES; i++)
        b->u[i] = 7, b->v[i] = -3;
    for (int l = 0; l < PAPPUS_LANES; l++)
        b->falls[l] = (pappus_fall){.mass_kg = 4,
                                    .body_before_m2 = 0.05 * (l % 16 + 1),
                                    .height_m = 1500,
                                    .apogee_m = 1500,
                                    .ve_mps = 7,
                                    .vn_mps = -3,
                                    .apogee_fire_s = INFINITY,
                                    .main_fire_s = INFINITY,
                                    .drogue_open_s = NAN,
                                    .main_open_s = NAN};
    run(b, pappus_isa_best());
    for (int l = 0; l < PAPPUS_LANES; l++) {
        double g = PAPPUS_GRAVITY_MPS2, v = sqrt(2 * 4 * g / (1.2 * 0.05 * (l % 16 + 1)));
        double t = v / g * acosh(exp(1500 * g / (v * v)));
        if (!isfinite(t)) t = v / g * (1500 * g / (v * v) + log(2)); /* cosh x = e^x / 2 */
        ck_assert_double_eq_tol(b->found[l].time_s, t, 2e-3);
        ck_assert_double_eq_tol(b->found[l].east_m, 7 * t, 0.02);
        ck_assert_double_eq_tol(b->found[l].north_m, -3 * t, 0.02);
    }
    free(b);
}
END_TEST

/* The same falls in other lanes, beside others, and fewer: the same bits. */
START_TEST(lanes_do_not_meet)
{
    uint64_t seed = 99;
    sample_block *a = block_new(), *b = block_new();
    for (int i = 0; i < 20; i++) {
        void (*draw)(sample_block *, uint64_t *) = i % 2 ? draw_restless : draw_wild;
        draw(a, &seed);
        draw(b, &seed);
        int shift = 1 + 5 * i % (PAPPUS_LANES - 1), kept = 1 + 7 * i % PAPPUS_LANES;
        for (int l = 0; l < kept; l++) {
            int to = (l + shift) % PAPPUS_LANES;
            b->falls[to] = a->falls[l];
            for (size_t k = 0; k < a->air.air.node_count; k++) {
                b->u[k * PAPPUS_LANES + (size_t)to] = a->u[k * PAPPUS_LANES + (size_t)l];
                b->v[k * PAPPUS_LANES + (size_t)to] = a->v[k * PAPPUS_LANES + (size_t)l];
            }
        }
        for (pappus_isa isa = PAPPUS_ISA_GENERIC; isa <= pappus_isa_best(); isa++) {
            ck_assert_int_eq(
                pappus_engine_run(a->found, &a->air.air, isa, (size_t)kept, a->falls, a->u, a->v),
                PAPPUS_OK);
            run(b, isa);
            for (int l = 0; l < kept; l++)
                ck_assert_mem_eq(&a->found[l], &b->found[(l + shift) % PAPPUS_LANES],
                                 sizeof a->found[l]);
        }
    }
    free(a);
    free(b);
}
END_TEST

/* IEEE 754: the same operations in the same order are the same bits, however many at once. */
START_TEST(instruction_sets_agree)
{
    uint64_t seed = 3;
    sample_block *b = block_new();
    pappus_touchdown first[PAPPUS_LANES];
    for (int i = 0; i < 100; i++) {
        (i % 2 ? draw_demo : draw_wild)(b, &seed);
        run(b, PAPPUS_ISA_GENERIC);
        memcpy(first, b->found, sizeof first);
        for (pappus_isa isa = PAPPUS_ISA_GENERIC; isa <= pappus_isa_best(); isa++) {
            run(b, isa);
            ck_assert_mem_eq(b->found, first, sizeof first);
        }
    }
    free(b);
}
END_TEST

/* Rows that differ in main heights alone: each as it would be alone, the bound being that of
 * one landing's error; above the apogee and none at all too. */
START_TEST(rows_as_alone)
{
    enum { ROWS = 5, SOME = PAPPUS_LANES - 21 };
    static const double factor[ROWS] = {1, 0.5, 3, 1000, 0.01};
    uint64_t seed = 12;
    sample_block *b = block_new();
    pappus_fall rows[ROWS * PAPPUS_LANES];
    pappus_touchdown found[ROWS * PAPPUS_LANES];
    for (int i = 0; i < 40; i++) {
        draw_wild(b, &seed);
        for (int l = 0; l < ROWS * PAPPUS_LANES; l++) {
            rows[l] = b->falls[l % PAPPUS_LANES];
            for (int t = 0; t < rows[l].trigger_count; t++)
                rows[l].trigger_height_m[t] *= factor[l / PAPPUS_LANES];
        }
        ck_assert_int_eq(pappus_engine_run_rows(found, &b->air.air, pappus_isa_best(), SOME, ROWS,
                                                rows, b->u, b->v),
                         PAPPUS_OK);
        for (int r = 0; r < ROWS; r++) {
            memcpy(b->falls, rows + r * PAPPUS_LANES, sizeof b->falls);
            run(b, pappus_isa_best());
            for (int l = 0; l < SOME; l++)
                check_fall(&found[r * PAPPUS_LANES + l], &b->found[l],
                           (i * ROWS + r) * PAPPUS_LANES + l);
        }
    }
    free(b);
}
END_TEST

START_TEST(not_a_number_is_told)
{
    uint64_t seed = 1;
    sample_block *b = block_new();
    draw_demo(b, &seed);
    b->falls[3].mass_kg = NAN;
    ck_assert_int_eq(pappus_engine_run(b->found, &b->air.air, pappus_isa_best(), PAPPUS_LANES,
                                       b->falls, b->u, b->v),
                     PAPPUS_E_NUMERIC);
    free(b);
}
END_TEST

SUITE("engine")
{
    tcase_add_test(tests, wild_falls_as_reference);
    tcase_add_test(tests, demo_falls_as_reference);
    tcase_add_test(tests, mains_at_the_top_as_reference);
    tcase_add_test(tests, mains_on_nodes_as_reference);
    tcase_add_test(tests, mains_under_a_node_as_reference);
    tcase_add_test(tests, mains_a_hair_under_the_top_as_reference);
    tcase_add_test(tests, sudden_mains_as_reference);
    tcase_add_test(tests, hard_falls_as_reference);
    tcase_add_test(tests, restless_falls_as_reference);
    tcase_add_test(tests, no_drag_is_a_parabola);
    tcase_add_test(tests, constant_air_is_log_cosh);
    tcase_add_test(tests, lanes_do_not_meet);
    tcase_add_test(tests, instruction_sets_agree);
    tcase_add_test(tests, rows_as_alone);
    tcase_add_test(tests, not_a_number_is_told);
}
