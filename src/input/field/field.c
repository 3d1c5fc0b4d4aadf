/* SPDX-License-Identifier: GPL-3.0-or-later
 * The field: boundary, keep-out areas and roads, from files (outline.c) or the plan's own
 * points and discs. Discs become polygons: the field's is inscribed, a keep-out's
 * circumscribed. */
#include "outline.h"
#include "area_names.h"
#include "c_locale.h"
#include "error.h"
#include "geodesy.h"
#include "geometry.h"
#include "grow.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define DISC_POINTS 360
#define KEEP_OUTS_MOST 100000 /* each is a limit of the decision */
#define PI 3.14159265358979323846

/* ---------------------------------------------------------- what is made of it */

/* One that is being read: where to, and for whom. */
typedef struct {
    pappus_field *field;
    const pappus_plan *plan;
    const pappus_frame *frame;
    pappus_log *log;
    area_names names;
    size_t keep_out_capacity;
} reading;

static int memory_fault(pappus_log *log)
{
    return pappus_log_add(log, PAPPUS_FAULT, PAPPUS_E_MEMORY, NULL, NULL, NULL, "out of memory");
}

/* Takes the polygons of `from` into `area`. */
static int area_take(pappus_area *area, pappus_area *from)
{
    size_t count = area->polygon_count + from->polygon_count;
    if (!PAPPUS_GROW(area->polygons, NULL, count + 1)) return PAPPUS_E_MEMORY;
    if (from->polygon_count > 0)
        memcpy(area->polygons + area->polygon_count, from->polygons,
               from->polygon_count * sizeof *from->polygons);
    area->polygon_count = count;
    from->polygon_count = 0;
    return PAPPUS_OK;
}

/* Moves the polygons of `area` into a new keep-out. */
static int keep_out_add(reading *to, pappus_area *area, const char *name, double limit,
                        double people)
{
    pappus_field *field = to->field;
    size_t count = field->keep_out_count + 1;
    size_t beside[2] = {to->keep_out_capacity, to->keep_out_capacity};
    if (!PAPPUS_GROW(field->keep_out_limit, &beside[0], count) ||
        !PAPPUS_GROW(field->keep_out_people, &beside[1], count) ||
        !PAPPUS_GROW(field->keep_outs, &to->keep_out_capacity, count))
        return PAPPUS_E_MEMORY;
    char *apart = area_name_apart(&to->names, name);
    if (!apart) return PAPPUS_E_MEMORY;
    free(area->name);
    area->name = apart;
    field->keep_out_limit[field->keep_out_count] = limit;
    field->keep_out_people[field->keep_out_count] = people;
    field->keep_outs[field->keep_out_count++] = *area;
    *area = (pappus_area){0};
    return PAPPUS_OK;
}

static int add_boundary_feature(reading *to, pappus_area *area, const char *name)
{
    pappus_area *boundary = &to->field->boundary;
    if (!boundary->name && name && !(boundary->name = strdup(name))) return PAPPUS_E_MEMORY;
    return area_take(boundary, area);
}

static int add_areas(reading *to, pappus_outline *outline, bool boundary)
{
    int status = PAPPUS_OK;
    for (size_t f = 0; status == PAPPUS_OK && f < outline->feature_count; f++) {
        const pappus_outline_feature *feature = &outline->features[f];
        pappus_area area = {0};
        if (feature->part_count == 0) continue;
        status = outline_area(&area, outline, to->frame, feature);
        if (status == PAPPUS_OK && outline->fault_count == 0)
            status = boundary
                         ? add_boundary_feature(to, &area, feature->name)
                         : keep_out_add(to, &area, feature->name, feature->limit, feature->people);
        pappus_area_clear(&area);
    }
    return status;
}

