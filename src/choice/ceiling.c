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
 * CALM_MPS (ceiling_winds.c) counts as that much.
 *
 * The scan: common landings on CEILING_STEPS + 1 evenly spaced winds, of which every
 * COARSE-th is looked at first (for the directions that are flown by themselves every
 * COARSE_ROUND-th), and the last that keeps the surface wind's own limit, above which
 * nothing is flown; the edges of the lowest range that is go are then closed in upon: by
 * few landings as long as those are clear, and once two winds of either answer lie within
 * CEILING_SETTLE steps, by all landings of those two and the line between them. All landings of the
 * first answer are those of a brief. Where calm is no-go (hardware comes down by the pad), or a
 * wind above the range is go again, that is said. A range narrower than that can be missed. Point
 * estimates.
 *
 * Keep-outs whose limit is under PAPPUS_COUNTED_LIMIT are only found broken by counting. In the
 * planned direction of the first answer landings are led for them at the edges of what is go
 * (ceiling_led.c).
 *
 * Directions are shared out among the threads; an answer depends on its wind alone. */
#include "ceiling_led.h"

#include "error.h"
#include "run.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define COARSE 16
#define COARSE_ROUND 32
#define ROWS (CEILING_DIRECTIONS + 1)
#define COARSE_MOST (CEILING_STEPS / COARSE + 2)

/* By few landings, and where those are not clear by all. */
static int is_go(ceiling_verdict *out, ceiling_question *q, size_t step, size_t direction,
                 ceiling_room *room, pappus_error *err)
{
    int status = ceiling_ask(out, q, CEILING_FEW, step, direction, room, err);
    if (status != PAPPUS_OK || out->clear) return status;
    return ceiling_ask(out, q, CEILING_ALL, step, direction, room, err);
}

static int name_limit(pappus_ceiling_row *row, const ceiling_question *q,
                      const ceiling_verdict *verdict, pappus_error *err)
{
    free(row->turns_name);
    row->turns_name = NULL;
    row->turns_limit = verdict->limit;
    if (verdict->limit != PAPPUS_LIMIT_KEEP_OUT) return PAPPUS_OK;
    row->turns_name = strdup(q->given->field->keep_outs[verdict->area].name);
    return row->turns_name ? PAPPUS_OK : pappus_fail_memory(err);
}

/* ------------------------------------------------------------ coarse winds */

/* The winds that are looked at first, ascending; returns their count. */
static size_t coarse_winds(size_t steps[COARSE_MOST], const ceiling_question *q, size_t direction)
{
    size_t coarse = ceiling_is_of_round(q, direction) ? COARSE_ROUND : COARSE, count = 0;
    for (size_t step = 0; step <= CEILING_STEPS; step += coarse) {
        if (q->open > 0 && count > 0 && steps[count - 1] < q->open - 1 && step > q->open - 1)
            steps[count++] = q->open - 1;
        steps[count++] = step;
    }
    return count;
}

/* The lowest range of coarse winds that are go, [first, last], and their no-go neighbours. */
typedef struct {
    bool found, closed; /* closed: a no-go follows */
    size_t first, last, below, above;
} go_range;

static int scan_coarse(pappus_ceiling_row *row, go_range *range, ceiling_question *q,
                       size_t direction, ceiling_room *room, pappus_error *err)
{
    size_t steps[COARSE_MOST], count = coarse_winds(steps, q, direction);
    bool again = false;
    for (size_t i = 0; i < count; i++) {
        ceiling_verdict verdict;
        int status = is_go(&verdict, q, steps[i], direction, room, err);
        bool ends = !verdict.go && (i == 0 || (range->found && !range->closed));
        if (status == PAPPUS_OK && ends) status = name_limit(row, q, &verdict, err);
        if (status != PAPPUS_OK) return status;
        if (verdict.go && !range->found)
            *range = (go_range){true, false, steps[i], steps[i], i > 0 ? steps[i - 1] : 0, 0};
        else if (verdict.go && !range->closed)
            range->last = steps[i];
        else if (verdict.go)
            again = true;
        else if (range->found && !range->closed) {
            range->closed = true;
            range->above = steps[i];
        }
    }
    row->monotonic = range->found && range->first == 0 && !again;
    return PAPPUS_OK;
}

/* ------------------------------------------------------------------- edges */

/* A wind that is go and one that is not, brought together to neighbours. */
typedef struct {
    size_t go, no_go;
    bool named; /* by a step of its own, not the coarse scan's */
    ceiling_verdict why;
} go_edge;

static size_t width_of(const go_edge *edge)
{
    return edge->go < edge->no_go ? edge->no_go - edge->go : edge->go - edge->no_go;
}

static size_t middle_of(const go_edge *edge)
{
    return (edge->go < edge->no_go ? edge->go : edge->no_go) + width_of(edge) / 2;
}

static void move(go_edge *edge, size_t step, const ceiling_verdict *verdict)
{
    if (verdict->go) {
        edge->go = step;
        return;
    }
    edge->no_go = step;
    edge->why = *verdict;
    edge->named = true;
}

