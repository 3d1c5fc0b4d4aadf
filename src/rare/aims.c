/* SPDX-License-Identifier: GPL-3.0-or-later
 * Choosing areas and making aims. First few falls from the wide density tell where a fall
 * lands that is led to x; they are used for nothing else, so that what follows is unbiased.
 * Then the areas that counted landings hit fewer than AIMS_COUNTED times each get a density of
 * their own (aim.h), for up to AIMS_ROWS of the rows: what lies between lands between.
 *
 * Where more than LED_AIMS_MOST areas of an outcome want landings, those are aimed at whose
 * chance, foreseen from their bounds, is most over their limit. One whose chance cannot reach
 * NEGLIGIBLE of its limit (rare_aim_foresee) keeps that as its upper end; the rest live on
 * what is led all round, if enough of it hits, else on what was counted. So cost is linear in
 * areas and landings. */
#include "aims.h"

#include "error.h"
#include "geometry.h"
#include "run.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define SCOUTS 256       /* falls that tell where led ones land */
#define SCOUTS_OF_AIM 96 /* of one aim, in each of ROUNDS */
#define ROUNDS 2
#define PLAIN 400       /* landings of the flight's own law */
#define LEAST_PART 0.5  /* of the landings for an area that any outcome gets */
#define SURELY 10.0     /* times what is foreseen: it is no more */
#define NEGLIGIBLE 0.01 /* of its limit: where there are many areas, none are led to this one */
#define AIM_INDEX (UINT64_C(1) << 20) /* more than the landings of one aim's scouts */

void led_aims_clear(led_aims *aims)
{
    free(aims->aims);
    free(aims->aim_of);
    free(aims->most);
    free(aims->landings);
    *aims = (led_aims){0};
}

/* Where the scouts were led and where they landed. */
typedef struct {
    rare_shots shots;
    double (*at_m)[2];
    rare_flown flown;
    rare_map map;
} scouted;

static void scouted_clear(scouted *s)
{
    rare_shots_clear(&s->shots);
    free(s->at_m);
}

static int scout(scouted *out, const rare_range *range, const size_t *part, pappus_error *err)
{
    rare_range keeping = *range;
    rare_shots *shots = &out->shots;
    *out = (scouted){.at_m = NULL};
    keeping.keep_normal = true;
    int status = rare_shots_fly(shots, &keeping, part, err);
    if (status != PAPPUS_OK) return status;
    out->at_m = malloc((shots->count + 1) * sizeof *out->at_m);
    if (!out->at_m) return pappus_fail_memory(err);
    for (size_t i = 0; i < shots->count; i++) {
        out->at_m[i][0] = shots->east_m[i];
        out->at_m[i][1] = shots->north_m[i];
    }
    out->flown = (rare_flown){shots->count, shots->normal_count, (const double(*)[2])shots->x_m,
                              (const double(*)[2])out->at_m, shots->normal};
    rare_map_fit(&out->map, &out->flown);
    return PAPPUS_OK;
}

/* What making the aims of an outcome works with. */
typedef struct {
    const led_task *task;
    size_t row_count;
    size_t rows[AIMS_ROWS];       /* that are aimed for */
    rare_range scouts[AIMS_ROWS]; /* a row's */
    scouted from[AIMS_ROWS];
} aiming;

static size_t rows_of(const led_task *task)
{
    size_t areas = task->shapes ? task->shapes->keep_out_count : 0, wanted = 0;
    for (size_t k = 0; k < areas; k++)
        wanted += !task->wanted || task->wanted[k];
    size_t most = wanted > AIMS_FEW_AREAS ? AIMS_ROWS_OF_MANY : AIMS_ROWS;
    return task->rows < most ? task->rows : most;
}

static int begin(aiming *w, const led_task *task, const rare_range *range, pappus_error *err)
{
    const size_t part[2] = {0, SCOUTS};
    int status = PAPPUS_OK;
    *w = (aiming){.task = task, .row_count = rows_of(task)};
    for (size_t r = 0; r < w->row_count && status == PAPPUS_OK; r++) {
        w->rows[r] = w->row_count > 1 ? r * (range->rows - 1) / (w->row_count - 1) : 0;
        w->scouts[r] = *range;
        w->scouts[r].rows = 1;
        w->scouts[r].draws = range->draws + w->rows[r];
        status = scout(&w->from[r], &w->scouts[r], part, err);
    }
    return status;
}

static void end(aiming *w)
{
    for (size_t r = 0; r < AIMS_ROWS; r++)
        scouted_clear(&w->from[r]);
}

/* Some row's counted landings say too little of an area that is wanted. */
static bool wants(const aiming *w, size_t area)
{
    const led_task *task = w->task;
    if (task->wanted && !task->wanted[area]) return false;
    for (size_t r = 0; r < task->rows; r++)
        if (task->hits[r].keep_out[area][w->scouts[0].outcome] < AIMS_COUNTED) return true;
    return false;
}