static int road_add(pappus_field *field, const pappus_outline *outline,
                    const pappus_outline_part *part, const char *name)
{
    if (!PAPPUS_GROW(field->roads, NULL, field->road_count + 1)) return PAPPUS_E_MEMORY;
    pappus_road *road = &field->roads[field->road_count];
    *road = (pappus_road){.point_count = part->count,
                          .points_m = malloc(2 * part->count * sizeof *road->points_m)};
    if (name ? !(road->name = strdup(name))
             : asprintf(&road->name, "road %zu", field->road_count + 1) < 0)
        road->name = NULL;
    if (!road->name || !road->points_m) {
        free(road->name);
        free(road->points_m);
        return PAPPUS_E_MEMORY;
    }
    memcpy(road->points_m, outline->xy + 2 * part->first, 2 * part->count * sizeof *outline->xy);
    field->road_count++;
    return PAPPUS_OK;
}

static int add_roads(reading *to, const pappus_outline *outline)
{
    int status = PAPPUS_OK;
    for (size_t f = 0; f < outline->feature_count; f++) {
        const pappus_outline_feature *feature = &outline->features[f];
        for (size_t p = 0; status == PAPPUS_OK && p < feature->part_count; p++)
            status = road_add(to->field, outline, &outline->parts[feature->first_part + p],
                              feature->name);
    }
    return status;
}

typedef enum { BOUNDARY, KEEP_OUT, ROADS } purpose;

/* Checks what was read and puts it into the field. */
static int outline_use(reading *to, pappus_outline *outline, purpose use)
{
    int status = PAPPUS_OK;
    if (outline->fault_count == 0 && outline->part_count == 0)
        pappus_outline_fault(outline, 0, NULL, "holds no %s: it needs %s", outline->what,
                             outline->lines ? "a line" : "a polygon");
    if (outline->fault_count == 0 && use == KEEP_OUT && outline->feature_count > KEEP_OUTS_MOST)
        pappus_outline_fault(outline, 0, NULL, "holds %zu areas; accepted are at most %d",
                             outline->feature_count, KEEP_OUTS_MOST);
    if (outline->fault_count == 0)
        status = outline_place(outline, to->frame, to->plan->site.longitude_deg);
    if (outline->fault_count == 0 && status == PAPPUS_OK)
        status = use == ROADS ? add_roads(to, outline) : add_areas(to, outline, use == BOUNDARY);
    outline_tell_rest(outline);
    if (status != PAPPUS_OK) return memory_fault(to->log);
    return outline->fault_count ? PAPPUS_E_FIELD : PAPPUS_OK;
}

static int read_path(reading *to, const char *path, purpose use)
{
    static const char *const what[] = {"boundary", "keep-out", "road"};
    pappus_outline outline = {
        .file = path, .what = what[use], .lines = use == ROADS, .log = to->log};
    int status = outline_read(&outline, path);
    if (status == PAPPUS_OK)
        status = outline_use(to, &outline, use);
    else if (status == PAPPUS_E_MEMORY)
        memory_fault(to->log);
    outline_clear(&outline);
    return status;
}

/* Points of the plan: latitude, longitude pairs, closed or not. */
static int read_points(reading *to, const double *points, size_t count,
                       const pappus_inline_area *area, const char *key, purpose use)
{
    pappus_outline outline = {.file = to->plan->path,
                              .key = key,
                              .what = use == BOUNDARY ? "boundary" : "keep-out",
                              .hint = "points of a plan are latitude first, then longitude",
                              .log = to->log};
    bool closed =
        count > 1 && points[0] == points[2 * count - 2] && points[1] == points[2 * count - 1];
    int status = pappus_outline_feature_begin(&outline, 1, area ? area->name : NULL);
    if (status == PAPPUS_OK && area) {
        outline.features[0].limit = area->limit;
        outline.features[0].people = area->people;
    }
    if (status == PAPPUS_OK) status = pappus_outline_part_begin(&outline, PAPPUS_OUTLINE_SHELL);
    for (size_t i = 0; status == PAPPUS_OK && i < count; i++)
        status = pappus_outline_point(&outline, points[2 * i + 1], points[2 * i]);
    if (status == PAPPUS_OK && !closed && count > 0)
        status = pappus_outline_point(&outline, points[1], points[0]);
    if (status == PAPPUS_OK) pappus_outline_part_end(&outline);
    status = status == PAPPUS_OK ? outline_use(to, &outline, use) : memory_fault(to->log);
    outline_clear(&outline);
    return status;
}

