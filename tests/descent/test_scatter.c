/* SPDX-License-Identifier: GPL-3.0-or-later
 * The cloud of landings against theory, one uncertain input at a time. X: computed
 * from the formula beside it. Seeds are fixed; bounds are five standard errors of
 * the sample plus the stated error of the theory. */
#include "scatter.h"

#include "draws.h"
#include "real_air.h"
#include "reference.h"
#include "suite.h"
#include "uncertain.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define LANDINGS 20000

static flight_setup setup;

static void set_up(void)
{
    flight_setup_set(&setup);
}

static void tear_down(void)
{
    pappus_air_free(setup.air);
}

static pappus_cloud *scattered(size_t landings, int threads, bool nominal_only)
{
    pappus_scatter_options options = PAPPUS_SCATTER_OPTIONS_INIT;
    pappus_cloud *cloud;
    pappus_error error = {0};
    options.run.landings = landings;
    options.run.threads = threads;
    options.nominal_only = nominal_only;
    int status = pappus_scatter(&cloud, &setup.plan, setup.air, &options, &error);
    ck_assert_msg(status == PAPPUS_OK, "%s: %s", error.key, error.message);
    return cloud;
}

static void moments(double *mean, double *sd, const double *x, size_t n)
{
    double sum = 0.0, squares = 0.0;
    for (size_t i = 0; i < n; i++)
        sum += x[i];
    *mean = sum / (double)n;
    for (size_t i = 0; i < n; i++)
        squares += (x[i] - *mean) * (x[i] - *mean);
    *sd = sqrt(squares / (double)(n - 1));
}

/* One canopy that opens at apogee, both altimeters sure, about 6 m/s: at this rate it
 * follows the wind within 4 m of height. */
static void one_canopy(void)
{
    setup.plan.main.present = false;
    setup.plan.drogue.drag_area_m2 = pappus_exact(3.6);
    setup.plan.faults = (pappus_faults){0.0, 0.0, 0.0, 0.0};
    setup.altimeters[0].works = setup.altimeters[1].works = 1.0;
}

static pappus_path *central(void)
{
    pappus_path *path;
    pappus_error error = {0};
    int status = pappus_reference_path(&path, &setup.plan, setup.air, PAPPUS_NOMINAL, &error);
    ck_assert_msg(status == PAPPUS_OK, "%s: %s", error.key, error.message);
    return path;
}

/* sd of the drift, theory: the drift is the integral of w dt down the path, so its
 * variance is sigma^2 times the double integral of exp(-|z - z'|/L) dt dt'. */
static double drift_sd(const pappus_path *path, double sigma, double length_m)
{
    double sum = 0.0;
    for (size_t i = 1; i < path->count; i += 1)
        for (size_t j = 1; j < path->count; j += 1) {
            const pappus_path_point *a = &path->points[i], *b = &path->points[j];
            double dz = 0.5 * (a->height_m + a[-1].height_m - b->height_m - b[-1].height_m);
            sum +=
                exp(-fabs(dz) / length_m) * (a->time_s - a[-1].time_s) * (b->time_s - b[-1].time_s);
        }
    return sigma * sqrt(sum);
}

/* Theory leaves out the lag behind the wind, under 1 %. */
START_TEST(wind_error_alone)
{
    double mean, sd;
    one_canopy();
    setup.plan.wind.error_mps = 2.0;
    flight_setup_build(&setup);
    pappus_cloud *cloud = scattered(LANDINGS, 0, false);
    pappus_path *path = central();
    double theory = drift_sd(path, 2.0, 1000.0);
    const pappus_path_point *end = &path->points[path->count - 1];
    moments(&mean, &sd, cloud->east_m, LANDINGS);
    ck_assert_double_eq_tol(mean, end->east_m,
                            5.0 * theory / sqrt(LANDINGS) + 0.01 * fabs(end->east_m));
    ck_assert_double_eq_tol(sd, theory, theory * (5.0 / sqrt(2.0 * LANDINGS) + 0.01));
    moments(&mean, &sd, cloud->north_m, LANDINGS);
    ck_assert_double_eq_tol(mean, end->north_m,
                            5.0 * theory / sqrt(LANDINGS) + 0.01 * fabs(end->north_m));
    ck_assert_double_eq_tol(sd, theory, theory * (5.0 / sqrt(2.0 * LANDINGS) + 0.01));
    pappus_path_free(path);
    pappus_cloud_free(cloud);
}
END_TEST