/* The place of an area that its bounds have nearest to another. */
static void nearest_in_bounds(double out_m[2], const pappus_area *area, const double to_m[2])
{
    double bounds[4];
    if (!pappus_area_bounds(bounds, area)) return;
    for (int a = 0; a < 2; a++)
        out_m[a] = fmin(fmax(to_m[a], bounds[a]), bounds[2 + a]);
}

/* Aims by what the scouts tell, sends scouts by that aim and aims again by what these tell:
 * falls that are led far land where none did before (an apogee upwind of a wind that has
 * turned round lies on the other side). */
static int aim_at(rare_aim *out, const led_task *task, const rare_range *scouts,
                  const scouted *from, size_t area, pappus_error *err)
{
    const pappus_area *shape = &task->field->keep_outs[area];
    const size_t part[3] = {0, 0, SCOUTS_OF_AIM};
    rare_map map = from->map;
    rare_range range = *scouts;
    double near_m[2] = {0.0, 0.0};
    nearest_in_bounds(near_m, shape, range.law->origin_m[0]);
    *out = (rare_aim){.in_reach = false};
    int status = rare_map_localise(&map, &from->flown, near_m, err);
    if (status == PAPPUS_OK)
        status = rare_aim_build(out, range.law, &map, task->shapes->keep_outs[area], shape, err);
    range.aim_count = 1;
    range.aims = out;
    for (uint64_t round = 0; round < ROUNDS && out->in_reach && status == PAPPUS_OK; round++) {
        scouted more = {0};
        range.first_index = scouts->first_index + AIM_INDEX * (1 + ROUNDS * area + round);
        status = scout(&more, &range, part, err);
        if (status == PAPPUS_OK) status = rare_map_localise(&map, &more.flown, near_m, err);
        if (status == PAPPUS_OK)
            status =
                rare_aim_build(out, range.law, &map, task->shapes->keep_outs[area], shape, err);
        scouted_clear(&more);
    }
    return status;
}

/* What is foreseen of an area over what it is in all outcomes is not known here: every
 * outcome gets the same, less where its chance can hardly matter. Bodies without canopy go
 * least by what they are led by and hit hardest: they get all. */
static size_t share_of(const aiming *w)
{
    const led_task *task = w->task;
    pappus_outcome outcome = w->scouts[0].outcome;
    double whole = (double)task->aimed * task->effort / (double)w->row_count;
    double part = fmin(2.0 * task->hits->probability[outcome], 1.0);
    if (outcome == PAPPUS_NO_CANOPY) return (size_t)whole;
    return (size_t)(whole * fmax(part, LEAST_PART));
}

/* ------------------------------------------------------------------- choice */

/* An area that wants landings, and by how much. */
typedef struct {
    double pull; /* ln of what its chance is about over its limit */
    size_t area;
} wanting;

static int by_pull(const void *a, const void *b)
{
    const wanting *x = a, *y = b;
    if (x->pull != y->pull) return x->pull > y->pull ? -1 : 1;
    return x->area < y->area ? -1 : 1;
}

/* negligible: at no row its chance can come near its limit; else how much it asks for landings. */
static int foresee(bool *negligible, wanting *out, led_aims *aims, const aiming *w, size_t area,
                   pappus_error *err)
{
    const rare_law *law = w->scouts[0].law;
    const pappus_area *shape = &w->task->field->keep_outs[area];
    double limit = pappus_keep_out_limit(w->task->field, w->task->plan, area);
    double about = 0.0, most = 0.0;
    double near_m[2] = {0.0, 0.0};
    nearest_in_bounds(near_m, shape, law->origin_m[0]);
    for (size_t r = 0; r < w->row_count; r++) {
        rare_map map = w->from[r].map;
        int status = rare_map_localise(&map, &w->from[r].flown, near_m, err);
        if (status != PAPPUS_OK) return status;
        rare_foresight seen = rare_aim_foresee(law, &map, shape);
        aims->most[r * w->task->field->keep_out_count + area] = seen.most;
        most = fmax(most, seen.most);
        about = fmax(about, seen.about);
    }
    *out = (wanting){log(about) - log(isnan(limit) ? 1.0 : limit), area};
    *negligible = most <= fmax(isnan(limit) ? 0.0 : limit * NEGLIGIBLE, LAW_BEYOND);
    return PAPPUS_OK;
}

/* Marks of those that want landings the first LED_AIMS_MOST as AIMS_NONE, still to be aimed
 * at. */
static int choose(led_aims *out, wanting *list, size_t count, const aiming *w, pappus_error *err)
{
    size_t left = 0;
    for (size_t i = 0; i < count; i++) {
        size_t k = list[i].area;
        bool negligible;
        int status = foresee(&negligible, &list[left], out, w, k, err);
        if (status != PAPPUS_OK) return status;
        if (negligible)
            out->aim_of[k] = AIMS_OUT_OF_REACH;
        else
            left++;
    }
    qsort(list, left, sizeof *list, by_pull);
    for (size_t i = LED_AIMS_MOST; i < left; i++)
        out->aim_of[list[i].area] = AIMS_UNAIMED;
    return PAPPUS_OK;
}

