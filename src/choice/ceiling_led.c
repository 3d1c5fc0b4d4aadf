/* SPDX-License-Identifier: GPL-3.0-or-later
 * Both ends of the range are tried by led landings: a limit is met where the whole interval is
 * under it. Where an end is not, it is drawn in by bisection towards the other end, or towards
 * the middle where neither is. A wind that breaks a limit between two that meet it is missed,
 * as one is by the scan. */
#include "ceiling_led.h"

#include "decision.h"
#include "rows.h"

#define CONFIDENCE 0.95

bool ceiling_has_strict(const pappus_givens *given)
{
    size_t areas = given->field ? given->field->keep_out_count : 0;
    for (size_t k = 0; k < areas; k++)
        if (pappus_keep_out_limit(given->field, given->plan, k) < PAPPUS_COUNTED_LIMIT) return true;
    return false;
}

static void judge(ceiling_verdict *out, const pappus_givens *given, const pappus_hits *hits)
{
    *out = (ceiling_verdict){true, true, PAPPUS_LIMIT_NONE, 0};
    for (size_t k = 0; k < hits->keep_out_count && out->go; k++) {
        double bound = pappus_keep_out_limit(given->field, given->plan, k);
        if (!(bound < PAPPUS_COUNTED_LIMIT)) continue;
        pappus_estimate e = pappus_hits_keep_out(hits, k, CONFIDENCE);
        if (pappus_verdict_of(&e, bound, false) == PAPPUS_MET) continue;
        *out = (ceiling_verdict){false, true, PAPPUS_LIMIT_KEEP_OUT, k};
    }
}

static int ask(ceiling_verdict *out, ceiling_question *q, size_t step, pappus_error *err)
{
    const double no_shift_m = 0.0;
    const pappus_cloud *cloud;
    pappus_variant windy;
    pappus_hits hits = {0};
    pappus_variant_begin(&windy, &q->based.changed);
    int status = ceiling_cloud(&cloud, q, step, err);
    if (status == PAPPUS_OK) status = ceiling_air(&windy, q, step, CEILING_PLANNED, err);
    if (status == PAPPUS_OK)
        status = pappus_hits_of_shapes(&hits, q->shapes, cloud, q->run.threads, err);
    if (status == PAPPUS_OK)
        status = rare_rows_lead(&hits, 1, &no_shift_m, &windy.changed, q->shapes, &q->run, err);
    if (status == PAPPUS_OK) judge(out, q->given, &hits);
    pappus_hits_clear(&hits);
    pappus_variant_end(&windy);
    return status;
}

/* Between a wind that is go and one that is not: the last that is, beside one that is not. */
static int draw_in(size_t *go, size_t no_go, ceiling_verdict *why, ceiling_question *q,
                   pappus_error *err)
{
    while (*go + 1 < no_go || no_go + 1 < *go) {
        ceiling_verdict verdict;
        size_t middle = (*go + no_go) / 2;
        int status = ask(&verdict, q, middle, err);
        if (status != PAPPUS_OK) return status;
        if (verdict.go) {
            *go = middle;
            continue;
        }
        no_go = middle;
        *why = verdict;
    }
    return PAPPUS_OK;
}

int ceiling_lead(ceiling_led_range *range, ceiling_question *q, pappus_error *err)
{
    ceiling_verdict low, high, middle = {.go = false};
    size_t go = range->last;
    int status = ask(&high, q, range->last, err);
    if (status == PAPPUS_OK) status = ask(&low, q, range->first, err);
    if (status != PAPPUS_OK) return status;
    if (!high.go) go = range->first;
    if (!high.go && !low.go) {
        go = (range->first + range->last) / 2;
        status = ask(&middle, q, go, err);
    }
    range->go = high.go || low.go || middle.go;
    range->lowered = range->go && !high.go;
    range->why = high;
    if (status != PAPPUS_OK || !range->go) return status;
    size_t first = low.go ? range->first : go, last = go;
    if (!low.go) status = draw_in(&first, range->first, &low, q, err);
    if (!high.go && status == PAPPUS_OK) status = draw_in(&last, range->last, &range->why, q, err);
    range->first = first;
    range->last = last;
    return status;
}