/* By all landings of the two ends and the line between them. */
static int settle(go_edge *edge, ceiling_question *q, size_t direction, ceiling_room *room,
                  pappus_error *err)
{
    const size_t ends[2] = {edge->go, edge->no_go};
    while (width_of(edge) > 1) {
        ceiling_verdict verdict;
        size_t step = middle_of(edge);
        int status = ceiling_ask_between(&verdict, q, ends, step, direction, room, err);
        if (status != PAPPUS_OK) return status;
        move(edge, step, &verdict);
    }
    return PAPPUS_OK;
}

static int close_in(go_edge *edge, ceiling_question *q, size_t direction, ceiling_room *room,
                    pappus_error *err)
{
    while (width_of(edge) > 1) {
        ceiling_verdict verdict;
        size_t step = middle_of(edge);
        int status = ceiling_ask(&verdict, q, CEILING_FEW, step, direction, room, err);
        if (status == PAPPUS_OK && !verdict.clear) {
            if (width_of(edge) <= CEILING_SETTLE) return settle(edge, q, direction, room, err);
            status = ceiling_ask(&verdict, q, CEILING_ALL, step, direction, room, err);
        }
        if (status != PAPPUS_OK) return status;
        move(edge, step, &verdict);
    }
    return PAPPUS_OK;
}

static int close_edges(pappus_ceiling_row *row, go_range *range, ceiling_question *q,
                       size_t direction, ceiling_room *room, pappus_error *err)
{
    int status = PAPPUS_OK;
    if (range->closed) {
        go_edge edge = {.go = range->last, .no_go = range->above};
        status = close_in(&edge, q, direction, room, err);
        range->last = edge.go;
        if (status == PAPPUS_OK && edge.named) status = name_limit(row, q, &edge.why, err);
    }
    if (status == PAPPUS_OK && range->first > 0) {
        go_edge edge = {.go = range->first, .no_go = range->below};
        status = close_in(&edge, q, direction, room, err);
        range->first = edge.go;
    }
    return status;
}

/* -------------------------------------------------------------------- rows */

static int find_row(pappus_ceiling_row *row, ceiling_question *q, size_t direction,
                    ceiling_room *room, pappus_error *err)
{
    static const ceiling_verdict at_the_limit = {.limit = PAPPUS_LIMIT_SURFACE_WIND};
    go_range range = {0};
    row->wind_from_deg = direction == CEILING_PLANNED ? q->from_deg : 30.0 * (double)direction;
    int status = scan_coarse(row, &range, q, direction, room, err);
    if (status == PAPPUS_OK) status = close_edges(row, &range, q, direction, room, err);
    /* Go to the top of the scan: where that is the plan's own limit, any more breaks it. */
    bool at_limit = range.found && !range.closed && !isnan(q->given->plan->limits.surface_wind_mps);
    if (status == PAPPUS_OK && at_limit) status = name_limit(row, q, &at_the_limit, err);
    row->go = range.found;
    row->reached = range.closed || !range.found || at_limit;
    row->surface_wind_mps = q->top_mps * (double)range.last / CEILING_STEPS;
    row->floor_mps = q->top_mps * (double)range.first / CEILING_STEPS;
    return status;
}

