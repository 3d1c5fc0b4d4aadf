/* SPDX-License-Identifier: GPL-3.0-or-later
 * The trade over main deployment heights, on common draws: every height is flown
 * on the same winds, canopies and apogees, so that two rows differ by the height
 * alone. Point estimates, never adaptive; for a keep-out's limit under PAPPUS_COUNTED_LIMIT
 * landings are led there (rare/rows.c), and it is met where their interval is under it. All main
 * heights move together and keep their offsets; a row is named by the highest.
 *
 *   u(h) = max( (1 - P_in)/(1 - bound_in), P_k/bound_k, P(full open < limit)/0.05 )
 *
 * is the largest share of a limit's allowed chance that the height uses up; what follows
 * from it stands in heights_choose.c. */
#include "heights.h"

#include "contour.h"
#include "decision.h"
#include "error.h"
#include "hits.h"
#include "rows.h"
#include "run.h"
#include "scatter.h"

#include <math.h>
#include <stdlib.h>

#define FULL_OPEN_CHANCE 0.05 /* limits.main_height is on the 5th percentile */
#define SEEN 3                /* landings on an area: fewer rank no heights, by chance alone (A) */
#define CONFIDENCE 0.95       /* of the intervals shown */
#define MAX_STEPS 200
#define MAX_ROWS (MAX_STEPS + 1) /* and the planned height */
#define LANDINGS_AT_ONCE 1000000 /* in memory: 60 MB */

double pappus_heights_planned_m(const pappus_plan *plan)
{
    double highest = NAN;
    for (size_t i = 0; i < plan->altimeter_count; i++)
        highest = fmax(highest, plan->altimeters[i].main_height_m);
    return highest;
}

/* What the rows are filled from. */
typedef struct {
    const pappus_givens *given;
    pappus_run run;
    const pappus_crews *crews;
    bool contours, led;
    pappus_field_shapes *shapes;
    pappus_heights *heights;
    size_t rows_done;
    pappus_error *err;
} trade_work;

/* Distance from a landing to the nearest post. */
static double walk_m(const pappus_cloud *cloud, size_t i, const pappus_crews *crews)
{
    double nearest2 = INFINITY;
    for (size_t k = 0; k < crews->post_count; k++) {
        double east = cloud->east_m[i] - crews->posts[k].east_m;
        double north = cloud->north_m[i] - crews->posts[k].north_m;
        nearest2 = fmin(nearest2, east * east + north * north);
    }
    return sqrt(nearest2);
}

static void means(pappus_height_row *row, const pappus_cloud *cloud, const pappus_crews *crews)
{
    double walk = 0.0;
    row->time_s = 0.0;
    for (size_t i = 0; i < cloud->count; i++) {
        double weight = pappus_cloud_weight(cloud, i);
        row->time_s += weight * (double)cloud->time_s[i];
        if (crews) walk += weight * walk_m(cloud, i, crews);
    }
    row->walk_m = crews && isfinite(walk) ? walk : NAN;
}

/* Chance, given the nominal outcome, that the main is full open too low. */
static double late_chance(const pappus_cloud *cloud, double limit_m)
{
    size_t late = 0, count = 0;
    for (size_t i = 0; i < cloud->count; i++) {
        if (cloud->outcome[i] != PAPPUS_NOMINAL) continue;
        count++;
        late += (double)cloud->main_full_open_m[i] < limit_m;
    }
    return count > 0 ? (double)late / (double)count : 0.0;
}

static void use_up(pappus_height_row *row, double use, pappus_limit_kind limit)
{
    if (!(use > row->use)) return;
    row->use = use;
    row->nearest = limit;
}

static double ratio(double part, double bound)
{
    return bound > 0.0 ? part / bound : part > 0.0 ? INFINITY : 0.0;
}

/* Landings on an area that tell of it, over all outcomes. */
static size_t landings_on(const pappus_hits *hits, size_t area)
{
    size_t count = 0;
    for (size_t h = 0; h < PAPPUS_OUTCOMES; h++) {
        const pappus_rare_share *rare = hits->rare ? &hits->rare[area][h] : NULL;
        count += rare && rare->landings > 0 ? rare->hits : hits->keep_out[area][h];
    }
    return count;
}

