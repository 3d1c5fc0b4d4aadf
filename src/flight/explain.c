/* SPDX-License-Identifier: GPL-3.0-or-later
 * An offset taken apart by putting what was flown in the place of what was planned, one after
 * the other, each fall drifted by the same mean wind (bands.h):
 *   apogee  the central flight from the flown apogee, less the central flight;
 *   fall    the log's own fall, less that;
 *   wind    what is left: the wind that was not the expected one, and the place of the apogee.
 * They sum to the offset. Named is the one that goes furthest along it. The order of the first
 * two matters by their product alone, which is small. */
#include "explain.h"

#include "bands.h"
#include "error.h"
#include "uncertain.h"

#include <math.h>

const char *pappus_cause_text(pappus_cause cause)
{
    static const char *const texts[] = {
#define PAPPUS_CAUSE_STRING(name, text) text,
        PAPPUS_CAUSE_LIST(PAPPUS_CAUSE_STRING)
#undef PAPPUS_CAUSE_STRING
    };
    return texts[cause];
}

static int drift_from(double drift_m[2], const pappus_givens *given, double apogee_m,
                      pappus_error *err)
{
    pappus_plan plan = *given->plan;
    pappus_path *path = NULL;
    if (!isnan(apogee_m)) plan.apogee.height_m = pappus_exact(apogee_m);
    int status = pappus_reference_path(&path, &plan, given->air, PAPPUS_NOMINAL, err);
    if (status == PAPPUS_OK) pappus_drift_of_path(drift_m, path, given->air);
    pappus_path_free(path);
    return status;
}

int pappus_explain(pappus_debriefed *out, const pappus_givens *given, pappus_error *err)
{
    const pappus_flown *flown = &out->flown;
    double central[2], higher[2], best = -INFINITY;
    double east = out->east_m - out->expected_east_m, north = out->north_m - out->expected_north_m;
    unsigned cut = 1U << PAPPUS_MISSING_APOGEE | 1U << PAPPUS_MISSING_GROUND;
    pappus_error unflown = {0};
    out->explained = false;
    if (!out->has_log || isnan(east) || flown->missing & cut) return PAPPUS_OK;
    int status = drift_from(central, given, NAN, &unflown);
    if (status == PAPPUS_OK) status = drift_from(higher, given, flown->apogee_m, &unflown);
    if (status == PAPPUS_E_MEMORY) return pappus_fail_memory(err);
    if (status != PAPPUS_OK) return PAPPUS_OK;
    out->explained = true;
    out->cause_east_m[PAPPUS_CAUSE_APOGEE] = higher[0] - central[0];
    out->cause_north_m[PAPPUS_CAUSE_APOGEE] = higher[1] - central[1];
    out->cause_east_m[PAPPUS_CAUSE_FALL] = flown->drift_east_m - higher[0];
    out->cause_north_m[PAPPUS_CAUSE_FALL] = flown->drift_north_m - higher[1];
    out->cause_east_m[PAPPUS_CAUSE_WIND] = east - (flown->drift_east_m - central[0]);
    out->cause_north_m[PAPPUS_CAUSE_WIND] = north - (flown->drift_north_m - central[1]);
    for (int c = 0; c < PAPPUS_CAUSES; c++) {
        double along = out->cause_east_m[c] * east + out->cause_north_m[c] * north;
        if (along > best) out->most = (pappus_cause)c;
        best = fmax(best, along);
    }
    return PAPPUS_OK;
}

/* ------------------------------------------------------------------------- shares */

static double share_below(const pappus_cloud *cloud, const float *values, double value)
{
    size_t n = 0, below = 0;
    if (isnan(value)) return NAN;
    for (size_t i = 0; i < cloud->count; i++) {
        if (cloud->outcome[i] != PAPPUS_NOMINAL || isnan(values[i])) continue;
        n++;
        below += (double)values[i] < value;
    }
    return n ? (double)below / (double)n : NAN;
}

/* Of an uncertain value, by halving its quantile. */
static double share_of(pappus_uncertain expected, double value)
{
    double low = 0.0, high = 1.0;
    if (isnan(value) || expected.distribution == PAPPUS_EXACT) return NAN;
    for (int i = 0; i < 30; i++) {
        double middle = 0.5 * (low + high);
        if (pappus_uncertain_quantile(expected, middle) < value)
            low = middle;
        else
            high = middle;
    }
    return 0.5 * (low + high);
}

void pappus_shares_find(pappus_debriefed *out, const pappus_plan *plan, const pappus_cloud *cloud)
{
    const pappus_flown *flown = &out->flown;
    out->apogee_share = out->time_aloft_share = out->touchdown_share = out->main_fired_share = NAN;
    if (!out->has_log) return;
    out->apogee_share = share_of(plan->apogee.height_m, flown->apogee_m);
    out->time_aloft_share = share_below(cloud, cloud->time_s, flown->time_aloft_s);
    out->touchdown_share = share_below(cloud, cloud->vz_mps, flown->touchdown_mps);
    out->main_fired_share = share_below(cloud, cloud->main_fire_m, flown->main_fired_m);
}
