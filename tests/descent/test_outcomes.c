/* SPDX-License-Identifier: GPL-3.0-or-later
 * Chances of the outcomes: the code enumerates all combinations; here stand the
 * closed formulas that they must add up to, and a second, plain enumeration for
 * plans the formulas do not cover. */
#include "outcomes.h"
#include "suite.h"
#include "uncertain.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Chance of each outcome: the sum over all combinations. */
static void outcome_probabilities(double out[PAPPUS_OUTCOMES], const pappus_plan *plan)
{
    for (int h = 0; h < PAPPUS_OUTCOMES; h++)
        out[h] = 0.0;
    for (unsigned i = 0; i < pappus_case_count(plan); i++) {
        pappus_case c = pappus_case_of(plan, i);
        out[c.outcome] += c.probability;
    }
}

typedef struct {
    pappus_plan plan;
    pappus_altimeter altimeters[PAPPUS_ALTIMETERS_MOST + 1];
} rocket;

/* Two canopies; every altimeter fires both events. */
static void set_rocket(rocket *r, size_t altimeters, const double *works, double d, double m,
                       double e)
{
    *r = (rocket){.plan.altimeter_count = altimeters, .plan.faults = {d, m, e, 0.0}};
    r->plan.altimeters = r->altimeters;
    r->plan.drogue.present = r->plan.main.present = true;
    for (size_t a = 0; a < altimeters; a++)
        r->altimeters[a] = (pappus_altimeter){.main_height_m = 200.0, .works = works[a]};
}

static double sum(const double p[PAPPUS_OUTCOMES])
{
    double total = 0.0;
    for (int h = 0; h < PAPPUS_OUTCOMES; h++)
        total += p[h];
    return total;
}

static const struct {
    size_t altimeters;
    double works[4], d, m, e, n;
} grid[] = {
    {1, {0.995}, 0.01, 0.01, 0.005, 0.0},
    {2, {0.995, 0.995}, 0.01, 0.01, 0.005, 0.003},
    {2, {0.9, 0.8}, 0.3, 0.2, 0.1, 0.4},
    {3, {0.5, 0.6, 0.7}, 0.05, 0.4, 0.25, 0.1},
    {4, {1.0, 0.2, 0.3, 0.4}, 0.0, 1.0, 0.5, 0.2},
    {2, {0.0, 0.0}, 0.5, 0.5, 0.5, 0.5},
    {1, {1.0}, 0.0, 0.0, 0.0, 1.0},
};

START_TEST(enumeration_gives_the_formulas)
{
    rocket r;
    double p[PAPPUS_OUTCOMES], none = 1.0;
    double d = grid[_i].d, m = grid[_i].m, e = grid[_i].e;
    set_rocket(&r, grid[_i].altimeters, grid[_i].works, d, m, e);
    r.plan.faults.no_power = grid[_i].n;
    for (size_t a = 0; a < grid[_i].altimeters; a++)
        none *= 1.0 - grid[_i].works[a];
    double R = (1.0 - grid[_i].n) * (1.0 - none);
    outcome_probabilities(p, &r.plan);
    ck_assert_double_eq_tol(p[PAPPUS_NOMINAL], R * (1 - e) * (1 - d) * (1 - m), 1e-14);
    ck_assert_double_eq_tol(p[PAPPUS_MAIN_AT_APOGEE], R * e * (1 - m), 1e-14);
    ck_assert_double_eq_tol(p[PAPPUS_DROGUE_ONLY], R * (1 - d) * m, 1e-14);
    ck_assert_double_eq_tol(p[PAPPUS_MAIN_ONLY], R * (1 - e) * d * (1 - m), 1e-14);
    ck_assert_double_eq_tol(p[PAPPUS_NO_CANOPY], 1.0 - R + R * d * m, 1e-14);
    ck_assert_double_eq_tol(sum(p), 1.0, 1e-14);
}
END_TEST

