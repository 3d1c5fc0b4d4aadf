/* SPDX-License-Identifier: GPL-3.0-or-later
 * The hazard of a flight: outcome after outcome is led to the areas and all round (led.h),
 * what it says goes into the hits, the field is made of it (field.h). Led landings have
 * indices of their own and depend on the seed alone. An outcome whose wind has no error, or
 * whose landings cannot be computed where they were led, keeps what was counted. */
#include <pappus/hazard.h>

#include "draws.h"
#include "error.h"
#include "field.h"
#include "geometry.h"
#include "isoline.h"
#include "led.h"
#include "risk.h"
#include "run.h"

#include <math.h>
#include <stdlib.h>

#define WIDE_OF_FIELD 3000 /* wide landings of an outcome, where a field is made */
#define WIDE_OF_AREAS 500  /* where it is not */
#define AIMED 3000         /* at one area, of the likeliest outcome */
#define LEAST_PART 0.1     /* of the least level: no outcome's field goes on under it */

const double pappus_hazard_levels[PAPPUS_HAZARD_LEVELS] = {
#define LEVEL(level) level,
    PAPPUS_HAZARD_LEVEL_LIST(LEVEL)
#undef LEVEL
};

struct pappus_hazard_field {
    pappus_grid outcomes[PAPPUS_OUTCOMES];
    double factor[PAPPUS_OUTCOMES];
};

typedef struct {
    pappus_hazard *hazard;
    pappus_hits *hits;
    const pappus_givens *given;
    const pappus_cloud *cloud;
    const pappus_hazard_options *options;
    led_task task;
    led_outcome led[PAPPUS_OUTCOMES];
} hazard_work;

/* --------------------------------------------------------------------- led */

/* Landings that cannot be computed are no fault of the plan's: the winds they were led by
 * are beyond all that was expected. */
static int lead_outcome(hazard_work *w, const pappus_draws *draws, int h, pappus_error *err)
{
    pappus_error own = {0};
    int status = led_outcome_fly(&w->led[h], &w->task, &draws, (pappus_outcome)h, &own);
    if (status == PAPPUS_E_NUMERIC) {
        w->hazard->failed = true;
        return PAPPUS_OK;
    }
    if (status != PAPPUS_OK)
        return pappus_fail(err, status, NULL, own.key, own.value, "%s", own.message);
    for (size_t k = 0; k < w->led[h].area_count; k++)
        w->hits->rare[k][h] = w->led[h].areas[k].share;
    w->hazard->landings += w->led[h].shots.count;
    if (w->led[h].unled > w->hazard->unled) w->hazard->unled = w->led[h].unled;
    return PAPPUS_OK;
}

/* Of the counted landings. */
static double hurting_counted(const hazard_work *w, int h)
{
    double mass_kg = led_hurting_mass_kg(w->given->plan);
    size_t all = 0, hurting = 0;
    for (size_t i = 0; i < w->cloud->count; i++) {
        if (w->cloud->outcome[i] != h) continue;
        all++;
        hurting += led_hurts(mass_kg, (double)w->cloud->speed_mps[i]);
    }
    return all > 0 ? (double)hurting / (double)all : 0.0;
}

static int lead_all(hazard_work *w, pappus_error *err)
{
    pappus_draws *draws = NULL;
    int status =
        pappus_draws_build(&draws, w->given->plan, w->given->air, w->task.random, 0.0, err);
    for (int h = 0; h < PAPPUS_OUTCOMES && status == PAPPUS_OK; h++) {
        if (!(w->cloud->probability[h] > 0.0) || w->cloud->stratum_count[h] == 0) continue;
        status = lead_outcome(w, draws, h, err);
        w->hazard->hurting[h] = w->led[h].has_law ? w->led[h].hurting : hurting_counted(w, h);
    }
    pappus_draws_free(draws);
    return status;
}

/* ------------------------------------------------------------------- field */

/* Weighted landings of an outcome: led ones, or what was counted. */
typedef struct {
    double *east_m, *north_m, *weight;
    uint8_t *counts;
    size_t count;
} sample_room;

static void room_clear(sample_room *room)
{
    free(room->east_m);
    free(room->north_m);
    free(room->weight);
    free(room->counts);
}

