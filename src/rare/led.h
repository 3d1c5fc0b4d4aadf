/* SPDX-License-Identifier: GPL-3.0-or-later
 * The led landings of one outcome: which areas they are led to, how many, and what they say
 * of each. */
#ifndef PAPPUS_RARE_LED_H
#define PAPPUS_RARE_LED_H

#include <pappus/hits.h>

#include "hits.h"
#include "shots.h"

/** Areas of an outcome that landings are led to, one by one. */
#define LED_AIMS_MOST 16

typedef struct {
    const pappus_plan *plan;
    const pappus_air *air;
    const pappus_field *field; /**< the keep-outs; may be NULL */
    const pappus_field_shapes *shapes;
    size_t rows;             /**< main heights that each landing is flown for; usually 1 */
    const pappus_hits *hits; /**< [row] what was counted */
    const bool *wanted;      /**< [area] which are led to; NULL: all */
    pappus_random random;
    int threads;
    unsigned effort;
    size_t wide;  /**< landings of the wide density */
    size_t aimed; /**< the most for one area of an outcome */
    rare_descend descend;
    void *descend_context;
} led_task;

/** Of one area. */
typedef struct {
    pappus_rare_share share; /**< landings 0: the counted ones tell more */
    double value;            /**< sum of the weights there, led or not */
    double hurting;          /**< the same of landings that would hurt a person */
    double x_m[2];           /**< weighted mean of where the landings there were led */
} led_area;

typedef struct {
    bool has_law; /**< false: there is nothing to lead by */
    rare_law law;
    pappus_outcome outcome;
    rare_shots shots;
    size_t area_count;
    size_t unled; /**< areas of which only what was counted is known, as there are too many */
    size_t rows;
    led_area *areas;    /**< [row][area] */
    double hurting;     /**< weight of landings that would hurt a person */
    double mean_x_m[2]; /**< weighted mean of where all were led */
} led_outcome;

/** draws: of every row. */
int led_outcome_fly(led_outcome *out, const led_task *task, const pappus_draws *const *draws,
                    pappus_outcome outcome, pappus_error *err);
/** The same by a law that is made already; the law is then out's. */
int led_outcome_by_law(led_outcome *out, const led_task *task, const pappus_draws *const *draws,
                       pappus_outcome outcome, rare_law *law, pappus_error *err);
void led_outcome_clear(led_outcome *outcome);

/** Mass that would hit a person: the heaviest section's. */
double led_hurting_mass_kg(const pappus_plan *plan);
bool led_hurts(double mass_kg, double speed_mps);

#endif
