/* SPDX-License-Identifier: GPL-3.0-or-later
 * Heights from pressures by the hypsometric equation (WMO-No. 8, 2018, part I, 12.3):
 *   z2 - z1 = R T/g ln(p1/p2), T the mean temperature of the layer, dry air.
 * Between two levels that have both, z is linear in ln p: their own thickness says what T
 * is, and the air's moisture with it. Taking T as constant there errs by up to 30 m in the
 * middle of the layer from 700 to 500 hPa, less below. Under the lowest and over the highest
 * such level T is that of the levels nearest by; in moist air a layer of 800 m comes out
 * some 4 m too thin. Where no level has a temperature it is the standard atmosphere's. */
#include "wind_hydrostatic.h"
#include "si.h"

#include <math.h>
#include <stdlib.h>

#define METRES_PER_KELVIN (287.05287 / PAPPUS_GRAVITY_MPS2)
/* From the nearest level with a height: 150 hPa at the ground, 1.3 km. */
#define FARTHEST_LOG_PRESSURE 0.16
#define STANDARD_K 288.15
#define STANDARD_LAPSE_KPM 0.0065

typedef struct {
    double log_pa, height_m;
} known;

static int by_pressure(const void *a, const void *b)
{
    const known *p = a, *q = b;
    return (p->log_pa < q->log_pa) - (p->log_pa > q->log_pa); /* from the ground up */
}

/* Levels with both, from the ground up; those that would go down with falling pressure
 * are left out. */
static size_t collect(known *out, const pappus_wind_raw *levels, size_t count)
{
    size_t found = 0, kept = 0;
    for (size_t i = 0; i < count; i++)
        if (levels[i].pressure_pa > 0.0 && !isnan(levels[i].height_m))
            out[found++] = (known){log(levels[i].pressure_pa), levels[i].height_m};
    qsort(out, found, sizeof *out, by_pressure);
    for (size_t i = 0; i < found; i++)
        if (kept == 0 ||
            (out[i].log_pa < out[kept - 1].log_pa && out[i].height_m > out[kept - 1].height_m))
            out[kept++] = out[i];
    return kept;
}

/* Temperature of the level nearest in ln p. */
static double temperature_near(const pappus_wind_raw *levels, size_t count, double log_pa,
                               double height_m)
{
    double best = INFINITY, value = STANDARD_K - STANDARD_LAPSE_KPM * height_m;
    for (size_t i = 0; i < count; i++) {
        if (isnan(levels[i].temperature_k) || !(levels[i].pressure_pa > 0.0)) continue;
        double off = fabs(log(levels[i].pressure_pa) - log_pa);
        if (off >= best) continue;
        best = off;
        value = levels[i].temperature_k;
    }
    return value;
}

static double beyond(const pappus_wind_raw *levels, size_t count, known from, double log_pa)
{
    if (fabs(from.log_pa - log_pa) > FARTHEST_LOG_PRESSURE) return NAN;
    double mean = 0.5 * (temperature_near(levels, count, from.log_pa, from.height_m) +
                         temperature_near(levels, count, log_pa, from.height_m));
    return from.height_m + METRES_PER_KELVIN * mean * (from.log_pa - log_pa);
}

static double height_at(const pappus_wind_raw *levels, size_t count, const known *at, size_t n,
                        double log_pa)
{
    if (n == 0) return NAN;
    if (log_pa > at[0].log_pa) return beyond(levels, count, at[0], log_pa);
    if (log_pa < at[n - 1].log_pa) return beyond(levels, count, at[n - 1], log_pa);
    size_t i = 1;
    while (i < n && at[i].log_pa > log_pa)
        i++;
    if (i == n) return at[n - 1].height_m;
    double part = (at[i - 1].log_pa - log_pa) / (at[i - 1].log_pa - at[i].log_pa);
    return at[i - 1].height_m + part * (at[i].height_m - at[i - 1].height_m);
}

size_t pappus_wind_fill_heights(pappus_wind_raw *levels, size_t count)
{
    size_t filled = 0;
    known *at = malloc((count + 1) * sizeof *at);
    if (!at) return 0;
    size_t n = collect(at, levels, count);
    for (size_t i = 0; i < count; i++) {
        if (!isnan(levels[i].height_m) || !(levels[i].pressure_pa > 0.0)) continue;
        levels[i].height_m =
            round(height_at(levels, count, at, n, log(levels[i].pressure_pa))); /* whole metres,
                                                                                  as given ones */
        if (!isnan(levels[i].height_m)) filled++;
    }
    free(at);
    return filled;
}