static int room_make(sample_room *room, size_t most, pappus_error *err)
{
    *room = (sample_room){.east_m = malloc((most + 1) * sizeof(double)),
                          .north_m = malloc((most + 1) * sizeof(double)),
                          .weight = malloc((most + 1) * sizeof(double)),
                          .counts = malloc(most + 1)};
    if (room->east_m && room->north_m && room->weight && room->counts) return PAPPUS_OK;
    room_clear(room);
    return pappus_fail_memory(err);
}

static void put(sample_room *room, double east_m, double north_m, double weight, bool counts)
{
    room->east_m[room->count] = east_m;
    room->north_m[room->count] = north_m;
    room->weight[room->count] = weight;
    room->counts[room->count++] = counts;
}

static void gather(sample_room *room, const hazard_work *w, int h)
{
    double mass_kg = led_hurting_mass_kg(w->given->plan);
    const rare_shots *shots = &w->led[h].shots;
    const pappus_cloud *cloud = w->cloud;
    double each = 1.0 / (double)cloud->stratum_count[h];
    for (size_t i = 0; i < shots->count; i++)
        put(room, shots->east_m[i], shots->north_m[i], shots->weight[i],
            led_hurts(mass_kg, (double)shots->speed_mps[i]));
    for (size_t i = 0; i < cloud->count && shots->count == 0; i++)
        if (cloud->outcome[i] == h)
            put(room, cloud->east_m[i], cloud->north_m[i], each,
                led_hurts(mass_kg, (double)cloud->speed_mps[i]));
}

static int outcome_field(pappus_grid *out, const hazard_work *w, int h, pappus_error *err)
{
    sample_room room;
    double factor = w->cloud->probability[h] * PAPPUS_PERSON_AREA_M2;
    double least = pappus_hazard_levels[PAPPUS_HAZARD_LEVELS - 1] * LEAST_PART;
    size_t led = w->led[h].shots.count;
    int status = room_make(&room, led > 0 ? led : w->cloud->count, err);
    if (status != PAPPUS_OK) return status;
    gather(&room, w, h);
    const rare_law *law = &w->led[h].law;
    bool student = w->led[h].has_law && law->bin_width > 0.0;
    field_sample sample = {room.count,   room.east_m,
                           room.north_m, room.weight,
                           room.counts,  student ? w->given->air->wind->scale.dof : INFINITY};
    status = field_density(out, &sample, factor, least, err);
    room_clear(&room);
    return status;
}

static int draw_contours(pappus_hazard *hazard, const pappus_grid *sum, pappus_error *err)
{
    int status = PAPPUS_OK;
    for (size_t i = 0; sum->per_m2 && i < sum->nodes[0] * sum->nodes[1]; i++)
        hazard->highest = fmax(hazard->highest, sum->per_m2[i]);
    hazard->contour_count = PAPPUS_HAZARD_LEVELS;
    for (int l = 0; l < PAPPUS_HAZARD_LEVELS && status == PAPPUS_OK; l++) {
        pappus_hazard_contour *contour = &hazard->contours[l];
        contour->level = pappus_hazard_levels[l];
        if (sum->per_m2) status = pappus_isoline_area(&contour->shape, sum, contour->level, err);
        contour->area_m2 = pappus_area_m2(&contour->shape);
    }
    return status;
}

static int outcome_fields(pappus_hazard_field *field, const hazard_work *w, int threads,
                          pappus_error *err)
{
    int failed = PAPPUS_OK;
#pragma omp parallel for schedule(dynamic) num_threads(threads) reduction(max : failed)
    for (int h = 0; h < PAPPUS_OUTCOMES; h++) {
        if (w->cloud->stratum_count[h] == 0) continue;
        field->factor[h] = w->cloud->probability[h] * PAPPUS_PERSON_AREA_M2;
        int status = outcome_field(&field->outcomes[h], w, h, NULL);
        failed = status > failed ? status : failed;
    }
    return failed == PAPPUS_OK ? PAPPUS_OK : pappus_fail_memory(err);
}

