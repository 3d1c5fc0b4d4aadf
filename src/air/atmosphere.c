/* SPDX-License-Identifier: GPL-3.0-or-later
 * Atmosphere: the U.S. Standard Atmosphere 1976 (NOAA, NASA, USAF) in its layers
 * to 47 km geopotential, and the air of one flight: measured temperatures where
 * there are any, else the standard's shifted by a deviation, and one continuous
 * pressure by hydrostatics, dp/p = -g0 dH/(R T), from one measured pressure.
 * Temperature is linear in geopotential height H between points at most 50 m
 * apart, so the integral over each piece is exact:
 *   ln(p2/p1) = -g0 (H2 - H1)/(R T1) ln(1 + x)/x,  x = (T2 - T1)/T1.
 * Air is dry: moist air of 30 degC is up to 1.5 % lighter. Above 47 km and more
 * than a kilometre below sea level the end layers are only continued. */
#include "atmosphere.h"

#include "error.h"
#include "si.h"

#include <math.h>
#include <stdlib.h>

#define GRAVITY_OVER_R (PAPPUS_GRAVITY_MPS2 / PAPPUS_GAS_CONSTANT_AIR)
#define SPACING_M 50.0
/* Below sea level by as much as any land lies, and a sounding's lowest level
 * may lie below the pad. */
#define BOTTOM_GEOPOTENTIAL_M (-1000.0)
#define COLDEST_K 150.0
#define HOTTEST_K 350.0

typedef struct {
    double base_m, temperature_k, lapse_kpm, pressure_pa;
} standard_layer;

/* Base temperatures and lapse rates: the standard's table 4. Base pressures:
 * computed from 101325 Pa upwards by the same formulas as below. */
static const standard_layer standard_layers[] = {
    {0.0, 288.15, -0.0065, 101325.0},
    {11000.0, 216.65, 0.0, 22632.0639735},
    {20000.0, 216.65, 0.001, 5474.88866968},
    {32000.0, 228.65, 0.0028, 868.018684755},
};
#define STANDARD_LAYERS (sizeof standard_layers / sizeof standard_layers[0])

double pappus_geopotential_m(double geometric_msl_m)
{
    return PAPPUS_GEOPOTENTIAL_RADIUS_M * geometric_msl_m /
           (PAPPUS_GEOPOTENTIAL_RADIUS_M + geometric_msl_m);
}

double pappus_geometric_m(double geopotential_m)
{
    return PAPPUS_GEOPOTENTIAL_RADIUS_M * geopotential_m /
           (PAPPUS_GEOPOTENTIAL_RADIUS_M - geopotential_m);
}

static double log1p_over(double x)
{
    return fabs(x) < 1e-9 ? 1.0 : log1p(x) / x;
}

static double expm1_over(double x)
{
    return fabs(x) < 1e-9 ? 1.0 : expm1(x) / x;
}

/* ln(p1/p2) over dh of air that starts at temperature_k and changes by lapse. */
static double log_pressure_drop(double temperature_k, double lapse_kpm, double dh_m)
{
    return GRAVITY_OVER_R * dh_m / temperature_k * log1p_over(lapse_kpm * dh_m / temperature_k);
}

/* The inverse: the thickness over which ln p falls by drop. */
static double thickness_m(double temperature_k, double lapse_kpm, double drop)
{
    return drop * temperature_k / GRAVITY_OVER_R * expm1_over(drop * lapse_kpm / GRAVITY_OVER_R);
}

static const standard_layer *layer_at(double geopotential_m)
{
    size_t i = STANDARD_LAYERS - 1;
    while (i > 0 && geopotential_m < standard_layers[i].base_m)
        i--;
    return &standard_layers[i];
}

double pappus_standard_temperature_k(double geopotential_m)
{
    const standard_layer *layer = layer_at(geopotential_m);
    return layer->temperature_k + layer->lapse_kpm * (geopotential_m - layer->base_m);
}

double pappus_standard_pressure_pa(double geopotential_m)
{
    const standard_layer *layer = layer_at(geopotential_m);
    return layer->pressure_pa * exp(-log_pressure_drop(layer->temperature_k, layer->lapse_kpm,
                                                       geopotential_m - layer->base_m));
}