static void weigh(pappus_height_row *row, const pappus_cloud *cloud, const pappus_hits *hits,
                  const pappus_givens *given)
{
    const pappus_limits *limits = &given->plan->limits;
    row->use = -INFINITY;
    row->nearest = PAPPUS_LIMIT_NONE;
    if (!isnan(limits->inside_field) && !isnan(row->inside_field.value))
        use_up(row, ratio(1.0 - row->inside_field.value, 1.0 - limits->inside_field),
               PAPPUS_LIMIT_INSIDE_FIELD);
    for (size_t k = 0; k < row->keep_out_count; k++) {
        double limit = pappus_keep_out_limit(given->field, given->plan, k);
        if (!isnan(limit) && landings_on(hits, k) >= SEEN)
            use_up(row, ratio(row->keep_out[k].value, limit), PAPPUS_LIMIT_KEEP_OUT);
    }
    if (!isnan(limits->main_height_m))
        use_up(row, late_chance(cloud, limits->main_height_m) / FULL_OPEN_CHANCE,
               PAPPUS_LIMIT_MAIN_HEIGHT);
    if (row->use < 0.0) row->use = 0.0;
}

/* What is in the way at this height: a limit that another height may mend comes first. */
static void note_unmet(pappus_height_row *row, const pappus_judgement *judgement)
{
    row->broken = PAPPUS_LIMIT_NONE;
    row->unmet = 0;
    for (size_t i = 0; i < judgement->reason_count; i++) {
        const pappus_reason *reason = &judgement->reasons[i];
        if (reason->verdict == PAPPUS_MET) continue;
        unsigned bit = 1U << reason->limit;
        bool first = row->unmet == 0 || ((bit & MENDABLE) && !(row->unmet & MENDABLE));
        if (first) row->broken = reason->limit;
        row->unmet |= bit;
    }
}

/* Verdict of the row by point estimates, of limits that landings are led for by intervals, and
 * the first limit in the way. */
static int judge_row(pappus_height_row *row, const pappus_givens *given, const pappus_cloud *cloud,
                     const pappus_hits *hits, pappus_error *err)
{
    pappus_judgement *judgement = NULL;
    int status =
        pappus_judge(&judgement, given->plan, given->field, given->air, cloud, hits, 0.0, err);
    if (status != PAPPUS_OK) return status;
    row->verdict = judgement->decision == PAPPUS_GO      ? PAPPUS_MET
                   : judgement->decision == PAPPUS_NO_GO ? PAPPUS_BROKEN
                                                         : PAPPUS_UNDECIDED;
    note_unmet(row, judgement);
    pappus_judgement_free(judgement);
    return PAPPUS_OK;
}

static int take_shares(pappus_height_row *row, const pappus_hits *hits, pappus_error *err)
{
    row->inside_field = pappus_hits_inside(hits, CONFIDENCE);
    row->keep_out_count = hits->keep_out_count;
    row->keep_out = calloc(hits->keep_out_count + 1, sizeof *row->keep_out);
    if (!row->keep_out) return pappus_fail_memory(err);
    for (size_t k = 0; k < hits->keep_out_count; k++)
        row->keep_out[k] = pappus_hits_keep_out(hits, k, CONFIDENCE);
    return PAPPUS_OK;
}

/* The 5th percentile of the height where the main is full open, given nominal. */
static int find_full_open(pappus_height_row *row, const pappus_cloud *cloud,
                          const pappus_sample *nominal, pappus_error *err)
{
    size_t count = 0;
    pappus_weighted *pairs = malloc((nominal->count + 1) * sizeof *pairs);
    if (!pairs) return pappus_fail_memory(err);
    for (size_t i = 0; i < nominal->count; i++) {
        double height_m = (double)cloud->main_full_open_m[nominal->index[i]];
        if (!isnan(height_m)) pairs[count++] = (pappus_weighted){height_m, 1.0};
    }
    row->full_open_p05_m = pappus_weighted_quantile(pairs, count, FULL_OPEN_CHANCE);
    free(pairs);
    return PAPPUS_OK;
}

static int draw_zone(pappus_height_row *row, const pappus_cloud *cloud, bool contours, int threads,
                     pappus_error *err)
{
    pappus_strata strata;
    double mean_m[2], covariance_m2[2][2];
    int status = pappus_strata_build(&strata, cloud, err);
    if (status != PAPPUS_OK) return status;
    pappus_sample all = pappus_strata_all(&strata);
    pappus_sample nominal = pappus_strata_outcome(&strata, PAPPUS_NOMINAL);
    pappus_sample_moments(mean_m, covariance_m2, cloud, &all);
    row->mean_east_m = mean_m[0];
    row->mean_north_m = mean_m[1];
    status = find_full_open(row, cloud, &nominal, err);
    if (status == PAPPUS_OK && contours) {
        status = pappus_contours_build(row->contours, NULL, cloud, &strata, PAPPUS_GRID_COARSE,
                                       threads, err);
        if (status == PAPPUS_OK) row->contour_count = PAPPUS_LEVELS;
    }
    pappus_strata_clear(&strata);
    return status;
}

