/* SPDX-License-Identifier: GPL-3.0-or-later
 * The air of a flight: atmosphere, altimeter, wind and its error. Conventions: pappus.h. */
#ifndef PAPPUS_AIR_H
#define PAPPUS_AIR_H

#include <pappus/winds.h>

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#ifdef __cplusplus
extern "C" {
#endif

/** The air of a flight: atmosphere, altimeter and the wind with its error. */
typedef struct pappus_air pappus_air;

typedef struct {
    double wind_factor;   /**< multiplies profiles, observations, reading and gust; errors stay */
    double wind_turn_deg; /**< turns them all clockwise */
    double grid_factor;   /**< thickness of the height grid over the default */
} pappus_air_options;
#define PAPPUS_AIR_OPTIONS_INIT                                                                    \
    {                                                                                              \
        1.0, 0.0, 1.0                                                                              \
    }

/** Builds the air up to every apogee that may be drawn, but for one in 1e9. winds
 * NULL: calm air without error, for the bench card. Faults and warnings (apogee
 * above the last level, wind from the surface only) go to `log`, which may be NULL. */
int pappus_air_build(pappus_air **out, const pappus_plan *plan, const pappus_winds *winds,
                     const pappus_air_options *options, pappus_log *log);
void pappus_air_free(pappus_air *air);

double pappus_air_density_kgpm3(const pappus_air *air, double height_m);
double pappus_air_temperature_k(const pappus_air *air, double height_m);
double pappus_air_pressure_pa(const pappus_air *air, double height_m);
/** True height at which a barometric altimeter shows indicated_m. */
double pappus_air_true_height_m(const pappus_air *air, double indicated_m);
/** The wind before sampling: weighted mean of the profiles after conditioning. */
void pappus_air_mean_wind(const pappus_air *air, double height_m, double *u_mps, double *v_mps);
/** Speed compared with limits.surface_wind: the reading's, else the profile at 10 m. */
double pappus_air_surface_wind_mps(const pappus_air *air);
/** Gust compared with limits.surface_wind: the reading's; without a reading the forecast's, of
 * several members their mean by weight. NaN: none. */
double pappus_air_gust_mps(const pappus_air *air);
/** Quantile p in (0, 1) of the sampled u and v at a height, before (prior) or
 * after the measured winds; closed form. */
void pappus_air_wind_quantile(const pappus_air *air, bool prior, double height_m, double p,
                              double *u_mps, double *v_mps);
/** Their quantiles (i + 1/2) / count, i = 0 ... count - 1. */
void pappus_air_wind_quantiles(const pappus_air *air, bool prior, double height_m, size_t count,
                               double *u_mps, double *v_mps);
/** Above the pad, where the first of the profiles ends; infinite when only the surface wind
 * is known. */
double pappus_air_wind_top_m(const pappus_air *air);
/** What the measured winds make of the variance of the wind's error beside what they
 * would if they came as expected: over 1, they contradict the profiles and the zone is
 * wider for it; under 1, they agree. 1 without any, or with a normal law. */
double pappus_air_wind_widening(const pappus_air *air);
/** Standard deviation, per component, with which a wind measured age_s ago at height_m stands for
 * the wind of now: its own error and what the wind changes meanwhile, in quadrature. The change is
 * that of the plan's law of the wind's error between two times (wind.growth, ground_factor). */
double pappus_reading_error_mps(const pappus_wind_plan *plan, double error_mps, double height_m,
                                double age_s);
/** Widening over which the answer says so. */
#define PAPPUS_CONTRADICTED 1.5

#ifdef __cplusplus
}
#endif
#endif
