/* SPDX-License-Identifier: GPL-3.0-or-later
 * Winds of the ceiling's scan, flown and judged; see ceiling_winds.h. */
#include "ceiling_winds.h"

#include "bearing.h"
#include "decision.h"
#include "error.h"
#include "run.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define CLEAR 0.9973 /* two-sided: three standard errors */
#define DEFAULT_TOP_MPS 20.0
#define CALM_MPS 1.0 /* below it there is no wind to scale */
#define CALM_STEP_M 50.0
#define LEAST_FACTOR 1e-6

/* In all, and at least of each outcome. Nominal landings carry nearly all of the error: 1000
 * of them keep three standard errors under a keep-out's 1 % where none is hit. */
typedef struct {
    size_t landings;
    double each;
} sample;
static const sample few = {1200, 50.0}, all_planned = {6800, 200.0}, all_round = {2800, 100.0};

/* ------------------------------------------------------------- the question */

static double wind_from_deg(const pappus_plan *plan, const pappus_air *air)
{
    double u, v;
    if (plan->wind.has_surface) return plan->wind.surface.direction_deg;
    pappus_air_mean_wind(air, 10.0, &u, &v);
    return pappus_bearing_of(-u, -v);
}

static bool moves_with_wind(pappus_heading heading)
{
    return heading.kind != PAPPUS_BEARING;
}

bool ceiling_turns_with_wind(const pappus_apogee *apogee)
{
    bool placed = apogee->distance_m > 0.0, moving = apogee->speed_mps.mean > 0.0;
    return (!placed || moves_with_wind(apogee->bearing)) &&
           (!moving || moves_with_wind(apogee->heading));
}

static bool is_calm_aloft(const ceiling_question *q)
{
    double top_m = q->given->plan->apogee.height_m.mean, u, v;
    for (double z = 0.0; z <= top_m; z += CALM_STEP_M) {
        pappus_air_mean_wind(q->given->air, z, &u, &v);
        if (hypot(u, v) >= CALM_MPS) return false;
    }
    return true;
}

/* A reading of CALM_MPS, so that there is something to scale. A wind aloft over the calm
 * is real, and is scaled as it is from there; without any the power law of the reading
 * takes its place. */
static void use_light_wind(ceiling_question *q)
{
    pappus_wind_plan *wind = &q->based.plan.wind;
    if (!wind->has_surface) {
        wind->surface = (pappus_observation){.height_m = 10.0, .error_mps = 1.0};
        wind->surface.direction_deg = q->from_deg;
    }
    wind->has_surface = true;
    wind->surface.speed_mps = CALM_MPS;
    wind->gust_mps = NAN;
    q->base_mps = CALM_MPS;
    if (!is_calm_aloft(q)) return;
    wind->observation_count = 0;
    wind->profile_count = 0;
    q->based.changed.winds = &q->calm;
}

/* The plan with another reading: the profiles stay. */
static void set_reading(pappus_plan *plan, double wind_mps, double turn_deg)
{
    pappus_wind_plan *wind = &plan->wind;
    double ratio = wind->gust_mps / wind->surface.speed_mps;
    wind->gust_mps = isfinite(ratio) ? ratio * wind_mps : NAN;
    wind->surface.speed_mps = wind_mps;
    wind->surface.direction_deg = fmod(wind->surface.direction_deg + turn_deg + 360.0, 360.0);
}

static double turn_of(const ceiling_question *q, size_t direction)
{
    return direction == CEILING_PLANNED ? 0.0 : 30.0 * (double)direction - q->from_deg;
}

int ceiling_air(pappus_variant *windy, const ceiling_question *q, size_t step, size_t direction,
                pappus_error *err)
{
    pappus_air_options options = PAPPUS_AIR_OPTIONS_INIT;
    double wind_mps = q->top_mps * (double)step / CEILING_STEPS, turn_deg = turn_of(q, direction);
    if (q->reading) {
        set_reading(&windy->plan, wind_mps, turn_deg);
    } else {
        options.wind_factor = fmax(wind_mps / q->base_mps, LEAST_FACTOR);
        options.wind_turn_deg = q->rigid ? 0.0 : turn_deg;
    }
    return pappus_variant_air(windy, &options, err);
}

