/* SPDX-License-Identifier: GPL-3.0-or-later
 * One value of a plan on its way from JSON into the plan. */
#ifndef PAPPUS_INPUT_PLAN_VALUE_H
#define PAPPUS_INPUT_PLAN_VALUE_H

#include "plan_reader.h"

#define SHOWN 200

/** A value on its way: where it stands, what it is. */
typedef struct {
    pappus_plan_reader *reader;
    const pappus_plan_key *row;
    const char *key;
    const cJSON *item;
    char given[SHOWN]; /* as written */
    char si[SHOWN], us[SHOWN];
} plan_reading;

/** Tells a fault of the value; false. */
bool plan_value_fault(const plan_reading *r, const char *message);
/** How the value was understood, where both units show the same. */
void plan_value_show(plan_reading *r, const char *text);

/* Each reads the item by its row; false: a fault was told and *out is as it was. */

/** A number with its unit; NaN where it is off. */
bool plan_read_value(plan_reading *r, double *out);
bool plan_read_uncertain(plan_reading *r, pappus_uncertain *out);
/** A whole number. */
bool plan_read_whole(plan_reading *r, double *out);

#endif