double pappus_standard_height_m(double pressure_pa)
{
    size_t i = STANDARD_LAYERS - 1;
    while (i > 0 && pressure_pa > standard_layers[i].pressure_pa)
        i--;
    const standard_layer *layer = &standard_layers[i];
    return layer->base_m + thickness_m(layer->temperature_k, layer->lapse_kpm,
                                       log(layer->pressure_pa / pressure_pa));
}

double pappus_standard_density_kgpm3(double height_msl_m)
{
    double h = pappus_geopotential_m(height_msl_m);
    return pappus_standard_pressure_pa(h) /
           (PAPPUS_GAS_CONSTANT_AIR * pappus_standard_temperature_k(h));
}

static double standard_temperature_agl(const pappus_atmosphere *a, double height_m)
{
    return pappus_standard_temperature_k(pappus_geopotential_m(a->elevation_msl_m + height_m));
}

/* Linear between measured temperatures; beyond them the nearest one's deviation
 * from the standard holds. */
static double temperature_from(const pappus_atmosphere *a, const pappus_temperatures *t,
                               double height_m)
{
    double standard = standard_temperature_agl(a, height_m);
    if (t->count == 0) return standard;
    size_t last = t->count - 1;
    if (height_m <= t->height_m[0])
        return standard + t->temperature_k[0] - standard_temperature_agl(a, t->height_m[0]);
    if (height_m >= t->height_m[last])
        return standard + t->temperature_k[last] - standard_temperature_agl(a, t->height_m[last]);
    size_t i = 1;
    while (t->height_m[i] < height_m)
        i++;
    double part = (height_m - t->height_m[i - 1]) / (t->height_m[i] - t->height_m[i - 1]);
    return t->temperature_k[i - 1] + part * (t->temperature_k[i] - t->temperature_k[i - 1]);
}

/* Into ascending values. */
static void insert(double *values, size_t *count, double value)
{
    size_t i = (*count)++;
    for (; i > 0 && values[i - 1] > value; i--)
        values[i] = values[i - 1];
    values[i] = value;
}

/* Every 50 m, each measured level and each layer of the standard. */
static void place_heights(pappus_atmosphere *a, const pappus_temperatures *t)
{
    double bottom = pappus_geometric_m(BOTTOM_GEOPOTENTIAL_M) - a->elevation_msl_m;
    double top = pappus_geometric_m(PAPPUS_ATMOSPHERE_TOP_M) - a->elevation_msl_m;
    size_t n = 0;
    for (double z = bottom; z < top; z += SPACING_M)
        a->height_m[n++] = z;
    a->height_m[n++] = top;
    for (size_t i = 1; i < STANDARD_LAYERS; i++)
        insert(a->height_m, &n, pappus_geometric_m(standard_layers[i].base_m) - a->elevation_msl_m);
    for (size_t i = 0; i < t->count; i++)
        if (t->height_m[i] > bottom && t->height_m[i] < top)
            insert(a->height_m, &n, t->height_m[i]);
    a->count = 1;
    for (size_t i = 1; i < n; i++)
        if (a->height_m[i] - a->height_m[a->count - 1] > 1e-6)
            a->height_m[a->count++] = a->height_m[i];
}

static double lapse_kpm(const pappus_atmosphere *a, size_t i)
{
    return (a->temperature_k[i + 1] - a->temperature_k[i]) /
           (a->geopotential_m[i + 1] - a->geopotential_m[i]);
}

/* Last piece whose lower end is at or below a value; values ascend. */
static size_t piece_of(const double *values, size_t count, double value)
{
    size_t low = 0, high = count - 1;
    while (high - low > 1) {
        size_t middle = (low + high) / 2;
        if (values[middle] <= value)
            low = middle;
        else
            high = middle;
    }
    return low;
}

static double log_pressure_at(const pappus_atmosphere *a, double height_m)
{
    size_t i = piece_of(a->height_m, a->count, height_m);
    double dh = pappus_geopotential_m(a->elevation_msl_m + height_m) - a->geopotential_m[i];
    return a->log_pressure[i] - log_pressure_drop(a->temperature_k[i], lapse_kpm(a, i), dh);
}

