/* SPDX-License-Identifier: GPL-3.0-or-later
 * The fast integrator against the reference on what a plan draws: falls by draws.c,
 * winds and their errors by the air built from the plan, every outcome. The bounds
 * are the design's: 0.25 m at worst, 0.05 m rms. All figures are our own. */
#include "draws.h"
#include "engine.h"
#include "real_air.h"
#include "reference.h"
#include "suite.h"
#include "uncertain.h"

#include <math.h>
#include <stdlib.h>

#define BLOCKS (320 / PAPPUS_LANES)
#define FALLS (BLOCKS * PAPPUS_LANES)

static flight_setup setup;

static void set_up(void)
{
    flight_setup_set(&setup);
    pappus_plan *plan = &setup.plan;
    plan->rocket.mass_kg = pappus_normal(8.0, 0.1);
    plan->apogee.spread_m = 40.0;
    plan->apogee.speed_mps = pappus_normal(10.0, 4.0);
    plan->drogue.opening_time_s = pappus_normal(0.3, 0.1);
    plan->drogue.drag_area_m2 = pappus_normal(0.25, 0.025);
    plan->main.drag_area_m2 = pappus_normal(3.6, 0.36);
    for (int a = 0; a < 2; a++) {
        setup.altimeters[a].height_error_m = pappus_normal(0.0, 5.0);
        setup.altimeters[a].fire_delay_s = pappus_normal(0.1, 0.03);
    }
    plan->wind.error_mps = 1.5;
}

static void tear_down(void)
{
    pappus_air_free(setup.air);
}

static void apogee(double height_m)
{
    setup.plan.apogee.height_m = pappus_normal(height_m, 0.05 * height_m);
}

static void low_flight(void)
{
    apogee(60.0);
    setup.altimeters[0].main_height_m = 40.0;
    setup.altimeters[1].main_height_m = 30.0;
}

static void usual_flight(void)
{
    apogee(1600.0);
}

static void high_flight(void)
{
    apogee(9000.0);
    setup.levels[1].height_m = 12000.0;
    setup.levels[1].u_mps = 45.0; /* a jet stream */
    setup.plan.wind.error_mps = 3.0;
}

static void surface_reading(double speed_mps, double gust_mps)
{
    setup.plan.wind.has_surface = true;
    setup.plan.wind.surface = (pappus_observation){2.0, speed_mps, 240.0, 1.0};
    setup.plan.wind.gust_mps = gust_mps;
}

static void surface_only(void)
{
    apogee(1600.0);
    surface_reading(5.0, NAN);
    setup.winds.profile_count = 0;
    setup.plan.wind.error_given = false;
    setup.plan.wind.error_mps = 5.0;
}

static void gusty(void)
{
    apogee(1600.0);
    surface_reading(7.0, 12.0);
}

/* 25 m/s more between 800 and 900 m. */
static void strong_shear(void)
{
    static pappus_wind_level levels[4];
    static const double height_m[4] = {10.0, 800.0, 900.0, 4000.0};
    for (int i = 0; i < 4; i++)
        levels[i] = (pappus_wind_level){
            PAPPUS_HEIGHT_AGL, height_m[i], i < 2 ? 3.0 : 28.0, i < 2 ? 4.0 : -6.0, NAN, NAN, NAN};
    apogee(1600.0);
    setup.profile.levels = levels;
    setup.profile.level_count = 4;
}

/* The motor's charge fires 3.4 s before the top: a rise through wind that changes from
 * node to node, with drag enough to feel it. */
static void early_charge(void)
{
    apogee(144.0);
    setup.plan.motor_delay_s = pappus_exact(-3.4);
    setup.plan.rocket.tumble_drag_area_m2 = pappus_exact(0.13);
    setup.plan.wind.error_mps = 4.0;
    setup.plan.wind.correlation_height_m = 100.0;
}

/* Winds that change within tens of metres, and canopies slow enough to feel it. */
static void restless_air(void)
{
    apogee(2000.0);
    setup.plan.drogue.drag_area_m2 = pappus_normal(1.2, 0.1);
    setup.plan.main.drag_area_m2 = pappus_normal(9.0, 0.5);
    setup.plan.wind.error_mps = 5.0;
    setup.plan.wind.correlation_height_m = 50.0;
}

/* From far up through winds that jump at every node of a coarse grid: under a main from the
 * apogee on a layer is many relaxations deep, over tens of kilometres of drift. */
static void high_restless_air(void)
{
    high_flight();
    setup.plan.rocket.mass_kg = pappus_normal(20.0, 0.2);
    setup.plan.drogue.drag_area_m2 = pappus_normal(0.65, 0.06);
    setup.plan.main.drag_area_m2 = pappus_normal(11.0, 0.6);
    setup.plan.wind.error_mps = 7.0;
    setup.plan.wind.correlation_height_m = 300.0;
}

static void (*const flights[])(void) = {low_flight,   usual_flight, high_flight,
                                        surface_only, gusty,        strong_shear,
                                        early_charge, restless_air, high_restless_air};
#define FLIGHTS ((int)(sizeof flights / sizeof *flights))