/* The limit on the surface wind itself, by the rule of the decision; nothing is flown. */
static int keeps_surface_limit(bool *keeps, const ceiling_question *q, size_t step,
                               pappus_error *err)
{
    pappus_judgement *judgement = NULL;
    pappus_cloud none = {0};
    pappus_hits hits = {0};
    pappus_variant windy;
    *keeps = true;
    pappus_variant_begin(&windy, &q->based.changed);
    int status = ceiling_air(&windy, q, step, CEILING_PLANNED, err);
    if (status == PAPPUS_OK)
        status = pappus_judge(&judgement, &windy.plan, NULL, windy.air, &none, &hits, 0.0, err);
    for (size_t i = 0; status == PAPPUS_OK && i < judgement->reason_count; i++)
        if (judgement->reasons[i].limit == PAPPUS_LIMIT_SURFACE_WIND)
            *keeps = judgement->reasons[i].verdict == PAPPUS_MET;
    pappus_judgement_free(judgement);
    pappus_variant_end(&windy);
    return status;
}

/* Speed and gust grow with the wind, so a bisection finds the first step over their limit. */
static int find_open(ceiling_question *q, pappus_error *err)
{
    size_t low = 0, high = CEILING_STEPS + 1; /* steps below `low` keep it */
    if (isnan(q->given->plan->limits.surface_wind_mps)) low = high;
    while (low < high) {
        size_t middle = low + (high - low) / 2;
        bool keeps;
        int status = keeps_surface_limit(&keeps, q, middle, err);
        if (status != PAPPUS_OK) return status;
        if (keeps)
            low = middle + 1;
        else
            high = middle;
    }
    q->open = low;
    return PAPPUS_OK;
}

static int make_states(ceiling_question *q, pappus_error *err)
{
    q->states = (CEILING_STEPS + 1) * (q->rigid ? 1 : CEILING_DIRECTIONS + 1);
    for (int size = 0; size < CEILING_SIZES; size++) {
        q->state[size] = calloc(q->states, sizeof *q->state[size]);
        if (!q->state[size]) return pappus_fail_memory(err);
        for (size_t i = 0; i < q->states; i++)
            omp_init_lock(&q->state[size][i].lock);
    }
    return PAPPUS_OK;
}

int ceiling_question_begin(ceiling_question *q, const pappus_givens *given, const pappus_run *run,
                           bool reading, pappus_error *err)
{
    const pappus_plan *plan = given->plan;
    *q = (ceiling_question){
        .given = given, .run = pappus_run_of_plan(run, plan), .reading = reading};
    pappus_variant_begin(&q->based, given);
    q->base_mps = pappus_air_surface_wind_mps(given->air);
    q->from_deg = wind_from_deg(plan, given->air);
    if (!reading && !(q->base_mps >= CALM_MPS)) use_light_wind(q);
    q->top_mps =
        isnan(plan->limits.surface_wind_mps) ? DEFAULT_TOP_MPS : plan->limits.surface_wind_mps;
    q->rigid = !reading && ceiling_turns_with_wind(&plan->apogee);
    int status = make_states(q, err);
    if (status == PAPPUS_OK) status = pappus_field_shapes_new(&q->shapes, given->field, err);
    if (status == PAPPUS_OK) status = find_open(q, err);
    return status;
}

void ceiling_question_end(ceiling_question *q)
{
    for (int size = 0; size < CEILING_SIZES; size++) {
        for (size_t i = 0; q->state[size] && i < q->states; i++) {
            pappus_cloud_free(q->state[size][i].cloud);
            omp_destroy_lock(&q->state[size][i].lock);
        }
        free(q->state[size]);
    }
    pappus_field_shapes_free(q->shapes);
    pappus_variant_end(&q->based);
}

/* ---------------------------------------------------------------- one wind */

/* More landings do not help where the verdict rests on no interval. */
static bool rests_on_interval(const pappus_reason *reason)
{
    return reason->caveat.kind == PAPPUS_CAVEAT_NONE ||
           reason->caveat.kind == PAPPUS_CAVEAT_UNOPENED;
}

/* The first limit in the way that knows no direction. */
static void judge_state(ceiling_state *state, const pappus_judgement *judgement)
{
    state->verdict = PAPPUS_MET;
    state->limit = PAPPUS_LIMIT_NONE;
    state->clear = true;
    for (size_t i = 0; i < judgement->reason_count; i++) {
        const pappus_reason *reason = &judgement->reasons[i];
        if (reason->limit == PAPPUS_LIMIT_INSIDE_FIELD || reason->limit == PAPPUS_LIMIT_KEEP_OUT)
            continue;
        if (reason->verdict == PAPPUS_UNDECIDED && rests_on_interval(reason)) state->clear = false;
        if (reason->verdict == PAPPUS_MET || state->verdict != PAPPUS_MET) continue;
        state->verdict = reason->verdict;
        state->limit = reason->limit;
    }
}

static double confidence_of(ceiling_size size)
{
    return size == CEILING_FEW ? CLEAR : 0.0;
}

