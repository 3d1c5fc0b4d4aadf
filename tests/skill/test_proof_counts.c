/* SPDX-License-Identifier: GPL-3.0-or-later
 * What the flights of a proof come to, counted by hand: ranks laid out evenly are inside the
 * contour of p in a share of p; a flight whose winds are not known counts nowhere. */
#include "proof.h"
#include "suite.h"

#include <math.h>
#include <stdlib.h>

#define FLIGHTS 200
#define UNKNOWN 7

static void lay_rank(proof_outcome *o, int kind, double rank)
{
    o->rank[kind] = rank;
    for (int l = 0; l < PAPPUS_LEVELS; l++)
        o->held[kind][l] = rank < pappus_levels[l];
}

/* Wilson's interval of 95 % by its formula (Newcombe, Statistics in Medicine 17:857, 1998): these
 * flights go to and fro from day to day, so that the days make it no wider. */
static void check_interval(pappus_estimate share, double n)
{
    const double z = 1.959963984540054, p = share.value;
    double reach = z * sqrt(p * (1.0 - p) / n + z * z / (4.0 * n * n)), over = 1.0 + z * z / n;
    ck_assert_double_eq_tol(share.low, (p + z * z / (2.0 * n) - reach) / over, 1e-9);
    ck_assert_double_eq_tol(share.high, (p + z * z / (2.0 * n) + reach) / over, 1e-9);
}

START_TEST(even_ranks_are_inside_in_their_share)
{
    pappus_plan plan = {.limits.inside_field = 0.95};
    proof_trial trials[FLIGHTS + UNKNOWN];
    proof_outcome outcomes[FLIGHTS + UNKNOWN];
    proof_work work = {
        .plan = &plan, .count = FLIGHTS + UNKNOWN, .trials = trials, .outcomes = outcomes};
    pappus_proof *proof = calloc(1, sizeof *proof);
    proof->coverage = calloc(ZONES * PAPPUS_LEVELS, sizeof *proof->coverage);
    for (int i = 0; i < FLIGHTS + UNKNOWN; i++) {
        trials[i] = (proof_trial){.day = i};
        outcomes[i] = (proof_outcome){.known = i < FLIGHTS};
        for (int kind = 0; kind < ZONES;
             kind++) /* scattered over the days: 77 and 200 are coprime */
            lay_rank(&outcomes[i], kind, (i * 77 % FLIGHTS + 0.5) / FLIGHTS);
    }
    ck_assert_int_eq(proof_count(proof, &work, NULL), PAPPUS_OK);
    ck_assert_uint_eq(proof->pairs, FLIGHTS);
    ck_assert_uint_eq(proof->sparse, UNKNOWN);
    ck_assert_uint_eq(proof->coverage_count, ZONES * PAPPUS_LEVELS);
    for (size_t c = 0; c < proof->coverage_count; c++) {
        const pappus_skill_coverage *one = &proof->coverage[c];
        ck_assert_uint_eq(one->pairs, FLIGHTS);
        ck_assert_double_eq_tol(one->share.value, one->level, 1e-12);
        ck_assert(one->share.low < one->level && one->level < one->share.high);
        check_interval(one->share, FLIGHTS);
    }
    for (int bin = 0; bin < PAPPUS_SKILL_RANKS; bin++)
        ck_assert_uint_eq(proof->ranks[0][bin], FLIGHTS / PAPPUS_SKILL_RANKS);
    pappus_proof_free(proof);
}
END_TEST

SUITE("proof counts")
{
    tcase_add_test(tests, even_ranks_are_inside_in_their_share);
}
