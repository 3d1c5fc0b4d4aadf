/* SPDX-License-Identifier: GPL-3.0-or-later
 * Counting landings inside the field and on keep-outs; see hits.h. */
#include "hits.h"

#include "error.h"
#include "interval.h"
#include "run.h"

#include <math.h>
#include <omp.h>
#include <stdlib.h>
#include <string.h>

#define SIDE_MOST 512
#define ENTRIES_MOST 16     /* of areas in cells, on average of the areas */
#define WORTH_THREADS 32768 /* landings; fewer are done before a busy machine wakes a thread */

/* ------------------------------------------------------------------- index */

/* Bounds of the areas that hold points; false when none does. */
static bool bounds_of_all(double all[4], const pappus_field_shapes *shapes)
{
    bool any = false;
    memcpy(all, (double[]){INFINITY, INFINITY, -INFINITY, -INFINITY}, 4 * sizeof *all);
    for (size_t k = 0; k < shapes->keep_out_count; k++) {
        double one[4];
        if (!pappus_containment_bounds(one, shapes->keep_outs[k])) continue;
        any = true;
        for (int i = 0; i < 2; i++) {
            all[i] = fmin(all[i], one[i]);
            all[i + 2] = fmax(all[i + 2], one[i + 2]);
        }
    }
    return any;
}

/* Never falls as x rises, so a place within bounds lies in a cell of those bounds. */
static size_t along(double x, double low, double per_cell, size_t side)
{
    double at = (x - low) * per_cell;
    return at <= 0.0 ? 0 : at >= (double)side ? side - 1 : (size_t)at;
}

/* Entries of area k: counted, into start[cell + 2] where there is one, or put in their places. */
static size_t enter_area(pappus_area_index *index, const pappus_containment *area, size_t k,
                         bool put)
{
    double b[4];
    if (!pappus_containment_bounds(b, area)) return 0;
    size_t west = along(b[0], index->west_m, index->per_east, index->side);
    size_t east = along(b[2], index->west_m, index->per_east, index->side);
    size_t south = along(b[1], index->south_m, index->per_north, index->side);
    size_t north = along(b[3], index->south_m, index->per_north, index->side);
    for (size_t row = south; index->start && row <= north; row++)
        for (size_t cell = row * index->side + west; cell <= row * index->side + east; cell++) {
            if (put)
                index->area[index->start[cell + 1]++] = (uint32_t)k;
            else
                index->start[cell + 2]++;
        }
    return (east - west + 1) * (north - south + 1);
}

static size_t enter_areas(pappus_field_shapes *shapes, bool put)
{
    size_t entries = 0;
    for (size_t k = 0; k < shapes->keep_out_count; k++)
        entries += enter_area(&shapes->index, shapes->keep_outs[k], k, put);
    return entries;
}

/* About as many cells as areas, fewer where areas lie over each other. Sorted by counting, as
 * edges are in a containment. */
static int build_index(pappus_field_shapes *shapes, pappus_error *err)
{
    pappus_area_index *index = &shapes->index;
    double b[4];
    if (!bounds_of_all(b, shapes)) return PAPPUS_OK;
    size_t entries, side = (size_t)ceil(2.0 * sqrt((double)shapes->keep_out_count));
    index->west_m = b[0];
    index->south_m = b[1];
    for (side = side < SIDE_MOST ? side : SIDE_MOST;; side /= 2) {
        index->side = side;
        index->per_east = (double)side / fmax(b[2] - b[0], 1e-9);
        index->per_north = (double)side / fmax(b[3] - b[1], 1e-9);
        entries = enter_areas(shapes, false);
        if (side == 1 || entries <= ENTRIES_MOST * shapes->keep_out_count) break;
    }
    index->start = calloc(side * side + 2, sizeof *index->start);
    index->area = malloc(entries * sizeof *index->area);
    if (!index->start || !index->area) return pappus_fail_memory(err);
    enter_areas(shapes, false);
    for (size_t c = 2; c < side * side + 2; c++)
        index->start[c] += index->start[c - 1];
    enter_areas(shapes, true);
    return PAPPUS_OK;
}

int pappus_field_shapes_new(pappus_field_shapes **out, const pappus_field *field, pappus_error *err)
{
    *out = NULL;
    size_t areas = field ? field->keep_out_count : 0;
    pappus_field_shapes *shapes = calloc(1, sizeof *shapes);
    if (!shapes) return pappus_fail_memory(err);
    shapes->keep_outs = calloc(areas + 1, sizeof *shapes->keep_outs);
    int status = shapes->keep_outs ? PAPPUS_OK : pappus_fail_memory(err);
    if (status == PAPPUS_OK && field && field->has_boundary)
        status = pappus_containment_new(&shapes->boundary, &field->boundary, err);
    for (size_t k = 0; k < areas && status == PAPPUS_OK; k++) {
        status = pappus_containment_new(&shapes->keep_outs[k], &field->keep_outs[k], err);
        if (status == PAPPUS_OK) shapes->keep_out_count++;
    }
    if (status == PAPPUS_OK) status = build_index(shapes, err);
    if (status != PAPPUS_OK) {
        pappus_field_shapes_free(shapes);
        return status;
    }
    *out = shapes;
    return PAPPUS_OK;
}

