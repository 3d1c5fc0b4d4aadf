/* SPDX-License-Identifier: GPL-3.0-or-later
 * The cloud of landings: a sample stratified by outcome (Cochran, Sampling
 * Techniques, 1977, chapter 5), so that rare outcomes have enough landings to show
 * their zone, and every landing a weight, the chance of its outcome over the
 * landings in it.
 *
 * Landings go down in blocks of PAPPUS_LANES, blocks are shared out over the
 * threads. A landing is a function of seed and index alone and is written to its
 * own place, sums are of whole numbers, so the bytes of the result do not depend
 * on the number of threads. */
#include "scatter.h"

#include "cloud.h"
#include "draws.h"
#include "engine.h"
#include "error.h"
#include "run.h"

#include <math.h>
#include <omp.h>
#include <stdlib.h>
#include <string.h>

#define BLOCKS_PER_TASK 4

void pappus_scatter_shares(size_t out[PAPPUS_OUTCOMES], const double probability[PAPPUS_OUTCOMES],
                           const pappus_scatter_options *options)
{
    size_t least = (size_t)fmax(options->stratum_minimum, 1.0), others = 0;
    int likeliest = 0;
    for (int h = 0; h < PAPPUS_OUTCOMES; h++)
        if (probability[h] > probability[likeliest]) likeliest = h;
    for (int h = 0; h < PAPPUS_OUTCOMES; h++) {
        out[h] = 0;
        if (h == likeliest || options->nominal_only || !(probability[h] > 0.0)) continue;
        size_t share = (size_t)llround(probability[h] * (double)options->run.landings);
        out[h] = share > least ? share : least;
        others += out[h];
    }
    if (options->nominal_only) likeliest = PAPPUS_NOMINAL;
    size_t rest = options->run.landings > others ? options->run.landings - others : 0;
    bool alone = others == 0;
    out[likeliest] = rest > least || alone ? rest : least;
}

/* ------------------------------------------------------------------- cloud */

static void fill_outcomes(pappus_cloud *cloud)
{
    size_t at = 0;
    for (int h = 0; h < PAPPUS_OUTCOMES; h++) {
        memset(cloud->outcome + at, h, cloud->stratum_count[h]);
        at += cloud->stratum_count[h];
    }
}

static void store(pappus_cloud *cloud, size_t i, const pappus_fall *fall,
                  const pappus_touchdown *down)
{
    double weight_n = fall->mass_kg * PAPPUS_GRAVITY_MPS2;
    double across2 = down->ve_mps * down->ve_mps + down->vn_mps * down->vn_mps;
    cloud->east_m[i] = down->east_m;
    cloud->north_m[i] = down->north_m;
    cloud->time_s[i] = (float)down->time_s;
    cloud->vz_mps[i] = (float)-down->vup_mps;
    cloud->speed_mps[i] = (float)sqrt(across2 + down->vup_mps * down->vup_mps);
    cloud->drogue_load[i] = (float)(down->drogue_load_n / weight_n);
    cloud->main_load[i] = (float)(down->main_load_n / weight_n);
    cloud->main_fire_m[i] = (float)down->main_fire_m;
    cloud->main_full_open_m[i] = (float)down->main_full_open_m;
    cloud->unopened[i] = fall->main_cds_m2 > 0.0 && isnan(down->time_full_open_s);
}

/* ------------------------------------------------------------------ blocks */

/* What one thread works with. */
typedef struct {
    float *u_mps, *v_mps;
    pappus_drawn drawn[PAPPUS_LANES];
    pappus_fall *falls; /* [shift][lane]; so with the next */
    pappus_touchdown *touchdowns;
    pappus_redraws redraws;
} workspace;

/* One cloud per shift of the main heights, alike but for that. */
typedef struct {
    size_t shift_count, count; /* clouds; landings in each */
    pappus_cloud **clouds;
    pappus_draws **draws;
    const pappus_air *air;
    pappus_random random;
    pappus_isa isa;
    const pappus_scatter_options *options;
    size_t task_count, tasks_done;
    pappus_redraws redraws;
    int status; /* the first failure */
} scatter_work;

static workspace *workspace_new(size_t node_count, size_t shift_count)
{
    workspace *space = calloc(1, sizeof *space);
    if (!space) return NULL;
    size_t bytes = node_count * PAPPUS_LANES * sizeof(float); /* a multiple of 64 */
    space->u_mps = aligned_alloc(64, bytes);
    space->v_mps = aligned_alloc(64, bytes);
    space->falls = calloc(shift_count * PAPPUS_LANES, sizeof *space->falls);
    space->touchdowns = calloc(shift_count * PAPPUS_LANES, sizeof *space->touchdowns);
    return space;
}

