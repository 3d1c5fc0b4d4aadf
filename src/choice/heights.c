/* SPDX-License-Identifier: GPL-3.0-or-later
 * The trade over main deployment heights, on common draws: every height is flown
 * on the same winds, canopies and apogees, so that two rows differ by the height
 * alone. Point estimates, never adaptive. All main heights move together and keep
 * their offsets; a row is named by the highest.
 *
 *   u(h) = max( (1 - P_in)/(1 - bound_in), P_k/bound_k, P(full open < limit)/0.05 )
 *
 * is the largest share of a limit that the height uses up. Recommended: the least u
 * among the heights that meet every limit; within 0.02 of it, the highest. */
#include "contour.h"
#include "decision.h"
#include "error.h"
#include "scatter.h"

#include <math.h>
#include <omp.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define TIE 0.02              /* of u: closer is the same */
#define FULL_OPEN_CHANCE 0.05 /* limits.main_height is on the 5th percentile */
#define CONFIDENCE 0.95       /* of the intervals shown */
#define MAX_ROWS 200
#define LANDINGS_AT_ONCE 1000000 /* in memory: 60 MB */
#define REASON_SIZE 200

static double planned_height_m(const pappus_plan *plan)
{
    double highest = NAN;
    for (size_t i = 0; i < plan->altimeter_count; i++)
        highest = fmax(highest, plan->altimeters[i].main_height_m);
    return highest;
}

