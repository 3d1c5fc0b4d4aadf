/* SPDX-License-Identifier: GPL-3.0-or-later
 * Outcomes by enumeration of everything that either happens or does not: the
 * altimeters have power (arming, battery: one cause for all), each of them works,
 * the motor's ejection charge works (where the plan has a motor_delay), the drogue
 * fails, the main fails, the main comes out early.
 * Independent of each other, exact, at most 2^13 combinations.
 *
 * Two canopies. Any working altimeter, and the motor, fires the apogee event; a
 * working altimeter with a main_height fires the main. Then
 *
 *   nothing fires                    no canopy
 *   main early, main does not fail   main at apogee (the drogue may fail)
 *   main fires, does not fail        nominal, or main only when the drogue fails
 *   main not fired, or it fails      drogue only, or no canopy when the drogue fails
 *
 * and where every altimeter has a main_height and there is no motor charge, with
 * R = (1 - no power)(1 - prod(1 - works)), d, m, e = drogue fails, main fails, main early:
 *
 *   nominal R(1-e)(1-d)(1-m)   main at apogee R e (1-m)   drogue only R(1-d)m
 *   main only R(1-e)d(1-m)     no canopy (1-R) + R d m
 *
 * One canopy. A main whose altimeters have a main_height opens there (late
 * release); any other opens at the apogee event. It has the outcomes nominal and
 * no canopy, and the failure chance of its own kind; coming out early is not
 * reckoned, nor is a drogue's main_height.
 *
 * Stops being right: other common causes (packing, one wiring fault), which make
 * failures together likelier than independence says. */
#include "outcomes.h"

#include "error.h"

#include <math.h>
#include <stdlib.h>

/* Chance that a motor's ejection charge fires: as an altimeter (our assumption). */
#define MOTOR_WORKS 0.995

#define FAULT_BITS 4 /* no power, drogue fails, main fails, main early */

const char *pappus_outcome_text(pappus_outcome outcome)
{
    static const char *const texts[PAPPUS_OUTCOMES] = {
#define TEXT(name, text) text,
        PAPPUS_OUTCOME_LIST(TEXT)
#undef TEXT
    };
    return (unsigned)outcome < PAPPUS_OUTCOMES ? texts[outcome] : "unknown outcome";
}

unsigned pappus_case_count(const pappus_plan *plan)
{
    if (plan->altimeter_count > PAPPUS_ALTIMETERS_MOST) return 0;
    unsigned motor = pappus_is_present(plan->motor_delay_s) ? 1 : 0;
    return 1U << ((unsigned)plan->altimeter_count + motor + FAULT_BITS);
}

/* Takes the lowest bit off *bits; multiplies *probability by its chance. */
static bool event(unsigned *bits, double chance, double *probability)
{
    bool happens = *bits & 1U;
    *bits >>= 1;
    *probability *= happens ? chance : 1.0 - chance;
    return happens;
}

static bool any_main_height(const pappus_plan *plan, unsigned works)
{
    for (size_t a = 0; a < plan->altimeter_count; a++)
        if ((works >> a & 1U) && isfinite(plan->altimeters[a].main_height_m)) return true;
    return false;
}

static void open_two(pappus_case *c, bool fires_main, bool drogue_fails, bool main_fails,
                     bool main_early)
{
    c->drogue_opens = c->apogee_fires && !drogue_fails;
    if (c->apogee_fires && !main_fails && main_early)
        c->main = PAPPUS_MAIN_EARLY;
    else if (fires_main && !main_fails)
        c->main = PAPPUS_MAIN_LATE;
    if (c->main == PAPPUS_MAIN_EARLY)
        c->outcome = PAPPUS_MAIN_AT_APOGEE;
    else if (c->main == PAPPUS_MAIN_LATE)
        c->outcome = c->drogue_opens ? PAPPUS_NOMINAL : PAPPUS_MAIN_ONLY;
    else
        c->outcome = c->drogue_opens ? PAPPUS_DROGUE_ONLY : PAPPUS_NO_CANOPY;
}

