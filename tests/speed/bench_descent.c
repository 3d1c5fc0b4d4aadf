/* SPDX-License-Identifier: GPL-3.0-or-later
 * The engine against GSL's rkf45, and CVODE's Adams method where SUNDIALS was found, on the
 * falls and winds that a plan draws, in its own air, outcomes in the shares that a scatter
 * gives them: descents per second on one core, errors against the reference, gain of a second
 * thread. Each library runs at the loosest tolerance whose greatest landing error is 0.25 m,
 * with and without steps cut at the wind's nodes; its faster counts. Prints JSON.
 *
 *   bench_descent [PLAN]
 */
#include <gsl/gsl_errno.h>
#include <math.h>
#include <omp.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#ifdef PAPPUS_SUNDIALS
#include "cvode_fall.h"
#endif
#include "draws.h"
#include "engine.h"
#include "gsl_fall.h"
#include "reference.h"
#include "scatter.h"

#define FALLS_MOST 4096
#define BLOCKS_MOST (FALLS_MOST / PAPPUS_LANES)
#define HARD_BLOCKS (768 / PAPPUS_LANES) /* GSL takes long */
#define PAIRS 7
static const double most_error_m = 0.25;
static const int engine_rounds = 15, peer_rounds = 3, peer_bisections = 5, thread_rounds = 5,
                 passes = 8;

typedef struct {
    pappus_air *air;
    int blocks, falls_count;
    size_t wind_floats; /* of a block */
    float *u, *v;       /* [block][node][lane] */
    pappus_fall falls[FALLS_MOST];
    pappus_touchdown truth[FALLS_MOST];
    _Alignas(64) pappus_touchdown found[FALLS_MOST];
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

static const float *wind_of(const bench *b, const float *component, int fall)
{
    return component + (size_t)(fall / PAPPUS_LANES) * b->wind_floats;
}

/* What a scatter of so many landings would bring down. */
static int draw(bench *b, const pappus_plan *plan)
{
    pappus_scatter_options options = PAPPUS_SCATTER_OPTIONS_INIT;
    pappus_random random = {plan->seed, 0};
    pappus_redraws redraws = {0};
    pappus_draws *draws;
    size_t shares[PAPPUS_OUTCOMES], at = 0;
    size_t falls = (size_t)b->falls_count;
    uint8_t outcome[FALLS_MOST];
    if (pappus_draws_build(&draws, plan, b->air, random, 0, NULL) != PAPPUS_OK) return 1;
    options.stratum_minimum *= (double)falls / (double)plan->landings;
    options.run.landings = falls;
    pappus_scatter_shares(shares, pappus_draws_probability(draws), &options);
    for (int h = 0; h < PAPPUS_OUTCOMES; h++)
        for (size_t i = 0; i < shares[h] && at < falls; i++)
            outcome[at++] = (uint8_t)h;
    for (size_t block = 0; block < (size_t)b->blocks; block++) {
        uint64_t index[PAPPUS_LANES];
        for (size_t l = 0; l < PAPPUS_LANES; l++)
            index[l] = block * PAPPUS_LANES + l;
        pappus_wind_draw(b->air, pappus_isa_best(), random, index, b->u + block * b->wind_floats,
                         b->v + block * b->wind_floats);
        pappus_draws_falls(b->falls + index[0], draws, PAPPUS_LANES, index, outcome + index[0],
                           &redraws);
    }
    pappus_draws_free(draws);
    return at == falls ? 0 : 1;
}

static int fill(bench *b, const char *path)
{
    pappus_plan_options options = PAPPUS_PLAN_OPTIONS_INIT;
    pappus_air_options as_read = PAPPUS_AIR_OPTIONS_INIT;
    pappus_plan *plan = NULL;
    pappus_winds *winds = NULL;
    pappus_log log = {0};
    int status = pappus_plan_read(&plan, path, &options, &log);
    if (status == PAPPUS_OK) status = pappus_winds_read(&winds, plan, &log);
    if (status == PAPPUS_OK) status = pappus_air_build(&b->air, plan, winds, &as_read, &log);
    if (status == PAPPUS_OK) {
        b->wind_floats = b->air->node_count * PAPPUS_LANES;
        b->u = aligned_alloc(64, (size_t)b->blocks * b->wind_floats * sizeof *b->u);
        b->v = aligned_alloc(64, (size_t)b->blocks * b->wind_floats * sizeof *b->v);
        status = b->u && b->v ? draw(b, plan) : 1;
    }
    if (status != PAPPUS_OK)
        fprintf(stderr, "bench_descent: %s: %s\n", path,
                log.count > 0 ? log.entries[0].error.message : "failed");
    pappus_log_clear(&log);
    pappus_winds_free(winds);
    pappus_plan_free(plan);
    return status;
}

static int find_truth(bench *b)
{
    size_t nodes = b->air->node_count;
    double *u = malloc(nodes * sizeof *u), *v = malloc(nodes * sizeof *v);
    int status = u && v ? 0 : 1;
    for (int i = 0; i < b->falls_count && status == 0; i++) {
        for (size_t k = 0; k < nodes; k++) {
            size_t at = k * PAPPUS_LANES + (size_t)(i % PAPPUS_LANES);
            u[k] = wind_of(b, b->u, i)[at];
            v[k] = wind_of(b, b->v, i)[at];
        }
        status = pappus_reference_fall(&b->truth[i], NULL, &b->falls[i], b->air, u, v, 1e-8, NULL);
    }
    free(u);
    free(v);
    return status;
}

/* All falls by a library. */
typedef int library(bench *b, double tolerance, bool cuts_at_nodes);

#define RUN_ALL(peer)                                                                              \
    static int run_##peer(bench *b, double tolerance, bool cuts_at_nodes)                          \
    {                                                                                              \
        peer##_fall g;                                                                             \
        int status = peer##_fall_open(&g, b->air, tolerance, cuts_at_nodes);                       \
        for (int i = 0; i < b->falls_count && status == 0; i++)                                    \
            status = peer##_fall_run(&g, &b->found[i], &b->falls[i], wind_of(b, b->u, i),          \
                                     wind_of(b, b->v, i), i % PAPPUS_LANES);                       \
        peer##_fall_close(&g);                                                                     \
        return status;                                                                             \
    }