/* The planned direction of the first answer once more, by led landings. */
static int lead_row(pappus_ceiling_row *row, ceiling_question *q, pappus_error *err)
{
    double steps_per_mps = CEILING_STEPS / q->top_mps;
    ceiling_led_range range = {.first = (size_t)lround(row->floor_mps * steps_per_mps),
                               .last = (size_t)lround(row->surface_wind_mps * steps_per_mps)};
    if (!row->go || !ceiling_has_strict(q->given)) return PAPPUS_OK;
    int status = ceiling_lead(&range, q, err);
    if (status != PAPPUS_OK) return status;
    row->go = range.go;
    row->monotonic = row->monotonic && range.go && range.first == 0;
    row->reached = row->reached || range.lowered || !range.go;
    row->floor_mps = range.go ? q->top_mps * (double)range.first / CEILING_STEPS : 0.0;
    row->surface_wind_mps = range.go ? q->top_mps * (double)range.last / CEILING_STEPS : 0.0;
    return range.go && !range.lowered ? PAPPUS_OK : name_limit(row, q, &range.why, err);
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

/* ------------------------------------------------------------ all together */

/* One direction of one question, or a wind that all directions of it share. */
typedef struct {
    ceiling_question *question;
    pappus_ceiling_row *row; /* NULL: a shared wind */
    size_t step, direction;
} ceiling_task;

typedef struct {
    pappus_run run;
    size_t task_count, done;
    ceiling_task tasks[2 * (ROWS + COARSE_MOST)];
    pappus_error errors[2 * (ROWS + COARSE_MOST)];
    int stopped; /* a failure: the rest need not be done */
} ceiling_work;

static void add_row(ceiling_work *work, ceiling_question *q, pappus_ceiling_row *row,
                    size_t direction)
{
    work->tasks[work->task_count++] =
        (ceiling_task){.question = q, .row = row, .direction = direction};
}

static void add_shared_winds(ceiling_work *work, ceiling_question *q)
{
    size_t steps[COARSE_MOST], count = coarse_winds(steps, q, CEILING_PLANNED);
    if (!q->rigid) count = 1; /* calm */
    for (size_t i = 0; i < count; i++)
        work->tasks[work->task_count++] =
            (ceiling_task){.question = q, .step = steps[i], .direction = CEILING_PLANNED};
}

static int do_task(const ceiling_task *task, ceiling_room *room, pappus_error *err)
{
    ceiling_verdict verdict;
    if (task->row) return find_row(task->row, task->question, task->direction, room, err);
    return ceiling_ask(&verdict, task->question, CEILING_FEW, task->step, task->direction, room,
                       err);
}

/* The caller is told, and may stop it, on its own thread. */
static int tell(ceiling_work *work, size_t done, pappus_error *err)
{
    if (omp_get_thread_num() != 0) return PAPPUS_OK;
    return pappus_run_progress(&work->run, (double)done / (double)work->task_count, err);
}

static void do_thread(ceiling_work *work)
{
    ceiling_room room = {0};
#pragma omp for schedule(dynamic)
    for (size_t i = 0; i < work->task_count; i++) {
        size_t done;
        int stopped;
#pragma omp atomic read
        stopped = work->stopped;
        if (stopped) continue;
        int status = do_task(&work->tasks[i], &room, &work->errors[i]);
#pragma omp atomic capture
        done = ++work->done;
        if (status == PAPPUS_OK) status = tell(work, done, &work->errors[i]);
        if (status == PAPPUS_OK) continue;
#pragma omp atomic write
        work->stopped = status;
    }
    free(room.east_m);
    free(room.north_m);
}

static int do_tasks(ceiling_work *work, pappus_error *err)
{
#pragma omp parallel num_threads(pappus_threads(work->run.threads))
    do_thread(work);
    if (!work->stopped) return PAPPUS_OK;
    for (size_t i = 0; i < work->task_count; i++) {
        const pappus_error *one = &work->errors[i];
        if (one->code != PAPPUS_OK)
            return pappus_fail(err, one->code, one->file, one->key, one->value, "%s", one->message);
    }
    return pappus_fail_memory(err);
}

static int make_round(pappus_ceiling_round *round, pappus_error *err)
{
    round->rows = calloc(CEILING_DIRECTIONS, sizeof *round->rows);
    if (!round->rows) return pappus_fail_memory(err);
    round->row_count = CEILING_DIRECTIONS;
    return PAPPUS_OK;
}

static int answer(pappus_ceiling_round *const rounds[], ceiling_question *questions, size_t count,
                  const pappus_run *run, pappus_error *err)
{
    ceiling_work *work = calloc(1, sizeof *work);
    if (!work) return pappus_fail_memory(err);
    work->run = *run;
    for (size_t k = 0; k < count; k++)
        add_shared_winds(work, &questions[k]);
    for (size_t k = 0; k < count; k++)
        add_row(work, &questions[k], &rounds[k]->planned, CEILING_PLANNED);
    for (size_t k = 0; k < count; k++)
        for (size_t i = 0; i < CEILING_DIRECTIONS; i++)
            add_row(work, &questions[k], &rounds[k]->rows[i], i);
    int status = do_tasks(work, err);
    free(work);
    if (status == PAPPUS_OK) status = lead_row(&rounds[0]->planned, &questions[0], err);
    for (size_t k = 0; k < count && status == PAPPUS_OK; k++)
        status = worst_of(rounds[k], err);
    return status;
}

static int find(pappus_ceiling *ceiling, const pappus_givens *given, const pappus_run *run,
                pappus_error *err)
{
    pappus_ceiling_round *rounds[2] = {&ceiling->whole, &ceiling->whole};
    ceiling_question questions[2] = {{0}};
    size_t count = 0, begun = 0;
    int status = PAPPUS_OK;
    if (ceiling->has_reading) rounds[count++] = &ceiling->reading;
    rounds[count++] = &ceiling->whole;
    while (begun < count && status == PAPPUS_OK) {
        bool reading = rounds[begun] == &ceiling->reading;
        status = make_round(rounds[begun], err);
        if (status == PAPPUS_OK)
            status = ceiling_question_begin(&questions[begun], given, run, reading, err);
        begun++;
    }
    if (status == PAPPUS_OK) {
        pappus_run whole = pappus_run_of_plan(run, given->plan);
        status = answer(rounds, questions, count, &whole, err);
    }
    ceiling->top_mps = questions[0].top_mps;
    for (size_t k = 0; k < begun; k++)
        ceiling_question_end(&questions[k]);
    return status;
}

int pappus_ceiling_find(pappus_ceiling **out, const pappus_givens *given, const pappus_run *run,
                        pappus_error *err)
{
    *out = NULL;
    pappus_ceiling *ceiling = calloc(1, sizeof *ceiling);
    if (!ceiling) return pappus_fail_memory(err);
    ceiling->has_reading = given->plan->wind.has_surface;
    ceiling->led = ceiling_has_strict(given);
    ceiling->fixed_bearing = !ceiling_turns_with_wind(&given->plan->apogee);
    int status = find(ceiling, given, run, err);
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
