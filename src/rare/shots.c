/* SPDX-License-Identifier: GPL-3.0-or-later
 * Flying led landings block by block, as descent/scatter.c flies its own; what they weigh
 * is in shots.h. A landing is a function of seed and index and is written to its own
 * place. */
#include "shots.h"

#include "engine.h"
#include "error.h"
#include "run.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Uniform numbers of a landing: three to lead it, three for its law, and one that tells whether
 * its values are leaned, too. */
#define NUMBERS 7
#define LEAN_NUMBER 6

int rare_descend_engine(void *context, const pappus_air *air, size_t count, size_t rows,
                        const pappus_fall *falls, const float *u_mps, const float *v_mps,
                        pappus_touchdown *out)
{
    (void)context;
    pappus_isa isa = pappus_isa_best();
    if (rows == 1) return pappus_engine_run(out, air, isa, count, falls, u_mps, v_mps);
    return pappus_engine_run_rows(out, air, isa, count, rows, falls, u_mps, v_mps);
}

/* What one thread works with. */
typedef struct {
    float *u_mps, *v_mps;
    rare_point point[PAPPUS_LANES];
    uint64_t index[PAPPUS_LANES];
    double uniform[NUMBERS][PAPPUS_LANES];
    uint8_t outcome[PAPPUS_LANES];
    int profile[PAPPUS_LANES];
    float scale[PAPPUS_LANES];
    size_t part[PAPPUS_LANES];
    bool beyond[PAPPUS_LANES]; /* its leaned values cannot be: it weighs nothing */
    double z[PAPPUS_LANES][RARE_NORMALS_MOST], by[PAPPUS_LANES][RARE_NORMALS_MOST];
    double wide_speed[PAPPUS_LANES];
    pappus_drawn drawn[PAPPUS_LANES];
    pappus_fall *falls; /* [row][lane]; so with the next */
    pappus_touchdown *touchdowns;
} workspace;

