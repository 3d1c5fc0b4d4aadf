/* SPDX-License-Identifier: GPL-3.0-or-later
 * Values: units to show them in, uncertain ones, estimates with their interval. Conventions:
 * pappus.h. */
#ifndef PAPPUS_VALUE_H
#define PAPPUS_VALUE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#ifdef __cplusplus
extern "C" {
#endif

/** Units to show values in; inside all is SI. */
typedef enum { PAPPUS_UNITS_US, PAPPUS_UNITS_SI } pappus_unit_system;

typedef enum {
    PAPPUS_ABSENT = 0,
    PAPPUS_EXACT,     /**< mean only */
    PAPPUS_NORMAL,    /**< mean, sd */
    PAPPUS_LOGNORMAL, /**< mean, sd of the value itself (not of its logarithm) */
    PAPPUS_UNIFORM,   /**< low, high */
    PAPPUS_TRIANGULAR /**< low, mode, high */
} pappus_distribution;

/** An uncertain value. mean and sd are filled for every distribution. */
typedef struct {
    pappus_distribution distribution;
    double mean, sd, low, mode, high;
} pappus_uncertain;

bool pappus_is_present(pappus_uncertain value);

/** A probability or quantile with its interval. NaN: not known. */
typedef struct {
    double value, low, high;
} pappus_estimate;

/** Groups of random streams, for the sensitivity (bits of a mask). */
typedef enum {
    PAPPUS_GROUP_WIND_ALOFT = 1,   /**< prior draw of the wind error, choice of profile */
    PAPPUS_GROUP_SURFACE_WIND = 2, /**< reading noise and gusts */
    PAPPUS_GROUP_APOGEE = 4,
    PAPPUS_GROUP_DRAG = 8,       /**< canopy and body drag, opening, mass */
    PAPPUS_GROUP_ALTIMETERS = 16 /**< delays and height errors */
} pappus_draw_group;
#define PAPPUS_DRAW_GROUPS 5

#ifdef __cplusplus
}
#endif
#endif
