/* SPDX-License-Identifier: GPL-3.0-or-later
 * The engine against GSL's rkf45 on the same falls and winds, in one run: time per
 * landing on one core, errors against the reference, gain of a second thread.
 * GSL runs at the loosest decade of tolerance whose greatest landing error is
 * 0.25 m. Prints one JSON object. */
#include <gsl/gsl_errno.h>
#include <math.h>
#include <omp.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "../descent/fall_samples.h"
#include "engine.h"
#include "gsl_fall.h"
#include "reference.h"

#define BLOCKS 256
#define FALLS (BLOCKS * PAPPUS_LANES)
#define WIND_FLOATS (SAMPLE_NODES * PAPPUS_LANES)
static const double most_error_m = 0.25;
static const int engine_rounds = 15, pairs = 7;

typedef struct {
    sample_air air;
    pappus_fall falls[FALLS];
    pappus_touchdown truth[FALLS], found[FALLS];
    _Alignas(64) float u[BLOCKS][WIND_FLOATS];
    _Alignas(64) float v[BLOCKS][WIND_FLOATS];
} bench;

typedef struct {
    double max_m, rms_m, time_s, load_pct;
} errors;

/* CPU time for one core's work, so that other programs on the machine do not
 * count; wall time for the threads. */
static double seconds(clockid_t clock)
{
    struct timespec t;
    clock_gettime(clock, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

/* An evening's wind with its error: sd 2 m/s per component. */
static void draw(bench *b)
{
    uint64_t seed = 20270417;
    sample_air_fill(&b->air, 286);
    for (int i = 0; i < FALLS; i++) {
        int block = i / PAPPUS_LANES;
        b->falls[i] = sample_demo_fall(&seed);
        sample_wind(b->u[block], b->v[block], i % PAPPUS_LANES, &b->air.air, &seed, 5, 2);
    }
}

static int find_truth(bench *b)
{
    double u[SAMPLE_NODES], v[SAMPLE_NODES];
    for (int i = 0; i < FALLS; i++) {
        int block = i / PAPPUS_LANES, lane = i % PAPPUS_LANES;
        for (size_t k = 0; k < b->air.air.node_count; k++) {
            u[k] = b->u[block][k * PAPPUS_LANES + (size_t)lane];
            v[k] = b->v[block][k * PAPPUS_LANES + (size_t)lane];
        }
        if (pappus_reference_fall(&b->truth[i], NULL, &b->falls[i], &b->air.air, u, v, 1e-7, NULL))
            return 1;
    }
    return 0;
}

static int run_gsl(bench *b, double tolerance)
{
    gsl_fall g;
    int status = gsl_fall_open(&g, &b->air.air, gsl_odeiv2_step_rkf45, tolerance);
    for (int i = 0; i < FALLS && status == 0; i++) {
        int block = i / PAPPUS_LANES;
        status = gsl_fall_run(&g, &b->found[i], &b->falls[i], b->u[block], b->v[block],
                              i % PAPPUS_LANES, INFINITY);
    }
    gsl_fall_close(&g);
    return status;
}

static int run_engine(bench *b, pappus_isa isa, int threads)
{
    int failed = 0;
#pragma omp parallel for num_threads(threads) schedule(static) reduction(| : failed)
    for (int block = 0; block < BLOCKS; block++)
        failed |= pappus_engine_run(&b->found[block * PAPPUS_LANES], &b->air.air, isa,
                                    PAPPUS_LANES, &b->falls[block * PAPPUS_LANES], b->u[block],
                                    b->v[block]) != PAPPUS_OK;
    return failed;
}

static errors errors_of(const bench *b)
{
    errors e = {0};
    for (int i = 0; i < FALLS; i++) {
        const pappus_touchdown *a = &b->found[i], *t = &b->truth[i];
        double miss = hypot(a->east_m - t->east_m, a->north_m - t->north_m);
        e.max_m = fmax(e.max_m, miss);
        e.rms_m += miss * miss / FALLS;
        e.time_s = fmax(e.time_s, fabs(a->time_s - t->time_s));
        e.load_pct = fmax(e.load_pct, 100 * fabs(a->drogue_load_n / t->drogue_load_n - 1));
        e.load_pct = fmax(e.load_pct, 100 * fabs(a->main_load_n / t->main_load_n - 1));
    }
    e.rms_m = sqrt(e.rms_m);
    return e;
}

/* The loosest decade that meets the bound, its time and its error. */
static int measure_gsl(bench *b, double *tolerance, double *per_s, errors *e)
{
    for (*tolerance = 1e-1; *tolerance > 1e-10; *tolerance /= 10) {
        double start = seconds(CLOCK_THREAD_CPUTIME_ID);
        if (run_gsl(b, *tolerance)) return 1;
        *per_s = FALLS / (seconds(CLOCK_THREAD_CPUTIME_ID) - start);
        *e = errors_of(b);
        if (e->max_m > most_error_m) continue;
        for (int i = 0; i < 4; i++) {
            start = seconds(CLOCK_THREAD_CPUTIME_ID);
            if (run_gsl(b, *tolerance)) return 1;
            *per_s = fmax(*per_s, FALLS / (seconds(CLOCK_THREAD_CPUTIME_ID) - start));
        }
        return 0;
    }
    return 1;
}

static double time_engine(bench *b, pappus_isa isa, int threads, clockid_t clock)
{
    double best = INFINITY;
    for (int i = 0; i < engine_rounds; i++) {
        double start = seconds(clock);
        if (run_engine(b, isa, threads)) return NAN;
        best = fmin(best, seconds(clock) - start);
    }
    return best;
}

static int ascending(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

int main(void)
{
    gsl_set_error_handler_off();
    bench *b = aligned_alloc(64, sizeof *b);
    if (!b) return 1;
    draw(b);
    double tolerance, gsl_per_s, ratio[7];
    errors gsl_errors;
    if (find_truth(b) || measure_gsl(b, &tolerance, &gsl_per_s, &gsl_errors)) return 1;
    pappus_isa best = pappus_isa_best();
    double engine_per_s = FALLS / time_engine(b, best, 1, CLOCK_THREAD_CPUTIME_ID);
    errors e = errors_of(b);
    for (int i = 0; i < pairs; i++)
        ratio[i] = time_engine(b, best, 1, CLOCK_MONOTONIC) /
                   time_engine(b, best, 2, CLOCK_MONOTONIC);
    qsort(ratio, (size_t)pairs, sizeof *ratio, ascending);
    printf("{\"descents\": %d, \"isa\": \"%s\", \"gsl_per_s\": %.0f, \"gsl_tolerance\": %.0e, "
           "\"gsl_max_error_m\": %.3f, \"engine_per_s\": %.0f, \"ratio\": %.1f, "
           "\"max_error_m\": %.4f, \"rms_error_m\": %.4f, \"time_max_error_s\": %.4f, "
           "\"load_max_error_pct\": %.2f, \"thread_speedup\": %.2f",
           FALLS, pappus_isa_text(best), gsl_per_s, tolerance, gsl_errors.max_m, engine_per_s,
           engine_per_s / gsl_per_s, e.max_m, e.rms_m, e.time_s, e.load_pct, ratio[pairs / 2]);
    for (int isa = 0; isa <= (int)best; isa++)
        printf(", \"%s_ns\": %.0f", pappus_isa_text((pappus_isa)isa),
               1e9 * time_engine(b, (pappus_isa)isa, 1, CLOCK_THREAD_CPUTIME_ID) / FALLS);
    printf("}\n");
    free(b);
    return 0;
}