RUN_ALL(gsl)
#ifdef PAPPUS_SUNDIALS
RUN_ALL(cvode)
#endif

static const struct {
    const char *name;
    library *run;
} libraries[] = {
    {"gsl", run_gsl},
#ifdef PAPPUS_SUNDIALS
    {"cvode", run_cvode},
#endif
};
#define LIBRARIES (sizeof libraries / sizeof libraries[0])

static int run_block(bench *b, pappus_isa isa, int block)
{
    int first = block * PAPPUS_LANES;
    return pappus_engine_run(&b->found[first], b->air, isa, PAPPUS_LANES, &b->falls[first],
                             wind_of(b, b->u, first), wind_of(b, b->v, first)) != PAPPUS_OK;
}

/* The greater of two that may both be missing. */
static double worse(double error, double found, double truth)
{
    if (isnan(truth) && isnan(found)) return error;
    double off = 100 * fabs(found / truth - 1);
    return isnan(off) ? INFINITY : fmax(error, off);
}

static errors errors_of(const bench *b)
{
    errors e = {0};
    for (int i = 0; i < b->falls_count; i++) {
        const pappus_touchdown *a = &b->found[i], *t = &b->truth[i];
        double miss = hypot(a->east_m - t->east_m, a->north_m - t->north_m);
        e.max_m = fmax(e.max_m, miss);
        e.rms_m += miss * miss / b->falls_count;
        e.time_s = fmax(e.time_s, fabs(a->time_s - t->time_s));
        e.load_pct = worse(e.load_pct, a->drogue_load_n, t->drogue_load_n);
        e.load_pct = worse(e.load_pct, a->main_load_n, t->main_load_n);
    }
    e.rms_m = sqrt(e.rms_m);
    return e;
}

typedef struct {
    double tolerance, per_s, max_error_m;
} peer_result;

static double peer_error_m(bench *b, library *run, double tolerance, bool cuts_at_nodes)
{
    return run(b, tolerance, cuts_at_nodes) ? INFINITY : errors_of(b).max_m;
}

/* The loosest tolerance that meets the bound, its speed and its error. The error is not
 * quite monotonic: the first decade from the loose end that meets it is where to look. */
static int measure(peer_result *out, bench *b, library *run, bool cuts_at_nodes)
{
    double best = INFINITY, loose = 1, tight = 1;
    while (tight > 1e-10 && peer_error_m(b, run, tight, cuts_at_nodes) > most_error_m) {
        loose = tight;
        tight /= 10;
    }
    for (int i = 0; i < peer_bisections && loose > tight; i++) {
        double middle = sqrt(loose * tight);
        bool meets = peer_error_m(b, run, middle, cuts_at_nodes) <= most_error_m;
        *(meets ? &tight : &loose) = middle;
    }
    out->tolerance = tight;
    out->max_error_m = peer_error_m(b, run, tight, cuts_at_nodes);
    for (int i = 0; i < peer_rounds; i++) {
        double start = seconds(CLOCK_THREAD_CPUTIME_ID);
        if (run(b, out->tolerance, cuts_at_nodes)) return 1;
        best = fmin(best, seconds(CLOCK_THREAD_CPUTIME_ID) - start);
    }
    out->per_s = b->falls_count / best;
    return out->max_error_m <= most_error_m ? 0 : 1;
}

/* Descents per second of CPU time. */
static double engine_speed(bench *b, pappus_isa isa)
{
    double best = INFINITY;
    for (int i = 0; i < engine_rounds; i++) {
        double start = seconds(CLOCK_THREAD_CPUTIME_ID);
        for (int block = 0; block < b->blocks; block++)
            if (run_block(b, isa, block)) return NAN;
        best = fmin(best, seconds(CLOCK_THREAD_CPUTIME_ID) - start);
    }
    return b->falls_count / best;
}