/* Without a field: what is left are the limits that know no direction. */
static int judge_cloud(ceiling_state *state, const ceiling_question *q, ceiling_size size,
                       const pappus_air *air, pappus_error *err)
{
    pappus_judgement *judgement = NULL;
    pappus_hits hits = {0};
    memcpy(hits.count, state->cloud->stratum_count, sizeof hits.count);
    int status = pappus_judge(&judgement, &q->based.plan, NULL, air, state->cloud, &hits,
                              confidence_of(size), err);
    if (status == PAPPUS_OK) judge_state(state, judgement);
    pappus_judgement_free(judgement);
    return status;
}

bool ceiling_is_of_round(const ceiling_question *q, size_t direction)
{
    return !q->rigid && direction != CEILING_PLANNED;
}

/* How many are flown. All landings of the first answer are those of a brief's first look, so
 * that both find the same share: it may change so slowly with the reading that the noise of
 * two samples is a mile per hour. */
static void set_sample(pappus_scatter_options *options, const ceiling_question *q,
                       ceiling_size size, size_t direction)
{
    bool of_round = ceiling_is_of_round(q, direction);
    const sample *drawn = size == CEILING_FEW ? &few : of_round ? &all_round : &all_planned;
    options->run = q->run;
    options->run.progress = NULL;
    if (omp_in_parallel()) options->run.threads = 1; /* winds are shared out among the threads */
    if (size == CEILING_ALL && q->reading && !of_round) return;
    if (options->run.landings > drawn->landings) options->run.landings = drawn->landings;
    options->stratum_minimum = drawn->each;
}

static int fly(ceiling_state *state, const ceiling_question *q, ceiling_size size, size_t step,
               size_t direction, pappus_error *err)
{
    pappus_scatter_options options = PAPPUS_SCATTER_OPTIONS_INIT;
    pappus_variant windy;
    set_sample(&options, q, size, direction);
    pappus_variant_begin(&windy, &q->based.changed);
    int status = ceiling_air(&windy, q, step, direction, err);
    if (status == PAPPUS_OK)
        status = pappus_scatter(&state->cloud, &windy.plan, windy.air, &options, err);
    if (status == PAPPUS_OK) status = judge_cloud(state, q, size, windy.air, err);
    state->known = status == PAPPUS_OK;
    if (status != PAPPUS_OK) {
        pappus_cloud_free(state->cloud);
        state->cloud = NULL;
    }
    pappus_variant_end(&windy);
    return status;
}

/* In calm a reading has no direction: that wind is one for all of them. */
static size_t place_of(const ceiling_question *q, ceiling_size size, size_t step, size_t direction)
{
    if (q->rigid) return step;
    if (q->reading && step == 0 && size == CEILING_FEW) direction = CEILING_PLANNED;
    return step * (CEILING_DIRECTIONS + 1) + direction;
}

static int state_of(ceiling_state **out, ceiling_question *q, ceiling_size size, size_t step,
                    size_t direction, pappus_error *err)
{
    ceiling_state *state = &q->state[size][place_of(q, size, step, direction)];
    int status = PAPPUS_OK;
    *out = state;
    omp_set_lock(&state->lock);
    if (!state->known) status = fly(state, q, size, step, direction, err);
    omp_unset_lock(&state->lock);
    return status;
}

int ceiling_cloud(const pappus_cloud **out, ceiling_question *q, size_t step, pappus_error *err)
{
    ceiling_state *state = NULL;
    int status = state_of(&state, q, CEILING_ALL, step, CEILING_PLANNED, err);
    if (status == PAPPUS_OK) *out = state->cloud;
    return status;
}

/* --------------------------------------------------------- where they land */

static int make_room(ceiling_room *room, size_t count, pappus_error *err)
{
    if (count <= room->capacity) return PAPPUS_OK;
    free(room->east_m);
    free(room->north_m);
    room->east_m = malloc(count * sizeof *room->east_m);
    room->north_m = malloc(count * sizeof *room->north_m);
    room->capacity = room->east_m && room->north_m ? count : 0;
    return room->capacity ? PAPPUS_OK : pappus_fail_memory(err);
}

/* The landings `part` of the way from one cloud to the other, turned about the pad. */
static int place_landings(pappus_cloud *out, ceiling_room *room, const pappus_cloud *from,
                          const pappus_cloud *to, double part, double turn_deg, pappus_error *err)
{
    double c = cos(turn_deg * M_PI / 180.0), d = sin(turn_deg * M_PI / 180.0);
    int status = make_room(room, from->count, err);
    if (status != PAPPUS_OK) return status;
    for (size_t i = 0; i < from->count; i++) {
        double east_m = from->east_m[i] + part * (to->east_m[i] - from->east_m[i]);
        double north_m = from->north_m[i] + part * (to->north_m[i] - from->north_m[i]);
        room->east_m[i] = c * east_m + d * north_m; /* clockwise */
        room->north_m[i] = c * north_m - d * east_m;
    }
    *out = *from;
    out->east_m = room->east_m;
    out->north_m = room->north_m;
    return PAPPUS_OK;
}