void pappus_field_shapes_free(pappus_field_shapes *shapes)
{
    if (!shapes) return;
    pappus_containment_free(shapes->boundary);
    for (size_t k = 0; k < shapes->keep_out_count; k++)
        pappus_containment_free(shapes->keep_outs[k]);
    free(shapes->keep_outs);
    free(shapes->index.start);
    free(shapes->index.area);
    free(shapes);
}

/* ---------------------------------------------------------------- counting */

static void add_up(size_t hits[PAPPUS_OUTCOMES], const uint8_t *in, const pappus_cloud *cloud)
{
    for (size_t i = 0; i < cloud->count; i++)
        hits[cloud->outcome[i]] += in[i];
}

static int count_inside(pappus_hits *hits, const pappus_field_shapes *shapes,
                        const pappus_cloud *cloud, int threads, pappus_error *err)
{
    uint8_t *in = hits->inside_of ? hits->inside_of : malloc(cloud->count + 1);
    if (!in) return pappus_fail_memory(err);
    int status = pappus_containment_test(in, shapes->boundary, cloud->count, cloud->east_m,
                                         cloud->north_m, threads, err);
    if (status == PAPPUS_OK) add_up(hits->inside, in, cloud);
    if (in != hits->inside_of) free(in);
    return status;
}

size_t pappus_field_shapes_about(const uint32_t **areas, const pappus_field_shapes *shapes,
                                 double east_m, double north_m)
{
    const pappus_area_index *index = &shapes->index;
    *areas = NULL;
    if (index->side == 0 || !isfinite(east_m) || !isfinite(north_m)) return 0;
    size_t cell = along(north_m, index->south_m, index->per_north, index->side) * index->side +
                  along(east_m, index->west_m, index->per_east, index->side);
    *areas = index->area + index->start[cell];
    return index->start[cell + 1] - index->start[cell];
}

typedef size_t outcome_counts[PAPPUS_OUTCOMES];

/* The areas that may hold landing i are asked one after the other, the first first. */
static int count_landing(outcome_counts *counts, int32_t *first, const pappus_field_shapes *shapes,
                         const pappus_cloud *cloud, size_t i, pappus_error *err)
{
    const uint32_t *areas;
    double east = cloud->east_m[i], north = cloud->north_m[i];
    size_t count = pappus_field_shapes_about(&areas, shapes, east, north);
    for (size_t at = 0; at < count; at++) {
        uint32_t k = areas[at];
        uint8_t in;
        int status = pappus_containment_test(&in, shapes->keep_outs[k], 1, &east, &north, 1, err);
        if (status != PAPPUS_OK) return status;
        counts[k][cloud->outcome[i]] += in;
        if (in && first && *first < 0) *first = (int32_t)k;
    }
    return PAPPUS_OK;
}

static int count_range(outcome_counts *counts, pappus_hits *hits, const pappus_field_shapes *shapes,
                       const pappus_cloud *cloud, size_t begin, size_t end, pappus_error *err)
{
    int status = PAPPUS_OK;
    for (size_t i = begin; i < end && status == PAPPUS_OK; i++)
        status = count_landing(counts, hits->first_keep_out ? &hits->first_keep_out[i] : NULL,
                               shapes, cloud, i, err);
    return status;
}

/* One thread's share, counted by itself; sums of whole numbers. */
static int count_share(pappus_hits *hits, const pappus_field_shapes *shapes,
                       const pappus_cloud *cloud, pappus_error *err)
{
    size_t team = (size_t)omp_get_num_threads(), mine = (size_t)omp_get_thread_num();
    size_t begin = mine * cloud->count / team, end = (mine + 1) * cloud->count / team;
    outcome_counts *counts = calloc(hits->keep_out_count, sizeof *counts);
    if (!counts) return pappus_fail_memory(err);
    int status = count_range(counts, hits, shapes, cloud, begin, end, err);
#pragma omp critical(pappus_hits_counts)
    for (size_t k = 0; k < hits->keep_out_count; k++)
        for (int h = 0; h < PAPPUS_OUTCOMES; h++)
            hits->keep_out[k][h] += counts[k][h];
    free(counts);
    return status;
}

