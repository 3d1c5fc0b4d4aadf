/* SPDX-License-Identifier: GPL-3.0-or-later
 * Selection by bins of equal width: a count of each bin tells which one holds a rank, and only
 * that one is looked into, by quickselect (GSL). Several ranks share the counts. Each pass
 * goes straight through the values, where quickselect's own turn on every comparison. */
#include "ranks.h"

#include <gsl/gsl_statistics_double.h>
#include <math.h>
#include <stdbool.h>

#define BINS 1024
#define FEW 64 /* values that quickselect gets outright */

typedef struct {
    double low, per_value;
    size_t count[BINS];
} value_bins;

static size_t bin_of(const value_bins *bins, double value)
{
    return (size_t)(int)((value - bins->low) * bins->per_value);
}

/* False when the values cannot be told apart by bins. */
static bool fill_bins(value_bins *bins, const double *values, size_t count)
{
    double low = values[0], high = values[0];
    bool numbers = true;
    for (size_t i = 0; i < count; i++) {
        low = values[i] < low ? values[i] : low;
        high = values[i] > high ? values[i] : high;
        numbers &= !isnan(values[i]);
    }
    *bins = (value_bins){.low = low, .per_value = (BINS - 1) / (high - low)};
    if (!numbers || !(bins->per_value > 0.0 && isfinite(bins->per_value))) return false;
    for (size_t i = 0; i < count; i++)
        bins->count[bin_of(bins, values[i])]++;
    return true;
}

/* The bin that holds the rank, which becomes that within the bin. */
static size_t find_bin(const value_bins *bins, size_t *rank)
{
    size_t bin = 0;
    while (*rank >= bins->count[bin])
        *rank -= bins->count[bin++];
    return bin;
}

static void bring_forward(double *values, size_t count, const value_bins *bins, size_t bin)
{
    size_t front = 0;
    for (size_t i = 0; i < count; i++) {
        if (bin_of(bins, values[i]) != bin) continue;
        double held = values[i];
        values[i] = values[front];
        values[front++] = held;
    }
}

void pappus_ranks(double *out, double *values, size_t count, const size_t *rank, size_t ranks)
{
    value_bins bins;
    bool binned = count > FEW && fill_bins(&bins, values, count);
    for (size_t i = 0; i < ranks; i++) {
        size_t among = count, within = rank[i];
        if (binned) {
            size_t bin = find_bin(&bins, &within);
            bring_forward(values, count, &bins, bin);
            among = bins.count[bin];
        }
        out[i] = gsl_stats_select(values, 1, among, within);
    }
}
