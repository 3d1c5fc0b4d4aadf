/* SPDX-License-Identifier: GPL-3.0-or-later
 * The field: boundary, keep-out areas and roads, read from files or the plan and
 * brought vertex by vertex to metres east and north of the pad (edges are straight
 * on that plane). Rings are turned to their sense (RFC 7946, 3.1.6), discs become
 * polygons, validity is GEOS's (OGC simple features). The plane is the pad's, so a
 * file that lies wholly farther than 100 km from the pad is refused. */
#include "outline.h"
#include "c_locale.h"
#include "error.h"
#include "file.h"
#include "geodesy.h"
#include "geometry.h"
#include "grow.h"
#include "json.h"
#include "utf8.h"
#include "vector.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define FARTHEST_M 100e3
#define DISC_POINTS 360
#define FAULTS_SHOWN 20 /* of one file */
#define PI 3.14159265358979323846

/* --------------------------------------------------- the outline as it grows */

void pappus_outline_fault(pappus_outline *outline, size_t feature, const char *value,
                          const char *message, ...)
{
    char text[512], key[32] = "";
    va_list arguments;
    if (outline->fault_count++ >= FAULTS_SHOWN) return;
    va_start(arguments, message);
    vsnprintf(text, sizeof text, message, arguments);
    va_end(arguments);
    if (feature > 0) snprintf(key, sizeof key, "feature %zu", feature);
    pappus_log_add(outline->log, PAPPUS_FAULT, PAPPUS_E_FIELD, outline->file,
                   outline->key ? outline->key : key, value, "%s", text);
}

/* A name that can be shown on one line; *out stays NULL when there is none. */
static int name_keep(char **out, pappus_outline *outline, size_t number, const char *name)
{
    char key[32];
    *out = NULL;
    if (!name || name[strspn(name, " ")] == '\0') return PAPPUS_OK;
    if (pappus_text_is_clean(name)) {
        *out = strdup(name + strspn(name, " "));
        return *out ? PAPPUS_OK : PAPPUS_E_MEMORY;
    }
    snprintf(key, sizeof key, "feature %zu", number);
    pappus_log_add(outline->log, PAPPUS_WARNING, PAPPUS_OK, outline->file, key, NULL,
                   "its name holds control characters and is left out");
    return PAPPUS_OK;
}

int pappus_outline_feature_begin(pappus_outline *outline, size_t number, const char *name)
{
    char *kept;
    if (!PAPPUS_GROW(outline->features, &outline->feature_capacity, outline->feature_count + 1) ||
        name_keep(&kept, outline, number, name) != PAPPUS_OK)
        return PAPPUS_E_MEMORY;
    outline->features[outline->feature_count++] =
        (pappus_outline_feature){number, kept, outline->part_count, 0};
    return PAPPUS_OK;
}

int pappus_outline_part_begin(pappus_outline *outline, pappus_outline_kind kind)
{
    if (!PAPPUS_GROW(outline->parts, &outline->part_capacity, outline->part_count + 1))
        return PAPPUS_E_MEMORY;
    outline->parts[outline->part_count++] = (pappus_outline_part){kind, outline->point_count, 0};
    outline->features[outline->feature_count - 1].part_count++;
    return PAPPUS_OK;
}

int pappus_outline_point(pappus_outline *outline, double x, double y)
{
    if (!PAPPUS_GROW(outline->xy, &outline->xy_capacity, 2 * (outline->point_count + 1)))
        return PAPPUS_E_MEMORY;
    outline->xy[2 * outline->point_count] = x;
    outline->xy[2 * outline->point_count + 1] = y;
    outline->point_count++;
    outline->parts[outline->part_count - 1].count++;
    return PAPPUS_OK;
}

void pappus_outline_part_end(pappus_outline *outline)
{
    const pappus_outline_part *part = &outline->parts[outline->part_count - 1];
    const double *xy = outline->xy ? outline->xy + 2 * part->first : NULL;
    size_t n = part->count, number = outline->features[outline->feature_count - 1].number;
    size_t least = part->kind == PAPPUS_OUTLINE_LINE ? 2 : 4;
    for (size_t i = 0; i < 2 * n; i++)
        if (!isfinite(xy[i])) {
            pappus_outline_fault(outline, number, NULL,
                                 "point %zu has a coordinate that is not a number", i / 2 + 1);
            return;
        }
    if (n < least)
        pappus_outline_fault(outline, number, NULL,
                             least == 2 ? "a line of %zu point(s): it needs 2 or more"
                                        : "a ring of %zu point(s): it needs 4 or more, the last "
                                          "equal to the first",
                             n);
    else if (least == 4 && (xy[0] != xy[2 * n - 2] || xy[1] != xy[2 * n - 1]))
        pappus_outline_fault(outline, number, NULL,
                             "a ring is not closed: its last point must equal its first");
}