/* Winds and falls of one block, outcomes in turn. */
typedef struct {
    pappus_fall falls[PAPPUS_LANES];
    pappus_touchdown found[PAPPUS_LANES];
    float *u, *v;
    double *east, *north;
} air_block;

static void block_begin(air_block *b)
{
    size_t nodes = setup.air->node_count;
    b->u = aligned_alloc(64, nodes * PAPPUS_LANES * sizeof *b->u);
    b->v = aligned_alloc(64, nodes * PAPPUS_LANES * sizeof *b->v);
    b->east = malloc(nodes * sizeof *b->east);
    b->north = malloc(nodes * sizeof *b->north);
    ck_assert(b->u && b->v && b->east && b->north);
}

static void block_end(air_block *b)
{
    free(b->u);
    free(b->v);
    free(b->east);
    free(b->north);
}

static void fly(air_block *b, const pappus_draws *draws, uint64_t first)
{
    pappus_random random = {1, 0};
    pappus_redraws redraws = {0};
    uint64_t index[PAPPUS_LANES];
    uint8_t outcome[PAPPUS_LANES];
    for (unsigned l = 0; l < PAPPUS_LANES; l++) {
        index[l] = first + l;
        outcome[l] = (uint8_t)(l % PAPPUS_OUTCOMES);
    }
    pappus_isa isa = pappus_isa_best();
    pappus_wind_draw(setup.air, isa, random, index, b->u, b->v);
    pappus_draws_falls(b->falls, draws, PAPPUS_LANES, index, outcome, &redraws);
    ck_assert_int_eq(
        pappus_engine_run(b->found, setup.air, isa, PAPPUS_LANES, b->falls, b->u, b->v), PAPPUS_OK);
}

static pappus_touchdown reference(air_block *b, size_t lane)
{
    pappus_touchdown t;
    for (size_t k = 0; k < setup.air->node_count; k++) {
        b->east[k] = b->u[k * PAPPUS_LANES + lane];
        b->north[k] = b->v[k * PAPPUS_LANES + lane];
    }
    ck_assert_int_eq(
        pappus_reference_fall(&t, NULL, &b->falls[lane], setup.air, b->east, b->north, 1e-10, NULL),
        PAPPUS_OK);
    return t;
}

START_TEST(drawn_falls_as_reference)
{
    pappus_draws *draws;
    air_block b;
    double worst = 0.0, squares = 0.0;
    flights[_i]();
    flight_setup_build(&setup);
    ck_assert_int_eq(
        pappus_draws_build(&draws, &setup.plan, setup.air, (pappus_random){1, 0}, 0.0, NULL),
        PAPPUS_OK);
    block_begin(&b);
    for (uint64_t first = 0; first < FALLS; first += PAPPUS_LANES) {
        fly(&b, draws, first);
        for (size_t l = 0; l < PAPPUS_LANES; l++) {
            pappus_touchdown t = reference(&b, l);
            double miss = hypot(b.found[l].east_m - t.east_m, b.found[l].north_m - t.north_m);
            worst = fmax(worst, miss);
            squares += miss * miss;
            ck_assert_double_eq_tol(b.found[l].time_s, t.time_s, 0.1);
            ck_assert_double_eq_tol(b.found[l].vup_mps, t.vup_mps, 0.01 * fabs(t.vup_mps));
        }
    }
    block_end(&b);
    pappus_draws_free(draws);
    double rms = sqrt(squares / FALLS);
    ck_assert_msg(worst <= 0.25 && rms <= 0.05, "flight %d: worst %g m, rms %g m", _i, worst, rms);
}
END_TEST

/* A huge main in wind, which falls to nothing over the last 5 cm: less than 1 m/s down, and
 * the fall is not yet slowed as much as it will be while it still has 2 cm to go. */
START_TEST(slow_touchdown_as_reference)
{
    pappus_draws *draws;
    air_block b;
    apogee(300.0);
    setup.plan.main.drag_area_m2 = pappus_normal(80.0, 2.0);
    setup.levels[0].height_m = 10.0; /* a power law below */
    setup.levels[0].u_mps = setup.levels[1].u_mps = 12.0;
    setup.plan.wind.error_mps = 0.5;
    flight_setup_build(&setup);
    ck_assert_int_eq(
        pappus_draws_build(&draws, &setup.plan, setup.air, (pappus_random){1, 0}, 0.0, NULL),
        PAPPUS_OK);
    block_begin(&b);
    for (uint64_t first = 0; first < FALLS; first += PAPPUS_LANES) {
        fly(&b, draws, first);
        for (size_t l = 0; l < PAPPUS_LANES; l++) {
            pappus_touchdown t = reference(&b, l);
            ck_assert_double_eq_tol(b.found[l].vup_mps, t.vup_mps, 0.04 * fabs(t.vup_mps));
        }
    }
    block_end(&b);
    pappus_draws_free(draws);
}
END_TEST

SUITE("engine in the plan's air")
{
    tcase_add_checked_fixture(tests, set_up, tear_down);
    tcase_add_loop_test(tests, drawn_falls_as_reference, 0, FLIGHTS);
    tcase_add_test(tests, slow_touchdown_as_reference);
}
