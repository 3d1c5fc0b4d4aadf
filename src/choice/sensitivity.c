/* SPDX-License-Identifier: GPL-3.0-or-later
 * What drives the zone: shares of the variance of the nominal landing along one
 * axis, by group of uncertain inputs.
 *
 * Pick-freeze: A and B are clouds on independent draws, B_g takes every group but
 * g from A and g from B, so B and B_g share g alone. First-order share of g
 * (Saltelli et al., Comput. Phys. Commun. 181:259, 2010, table 2, f centred):
 *   S_g = E[f(B) (f(B_g) - f(A))] / V           below LARGE_SHARE: 0 for a null group
 *   S_g = 1 - E[(f(B) - f(B_g))^2] / (2 V)      above it: exact for one that is all
 * with V from A and B. Each estimator is a mean over landings of a value over V, so the
 * errors come from what each landing adds to it (delta method), the interactions' from
 * the sum over the groups: landings are common, their errors are not independent. Right
 * while the groups are independent, which their streams are.
 *
 * The axis: outward normal at the boundary point nearest the mean landing, or
 * the major axis of the zone without a boundary. */
#include <pappus/choice.h>

#include "containment.h"
#include "bearing.h"
#include "error.h"

#include <math.h>
#include <stdlib.h>

#define SENSITIVITY_LANDINGS 8192
#define LARGE_SHARE 0.4
#define LEAST_VARIANCE_M2 1e-6 /* below it there is rounding and nothing to share */

static const struct {
    pappus_draw_group group;
    const char *name;
} groups[PAPPUS_DRAW_GROUPS] = {{PAPPUS_GROUP_WIND_ALOFT, "wind aloft"},
                                {PAPPUS_GROUP_SURFACE_WIND, "surface wind"},
                                {PAPPUS_GROUP_APOGEE, "apogee"},
                                {PAPPUS_GROUP_DRAG, "canopy drag and mass"},
                                {PAPPUS_GROUP_ALTIMETERS, "altimeters and delays"}};

static int find_axis(double axis[2], pappus_sensitivity *out, const pappus_givens *given,
                     const pappus_zone *zone, pappus_error *err)
{
    double bearing = zone->ellipses[PAPPUS_LEVEL_50].bearing_deg * M_PI / 180.0;
    axis[0] = sin(bearing);
    axis[1] = cos(bearing);
    if (given->field && given->field->has_boundary) {
        pappus_containment *field = NULL;
        pappus_edge edge;
        int status = pappus_containment_new(&field, &given->field->boundary, err);
        if (status == PAPPUS_OK)
            status =
                pappus_containment_edge(&edge, field, zone->mean_east_m, zone->mean_north_m, err);
        pappus_containment_free(field);
        if (status != PAPPUS_OK) return status;
        axis[0] = edge.normal_east;
        axis[1] = edge.normal_north;
        out->towards_boundary = true;
    }
    out->axis_bearing_deg = pappus_bearing_of(axis[0], axis[1]);
    return PAPPUS_OK;
}

/* Landing along the axis for each draw; NULL with err filled on failure. */
static double *landings_along(const pappus_givens *given, const pappus_run *run,
                              const double axis[2], unsigned fresh_groups, pappus_error *err)
{
    pappus_scatter_options options = PAPPUS_SCATTER_OPTIONS_INIT;
    pappus_cloud *cloud = NULL;
    if (run) options.run = *run;
    options.run.landings = SENSITIVITY_LANDINGS;
    options.run.progress = NULL;
    options.nominal_only = true;
    options.fresh_groups = fresh_groups;
    if (pappus_scatter(&cloud, given->plan, given->air, &options, err) != PAPPUS_OK) return NULL;
    double *along = malloc(cloud->count * sizeof *along);
    if (!along) pappus_fail_memory(err);
    for (size_t i = 0; along && i < cloud->count; i++)
        along[i] = axis[0] * cloud->east_m[i] + axis[1] * cloud->north_m[i];
    pappus_cloud_free(cloud);
    return along;
}

static double mean_of(const double *a, const double *b)
{
    double sum = 0.0;
    for (size_t i = 0; i < SENSITIVITY_LANDINGS; i++)
        sum += a[i] + b[i];
    return sum / (2.0 * SENSITIVITY_LANDINGS);
}

/* Subtracts their mean from both; returns their variance. */
static double centre(double *a, double *b, double mean)
{
    double square = 0.0;
    for (size_t i = 0; i < SENSITIVITY_LANDINGS; i++) {
        a[i] -= mean;
        b[i] -= mean;
        square += a[i] * a[i] + b[i] * b[i];
    }
    return square / (2.0 * SENSITIVITY_LANDINGS - 1.0);
}

/* What a landing adds to the share of a group, by one estimator or the other. */
static double part_of(bool large, double a, double b, double b_g, double variance)
{
    double half = 0.5 * (b - b_g) * (b - b_g);
    return large ? 1.0 - half / variance : b * (b_g - a) / variance;
}

