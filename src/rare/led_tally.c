/* SPDX-License-Identifier: GPL-3.0-or-later
 * Of an area the sum of weights W over the landings on it estimates its chance; the
 * landings of a part are alike and independent, so its variance is
 *   sum_j n_j / (n_j - 1) (sum W^2 - (sum W)^2 / n_j)   over parts j (Owen, chapter 9).
 * Where fewer than FEW_HITS landings hit, or a few weigh nearly all, that says too little: the
 * counted landings speak. An area that nothing within the law's reach leads to has chance 0,
 * known to LAW_BEYOND.
 * Where it stops being right: ways to an area that neither the wide density nor the aim
 * foresees, of a chance under that of a plain landing, are missed with their weight. */
#include "led_tally.h"

#include "error.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define UNLIKELY 1e-8 /* foreseen of an area that landings are aimed at */
#define FEW_HITS 20
#define FEW_EFFECTIVE 8.0
/* Upper 97.5 % limit of no events, times which one more weighs: -ln 0.025 */
#define NO_EVENTS 3.6888794541139363

static bool poor(const pappus_rare_share *share)
{
    return share->hits < FEW_HITS || share->effective < FEW_EFFECTIVE;
}

/* Variance of a part's sum. */
static double part_variance(double sum, double sum2, size_t count)
{
    if (count < 2) return 0.0;
    double n = (double)count;
    return fmax(n / (n - 1.0) * (sum2 - sum * sum / n), 0.0);
}

/* An area's sums over the part that is being looked at, and of squares over all. */
typedef struct {
    size_t part;
    double sum, sum2, all2;
    size_t broad; /* hits that were led to no area */
} running;

static void end_part(led_area *area, running *run, const rare_shots *shots)
{
    size_t count = shots->start[run->part + 1] - shots->start[run->part];
    area->share.value += run->sum;
    area->share.variance += part_variance(run->sum, run->sum2, count);
    run->all2 += run->sum2;
    run->sum = run->sum2 = 0.0;
}

/* Landing i lies on the area. */
static void tally_hit(led_area *area, running *run, const rare_shots *shots, size_t i, bool hurts)
{
    double w = shots->weight[i];
    while (i >= shots->start[run->part + 1]) {
        end_part(area, run, shots);
        run->part++;
    }
    run->broad += run->part < SHOTS_AIMED;
    run->sum += w;
    run->sum2 += w * w;
    area->share.hits++;
    area->share.heaviest = fmax(area->share.heaviest, w);
    if (hurts) area->hurting += w;
    for (int a = 0; a < 2; a++)
        area->x_m[a] += w * shots->x_m[i][a];
}

static void tally_end(led_area *area, running *run, const rare_shots *shots)
{
    pappus_rare_share *share = &area->share;
    end_part(area, run, shots);
    area->value = share->value;
    share->effective = run->all2 > 0.0 ? share->value * share->value / run->all2 : 0.0;
    for (int a = 0; a < 2; a++)
        area->x_m[a] = share->value > 0.0 ? area->x_m[a] / share->value : NAN;
}

/* Of the landings of one row. */
typedef struct {
    const rare_shots *shots;
    const double *east_m, *north_m;
    const float *speed_mps;
    led_area *areas;
    running *runs;
} row_tally;

/* Only the areas that may hold landing i are asked. */
static int tally_landing(row_tally *row, const led_task *task, size_t i, double mass_kg,
                         pappus_error *err)
{
    const uint32_t *about;
    size_t count = pappus_field_shapes_about(&about, task->shapes, row->east_m[i], row->north_m[i]);
    bool hurts = led_hurts(mass_kg, (double)row->speed_mps[i]);
    for (size_t j = 0; j < count; j++) {
        uint32_t k = about[j];
        uint8_t in;
        int status = pappus_containment_test(&in, task->shapes->keep_outs[k], 1, &row->east_m[i],
                                             &row->north_m[i], 1, err);
        if (status != PAPPUS_OK) return status;
        if (in) tally_hit(&row->areas[k], &row->runs[k], row->shots, i, hurts);
    }
    return PAPPUS_OK;
}

/* The chance that is known of what lies beyond the law's reach is part of every limit.
 * most: what an area that was passed over may have all the same, or one that is foreseen to be
 * all but out of reach and that next to nothing hits, wherever it is led. What is led to a
 * neighbour spills onto a corner of it, many light hits that tell nothing of the rest: it takes
 * FEW_HITS that were led all round. */