/* Steady descent takes a time that goes with sqrt(CdS): 5 % of drag area is 2.5 % of
 * time, and the drift is wind times time (X, first order; second order 0.1 %). */
START_TEST(drag_alone)
{
    double mean, sd;
    one_canopy();
    setup.plan.drogue.drag_area_m2 = pappus_normal(3.6, 0.18);
    flight_setup_build(&setup);
    pappus_cloud *cloud = scattered(LANDINGS, 0, false);
    pappus_path *path = central();
    const pappus_path_point *end = &path->points[path->count - 1];
    double theory = 0.025 * end->north_m;
    moments(&mean, &sd, cloud->north_m, LANDINGS);
    ck_assert_double_eq_tol(mean, end->north_m,
                            5.0 * theory / sqrt(LANDINGS) + 0.001 * end->north_m);
    ck_assert_double_eq_tol(sd, theory, theory * (5.0 / sqrt(2.0 * LANDINGS) + 0.02));
    pappus_path_free(path);
    pappus_cloud_free(cloud);
}
END_TEST

/* The apogee's spread goes straight to the ground; both components apart. */
START_TEST(apogee_spread_alone)
{
    double mean, sd;
    one_canopy();
    setup.plan.apogee.spread_m = 40.0;
    flight_setup_build(&setup);
    pappus_cloud *cloud = scattered(LANDINGS, 0, false);
    moments(&mean, &sd, cloud->east_m, LANDINGS);
    ck_assert_double_eq_tol(sd, 40.0, 40.0 * 5.0 / sqrt(2.0 * LANDINGS));
    moments(&mean, &sd, cloud->north_m, LANDINGS);
    ck_assert_double_eq_tol(sd, 40.0, 40.0 * 5.0 / sqrt(2.0 * LANDINGS));
    pappus_cloud_free(cloud);
}
END_TEST

/* The main's height alone: between two fire heights the rocket falls at the main's
 * rate instead of the drogue's, X: sd of time = sd_h (1/v_main - 1/v_drogue). */
START_TEST(altimeter_error_alone)
{
    double sum = 0.0, squares = 0.0;
    setup.plan.faults = (pappus_faults){0.0, 0.0, 0.0, 0.0};
    setup.altimeters[0].works = 1.0;
    setup.altimeters[1].works = 0.0;
    setup.altimeters[0].height_error_m = pappus_normal(0.0, 10.0);
    flight_setup_build(&setup);
    pappus_cloud *cloud = scattered(LANDINGS, 0, true);
    for (size_t i = 0; i < LANDINGS; i++) {
        sum += cloud->time_s[i];
        squares += (double)cloud->time_s[i] * cloud->time_s[i];
    }
    double rho = pappus_air_density_kgpm3(setup.air, 150.0), weight2 = 2.0 * 8.0 * 9.80665;
    double v_main = sqrt(weight2 / (rho * 3.85)), v_drogue = sqrt(weight2 / (rho * 0.25));
    double theory = 10.0 * (1.0 / v_main - 1.0 / v_drogue);
    double sd = sqrt(squares / LANDINGS - sum / LANDINGS * (sum / LANDINGS));
    ck_assert_double_eq_tol(sd, theory, theory * (5.0 / sqrt(2.0 * LANDINGS) + 0.02));
    pappus_cloud_free(cloud);
}
END_TEST

static void everything_uncertain(void)
{
    pappus_plan *plan = &setup.plan;
    plan->rocket.mass_kg = pappus_normal(8.0, 0.1);
    plan->apogee.height_m = pappus_normal(1500.0, 75.0);
    plan->apogee.spread_m = 40.0;
    plan->apogee.speed_mps = pappus_normal(10.0, 4.0);
    plan->drogue.drag_area_m2 = pappus_normal(0.25, 0.025);
    plan->main.drag_area_m2 = pappus_normal(3.6, 0.36);
    setup.altimeters[0].height_error_m = pappus_normal(0.0, 5.0);
    plan->wind.error_mps = 1.5;
}

