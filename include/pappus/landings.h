/* SPDX-License-Identifier: GPL-3.0-or-later
 * Landings: how a flight can end, sampled and brought down. Conventions: pappus.h. */
#ifndef PAPPUS_LANDINGS_H
#define PAPPUS_LANDINGS_H

#include <pappus/air.h>
#include <pappus/run.h>

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#ifdef __cplusplus
extern "C" {
#endif

#define PAPPUS_OUTCOME_LIST(X)                                                                     \
    X(NOMINAL, "nominal")                                                                          \
    X(MAIN_AT_APOGEE, "main at apogee")                                                            \
    X(DROGUE_ONLY, "drogue only")                                                                  \
    X(MAIN_ONLY, "main only")                                                                      \
    X(NO_CANOPY, "no canopy")

typedef enum {
#define PAPPUS_OUTCOME_ENUM(name, text) PAPPUS_##name,
    PAPPUS_OUTCOME_LIST(PAPPUS_OUTCOME_ENUM)
#undef PAPPUS_OUTCOME_ENUM
        PAPPUS_OUTCOMES
} pappus_outcome;

const char *pappus_outcome_text(pappus_outcome outcome);

/** The columns of a cloud: type and name. */
#define PAPPUS_CLOUD_COLUMN_LIST(X)                                                                \
    X(uint8_t, outcome)                                                                            \
    X(double, east_m)                                                                              \
    X(double, north_m)                                                                             \
    X(float, time_s)      /* from apogee to ground */                                              \
    X(float, vz_mps)      /* downward speed at touchdown, positive */                              \
    X(float, speed_mps)   /* total speed at touchdown */                                           \
    X(float, drogue_load) /* peak opening load in g (over mass * 9.80665), NaN: did not fire */    \
    X(float, main_load)                                                                            \
    X(float, main_fire_m)      /* true height of main firing, NaN: never */                        \
    X(float, main_full_open_m) /* true height where the main is full open, 0: never */             \
    X(uint8_t, unopened)       /* 1: touched down before the main was full open */

/** Landings, structure of arrays, `count` long each: 46 bytes a landing. */
typedef struct {
    size_t count;
    uint64_t seed;
    double probability[PAPPUS_OUTCOMES];   /**< of each stratum */
    size_t stratum_count[PAPPUS_OUTCOMES]; /**< landings in it */
#define PAPPUS_CLOUD_COLUMN(type, name) type *name;
    PAPPUS_CLOUD_COLUMN_LIST(PAPPUS_CLOUD_COLUMN)
#undef PAPPUS_CLOUD_COLUMN
    size_t redrawn; /**< draws that were not physical and were redrawn */
    size_t drawn;   /**< draws that could have been */
    size_t unopened_count[PAPPUS_OUTCOMES];
} pappus_cloud;

/** Weight of landing i: probability of its stratum over the landings in it; all sum to 1. */
double pappus_cloud_weight(const pappus_cloud *cloud, size_t i);

typedef struct {
    pappus_run run;         /**< landings are in all; each stratum gets max(2000, its share) */
    double main_shift_m;    /**< moves every main height */
    bool nominal_only;      /**< that stratum alone, all landings in it */
    unsigned fresh_groups;  /**< groups drawn from other streams than the seed's own */
    double stratum_minimum; /**< 2000 */
} pappus_scatter_options;
#define PAPPUS_SCATTER_OPTIONS_INIT                                                                \
    {                                                                                              \
        PAPPUS_RUN_INIT, 0.0, false, 0, 2000                                                       \
    }

/** Samples the landings and brings them down with the fast engine. The result
 * depends on the seed and not on the number of threads. PAPPUS_E_FLIGHT when
 * the plan cannot fly (no canopy speed below the limits of the model). */
int pappus_scatter(pappus_cloud **out, const pappus_plan *plan, const pappus_air *air,
                   const pappus_scatter_options *options, pappus_error *err);
void pappus_cloud_free(pappus_cloud *cloud);

/** One point of a path. */
typedef struct {
    double time_s, east_m, north_m, height_m, ve_mps, vn_mps, vup_mps;
} pappus_path_point;

typedef struct {
    size_t count;
    pappus_path_point *points;
    double drogue_fire_s, main_fire_s, main_full_open_s; /**< NaN: never */
    double drogue_load_n, main_load_n;
} pappus_path;

/** The path of the plan's central flight (every value at its mean, mean wind,
 * outcome as asked), by the reference integrator. */
int pappus_reference_path(pappus_path **out, const pappus_plan *plan, const pappus_air *air,
                          pappus_outcome outcome, pappus_error *err);
void pappus_path_free(pappus_path *path);

/** Flies the central flight and tells what is wrong with it: a fault when the plan
 * cannot fly, a warning when its main is not fully open before the ground. */
int pappus_flight_check(const pappus_plan *plan, const pappus_air *air, pappus_log *log);

#ifdef __cplusplus
}
#endif
#endif