/* One canopy: R (1 - fails) or nothing, by the failure chance of its own kind. */
START_TEST(single_canopy_has_two_outcomes)
{
    static const double works[] = {0.9, 0.8};
    for (int kind = 0; kind < 3; kind++) {
        rocket r;
        double p[PAPPUS_OUTCOMES];
        set_rocket(&r, 2, works, 0.1, 0.2, 0.3);
        r.plan.drogue.present = kind == 0;
        r.plan.main.present = kind != 0;
        if (kind == 2) r.altimeters[0].main_height_m = r.altimeters[1].main_height_m = NAN;
        outcome_probabilities(p, &r.plan);
        double opens = 0.98 * (kind == 0 ? 0.9 : 0.8);
        ck_assert_double_eq_tol(p[PAPPUS_NOMINAL], opens, 1e-14);
        ck_assert_double_eq_tol(p[PAPPUS_NO_CANOPY], 1.0 - opens, 1e-14);
        ck_assert_double_eq_tol(sum(p), 1.0, 1e-14);
    }
}
END_TEST

/* A backup that fires the drogue alone: when the primary is dead the main stays in.
 * Plain sums over the four patterns. */
START_TEST(altimeter_without_main_height_leaves_the_main)
{
    static const double works[] = {0.9, 0.8};
    rocket r;
    double p[PAPPUS_OUTCOMES];
    set_rocket(&r, 2, works, 0.1, 0.2, 0.0);
    r.altimeters[1].main_height_m = NAN;
    outcome_probabilities(p, &r.plan);
    ck_assert_double_eq_tol(p[PAPPUS_NOMINAL], 0.9 * 0.9 * 0.8, 1e-14);
    ck_assert_double_eq_tol(p[PAPPUS_MAIN_ONLY], 0.9 * 0.1 * 0.8, 1e-14);
    ck_assert_double_eq_tol(p[PAPPUS_DROGUE_ONLY], 0.9 * (0.9 * 0.2 + 0.1 * 0.8), 1e-14);
    ck_assert_double_eq_tol(sum(p), 1.0, 1e-14);
}
END_TEST

/* The motor's charge fires the drogue event when the altimeter is dead; A: it works
 * with 0.995, as an altimeter. */
START_TEST(motor_charge_backs_up_the_apogee_event)
{
    static const double works[] = {0.9};
    rocket r;
    double p[PAPPUS_OUTCOMES];
    set_rocket(&r, 1, works, 0.0, 0.0, 0.0);
    r.plan.motor_delay_s = pappus_exact(1.0);
    outcome_probabilities(p, &r.plan);
    ck_assert_double_eq_tol(p[PAPPUS_NOMINAL], 0.9, 1e-14);
    ck_assert_double_eq_tol(p[PAPPUS_DROGUE_ONLY], 0.1 * 0.995, 1e-14);
    ck_assert_double_eq_tol(p[PAPPUS_NO_CANOPY], 0.1 * 0.005, 1e-14);
    r.plan.faults.no_power = 0.25; /* the motor's charge needs none */
    outcome_probabilities(p, &r.plan);
    ck_assert_double_eq_tol(p[PAPPUS_NOMINAL], 0.75 * 0.9, 1e-14);
    ck_assert_double_eq_tol(p[PAPPUS_DROGUE_ONLY], (1.0 - 0.75 * 0.9) * 0.995, 1e-14);
    r.plan.altimeter_count = 0;
    r.plan.main.present = false;
    outcome_probabilities(p, &r.plan);
    ck_assert_double_eq_tol(p[PAPPUS_NOMINAL], 0.995, 1e-14);
}
END_TEST

/* Share of picks, uniform numbers on a fine grid, for which a case is like this. */
static double share(const pappus_case_table *table, pappus_outcome outcome, unsigned works,
                    bool fires)
{
    const int n = 100000;
    int hits = 0;
    for (int i = 0; i < n; i++) {
        const pappus_case *c = pappus_case_pick(table, outcome, (i + 0.5) / n);
        ck_assert_int_eq(c->outcome, outcome);
        hits += c->works == works && c->apogee_fires == fires;
    }
    return (double)hits / n;
}