/* Takes one share into the verdict; the first that is in the way names it. */
static void take_share(ceiling_verdict *out, const pappus_estimate *share, double bound,
                       pappus_limit_kind limit, size_t area)
{
    pappus_verdict verdict =
        isnan(bound) ? PAPPUS_MET : pappus_verdict_of(share, bound, pappus_limit_at_least(limit));
    if (verdict == PAPPUS_UNDECIDED) out->clear = false;
    if (verdict != PAPPUS_BROKEN) return;
    out->go = false;
    out->limit = limit;
    out->area = area;
}

static bool is_untouched(const size_t hits[PAPPUS_OUTCOMES])
{
    size_t all = 0;
    for (int h = 0; h < PAPPUS_OUTCOMES; h++)
        all += hits[h];
    return all == 0;
}

static int judge_places(ceiling_verdict *out, const ceiling_question *q, const pappus_cloud *cloud,
                        double confidence, pappus_error *err)
{
    const pappus_limits *limits = &q->given->plan->limits;
    pappus_hits hits = {0};
    int status = pappus_hits_of_shapes(&hits, q->shapes, cloud, 1, err);
    if (status != PAPPUS_OK) return status;
    if (hits.has_boundary) {
        pappus_estimate share = pappus_hits_inside(&hits, confidence);
        take_share(out, &share, limits->inside_field, PAPPUS_LIMIT_INSIDE_FIELD, 0);
    }
    double untouched = INFINITY; /* least bound judged so far of areas that nothing hits */
    for (size_t k = 0; k < hits.keep_out_count && out->go; k++) {
        double bound = pappus_keep_out_limit(q->given->field, q->given->plan, k);
        bool missed = is_untouched(hits.keep_out[k]);
        if (missed && bound >= untouched) continue; /* the same verdict again */
        if (missed) untouched = bound;
        pappus_estimate share = pappus_hits_keep_out(&hits, k, confidence);
        /* these landings cannot clear a smaller one: they only say where it is broken */
        if (bound < PAPPUS_COUNTED_LIMIT && share.low <= bound) continue;
        take_share(out, &share, bound, PAPPUS_LIMIT_KEEP_OUT, k);
    }
    pappus_hits_clear(&hits);
    return PAPPUS_OK;
}

int ceiling_ask(ceiling_verdict *out, ceiling_question *q, ceiling_size size, size_t step,
                size_t direction, ceiling_room *room, pappus_error *err)
{
    ceiling_state *state = NULL;
    pappus_cloud placed;
    *out = (ceiling_verdict){false, true, PAPPUS_LIMIT_SURFACE_WIND, 0};
    if (step >= q->open) return PAPPUS_OK;
    int status = state_of(&state, q, size, step, direction, err);
    if (status != PAPPUS_OK) return status;
    *out = (ceiling_verdict){state->verdict == PAPPUS_MET, state->clear, state->limit, 0};
    if (!out->go) return PAPPUS_OK;
    status = place_landings(&placed, room, state->cloud, state->cloud, 0.0,
                            q->rigid ? turn_of(q, direction) : 0.0, err);
    return status == PAPPUS_OK ? judge_places(out, q, &placed, confidence_of(size), err) : status;
}

int ceiling_ask_between(ceiling_verdict *out, ceiling_question *q, const size_t ends[2],
                        size_t step, size_t direction, ceiling_room *room, pappus_error *err)
{
    ceiling_state *state[2] = {NULL, NULL};
    pappus_cloud placed;
    int status = PAPPUS_OK;
    for (int end = 0; end < 2 && status == PAPPUS_OK; end++)
        status = state_of(&state[end], q, CEILING_ALL, ends[end], direction, err);
    if (status != PAPPUS_OK) return status;
    /* a limit that knows no direction turns here: it is not asked of places */
    if (state[0]->verdict != PAPPUS_MET || state[1]->verdict != PAPPUS_MET)
        return ceiling_ask(out, q, CEILING_ALL, step, direction, room, err);
    double part = ((double)step - (double)ends[0]) / ((double)ends[1] - (double)ends[0]);
    *out = (ceiling_verdict){true, true, PAPPUS_LIMIT_NONE, 0};
    status = place_landings(&placed, room, state[0]->cloud, state[1]->cloud, part,
                            q->rigid ? turn_of(q, direction) : 0.0, err);
    return status == PAPPUS_OK ? judge_places(out, q, &placed, 0.0, err) : status;
}
