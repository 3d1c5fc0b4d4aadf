/* SPDX-License-Identifier: GPL-3.0-or-later
 * Counting landings inside the field and on keep-outs; see hits.h. */
#include "hits.h"

#include "error.h"
#include "interval.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

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
    free(shapes);
}

static void add_up(size_t hits[PAPPUS_OUTCOMES], const uint8_t *in, const pappus_cloud *cloud)
{
    for (size_t i = 0; i < cloud->count; i++)
        hits[cloud->outcome[i]] += in[i];
}

/* One shape after the other: `in` says for each landing whether it is in the shape. */
static int count_shapes(pappus_hits *hits, uint8_t *in, const pappus_field_shapes *shapes,
                        const pappus_cloud *cloud, int threads, pappus_error *err)
{
    size_t n = cloud->count;
    if (shapes->boundary) {
        int status = pappus_containment_test(in, shapes->boundary, n, cloud->east_m, cloud->north_m,
                                             threads, err);
        if (status != PAPPUS_OK) return status;
        add_up(hits->inside, in, cloud);
        if (hits->inside_of && n > 0) memcpy(hits->inside_of, in, n);
    }
    for (size_t i = 0; hits->first_keep_out && i < n; i++)
        hits->first_keep_out[i] = -1;
    for (size_t k = 0; k < shapes->keep_out_count; k++) {
        int status = pappus_containment_test(in, shapes->keep_outs[k], n, cloud->east_m,
                                             cloud->north_m, threads, err);
        if (status != PAPPUS_OK) return status;
        add_up(hits->keep_out[k], in, cloud);
        for (size_t i = 0; hits->first_keep_out && i < n; i++)
            if (in[i] && hits->first_keep_out[i] < 0) hits->first_keep_out[i] = (int32_t)k;
    }
    return PAPPUS_OK;
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
    uint8_t *in = malloc(cloud->count + 1);
    int status = out->keep_out && in ? count_shapes(out, in, shapes, cloud, threads, err)
                                     : pappus_fail_memory(err);
    free(in);
    return status;
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