/* Where there are few, all are aimed at. */
static int choose_areas(led_aims *out, const aiming *w, size_t areas, pappus_error *err)
{
    size_t count = 0;
    wanting *list = malloc((areas + 1) * sizeof *list);
    if (!list) return pappus_fail_memory(err);
    for (size_t k = 0; k < areas; k++) {
        out->aim_of[k] = AIMS_NONE;
        if (wants(w, k)) list[count++].area = k;
    }
    int status = count > LED_AIMS_MOST ? choose(out, list, count, w, err) : PAPPUS_OK;
    free(list);
    return status;
}

/* An area and a row that is aimed for, and what comes of it. */
typedef struct {
    size_t area, row;
    int status;
    pappus_error error;
} aim_work;

/* Each by itself, side by side: aim i is of work i. */
static void aim_at_all(rare_aim *aims, aim_work *list, size_t count, const aiming *w)
{
#pragma omp parallel for schedule(dynamic) num_threads(pappus_threads(w->task->threads))
    for (size_t i = 0; i < count; i++)
        list[i].status = aim_at(&aims[i], w->task, &w->scouts[list[i].row], &w->from[list[i].row],
                                list[i].area, &list[i].error);
}

/* Keeps those rows from which the area can be reached. */
static void take_aim(led_aims *out, const aiming *w, size_t i, const aim_work *work)
{
    const rare_aim *aim = &out->aims[i];
    size_t area = work->area;
    out->most[work->row * w->task->field->keep_out_count + area] =
        aim->in_reach ? SURELY * exp(aim->log_chance) : 0.0;
    if (!aim->in_reach) return;
    if (out->aim_of[area] < 0) out->aim_of[area] = (int)out->count;
    if (i != out->count) out->aims[out->count] = *aim;
    out->landings[SHOTS_AIMED + out->count++] = share_of(w);
}

static int aim_at_areas(led_aims *out, const aiming *w, size_t areas, pappus_error *err)
{
    size_t count = 0;
    aim_work *list = calloc(LED_AIMS_MOST * w->row_count + 1, sizeof *list);
    int status = list ? PAPPUS_OK : pappus_fail_memory(err);
    for (size_t k = 0; k < areas && status == PAPPUS_OK; k++) {
        if (out->aim_of[k] != AIMS_NONE || !wants(w, k)) continue;
        out->aim_of[k] = AIMS_OUT_OF_REACH;
        for (size_t r = 0; r < w->row_count; r++)
            list[count++] = (aim_work){.area = k, .row = r};
    }
    aim_at_all(out->aims, list, count, w);
    for (size_t i = 0; i < count && status == PAPPUS_OK; i++) {
        const pappus_error *own = &list[i].error;
        status = list[i].status;
        if (status == PAPPUS_OK)
            take_aim(out, w, i, &list[i]);
        else
            pappus_fail(err, status, NULL, own->key, own->value, "%s", own->message);
    }
    free(list);
    return status;
}

static int make(led_aims *out, const aiming *w, pappus_error *err)
{
    const led_task *task = w->task;
    size_t areas = task->shapes ? task->shapes->keep_out_count : 0;
    size_t most = LED_AIMS_MOST * w->row_count;
    out->aims = malloc((most + 1) * sizeof *out->aims);
    out->aim_of = malloc((areas + 1) * sizeof *out->aim_of);
    out->most = calloc(w->row_count * areas + 1, sizeof *out->most);
    out->row_count = w->row_count;
    memcpy(out->rows, w->rows, sizeof out->rows);
    out->landings = calloc(SHOTS_AIMED + most, sizeof *out->landings);
    if (!out->aims || !out->aim_of || !out->most || !out->landings) return pappus_fail_memory(err);
    out->landings[SHOTS_PLAIN] = PLAIN * task->effort;
    out->landings[SHOTS_WIDE] = task->wide * task->effort;
    int status = choose_areas(out, w, areas, err);
    return status == PAPPUS_OK ? aim_at_areas(out, w, areas, err) : status;
}

double led_aims_most(const led_aims *aims, size_t area_count, size_t row, size_t area)
{
    double most = 0.0;
    for (size_t r = 0; r < aims->row_count; r++) {
        bool below = aims->rows[r] <= row && (r + 1 == aims->row_count || aims->rows[r + 1] > row);
        bool above = aims->rows[r] >= row && (r == 0 || aims->rows[r - 1] < row);
        if (below || above) most = fmax(most, aims->most[r * area_count + area]);
    }
    return most;
}

int led_aims_make(led_aims *out, const led_task *task, const rare_range *range, pappus_error *err)
{
    aiming w;
    *out = (led_aims){0};
    int status = begin(&w, task, range, err);
    if (status == PAPPUS_OK) status = make(out, &w, err);
    end(&w);
    if (status != PAPPUS_OK) led_aims_clear(out);
    return status;
}
