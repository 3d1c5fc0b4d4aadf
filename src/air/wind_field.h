/* SPDX-License-Identifier: GPL-3.0-or-later
 * The wind of a flight: profiles, their error, the measured winds that condition
 * them, gusts; as closed forms, and as the tables that the sampling reads. */
#ifndef PAPPUS_AIR_WIND_FIELD_H
#define PAPPUS_AIR_WIND_FIELD_H

#include "wind_kernel.h"
#include "wind_profile.h"
#include "wind_scale.h"

#include <stdbool.h>

/** More profiles than this are refused. */
#define PAPPUS_PROFILES 256

/** A measured wind. */
typedef struct {
    double height_m;
    pappus_wind_vector wind;
    double sd_mps;
    uint32_t sub; /**< of its random numbers: 0 the surface, then the observations */
} pappus_reading;

struct pappus_wind_field {
    size_t profile_count;
    pappus_profile *profiles;
    double *weight; /**< [profile] after the measured winds; they sum to 1 */
    bool surface_only;
    double *widening;        /**< [profile] of the variance by the measured winds */
    pappus_wind_scale scale; /**< after the measured winds */
    size_t reading_count;
    pappus_reading readings[PAPPUS_READINGS];
    double *reading_sd_mps;  /**< [profile][reading] with the error of reaching it */
    double *inverse;         /**< [profile][reading][reading] of H S H' + R */
    double *pull_u, *pull_v; /**< [profile][reading] that inverse times (y - H m) */
    double gust_sd_mps;      /**< at gust_height_m; 0: no gusts */
    double gust_height_m;
    double surface_speed_mps, gust_mps; /**< of the reading; NaN: none */
    pappus_wind_tables tables;
    float *floats; /**< what the tables point to */
    int *reading_nodes;
    uint32_t *reading_subs;
};

/** Collects the plan's measured winds, changed. PAPPUS_E_WIND when one cannot be
 * used. */
int pappus_readings_collect(pappus_reading *out, size_t *count, const pappus_wind_plan *plan,
                            pappus_wind_change change, pappus_error *err);

/** Builds the field on a height grid that holds every reading's height. winds
 * NULL: calm air. */
int pappus_wind_field_build(pappus_wind_field **out, const pappus_plan *plan,
                            const pappus_winds *winds, const pappus_atmosphere *atmosphere,
                            pappus_wind_change change, size_t node_count, const double *height_m,
                            pappus_error *err);
void pappus_wind_field_free(pappus_wind_field *field);

/** Mean, and standard deviation of a law of unit scale, per component of profile k at
 * a height, before or after the measured winds; gusts are not in it. */
void pappus_wind_field_moments(pappus_wind_vector *mean, double *sd_mps,
                               const pappus_wind_field *field, size_t k, bool prior,
                               double height_m);
/** What the scale of profile k is times 1/sqrt(chi-square); 1 of a normal law. */
double pappus_wind_field_spread(const pappus_wind_field *field, size_t k, bool prior);
/** Weighted mean of the profiles' widening by the measured winds, of the variance. */
double pappus_wind_field_widening(const pappus_wind_field *field);
/** Standard deviation per component of the gusts at a height. */
double pappus_wind_field_gust_sd_mps(const pappus_wind_field *field, double height_m);

#endif
