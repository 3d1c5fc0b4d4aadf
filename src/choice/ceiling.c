/* SPDX-License-Identifier: GPL-3.0-or-later
 * The surface wind at which go turns to no-go, as planned and for every 30 degrees. Two
 * questions, answered apart:
 *
 * On the field only the reading changes: its speed and direction, the gust at its ratio;
 * the profiles stay and are conditioned on it. What is flown is the plan with that reading,
 * as `--set` would make it, so the answer is that of a brief.
 *
 * If the whole wind grows alike, profiles, observations, reading and gust are multiplied
 * by one factor and turned together; the errors stay. An `upwind` apogee turns with them
 * and its distance scales with the wind (an assumption). The air then differs by a
 * rotation only, so one cloud serves all directions: its landings are turned about the
 * pad. With a fixed bearing each direction is flown by itself. A surface wind under
 * CALM_MPS counts as that much.
 *
 * The scan: common landings on STEPS + 1 evenly spaced winds, of which every
 * COARSE-th is looked at first (for the directions that are flown by themselves every
 * COARSE_ROUND-th, with fewer landings); the edges of the lowest range that is go are
 * then bisected. The first answer's winds have the landings of a brief. Where calm is no-go
 * (hardware comes down by the pad), or a wind above the range is go again, that is said. A range
 * narrower than that can be missed. Point estimates. */
#include "decision.h"
#include "bearing.h"
#include "error.h"
#include "hits.h"
#include "run.h"
#include "variant.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define STEPS 128
#define COARSE 16
#define COARSE_ROUND 32
#define DIRECTIONS 12
#define LANDINGS 10000
#define LANDINGS_ROUND 4000
#define STRATUM_MINIMUM 1000
#define STRATUM_MINIMUM_ROUND 400
#define DEFAULT_TOP_MPS 20.0
#define CALM_MPS 1.0 /* below it there is no wind to scale */
#define CALM_STEP_M 50.0
#define LEAST_FACTOR 1e-6

/* What one wind gives: limits that know no direction, and the landings. */
typedef struct {
    bool known;
    pappus_verdict verdict;
    pappus_limit_kind limit;
    pappus_cloud *cloud;
} wind_state;

typedef struct {
    const pappus_givens *given;
    pappus_run run; /* with fewer landings */
    size_t brief_landings;
    pappus_variant based; /* what is scaled: as planned, or a light wind in a calm */
    pappus_winds calm;    /* no profiles: the surface-only profile */
    pappus_field_shapes *shapes;
    double base_mps, from_deg, top_mps;
    bool reading; /* the first question */
    bool rigid;   /* one cloud for all directions */
    size_t states_per_wind;
    wind_state *states;
    double *east_m, *north_m; /* turned landings */
    size_t turned_capacity;
    size_t done;
} scan;

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

static bool turns_with_wind(const pappus_apogee *apogee)
{
    bool placed = apogee->distance_m > 0.0, moving = apogee->speed_mps.mean > 0.0;
    return (!placed || moves_with_wind(apogee->bearing)) &&
           (!moving || moves_with_wind(apogee->heading));
}

static bool is_calm_aloft(const scan *s)
{
    double top_m = s->given->plan->apogee.height_m.mean, u, v;
    for (double z = 0.0; z <= top_m; z += CALM_STEP_M) {
        pappus_air_mean_wind(s->given->air, z, &u, &v);
        if (hypot(u, v) >= CALM_MPS) return false;
    }
    return true;
}

/* A reading of CALM_MPS, so that there is something to scale. A wind aloft over the calm
 * is real, and is scaled as it is from there; without any the power law of the reading
 * takes its place. */
static void use_light_wind(scan *s)
{
    pappus_wind_plan *wind = &s->based.plan.wind;
    if (!wind->has_surface) {
        wind->surface = (pappus_observation){.height_m = 10.0, .error_mps = 1.0};
        wind->surface.direction_deg = s->from_deg;
    }
    wind->has_surface = true;
    wind->surface.speed_mps = CALM_MPS;
    wind->gust_mps = NAN;
    s->base_mps = CALM_MPS;
    if (!is_calm_aloft(s)) return;
    wind->observation_count = 0;
    wind->profile_count = 0;
    s->based.changed.winds = &s->calm;
}

