/* SPDX-License-Identifier: GPL-3.0-or-later
 * The central flight of a plan: every quantity at its mean, in the mean wind, flown by the
 * reference integrator. */
#include "reference.h"

#include "draws.h"
#include "error.h"

#include <math.h>
#include <stdlib.h>

static int mean_wind(double **u_mps, double **v_mps, const pappus_air *air, pappus_error *err)
{
    *u_mps = malloc(air->node_count * sizeof **u_mps);
    *v_mps = malloc(air->node_count * sizeof **v_mps);
    if (!*u_mps || !*v_mps) return pappus_fail_memory(err);
    for (size_t i = 0; i < air->node_count; i++)
        pappus_air_mean_wind(air, air->height_m[i], &(*u_mps)[i], &(*v_mps)[i]);
    return PAPPUS_OK;
}

static pappus_outcome likeliest(const double probability[PAPPUS_OUTCOMES])
{
    int best = 0;
    for (int h = 1; h < PAPPUS_OUTCOMES; h++)
        if (probability[h] > probability[best]) best = h;
    return (pappus_outcome)best;
}

/* Of a plan that has no nominal flight its likeliest is flown in its place. */
static int central_fall(pappus_fall *out, const pappus_plan *plan, const pappus_air *air,
                        pappus_outcome outcome, pappus_error *err)
{
    pappus_draws *draws;
    int status = pappus_draws_build(&draws, plan, air, (pappus_random){0}, 0.0, err);
    if (status != PAPPUS_OK) return status;
    const double *probability = pappus_draws_probability(draws);
    if (outcome == PAPPUS_NOMINAL && !(probability[outcome] > 0.0))
        outcome = likeliest(probability);
    if (probability[outcome] > 0.0)
        pappus_draws_central(out, draws, outcome);
    else
        status = pappus_fail(err, PAPPUS_E_FLIGHT, NULL, NULL, pappus_outcome_text(outcome),
                             "this outcome cannot happen with this plan");
    pappus_draws_free(draws);
    return status;
}

int pappus_reference_path(pappus_path **out, const pappus_plan *plan, const pappus_air *air,
                          pappus_outcome outcome, pappus_error *err)
{
    double *u_mps = NULL, *v_mps = NULL;
    pappus_fall fall;
    pappus_touchdown touchdown;
    *out = NULL;
    pappus_path *path = calloc(1, sizeof *path);
    int status = path ? central_fall(&fall, plan, air, outcome, err) : pappus_fail_memory(err);
    if (status == PAPPUS_OK) status = mean_wind(&u_mps, &v_mps, air, err);
    if (status == PAPPUS_OK)
        status = pappus_reference_fall(&touchdown, path, &fall, air, u_mps, v_mps,
                                       PAPPUS_REFERENCE_TOLERANCE, err);
    free(u_mps);
    free(v_mps);
    if (status == PAPPUS_OK)
        *out = path;
    else
        pappus_path_free(path);
    return status;
}

void pappus_path_free(pappus_path *path)
{
    if (!path) return;
    pappus_path_clear(path);
    free(path);
}