static void workspace_free(workspace *space)
{
    if (!space) return;
    free(space->u_mps);
    free(space->v_mps);
    free(space->falls);
    free(space->touchdowns);
    free(space);
}

/* Where no lane's main hangs on its height (it failed, or came out at apogee) all shifts are
 * one. */
static bool is_one_fall(const pappus_fall *falls, size_t count)
{
    for (size_t l = 0; l < count; l++)
        if (falls[l].trigger_count > 0) return false;
    return true;
}

static int bring_down(const scatter_work *work, workspace *space, size_t first, size_t count)
{
    size_t flown = work->shift_count;
    const uint8_t *outcome = work->clouds[0]->outcome + first;
    pappus_draws_assemble(space->falls, work->draws[0], count, outcome, space->drawn);
    for (size_t shift = 1; shift < work->shift_count; shift++)
        pappus_draws_shift(space->falls + shift * PAPPUS_LANES, space->falls, work->draws[shift],
                           count, outcome, space->drawn);
    if (is_one_fall(space->falls, count)) flown = 1;
    int status = flown == 1
                     ? pappus_engine_run(space->touchdowns, work->air, work->isa, count,
                                         space->falls, space->u_mps, space->v_mps)
                     : pappus_engine_run_rows(space->touchdowns, work->air, work->isa, count, flown,
                                              space->falls, space->u_mps, space->v_mps);
    for (size_t shift = 0; shift < work->shift_count && status == PAPPUS_OK; shift++) {
        const pappus_touchdown *down = space->touchdowns + (flown == 1 ? 0 : shift * PAPPUS_LANES);
        for (size_t l = 0; l < count; l++)
            store(work->clouds[shift], first + l, &space->falls[shift * PAPPUS_LANES + l],
                  &down[l]);
    }
    return status;
}

static int run_block(const scatter_work *work, workspace *space, size_t block)
{
    size_t first = block * PAPPUS_LANES, left = work->count - first;
    size_t count = left < PAPPUS_LANES ? left : PAPPUS_LANES;
    uint64_t index[PAPPUS_LANES];
    for (size_t l = 0; l < PAPPUS_LANES; l++)
        index[l] = first + l;
    pappus_wind_draw(work->air, work->isa, work->random, index, space->u_mps, space->v_mps);
    pappus_draws_values(space->drawn, work->draws[0], count, index,
                        work->clouds[0]->outcome + first, &space->redraws);
    pappus_draws_winds(space->drawn, work->draws[0], count, work->air, space->u_mps, space->v_mps);
    return bring_down(work, space, first, count);
}

static int run_task(const scatter_work *work, workspace *space, size_t task)
{
    size_t blocks = (work->count + PAPPUS_LANES - 1) / PAPPUS_LANES;
    size_t end = (task + 1) * BLOCKS_PER_TASK;
    int status = PAPPUS_OK;
    for (size_t b = task * BLOCKS_PER_TASK; b < end && b < blocks && status == PAPPUS_OK; b++)
        status = run_block(work, space, b);
    return status;
}

static void note_status(scatter_work *work, int status)
{
    if (status == PAPPUS_OK) return;
#pragma omp critical(pappus_scatter_status)
    if (work->status == PAPPUS_OK) work->status = status;
}

static int status_of(const scatter_work *work)
{
    int status;
#pragma omp critical(pappus_scatter_status)
    status = work->status;
    return status;
}

/* Asked from the calling thread alone. */
static int ask_to_go_on(scatter_work *work, size_t done)
{
    if (omp_get_thread_num() != 0) return PAPPUS_OK;
    return pappus_run_progress(&work->options->run, (double)done / (double)work->task_count, NULL);
}

static void run_thread(scatter_work *work)
{
    workspace *space = workspace_new(work->air->node_count, work->shift_count);
    bool ready = space && space->u_mps && space->v_mps && space->falls && space->touchdowns;
    if (!ready) note_status(work, PAPPUS_E_MEMORY);
#pragma omp for schedule(dynamic)
    for (size_t task = 0; task < work->task_count; task++) {
        size_t done;
        if (!ready || status_of(work) != PAPPUS_OK) continue;
        note_status(work, run_task(work, space, task));
#pragma omp atomic capture
        done = ++work->tasks_done;
        note_status(work, ask_to_go_on(work, done));
    }
    if (ready) {
#pragma omp critical(pappus_scatter_redraws)
        {
            work->redraws.drawn += space->redraws.drawn;
            work->redraws.redrawn += space->redraws.redrawn;
        }
    }
    workspace_free(space);
}

