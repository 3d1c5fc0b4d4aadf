/* SPDX-License-Identifier: GPL-3.0-or-later
 * The areas of an outline: rings are turned to their sense (RFC 7946, 3.1.6), holes find
 * their shells, and validity is GEOS's (OGC simple features). */
#include "outline.h"
#include "error.h"
#include "geometry.h"
#include "grow.h"

#include <errno.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

/* A ring of the part without its last point and without points twice in a row. */
static bool ring_make(pappus_ring *out, const pappus_outline *outline,
                      const pappus_outline_part *part)
{
    const double *xy = outline->xy + 2 * part->first;
    size_t kept = 0;
    out->points_m = malloc(2 * part->count * sizeof *out->points_m);
    if (!out->points_m) return false;
    for (size_t i = 0; i + 1 < part->count; i++) {
        const double *p = xy + 2 * i, *next = p + 2;
        if (p[0] == next[0] && p[1] == next[1]) continue;
        memcpy(out->points_m + 2 * kept++, p, 2 * sizeof *p);
    }
    out->point_count = kept;
    return true;
}

pappus_polygon *area_polygon_add(pappus_area *area)
{
    if (!PAPPUS_GROW(area->polygons, NULL, area->polygon_count + 1)) return NULL;
    area->polygons[area->polygon_count] = (pappus_polygon){0};
    return &area->polygons[area->polygon_count++];
}

/* Moves the ring into the polygon, or frees it. */
int area_ring_add(pappus_polygon *polygon, pappus_ring ring)
{
    if (!polygon || !PAPPUS_GROW(polygon->rings, NULL, polygon->ring_count + 1)) {
        free(ring.points_m);
        return PAPPUS_E_MEMORY;
    }
    polygon->rings[polygon->ring_count++] = ring;
    return PAPPUS_OK;
}

/* Whether the shell of a polygon covers a ring: 1 or 0, which is also when GEOS cannot work with
 * them; -1: out of memory. */
static int shell_covers(const pappus_polygon *polygon, const pappus_ring *ring)
{
    pappus_polygon shell = {1, polygon->rings}, hole = {1, (pappus_ring *)ring};
    pappus_area outer = {NULL, 1, &shell}, inner = {NULL, 1, &hole};
    double a[4], b[4];
    pappus_area_bounds(a, &outer);
    pappus_area_bounds(b, &inner);
    if (b[0] < a[0] || b[1] < a[1] || b[2] > a[2] || b[3] > a[3]) return 0;
    GEOSGeometry *geometry[2] = {NULL, NULL};
    GEOSContextHandle_t geos = pappus_geos_begin();
    int covers = 0;
    int status = geos ? pappus_area_to_geos(&geometry[0], geos, &outer, NULL) : PAPPUS_E_MEMORY;
    if (status == PAPPUS_OK) status = pappus_area_to_geos(&geometry[1], geos, &inner, NULL);
    if (status == PAPPUS_OK) covers = GEOSCovers_r(geos, geometry[0], geometry[1]);
    if (status == PAPPUS_E_MEMORY || (covers == 2 && errno == ENOMEM)) covers = -1;
    for (int i = 0; i < 2; i++)
        if (geometry[i]) GEOSGeom_destroy_r(geos, geometry[i]);
    pappus_geos_end(geos);
    return covers == 2 ? 0 : covers;
}

/* The smallest shell that covers a hole; the first where none does, so that GEOS
 * says what is wrong with it. NULL: out of memory. */
static pappus_polygon *shell_of(const pappus_area *area, const pappus_ring *hole)
{
    pappus_polygon *best = NULL;
    for (size_t i = 0; i < area->polygon_count; i++) {
        pappus_polygon *polygon = &area->polygons[i];
        if (best && fabs(pappus_ring_area_m2(&polygon->rings[0])) >=
                        fabs(pappus_ring_area_m2(&best->rings[0])))
            continue;
        int covers = shell_covers(polygon, hole);
        if (covers < 0) return NULL;
        if (covers) best = polygon;
    }
    return best ? best : area->polygons;
}

/* Rings told apart by direction. The largest is a shell in any case, which takes
 * files that were written inside out as they are meant. */