static void outline_clear(pappus_outline *outline)
{
    for (size_t i = 0; i < outline->feature_count; i++)
        free(outline->features[i].name);
    free(outline->features);
    free(outline->parts);
    free(outline->xy);
}

/* ----------------------------------------------------------------- reading */

/* A file of a map program or a receiver, by way of GeoJSON. */
static int read_foreign(pappus_outline *outline, const char *path)
{
    char *text;
    size_t length;
    pappus_error err = {0};
    int status = pappus_vector_read(&text, &length, path, &err);
    if (status != PAPPUS_OK) {
        outline->fault_count++;
        pappus_log_error(outline->log, &err);
        return status == PAPPUS_E_MEMORY ? status : PAPPUS_OK;
    }
    outline->tracks = !outline->lines;
    status = pappus_outline_read_geojson(outline, text, length);
    outline->hint = NULL;
    free(text);
    return status;
}

static int read_file(pappus_outline *outline, const char *path)
{
    static const char shapefile_magic[4] = {0, 0, 0x27, 0x0a}; /* 9994, big-endian */
    char *text;
    size_t length, mark;
    pappus_error err = {0};
    int status = pappus_file_read(&text, &length, path, PAPPUS_FILE_LIMIT, PAPPUS_E_FIELD, &err);
    if (status != PAPPUS_OK) {
        outline->fault_count++;
        pappus_log_error(outline->log, &err);
        return status == PAPPUS_E_MEMORY ? status : PAPPUS_OK;
    }
    mark = strncmp(text, "\xEF\xBB\xBF", 3) == 0 ? 3 : 0;
    if (length >= 4 && memcmp(text, shapefile_magic, 4) == 0)
        status = pappus_outline_read_shapefile(outline, path);
    else if (text[mark + strspn(text + mark, " \t\r\n")] == '{')
        status = pappus_outline_read_geojson(outline, text + mark, length - mark);
    else if (pappus_vector_is(text,
                              length < PAPPUS_FILE_HEAD_BYTES ? length : PAPPUS_FILE_HEAD_BYTES))
        status = read_foreign(outline, path);
    else
        pappus_outline_fault(outline, 0, NULL,
                             "is neither GeoJSON (RFC 7946) nor a shapefile (.shp), KML, GPX or a "
                             "GeoPackage");
    free(text);
    return status;
}

/* Longitude and latitude in range, told once per part. */
static void check_ranges(pappus_outline *outline)
{
    for (size_t f = 0; f < outline->feature_count; f++) {
        const pappus_outline_feature *feature = &outline->features[f];
        for (size_t p = 0; p < feature->part_count; p++) {
            const pappus_outline_part *part = &outline->parts[feature->first_part + p];
            for (size_t i = part->first; i < part->first + part->count; i++) {
                double longitude = outline->xy[2 * i], latitude = outline->xy[2 * i + 1];
                if (fabs(latitude) <= 90.0 && fabs(longitude) <= 180.0) continue;
                pappus_outline_fault(outline, feature->number, NULL,
                                     "point %zu at longitude %.7g, latitude %.7g is out of range "
                                     "(-180 to 180, -90 to 90)%s%s",
                                     i - part->first + 1, longitude, latitude,
                                     outline->hint ? ": " : "", outline->hint ? outline->hint : "");
                break;
            }
        }
    }
}

static double nearest_m(const double *east_north_m, size_t count)
{
    double nearest = INFINITY;
    for (size_t i = 0; i < count; i++)
        nearest = fmin(nearest, hypot(east_north_m[2 * i], east_north_m[2 * i + 1]));
    return nearest;
}

/* Longitude, latitude to metres, in place; a file that is nowhere near the pad is a
 * fault, with the usual reason for it where that is the reason. */
static int to_local(pappus_outline *outline, const pappus_frame *frame, double pad_longitude_deg)
{
    size_t n = outline->point_count;
    double first[2] = {0.0, 0.0}, *xy = outline->xy;
    if (n == 0) return PAPPUS_OK;
    memcpy(first, xy, sizeof first); /* longitude, latitude: swapped if taken as they stand */
    for (size_t i = 0; i < n; i++) {
        double longitude = xy[2 * i], turn = longitude - pad_longitude_deg;
        xy[2 * i] = xy[2 * i + 1];
        /* 180 and -180 are one meridian: the same number on both sides of it. */
        xy[2 * i + 1] = turn < -180.0  ? longitude + 360.0
                        : turn > 180.0 ? longitude - 360.0
                                       : longitude;
    }
    if (pappus_frame_to_local(frame, n, xy, xy, NULL) != PAPPUS_OK) {
        pappus_outline_fault(outline, 0, NULL, "a point cannot be brought to the pad's plane");
        return PAPPUS_OK;
    }
    double away = nearest_m(xy, n);
    if (away <= FARTHEST_M) return PAPPUS_OK;
    bool swapped = fabs(first[0]) <= 90.0 &&
                   pappus_frame_to_local(frame, 1, first, first, NULL) == PAPPUS_OK &&
                   hypot(first[0], first[1]) <= FARTHEST_M;
    pappus_outline_fault(outline, 0, NULL, "lies %.0f km from the pad (100 km at most)%s",
                         away / 1e3,
                         swapped ? ": latitude and longitude are swapped, longitude comes first"
                                 : ": is site.latitude, site.longitude right, and the file?");
    return PAPPUS_OK;
}