/* What the rows are filled from. */
typedef struct {
    const pappus_situation *situation;
    const pappus_crews *crews;
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

static void weigh(pappus_height_row *row, const pappus_cloud *cloud, const pappus_limits *limits)
{
    row->use = -INFINITY;
    if (!isnan(limits->inside_field) && !isnan(row->inside_field.value))
        use_up(row, ratio(1.0 - row->inside_field.value, 1.0 - limits->inside_field),
               PAPPUS_LIMIT_INSIDE_FIELD);
    for (size_t k = 0; k < row->keep_out_count && !isnan(limits->keep_out); k++)
        use_up(row, ratio(row->keep_out[k], limits->keep_out), PAPPUS_LIMIT_KEEP_OUT);
    if (!isnan(limits->main_height_m))
        use_up(row, late_chance(cloud, limits->main_height_m) / FULL_OPEN_CHANCE,
               PAPPUS_LIMIT_MAIN_HEIGHT);
    if (row->use < 0.0) row->use = 0.0;
}

/* Verdict of the row by point estimates; the first limit in the way, if any. */
static int judge_row(pappus_height_row *row, const pappus_situation *situation,
                     const pappus_cloud *cloud, const pappus_hits *hits, pappus_error *err)
{
    pappus_judgement *judgement = NULL;
    int status = pappus_judge_hits(&judgement, situation->plan, situation->field, situation->air,
                                   cloud, hits, 0.0, err);
    if (status != PAPPUS_OK) return status;
    row->verdict = judgement->decision == PAPPUS_GO      ? PAPPUS_MET
                   : judgement->decision == PAPPUS_NO_GO ? PAPPUS_BROKEN
                                                         : PAPPUS_UNDECIDED;
    for (size_t i = 0; i < judgement->reason_count && !row->broken; i++)
        if (judgement->reasons[i].verdict == row->verdict && row->verdict != PAPPUS_MET)
            row->broken = judgement->reasons[i].limit;
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
        row->keep_out[k] = pappus_hits_keep_out(hits, k, CONFIDENCE).value;
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

static int draw_zone(pappus_height_row *row, const pappus_cloud *cloud, int threads,
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
    if (status == PAPPUS_OK)
        status = pappus_contours_build(row->contours, NULL, cloud, &strata, threads, err);
    if (status == PAPPUS_OK) row->contour_count = PAPPUS_LEVELS;
    pappus_strata_clear(&strata);
    return status;
}

static int fill_row(pappus_height_row *row, const trade_work *work, const pappus_cloud *cloud,
                    int threads, pappus_error *err)
{
    pappus_hits hits = {0};
    int status = pappus_hits_count(&hits, NULL, NULL, work->shapes, cloud, threads, err);
    if (status == PAPPUS_OK) status = take_shares(row, &hits, err);
    if (status == PAPPUS_OK) status = judge_row(row, work->situation, cloud, &hits, err);
    if (status == PAPPUS_OK) status = draw_zone(row, cloud, threads, err);
    if (status == PAPPUS_OK) {
        means(row, cloud, work->crews);
        weigh(row, cloud, &work->situation->plan->limits);
    }
    pappus_hits_clear(&hits);
    return status;
}

static bool allowed(const pappus_height_row *row)
{
    return row->verdict == PAPPUS_MET && !row->above_apogee;
}

static void recommend(pappus_heights *heights)
{
    double least = INFINITY;
    heights->recommended_m = NAN;
    for (size_t i = 0; i < heights->row_count; i++)
        if (allowed(&heights->rows[i])) least = fmin(least, heights->rows[i].use);
    for (size_t i = 0; i < heights->row_count; i++) {
        const pappus_height_row *row = &heights->rows[i];
        if (!allowed(row) || row->use > least + TIE) continue;
        heights->recommended_m = row->height_m; /* rows ascend: the highest stays */
        heights->recommended_row = i;
    }
}

static char *sentence(const char *format, const char *word, double a, double b)
{
    char text[REASON_SIZE];
    snprintf(text, sizeof text, format, word, 100.0 * a, 100.0 * b);
    return strdup(text);
}

static char *why_not(const pappus_height_row *row, const pappus_height_row *chosen, bool higher)
{
    if (row->above_apogee) return sentence("it is not below the apogee", "", 0.0, 0.0);
    if (row->verdict == PAPPUS_BROKEN)
        return sentence("it breaks the limit %s", pappus_limit_text(row->broken), 0.0, 0.0);
    if (row->verdict == PAPPUS_UNDECIDED)
        return sentence("%s is undecided there", pappus_limit_text(row->broken), 0.0, 0.0);
    if (row->use > chosen->use)
        return sentence("it uses up more of %s (%.0f %% against %.0f %%)",
                        pappus_limit_text(row->nearest), row->use, chosen->use);
    return sentence(higher ? "it is no better"
                           : "it is hardly better, and leaves the main less room to open",
                    "", 0.0, 0.0);
}

static int explain(pappus_heights *heights, pappus_error *err)
{
    size_t r = heights->recommended_row;
    if (isnan(heights->recommended_m)) {
        const pappus_height_row *best = &heights->rows[0];
        for (size_t i = 1; i < heights->row_count; i++)
            if (!heights->rows[i].above_apogee && heights->rows[i].use < best->use)
                best = &heights->rows[i];
        if (best->above_apogee) {
            heights->why_none = strdup("no height is below the apogee");
            return heights->why_none ? PAPPUS_OK : pappus_fail_memory(err);
        }
        heights->why_none =
            sentence(best->verdict == PAPPUS_BROKEN
                         ? "no height meets every limit; the closest breaks %s"
                         : "no height meets every limit; at the closest, %s is undecided",
                     pappus_limit_text(best->broken), 0.0, 0.0);
        return heights->why_none ? PAPPUS_OK : pappus_fail_memory(err);
    }
    const pappus_height_row *chosen = &heights->rows[r];
    if (r > 0) heights->why_not_lower = why_not(chosen - 1, chosen, false);
    if (r + 1 < heights->row_count) heights->why_not_higher = why_not(chosen + 1, chosen, true);
    if ((r > 0 && !heights->why_not_lower) ||
        (r + 1 < heights->row_count && !heights->why_not_higher))
        return pappus_fail_memory(err);
    return PAPPUS_OK;
}

static int count_rows(size_t *count, const pappus_plan *plan, pappus_error *err)
{
    double steps = floor((plan->heights_to_m - plan->heights_from_m) / plan->heights_step_m + 1e-9);
    if (!(steps >= 0.0) || steps >= MAX_ROWS)
        return pappus_fail(err, PAPPUS_E_FLIGHT, plan->path, "heights", NULL,
                           "accepted are from <= to with a step that makes at most %d heights",
                           MAX_ROWS);
    *count = (size_t)steps + 1;
    return PAPPUS_OK;
}

static int tell_progress(trade_work *work, size_t rows)
{
    const pappus_situation *situation = work->situation;
    work->rows_done += rows;
    double fraction = (double)work->rows_done / (double)work->heights->row_count;
    if (!situation->progress || situation->progress(situation->progress_context, fraction) == 0)
        return PAPPUS_OK;
    return pappus_fail(work->err, PAPPUS_E_STOPPED, NULL, NULL, NULL, "stopped");
}

/* Clouds of rows [first, first + count), on common draws. */
static int fly_rows(pappus_cloud **clouds, const trade_work *work, size_t first, size_t count)
{
    const pappus_situation *situation = work->situation;
    const pappus_heights *heights = work->heights;
    pappus_scatter_options options = PAPPUS_SCATTER_OPTIONS_INIT;
    double shift_m[MAX_ROWS];
    options.landings = situation->plan->landings;
    options.seed = situation->plan->seed;
    options.threads = situation->threads;
    for (size_t i = 0; i < count; i++)
        shift_m[i] = heights->rows[first + i].height_m - heights->planned_m;
    return pappus_scatter_shifts(clouds, count, shift_m, situation->plan, situation->air, &options,
                                 work->err);
}

/* Rows are shared out among the threads; threads that are left help inside a row. */
static int fill_rows(const trade_work *work, pappus_cloud *const *clouds, size_t first,
                     size_t count)
{
    int threads = work->situation->threads > 0 ? work->situation->threads : omp_get_max_threads();
    int outer = (size_t)threads < count ? threads : (int)count;
    pappus_error errors[MAX_ROWS] = {{0}};
    int status = PAPPUS_OK;
#pragma omp parallel for schedule(dynamic) num_threads(outer)
    for (size_t i = 0; i < count; i++)
        fill_row(&work->heights->rows[first + i], work, clouds[i], threads / outer, &errors[i]);
    for (size_t i = 0; i < count && status == PAPPUS_OK; i++)
        if (errors[i].code != PAPPUS_OK)
            status = pappus_fail(work->err, errors[i].code, errors[i].file, errors[i].key,
                                 errors[i].value, "%s", errors[i].message);
    return status;
}

/* As many rows at once as memory is meant to hold. */
static int trade_rows(trade_work *work)
{
    pappus_cloud *clouds[MAX_ROWS];
    size_t rows = work->heights->row_count;
    size_t at_once = LANDINGS_AT_ONCE / (work->situation->plan->landings + 1) + 1;
    int status = PAPPUS_OK;
    for (size_t first = 0; first < rows && status == PAPPUS_OK; first += at_once) {
        size_t count = rows - first < at_once ? rows - first : at_once;
        status = fly_rows(clouds, work, first, count);
        if (status != PAPPUS_OK) return status;
        status = fill_rows(work, clouds, first, count);
        for (size_t i = 0; i < count; i++) pappus_cloud_free(clouds[i]);
        if (status == PAPPUS_OK) status = tell_progress(work, count);
    }
    return status;
}

static int trade(pappus_heights *heights, const pappus_situation *situation,
                 const pappus_crews *crews, pappus_error *err)
{
    const pappus_plan *plan = situation->plan;
    trade_work work = {.situation = situation, .crews = crews, .heights = heights, .err = err};
    heights->planned_m = planned_height_m(plan);
    for (size_t i = 0; i < heights->row_count; i++) {
        pappus_height_row *row = &heights->rows[i];
        row->height_m = plan->heights_from_m + (double)i * plan->heights_step_m;
        row->above_apogee = row->height_m >= plan->apogee.height_m.mean;
    }
    int status = pappus_field_shapes_new(&work.shapes, situation->field, err);
    if (status == PAPPUS_OK) status = trade_rows(&work);
    pappus_field_shapes_free(work.shapes);
    if (status != PAPPUS_OK) return status;
    recommend(heights);
    return explain(heights, err);
}

int pappus_heights_trade(pappus_heights **out, const pappus_situation *situation,
                         const pappus_crews *crews, pappus_error *err)
{
    size_t count = 0;
    *out = NULL;
    int status = count_rows(&count, situation->plan, err);
    if (status != PAPPUS_OK) return status;
    pappus_heights *heights = calloc(1, sizeof *heights);
    if (!heights) return pappus_fail_memory(err);
    heights->rows = calloc(count, sizeof *heights->rows);
    heights->row_count = heights->rows ? count : 0;
    status = heights->rows ? trade(heights, situation, crews, err) : pappus_fail_memory(err);
    if (status != PAPPUS_OK) {
        pappus_heights_free(heights);
        return status;
    }
    *out = heights;
    return PAPPUS_OK;
}

void pappus_heights_free(pappus_heights *heights)
{
    if (!heights) return;
    for (size_t i = 0; i < heights->row_count; i++) {
        free(heights->rows[i].keep_out);
        if (heights->rows[i].contour_count > 0) pappus_contours_clear(heights->rows[i].contours);
    }
    free(heights->rows);
    free(heights->why_not_lower);
    free(heights->why_not_higher);
    free(heights->why_none);
    free(heights);
}