static int add_rings(pappus_area *area, const pappus_outline *outline,
                     const pappus_outline_feature *feature, double largest_m2)
{
    int status = PAPPUS_OK;
    for (int holes = 0; holes < 2; holes++)
        for (size_t p = 0; status == PAPPUS_OK && p < feature->part_count; p++) {
            pappus_ring ring;
            if (!ring_make(&ring, outline, &outline->parts[feature->first_part + p]))
                return PAPPUS_E_MEMORY;
            bool hole = (pappus_ring_area_m2(&ring) > 0.0) != (largest_m2 > 0.0);
            if (hole == (holes == 1))
                status = area_ring_add(hole ? shell_of(area, &ring) : area_polygon_add(area), ring);
            else
                free(ring.points_m);
        }
    return status;
}

static int area_make(pappus_area *area, const pappus_outline *outline,
                     const pappus_outline_feature *feature)
{
    double largest_m2 = 0.0;
    bool by_direction = false;
    pappus_polygon *polygon = NULL;
    for (size_t p = 0; p < feature->part_count; p++) {
        const pappus_outline_part *part = &outline->parts[feature->first_part + p];
        pappus_ring ring;
        if (!ring_make(&ring, outline, part)) return PAPPUS_E_MEMORY;
        if (part->kind == PAPPUS_OUTLINE_RING) {
            double size = pappus_ring_area_m2(&ring);
            if (fabs(size) > fabs(largest_m2)) largest_m2 = size;
            by_direction = true;
            free(ring.points_m);
            continue;
        }
        if (part->kind == PAPPUS_OUTLINE_SHELL) polygon = area_polygon_add(area);
        if (area_ring_add(polygon, ring) != PAPPUS_OK) return PAPPUS_E_MEMORY;
    }
    return by_direction ? add_rings(area, outline, feature, largest_m2) : PAPPUS_OK;
}

static bool has_short_ring(const pappus_area *area)
{
    for (size_t i = 0; i < area->polygon_count; i++)
        for (size_t k = 0; k < area->polygons[i].ring_count; k++)
            if (area->polygons[i].rings[k].point_count < 3) return true;
    return false;
}

static void tell_invalid(pappus_outline *outline, const pappus_frame *frame, size_t number,
                         const pappus_validity *validity)
{
    double place[2] = {validity->east_m, validity->north_m};
    if (pappus_frame_to_geographic(frame, 1, place, place, NULL) == PAPPUS_OK)
        pappus_outline_fault(outline, number, NULL,
                             "the outline is not valid: %s at latitude %.6f, longitude %.6f",
                             validity->reason, place[0], place[1]);
    else
        pappus_outline_fault(outline, number, NULL, "the outline is not valid: %s",
                             validity->reason);
}

/* An area must be valid. Parts that are valid each but overlap or touch along a
 * side (a field cut at the antimeridian) mean their union; a part inside another
 * may mean a hole, and is refused. */
static int area_settle(pappus_area *area, pappus_outline *outline, const pappus_frame *frame,
                       size_t number)
{
    pappus_validity whole, part = {.valid = true};
    int status = pappus_area_check(&whole, area, NULL);
    if (status != PAPPUS_OK || whole.valid) return status;
    for (size_t i = 0; status == PAPPUS_OK && part.valid && i < area->polygon_count; i++) {
        pappus_area single = {NULL, 1, &area->polygons[i]};
        status = pappus_area_check(&part, &single, NULL);
    }
    if (status != PAPPUS_OK) return status;
    if (part.valid && !strstr(whole.reason, "Nested")) return pappus_area_unite(area, NULL);
    tell_invalid(outline, frame, number, part.valid ? &whole : &part);
    return PAPPUS_OK;
}

static int area_check(pappus_area *area, pappus_outline *outline, const pappus_frame *frame,
                      size_t number)
{
    if (has_short_ring(area)) {
        pappus_outline_fault(outline, number, NULL, "a ring has fewer than 3 different points");
        return PAPPUS_OK;
    }
    pappus_area_orient(area);
    int status = area_settle(area, outline, frame, number);
    if (status != PAPPUS_E_NUMERIC) return status;
    pappus_outline_fault(outline, number, NULL,
                         "the geometry library cannot work with this outline");
    return PAPPUS_OK;
}

int outline_area(pappus_area *area, pappus_outline *outline, const pappus_frame *frame,
                 const pappus_outline_feature *feature)
{
    int status = area_make(area, outline, feature);
    return status == PAPPUS_OK ? area_check(area, outline, frame, feature->number) : status;
}
