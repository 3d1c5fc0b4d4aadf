/* SPDX-License-Identifier: GPL-3.0-or-later
 * Hits: how many landings of a cloud come down inside the field and on each keep-out
 * area, as counts, from which every share follows. Conventions: pappus.h. */
#ifndef PAPPUS_HITS_H
#define PAPPUS_HITS_H

#include <pappus/field.h>
#include <pappus/landings.h>

#ifdef __cplusplus
extern "C" {
#endif

/** Chance of an area given an outcome, from landings that were led there and weigh what
 * they are likely. */
typedef struct {
    size_t landings;                  /**< 0: none were led, what was counted speaks */
    size_t hits;                      /**< on the area */
    double value, variance, heaviest; /**< sum of the hits' weights; most that one weighs */
    double effective;                 /**< hits of equal weight that tell as much */
} pappus_rare_share;
typedef pappus_rare_share pappus_rare_shares[PAPPUS_OUTCOMES];

typedef struct {
    double probability[PAPPUS_OUTCOMES]; /**< the cloud's */
    size_t count[PAPPUS_OUTCOMES];       /**< landings */
    bool has_boundary;
    size_t inside[PAPPUS_OUTCOMES];
    size_t keep_out_count;
    size_t (*keep_out)[PAPPUS_OUTCOMES]; /**< per area; a landing may be on several */
    pappus_rare_shares *rare;            /**< per area; NULL: not looked for */
    uint8_t *inside_of;                  /**< per landing: 0, 1; NULL without a boundary */
    int32_t *first_keep_out;             /**< per landing: first area hit, -1 none */
} pappus_hits;

/** field NULL: no boundary and no keep-outs. threads 0: all. */
int pappus_hits_count(pappus_hits **out, const pappus_cloud *cloud, const pappus_field *field,
                      int threads, pappus_error *err);
void pappus_hits_free(pappus_hits *hits);

/** Chance of an area given an outcome: of led landings where there are any, else counted. */
pappus_estimate pappus_hits_keep_out_given(const pappus_hits *hits, size_t area,
                                           pappus_outcome outcome, double confidence);
/** A limit under this is too small for counted landings to clear: landings are led there. */
#define PAPPUS_COUNTED_LIMIT 1e-3
/** The limit of a keep-out area: its own, else limits.keep_out; NaN: none. field NULL: none
 * has its own. */
double pappus_keep_out_limit(const pappus_field *field, const pappus_plan *plan, size_t area);
/** Share over all outcomes. Inside: NaN without a boundary. */
pappus_estimate pappus_hits_inside(const pappus_hits *hits, double confidence);
pappus_estimate pappus_hits_keep_out(const pappus_hits *hits, size_t area, double confidence);

#ifdef __cplusplus
}
#endif
#endif
