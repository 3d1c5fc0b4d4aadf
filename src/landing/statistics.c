/* SPDX-License-Identifier: GPL-3.0-or-later
 * Weighted statistics of a cloud of landings; methods in cloud.h. */
#include "statistics.h"

#include "bearing.h"
#include "error.h"

#include <math.h>
#include <stdlib.h>

#define RADIANS (M_PI / 180.0)
#define BINS 1024
#define FEW 64 /* pairs that are sorted outright */

int pappus_strata_build(pappus_strata *out, const pappus_cloud *cloud, pappus_error *err)
{
    size_t n = cloud->count, next[PAPPUS_OUTCOMES] = {0};
    double drawn = 0.0;
    *out = (pappus_strata){0};
    for (size_t i = 0; i < n; i++)
        out->start[cloud->outcome[i] + 1]++;
    for (size_t h = 0; h < PAPPUS_OUTCOMES; h++) {
        if (out->start[h + 1] > 0) drawn += cloud->probability[h];
        out->start[h + 1] += out->start[h];
        next[h] = out->start[h];
    }
    out->index = malloc((n + 1) * sizeof *out->index);
    out->outcome = cloud->outcome;
    if (!out->index) return pappus_fail_memory(err);
    for (size_t i = 0; i < n; i++)
        out->index[next[cloud->outcome[i]]++] = (uint32_t)i;
    for (size_t h = 0; h < PAPPUS_OUTCOMES; h++) {
        size_t of_stratum = out->start[h + 1] - out->start[h];
        out->probability[h] = of_stratum > 0 && drawn > 0.0 ? cloud->probability[h] / drawn : 0.0;
    }
    return PAPPUS_OK;
}

void pappus_strata_clear(pappus_strata *strata)
{
    free(strata->index);
    *strata = (pappus_strata){0};
}

pappus_sample pappus_strata_outcome(const pappus_strata *strata, int outcome)
{
    size_t first = strata->start[outcome], count = strata->start[outcome + 1] - first;
    return (pappus_sample){.count = count, .index = strata->index + first, .total = (double)count};
}

pappus_sample pappus_strata_all(const pappus_strata *strata)
{
    size_t count = strata->start[PAPPUS_OUTCOMES];
    pappus_sample all = {.count = count,
                         .index = strata->index,
                         .outcome = strata->outcome,
                         .total = count > 0 ? 1.0 : 0.0};
    for (size_t h = 0; h < PAPPUS_OUTCOMES; h++)
        all.weight[h] = strata->probability[h] / (double)(strata->start[h + 1] - strata->start[h]);
    return all;
}

/* Values sorted into bins of equal width, to find what a quantile is among. */
typedef struct {
    double low, per_value, weight[BINS];
} value_bins;

static size_t bin_of(const value_bins *bins, double value)
{
    return (size_t)((value - bins->low) * bins->per_value);
}

/* False when the values cannot be told apart by bins: they are all one, or their
 * range is not a number to divide by. */
static bool fill_bins(value_bins *bins, const pappus_weighted *pairs, size_t count)
{
    double low = pairs[0].value, high = pairs[0].value;
    for (size_t i = 1; i < count; i++) {
        low = pairs[i].value < low ? pairs[i].value : low;
        high = pairs[i].value > high ? pairs[i].value : high;
    }
    *bins = (value_bins){.low = low, .per_value = (BINS - 1) / (high - low)};
    if (!(bins->per_value > 0.0 && isfinite(bins->per_value))) return false;
    for (size_t i = 0; i < count; i++)
        bins->weight[bin_of(bins, pairs[i].value)] += pairs[i].weight;
    return true;
}

/* The first bin by whose end the weight reaches the target, which becomes what is
 * left of it for that bin. */
static size_t find_bin(const value_bins *bins, double *target)
{
    size_t last = 0;
    for (size_t b = 0; b < BINS; b++) {
        if (bins->weight[b] > 0.0) last = b;
        if (bins->weight[b] >= *target) return b;
        *target -= bins->weight[b];
    }
    *target = bins->weight[last]; /* the sum falls short of the whole by rounding */
    return last;
}