/* Bayes: P(pattern | outcome) = P(pattern and outcome) / P(outcome). */
START_TEST(patterns_within_an_outcome_are_conditional)
{
    static const double works[] = {0.9, 0.8};
    const double d = 0.3, m = 0.2, R = 0.98;
    rocket r;
    pappus_case_table table;
    set_rocket(&r, 2, works, d, m, 0.1);
    ck_assert_int_eq(pappus_case_table_build(&table, &r.plan, NULL), PAPPUS_OK);
    ck_assert_double_eq_tol(share(&table, PAPPUS_NOMINAL, 3, true), 0.72 / R, 1e-4);
    ck_assert_double_eq_tol(share(&table, PAPPUS_NOMINAL, 1, true), 0.18 / R, 1e-4);
    ck_assert_double_eq_tol(share(&table, PAPPUS_MAIN_ONLY, 2, true), 0.08 / R, 1e-4);
    double none = 0.02 + R * d * m;
    ck_assert_double_eq_tol(share(&table, PAPPUS_NO_CANOPY, 0, false), 0.02 / none, 1e-4);
    ck_assert_double_eq_tol(share(&table, PAPPUS_NO_CANOPY, 3, true), 0.72 * d * m / none, 1e-4);
    const pappus_case *likeliest = pappus_case_pick(&table, PAPPUS_NOMINAL, 0.0);
    ck_assert_uint_eq(likeliest->works, 3);
    pappus_case_table_clear(&table);
}
END_TEST

/* In `main at apogee` the drogue fails with its own chance. */
START_TEST(drogue_may_fail_beside_an_early_main)
{
    static const double works[] = {1.0};
    rocket r;
    pappus_case_table table;
    int without = 0;
    set_rocket(&r, 1, works, 0.3, 0.2, 0.1);
    ck_assert_int_eq(pappus_case_table_build(&table, &r.plan, NULL), PAPPUS_OK);
    for (int i = 0; i < 10000; i++) {
        const pappus_case *c = pappus_case_pick(&table, PAPPUS_MAIN_AT_APOGEE, (i + 0.5) / 10000);
        ck_assert_int_eq(c->main, PAPPUS_MAIN_EARLY);
        without += !c->drogue_opens;
    }
    ck_assert_int_eq(without, 3000);
    pappus_case_table_clear(&table);
}
END_TEST

START_TEST(too_many_altimeters_is_an_error)
{
    static const double works[PAPPUS_ALTIMETERS_MOST + 1] = {0.0};
    rocket r;
    pappus_case_table table;
    pappus_error error = {0};
    set_rocket(&r, PAPPUS_ALTIMETERS_MOST + 1, works, 0.0, 0.0, 0.0);
    ck_assert_int_eq(pappus_case_table_build(&table, &r.plan, &error), PAPPUS_E_FLIGHT);
    ck_assert_ptr_nonnull(strstr(error.message, "9 altimeters"));
}
END_TEST

/* The bytes of a result depend on the order of the table: by outcome, the likeliest first, and
 * equal chances by what works, whatever the sorting routine does. */
START_TEST(the_order_of_cases_is_fixed)
{
    static const double works[] = {0.5, 0.5, 0.5};
    rocket r;
    pappus_case_table table;
    size_t ties = 0, falls = 0;
    set_rocket(&r, 3, works, 0.3, 0.2, 0.1);
    ck_assert_int_eq(pappus_case_table_build(&table, &r.plan, NULL), PAPPUS_OK);
    for (int h = 0; h < PAPPUS_OUTCOMES; h++)
        for (size_t i = table.start[h]; i < table.start[h + 1]; i++) {
            const pappus_case *c = &table.cases[i], *before = c - 1;
            ck_assert_int_eq(c->outcome, h);
            if (i == table.start[h]) continue;
            ck_assert_double_le(c->probability, before->probability);
            falls += c->probability < before->probability;
            if (c->probability < before->probability) continue;
            ck_assert_uint_le(c->works, before->works);
            ties += c->works < before->works;
        }
    ck_assert_uint_gt(ties, 10);
    ck_assert_uint_gt(falls, 3);
    pappus_case_table_clear(&table);
}
END_TEST

SUITE("outcomes")
{
    tcase_add_loop_test(tests, enumeration_gives_the_formulas, 0, sizeof grid / sizeof *grid);
    tcase_add_test(tests, single_canopy_has_two_outcomes);
    tcase_add_test(tests, altimeter_without_main_height_leaves_the_main);
    tcase_add_test(tests, motor_charge_backs_up_the_apogee_event);
    tcase_add_test(tests, patterns_within_an_outcome_are_conditional);
    tcase_add_test(tests, drogue_may_fail_beside_an_early_main);
    tcase_add_test(tests, too_many_altimeters_is_an_error);
    tcase_add_test(tests, the_order_of_cases_is_fixed);
}