static int scan_begin(scan *s, const pappus_givens *given, const pappus_run *run, bool reading,
                      pappus_error *err)
{
    const pappus_plan *plan = given->plan;
    *s = (scan){.given = given, .run = pappus_run_of_plan(run, plan), .reading = reading};
    s->brief_landings = s->run.landings;
    if (s->run.landings > LANDINGS) s->run.landings = LANDINGS;
    pappus_variant_begin(&s->based, given);
    s->base_mps = pappus_air_surface_wind_mps(given->air);
    s->from_deg = wind_from_deg(plan, given->air);
    if (!reading && !(s->base_mps >= CALM_MPS)) use_light_wind(s);
    s->top_mps =
        isnan(plan->limits.surface_wind_mps) ? DEFAULT_TOP_MPS : plan->limits.surface_wind_mps;
    s->rigid = !reading && turns_with_wind(&plan->apogee);
    s->states_per_wind = s->rigid ? 1 : DIRECTIONS + 1;
    s->states = calloc((STEPS + 1) * s->states_per_wind, sizeof *s->states);
    if (!s->states) return pappus_fail_memory(err);
    return pappus_field_shapes_new(&s->shapes, given->field, err);
}

static void scan_end(scan *s)
{
    for (size_t i = 0; s->states && i < (STEPS + 1) * s->states_per_wind; i++)
        pappus_cloud_free(s->states[i].cloud);
    free(s->states);
    free(s->east_m);
    free(s->north_m);
    pappus_field_shapes_free(s->shapes);
    pappus_variant_end(&s->based);
}

/* The first limit in the way that knows no direction. */
static void judge_state(wind_state *state, const pappus_judgement *judgement)
{
    state->verdict = PAPPUS_MET;
    state->limit = PAPPUS_LIMIT_NONE;
    for (size_t i = 0; i < judgement->reason_count && state->verdict == PAPPUS_MET; i++) {
        const pappus_reason *reason = &judgement->reasons[i];
        if (reason->limit == PAPPUS_LIMIT_INSIDE_FIELD || reason->limit == PAPPUS_LIMIT_KEEP_OUT)
            continue;
        state->verdict = reason->verdict;
        if (reason->verdict != PAPPUS_MET) state->limit = reason->limit;
    }
}

/* Without a field: what is left are the limits that know no direction. */
static int judge_cloud(wind_state *state, const scan *s, const pappus_air *air, pappus_error *err)
{
    pappus_judgement *judgement = NULL;
    pappus_hits hits = {0};
    memcpy(hits.count, state->cloud->stratum_count, sizeof hits.count);
    int status = pappus_judge(&judgement, &s->based.plan, NULL, air, state->cloud, &hits, 0.0, err);
    if (status == PAPPUS_OK) judge_state(state, judgement);
    pappus_judgement_free(judgement);
    return status;
}

/* direction: index of a row, DIRECTIONS for the planned one. */
static double turn_of(const scan *s, size_t direction)
{
    return direction == DIRECTIONS ? 0.0 : 30.0 * (double)direction - s->from_deg;
}