/* ------------------------------------------------------------------- areas */

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

static pappus_polygon *polygon_add(pappus_area *area)
{
    if (!PAPPUS_GROW(area->polygons, NULL, area->polygon_count + 1)) return NULL;
    area->polygons[area->polygon_count] = (pappus_polygon){0};
    return &area->polygons[area->polygon_count++];
}

/* Moves the ring into the polygon, or frees it. */
static int ring_add(pappus_polygon *polygon, pappus_ring ring)
{
    if (!polygon || !PAPPUS_GROW(polygon->rings, NULL, polygon->ring_count + 1)) {
        free(ring.points_m);
        return PAPPUS_E_MEMORY;
    }
    polygon->rings[polygon->ring_count++] = ring;
    return PAPPUS_OK;
}

/* Whether the shell of a polygon covers a ring; false when GEOS cannot tell. */
static bool shell_covers(const pappus_polygon *polygon, const pappus_ring *ring)
{
    pappus_polygon shell = {1, polygon->rings}, hole = {1, (pappus_ring *)ring};
    pappus_area outer = {NULL, 1, &shell}, inner = {NULL, 1, &hole};
    double a[4], b[4];
    pappus_area_bounds(a, &outer);
    pappus_area_bounds(b, &inner);
    if (b[0] < a[0] || b[1] < a[1] || b[2] > a[2] || b[3] > a[3]) return false;
    GEOSGeometry *geometry[2] = {NULL, NULL};
    GEOSContextHandle_t geos = pappus_geos_begin();
    bool covers = geos && pappus_area_to_geos(&geometry[0], geos, &outer, NULL) == PAPPUS_OK &&
                  pappus_area_to_geos(&geometry[1], geos, &inner, NULL) == PAPPUS_OK &&
                  GEOSCovers_r(geos, geometry[0], geometry[1]) == 1;
    for (int i = 0; i < 2; i++)
        if (geometry[i]) GEOSGeom_destroy_r(geos, geometry[i]);
    pappus_geos_end(geos);
    return covers;
}

/* The smallest shell that covers a hole; the first where none does, so that GEOS
 * says what is wrong with it. */
