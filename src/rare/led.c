/* SPDX-License-Identifier: GPL-3.0-or-later
 * One outcome's led landings: its law, its aims (aims.c), the landings themselves (shots.c) and
 * what they say of each area (led_tally.c). */
#include "led.h"

#include "aims.h"
#include "error.h"
#include "rocket.h"
#include "led_tally.h"

#include <pappus/hazard.h>

#include <stdlib.h>

#define SCOUT_INDEX (UINT64_C(0x8100) << 32)
#define LED_INDEX (UINT64_C(0x8000) << 32)

double led_hurting_mass_kg(const pappus_plan *plan)
{
    return pappus_rocket_heaviest(&plan->rocket).mass_kg;
}

bool led_hurts(double mass_kg, double speed_mps)
{
    return 0.5 * mass_kg * speed_mps * speed_mps > PAPPUS_HURTS_J;
}

static rare_range range_of(const led_task *task, const pappus_draws *const *draws,
                           const rare_law *law, pappus_outcome outcome, uint64_t first_index)
{
    return (rare_range){.law = law,
                        .rows = task->rows,
                        .draws = draws,
                        .outcome = outcome,
                        .random = task->random,
                        .first_index = first_index + ((uint64_t)outcome << 32),
                        .descend = task->descend,
                        .descend_context = task->descend_context,
                        .threads = task->threads,
                        .wide_speed = outcome == PAPPUS_NO_CANOPY};
}

int led_outcome_by_law(led_outcome *out, const led_task *task, const pappus_draws *const *draws,
                       pappus_outcome outcome, rare_law *law, pappus_error *err)
{
    led_aims aims = {0};
    *out = (led_outcome){.has_law = true,
                         .law = *law,
                         .outcome = outcome,
                         .rows = task->rows,
                         .area_count = task->shapes ? task->shapes->keep_out_count : 0};
    *law = (rare_law){0};
    rare_range range = range_of(task, draws, &out->law, outcome, SCOUT_INDEX);
    out->areas = calloc(out->rows * out->area_count + 1, sizeof *out->areas);
    int status = out->areas ? led_aims_make(&aims, task, &range, err) : pappus_fail_memory(err);
    if (status == PAPPUS_OK) {
        range.first_index = LED_INDEX + ((uint64_t)outcome << 32);
        range.aim_count = aims.count;
        range.aims = aims.aims;
        status = rare_shots_fly(&out->shots, &range, aims.landings, err);
    }
    if (status == PAPPUS_OK) status = led_tally(out, task, &aims, err);
    led_aims_clear(&aims);
    if (status != PAPPUS_OK) led_outcome_clear(out);
    return status;
}

int led_outcome_fly(led_outcome *out, const led_task *task, const pappus_draws *const *draws,
                    pappus_outcome outcome, pappus_error *err)
{
    rare_law law;
    *out = (led_outcome){0};
    int status = rare_law_build(&law, task->plan, task->air, outcome, err);
    if (status != PAPPUS_OK || law.profile_count == 0) return status;
    return led_outcome_by_law(out, task, draws, outcome, &law, err);
}

void led_outcome_clear(led_outcome *outcome)
{
    rare_law_clear(&outcome->law);
    rare_shots_clear(&outcome->shots);
    free(outcome->areas);
    *outcome = (led_outcome){0};
}
