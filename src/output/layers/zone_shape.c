/* SPDX-License-Identifier: GPL-3.0-or-later
 * Ellipses as polygons of 120 points: inscribed, so the area is 0.05 % short.
 * A contour's length and breadth are its extents along and across the major
 * axis of its zone's ellipse; of a zone in several parts they span all parts. */
#include "zone_shape.h"

#include <math.h>
#include <stdlib.h>

#include "error.h"

#define LEAST_AXIS_M 0.01 /* a zone without any width is still a polygon */
#define PI 3.14159265358979323846

static const pappus_zone *zone_of(const pappus_zones *zones, size_t index)
{
    return index == 0 ? &zones->all : &zones->outcomes[index - 1];
}

static const char *outcome_of(size_t index)
{
    return index == 0 ? "all" : pappus_outcome_text((pappus_outcome)(index - 1));
}

static bool has_ellipse(const pappus_zone *zone, size_t level)
{
    const pappus_ellipse *ellipse = &zone->ellipses[level];
    return zone->landings > 0 && isfinite(ellipse->major_m) && isfinite(ellipse->minor_m) &&
           isfinite(ellipse->bearing_deg);
}

static void fill_ellipse(double *points_m, const pappus_zone *zone, const pappus_ellipse *ellipse)
{
    double bearing = ellipse->bearing_deg * PI / 180;
    double major = fmax(ellipse->major_m, LEAST_AXIS_M);
    double minor = fmax(ellipse->minor_m, LEAST_AXIS_M);
    for (size_t i = 0; i < PAPPUS_ELLIPSE_POINTS; i++) {
        double angle = 2 * PI * (double)i / PAPPUS_ELLIPSE_POINTS;
        double along = major * cos(angle), left = minor * sin(angle);
        points_m[2 * i] = zone->mean_east_m + along * sin(bearing) - left * cos(bearing);
        points_m[2 * i + 1] = zone->mean_north_m + along * cos(bearing) + left * sin(bearing);
    }
}

void pappus_area_extent(double *along_m, double *across_m, const pappus_area *area,
                        double bearing_deg)
{
    double east = sin(bearing_deg * PI / 180), north = cos(bearing_deg * PI / 180);
    double low[2] = {INFINITY, INFINITY}, high[2] = {-INFINITY, -INFINITY};
    for (size_t p = 0; p < area->polygon_count; p++) {
        const pappus_ring *shell = &area->polygons[p].rings[0];
        for (size_t i = 0; i < shell->point_count; i++) {
            double x = shell->points_m[2 * i], y = shell->points_m[2 * i + 1];
            double at[2] = {x * east + y * north, x * north - y * east};
            for (size_t axis = 0; axis < 2; axis++) {
                low[axis] = fmin(low[axis], at[axis]);
                high[axis] = fmax(high[axis], at[axis]);
            }
        }
    }
    *along_m = area->polygon_count ? (high[0] - low[0]) / 2 : NAN;
    *across_m = area->polygon_count ? (high[1] - low[1]) / 2 : NAN;
}

static int allocate(pappus_zone_shapes *out, bool owned, pappus_error *err)
{
    size_t most = (PAPPUS_OUTCOMES + 1) * PAPPUS_LEVELS;
    *out = (pappus_zone_shapes){.shapes = calloc(most, sizeof *out->shapes)};
    if (owned) out->owned = calloc(most, sizeof *out->owned);
    if (out->shapes && (!owned || out->owned)) return PAPPUS_OK;
    pappus_zone_shapes_clear(out);
    return pappus_fail_memory(err);
}

int pappus_zone_ellipses(pappus_zone_shapes *out, const pappus_zones *zones, pappus_error *err)
{
    int status = allocate(out, true, err);
    if (status != PAPPUS_OK) return status;
    for (size_t z = 0; z <= PAPPUS_OUTCOMES; z++) {
        const pappus_zone *zone = zone_of(zones, z);
        for (size_t k = 0; k < PAPPUS_LEVELS; k++) {
            const pappus_ellipse *ellipse = &zone->ellipses[k];
            if (!has_ellipse(zone, k)) continue;
            pappus_zone_outline *own = &out->owned[out->count];
            fill_ellipse(own->points_m, zone, ellipse);
            own->ring = (pappus_ring){PAPPUS_ELLIPSE_POINTS, own->points_m};
            own->polygon = (pappus_polygon){1, &own->ring};
            own->area = (pappus_area){"", 1, &own->polygon};
            out->shapes[out->count++] = (pappus_zone_shape){
                outcome_of(z),    ellipse->level,   ellipse->share,       ellipse->area_m2,
                ellipse->major_m, ellipse->minor_m, ellipse->bearing_deg, &own->area};
        }
    }
    return PAPPUS_OK;
}

int pappus_zone_contours(pappus_zone_shapes *out, const pappus_zones *zones, pappus_error *err)
{
    int status = allocate(out, false, err);
    if (status != PAPPUS_OK) return status;
    for (size_t z = 0; z <= PAPPUS_OUTCOMES; z++) {
        const pappus_zone *zone = zone_of(zones, z);
        for (size_t k = 0; k < zone->contour_count; k++) {
            const pappus_contour *contour = &zone->contours[k];
            if (contour->shape.polygon_count == 0) continue;
            pappus_zone_shape *shape = &out->shapes[out->count++];
            *shape = (pappus_zone_shape){.outcome = outcome_of(z),
                                         .level = contour->level,
                                         .share = contour->share,
                                         .area_m2 = contour->area_m2,
                                         .bearing_deg = zone->ellipses[k].bearing_deg,
                                         .shape = &contour->shape};
            pappus_area_extent(&shape->major_m, &shape->minor_m, shape->shape, shape->bearing_deg);
        }
    }
    return PAPPUS_OK;
}

void pappus_zone_shapes_clear(pappus_zone_shapes *shapes)
{
    free(shapes->owned);
    free(shapes->shapes);
    *shapes = (pappus_zone_shapes){0};
}
