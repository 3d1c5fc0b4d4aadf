/* SPDX-License-Identifier: GPL-3.0-or-later
 * Areas on the local plane: orientation and size by the shoelace formula,
 * validity (OGC simple features) and union by GEOS. Plane geometry: right as far
 * as the local tangent plane is, some tens of kilometres from the pad. */
#include "geometry.h"
#include "error.h"
#include "utf8.h"

#include <errno.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define PI 3.14159265358979323846

static void polygon_clear(pappus_polygon *polygon)
{
    for (size_t i = 0; i < polygon->ring_count; i++)
        free(polygon->rings[i].points_m);
    free(polygon->rings);
    *polygon = (pappus_polygon){0};
}

void pappus_area_clear(pappus_area *area)
{
    for (size_t i = 0; i < area->polygon_count; i++)
        polygon_clear(&area->polygons[i]);
    free(area->polygons);
    free(area->name);
    *area = (pappus_area){0};
}

static bool ring_copy(pappus_ring *out, const pappus_ring *ring)
{
    size_t size = 2 * ring->point_count * sizeof *ring->points_m;
    out->points_m = malloc(size ? size : 1);
    if (!out->points_m) return false;
    if (size) memcpy(out->points_m, ring->points_m, size);
    out->point_count = ring->point_count;
    return true;
}

static bool polygon_copy(pappus_polygon *out, const pappus_polygon *polygon)
{
    out->rings = calloc(polygon->ring_count + 1, sizeof *out->rings);
    if (!out->rings) return false;
    for (size_t i = 0; i < polygon->ring_count; i++) {
        if (!ring_copy(&out->rings[i], &polygon->rings[i])) return false;
        out->ring_count++;
    }
    return true;
}

int pappus_area_copy(pappus_area *out, const pappus_area *area, pappus_error *err)
{
    bool ok = true;
    *out = (pappus_area){.name = strdup(area->name ? area->name : ""),
                         .polygons = calloc(area->polygon_count + 1, sizeof *out->polygons)};
    if (!out->name || !out->polygons) {
        pappus_area_clear(out);
        return pappus_fail_memory(err);
    }
    while (ok && out->polygon_count < area->polygon_count) {
        size_t i = out->polygon_count++;
        ok = polygon_copy(&out->polygons[i], &area->polygons[i]);
    }
    if (ok) return PAPPUS_OK;
    pappus_area_clear(out);
    return pappus_fail_memory(err);
}

double pappus_ring_area_m2(const pappus_ring *ring)
{
    const double *p = ring->points_m;
    double twice = 0.0;
    /* Relative to the first point: a small ring far from the pad keeps its digits. */
    for (size_t i = 1; i + 1 < ring->point_count; i++) {
        double ax = p[2 * i] - p[0], ay = p[2 * i + 1] - p[1];
        double bx = p[2 * i + 2] - p[0], by = p[2 * i + 3] - p[1];
        twice += ax * by - ay * bx;
    }
    return 0.5 * twice;
}

double pappus_area_m2(const pappus_area *area)
{
    double sum = 0.0;
    for (size_t i = 0; i < area->polygon_count; i++) {
        const pappus_polygon *polygon = &area->polygons[i];
        for (size_t k = 0; k < polygon->ring_count; k++) {
            double size = fabs(pappus_ring_area_m2(&polygon->rings[k]));
            sum += k == 0 ? size : -size;
        }
    }
    return sum;
}

static void ring_reverse(pappus_ring *ring)
{
    double *p = ring->points_m;
    for (size_t i = 0, k = ring->point_count; i + 1 < k; i++) {
        k--;
        double east = p[2 * i], north = p[2 * i + 1];
        p[2 * i] = p[2 * k];
        p[2 * i + 1] = p[2 * k + 1];
        p[2 * k] = east;
        p[2 * k + 1] = north;
    }
}

void pappus_area_orient(pappus_area *area)
{
    for (size_t i = 0; i < area->polygon_count; i++)
        for (size_t k = 0; k < area->polygons[i].ring_count; k++) {
            pappus_ring *ring = &area->polygons[i].rings[k];
            if ((pappus_ring_area_m2(ring) > 0.0) != (k == 0)) ring_reverse(ring);
        }
}