/* A regular polygon about a centre with corners at `radius_m`. */
static int disc_make(pappus_area *area, double east_m, double north_m, double radius_m)
{
    pappus_ring ring = {DISC_POINTS, malloc(2 * DISC_POINTS * sizeof *ring.points_m)};
    if (!ring.points_m) return PAPPUS_E_MEMORY;
    for (size_t i = 0; i < DISC_POINTS; i++) {
        double angle = 2.0 * PI * (double)i / DISC_POINTS;
        ring.points_m[2 * i] = east_m + radius_m * cos(angle);
        ring.points_m[2 * i + 1] = north_m + radius_m * sin(angle);
    }
    return area_ring_add(area_polygon_add(area), ring);
}

/* The field's disc is inscribed: never larger than said. */
static int read_radius(reading *to)
{
    double radius_m = to->plan->field.radius_m;
    if (!(radius_m > 0.0 && radius_m <= FARTHEST_M))
        return pappus_log_add(to->log, PAPPUS_FAULT, PAPPUS_E_FIELD, to->plan->path, "field.radius",
                              NULL, "must be more than 0 and at most 100 km");
    return disc_make(&to->field->boundary, 0.0, 0.0, radius_m) == PAPPUS_OK ? PAPPUS_OK
                                                                            : memory_fault(to->log);
}

/* A keep-out's disc is circumscribed: never smaller than said. */
static int read_disc(reading *to, const pappus_inline_area *disc, const char *key)
{
    pappus_area area = {0};
    double bearing = disc->bearing_deg * PI / 180.0, distance = disc->distance_m;
    if (!(disc->radius_m > 0.0 && disc->radius_m <= FARTHEST_M && distance >= 0.0 &&
          distance <= FARTHEST_M && isfinite(bearing)))
        return pappus_log_add(to->log, PAPPUS_FAULT, PAPPUS_E_FIELD, to->plan->path, key, NULL,
                              "needs points, or bearing, distance (0 to 100 km) and radius (more "
                              "than 0, at most 100 km)");
    int status = disc_make(&area, distance * sin(bearing), distance * cos(bearing),
                           disc->radius_m / cos(PI / DISC_POINTS));
    if (status == PAPPUS_OK)
        status = keep_out_add(to, &area, disc->name, disc->limit, disc->people);
    pappus_area_clear(&area);
    return status == PAPPUS_OK ? PAPPUS_OK : memory_fault(to->log);
}

static int read_boundary(reading *to)
{
    const pappus_field_source *source = &to->plan->field;
    pappus_area *boundary = &to->field->boundary;
    int given =
        (source->boundary_path != NULL) + !isnan(source->radius_m) + (source->point_count > 0);
    int status = PAPPUS_OK;
    if (given == 0) return PAPPUS_OK;
    if (given > 1)
        return pappus_log_add(to->log, PAPPUS_FAULT, PAPPUS_E_FIELD, to->plan->path, "field", NULL,
                              "give one of boundary, radius and points");
    if (source->boundary_path)
        status = read_path(to, source->boundary_path, BOUNDARY);
    else if (source->point_count > 0)
        status =
            read_points(to, source->points, source->point_count, NULL, "field.points", BOUNDARY);
    else
        status = read_radius(to);
    if (status != PAPPUS_OK) return status;
    if (!boundary->name && !(boundary->name = strdup("field"))) return memory_fault(to->log);
    pappus_error err = {0};
    if (boundary->polygon_count > 1 && pappus_area_unite(boundary, &err) != PAPPUS_OK)
        return pappus_log_error(to->log, &err);
    to->field->has_boundary = boundary->polygon_count > 0;
    return PAPPUS_OK;
}

