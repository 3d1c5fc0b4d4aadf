/* SPDX-License-Identifier: GPL-3.0-or-later
 * The U.S. Standard Atmosphere 1976 to 47 km, and the atmosphere of one flight.
 * Heights named geopotential are above mean sea level. */
#ifndef PAPPUS_AIR_ATMOSPHERE_H
#define PAPPUS_AIR_ATMOSPHERE_H

#include <pappus/air.h>

/** Of dry air, J/(kg K): 8314.32 J/(kmol K) over 28.9644 kg/kmol, the standard's own. */
#define PAPPUS_GAS_CONSTANT_AIR 287.053072
/** The standard's earth radius for geopotential heights. */
#define PAPPUS_GEOPOTENTIAL_RADIUS_M 6356766.0
/** Geopotential top of the layers that are carried here. */
#define PAPPUS_ATMOSPHERE_TOP_M 47000.0

double pappus_geopotential_m(double geometric_msl_m);
double pappus_geometric_m(double geopotential_m);

/** The standard atmosphere at a geopotential height; the lowest layer goes on
 * below sea level, the highest above 47 km. */
double pappus_standard_temperature_k(double geopotential_m);
double pappus_standard_pressure_pa(double geopotential_m);
/** Pressure altitude: geopotential height of a pressure in the standard atmosphere. */
double pappus_standard_height_m(double pressure_pa);

/** Temperature and pressure over height above the pad. */
typedef struct {
    size_t count;
    double *height_m;       /**< above the pad, ascending */
    double *geopotential_m; /**< the same heights above sea level */
    double *temperature_k;  /**< linear in geopotential between */
    double *log_pressure;   /**< natural logarithm of pascals */
    double elevation_msl_m;
} pappus_atmosphere;

/** Measured temperatures by height above the pad, ascending. May be empty: the
 * standard atmosphere then. */
typedef struct {
    size_t count;
    const double *height_m;
    const double *temperature_k;
} pappus_temperatures;

/** Builds the atmosphere from measured temperatures (beyond them the standard
 * shifted by the nearest one's deviation) and one measured pressure
 * anchor_pa at anchor_m above the pad (NaN: standard at the pad). */
int pappus_atmosphere_build(pappus_atmosphere **out, double elevation_msl_m,
                            const pappus_temperatures *measured, double anchor_m, double anchor_pa,
                            pappus_error *err);
void pappus_atmosphere_free(pappus_atmosphere *atmosphere);

double pappus_atmosphere_temperature_k(const pappus_atmosphere *atmosphere, double height_m);
double pappus_atmosphere_pressure_pa(const pappus_atmosphere *atmosphere, double height_m);
double pappus_atmosphere_density_kgpm3(const pappus_atmosphere *atmosphere, double height_m);
/** Height above the pad of a pressure: the exact inverse of the pressure. */
double pappus_atmosphere_height_m(const pappus_atmosphere *atmosphere, double pressure_pa);

/** Density of the 1976 standard atmosphere at a height above sea level. */
double pappus_standard_density_kgpm3(double height_msl_m);

#endif
