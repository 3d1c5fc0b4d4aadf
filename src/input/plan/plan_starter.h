/* SPDX-License-Identifier: GPL-3.0-or-later
 * The starter plan as text. */
#ifndef PAPPUS_INPUT_PLAN_STARTER_H
#define PAPPUS_INPUT_PLAN_STARTER_H

#include <pappus/plan.h>

/** The caller frees *out. */
int pappus_plan_starter(char **out, pappus_error *err);

#endif