/* Brings the pairs of one bin to the front; returns their count. */
static size_t bring_forward(pappus_weighted *pairs, size_t count, const value_bins *bins,
                            size_t bin)
{
    size_t front = 0;
    for (size_t i = 0; i < count; i++) {
        if (bin_of(bins, pairs[i].value) != bin) continue;
        pappus_weighted held = pairs[i];
        pairs[i] = pairs[front];
        pairs[front++] = held;
    }
    return front;
}

static int by_value(const void *a, const void *b)
{
    double x = ((const pappus_weighted *)a)->value, y = ((const pappus_weighted *)b)->value;
    return (x > y) - (x < y);
}

static double find_sorted(pappus_weighted *pairs, size_t count, double target)
{
    qsort(pairs, count, sizeof *pairs, by_value);
    for (size_t i = 0; i + 1 < count; i++) {
        if (pairs[i].weight >= target) return pairs[i].value;
        target -= pairs[i].weight;
    }
    return pairs[count - 1].value;
}

static double find_value(pappus_weighted *pairs, size_t count, double target)
{
    value_bins bins;
    while (count > FEW && fill_bins(&bins, pairs, count))
        count = bring_forward(pairs, count, &bins, find_bin(&bins, &target));
    return find_sorted(pairs, count, target);
}

static double total_weight(const pappus_weighted *pairs, size_t count)
{
    double sum = 0.0;
    for (size_t i = 0; i < count; i++)
        sum += pairs[i].weight;
    return sum;
}

void pappus_weighted_quantiles_at(double *out, pappus_weighted *pairs, size_t count,
                                  const double *p, size_t quantiles)
{
    value_bins bins;
    double total = total_weight(pairs, count);
    bool binned = count > FEW && fill_bins(&bins, pairs, count);
    for (size_t q = 0; q < quantiles; q++) {
        /* The slack keeps the rounding of a sum of weights from skipping a value
         * that reaches p exactly. */
        double target = p[q] * total - 1e-12 * total;
        size_t among = count;
        if (binned) among = bring_forward(pairs, count, &bins, find_bin(&bins, &target));
        out[q] = among > 0 ? find_value(pairs, among, target) : NAN;
    }
}

double pappus_weighted_quantile(pappus_weighted *pairs, size_t count, double p)
{
    double value;
    pappus_weighted_quantiles_at(&value, pairs, count, &p, 1);
    return value;
}

pappus_quantiles pappus_weighted_quantiles(pappus_weighted *pairs, size_t count)
{
    static const double p[] = {0.05, 0.50, 0.95};
    double value[3];
    pappus_weighted_quantiles_at(value, pairs, count, p, 3);
    return (pappus_quantiles){value[0], value[1], value[2]};
}

/* ------------------------------------------------------------- of a sample */

typedef struct {
    const double *values;
    const pappus_sample *sample;
    size_t count; /* of values that are there */
    double total;
    bool binned;
    value_bins bins;
} sample_values;

static void sort_sample(sample_values *v)
{
    double low = INFINITY, high = -INFINITY;
    for (size_t i = 0; i < v->sample->count; i++) {
        if (isnan(v->values[i])) continue;
        v->count++;
        v->total += pappus_sample_weight(v->sample, i);
        low = v->values[i] < low ? v->values[i] : low;
        high = v->values[i] > high ? v->values[i] : high;
    }
    v->bins = (value_bins){.low = low, .per_value = (BINS - 1) / (high - low)};
    v->binned = v->count > FEW && v->bins.per_value > 0.0 && isfinite(v->bins.per_value);
    for (size_t i = 0; v->binned && i < v->sample->count; i++)
        if (!isnan(v->values[i]))
            v->bins.weight[bin_of(&v->bins, v->values[i])] += pappus_sample_weight(v->sample, i);
}