bool pappus_area_bounds(double bounds_m[4], const pappus_area *area)
{
    double b[4] = {INFINITY, INFINITY, -INFINITY, -INFINITY};
    for (size_t i = 0; i < area->polygon_count; i++) {
        if (area->polygons[i].ring_count == 0) continue;
        const pappus_ring *shell = &area->polygons[i].rings[0];
        for (size_t k = 0; k < shell->point_count; k++)
            for (int axis = 0; axis < 2; axis++) {
                double value = shell->points_m[2 * k + (size_t)axis];
                b[axis] = fmin(b[axis], value);
                b[axis + 2] = fmax(b[axis + 2], value);
            }
    }
    memcpy(bounds_m, b, sizeof b);
    return b[0] <= b[2] && b[1] <= b[3];
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

/* -------------------------------------------------------------------- GEOS */

GEOSContextHandle_t pappus_geos_begin(void)
{
    errno = 0; /* fail_geos */
    return GEOS_init_r();
}

void pappus_geos_end(GEOSContextHandle_t geos)
{
    if (geos) GEOS_finish_r(geos);
}

/* It tells why in words alone; the allocator leaves a number. */
static int fail_geos(pappus_error *err)
{
    if (errno == ENOMEM) return pappus_fail_memory(err);
    return pappus_fail(err, PAPPUS_E_NUMERIC, NULL, NULL, NULL,
                       "the geometry library failed on an area (a coordinate that is not a "
                       "number)");
}

static GEOSGeometry *ring_to_geos(GEOSContextHandle_t geos, const pappus_ring *ring)
{
    size_t n = ring->point_count;
    const double *p = ring->points_m;
    if (n < 3) return NULL;
    GEOSCoordSequence *sequence = GEOSCoordSeq_create_r(geos, (unsigned)n + 1, 2);
    if (!sequence) return NULL;
    for (size_t i = 0; i <= n; i++) {
        const double *at = p + 2 * (i % n);
        if (!GEOSCoordSeq_setXY_r(geos, sequence, (unsigned)i, at[0], at[1])) {
            GEOSCoordSeq_destroy_r(geos, sequence);
            return NULL;
        }
    }
    return GEOSGeom_createLinearRing_r(geos, sequence); /* owns the sequence, even on failure */
}

static void destroy_all(GEOSContextHandle_t geos, GEOSGeometry **geometries, size_t count)
{
    for (size_t i = 0; i < count; i++)
        GEOSGeom_destroy_r(geos, geometries[i]);
    free(geometries);
}

static GEOSGeometry *polygon_to_geos(GEOSContextHandle_t geos, const pappus_polygon *polygon)
{
    size_t made = 0, count = polygon->ring_count;
    GEOSGeometry **rings = calloc(count + 1, sizeof *rings);
    if (!rings) return NULL;
    while (made < count && (rings[made] = ring_to_geos(geos, &polygon->rings[made])))
        made++;
    if (count == 0 || made < count) {
        destroy_all(geos, rings, made);
        return NULL;
    }
    /* Owns shell and holes whether it succeeds or not. */
    GEOSGeometry *out = GEOSGeom_createPolygon_r(geos, rings[0], rings + 1, (unsigned)count - 1);
    free(rings);
    return out;
}

/* All else that rings may be GEOS takes as it is. */
static bool has_short_ring(const pappus_area *area)
{
    for (size_t p = 0; p < area->polygon_count; p++)
        for (size_t r = 0; r < area->polygons[p].ring_count; r++)
            if (area->polygons[p].rings[r].point_count < 3) return true;
    return false;
}

int pappus_area_to_geos(GEOSGeometry **out, GEOSContextHandle_t geos, const pappus_area *area,
                        pappus_error *err)
{
    size_t made = 0, count = area->polygon_count;
    GEOSGeometry **polygons = calloc(count + 1, sizeof *polygons);
    *out = NULL;
    if (!polygons) return pappus_fail_memory(err);
    while (made < count && (polygons[made] = polygon_to_geos(geos, &area->polygons[made])))
        made++;
    if (made < count) {
        destroy_all(geos, polygons, made);
        return has_short_ring(area) ? fail_geos(err) : pappus_fail_memory(err);
    }
    *out = GEOSGeom_createCollection_r(geos, GEOS_MULTIPOLYGON, polygons, (unsigned)count);
    free(polygons);
    return *out ? PAPPUS_OK : pappus_fail_memory(err);
}

static bool ring_from_geos(pappus_ring *out, GEOSContextHandle_t geos, const GEOSGeometry *ring)
{
    unsigned size = 0;
    const GEOSCoordSequence *sequence = GEOSGeom_getCoordSeq_r(geos, ring);
    if (!sequence || !GEOSCoordSeq_getSize_r(geos, sequence, &size) || size < 4) return false;
    out->points_m = malloc(2 * (size_t)size * sizeof *out->points_m);
    if (!out->points_m) return false;
    if (!GEOSCoordSeq_copyToBuffer_r(geos, sequence, out->points_m, 0, 0)) return false;
    out->point_count = size - 1;
    return true;
}

static bool polygon_from_geos(pappus_polygon *out, GEOSContextHandle_t geos,
                              const GEOSGeometry *polygon)
{
    int holes = GEOSGetNumInteriorRings_r(geos, polygon);
    if (holes < 0) return false;
    out->rings = calloc((size_t)holes + 1, sizeof *out->rings);
    if (!out->rings) return false;
    for (int i = 0; i <= holes; i++) {
        const GEOSGeometry *ring = i == 0 ? GEOSGetExteriorRing_r(geos, polygon)
                                          : GEOSGetInteriorRingN_r(geos, polygon, i - 1);
        out->ring_count++;
        if (!ring || !ring_from_geos(&out->rings[i], geos, ring)) return false;
    }
    return true;
}

int pappus_area_from_geos(pappus_area *out, GEOSContextHandle_t geos, const GEOSGeometry *geometry,
                          const char *name, pappus_error *err)
{
    int parts = GEOSGetNumGeometries_r(geos, geometry);
    *out = (pappus_area){.name = strdup(name ? name : ""),
                         .polygons =
                             calloc((size_t)(parts < 0 ? 0 : parts) + 1, sizeof *out->polygons)};
    bool ok = parts >= 0 && out->name && out->polygons;
    for (int i = 0; ok && i < parts; i++) {
        const GEOSGeometry *part = GEOSGetGeometryN_r(geos, geometry, i);
        if (!part || GEOSGeomTypeId_r(geos, part) != GEOS_POLYGON || GEOSisEmpty_r(geos, part) != 0)
            continue;
        ok = polygon_from_geos(&out->polygons[out->polygon_count++], geos, part);
    }
    if (!ok) {
        pappus_area_clear(out);
        return fail_geos(err);
    }
    pappus_area_orient(out);
    return PAPPUS_OK;
}

static void place_of(pappus_validity *out, GEOSContextHandle_t geos, GEOSGeometry *place)
{
    out->east_m = out->north_m = NAN;
    if (!place) return;
    if (GEOSGeomGetX_r(geos, place, &out->east_m) != 1) out->east_m = NAN;
    if (GEOSGeomGetY_r(geos, place, &out->north_m) != 1) out->north_m = NAN;
    GEOSGeom_destroy_r(geos, place);
}

int pappus_area_check(pappus_validity *out, const pappus_area *area, pappus_error *err)
{
    GEOSContextHandle_t geos = pappus_geos_begin();
    GEOSGeometry *geometry, *place = NULL;
    char *reason = NULL;
    *out = (pappus_validity){.east_m = NAN, .north_m = NAN};
    if (!geos) return pappus_fail_memory(err);
    int status = pappus_area_to_geos(&geometry, geos, area, err);
    if (status == PAPPUS_OK) {
        char valid = GEOSisValidDetail_r(geos, geometry, 0, &reason, &place);
        if (valid == 2) status = fail_geos(err);
        out->valid = valid == 1;
        pappus_text_cut(out->reason, sizeof out->reason, reason);
        place_of(out, geos, place);
        if (reason) GEOSFree_r(geos, reason);
        GEOSGeom_destroy_r(geos, geometry);
    }
    pappus_geos_end(geos);
    return status;
}

int pappus_area_unite(pappus_area *area, pappus_error *err)
{
    GEOSContextHandle_t geos = pappus_geos_begin();
    GEOSGeometry *parts, *whole = NULL;
    pappus_area united = {0};
    if (!geos) return pappus_fail_memory(err);
    int status = pappus_area_to_geos(&parts, geos, area, err);
    if (status == PAPPUS_OK) {
        whole = GEOSUnaryUnion_r(geos, parts);
        GEOSGeom_destroy_r(geos, parts);
        status =
            whole ? pappus_area_from_geos(&united, geos, whole, area->name, err) : fail_geos(err);
    }
    if (status == PAPPUS_OK) {
        pappus_area_clear(area);
        *area = united;
    }
    if (whole) GEOSGeom_destroy_r(geos, whole);
    pappus_geos_end(geos);
    return status;
}