/* Many directions flown by themselves cannot all have as many landings. */
static bool is_of_round(const scan *s, size_t direction)
{
    return !s->rigid && direction != DIRECTIONS;
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

/* The air of a wind from a direction, by the question that is asked. */
static int make_air(pappus_variant *windy, const scan *s, double wind_mps, double turn_deg,
                    pappus_error *err)
{
    pappus_air_options options = PAPPUS_AIR_OPTIONS_INIT;
    if (s->reading) {
        set_reading(&windy->plan, wind_mps, turn_deg);
    } else {
        options.wind_factor = fmax(wind_mps / s->base_mps, LEAST_FACTOR);
        options.wind_turn_deg = s->rigid ? 0.0 : turn_deg;
    }
    return pappus_variant_air(windy, &options, err);
}

/* How many are flown. The first answer has those of a brief's first look, so that both find
 * the same share: it may change so slowly with the reading that the noise of two samples is
 * a mile per hour. */
static void set_sample(pappus_scatter_options *options, const scan *s, size_t direction)
{
    bool round = is_of_round(s, direction), first = s->reading && !round;
    options->run = s->run;
    options->run.progress = NULL;
    if (first) options->run.landings = s->brief_landings;
    if (first) return;
    if (round && options->run.landings > LANDINGS_ROUND) options->run.landings = LANDINGS_ROUND;
    options->stratum_minimum = round ? STRATUM_MINIMUM_ROUND : STRATUM_MINIMUM;
}

static int fly(wind_state *state, scan *s, size_t step, size_t direction, pappus_error *err)
{
    pappus_scatter_options options = PAPPUS_SCATTER_OPTIONS_INIT;
    pappus_variant windy;
    set_sample(&options, s, direction);
    pappus_variant_begin(&windy, &s->based.changed);
    int status = make_air(&windy, s, s->top_mps * (double)step / STEPS, turn_of(s, direction), err);
    if (status == PAPPUS_OK)
        status = pappus_scatter(&state->cloud, &windy.plan, windy.air, &options, err);
    if (status == PAPPUS_OK) status = judge_cloud(state, s, windy.air, err);
    state->known = status == PAPPUS_OK;
    pappus_variant_end(&windy);
    return status;
}

static int state_of(wind_state **out, scan *s, size_t step, size_t direction, pappus_error *err)
{
    wind_state *state = &s->states[step * s->states_per_wind + (s->rigid ? 0 : direction)];
    *out = state;
    if (state->known) return PAPPUS_OK;
    s->done++;
    double share = (double)s->done / (double)(20 * s->states_per_wind);
    int status = pappus_run_progress(&s->run, fmin(1.0, share), err);
    if (status != PAPPUS_OK) return status;
    return fly(state, s, step, direction, err);
}

static int turned_landings(pappus_cloud *out, scan *s, const pappus_cloud *cloud, double turn_deg,
                           pappus_error *err)
{
    if (cloud->count > s->turned_capacity) {
        free(s->east_m);
        free(s->north_m);
        s->east_m = malloc(cloud->count * sizeof *s->east_m);
        s->north_m = malloc(cloud->count * sizeof *s->north_m);
        s->turned_capacity = s->east_m && s->north_m ? cloud->count : 0;
        if (!s->turned_capacity) return pappus_fail_memory(err);
    }
    double c = cos(turn_deg * M_PI / 180.0), d = sin(turn_deg * M_PI / 180.0);
    for (size_t i = 0; i < cloud->count; i++) {
        s->east_m[i] = c * cloud->east_m[i] + d * cloud->north_m[i]; /* clockwise */
        s->north_m[i] = c * cloud->north_m[i] - d * cloud->east_m[i];
    }
    *out = *cloud;
    out->east_m = s->east_m;
    out->north_m = s->north_m;
    return PAPPUS_OK;
}

/* Is it go at this wind from this direction? If not, *limit and *area say why. */
static int is_go(bool *go, pappus_limit_kind *limit, size_t *area, scan *s, size_t step,
                 size_t direction, pappus_error *err)
{
    const pappus_limits *limits = &s->given->plan->limits;
    wind_state *state = NULL;
    pappus_cloud turned;
    pappus_hits hits = {0};
    int status = state_of(&state, s, step, direction, err);
    if (status != PAPPUS_OK) return status;
    *go = state->verdict == PAPPUS_MET;
    *limit = state->limit;
    if (!*go) return PAPPUS_OK;
    status = turned_landings(&turned, s, state->cloud, s->rigid ? turn_of(s, direction) : 0.0, err);
    if (status == PAPPUS_OK)
        status = pappus_hits_of_shapes(&hits, s->shapes, &turned, s->run.threads, err);
    if (status != PAPPUS_OK) return status;
    if (hits.has_boundary && pappus_hits_inside(&hits, 0.95).value < limits->inside_field) {
        *go = false;
        *limit = PAPPUS_LIMIT_INSIDE_FIELD;
    }
    for (size_t k = 0; k < hits.keep_out_count && *go; k++) {
        double bound = pappus_keep_out_limit(s->given->field, s->given->plan, k);
        if (!(pappus_hits_keep_out(&hits, k, 0.95).value > bound)) continue;
        *go = false;
        *limit = PAPPUS_LIMIT_KEEP_OUT;
        *area = k;
    }
    pappus_hits_clear(&hits);
    return PAPPUS_OK;
}

static int name_limit(pappus_ceiling_row *row, const scan *s, pappus_limit_kind limit, size_t area,
                      pappus_error *err)
{
    free(row->turns_name);
    row->turns_name = NULL;
    row->turns_limit = limit;
    if (limit != PAPPUS_LIMIT_KEEP_OUT) return PAPPUS_OK;
    row->turns_name = strdup(s->given->field->keep_outs[area].name);
    return row->turns_name ? PAPPUS_OK : pappus_fail_memory(err);
}

/* The lowest range of coarse winds that are go: [first, last], in steps. */
typedef struct {
    bool found, closed; /* closed: a no-go follows */
    size_t first, last;
} go_range;

static size_t coarse_of(const scan *s, size_t direction)
{
    return is_of_round(s, direction) ? COARSE_ROUND : COARSE;
}

static int scan_coarse(pappus_ceiling_row *row, go_range *range, scan *s, size_t direction,
                       pappus_error *err)
{
    bool again = false;
    for (size_t step = 0; step <= STEPS; step += coarse_of(s, direction)) {
        bool go = false;
        pappus_limit_kind limit = PAPPUS_LIMIT_NONE;
        size_t area = 0;
        int status = is_go(&go, &limit, &area, s, step, direction, err);
        bool ends = !go && (step == 0 || (range->found && !range->closed));
        if (status == PAPPUS_OK && ends) status = name_limit(row, s, limit, area, err);
        if (status != PAPPUS_OK) return status;
        if (go && !range->found)
            *range = (go_range){true, false, step, step};
        else if (go && !range->closed)
            range->last = step;
        else if (go)
            again = true;
        else if (range->found)
            range->closed = true;
    }
    row->monotonic = range->found && range->first == 0 && !again;
    return PAPPUS_OK;
}

/* Moves `go_step` towards `no_go_step` until they are neighbours. The limit that is in
 * the way is kept when `naming`. */
static int bisect(pappus_ceiling_row *row, size_t *go_step, size_t no_go_step, bool naming, scan *s,
                  size_t direction, pappus_error *err)
{
    for (;;) {
        size_t low = *go_step < no_go_step ? *go_step : no_go_step;
        size_t high = *go_step < no_go_step ? no_go_step : *go_step;
        size_t middle = low + (high - low) / 2, area = 0;
        bool go = false;
        pappus_limit_kind limit = PAPPUS_LIMIT_NONE;
        if (high - low <= 1) return PAPPUS_OK;
        int status = is_go(&go, &limit, &area, s, middle, direction, err);
        if (status == PAPPUS_OK && !go && naming) status = name_limit(row, s, limit, area, err);
        if (status != PAPPUS_OK) return status;
        if (go)
            *go_step = middle;
        else
            no_go_step = middle;
    }
}

static int find_row(pappus_ceiling_row *row, scan *s, size_t direction, pappus_error *err)
{
    go_range range = {0};
    size_t coarse = coarse_of(s, direction);
    row->wind_from_deg = direction == DIRECTIONS ? s->from_deg : 30.0 * (double)direction;
    int status = scan_coarse(row, &range, s, direction, err);
    if (status == PAPPUS_OK && range.closed)
        status = bisect(row, &range.last, range.last + coarse, true, s, direction, err);
    if (status == PAPPUS_OK && range.first > 0)
        status = bisect(row, &range.first, range.first - coarse, false, s, direction, err);
    /* Go to the top of the scan: where that is the plan's own limit, any more breaks it. */
    bool at_limit = range.found && !range.closed && !isnan(s->given->plan->limits.surface_wind_mps);
    if (status == PAPPUS_OK && at_limit)
        status = name_limit(row, s, PAPPUS_LIMIT_SURFACE_WIND, 0, err);
    row->go = range.found;
    row->reached = range.closed || !range.found || at_limit;
    row->surface_wind_mps = s->top_mps * (double)range.last / STEPS;
    row->floor_mps = s->top_mps * (double)range.first / STEPS;
    return status;
}

static int worst_of(pappus_ceiling_round *round, pappus_error *err)
{
    const pappus_ceiling_row *worst = &round->planned;
    for (size_t i = 0; i < round->row_count; i++)
        if (round->rows[i].surface_wind_mps < worst->surface_wind_mps) worst = &round->rows[i];
    round->worst = *worst;
    if (!worst->turns_name) return PAPPUS_OK;
    round->worst.turns_name = strdup(worst->turns_name);
    return round->worst.turns_name ? PAPPUS_OK : pappus_fail_memory(err);
}

static int find_rows(pappus_ceiling_round *round, scan *s, pappus_error *err)
{
    int status = find_row(&round->planned, s, DIRECTIONS, err);
    round->rows = calloc(DIRECTIONS, sizeof *round->rows);
    if (!round->rows) return pappus_fail_memory(err);
    for (size_t i = 0; i < DIRECTIONS && status == PAPPUS_OK; i++) {
        round->row_count = i + 1;
        status = find_row(&round->rows[i], s, i, err);
    }
    return status == PAPPUS_OK ? worst_of(round, err) : status;
}

/* One of the two questions. */
static int ask(pappus_ceiling_round *round, double *top_mps, const pappus_givens *given,
               const pappus_run *run, bool reading, pappus_error *err)
{
    scan s;
    int status = scan_begin(&s, given, run, reading, err);
    if (status == PAPPUS_OK) status = find_rows(round, &s, err);
    *top_mps = s.top_mps;
    scan_end(&s);
    return status;
}

int pappus_ceiling_find(pappus_ceiling **out, const pappus_givens *given, const pappus_run *run,
                        pappus_error *err)
{
    int status = PAPPUS_OK;
    *out = NULL;
    pappus_ceiling *ceiling = calloc(1, sizeof *ceiling);
    if (!ceiling) return pappus_fail_memory(err);
    ceiling->has_reading = given->plan->wind.has_surface;
    ceiling->fixed_bearing = !turns_with_wind(&given->plan->apogee);
    if (ceiling->has_reading)
        status = ask(&ceiling->reading, &ceiling->top_mps, given, run, true, err);
    if (status == PAPPUS_OK)
        status = ask(&ceiling->whole, &ceiling->top_mps, given, run, false, err);
    if (status != PAPPUS_OK) {
        pappus_ceiling_free(ceiling);
        return status;
    }
    *out = ceiling;
    return PAPPUS_OK;
}

const pappus_ceiling_round *pappus_ceiling_first(const pappus_ceiling *ceiling)
{
    return ceiling->has_reading ? &ceiling->reading : &ceiling->whole;
}

static void clear_round(pappus_ceiling_round *round)
{
    for (size_t i = 0; i < round->row_count; i++)
        free(round->rows[i].turns_name);
    free(round->rows);
    free(round->planned.turns_name);
    free(round->worst.turns_name);
}

void pappus_ceiling_free(pappus_ceiling *ceiling)
{
    if (!ceiling) return;
    clear_round(&ceiling->reading);
    clear_round(&ceiling->whole);
    free(ceiling);
}