/* Landing i is what the reference makes of the fall and the wind of index i. */
START_TEST(landings_are_those_of_the_reference)
{
    everything_uncertain();
    flight_setup_build(&setup);
    pappus_cloud *cloud = scattered(10000, 0, false);
    pappus_draws *draws;
    pappus_random random = {1, 0};
    size_t nodes = setup.air->node_count;
    float *u = aligned_alloc(64, nodes * PAPPUS_LANES * sizeof *u);
    float *v = aligned_alloc(64, nodes * PAPPUS_LANES * sizeof *v);
    double *east = malloc(nodes * sizeof *east), *north = malloc(nodes * sizeof *north);
    ck_assert(u && v && east && north);
    ck_assert_int_eq(pappus_draws_build(&draws, &setup.plan, setup.air, random, 0.0, NULL),
                     PAPPUS_OK);
    for (size_t i = 3; i < cloud->count; i += 333) {
        uint64_t index[PAPPUS_LANES] = {i};
        pappus_fall fall;
        pappus_touchdown down;
        pappus_redraws redraws = {0};
        pappus_wind_draw(setup.air, PAPPUS_ISA_GENERIC, random, index, u, v);
        for (size_t j = 0; j < nodes; j++) {
            east[j] = u[j * PAPPUS_LANES];
            north[j] = v[j * PAPPUS_LANES];
        }
        pappus_drawn drawn;
        pappus_draws_values(&drawn, draws, 1, index, &cloud->outcome[i], &redraws);
        pappus_draws_winds(&drawn, draws, 1, setup.air, u, v);
        pappus_draws_assemble(&fall, draws, 1, &cloud->outcome[i], &drawn);
        ck_assert_int_eq(
            pappus_reference_fall(&down, NULL, &fall, setup.air, east, north, 1e-8, NULL),
            PAPPUS_OK);
        ck_assert_double_eq_tol(cloud->east_m[i], down.east_m, 0.2);
        ck_assert_double_eq_tol(cloud->north_m[i], down.north_m, 0.2);
        ck_assert_double_eq_tol(cloud->time_s[i], down.time_s, 0.05);
        ck_assert_double_eq_tol(cloud->vz_mps[i], -down.vup_mps, 0.05);
        ck_assert_double_eq_tol(cloud->main_full_open_m[i], down.main_full_open_m, 0.5);
        ck_assert(!isnan(down.main_load_n) == !isnan(cloud->main_load[i]));
        if (!isnan(down.main_load_n))
            ck_assert_double_eq_tol(cloud->main_load[i] * fall.mass_kg * 9.80665, down.main_load_n,
                                    0.02 * down.main_load_n);
    }
    free(u);
    free(v);
    free(east);
    free(north);
    pappus_draws_free(draws);
    pappus_cloud_free(cloud);
}
END_TEST

#define SAME(a, b, field, n) ck_assert_mem_eq((a)->field, (b)->field, (n) * sizeof *(a)->field)

static void check_same(const pappus_cloud *a, const pappus_cloud *b)
{
    size_t n = a->count;
    ck_assert_uint_eq(n, b->count);
    SAME(a, b, outcome, n);
    SAME(a, b, east_m, n);
    SAME(a, b, north_m, n);
    SAME(a, b, time_s, n);
    SAME(a, b, vz_mps, n);
    SAME(a, b, speed_mps, n);
    SAME(a, b, drogue_load, n);
    SAME(a, b, main_load, n);
    SAME(a, b, main_fire_m, n);
    SAME(a, b, main_full_open_m, n);
    SAME(a, b, unopened, n);
    SAME(a, b, unopened_count, 1);
    ck_assert_uint_eq(a->drawn, b->drawn);
    ck_assert_uint_eq(a->redrawn, b->redrawn);
}

START_TEST(threads_do_not_change_a_byte)
{
    everything_uncertain();
    flight_setup_build(&setup);
    pappus_cloud *a = scattered(10007, 1, false), *b = scattered(10007, 2, false);
    check_same(a, b);
    pappus_cloud_free(a);
    pappus_cloud_free(b);
}
END_TEST

static bool near_or_none(float a, float b, double slack)
{
    return isnan(a) ? isnan(b) : fabs((double)a - (double)b) <= slack;
}

/* X: both are within the engine's bounds of one flight (0.25 m, loads 2.5 %, engine_kernel.c),
 * so no farther from each other than twice those. What hangs on no height is one flight. */
