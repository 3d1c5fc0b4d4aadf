/* SPDX-License-Identifier: GPL-3.0-or-later
 * Zones: what a cloud of landings says. Conventions: pappus.h. */
#ifndef PAPPUS_ZONES_H
#define PAPPUS_ZONES_H

#include <pappus/hits.h>

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#ifdef __cplusplus
extern "C" {
#endif

/** Levels of the ellipses and contours, ascending. */
#define PAPPUS_LEVEL_LIST(X) X(50, 0.50) X(90, 0.90) X(95, 0.95) X(99, 0.99)

typedef enum {
#define PAPPUS_LEVEL_ENUM(name, level) PAPPUS_LEVEL_##name,
    PAPPUS_LEVEL_LIST(PAPPUS_LEVEL_ENUM)
#undef PAPPUS_LEVEL_ENUM
        PAPPUS_LEVELS
} pappus_level;

extern const double pappus_levels[PAPPUS_LEVELS];

typedef struct {
    double level, share;     /**< share of landings truly inside */
    double major_m, minor_m; /**< semi-axes */
    double bearing_deg;      /**< of the major axis, 0 <= b < 180 */
    double area_m2;
} pappus_ellipse;

typedef struct {
    double level, share, area_m2;
    double density_per_m2; /**< threshold */
    pappus_area shape;     /**< valid polygons, east and north */
} pappus_contour;

typedef struct {
    double p05, p50, p95;
} pappus_quantiles;

/** Quantiles that are told of a zone: name (its field, and its key in summary.json), unit, value
 * for landing i of a cloud (landing/zones.c); NaN is left out. Degrees are taken round the
 * circle. */
#define PAPPUS_STATISTIC_LIST(X)                                                                   \
    X(drift_m, "m", hypot(cloud->east_m[i], cloud->north_m[i]))                                    \
    X(drift_bearing_deg, "deg", bearing_deg(cloud->east_m[i], cloud->north_m[i]))                  \
    X(time_s, "s", cloud->time_s[i])                                                               \
    X(landing_speed_mps, "m/s", cloud->speed_mps[i])                                               \
    X(landing_vz_mps, "m/s", cloud->vz_mps[i])                                                     \
    X(drogue_load_g, "g", cloud->drogue_load[i])                                                   \
    X(main_load_g, "g", cloud->main_load[i])                                                       \
    X(main_full_open_m, "m", cloud->main_full_open_m[i])

/** What is said of one outcome, or of all together. */
typedef struct {
    double probability;
    size_t landings; /**< 0: not drawn; the rest is then NaN */
    pappus_estimate inside_field;
    size_t keep_out_count;
    pappus_estimate *keep_out; /**< one per area of the field */
    double mean_east_m, mean_north_m;
    double covariance_m2[2][2];
    pappus_ellipse ellipses[PAPPUS_LEVELS];
    size_t contour_count; /**< 0 or PAPPUS_LEVELS */
    pappus_contour contours[PAPPUS_LEVELS];
#define PAPPUS_STATISTIC_FIELD(name, unit, value) pappus_quantiles name;
    PAPPUS_STATISTIC_LIST(PAPPUS_STATISTIC_FIELD)
#undef PAPPUS_STATISTIC_FIELD
    size_t section_count;
    pappus_quantiles *energy_j;       /**< of the vertical speed, per section; one entry (the whole)
                                           without sections */
    pappus_quantiles *energy_total_j; /**< likewise of the total speed: the drift in it */
    double unopened;                  /**< share landed before the main was full open */
} pappus_zone;

typedef struct {
    pappus_zone all;
    pappus_zone outcomes[PAPPUS_OUTCOMES];
} pappus_zones;

typedef struct {
    bool contours; /**< compute them */
    int threads;
    double confidence; /**< of the intervals, 0.95 */
    bool coarse;       /**< a coarser grid under the contours: quick, edges less smooth */
} pappus_zones_options;
#define PAPPUS_ZONES_OPTIONS_INIT                                                                  \
    {                                                                                              \
        true, 0, 0.95, false                                                                       \
    }

/** hits: of this cloud, for the shares; NULL: none are told. */
int pappus_zones_build(pappus_zones **out, const pappus_cloud *cloud, const pappus_plan *plan,
                       const pappus_hits *hits, const pappus_zones_options *options,
                       pappus_error *err);
void pappus_zones_free(pappus_zones *zones);

/** Wilson score interval of k successes in n (Wilson 1927). confidence in (0, 1). */
pappus_estimate pappus_wilson(double successes, double n, double confidence);

#ifdef __cplusplus
}
#endif
#endif