static void judge_share(pappus_rare_share *share, int aim, double most, size_t broad,
                        size_t landings)
{
    bool seen = aim >= 0 || most == 0.0 || broad >= FEW_HITS;
    double beyond = LAW_BEYOND / NO_EVENTS;
    bool unlikely = aim >= 0 && most < UNLIKELY && poor(share);
    if (aim == AIMS_OUT_OF_REACH && share->hits == 0) {
        *share = (pappus_rare_share){.landings = landings, .heaviest = beyond + most / NO_EVENTS};
        return;
    }
    /* hits that were all but certain add nothing that was not expected: of a count by Poisson's
     * law the variance is the sum of the squares, and what one more hit adds counts in full */
    double squares = share->effective > 0.0 ? share->value * share->value / share->effective : 0.0;
    if (squares > 0.0) share->heaviest *= fmin(share->variance / squares, 1.0);
    share->heaviest = fmax(share->heaviest, unlikely ? beyond + most / NO_EVENTS : beyond);
    bool speaks = unlikely || (aim != AIMS_NONE && seen && !poor(share));
    share->landings = speaks ? landings : 0;
}

/* Counted landings that tell enough speak in any row. */
static int aim_of(const led_aims *aims, const led_task *task, pappus_outcome outcome, size_t row,
                  size_t area)
{
    bool enough = task->hits[row].keep_out[area][outcome] >= AIMS_COUNTED;
    return enough ? AIMS_NONE : aims->aim_of[area];
}

static int tally_row(led_outcome *out, running *runs, const led_task *task, const led_aims *aims,
                     size_t r, pappus_error *err)
{
    const rare_shots *shots = &out->shots;
    size_t first = r * shots->count;
    row_tally row = {shots,
                     shots->east_m + first,
                     shots->north_m + first,
                     shots->speed_mps + first,
                     out->areas + r * out->area_count,
                     runs};
    double mass_kg = led_hurting_mass_kg(task->plan);
    int status = PAPPUS_OK;
    memset(runs, 0, out->area_count * sizeof *runs);
    for (size_t i = 0; i < shots->count && status == PAPPUS_OK; i++)
        status = tally_landing(&row, task, i, mass_kg, err);
    for (size_t k = 0; k < out->area_count && status == PAPPUS_OK; k++) {
        pappus_rare_share *share = &row.areas[k].share;
        int aim = aim_of(aims, task, out->outcome, r, k);
        tally_end(&row.areas[k], &runs[k], shots);
        judge_share(share, aim, led_aims_most(aims, out->area_count, r, k), runs[k].broad,
                    shots->count);
        out->unled += r == 0 && aims->aim_of[k] == AIMS_UNAIMED && share->landings == 0;
    }
    return status;
}

static int tally_areas(led_outcome *out, const led_task *task, const led_aims *aims,
                       pappus_error *err)
{
    running *runs = calloc(out->area_count + 1, sizeof *runs);
    int status = runs ? PAPPUS_OK : pappus_fail_memory(err);
    for (size_t r = 0; r < out->rows && out->area_count > 0 && status == PAPPUS_OK; r++)
        status = tally_row(out, runs, task, aims, r, err);
    free(runs);
    return status;
}

/* Of the first row. */
static void tally_all(led_outcome *out, const led_task *task)
{
    double mass_kg = led_hurting_mass_kg(task->plan), sum = 0.0;
    const rare_shots *shots = &out->shots;
    for (size_t i = 0; i < shots->count; i++) {
        sum += shots->weight[i];
        if (led_hurts(mass_kg, (double)shots->speed_mps[i])) out->hurting += shots->weight[i];
        for (int a = 0; a < 2; a++)
            out->mean_x_m[a] += shots->weight[i] * shots->x_m[i][a];
    }
    for (int a = 0; a < 2; a++)
        out->mean_x_m[a] /= sum;
    out->hurting /= sum;
}

int led_tally(led_outcome *out, const led_task *task, const led_aims *aims, pappus_error *err)
{
    int status = tally_areas(out, task, aims, err);
    if (status == PAPPUS_OK) tally_all(out, task);
    return status;
}