static void open_one(pappus_case *c, const pappus_plan *plan, bool fires_main, bool fails)
{
    bool late = plan->main.present && any_main_height(plan, ~0U);
    bool opens = (late ? fires_main : c->apogee_fires) && !fails;
    if (plan->main.present && opens) c->main = late ? PAPPUS_MAIN_LATE : PAPPUS_MAIN_EARLY;
    c->drogue_opens = plan->drogue.present && opens;
    c->outcome = opens ? PAPPUS_NOMINAL : PAPPUS_NO_CANOPY;
}

pappus_case pappus_case_of(const pappus_plan *plan, unsigned number)
{
    pappus_case c = {.probability = 1.0, .main = PAPPUS_MAIN_STAYS};
    for (size_t a = 0; a < plan->altimeter_count; a++)
        if (event(&number, plan->altimeters[a].works, &c.probability)) c.works |= 1U << a;
    if (pappus_is_present(plan->motor_delay_s))
        c.motor = event(&number, MOTOR_WORKS, &c.probability);
    bool powerless = event(&number, plan->faults.no_power, &c.probability);
    if (powerless) c.works = 0;
    bool drogue_fails = event(&number, plan->faults.drogue_fails, &c.probability);
    bool main_fails = event(&number, plan->faults.main_fails, &c.probability);
    bool main_early = event(&number, plan->faults.main_early, &c.probability);
    bool fires_main = any_main_height(plan, c.works);
    c.apogee_fires = c.works != 0 || c.motor;
    if (plan->drogue.present && plan->main.present)
        open_two(&c, fires_main, drogue_fails, main_fails, main_early);
    else
        open_one(&c, plan, fires_main, plan->main.present ? main_fails : drogue_fails);
    return c;
}

static int by_outcome_then_likeliest(const void *a, const void *b)
{
    const pappus_case *x = a, *y = b;
    if (x->outcome != y->outcome) return x->outcome < y->outcome ? -1 : 1;
    if (x->probability > y->probability) return -1;
    if (x->probability < y->probability) return 1;
    /* Equal chances must not leave the order to the sorting routine: bytes of the
     * result depend on it. */
    if (x->works != y->works) return x->works > y->works ? -1 : 1;
    return (int)y->motor * 8 + (int)y->drogue_opens * 4 + (int)y->main -
           ((int)x->motor * 8 + (int)x->drogue_opens * 4 + (int)x->main);
}

int pappus_case_table_build(pappus_case_table *out, const pappus_plan *plan, pappus_error *err)
{
    unsigned count = pappus_case_count(plan);
    size_t kept = 0;
    *out = (pappus_case_table){0};
    if (count == 0)
        return pappus_fail(err, PAPPUS_E_FLIGHT, NULL, "altimeters", NULL,
                           "%zu altimeters are more than can be computed: at most %d",
                           plan->altimeter_count, PAPPUS_ALTIMETERS_MOST);
    out->cases = malloc(count * sizeof *out->cases);
    if (!out->cases) return pappus_fail_memory(err);
    for (unsigned i = 0; i < count; i++) {
        pappus_case c = pappus_case_of(plan, i);
        if (!(c.probability > 0.0)) continue;
        out->cases[kept++] = c;
        out->start[c.outcome + 1]++;
        out->probability[c.outcome] += c.probability;
    }
    for (int h = 0; h < PAPPUS_OUTCOMES; h++)
        out->start[h + 1] += out->start[h];
    qsort(out->cases, kept, sizeof *out->cases, by_outcome_then_likeliest);
    return PAPPUS_OK;
}

void pappus_case_table_clear(pappus_case_table *table)
{
    free(table->cases);
    *table = (pappus_case_table){0};
}

const pappus_case *pappus_case_pick(const pappus_case_table *table, pappus_outcome outcome,
                                    double uniform)
{
    double left = uniform * table->probability[outcome];
    size_t last = table->start[outcome + 1] - 1;
    for (size_t i = table->start[outcome]; i < last; i++) {
        left -= table->cases[i].probability;
        if (left <= 0.0) return &table->cases[i];
    }
    return &table->cases[last];
}