static int fill_row(pappus_height_row *row, const trade_work *work, const pappus_cloud *cloud,
                    const pappus_hits *hits, int threads, pappus_error *err)
{
    int status = take_shares(row, hits, err);
    if (status == PAPPUS_OK) status = judge_row(row, work->given, cloud, hits, err);
    if (status == PAPPUS_OK) status = draw_zone(row, cloud, work->contours, threads, err);
    if (status == PAPPUS_OK) {
        means(row, cloud, work->crews);
        weigh(row, cloud, hits, work->given);
    }
    return status;
}

static int count_rows(size_t *count, const pappus_plan *plan, pappus_error *err)
{
    double steps = floor((plan->heights_to_m - plan->heights_from_m) / plan->heights_step_m + 1e-9);
    if (!(steps >= 0.0) || steps >= MAX_STEPS)
        return pappus_fail(err, PAPPUS_E_FLIGHT, plan->path, "heights", NULL,
                           "accepted are from <= to with a step that makes at most %d heights",
                           MAX_STEPS);
    *count = (size_t)steps + 1;
    return PAPPUS_OK;
}

static int tell_progress(trade_work *work, size_t rows)
{
    work->rows_done += rows;
    return pappus_run_progress(
        &work->run, (double)work->rows_done / (double)work->heights->row_count, work->err);
}

/* Rows that are in memory at once. */
typedef struct {
    size_t first, count;
    double shift_m[MAX_ROWS];
    pappus_cloud *clouds[MAX_ROWS];
    pappus_hits hits[MAX_ROWS];
} row_batch;

static void clear_batch(row_batch *batch)
{
    for (size_t i = 0; i < batch->count; i++) {
        pappus_cloud_free(batch->clouds[i]);
        pappus_hits_clear(&batch->hits[i]);
    }
}

/* Their clouds, on common draws. */
static int fly_rows(row_batch *batch, const trade_work *work)
{
    const pappus_heights *heights = work->heights;
    pappus_scatter_options options = PAPPUS_SCATTER_OPTIONS_INIT;
    options.run = work->run;
    options.run.progress = NULL;
    if (work->run.stratum_minimum > 0.0) options.stratum_minimum = work->run.stratum_minimum;
    for (size_t i = 0; i < batch->count; i++)
        batch->shift_m[i] = heights->rows[batch->first + i].height_m - heights->planned_m;
    return pappus_scatter_shifts(batch->clouds, batch->count, batch->shift_m, work->given->plan,
                                 work->given->air, &options, work->err);
}

typedef int (*row_job)(row_batch *batch, const trade_work *work, size_t i, int threads,
                       pappus_error *err);

static int count_row(row_batch *batch, const trade_work *work, size_t i, int threads,
                     pappus_error *err)
{
    return pappus_hits_of_shapes(&batch->hits[i], work->shapes, batch->clouds[i], threads, err);
}

static int finish_row(row_batch *batch, const trade_work *work, size_t i, int threads,
                      pappus_error *err)
{
    return fill_row(&work->heights->rows[batch->first + i], work, batch->clouds[i], &batch->hits[i],
                    threads, err);
}

/* Rows are shared out among the threads; threads that are left help inside a row. */
static int each_row(row_batch *batch, const trade_work *work, row_job job)
{
    int threads = pappus_threads(work->run.threads);
    int outer = (size_t)threads < batch->count ? threads : (int)batch->count;
    pappus_error errors[MAX_ROWS] = {{0}};
    int status = PAPPUS_OK;
#pragma omp parallel for schedule(dynamic) num_threads(outer)
    for (size_t i = 0; i < batch->count; i++)
        job(batch, work, i, threads / outer, &errors[i]);
    for (size_t i = 0; i < batch->count && status == PAPPUS_OK; i++)
        if (errors[i].code != PAPPUS_OK)
            status = pappus_fail(work->err, errors[i].code, errors[i].file, errors[i].key,
                                 errors[i].value, "%s", errors[i].message);
    return status;
}

static int trade_batch(row_batch *batch, const trade_work *work)
{
    int status = fly_rows(batch, work);
    if (status == PAPPUS_OK) status = each_row(batch, work, count_row);
    if (status == PAPPUS_OK && work->led)
        status = rare_rows_lead(batch->hits, batch->count, batch->shift_m, work->given,
                                work->shapes, &work->run, work->err);
    return status == PAPPUS_OK ? each_row(batch, work, finish_row) : status;
}

/* As many rows at once as memory is meant to hold. */
static int trade_rows(trade_work *work)
{
    size_t rows = work->heights->row_count;
    size_t at_once = LANDINGS_AT_ONCE / (work->run.landings + 1) + 1;
    int status = PAPPUS_OK;
    for (size_t first = 0; first < rows && status == PAPPUS_OK; first += at_once) {
        row_batch batch = {.first = first,
                           .count = rows - first < at_once ? rows - first : at_once};
        status = trade_batch(&batch, work);
        clear_batch(&batch);
        if (status == PAPPUS_OK) status = tell_progress(work, batch.count);
    }
    return status;
}

