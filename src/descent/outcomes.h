/* SPDX-License-Identifier: GPL-3.0-or-later
 * What may happen to the deployment: every combination of working altimeters and
 * faults, which outcome it is, and how to draw one of an outcome's. */
#ifndef PAPPUS_DESCENT_OUTCOMES_H
#define PAPPUS_DESCENT_OUTCOMES_H

#include <pappus/landings.h>

#define PAPPUS_ALTIMETERS_MOST 8

/** When the canopy that the plan calls main comes out. */
typedef enum { PAPPUS_MAIN_STAYS, PAPPUS_MAIN_LATE, PAPPUS_MAIN_EARLY } pappus_main_event;

/** One combination, reduced to what the fall is made of. */
typedef struct {
    unsigned works;    /**< bit a: altimeter a works */
    bool motor;        /**< the motor's own ejection charge works */
    bool apogee_fires; /**< some apogee event fires */
    bool drogue_opens;
    pappus_main_event main;
    pappus_outcome outcome;
    double probability;
} pappus_case;

/** Number of combinations of a plan; 0 when it has too many altimeters. */
unsigned pappus_case_count(const pappus_plan *plan);
/** Combination `number`, 0 <= number < pappus_case_count. Probabilities sum to 1. */
pappus_case pappus_case_of(const pappus_plan *plan, unsigned number);

/** The combinations that can happen, by outcome, the likeliest first. */
typedef struct {
    pappus_case *cases;
    size_t start[PAPPUS_OUTCOMES + 1];
    double probability[PAPPUS_OUTCOMES];
} pappus_case_table;

int pappus_case_table_build(pappus_case_table *out, const pappus_plan *plan, pappus_error *err);
void pappus_case_table_clear(pappus_case_table *table);
/** Draws one of an outcome's combinations by a uniform number in (0, 1); the
 * likeliest for 0. The outcome must have a probability above zero. */
const pappus_case *pappus_case_pick(const pappus_case_table *table, pappus_outcome outcome,
                                    double uniform);

#endif