static void check_alike(const pappus_cloud *a, const pappus_cloud *b)
{
    double square = 0.0;
    ck_assert_uint_eq(a->count, b->count);
    SAME(a, b, outcome, a->count);
    SAME(a, b, unopened, a->count);
    SAME(a, b, unopened_count, 1);
    ck_assert_uint_eq(a->redrawn, b->redrawn);
    for (size_t i = 0; i < a->count; i++) {
        double away_m = hypot(a->east_m[i] - b->east_m[i], a->north_m[i] - b->north_m[i]);
        double load = isnan(a->main_load[i]) ? 0.0 : (double)a->main_load[i];
        ck_assert_double_le(away_m, 0.5);
        square += away_m * away_m / (double)a->count;
        ck_assert(near_or_none(a->time_s[i], b->time_s[i], 0.1));
        ck_assert(near_or_none(a->vz_mps[i], b->vz_mps[i], 0.02 * (double)a->vz_mps[i]));
        ck_assert(near_or_none(a->main_load[i], b->main_load[i], 0.05 * load));
        ck_assert(near_or_none(a->main_fire_m[i], b->main_fire_m[i], 0.5));
        ck_assert(near_or_none(a->main_full_open_m[i], b->main_full_open_m[i], 1.0));
        if (a->outcome[i] == PAPPUS_DROGUE_ONLY || a->outcome[i] == PAPPUS_NO_CANOPY)
            ck_assert_double_le(away_m, 1e-6);
    }
    ck_assert_double_lt(sqrt(square), 0.1);
}

/* Several shifts at once give what each gives by itself. */
START_TEST(shifts_are_flown_on_the_same_draws)
{
    static const double shift_m[3] = {-100.0, 0.0, 250.0};
    pappus_scatter_options options = PAPPUS_SCATTER_OPTIONS_INIT;
    pappus_cloud *clouds[3], *alone;
    options.run.landings = 10007;
    everything_uncertain();
    flight_setup_build(&setup);
    ck_assert_int_eq(
        pappus_scatter_shifts(clouds, 3, shift_m, &setup.plan, setup.air, &options, NULL),
        PAPPUS_OK);
    for (int i = 0; i < 3; i++) {
        options.main_shift_m = shift_m[i];
        ck_assert_int_eq(pappus_scatter(&alone, &setup.plan, setup.air, &options, NULL), PAPPUS_OK);
        check_alike(clouds[i], alone);
        pappus_cloud_free(clouds[i]);
        pappus_cloud_free(alone);
    }
    setup.plan.drogue.drag_area_m2 = pappus_exact(1e-3); /* cannot fly */
    ck_assert_int_eq(
        pappus_scatter_shifts(clouds, 3, shift_m, &setup.plan, setup.air, &options, NULL),
        PAPPUS_E_FLIGHT);
    for (int i = 0; i < 3; i++)
        ck_assert_ptr_null(clouds[i]);
}
END_TEST

START_TEST(weights_sum_to_one)
{
    flight_setup_build(&setup);
    for (int nominal_only = 0; nominal_only < 2; nominal_only++) {
        pappus_cloud *cloud = scattered(12000, 0, nominal_only);
        double sum = 0.0, chance = 0.0;
        size_t landings = 0;
        for (size_t i = 0; i < cloud->count; i++)
            sum += pappus_cloud_weight(cloud, i);
        for (int h = 0; h < PAPPUS_OUTCOMES; h++) {
            chance += cloud->probability[h];
            landings += cloud->stratum_count[h];
        }
        ck_assert_double_eq_tol(sum, 1.0, 1e-9);
        ck_assert_double_eq_tol(chance, 1.0, 1e-12);
        ck_assert_uint_eq(landings, 12000);
        ck_assert_uint_eq(cloud->count, 12000);
        ck_assert_uint_eq(cloud->stratum_count[PAPPUS_MAIN_ONLY], nominal_only ? 0 : 2000);
        pappus_cloud_free(cloud);
    }
}
END_TEST

/* Each outcome its share, at least 2000; the likeliest takes the rest. */
START_TEST(shares_of_the_outcomes)
{
    static const double chances[PAPPUS_OUTCOMES] = {0.7, 0.2, 0.0, 0.09, 0.01};
    pappus_scatter_options options = PAPPUS_SCATTER_OPTIONS_INIT;
    size_t n[PAPPUS_OUTCOMES];
    options.run.landings = 100000;
    pappus_scatter_shares(n, chances, &options);
    ck_assert(n[0] == 69000 && n[1] == 20000 && n[2] == 0 && n[3] == 9000 && n[4] == 2000);
    options.run.landings = 1000; /* the minima do not allow so few */
    pappus_scatter_shares(n, chances, &options);
    ck_assert(n[0] == 2000 && n[1] == 2000 && n[2] == 0 && n[3] == 2000 && n[4] == 2000);
    options.nominal_only = true;
    pappus_scatter_shares(n, chances, &options);
    ck_assert(n[0] == 1000 && n[1] == 0 && n[3] == 0 && n[4] == 0);
}
END_TEST

