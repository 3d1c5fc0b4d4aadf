/* SPDX-License-Identifier: GPL-3.0-or-later
 * Ellipses as polygons of 120 points: inscribed, so the area is 0.05 % short.
 * A contour's length and breadth are its extents along and across the major
 * axis of its zone's ellipse; of a zone in several parts they span all parts. */
#include "zone_shape.h"

#include <math.h>

#include "geometry.h"

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

void pappus_zone_ellipses(pappus_zone_shapes *out, const pappus_zones *zones)
{
    out->count = 0;
    for (size_t z = 0; z <= PAPPUS_OUTCOMES; z++) {
        const pappus_zone *zone = zone_of(zones, z);
        for (size_t k = 0; k < PAPPUS_LEVELS; k++) {
            const pappus_ellipse *ellipse = &zone->ellipses[k];
            if (!has_ellipse(zone, k)) continue;
            pappus_zone_shape *shape = &out->shapes[out->count++];
            *shape = (pappus_zone_shape){
                outcome_of(z),    ellipse->level,   ellipse->share,       ellipse->area_m2,
                ellipse->major_m, ellipse->minor_m, ellipse->bearing_deg, .shape = &shape->area};
            fill_ellipse(shape->points_m, zone, ellipse);
            shape->ring = (pappus_ring){PAPPUS_ELLIPSE_POINTS, shape->points_m};
            shape->polygon = (pappus_polygon){1, &shape->ring};
            shape->area = (pappus_area){"", 1, &shape->polygon};
        }
    }
}

void pappus_zone_contours(pappus_zone_shapes *out, const pappus_zones *zones)
{
    out->count = 0;
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
}