static int make_field(hazard_work *w, pappus_error *err)
{
    int threads = pappus_threads(w->task.threads);
    pappus_hazard_field *field = calloc(1, sizeof *field);
    pappus_grid sum = {.per_m2 = NULL};
    w->hazard->field = field;
    int status = field ? PAPPUS_OK : pappus_fail_memory(err);
    if (status == PAPPUS_OK) status = outcome_fields(field, w, threads, err);
    if (status == PAPPUS_OK)
        status = field_sum(&sum, field->outcomes, field->factor, PAPPUS_OUTCOMES, threads, err);
    if (status == PAPPUS_OK) status = draw_contours(w->hazard, &sum, err);
    pappus_grid_clear(&sum);
    return status;
}

double pappus_hazard_of(const pappus_hazard *hazard, pappus_outcome outcome, double east_m,
                        double north_m)
{
    const pappus_hazard_field *field = hazard->field;
    if (!field || !field->outcomes[outcome].per_m2) return 0.0;
    return field->factor[outcome] * pappus_grid_at(&field->outcomes[outcome], east_m, north_m);
}

double pappus_hazard_at(const pappus_hazard *hazard, double east_m, double north_m)
{
    double sum = 0.0;
    for (int h = 0; h < PAPPUS_OUTCOMES; h++)
        sum += pappus_hazard_of(hazard, (pappus_outcome)h, east_m, north_m);
    return sum;
}

/* ------------------------------------------------------------------ public */

static int find(hazard_work *w, pappus_error *err)
{
    pappus_field_shapes *shapes = NULL;
    pappus_hazard *hazard = w->hazard;
    int status = pappus_field_shapes_new(&shapes, w->given->field, err);
    if (status != PAPPUS_OK) return status;
    w->task.shapes = shapes;
    hazard->area_count = shapes->keep_out_count;
    hazard->risks = calloc(hazard->area_count + 1, sizeof *hazard->risks);
    free(w->hits->rare);
    w->hits->rare = calloc(hazard->area_count + 1, sizeof *w->hits->rare);
    if (!hazard->risks || !w->hits->rare) status = pappus_fail_memory(err);
    if (status == PAPPUS_OK) status = lead_all(w, err);
    if (status == PAPPUS_OK) status = risk_fill(hazard, w->given, w->hits, w->led, err);
    if (status == PAPPUS_OK && w->options->field) status = make_field(w, err);
    for (int h = 0; h < PAPPUS_OUTCOMES; h++)
        led_outcome_clear(&w->led[h]);
    pappus_field_shapes_free(shapes);
    return status;
}

int pappus_hazard_find(pappus_hazard **out, pappus_hits *hits, const pappus_givens *given,
                       const pappus_cloud *cloud, const pappus_hazard_options *options,
                       pappus_error *err)
{
    static const pappus_hazard_options defaults = PAPPUS_HAZARD_OPTIONS_INIT;
    if (!options) options = &defaults;
    pappus_run run = pappus_run_of_plan(&options->run, given->plan);
    hazard_work *w = calloc(1, sizeof *w);
    *out = NULL;
    if (!w) return pappus_fail_memory(err);
    *w = (hazard_work){.hazard = calloc(1, sizeof *w->hazard),
                       .hits = hits,
                       .given = given,
                       .cloud = cloud,
                       .options = options,
                       .task = {.plan = given->plan,
                                .air = given->air,
                                .field = given->field,
                                .rows = 1,
                                .hits = hits,
                                .random = {run.seed, 0},
                                .threads = run.threads,
                                .effort = options->effort > 0 ? options->effort : 1,
                                .wide = options->field ? WIDE_OF_FIELD : WIDE_OF_AREAS,
                                .aimed = AIMED,
                                .descend = rare_descend_engine}};
    int status = w->hazard ? find(w, err) : pappus_fail_memory(err);
    if (status == PAPPUS_OK)
        *out = w->hazard;
    else
        pappus_hazard_free(w->hazard);
    free(w);
    return status;
}

void pappus_hazard_free(pappus_hazard *hazard)
{
    if (!hazard) return;
    for (int l = 0; l < PAPPUS_HAZARD_LEVELS; l++)
        pappus_area_clear(&hazard->contours[l].shape);
    for (int h = 0; hazard->field && h < PAPPUS_OUTCOMES; h++)
        pappus_grid_clear(&hazard->field->outcomes[h]);
    free(hazard->field);
    free(hazard->risks);
    free(hazard);
}
