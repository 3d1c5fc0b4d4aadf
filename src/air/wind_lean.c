/* SPDX-License-Identifier: GPL-3.0-or-later
 * Leaning the drawn wind; what and why in wind_lean.h. S and G are those of the tables that
 * the sampling reads: correlation exp of minus a distance is Markov over height, so S a
 * takes one sweep up and one down; what measured winds take off is gain times H S a
 * (Matheron's rule). */
#include "wind_lean.h"

#include "error.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const float *row_of(const pappus_wind_tables *t, size_t profile, size_t node)
{
    return t->rows + (profile * (size_t)t->node_count + node) * (size_t)t->row;
}

/* out = D R D a of a process of standard deviations D and Markov correlation R; nodes from
 * `count` on have none. sd_step: from one node's to the next. */
static void correlate(double *out, const double *a, const float *sd, size_t sd_step,
                      const float *keep, size_t count, size_t nodes)
{
    double carried = 0.0;
    for (size_t i = 0; i < nodes; i++) {
        double own = i < count ? (double)sd[i * sd_step] * a[i] : 0.0;
        carried = (double)keep[i] * carried + own;
        out[i] = carried;
    }
    carried = 0.0;
    for (size_t i = count; i-- > 0;) {
        out[i] += carried;
        carried = (double)keep[i] * (carried + (double)sd[i * sd_step] * a[i]);
    }
    for (size_t i = 0; i < nodes; i++)
        out[i] *= i < count ? (double)sd[i * sd_step] : 0.0;
}

/* What the readings take off, and the mean that they pull to. */
static void condition(pappus_wind_lean *lean, const pappus_wind_tables *t, size_t k)
{
    size_t nodes = lean->air->node_count;
    double *error = lean->error + k * nodes, at_reading[PAPPUS_READINGS];
    double off_u[PAPPUS_READINGS], off_v[PAPPUS_READINGS];
    for (int j = 0; j < t->reading_count; j++) {
        const float *row = row_of(t, k, (size_t)t->reading_node[j]);
        at_reading[j] = error[t->reading_node[j]];
        off_u[j] = (double)t->reading_u_mps[j] - (double)row[0];
        off_v[j] = (double)t->reading_v_mps[j] - (double)row[1];
    }
    for (size_t i = 0; i < nodes; i++) {
        const float *row = row_of(t, k, i);
        double u = (double)row[0], v = (double)row[1];
        for (int j = 0; j < t->reading_count; j++) {
            double gain = (double)row[PAPPUS_WIND_COLUMNS + j];
            error[i] -= gain * at_reading[j];
            u += gain * off_u[j];
            v += gain * off_v[j];
        }
        lean->mean_m[k][0] += lean->seconds[i] * u;
        lean->mean_m[k][1] += lean->seconds[i] * v;
        lean->variance_m2[k] += lean->seconds[i] * error[i];
    }
}

static int make_room(pappus_wind_lean *lean, size_t nodes, size_t profiles, pappus_error *err)
{
    lean->numbers = calloc(2 * nodes + profiles * (3 + nodes), sizeof *lean->numbers);
    if (!lean->numbers) return pappus_fail_memory(err);
    lean->seconds = lean->numbers;
    lean->gust = lean->seconds + nodes;
    lean->mean_m = (double(*)[2])(void *)(lean->gust + nodes);
    lean->variance_m2 = (double *)(lean->mean_m + profiles);
    lean->error = lean->variance_m2 + profiles;
    return PAPPUS_OK;
}

int pappus_wind_lean_build(pappus_wind_lean *out, const pappus_air *air, const double *seconds,
                           pappus_error *err)
{
    const pappus_wind_tables *t = &air->wind->tables;
    size_t nodes = air->node_count, profiles = air->wind->profile_count;
    *out = (pappus_wind_lean){.air = air};
    int status = make_room(out, nodes, profiles, err);
    if (status != PAPPUS_OK) return status;
    memcpy(out->seconds, seconds, nodes * sizeof *seconds);
    for (size_t k = 0; k < profiles; k++) {
        correlate(out->error + k * nodes, seconds, row_of(t, k, 0) + 2, (size_t)t->row, t->keep,
                  nodes, nodes);
        condition(out, t, k);
    }
    correlate(out->gust, seconds, t->gust_sd_mps, 1, t->gust_keep, (size_t)t->gust_count, nodes);
    for (size_t i = 0; i < nodes; i++)
        out->gust_variance_m2 += seconds[i] * out->gust[i];
    return PAPPUS_OK;
}

void pappus_wind_lean_clear(pappus_wind_lean *lean)
{
    free(lean->numbers);
    *lean = (pappus_wind_lean){0};
}

double pappus_wind_scale_of(const pappus_air *air, size_t profile, double normal)
{
    const pappus_wind_tables *t = &air->wind->tables;
    const double step = 2.0 * PAPPUS_SCALE_WIDTH / PAPPUS_SCALE_PARTS;
    if (!t->scale) return 1.0;
    double at = fmin(fmax((normal + PAPPUS_SCALE_WIDTH) / step, 0.0), PAPPUS_SCALE_PARTS);
    size_t part = at < PAPPUS_SCALE_PARTS ? (size_t)at : PAPPUS_SCALE_PARTS - 1;
    const float *c = t->scale[part];
    double y = at - (double)part;
    return (double)t->spread[profile] *
           ((double)c[0] + y * ((double)c[1] + y * ((double)c[2] + y * (double)c[3])));
}

void pappus_wind_lean_measure(double out_m[2][PAPPUS_LANES], const pappus_wind_lean *lean,
                              const int profile[PAPPUS_LANES], const float *u_mps,
                              const float *v_mps)
{
    for (int l = 0; l < PAPPUS_LANES; l++) {
        out_m[0][l] = -lean->mean_m[profile[l]][0];
        out_m[1][l] = -lean->mean_m[profile[l]][1];
    }
    for (size_t i = 0; i < lean->air->node_count; i++) {
        const float *u = u_mps + i * PAPPUS_LANES, *v = v_mps + i * PAPPUS_LANES;
        double seconds = lean->seconds[i];
#pragma omp simd
        for (int l = 0; l < PAPPUS_LANES; l++) {
            out_m[0][l] += seconds * (double)u[l];
            out_m[1][l] += seconds * (double)v[l];
        }
    }
}

void pappus_wind_lean_apply(const pappus_wind_lean *lean, const int profile[PAPPUS_LANES],
                            const float scale[PAPPUS_LANES], double share[2][PAPPUS_LANES],
                            float *u_mps, float *v_mps)
{
    size_t nodes = lean->air->node_count;
    for (size_t i = 0; i < nodes; i++) {
        float *u = u_mps + i * PAPPUS_LANES, *v = v_mps + i * PAPPUS_LANES;
        double error[PAPPUS_LANES], gust = lean->gust[i];
        for (int l = 0; l < PAPPUS_LANES; l++)
            error[l] = lean->error[(size_t)profile[l] * nodes + i];
#pragma omp simd
        for (int l = 0; l < PAPPUS_LANES; l++) {
            double s = (double)scale[l], c = s * s * error[l] + gust;
            u[l] += (float)(c * share[0][l]);
            v[l] += (float)(c * share[1][l]);
        }
    }
}
