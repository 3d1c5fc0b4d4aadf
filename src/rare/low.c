/* SPDX-License-Identifier: GPL-3.0-or-later
 * The low wind beside the drift; formulas in low.h. */
#include "low.h"

#include "error.h"

#include <math.h>
#include <stdlib.h>

#define LEAST_LEFT 1e-4 /* of b'Cb: less is rounding */

static double dot(const double *a, const double *b, size_t count)
{
    double sum = 0.0;
    for (size_t i = 0; i < count; i++)
        sum += a[i] * b[i];
    return sum;
}

int rare_low_build(rare_low *out, const pappus_wind_lean *main, pappus_error *err)
{
    const pappus_air *air = main->air;
    size_t nodes = air->node_count, profiles = air->wind->profile_count;
    double *weight = calloc(nodes, sizeof *weight);
    *out = (rare_low){.across = calloc(profiles, sizeof *out->across)};
    int status = weight && out->across ? PAPPUS_OK : pappus_fail_memory(err);
    if (status == PAPPUS_OK) {
        pappus_upwind_weights(weight, air);
        status = pappus_wind_lean_build(&out->lean, air, weight, err);
    }
    free(weight);
    if (status != PAPPUS_OK) {
        rare_low_clear(out);
        return status;
    }
    for (size_t k = 0; k < profiles; k++)
        out->across[k] = dot(main->seconds, out->lean.error + k * nodes, nodes);
    out->gust_across = dot(main->seconds, out->lean.gust, nodes);
    out->there = true;
    return PAPPUS_OK;
}

void rare_low_clear(rare_low *low)
{
    pappus_wind_lean_clear(&low->lean);
    free(low->across);
    *low = (rare_low){.there = false};
}

void rare_low_of(double *beta, double *sd, const rare_low *low, const pappus_wind_lean *main,
                 int profile, double scale)
{
    double s2 = scale * scale;
    double drift = s2 * main->variance_m2[profile] + main->gust_variance_m2;
    double across = s2 * low->across[profile] + low->gust_across;
    double own = s2 * low->lean.variance_m2[profile] + low->lean.gust_variance_m2;
    *beta = drift > 0.0 ? across / drift : 0.0;
    double left = own - *beta * across;
    *sd = left > LEAST_LEFT * own ? sqrt(left) : 0.0;
}
