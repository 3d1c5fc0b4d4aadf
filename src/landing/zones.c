/* SPDX-License-Identifier: GPL-3.0-or-later
 * Zones: everything that is said of the landings of one outcome and of all
 * together, from the statistics, ellipses, shares and contours of this folder.
 * Outcomes are worked on side by side; each result is the work of one thread, so
 * the number of threads changes nothing. */
#include <pappus/zones.h>

#include "bearing.h"
#include "statistics.h"
#include "contour.h"
#include "ellipse.h"
#include "error.h"
#include "geometry.h"
#include "interval.h"
#include "run.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const pappus_estimate unknown = {NAN, NAN, NAN};
static const pappus_quantiles no_quantiles = {NAN, NAN, NAN};

/* ------------------------------------------------------------- statistics */

/* A landing on the pad has no bearing. */
static double bearing_deg(double east_m, double north_m)
{
    if (east_m == 0.0 && north_m == 0.0) return NAN;
    return pappus_bearing_of(east_m, north_m);
}

typedef double (*quantity)(const pappus_cloud *cloud, size_t i);

#define VALUE(name, unit, value)                                                                   \
    static double name##_of(const pappus_cloud *cloud, size_t i)                                   \
    {                                                                                              \
        return (double)(value);                                                                    \
    }
PAPPUS_STATISTIC_LIST(VALUE)
#undef VALUE

static const struct {
    size_t offset; /* of its quantiles in pappus_zone */
    const char *unit;
    quantity get;
} statistics[] = {
#define ROW(name, unit, value) {offsetof(pappus_zone, name), unit, name##_of},
    PAPPUS_STATISTIC_LIST(ROW)
#undef ROW
};
#define STATISTICS (sizeof statistics / sizeof statistics[0])

static pappus_quantiles *quantiles_of(pappus_zone *zone, size_t statistic)
{
    return (pappus_quantiles *)((char *)zone + statistics[statistic].offset);
}

static int fill_quantiles(pappus_quantiles *out, double *values, size_t statistic,
                          const pappus_cloud *cloud, const pappus_sample *sample)
{
    for (size_t i = 0; i < sample->count; i++)
        values[i] = statistics[statistic].get(cloud, sample->index[i]);
    return strcmp(statistics[statistic].unit, "deg") == 0
               ? pappus_sample_angle_quantiles(out, values, sample)
               : pappus_sample_quantiles(out, values, sample);
}

static pappus_quantiles energy_of(double mass_kg, const pappus_quantiles *v)
{
    return (pappus_quantiles){0.5 * mass_kg * v->p05 * v->p05, 0.5 * mass_kg * v->p50 * v->p50,
                              0.5 * mass_kg * v->p95 * v->p95};
}

/* Energy grows with the speed, so its quantiles are those of the speed. The mass is the
 * section's, or the mean mass of the whole: landings do not carry their own. */
static void fill_energy(pappus_zone *zone, const pappus_plan *plan)
{
    for (size_t s = 0; s < zone->section_count; s++) {
        double mass_kg = plan->rocket.section_count > 0 ? plan->rocket.sections[s].mass_kg
                                                        : plan->rocket.mass_kg.mean;
        zone->energy_j[s] = energy_of(mass_kg, &zone->landing_vz_mps);
        zone->energy_total_j[s] = energy_of(mass_kg, &zone->landing_speed_mps);
    }
}

static double unopened_share(const pappus_cloud *cloud, const pappus_sample *sample)
{
    double sum = 0.0;
    for (size_t i = 0; i < sample->count; i++)
        if (cloud->unopened[sample->index[i]]) sum += pappus_sample_weight(sample, i);
    return fmin(sum / sample->total, 1.0);
}