static int count_keep_outs(pappus_hits *hits, const pappus_field_shapes *shapes,
                           const pappus_cloud *cloud, int threads, pappus_error *err)
{
    int failed = PAPPUS_OK;
    if (shapes->index.side == 0) return PAPPUS_OK;
    threads = pappus_threads(threads);
    if (threads == 1 || cloud->count < WORTH_THREADS)
        return count_range(hits->keep_out, hits, shapes, cloud, 0, cloud->count, err);
#pragma omp parallel num_threads(threads)
    {
        pappus_error one = {0};
        int status = count_share(hits, shapes, cloud, &one);
        if (status != PAPPUS_OK) {
#pragma omp critical(pappus_hits_failed)
            failed = pappus_fail(err, status, NULL, NULL, NULL, "%s", one.message);
        }
    }
    return failed;
}

static int count_shapes(pappus_hits *hits, const pappus_field_shapes *shapes,
                        const pappus_cloud *cloud, int threads, pappus_error *err)
{
    int status = PAPPUS_OK;
    for (size_t i = 0; hits->first_keep_out && i < cloud->count; i++)
        hits->first_keep_out[i] = -1;
    if (shapes->boundary) status = count_inside(hits, shapes, cloud, threads, err);
    return status == PAPPUS_OK ? count_keep_outs(hits, shapes, cloud, threads, err) : status;
}

static int count_hits(pappus_hits *out, const pappus_field_shapes *shapes,
                      const pappus_cloud *cloud, int threads, pappus_error *err)
{
    out->has_boundary = shapes->boundary != NULL;
    out->keep_out_count = shapes->keep_out_count;
    memcpy(out->probability, cloud->probability, sizeof out->probability);
    for (size_t i = 0; i < cloud->count; i++)
        out->count[cloud->outcome[i]]++;
    out->keep_out = calloc(shapes->keep_out_count + 1, sizeof *out->keep_out);
    return out->keep_out ? count_shapes(out, shapes, cloud, threads, err) : pappus_fail_memory(err);
}

int pappus_hits_of_shapes(pappus_hits *out, const pappus_field_shapes *shapes,
                          const pappus_cloud *cloud, int threads, pappus_error *err)
{
    *out = (pappus_hits){0};
    int status = count_hits(out, shapes, cloud, threads, err);
    if (status != PAPPUS_OK) pappus_hits_clear(out);
    return status;
}

int pappus_hits_count(pappus_hits **out, const pappus_cloud *cloud, const pappus_field *field,
                      int threads, pappus_error *err)
{
    pappus_field_shapes *shapes = NULL;
    *out = NULL;
    pappus_hits *hits = calloc(1, sizeof *hits);
    if (!hits) return pappus_fail_memory(err);
    bool bounded = field && field->has_boundary;
    if (bounded) hits->inside_of = malloc(cloud->count + 1);
    hits->first_keep_out = malloc((cloud->count + 1) * sizeof *hits->first_keep_out);
    int status =
        hits->first_keep_out && (hits->inside_of || !bounded) ? PAPPUS_OK : pappus_fail_memory(err);
    if (status == PAPPUS_OK) status = pappus_field_shapes_new(&shapes, field, err);
    if (status == PAPPUS_OK) status = count_hits(hits, shapes, cloud, threads, err);
    pappus_field_shapes_free(shapes);
    if (status == PAPPUS_OK)
        *out = hits;
    else
        pappus_hits_free(hits);
    return status;
}

void pappus_hits_clear(pappus_hits *hits)
{
    free(hits->keep_out);
    free(hits->rare);
    free(hits->inside_of);
    free(hits->first_keep_out);
    *hits = (pappus_hits){0};
}

void pappus_hits_free(pappus_hits *hits)
{
    if (hits) pappus_hits_clear(hits);
    free(hits);
}

pappus_estimate pappus_hits_inside(const pappus_hits *hits, double confidence)
{
    if (!hits->has_boundary) return (pappus_estimate){NAN, NAN, NAN};
    return pappus_share_estimate(hits->probability, hits->count, hits->inside, confidence);
}

pappus_estimate pappus_hits_keep_out_given(const pappus_hits *hits, size_t area,
                                           pappus_outcome outcome, double confidence)
{
    const pappus_rare_share *rare = hits->rare ? &hits->rare[area][outcome] : NULL;
    if (rare && rare->landings > 0)
        return pappus_weighted_estimate(rare->value, rare->variance, rare->heaviest, confidence);
    return pappus_wilson((double)hits->keep_out[area][outcome], (double)hits->count[outcome],
                         confidence);
}

pappus_estimate pappus_hits_keep_out(const pappus_hits *hits, size_t area, double confidence)
{
    pappus_estimate strata[PAPPUS_OUTCOMES];
    for (int h = 0; h < PAPPUS_OUTCOMES; h++)
        strata[h] = pappus_hits_keep_out_given(hits, area, (pappus_outcome)h, confidence);
    return pappus_strata_estimate(hits->probability, strata);
}

double pappus_keep_out_limit(const pappus_field *field, const pappus_plan *plan, size_t area)
{
    double own = field && field->keep_out_limit ? field->keep_out_limit[area] : NAN;
    return isnan(own) ? plan->limits.keep_out : own;
}
