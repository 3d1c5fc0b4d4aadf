/* SPDX-License-Identifier: GPL-3.0-or-later
 * What a run leaves to the plan, and what it tells its caller. */
#ifndef PAPPUS_BASE_RUN_H
#define PAPPUS_BASE_RUN_H

#include <pappus/plan.h>
#include <pappus/run.h>

/** The run with the plan's landings and seed where it has none of its own; NULL: a run
 * with every default. */
pappus_run pappus_run_of_plan(const pappus_run *run, const pappus_plan *plan);
/** As many threads as are wanted; 0: all. */
int pappus_threads(int wanted);
/** Tells the caller how far it is; PAPPUS_E_STOPPED when that wants no more. */
int pappus_run_progress(const pappus_run *run, double fraction, pappus_error *err);

#endif