/* The plan's steps, and the planned height in its place among them; room for both. */
static void set_heights(pappus_heights *heights, const pappus_plan *plan)
{
    size_t steps = heights->row_count, count = 0;
    bool placed = isnan(heights->planned_m);
    for (size_t i = 0; i < steps; i++) {
        double height_m = plan->heights_from_m + (double)i * plan->heights_step_m;
        placed = placed || fabs(height_m - heights->planned_m) <= SAME_HEIGHT_M;
        if (!placed && height_m > heights->planned_m) {
            heights->rows[count++].height_m = heights->planned_m;
            placed = true;
        }
        heights->rows[count++].height_m = height_m;
    }
    if (!placed) heights->rows[count++].height_m = heights->planned_m;
    heights->row_count = count;
    for (size_t i = 0; i < count; i++)
        heights->rows[i].above_apogee = heights->rows[i].height_m >= plan->apogee.height_m.mean;
}

static int trade(pappus_heights *heights, const pappus_givens *given, const pappus_run *run,
                 const pappus_crews *crews, bool contours, bool led, pappus_error *err)
{
    const pappus_plan *plan = given->plan;
    trade_work work = {.given = given,
                       .run = pappus_run_of_plan(run, plan),
                       .crews = crews,
                       .contours = contours,
                       .led = led,
                       .heights = heights,
                       .err = err};
    heights->planned_m = pappus_heights_planned_m(plan);
    set_heights(heights, plan);
    int status = pappus_field_shapes_new(&work.shapes, given->field, err);
    if (status == PAPPUS_OK) status = trade_rows(&work);
    pappus_field_shapes_free(work.shapes);
    if (status != PAPPUS_OK) return status;
    pappus_heights_conclude(heights);
    return PAPPUS_OK;
}

static int find(pappus_heights **out, const pappus_givens *given, const pappus_run *run,
                const pappus_crews *crews, bool contours, bool led, pappus_error *err)
{
    size_t count = 0;
    *out = NULL;
    int status = count_rows(&count, given->plan, err);
    if (status != PAPPUS_OK) return status;
    pappus_heights *heights = calloc(1, sizeof *heights);
    if (!heights) return pappus_fail_memory(err);
    heights->rows = calloc(count + 1, sizeof *heights->rows);
    heights->row_count = heights->rows ? count : 0;
    status = heights->rows ? trade(heights, given, run, crews, contours, led, err)
                           : pappus_fail_memory(err);
    if (status != PAPPUS_OK) {
        pappus_heights_free(heights);
        return status;
    }
    *out = heights;
    return PAPPUS_OK;
}

int pappus_heights_trade(pappus_heights **out, const pappus_givens *given, const pappus_run *run,
                         const pappus_crews *crews, pappus_error *err)
{
    return find(out, given, run, crews, true, true, err);
}

int pappus_heights_count(pappus_heights **out, const pappus_givens *given, const pappus_run *run,
                         bool led, pappus_error *err)
{
    return find(out, given, run, NULL, false, led, err);
}

int pappus_heights_list(double **heights_m, size_t *count, const pappus_plan *plan,
                        pappus_error *err)
{
    pappus_heights heights = {.planned_m = pappus_heights_planned_m(plan)};
    *heights_m = NULL;
    int status = count_rows(&heights.row_count, plan, err);
    if (status != PAPPUS_OK) return status;
    heights.rows = calloc(heights.row_count + 1, sizeof *heights.rows);
    *heights_m = calloc(heights.row_count + 1, sizeof **heights_m);
    if (heights.rows && *heights_m) {
        set_heights(&heights, plan);
        *count = heights.row_count;
        for (size_t i = 0; i < heights.row_count; i++)
            (*heights_m)[i] = heights.rows[i].height_m;
        free(heights.rows);
        return PAPPUS_OK;
    }
    free(heights.rows);
    free(*heights_m);
    *heights_m = NULL;
    return pappus_fail_memory(err);
}

double pappus_height_worst_keep_out(const pappus_height_row *row)
{
    double worst = NAN;
    for (size_t k = 0; k < row->keep_out_count; k++)
        worst = fmax(worst, row->keep_out[k].value);
    return worst;
}

void pappus_heights_free(pappus_heights *heights)
{
    if (!heights) return;
    for (size_t i = 0; i < heights->row_count; i++) {
        free(heights->rows[i].keep_out);
        if (heights->rows[i].contour_count > 0) pappus_contours_clear(heights->rows[i].contours);
    }
    free(heights->rows);
    free(heights);
}