START_TEST(landing_before_full_open_is_flagged_and_counted)
{
    setup.altimeters[0].main_height_m = setup.altimeters[1].main_height_m = 10.0;
    setup.plan.main.opening_time_s = pappus_exact(5.0);
    flight_setup_build(&setup);
    pappus_cloud *cloud = scattered(10000, 0, false);
    size_t nominal = cloud->stratum_count[PAPPUS_NOMINAL];
    ck_assert_uint_eq(cloud->unopened_count[PAPPUS_NOMINAL], nominal);
    ck_assert_uint_eq(cloud->unopened_count[PAPPUS_DROGUE_ONLY], 0);
    ck_assert_int_eq(cloud->unopened[0], 1);
    ck_assert_int_eq(cloud->outcome[0], PAPPUS_NOMINAL);
    ck_assert_double_eq(cloud->main_full_open_m[0], 0.0);
    ck_assert(!isnan(cloud->main_fire_m[0]));
    pappus_cloud_free(cloud);
}
END_TEST

typedef struct {
    int calls;
    double last;
    bool falling;
} watch;

static int stop_at_half(void *context, double fraction)
{
    watch *w = context;
    w->calls++;
    w->falling |= fraction < w->last;
    w->last = fraction;
    return fraction >= 0.5;
}

START_TEST(caller_can_stop_it)
{
    watch w = {0};
    pappus_scatter_options options = PAPPUS_SCATTER_OPTIONS_INIT;
    pappus_cloud *cloud;
    pappus_error error = {0};
    flight_setup_build(&setup);
    options.run.threads = 2;
    options.run.progress = stop_at_half;
    options.run.progress_context = &w;
    int status = pappus_scatter(&cloud, &setup.plan, setup.air, &options, &error);
    /* the caller's thread may by chance get no work in the second half */
    ck_assert(status == PAPPUS_E_STOPPED || w.last < 0.5);
    ck_assert(w.calls > 0 && !w.falling);
    options.run.threads = 1;
    w = (watch){0};
    if (status == PAPPUS_OK) pappus_cloud_free(cloud);
    status = pappus_scatter(&cloud, &setup.plan, setup.air, &options, &error);
    ck_assert_int_eq(status, PAPPUS_E_STOPPED);
    ck_assert_ptr_null(cloud);
    ck_assert_double_lt(w.last, 0.6);
}
END_TEST

START_TEST(plan_that_cannot_fly_is_refused)
{
    pappus_scatter_options options = PAPPUS_SCATTER_OPTIONS_INIT;
    pappus_cloud *cloud;
    pappus_error error = {0};
    flight_setup_build(&setup);
    setup.plan.drogue.drag_area_m2 = pappus_exact(1e-3);
    ck_assert_int_eq(pappus_scatter(&cloud, &setup.plan, setup.air, &options, &error),
                     PAPPUS_E_FLIGHT);
    ck_assert_ptr_null(cloud);
    ck_assert_str_eq(error.key, "drogue");
}
END_TEST

SUITE("scatter")
{
    tcase_add_checked_fixture(tests, set_up, tear_down);
    tcase_add_test(tests, wind_error_alone);
    tcase_add_test(tests, drag_alone);
    tcase_add_test(tests, apogee_spread_alone);
    tcase_add_test(tests, altimeter_error_alone);
    tcase_add_test(tests, landings_are_those_of_the_reference);
    tcase_add_test(tests, threads_do_not_change_a_byte);
    tcase_add_test(tests, shifts_are_flown_on_the_same_draws);
    tcase_add_test(tests, weights_sum_to_one);
    tcase_add_test(tests, shares_of_the_outcomes);
    tcase_add_test(tests, landing_before_full_open_is_flagged_and_counted);
    tcase_add_test(tests, caller_can_stop_it);
    tcase_add_test(tests, plan_that_cannot_fly_is_refused);
}