static int fill_statistics(pappus_zone *zone, const pappus_cloud *cloud, const pappus_plan *plan,
                           const pappus_sample *sample)
{
    double mean_m[2];
    if (sample->count == 0) return PAPPUS_OK;
    double *values = malloc(sample->count * sizeof *values);
    if (!values) return PAPPUS_E_MEMORY;
    pappus_sample_moments(mean_m, zone->covariance_m2, cloud, sample);
    zone->mean_east_m = mean_m[0];
    zone->mean_north_m = mean_m[1];
    pappus_ellipses_fill(zone->ellipses, mean_m, (const double(*)[2])zone->covariance_m2, cloud,
                         sample);
    int status = PAPPUS_OK;
    for (size_t s = 0; s < STATISTICS && status == PAPPUS_OK; s++)
        status = fill_quantiles(quantiles_of(zone, s), values, s, cloud, sample);
    fill_energy(zone, plan);
    zone->unopened = unopened_share(cloud, sample);
    free(values);
    return status;
}

/* ------------------------------------------------------------------ zones */

static int zone_start(pappus_zone *zone, double probability, size_t landings, size_t keep_outs,
                      const pappus_plan *plan, pappus_error *err)
{
    size_t sections = plan->rocket.section_count > 0 ? plan->rocket.section_count : 1;
    zone->probability = probability;
    zone->landings = landings;
    zone->inside_field = unknown;
    zone->mean_east_m = zone->mean_north_m = zone->unopened = NAN;
    for (int l = 0; l < PAPPUS_LEVELS; l++)
        zone->ellipses[l] = (pappus_ellipse){pappus_levels[l], NAN, NAN, NAN, NAN, NAN};
    for (int i = 0; i < 2; i++)
        zone->covariance_m2[i][0] = zone->covariance_m2[i][1] = NAN;
    for (size_t s = 0; s < STATISTICS; s++)
        *quantiles_of(zone, s) = no_quantiles;
    zone->keep_out = malloc((keep_outs + 1) * sizeof *zone->keep_out);
    zone->energy_j = malloc(sections * sizeof *zone->energy_j);
    zone->energy_total_j = malloc(sections * sizeof *zone->energy_total_j);
    if (!zone->keep_out || !zone->energy_j || !zone->energy_total_j) return pappus_fail_memory(err);
    zone->keep_out_count = keep_outs;
    zone->section_count = sections;
    for (size_t k = 0; k < keep_outs; k++)
        zone->keep_out[k] = unknown;
    for (size_t s = 0; s < sections; s++)
        zone->energy_j[s] = zone->energy_total_j[s] = no_quantiles;
    return PAPPUS_OK;
}

static int zones_start(pappus_zones *zones, const pappus_cloud *cloud, const pappus_plan *plan,
                       const pappus_hits *hits, const pappus_strata *strata, pappus_error *err)
{
    size_t areas = hits ? hits->keep_out_count : 0;
    double drawn = 0.0;
    for (int h = 0; h < PAPPUS_OUTCOMES; h++) {
        size_t landings = strata->start[h + 1] - strata->start[h];
        if (landings > 0) drawn += cloud->probability[h];
        int status =
            zone_start(&zones->outcomes[h], cloud->probability[h], landings, areas, plan, err);
        if (status != PAPPUS_OK) return status;
    }
    return zone_start(&zones->all, drawn, cloud->count, areas, plan, err);
}

static void fill_shares(pappus_zones *zones, const pappus_hits *hits, double confidence)
{
    for (int h = 0; h < PAPPUS_OUTCOMES; h++) {
        pappus_zone *zone = &zones->outcomes[h];
        double n = (double)hits->count[h];
        if (hits->has_boundary)
            zone->inside_field = pappus_wilson((double)hits->inside[h], n, confidence);
        for (size_t k = 0; k < hits->keep_out_count; k++)
            zone->keep_out[k] = pappus_hits_keep_out_given(hits, k, (pappus_outcome)h, confidence);
    }
    zones->all.inside_field = pappus_hits_inside(hits, confidence);
    for (size_t k = 0; k < hits->keep_out_count; k++)
        zones->all.keep_out[k] = pappus_hits_keep_out(hits, k, confidence);
}