static double mean_part(bool large, const double *a, const double *b, const double *b_g,
                        double variance)
{
    double sum = 0.0;
    for (size_t i = 0; i < SENSITIVITY_LANDINGS; i++)
        sum += part_of(large, a[i], b[i], b_g[i], variance);
    return sum / SENSITIVITY_LANDINGS;
}

/* Share and error of one group; each landing's influence on it is added to `total`. The
 * variance is estimated from the same landings: what they do to it counts too. */
static void first_order(pappus_driver *driver, double *total, const double *a, const double *b,
                        const double *b_g, double variance)
{
    double square = 0.0, share = mean_part(false, a, b, b_g, variance);
    bool large = share > LARGE_SHARE;
    if (large) share = mean_part(true, a, b, b_g, variance);
    double by_variance = large ? share - 1.0 : share; /* the part that is over V */
    for (size_t i = 0; i < SENSITIVITY_LANDINGS; i++) {
        double of_variance = 0.5 * (a[i] * a[i] + b[i] * b[i]) / variance - 1.0;
        double influence = part_of(large, a[i], b[i], b_g[i], variance) - share;
        influence -= by_variance * of_variance;
        square += influence * influence;
        total[i] += influence;
    }
    driver->share = share;
    driver->error = sqrt(square) / SENSITIVITY_LANDINGS;
}

static void remainder_of(pappus_sensitivity *out, const double *total)
{
    pappus_driver *rest = &out->drivers[PAPPUS_DRAW_GROUPS];
    double square = 0.0;
    *rest = (pappus_driver){"interactions", out->sd_m > 0.0 ? 1.0 : 0.0, 0.0};
    for (size_t g = 0; g < PAPPUS_DRAW_GROUPS; g++)
        rest->share -= out->drivers[g].share;
    for (size_t i = 0; i < SENSITIVITY_LANDINGS; i++)
        square += total[i] * total[i];
    rest->error = sqrt(square) / SENSITIVITY_LANDINGS;
    out->driver_count = PAPPUS_DRAW_GROUPS + 1;
}

/* a and b have been centred by mean_m. */
static int find_groups(pappus_sensitivity *out, double *total, const pappus_givens *given,
                       const pappus_run *run, const double axis[2], const double *a,
                       const double *b, double mean_m, pappus_error *err)
{
    double variance = out->sd_m * out->sd_m;
    for (size_t g = 0; g < PAPPUS_DRAW_GROUPS; g++) {
        double *b_g = landings_along(given, run, axis, groups[g].group, err);
        if (!b_g) return PAPPUS_E_MEMORY;
        for (size_t i = 0; i < SENSITIVITY_LANDINGS; i++)
            b_g[i] -= mean_m;
        out->drivers[g].name = groups[g].name;
        if (variance > 0.0) first_order(&out->drivers[g], total, a, b, b_g, variance);
        free(b_g);
    }
    remainder_of(out, total);
    return PAPPUS_OK;
}

static int find_shares(pappus_sensitivity *out, const pappus_givens *given, const pappus_run *run,
                       const double axis[2], pappus_error *err)
{
    const unsigned every = (1u << PAPPUS_DRAW_GROUPS) - 1u;
    int status = PAPPUS_E_MEMORY;
    double *a = landings_along(given, run, axis, 0, err);
    double *b = a ? landings_along(given, run, axis, every, err) : NULL;
    double *total = b ? calloc(SENSITIVITY_LANDINGS, sizeof *total) : NULL;
    if (b && !total) pappus_fail_memory(err);
    if (total) {
        double mean_m = mean_of(a, b), variance = centre(a, b, mean_m);
        out->sd_m = variance > LEAST_VARIANCE_M2 ? sqrt(variance) : 0.0;
        status = find_groups(out, total, given, run, axis, a, b, mean_m, err);
    }
    free(a);
    free(b);
    free(total);
    if (status != PAPPUS_OK && err && err->code != PAPPUS_OK) return err->code;
    return status;
}

int pappus_sensitivity_find(pappus_sensitivity **out, const pappus_givens *given,
                            const pappus_run *run, const pappus_zones *zones, pappus_error *err)
{
    double axis[2];
    pappus_sensitivity *found = calloc(1, sizeof *found);
    *out = NULL;
    if (!found) return pappus_fail_memory(err);
    int status = find_axis(axis, found, given, &zones->outcomes[PAPPUS_NOMINAL], err);
    if (status == PAPPUS_OK) status = find_shares(found, given, run, axis, err);
    if (status != PAPPUS_OK) {
        pappus_sensitivity_free(found);
        return status;
    }
    *out = found;
    return PAPPUS_OK;
}

void pappus_sensitivity_free(pappus_sensitivity *sensitivity)
{
    free(sensitivity);
}
