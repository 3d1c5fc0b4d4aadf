/* SPDX-License-Identifier: GPL-3.0-or-later
 * Weighted statistics of a cloud of landings; methods in cloud.h. */
#include "cloud.h"

#include "error.h"

#include <math.h>
#include <stdlib.h>

#define RADIANS (M_PI / 180.0)

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
    out->weight = malloc((n + 1) * sizeof *out->weight);
    if (!out->index || !out->weight) {
        pappus_strata_clear(out);
        return pappus_fail_memory(err);
    }
    for (size_t i = 0; i < n; i++)
        out->index[next[cloud->outcome[i]]++] = i;
    for (size_t h = 0; h < PAPPUS_OUTCOMES; h++) {
        size_t of_stratum = out->start[h + 1] - out->start[h];
        out->probability[h] = of_stratum > 0 && drawn > 0.0 ? cloud->probability[h] / drawn : 0.0;
        for (size_t i = out->start[h]; i < out->start[h + 1]; i++)
            out->weight[i] = out->probability[h] / (double)of_stratum;
    }
    return PAPPUS_OK;
}

void pappus_strata_clear(pappus_strata *strata)
{
    free(strata->index);
    free(strata->weight);
    *strata = (pappus_strata){0};
}

pappus_sample pappus_strata_outcome(const pappus_strata *strata, int outcome)
{
    size_t first = strata->start[outcome], count = strata->start[outcome + 1] - first;
    return (pappus_sample){count, strata->index + first, NULL, (double)count};
}

pappus_sample pappus_strata_all(const pappus_strata *strata)
{
    size_t count = strata->start[PAPPUS_OUTCOMES];
    return (pappus_sample){count, strata->index, strata->weight, count > 0 ? 1.0 : 0.0};
}

static void swap(pappus_weighted *a, pappus_weighted *b)
{
    pappus_weighted held = *a;
    *a = *b;
    *b = held;
}

static double median_of_three(double a, double b, double c)
{
    return fmax(fmin(a, b), fmin(fmax(a, b), c));
}

/* Pairs [low, high) become: less than the pivot, equal to it from *equal, greater
 * from *greater. */
static void partition(pappus_weighted *pairs, size_t low, size_t high, double pivot, size_t *equal,
                      size_t *greater)
{
    size_t less = low, i = low, more = high;
    while (i < more) {
        if (pairs[i].value < pivot)
            swap(&pairs[i++], &pairs[less++]);
        else if (pairs[i].value > pivot)
            swap(&pairs[i], &pairs[--more]);
        else
            i++;
    }
    *equal = less;
    *greater = more;
}

static double weight_between(const pappus_weighted *pairs, size_t from, size_t to)
{
    double sum = 0.0;
    for (size_t i = from; i < to; i++)
        sum += pairs[i].weight;
    return sum;
}

double pappus_weighted_quantile(pappus_weighted *pairs, size_t count, double p)
{
    /* The slack keeps the rounding of a sum of weights from skipping a value
     * that reaches p exactly. */
    double total = weight_between(pairs, 0, count), target = p * total - 1e-12 * total;
    size_t low = 0, high = count;
    double found = NAN;
    while (low < high) {
        size_t equal, greater;
        found = median_of_three(pairs[low].value, pairs[low + (high - low) / 2].value,
                                pairs[high - 1].value);
        partition(pairs, low, high, found, &equal, &greater);
        double less_weight = weight_between(pairs, low, equal);
        double equal_weight = weight_between(pairs, equal, greater);
        if (target <= less_weight && equal > low) {
            high = equal;
        } else if (target <= less_weight + equal_weight) {
            return found;
        } else {
            target -= less_weight + equal_weight;
            low = greater;
        }
    }
    return found;
}

pappus_quantiles pappus_weighted_quantiles(pappus_weighted *pairs, size_t count)
{
    return (pappus_quantiles){pappus_weighted_quantile(pairs, count, 0.05),
                              pappus_weighted_quantile(pairs, count, 0.50),
                              pappus_weighted_quantile(pairs, count, 0.95)};
}

static double turn(double angle_deg)
{
    double turned = fmod(angle_deg, 360.0);
    if (turned < 0.0) turned += 360.0;
    return turned < 360.0 ? turned : 0.0;
}

pappus_quantiles pappus_angle_quantiles(pappus_weighted *pairs, size_t count)
{
    double sine = 0.0, cosine = 0.0, total = weight_between(pairs, 0, count);
    for (size_t i = 0; i < count; i++) {
        sine += pairs[i].weight * sin(pairs[i].value * RADIANS);
        cosine += pairs[i].weight * cos(pairs[i].value * RADIANS);
    }
    if (!(hypot(sine, cosine) > 1e-9 * total)) return (pappus_quantiles){NAN, NAN, NAN};
    double mean_deg = atan2(sine, cosine) / RADIANS;
    for (size_t i = 0; i < count; i++)
        pairs[i].value = remainder(pairs[i].value - mean_deg, 360.0);
    pappus_quantiles deviation = pappus_weighted_quantiles(pairs, count);
    return (pappus_quantiles){turn(mean_deg + deviation.p05), turn(mean_deg + deviation.p50),
                              turn(mean_deg + deviation.p95)};
}

void pappus_sample_moments(double mean_m[2], double covariance_m2[2][2], const pappus_cloud *cloud,
                           const pappus_sample *sample)
{
    double east = 0.0, north = 0.0, squares = 0.0, ee = 0.0, en = 0.0, nn = 0.0;
    for (size_t i = 0; i < sample->count; i++) {
        double w = (sample->weight ? sample->weight[i] : 1.0) / sample->total;
        east += w * cloud->east_m[sample->index[i]];
        north += w * cloud->north_m[sample->index[i]];
        squares += w * w;
    }
    for (size_t i = 0; i < sample->count; i++) {
        double w = (sample->weight ? sample->weight[i] : 1.0) / sample->total;
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
