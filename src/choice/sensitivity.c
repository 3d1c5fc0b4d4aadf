/* SPDX-License-Identifier: GPL-3.0-or-later
 * What drives the zone: shares of the variance of the nominal landing along one
 * axis, by group of uncertain inputs.
 *
 * Pick-freeze: A and B are clouds on independent draws, B_g takes every group but
 * g from A and g from B, so B and B_g share g alone. First-order share of g
 * (Jansen 1999; Saltelli et al., Comput. Phys. Commun. 181:259, 2010, table 2):
 *   S_g = 1 - E[(f(B) - f(B_g))^2] / (2 V)
 * with V from A and B. Standard error from the sampling error of that mean (V's own
 * is smaller and left out). What the groups leave is shown as interactions. Right
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
            status = pappus_containment_edge(&edge, field, zone->mean_east_m, zone->mean_north_m, err);
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

static double variance_of(const double *a, const double *b)
{
    double mean = 0.0, square = 0.0;
    for (size_t i = 0; i < SENSITIVITY_LANDINGS; i++) mean += a[i] + b[i];
    mean /= 2.0 * SENSITIVITY_LANDINGS;
    for (size_t i = 0; i < SENSITIVITY_LANDINGS; i++)
        square += (a[i] - mean) * (a[i] - mean) + (b[i] - mean) * (b[i] - mean);
    return square / (2.0 * SENSITIVITY_LANDINGS - 1.0);
}

static void first_order(pappus_driver *driver, const double *b, const double *b_g, double variance)
{
    double sum = 0.0, square = 0.0;
    const double n = SENSITIVITY_LANDINGS;
    for (size_t i = 0; i < SENSITIVITY_LANDINGS; i++) {
        double half = 0.5 * (b[i] - b_g[i]) * (b[i] - b_g[i]);
        sum += half;
        square += half * half;
    }
    double mean = sum / n;
    driver->share = 1.0 - mean / variance;
    driver->error = sqrt(fmax(square / n - mean * mean, 0.0) / n) / variance;
}

static void remainder_of(pappus_sensitivity *out)
{
    pappus_driver *rest = &out->drivers[PAPPUS_DRAW_GROUPS];
    *rest = (pappus_driver){"interactions", out->sd_m > 0.0 ? 1.0 : 0.0, 0.0};
    for (size_t g = 0; g < PAPPUS_DRAW_GROUPS; g++) {
        rest->share -= out->drivers[g].share;
        rest->error = hypot(rest->error, out->drivers[g].error);
    }
    out->driver_count = PAPPUS_DRAW_GROUPS + 1;
}

static int find_shares(pappus_sensitivity *out, const pappus_givens *given, const pappus_run *run,
                       const double axis[2], pappus_error *err)
{
    const unsigned every = (1u << PAPPUS_DRAW_GROUPS) - 1u;
    double *a = landings_along(given, run, axis, 0, err);
    double *b = a ? landings_along(given, run, axis, every, err) : NULL;
    double variance = b ? variance_of(a, b) : 0.0;
    int status = b ? PAPPUS_OK : PAPPUS_E_MEMORY;
    out->sd_m = variance > LEAST_VARIANCE_M2 ? sqrt(variance) : 0.0;
    for (size_t g = 0; g < PAPPUS_DRAW_GROUPS && status == PAPPUS_OK; g++) {
        double *b_g = landings_along(given, run, axis, groups[g].group, err);
        out->drivers[g].name = groups[g].name;
        if (b_g && out->sd_m > 0.0) first_order(&out->drivers[g], b, b_g, variance);
        if (!b_g) status = PAPPUS_E_MEMORY;
        free(b_g);
    }
    free(a);
    free(b);
    if (status == PAPPUS_OK) remainder_of(out);
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