static int run_all(scatter_work *work, pappus_error *err)
{
    size_t per_task = PAPPUS_LANES * BLOCKS_PER_TASK;
    work->task_count = (work->count + per_task - 1) / per_task;
#pragma omp parallel num_threads(pappus_threads(work->options->run.threads))
    run_thread(work);
    switch (work->status) {
    case PAPPUS_OK:
        return PAPPUS_OK;
    case PAPPUS_E_MEMORY:
        return pappus_fail_memory(err);
    case PAPPUS_E_STOPPED:
        return pappus_fail(err, PAPPUS_E_STOPPED, NULL, NULL, NULL, "stopped while sampling");
    default:
        return pappus_fail(err, work->status, NULL, NULL, NULL,
                           "a descent could not be computed: its wind, masses or drag areas are "
                           "beyond what the integration holds for");
    }
}

static void finish_cloud(pappus_cloud *cloud, const pappus_redraws *redraws)
{
    cloud->drawn = redraws->drawn;
    cloud->redrawn = redraws->redrawn;
    for (size_t i = 0; i < cloud->count; i++)
        cloud->unopened_count[cloud->outcome[i]] += cloud->unopened[i];
}

static int set_cloud(pappus_cloud **out, const pappus_draws *draws,
                     const pappus_scatter_options *options, pappus_error *err)
{
    size_t shares[PAPPUS_OUTCOMES], total = 0;
    const double *probability = pappus_draws_probability(draws);
    if (options->nominal_only && !(probability[PAPPUS_NOMINAL] > 0.0))
        return pappus_fail(err, PAPPUS_E_FLIGHT, NULL, NULL, NULL,
                           "the nominal outcome cannot happen with this plan");
    pappus_scatter_shares(shares, probability, options);
    for (int h = 0; h < PAPPUS_OUTCOMES; h++)
        total += shares[h];
    if (total == 0)
        return pappus_fail(err, PAPPUS_E_USAGE, NULL, "landings", "0",
                           "give the number of landings, 1 or more");
    int status = pappus_cloud_new(out, total, err);
    if (status != PAPPUS_OK) return status;
    (*out)->seed = options->run.seed;
    memcpy((*out)->probability, probability, sizeof(*out)->probability);
    memcpy((*out)->stratum_count, shares, sizeof shares);
    fill_outcomes(*out);
    return PAPPUS_OK;
}

static int scatter(scatter_work *work, const pappus_plan *plan, const double *main_shift_m,
                   pappus_error *err)
{
    int status = PAPPUS_OK;
    for (size_t i = 0; i < work->shift_count && status == PAPPUS_OK; i++) {
        status = pappus_draws_build(&work->draws[i], plan, work->air, work->random, main_shift_m[i],
                                    err);
        if (status == PAPPUS_OK)
            status = set_cloud(&work->clouds[i], work->draws[i], work->options, err);
    }
    if (status != PAPPUS_OK) return status;
    work->count = work->clouds[0]->count;
    status = run_all(work, err);
    for (size_t i = 0; i < work->shift_count && status == PAPPUS_OK; i++)
        finish_cloud(work->clouds[i], &work->redraws);
    return status;
}

int pappus_scatter_shifts(pappus_cloud **clouds, size_t count, const double *main_shift_m,
                          const pappus_plan *plan, const pappus_air *air,
                          const pappus_scatter_options *options, pappus_error *err)
{
    pappus_scatter_options whole = *options;
    whole.run = pappus_run_of_plan(&options->run, plan);
    scatter_work work = {.shift_count = count,
                         .clouds = clouds,
                         .draws = calloc(count, sizeof *work.draws),
                         .air = air,
                         .random = {whole.run.seed, whole.fresh_groups},
                         .isa = pappus_isa_best(),
                         .options = &whole};
    for (size_t i = 0; i < count; i++)
        clouds[i] = NULL;
    int status = work.draws ? scatter(&work, plan, main_shift_m, err) : pappus_fail_memory(err);
    for (size_t i = 0; i < count; i++) {
        if (work.draws) pappus_draws_free(work.draws[i]);
        if (status == PAPPUS_OK) continue;
        pappus_cloud_free(clouds[i]);
        clouds[i] = NULL;
    }
    free(work.draws);
    return status;
}

int pappus_scatter(pappus_cloud **out, const pappus_plan *plan, const pappus_air *air,
                   const pappus_scatter_options *options, pappus_error *err)
{
    static const pappus_scatter_options defaults = PAPPUS_SCATTER_OPTIONS_INIT;
    if (!options) options = &defaults;
    return pappus_scatter_shifts(out, 1, &options->main_shift_m, plan, air, options, err);
}