static pappus_polygon *shell_of(const pappus_area *area, const pappus_ring *hole)
{
    pappus_polygon *best = NULL;
    for (size_t i = 0; i < area->polygon_count; i++) {
        pappus_polygon *polygon = &area->polygons[i];
        if (best && fabs(pappus_ring_area_m2(&polygon->rings[0])) >=
                        fabs(pappus_ring_area_m2(&best->rings[0])))
            continue;
        if (shell_covers(polygon, hole)) best = polygon;
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
                status = ring_add(hole ? shell_of(area, &ring) : polygon_add(area), ring);
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
        if (part->kind == PAPPUS_OUTLINE_SHELL) polygon = polygon_add(area);
        if (ring_add(polygon, ring) != PAPPUS_OK) return PAPPUS_E_MEMORY;
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

/* ---------------------------------------------------------- what is made of it */

/* One that is being read: where to, and for whom. */
typedef struct {
    pappus_field *field;
    const pappus_plan *plan;
    const pappus_frame *frame;
    pappus_log *log;
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

static bool name_is_taken(const pappus_field *field, const char *name)
{
    for (size_t i = 0; i < field->keep_out_count; i++)
        if (strcmp(field->keep_outs[i].name, name) == 0) return true;
    return false;
}

/* The name, or a number where there is none; a second of the same name is told
 * apart by a number, for each keep-out is a limit of its own. */
static char *name_apart(const pappus_field *field, const char *name)
{
    char *out = NULL;
    if (name && !name_is_taken(field, name)) return strdup(name);
    for (size_t k = name ? 2 : field->keep_out_count + 1; !out; k++) {
        int length = name ? asprintf(&out, "%s (%zu)", name, k) : asprintf(&out, "keep-out %zu", k);
        if (length < 0) return NULL;
        if (!name_is_taken(field, out)) break;
        free(out);
        out = NULL;
    }
    return out;
}

/* Moves the polygons of `area` into a new keep-out. */
static int keep_out_add(pappus_field *field, pappus_area *area, const char *name)
{
    if (!PAPPUS_GROW(field->keep_outs, NULL, field->keep_out_count + 1)) return PAPPUS_E_MEMORY;
    char *apart = name_apart(field, name);
    if (!apart) return PAPPUS_E_MEMORY;
    free(area->name);
    area->name = apart;
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
        status = area_make(&area, outline, feature);
        if (status == PAPPUS_OK) status = area_check(&area, outline, to->frame, feature->number);
        if (status == PAPPUS_OK && outline->fault_count == 0)
            status = boundary ? add_boundary_feature(to, &area, feature->name)
                              : keep_out_add(to->field, &area, feature->name);
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
    if (outline->fault_count == 0) check_ranges(outline);
    if (outline->fault_count == 0)
        status = to_local(outline, to->frame, to->plan->site.longitude_deg);
    if (outline->fault_count == 0 && status == PAPPUS_OK)
        status = use == ROADS ? add_roads(to, outline) : add_areas(to, outline, use == BOUNDARY);
    if (outline->fault_count > FAULTS_SHOWN)
        pappus_log_add(to->log, PAPPUS_NOTE, PAPPUS_OK, outline->file, NULL, NULL,
                       "%zu more faults are not shown", outline->fault_count - FAULTS_SHOWN);
    if (status != PAPPUS_OK) return memory_fault(to->log);
    return outline->fault_count ? PAPPUS_E_FIELD : PAPPUS_OK;
}

static int read_path(reading *to, const char *path, purpose use)
{
    static const char *const what[] = {"boundary", "keep-out", "road"};
    pappus_outline outline = {
        .file = path, .what = what[use], .lines = use == ROADS, .log = to->log};
    int status = read_file(&outline, path);
    status = status == PAPPUS_OK ? outline_use(to, &outline, use) : memory_fault(to->log);
    outline_clear(&outline);
    return status;
}

/* Points of the plan: latitude, longitude pairs, closed or not. */
static int read_points(reading *to, const double *points, size_t count, const char *name,
                       const char *key, purpose use)
{
    pappus_outline outline = {.file = to->plan->path,
                              .key = key,
                              .what = use == BOUNDARY ? "boundary" : "keep-out",
                              .hint = "points of a plan are latitude first, then longitude",
                              .log = to->log};
    bool closed =
        count > 1 && points[0] == points[2 * count - 2] && points[1] == points[2 * count - 1];
    int status = pappus_outline_feature_begin(&outline, 1, name);
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
    return ring_add(polygon_add(area), ring);
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
    if (status == PAPPUS_OK) status = keep_out_add(to->field, &area, disc->name);
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
        int status = area->point_count > 0 ? read_points(to, area->points, area->point_count,
                                                         area->name, key, KEEP_OUT)
                                           : read_disc(to, area, key);
        if (status > worst) worst = status;
    }
    return worst;
}

/* ---------------------------------------------------------------- warnings */

static bool holds_pad(const pappus_area *area)
{
    GEOSGeometry *geometry = NULL, *pad = NULL;
    GEOSContextHandle_t geos = pappus_geos_begin();
    bool holds = geos && pappus_area_to_geos(&geometry, geos, area, NULL) == PAPPUS_OK &&
                 (pad = GEOSGeom_createPointFromXY_r(geos, 0.0, 0.0)) != NULL &&
                 GEOSIntersects_r(geos, geometry, pad) == 1;
    if (pad) GEOSGeom_destroy_r(geos, pad);
    if (geometry) GEOSGeom_destroy_r(geos, geometry);
    pappus_geos_end(geos);
    return holds;
}

static void warn_of_pad(reading *to)
{
    const pappus_field *field = to->field;
    const char *path = to->plan->path;
    if (field->has_boundary && !holds_pad(&field->boundary))
        pappus_log_add(to->log, PAPPUS_WARNING, PAPPUS_OK, path, "field.boundary", NULL,
                       "the pad is outside the field boundary");
    for (size_t i = 0; i < field->keep_out_count; i++)
        if (holds_pad(&field->keep_outs[i]))
            pappus_log_add(to->log, PAPPUS_WARNING, PAPPUS_OK, path, "field.keep_out",
                           field->keep_outs[i].name, "the pad is inside this keep-out area");
}

/* ------------------------------------------------------------------ public */

static int read_all(reading *to)
{
    int worst = read_boundary(to), status = read_keep_outs(to);
    if (status > worst) worst = status;
    status =
        to->plan->field.roads_path ? read_path(to, to->plan->field.roads_path, ROADS) : PAPPUS_OK;
    if (status > worst) worst = status;
    if (worst == PAPPUS_OK) warn_of_pad(to);
    return worst;
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
    if (status == PAPPUS_OK)
        status = read_all(&(reading){field, plan, frame, log});
    else
        pappus_log_error(log, &err);
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
    free(field->roads);
    free(field);
}
