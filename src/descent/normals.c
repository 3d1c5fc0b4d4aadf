/* SPDX-License-Identifier: GPL-3.0-or-later
 * From drawn values back to their normal numbers, by the inverse of what draws.c does. A law
 * that is cut at a physical bound is a normal one cut at that bound's number; the factor that
 * scales it up again is the same for all who draw from it. */
#include "normals.h"
#include "draws_table.h"

#include <math.h>

static double log_sd(const pappus_uncertain *value)
{
    return sqrt(log1p(value->sd * value->sd / (value->mean * value->mean)));
}

static double number_of(const pappus_uncertain *law, double value)
{
    if (law->distribution == PAPPUS_NORMAL) return (value - law->mean) / law->sd;
    if (!(value > 0.0)) return -INFINITY;
    double s = log_sd(law);
    return log(value / law->mean) / s + 0.5 * s;
}

static double value_of(const pappus_uncertain *law, double z)
{
    if (law->distribution == PAPPUS_NORMAL) return law->mean + law->sd * z;
    double s = log_sd(law);
    return law->mean * exp(s * z - 0.5 * s * s);
}

void pappus_normals_of(pappus_normals *out, const pappus_draws *draws)
{
    out->count = 0;
    for (size_t i = 0; i < draws->quantity_count; i++) {
        const quantity *q = &draws->quantities[i];
        bool normal =
            q->value.distribution == PAPPUS_NORMAL || q->value.distribution == PAPPUS_LOGNORMAL;
        if (!normal || !(q->value.sd > 0.0)) continue;
        out->low[out->count] = number_of(&q->value, q->above);
        out->high[out->count] = number_of(&q->value, q->upto);
        out->at[out->count++] = i;
    }
}

void pappus_normals_read(double *z, const pappus_normals *normals, const pappus_draws *draws,
                         const pappus_drawn *drawn)
{
    for (size_t i = 0; i < normals->count; i++) {
        size_t at = normals->at[i];
        z[i] = number_of(&draws->quantities[at].value, drawn->value[at]);
    }
}

bool pappus_normals_lean(pappus_drawn *drawn, const pappus_normals *normals,
                         const pappus_draws *draws, const double *by)
{
    double z[PAPPUS_QUANTITIES_MOST];
    pappus_normals_read(z, normals, draws, drawn);
    for (size_t i = 0; i < normals->count; i++) {
        z[i] += by[i];
        if (!(z[i] > normals->low[i] && z[i] <= normals->high[i])) return false;
    }
    for (size_t i = 0; i < normals->count; i++) {
        size_t at = normals->at[i];
        if (by[i] != 0.0) drawn->value[at] = value_of(&draws->quantities[at].value, z[i]);
    }
    return true;
}
