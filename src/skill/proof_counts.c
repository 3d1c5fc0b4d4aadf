/* SPDX-License-Identifier: GPL-3.0-or-later
 * What the flights of a proof come to: shares inside the contours, ranks, and how often a
 * chance inside the field came true.
 *
 * The share inside has a Wilson interval of as many single flights as the pairs are worth: n
 * over the design effect, the variance of the pairs' shares by blocks of days (blocks.h), never
 * under that of pairs alone, over that of n single flights, and no more than all are. */
#include "proof.h"

#include "blocks.h"
#include "error.h"

#include <math.h>
#include <stdlib.h>

#define CONFIDENCE 0.95

/* The pairs that were tried are in order of time; of the flights of pair i held[i] were inside. */
static pappus_estimate share_of(const proof_work *work, const double *held, size_t *pairs,
                                double *sums)
{
    size_t n = 0, days = 0;
    double hits = 0.0, alone = 0.0;
    long day = 0;
    for (size_t i = 0; i < work->count; i++) {
        n += work->outcomes[i].known;
        hits += work->outcomes[i].known ? held[i] : 0.0;
    }
    *pairs = n;
    if (n == 0) return (pappus_estimate){NAN, NAN, NAN};
    double p = hits / (double)n, variance, effect = 1.0;
    for (size_t i = 0; i < work->count; i++) {
        if (!work->outcomes[i].known) continue;
        if (days == 0 || work->trials[i].day != day) sums[days++] = 0.0;
        day = work->trials[i].day;
        sums[days - 1] += held[i] - p;
        alone += (held[i] - p) * (held[i] - p);
    }
    pappus_block_covariance(&variance, sums, days, 1);
    if (alone > 0.0)
        effect = fmax(fmax(alone, variance) / ((double)n * p * (1.0 - p)), 1.0 / PROOF_FLIGHTS);
    return pappus_wilson(hits / effect, (double)n / effect, CONFIDENCE);
}

static void count_coverage(pappus_proof *out, const proof_work *work, double *held, double *sums)
{
    for (int kind = 0; kind < ZONES; kind++)
        for (int l = 0; l < PAPPUS_LEVELS; l++) {
            pappus_skill_coverage *c = &out->coverage[out->coverage_count++];
            for (size_t i = 0; i < work->count; i++)
                held[i] = work->outcomes[i].held[kind][l];
            *c = (pappus_skill_coverage){.level = pappus_levels[l],
                                         .reading = kind & WITH_READING,
                                         .learned = !(kind & AS_PLANNED)};
            c->share = share_of(work, held, &c->pairs, sums);
        }
}

static void count_ranks(pappus_proof *out, const proof_work *work)
{
    for (size_t i = 0; i < work->count; i++) {
        if (!work->outcomes[i].known) continue;
        for (int kind = 0; kind < 2; kind++) {
            int bin = (int)(work->outcomes[i].rank[kind] * PAPPUS_SKILL_RANKS);
            out->ranks[kind][bin < PAPPUS_SKILL_RANKS ? bin : PAPPUS_SKILL_RANKS - 1]++;
        }
    }
}

static void count_reliability(pappus_proof *out, const proof_work *work)
{
    size_t inside[RELIABILITY_BINS] = {0};
    double bound = work->plan->limits.inside_field;
    if (!work->boundary) return;
    out->reliability_count = RELIABILITY_BINS;
    for (size_t i = 0; i < work->count; i++) {
        const proof_outcome *o = &work->outcomes[i];
        if (!o->known) continue;
        int bin = (int)fmin(o->said * RELIABILITY_BINS, RELIABILITY_BINS - 1);
        out->reliability[bin].said += o->said;
        out->reliability[bin].pairs++;
        inside[bin] += o->inside;
        out->go += o->said >= bound;
        out->go_outside += o->said >= bound && !o->inside;
    }
    for (int b = 0; b < RELIABILITY_BINS; b++) {
        pappus_skill_reliability *r = &out->reliability[b];
        r->from = (double)b / RELIABILITY_BINS;
        r->to = (double)(b + 1) / RELIABILITY_BINS;
        r->said = r->pairs ? r->said / (double)r->pairs : NAN;
        r->inside = pappus_wilson((double)inside[b], (double)r->pairs, CONFIDENCE);
    }
}

int proof_count(pappus_proof *out, const proof_work *work, pappus_error *err)
{
    double *held = malloc((work->count + 1) * sizeof *held);
    double *sums = malloc((work->count + 1) * sizeof *sums);
    int status = held && sums ? PAPPUS_OK : pappus_fail_memory(err);
    for (size_t i = 0; i < work->count; i++) {
        out->pairs += work->outcomes[i].known;
        out->sparse += !work->outcomes[i].known;
    }
    if (status == PAPPUS_OK && out->pairs == 0)
        status = pappus_fail(err, PAPPUS_E_WIND, NULL, NULL, NULL,
                             "no pair of winds is known from the ground to the apogee");
    if (status == PAPPUS_OK) {
        count_coverage(out, work, held, sums);
        count_ranks(out, work);
        count_reliability(out, work);
    }
    free(held);
    free(sums);
    return status;
}
