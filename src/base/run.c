/* SPDX-License-Identifier: GPL-3.0-or-later
 * A run's defaults and its progress. */
#include "run.h"

#include "error.h"

#include <omp.h>

pappus_run pappus_run_of_plan(const pappus_run *run, const pappus_plan *plan)
{
    pappus_run out = PAPPUS_RUN_INIT;
    if (run) out = *run;
    if (out.landings == 0) out.landings = plan->landings;
    if (out.seed == PAPPUS_PLAN_SEED) out.seed = plan->seed;
    return out;
}

int pappus_threads(int wanted)
{
    return wanted > 0 ? wanted : omp_get_max_threads();
}

int pappus_run_progress(const pappus_run *run, double fraction, pappus_error *err)
{
    if (!run->progress || run->progress(run->progress_context, fraction) == 0) return PAPPUS_OK;
    return pappus_fail(err, PAPPUS_E_STOPPED, NULL, NULL, NULL, "stopped");
}
