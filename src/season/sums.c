/* SPDX-License-Identifier: GPL-3.0-or-later
 * Sums of landings; what they are in sums.h. */
#include "sums.h"

#include <math.h>

#define APOGEES_PER_CELL 80.0
#define LEAST_CELL_M 1.0
#define DRIFT_STEP 0.0198026272961797 /* ln 1.02 */

double season_cell_m(double apogee_m)
{
    double wanted = fmax(apogee_m / APOGEES_PER_CELL, LEAST_CELL_M);
    double power = pow(10.0, floor(log10(wanted) + 1e-9));
    double least = wanted / power - 1e-9;
    return power * (least <= 1.0 ? 1.0 : least <= 2.0 ? 2.0 : least <= 5.0 ? 5.0 : 10.0);
}

static int class_of(double drift_m)
{
    double place = drift_m > 1.0 ? log(drift_m) / DRIFT_STEP : 0.0;
    return place < SEASON_DRIFTS - 1 ? (int)place : SEASON_DRIFTS - 1;
}

/* Middle of a class. */
static double drift_of(int class)
{
    return exp((class + 0.5) * DRIFT_STEP);
}

void season_sums_add(season_sums *sums, const pappus_cloud *cloud, double cell_m, int month)
{
    uint64_t whole[PAPPUS_OUTCOMES];
    for (int h = 0; h < PAPPUS_OUTCOMES; h++)
        whole[h] = cloud->stratum_count[h] > 0
                       ? (uint64_t)llround(SEASON_WHOLE * cloud->probability[h] /
                                           (double)cloud->stratum_count[h])
                       : 0;
    for (size_t i = 0; i < cloud->count; i++) {
        uint64_t weight = whole[cloud->outcome[i]];
        double east = floor(cloud->east_m[i] / cell_m) + SEASON_CELLS / 2;
        double north = floor(cloud->north_m[i] / cell_m) + SEASON_CELLS / 2;
        bool on = east >= 0 && east < SEASON_CELLS && north >= 0 && north < SEASON_CELLS;
        if (on)
            sums->cells[(int)north][(int)east] += weight;
        else
            sums->beyond += weight;
        sums->drift[month - 1][class_of(hypot(cloud->east_m[i], cloud->north_m[i]))] += weight;
    }
}

static uint64_t drift_at(const season_sums *sums, unsigned months, int class)
{
    uint64_t sum = 0;
    for (int m = 0; m < 12; m++)
        if (months >> m & 1U) sum += sums->drift[m][class];
    return sum;
}

static double quantile(const season_sums *sums, unsigned months, double total, double p)
{
    double reached = 0.0;
    for (int k = 0; k < SEASON_DRIFTS; k++) {
        reached += (double)drift_at(sums, months, k);
        if (reached >= p * total) return drift_of(k);
    }
    return NAN;
}

pappus_quantiles season_drift_m(const season_sums *sums, unsigned months)
{
    double total = 0.0;
    for (int k = 0; k < SEASON_DRIFTS; k++)
        total += (double)drift_at(sums, months, k);
    if (total <= 0.0) return (pappus_quantiles){NAN, NAN, NAN};
    return (pappus_quantiles){quantile(sums, months, total, 0.05),
                              quantile(sums, months, total, 0.50),
                              quantile(sums, months, total, 0.95)};
}

double season_beyond(const season_sums *sums)
{
    double on = 0.0, beyond = (double)sums->beyond;
    for (int j = 0; j < SEASON_CELLS; j++)
        for (int i = 0; i < SEASON_CELLS; i++)
            on += (double)sums->cells[j][i];
    return on + beyond > 0.0 ? beyond / (on + beyond) : 0.0;
}