static workspace *workspace_new(size_t nodes, size_t rows)
{
    workspace *space = calloc(1, sizeof *space);
    if (!space) return NULL;
    space->u_mps = aligned_alloc(64, nodes * PAPPUS_LANES * sizeof(float));
    space->v_mps = aligned_alloc(64, nodes * PAPPUS_LANES * sizeof(float));
    space->falls = calloc(rows * PAPPUS_LANES, sizeof *space->falls);
    space->touchdowns = calloc(rows * PAPPUS_LANES, sizeof *space->touchdowns);
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

static size_t part_of(const rare_shots *shots, size_t i)
{
    size_t j = 0;
    while (j + 1 < shots->part_count && i >= shots->start[j + 1])
        j++;
    return j;
}

/* Where the landing of a lane is led, by which profile and scale. */
static void choose(workspace *space, size_t l, const rare_range *range)
{
    size_t part = space->part[l];
    rare_point *point = &space->point[l];
    double uniform[NUMBERS];
    for (size_t i = 0; i < NUMBERS; i++)
        uniform[i] = space->uniform[i][l];
    if (part == SHOTS_PLAIN) {
        rare_law_draw(point, range->law, uniform);
    } else {
        if (part == SHOTS_WIDE)
            rare_law_draw_wide(point->x_m, range->law, uniform);
        else
            rare_aim_draw(point->x_m, &range->aims[part - SHOTS_AIMED], uniform);
        rare_law_draw_led(point, range->law, uniform + 3);
    }
    space->profile[l] = point->profile;
    space->scale[l] = (float)point->scale;
}

/* The low wind's normal numbers, leaned; what that adds to the shares of drift and low wind. */
static void lead_low(double drift[2][PAPPUS_LANES], double low[2][PAPPUS_LANES], workspace *space,
                     const rare_shots *shots, const rare_law *law, double to_m[2][PAPPUS_LANES])
{
    double at[2][PAPPUS_LANES];
    pappus_wind_lean_measure(at, &law->low.lean, space->profile, space->u_mps, space->v_mps);
    for (size_t l = 0; l < PAPPUS_LANES; l++) {
        double beta, sd, scale = (double)space->scale[l];
        rare_low_of(&beta, &sd, &law->low, &law->lean, space->profile[l], scale);
        for (int a = 0; a < 2; a++) {
            size_t q = shots->normals.count + (size_t)a;
            double by = sd > 0.0 ? space->by[l][q] : 0.0;
            space->z[l][q] = sd > 0.0 ? (at[a][l] - beta * to_m[a][l]) / sd + by : 0.0;
            low[a][l] = sd > 0.0 ? by / sd : 0.0;
            drift[a][l] -= beta * low[a][l];
        }
    }
}

/* Wind and spread of the apogee, moved to where they lead. */
static void lead(workspace *space, const rare_shots *shots, const rare_range *range)
{
    const rare_law *law = range->law;
    double to_m[2][PAPPUS_LANES], share[2][PAPPUS_LANES], low[2][PAPPUS_LANES];
    pappus_wind_lean_measure(to_m, &law->lean, space->profile, space->u_mps, space->v_mps);
    for (size_t l = 0; l < PAPPUS_LANES; l++) {
        rare_point *point = &space->point[l];
        pappus_drawn *drawn = &space->drawn[l];
        double *spread[2] = {&drawn->spread_east, &drawn->spread_north};
        double v = rare_law_variance_m2(law, point->profile, (double)space->scale[l]);
        for (int a = 0; a < 2; a++) {
            double x_m = law->origin_m[point->profile][a] + to_m[a][l] + law->spread_m * *spread[a];
            share[a][l] = space->part[l] != SHOTS_PLAIN ? (point->x_m[a] - x_m) / v : 0.0;
            *spread[a] += law->spread_m * share[a][l];
            if (space->part[l] == SHOTS_PLAIN) point->x_m[a] = x_m;
        }
        if (space->part[l] == SHOTS_PLAIN) rare_law_weigh(point, law);
    }
    if (law->low.there) {
        lead_low(share, low, space, shots, law, to_m);
        pappus_wind_lean_apply(&law->low.lean, space->profile, space->scale, low, space->u_mps,
                               space->v_mps);
    }
    pappus_wind_lean_apply(&law->lean, space->profile, space->scale, share, space->u_mps,
                           space->v_mps);
}

/* Of the two laws of the speed: the mixture's density over the flight's own. */
static double speed_ratio(double z)
{
    return 0.5 + 0.5 / SHOTS_WIDE_SPEED *
                     exp(0.5 * z * z * (1.0 - 1.0 / (SHOTS_WIDE_SPEED * SHOTS_WIDE_SPEED)));
}

/* The speed at apogee that leads a body without canopy. */
static void lead_speed(workspace *space, size_t l, const rare_range *range, double uniform)
{
    double mean_mps, sd_mps;
    space->wide_speed[l] = 1.0;
    if (!range->wide_speed || !pappus_draws_speed_law(&mean_mps, &sd_mps, range->draws[0])) return;
    double *speed_mps = pappus_drawn_speed_mps(&space->drawn[l]);
    double z = (*speed_mps - mean_mps) / sd_mps;
    if (space->part[l] == SHOTS_WIDE && uniform < 0.5) {
        z *= SHOTS_WIDE_SPEED;
        *speed_mps = mean_mps + sd_mps * z;
    }
    space->wide_speed[l] = speed_ratio(z);
}

/* The drawn values, leaned to where the landing is led. */
static void lead_values(workspace *space, const rare_shots *shots, const rare_range *range)
{
    for (size_t l = 0; l < PAPPUS_LANES; l++) {
        double *by = space->by[l];
        double uniform = space->uniform[LEAN_NUMBER][l];
        space->beyond[l] = false;
        memset(by, 0, shots->normal_count * sizeof *by);
        if (space->part[l] >= SHOTS_AIMED && uniform < AIM_LEANED) {
            const rare_aim *aim = &range->aims[space->part[l] - SHOTS_AIMED];
            rare_aim_lean(by, aim, space->point[l].x_m);
            space->beyond[l] =
                aim->map.normal_count > 0 &&
                !pappus_normals_lean(&space->drawn[l], &shots->normals, range->draws[0], by);
        }
        lead_speed(space, l, range, uniform);
        pappus_normals_read(space->z[l], &shots->normals, range->draws[0], &space->drawn[l]);
    }
}

static double weight_of(const rare_shots *shots, const rare_range *range, const workspace *space,
                        size_t l)
{
    const double *x_m = space->point[l].x_m;
    double led = 0.0;
    if (space->beyond[l]) return 0.0;
    for (size_t j = SHOTS_WIDE; j < shots->part_count; j++) {
        double count = (double)(shots->start[j + 1] - shots->start[j]);
        if (!(count > 0.0)) continue;
        led +=
            count * (j == SHOTS_WIDE ? rare_law_wide_per_m2(range->law, x_m) * space->wide_speed[l]
                                     : rare_aim_per_m2(&range->aims[j - SHOTS_AIMED], x_m,
                                                       space->z[l], &shots->normals));
    }
    double led_over_f = led > 0.0 ? led * space->point[l].led : 0.0;
    return 1.0 / ((double)shots->start[SHOTS_WIDE] + led_over_f);
}

static void store(rare_shots *shots, const rare_range *range, const workspace *space, size_t first,
                  size_t count)
{
    for (size_t l = 0; l < count; l++) {
        size_t i = first + l;
        for (int a = 0; a < 2; a++)
            shots->x_m[i][a] = space->point[l].x_m[a];
        shots->weight[i] = weight_of(shots, range, space, l);
        if (shots->normal)
            memcpy(shots->normal + i * shots->normal_count, space->z[l],
                   shots->normal_count * sizeof *shots->normal);
        for (size_t r = 0; r < shots->rows; r++) {
            const pappus_touchdown *down = &space->touchdowns[r * PAPPUS_LANES + l];
            size_t at = r * shots->count + i;
            shots->east_m[at] = down->east_m;
            shots->north_m[at] = down->north_m;
            shots->speed_mps[at] =
                (float)sqrt(down->ve_mps * down->ve_mps + down->vn_mps * down->vn_mps +
                            down->vup_mps * down->vup_mps);
        }
    }
}

/* Lanes past the last landing repeat it. */
static int fly_block(rare_shots *shots, const rare_range *range, workspace *space, size_t block)
{
    const pappus_air *air = range->law->lean.air;
    pappus_isa isa = pappus_isa_best();
    size_t first = block * PAPPUS_LANES, left = shots->count - first;
    size_t count = left < PAPPUS_LANES ? left : PAPPUS_LANES;
    pappus_redraws redraws = {0, 0};
    for (size_t l = 0; l < PAPPUS_LANES; l++) {
        size_t i = first + (l < count ? l : count - 1);
        space->index[l] = range->first_index + i;
        space->outcome[l] = (uint8_t)range->outcome;
        space->part[l] = part_of(shots, i);
    }
    for (uint32_t i = 0; i < NUMBERS; i++)
        pappus_random_uniforms(space->uniform[i], isa, range->random, PAPPUS_STREAM_RARE_PLACE, i,
                               space->index);
    for (size_t l = 0; l < PAPPUS_LANES; l++)
        choose(space, l, range);
    pappus_wind_draw_given(air, isa, range->random, space->index, space->profile, space->scale,
                           space->u_mps, space->v_mps);
    pappus_draws_values(space->drawn, range->draws[0], PAPPUS_LANES, space->index, space->outcome,
                        &redraws);
    lead_values(space, shots, range);
    lead(space, shots, range);
    pappus_draws_winds(space->drawn, range->draws[0], count, air, space->u_mps, space->v_mps);
    pappus_draws_assemble(space->falls, range->draws[0], count, space->outcome, space->drawn);
    for (size_t r = 1; r < range->rows; r++)
        pappus_draws_shift(space->falls + r * PAPPUS_LANES, space->falls, range->draws[r], count,
                           space->outcome, space->drawn);
    int status = range->descend(range->descend_context, air, count, range->rows, space->falls,
                                space->u_mps, space->v_mps, space->touchdowns);
    if (status == PAPPUS_OK) store(shots, range, space, first, count);
    return status;
}

static int fly_all(rare_shots *shots, const rare_range *range)
{
    size_t blocks = (shots->count + PAPPUS_LANES - 1) / PAPPUS_LANES;
    int failed = PAPPUS_OK;
#pragma omp parallel num_threads(pappus_threads(range->threads)) reduction(max : failed)
    {
        workspace *space = workspace_new(range->law->lean.air->node_count, range->rows);
        bool ready = space && space->u_mps && space->v_mps && space->falls && space->touchdowns;
        if (!ready) failed = PAPPUS_E_MEMORY;
#pragma omp for schedule(dynamic, 1)
        for (size_t block = 0; block < blocks; block++) {
            int status = ready ? fly_block(shots, range, space, block) : PAPPUS_OK;
            if (status > failed) failed = status;
        }
        workspace_free(space);
    }
    return failed;
}

static int make_room(rare_shots *shots, bool keep_normal)
{
    size_t n = shots->count + 1;
    shots->start = calloc(shots->part_count + 1, sizeof *shots->start);
    shots->x_m = malloc(n * sizeof *shots->x_m);
    shots->east_m = malloc(shots->rows * n * sizeof *shots->east_m);
    shots->north_m = malloc(shots->rows * n * sizeof *shots->north_m);
    shots->weight = malloc(n * sizeof *shots->weight);
    shots->speed_mps = malloc(shots->rows * n * sizeof *shots->speed_mps);
    if (keep_normal) shots->normal = malloc(n * (shots->normal_count + 1) * sizeof *shots->normal);
    bool all = (shots->normal || !keep_normal) && shots->start && shots->x_m && shots->east_m &&
               shots->north_m && shots->weight && shots->speed_mps;
    return all ? PAPPUS_OK : PAPPUS_E_MEMORY;
}

int rare_shots_fly(rare_shots *out, const rare_range *range, const size_t *part, pappus_error *err)
{
    *out = (rare_shots){.part_count = SHOTS_AIMED + range->aim_count, .rows = range->rows};
    for (size_t j = 0; j < out->part_count; j++)
        out->count += part[j];
    pappus_normals_of(&out->normals, range->draws[0]);
    out->normal_count = out->normals.count + (range->law->low.there ? 2 : 0);
    int status = make_room(out, range->keep_normal);
    if (status == PAPPUS_OK) {
        for (size_t j = 0; j < out->part_count; j++)
            out->start[j + 1] = out->start[j] + part[j];
        status = fly_all(out, range);
    }
    if (status == PAPPUS_OK) return PAPPUS_OK;
    rare_shots_clear(out);
    if (status == PAPPUS_E_MEMORY) return pappus_fail_memory(err);
    return pappus_fail(err, status, NULL, NULL, NULL, "a led landing could not be computed");
}

void rare_shots_clear(rare_shots *shots)
{
    free(shots->start);
    free(shots->x_m);
    free(shots->east_m);
    free(shots->north_m);
    free(shots->weight);
    free(shots->speed_mps);
    free(shots->normal);
    *shots = (rare_shots){0};
}