static void integrate_pressure(pappus_atmosphere *a, double anchor_m, double anchor_pa)
{
    a->log_pressure[0] = 0.0;
    for (size_t i = 0; i + 1 < a->count; i++)
        a->log_pressure[i + 1] =
            a->log_pressure[i] - log_pressure_drop(a->temperature_k[i], lapse_kpm(a, i),
                                                   a->geopotential_m[i + 1] - a->geopotential_m[i]);
    if (isnan(anchor_pa)) {
        anchor_m = 0.0;
        anchor_pa = pappus_standard_pressure_pa(pappus_geopotential_m(a->elevation_msl_m));
    }
    double shift = log(anchor_pa) - log_pressure_at(a, anchor_m);
    for (size_t i = 0; i < a->count; i++)
        a->log_pressure[i] += shift;
}

static int fill_temperatures(pappus_atmosphere *a, const pappus_temperatures *measured,
                             pappus_error *err)
{
    for (size_t i = 0; i < a->count; i++) {
        a->geopotential_m[i] = pappus_geopotential_m(a->elevation_msl_m + a->height_m[i]);
        a->temperature_k[i] = temperature_from(a, measured, a->height_m[i]);
        if (!(a->temperature_k[i] >= COLDEST_K && a->temperature_k[i] <= HOTTEST_K))
            return pappus_fail(err, PAPPUS_E_WIND, NULL, "temperature", NULL,
                               "air of %.1f K at %.0f m above the pad; %.0f to %.0f K is accepted",
                               a->temperature_k[i], a->height_m[i], COLDEST_K, HOTTEST_K);
    }
    return PAPPUS_OK;
}

static pappus_atmosphere *atmosphere_new(size_t room)
{
    pappus_atmosphere *a = calloc(1, sizeof *a);
    double *values = calloc(4 * room, sizeof *values);
    if (!a || !values) {
        free(a);
        free(values);
        return NULL;
    }
    a->height_m = values;
    a->geopotential_m = values + room;
    a->temperature_k = values + 2 * room;
    a->log_pressure = values + 3 * room;
    return a;
}

int pappus_atmosphere_build(pappus_atmosphere **out, double elevation_msl_m,
                            const pappus_temperatures *measured, double anchor_m, double anchor_pa,
                            pappus_error *err)
{
    size_t room = (size_t)((PAPPUS_ATMOSPHERE_TOP_M - BOTTOM_GEOPOTENTIAL_M) / SPACING_M * 1.02) +
                  STANDARD_LAYERS + measured->count + 2;
    pappus_atmosphere *a = atmosphere_new(room);
    if (!a) return pappus_fail_memory(err);
    a->elevation_msl_m = elevation_msl_m;
    place_heights(a, measured);
    int status = fill_temperatures(a, measured, err);
    if (status != PAPPUS_OK) {
        pappus_atmosphere_free(a);
        return status;
    }
    integrate_pressure(a, anchor_m, anchor_pa);
    *out = a;
    return PAPPUS_OK;
}

void pappus_atmosphere_free(pappus_atmosphere *atmosphere)
{
    if (!atmosphere) return;
    free(atmosphere->height_m);
    free(atmosphere);
}

double pappus_atmosphere_temperature_k(const pappus_atmosphere *a, double height_m)
{
    size_t i = piece_of(a->height_m, a->count, height_m);
    double dh = pappus_geopotential_m(a->elevation_msl_m + height_m) - a->geopotential_m[i];
    return a->temperature_k[i] + lapse_kpm(a, i) * dh;
}

double pappus_atmosphere_pressure_pa(const pappus_atmosphere *a, double height_m)
{
    return exp(log_pressure_at(a, height_m));
}

double pappus_atmosphere_density_kgpm3(const pappus_atmosphere *a, double height_m)
{
    return pappus_atmosphere_pressure_pa(a, height_m) /
           (PAPPUS_GAS_CONSTANT_AIR * pappus_atmosphere_temperature_k(a, height_m));
}

double pappus_atmosphere_height_m(const pappus_atmosphere *a, double pressure_pa)
{
    double wanted = log(pressure_pa);
    size_t low = 0, high = a->count - 1;
    while (high - low > 1) {
        size_t middle = (low + high) / 2;
        if (a->log_pressure[middle] >= wanted)
            low = middle;
        else
            high = middle;
    }
    double drop = a->log_pressure[low] - wanted;
    double dh = thickness_m(a->temperature_k[low], lapse_kpm(a, low), drop);
    return pappus_geometric_m(a->geopotential_m[low] + dh) - a->elevation_msl_m;
}