static int fill_all_statistics(pappus_zones *zones, const pappus_cloud *cloud,
                               const pappus_plan *plan, const pappus_strata *strata, int threads,
                               pappus_error *err)
{
    int failed = PAPPUS_OK;
#pragma omp parallel for schedule(dynamic) num_threads(threads)
    for (int h = -1; h < PAPPUS_OUTCOMES; h++) {
        pappus_sample sample = h < 0 ? pappus_strata_all(strata) : pappus_strata_outcome(strata, h);
        pappus_zone *zone = h < 0 ? &zones->all : &zones->outcomes[h];
        int status = fill_statistics(zone, cloud, plan, &sample);
        if (status != PAPPUS_OK) {
#pragma omp atomic write
            failed = status;
        }
    }
    return failed == PAPPUS_OK ? PAPPUS_OK : pappus_fail_memory(err);
}

static int fill_all_contours(pappus_zones *zones, const pappus_cloud *cloud,
                             const pappus_strata *strata, pappus_grid_detail detail, int threads,
                             pappus_error *err)
{
    pappus_contour of_outcomes[PAPPUS_OUTCOMES][PAPPUS_LEVELS];
    int status = pappus_contours_build(zones->all.contours, of_outcomes, cloud, strata, detail,
                                       threads, err);
    if (status != PAPPUS_OK) return status;
    zones->all.contour_count = zones->all.landings > 0 ? PAPPUS_LEVELS : 0;
    for (int h = 0; h < PAPPUS_OUTCOMES; h++) {
        pappus_zone *zone = &zones->outcomes[h];
        memcpy(zone->contours, of_outcomes[h], sizeof zone->contours);
        zone->contour_count = zone->landings > 0 ? PAPPUS_LEVELS : 0;
    }
    return PAPPUS_OK;
}

static int fill_zones(pappus_zones *zones, const pappus_cloud *cloud, const pappus_plan *plan,
                      const pappus_hits *hits, const pappus_strata *strata,
                      const pappus_zones_options *options, pappus_error *err)
{
    int threads = pappus_threads(options->threads);
    int status = zones_start(zones, cloud, plan, hits, strata, err);
    if (status != PAPPUS_OK) return status;
    if (hits) fill_shares(zones, hits, options->confidence);
    status = fill_all_statistics(zones, cloud, plan, strata, threads, err);
    if (status == PAPPUS_OK && options->contours)
        status = fill_all_contours(zones, cloud, strata,
                                   options->coarse ? PAPPUS_GRID_COARSE : PAPPUS_GRID_FINE, threads,
                                   err);
    return status;
}

int pappus_zones_build(pappus_zones **out, const pappus_cloud *cloud, const pappus_plan *plan,
                       const pappus_hits *hits, const pappus_zones_options *options,
                       pappus_error *err)
{
    static const pappus_zones_options defaults = PAPPUS_ZONES_OPTIONS_INIT;
    pappus_strata strata = {0};
    if (!options) options = &defaults;
    *out = NULL;
    pappus_zones *zones = calloc(1, sizeof *zones);
    if (!zones) return pappus_fail_memory(err);
    int status = pappus_strata_build(&strata, cloud, err);
    if (status == PAPPUS_OK) status = fill_zones(zones, cloud, plan, hits, &strata, options, err);
    pappus_strata_clear(&strata);
    if (status != PAPPUS_OK) {
        pappus_zones_free(zones);
        return status;
    }
    *out = zones;
    return PAPPUS_OK;
}

static void zone_clear(pappus_zone *zone)
{
    for (size_t l = 0; l < zone->contour_count; l++)
        pappus_area_clear(&zone->contours[l].shape);
    free(zone->keep_out);
    free(zone->energy_j);
    free(zone->energy_total_j);
}

void pappus_zones_free(pappus_zones *zones)
{
    if (!zones) return;
    zone_clear(&zones->all);
    for (int h = 0; h < PAPPUS_OUTCOMES; h++)
        zone_clear(&zones->outcomes[h]);
    free(zones);
}