/* Wall time of several passes over all falls. */
static double threaded_s(bench *b, pappus_isa isa, int threads)
{
    double best = INFINITY;
    for (int i = 0; i < thread_rounds; i++) {
        int failed = 0;
        double start = seconds(CLOCK_MONOTONIC);
#pragma omp parallel for num_threads(threads) schedule(dynamic, 8) reduction(| : failed)
        for (int block = 0; block < passes * b->blocks; block++)
            failed |= run_block(b, isa, block % b->blocks);
        if (failed) return NAN;
        best = fmin(best, seconds(CLOCK_MONOTONIC) - start);
    }
    return best;
}

static int ascending(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

/* Median of alternating pairs. */
static double thread_speedup(bench *b, pappus_isa isa)
{
    double ratio[PAIRS];
    for (int i = 0; i < PAIRS; i++)
        ratio[i] = threaded_s(b, isa, 1) / threaded_s(b, isa, 2);
    qsort(ratio, PAIRS, sizeof *ratio, ascending);
    return ratio[PAIRS / 2];
}

static void print_sets(bench *b, const double peer_per_s[LIBRARIES])
{
    printf(", \"sets\": {");
    for (int isa = 0; isa <= (int)pappus_isa_best(); isa++) {
        double per_s = engine_speed(b, (pappus_isa)isa);
        errors e = errors_of(b);
        printf("%s\"%s\": {\"ns\": %.0f", isa ? ", " : "", pappus_isa_text((pappus_isa)isa),
               1e9 / per_s);
        for (size_t i = 0; i < LIBRARIES; i++)
            printf(", \"ratio_to_%s\": %.1f", libraries[i].name, per_s / peer_per_s[i]);
        printf(", \"max_error_m\": %.4f, \"rms_error_m\": %.4f, \"time_max_error_s\": %.4f, "
               "\"load_max_error_pct\": %.2f}",
               e.max_m, e.rms_m, e.time_s, e.load_pct);
    }
    printf("}");
}

/* The library's speed, cut at nodes or not. */
static int print_library(double *per_s, bench *b, size_t which)
{
    static const char *const names[] = {"plain", "cut_at_nodes"};
    *per_s = 0;
    for (int cuts = 0; cuts < 2; cuts++) {
        peer_result found;
        if (measure(&found, b, libraries[which].run, cuts)) return 1;
        printf(", \"%s_%s\": {\"ns\": %.0f, \"tolerance\": %.2e, \"max_error_m\": %.4f}",
               libraries[which].name, names[cuts], 1e9 / found.per_s, found.tolerance,
               found.max_error_m);
        *per_s = fmax(*per_s, found.per_s);
    }
    return 0;
}

static int compare(bench *b, const char *path)
{
    double peer_per_s[LIBRARIES];
    if (find_truth(b)) return 1;
    printf("{\"plan\": \"%s\", \"descents\": %d, \"bound_m\": %.2f", path, b->falls_count,
           most_error_m);
    /* Each before and after would be fairer still to a machine that changes its pace; the
     * least of several rounds of each is taken instead. */
    for (size_t i = 0; i < LIBRARIES; i++)
        if (print_library(&peer_per_s[i], b, i)) return 1;
    print_sets(b, peer_per_s);
    printf(", \"thread_speedup\": %.2f}\n", thread_speedup(b, pappus_isa_best()));
    return 0;
}

static int run_plan(const char *path, int blocks)
{
    bench *b = aligned_alloc(64, sizeof *b);
    if (!b) return 1;
    memset(b, 0, sizeof *b);
    b->blocks = blocks;
    b->falls_count = blocks * PAPPUS_LANES;
    int status = fill(b, path);
    if (status == PAPPUS_OK) {
        status = compare(b, path);
        if (status != 0)
            fprintf(stderr, "bench_descent: %s: no tolerance of a library meets the bound\n", path);
    }
    pappus_air_free(b->air);
    free(b->u);
    free(b->v);
    free(b);
    return status;
}

int main(int argc, char **argv)
{
    int blocks = argc > 2 ? (int)strtol(argv[2], NULL, 10) : BLOCKS_MOST;
    pappus_quiet_dependencies();
    if (blocks < 1 || blocks > BLOCKS_MOST) {
        fprintf(stderr, "bench_descent: BLOCKS is 1 to %d\n", BLOCKS_MOST);
        return EXIT_FAILURE;
    }
    if (argc > 1) return run_plan(argv[1], blocks) ? EXIT_FAILURE : EXIT_SUCCESS;
    int status = run_plan(SOURCE_DIR "/examples/go_day.json", blocks);
    if (status == 0) status = run_plan(SOURCE_DIR "/tests/speed/hard_plan.json", HARD_BLOCKS);
    return status ? EXIT_FAILURE : EXIT_SUCCESS;
}
