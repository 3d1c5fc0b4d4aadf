/* SPDX-License-Identifier: GPL-3.0-or-later
 * Rows of main heights on common led landings. A landing is led, drawn and weighed once: its
 * weight hangs on what was drawn, and that is the same at every height. Then it is flown for
 * each row, as the counted ones are (pappus_engine_run_rows). An outcome in which no main waits
 * for its height is flown once for all rows. Fewer landings than a brief's own decision has:
 * the rows differ by the height alone. */
#include "rows.h"

#include "draws.h"
#include "error.h"
#include "led.h"
#include "outcomes.h"

#include <math.h>
#include <stdlib.h>

#define WIDE 500        /* landings of the wide density */
#define AIMED 2000      /* at one area, of the likeliest outcome */
#define AIMED_ALL 16000 /* at all areas that are wanted */

typedef struct {
    pappus_hits *hits;
    size_t rows, area_count;
    bool *wanted;
    pappus_draws **draws;
    led_task task;
} row_work;

static size_t choose_wanted(row_work *w, const pappus_givens *given)
{
    size_t count = 0;
    for (size_t k = 0; k < w->area_count; k++) {
        double limit = pappus_keep_out_limit(given->field, given->plan, k);
        w->wanted[k] = limit < PAPPUS_COUNTED_LIMIT;
        count += w->wanted[k];
    }
    return count;
}

/* Is there a main that comes out at its height? */
static int waits(bool *out, const pappus_plan *plan, int outcome, pappus_error *err)
{
    pappus_case_table table;
    int status = pappus_case_table_build(&table, plan, err);
    *out = false;
    if (status != PAPPUS_OK) return status;
    for (size_t c = table.start[outcome]; c < table.start[outcome + 1]; c++)
        *out = *out || table.cases[c].main == PAPPUS_MAIN_LATE;
    pappus_case_table_clear(&table);
    return PAPPUS_OK;
}

/* Landings that cannot be computed where they were led leave the word to the counted ones. */
static int lead_outcome(row_work *w, int h, pappus_error *err)
{
    led_outcome led = {0};
    pappus_error own = {0};
    bool each_row;
    int status = waits(&each_row, w->task.plan, h, err);
    if (status != PAPPUS_OK) return status;
    w->task.rows = each_row ? w->rows : 1;
    status = led_outcome_fly(&led, &w->task, (const pappus_draws *const *)w->draws,
                             (pappus_outcome)h, &own);
    if (status == PAPPUS_E_NUMERIC) return PAPPUS_OK;
    if (status != PAPPUS_OK)
        return pappus_fail(err, status, NULL, own.key, own.value, "%s", own.message);
    for (size_t r = 0; r < w->rows && led.has_law; r++)
        for (size_t k = 0; k < w->area_count; k++)
            w->hits[r].rare[k][h] = led.areas[(each_row ? r * w->area_count : 0) + k].share;
    led_outcome_clear(&led);
    return PAPPUS_OK;
}

static int make_rows(row_work *w, const pappus_givens *given, const double *main_shift_m,
                     pappus_error *err)
{
    int status = PAPPUS_OK;
    for (size_t r = 0; r < w->rows && status == PAPPUS_OK; r++) {
        w->hits[r].rare = calloc(w->area_count + 1, sizeof *w->hits[r].rare);
        if (!w->hits[r].rare) return pappus_fail_memory(err);
        status = pappus_draws_build(&w->draws[r], given->plan, given->air, w->task.random,
                                    main_shift_m[r], err);
    }
    return status;
}

static int lead(row_work *w, const pappus_givens *given, const double *main_shift_m,
                pappus_error *err)
{
    int status = make_rows(w, given, main_shift_m, err);
    for (int h = 0; h < PAPPUS_OUTCOMES && status == PAPPUS_OK; h++)
        if (w->hits[0].probability[h] > 0.0 && w->hits[0].count[h] > 0)
            status = lead_outcome(w, h, err);
    for (size_t r = 0; r < w->rows; r++)
        pappus_draws_free(w->draws[r]);
    return status;
}

int rare_rows_lead(pappus_hits *hits, size_t rows, const double *main_shift_m,
                   const pappus_givens *given, const pappus_field_shapes *shapes,
                   const pappus_run *run, pappus_error *err)
{
    row_work w = {.hits = hits,
                  .rows = rows,
                  .area_count = shapes->keep_out_count,
                  .wanted = calloc(shapes->keep_out_count + 1, sizeof *w.wanted),
                  .draws = calloc(rows + 1, sizeof *w.draws)};
    int status = w.wanted && w.draws ? PAPPUS_OK : pappus_fail_memory(err);
    size_t wanted = status == PAPPUS_OK ? choose_wanted(&w, given) : 0;
    w.task = (led_task){.plan = given->plan,
                        .air = given->air,
                        .field = given->field,
                        .shapes = shapes,
                        .hits = hits,
                        .wanted = w.wanted,
                        .random = {run->seed, 0},
                        .threads = run->threads,
                        .effort = 1,
                        .wide = WIDE,
                        .aimed = wanted > AIMED_ALL / AIMED ? AIMED_ALL / wanted : AIMED,
                        .descend = rare_descend_engine};
    if (wanted > 0) status = lead(&w, given, main_shift_m, err);
    free(w.wanted);
    free(w.draws);
    return status;
}