static int read_keep_outs(reading *to)
{
    const pappus_field_source *source = &to->plan->field;
    int worst = source->keep_out_path ? read_path(to, source->keep_out_path, KEEP_OUT) : PAPPUS_OK;
    for (size_t i = 0; i < source->keep_out_count; i++) {
        const pappus_inline_area *area = &source->keep_outs[i];
        char key[48];
        snprintf(key, sizeof key, "field.keep_out[%zu]", i);
        int status = area->point_count > 0
                         ? read_points(to, area->points, area->point_count, area, key, KEEP_OUT)
                         : read_disc(to, area, key);
        if (status > worst) worst = status;
    }
    return worst;
}

/* ---------------------------------------------------------------- warnings */

/* 1 or 0; else GEOS could not tell, for want of memory. */
static int holds_pad(const pappus_area *area)
{
    GEOSGeometry *geometry = NULL, *pad = NULL;
    GEOSContextHandle_t geos = pappus_geos_begin();
    int holds = -1;
    if (geos && pappus_area_to_geos(&geometry, geos, area, NULL) == PAPPUS_OK &&
        (pad = GEOSGeom_createPointFromXY_r(geos, 0.0, 0.0)) != NULL)
        holds = GEOSIntersects_r(geos, geometry, pad);
    if (pad) GEOSGeom_destroy_r(geos, pad);
    if (geometry) GEOSGeom_destroy_r(geos, geometry);
    pappus_geos_end(geos);
    return holds;
}

static int warn_of_pad(reading *to)
{
    const pappus_field *field = to->field;
    const char *path = to->plan->path;
    int holds = field->has_boundary ? holds_pad(&field->boundary) : 1;
    if (holds == 0)
        pappus_log_add(to->log, PAPPUS_WARNING, PAPPUS_OK, path, "field.boundary", NULL,
                       "the pad is outside the field boundary");
    for (size_t i = 0; i < field->keep_out_count && (holds == 0 || holds == 1); i++)
        if ((holds = holds_pad(&field->keep_outs[i])) == 1)
            pappus_log_add(to->log, PAPPUS_WARNING, PAPPUS_OK, path, "field.keep_out",
                           field->keep_outs[i].name, "the pad is inside this keep-out area");
    return holds == 0 || holds == 1 ? PAPPUS_OK : memory_fault(to->log);
}

/* ------------------------------------------------------------------ public */

static int read_all(reading *to)
{
    int worst = read_boundary(to), status = read_keep_outs(to);
    if (status > worst) worst = status;
    status =
        to->plan->field.roads_path ? read_path(to, to->plan->field.roads_path, ROADS) : PAPPUS_OK;
    if (status > worst) worst = status;
    if (worst == PAPPUS_OK) worst = warn_of_pad(to);
    return worst == PAPPUS_OK ? pappus_field_rules(to->field, to->plan, to->log) : worst;
}

int pappus_field_read(pappus_field **out, const pappus_plan *plan, pappus_log *log)
{
    pappus_locale locale;
    pappus_error err = {0};
    pappus_frame *frame = NULL;
    *out = NULL;
    if (!pappus_locale_enter(&locale)) return memory_fault(log);
    pappus_field *field = calloc(1, sizeof *field);
    int status =
        field ? pappus_frame_new(&frame, plan->site.latitude_deg, plan->site.longitude_deg, &err)
              : pappus_fail_memory(&err);
    reading to = {.field = field, .plan = plan, .frame = frame, .log = log};
    if (status == PAPPUS_OK)
        status = read_all(&to);
    else
        pappus_log_error(log, &err);
    area_names_clear(&to.names);
    pappus_frame_free(frame);
    pappus_locale_leave(&locale);
    if (status == PAPPUS_OK)
        *out = field;
    else
        pappus_field_free(field);
    return status;
}

void pappus_field_free(pappus_field *field)
{
    if (!field) return;
    pappus_area_clear(&field->boundary);
    for (size_t i = 0; i < field->keep_out_count; i++)
        pappus_area_clear(&field->keep_outs[i]);
    for (size_t i = 0; i < field->road_count; i++) {
        free(field->roads[i].name);
        free(field->roads[i].points_m);
    }
    free(field->keep_outs);
    free(field->keep_out_limit);
    free(field->keep_out_people);
    free(field->roads);
    free(field);
}