/* The values of one bin, or all that are there; copies nothing when out is NULL. */
static size_t pick_pairs(pappus_weighted *out, const sample_values *v, size_t bin)
{
    size_t count = 0;
    for (size_t i = 0; i < v->sample->count; i++) {
        if (isnan(v->values[i]) || (v->binned && bin_of(&v->bins, v->values[i]) != bin)) continue;
        if (out) out[count] = (pappus_weighted){v->values[i], pappus_sample_weight(v->sample, i)};
        count++;
    }
    return count;
}

int pappus_sample_quantiles_at(double *out, const double *values, const pappus_sample *sample,
                               const double *p, size_t quantiles)
{
    sample_values v = {.values = values, .sample = sample};
    sort_sample(&v);
    for (size_t q = 0; q < quantiles; q++) {
        double target = p[q] * v.total - 1e-12 * v.total; /* as above */
        size_t bin = v.binned ? find_bin(&v.bins, &target) : 0;
        size_t among = pick_pairs(NULL, &v, bin);
        pappus_weighted *pairs = malloc((among + 1) * sizeof *pairs);
        if (!pairs) return PAPPUS_E_MEMORY;
        pick_pairs(pairs, &v, bin);
        out[q] = among > 0 ? find_value(pairs, among, target) : NAN;
        free(pairs);
    }
    return PAPPUS_OK;
}

int pappus_sample_quantiles(pappus_quantiles *out, const double *values,
                            const pappus_sample *sample)
{
    static const double p[] = {0.05, 0.50, 0.95};
    double value[3];
    int status = pappus_sample_quantiles_at(value, values, sample, p, 3);
    if (status == PAPPUS_OK) *out = (pappus_quantiles){value[0], value[1], value[2]};
    return status;
}

int pappus_sample_angle_quantiles(pappus_quantiles *out, double *values,
                                  const pappus_sample *sample)
{
    double sine = 0.0, cosine = 0.0, total = 0.0;
    for (size_t i = 0; i < sample->count; i++) {
        if (isnan(values[i])) continue;
        double weight = pappus_sample_weight(sample, i);
        sine += weight * sin(values[i] * RADIANS);
        cosine += weight * cos(values[i] * RADIANS);
        total += weight;
    }
    *out = (pappus_quantiles){NAN, NAN, NAN};
    if (!(hypot(sine, cosine) > 1e-9 * total)) return PAPPUS_OK;
    double mean_deg = atan2(sine, cosine) / RADIANS;
    for (size_t i = 0; i < sample->count; i++)
        values[i] = remainder(values[i] - mean_deg, 360.0);
    int status = pappus_sample_quantiles(out, values, sample);
    out->p05 = pappus_bearing_wrap_deg(mean_deg + out->p05);
    out->p50 = pappus_bearing_wrap_deg(mean_deg + out->p50);
    out->p95 = pappus_bearing_wrap_deg(mean_deg + out->p95);
    return status;
}

void pappus_sample_moments(double mean_m[2], double covariance_m2[2][2], const pappus_cloud *cloud,
                           const pappus_sample *sample)
{
    double east = 0.0, north = 0.0, squares = 0.0, ee = 0.0, en = 0.0, nn = 0.0;
    for (size_t i = 0; i < sample->count; i++) {
        double w = pappus_sample_weight(sample, i) / sample->total;
        east += w * cloud->east_m[sample->index[i]];
        north += w * cloud->north_m[sample->index[i]];
        squares += w * w;
    }
    for (size_t i = 0; i < sample->count; i++) {
        double w = pappus_sample_weight(sample, i) / sample->total;
        double de = cloud->east_m[sample->index[i]] - east;
        double dn = cloud->north_m[sample->index[i]] - north;
        ee += w * de * de;
        en += w * de * dn;
        nn += w * dn * dn;
    }
    double scale = sample->count > 1 ? 1.0 / (1.0 - squares) : NAN;
    mean_m[0] = sample->count > 0 ? east : NAN;
    mean_m[1] = sample->count > 0 ? north : NAN;
    covariance_m2[0][0] = ee * scale;
    covariance_m2[0][1] = covariance_m2[1][0] = en * scale;
    covariance_m2[1][1] = nn * scale;
}
