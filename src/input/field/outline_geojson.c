/* SPDX-License-Identifier: GPL-3.0-or-later
 * Outlines from GeoJSON (RFC 7946): a FeatureCollection, a Feature or a bare
 * geometry. Positions are longitude, latitude on WGS 84, further members (height)
 * are passed over. A "crs" member of the 2008 draft is accepted when it names that
 * same system and refused otherwise. */
#include "outline.h"
#include "json.h"

#include <stdlib.h>
#include <string.h>
#include <strings.h>

static const cJSON *member(const cJSON *object, const char *name)
{
    return cJSON_GetObjectItemCaseSensitive(object, name);
}

static const char *text_of(const cJSON *item)
{
    const char *text = cJSON_IsString(item) ? item->valuestring : NULL;
    return text ? text : "";
}

static int read_position(pappus_outline *outline, size_t number, const cJSON *position)
{
    const cJSON *x = cJSON_IsArray(position) ? position->child : NULL, *y = x ? x->next : NULL;
    if (cJSON_IsNumber(x) && cJSON_IsNumber(y))
        return pappus_outline_point(outline, x->valuedouble, y->valuedouble);
    pappus_outline_fault(outline, number, NULL,
                         "a position must be [longitude, latitude], two numbers in degrees");
    return PAPPUS_OK;
}

static int read_part(pappus_outline *outline, size_t number, const cJSON *positions,
                     pappus_outline_kind kind)
{
    const cJSON *position;
    size_t faults = outline->fault_count;
    if (!cJSON_IsArray(positions)) {
        pappus_outline_fault(outline, number, NULL,
                             "coordinates are not nested as the geometry's type asks");
        return PAPPUS_OK;
    }
    int status = pappus_outline_part_begin(outline, kind);
    cJSON_ArrayForEach(position, positions)
    {
        if (status != PAPPUS_OK || outline->fault_count != faults) break;
        status = read_position(outline, number, position);
    }
    if (status == PAPPUS_OK && outline->fault_count == faults) pappus_outline_part_end(outline);
    return status;
}

/* depth 0: one line; 1: lines, or the rings of a polygon; 2: polygons. */
static int read_nested(pappus_outline *outline, size_t number, const cJSON *coordinates, int depth)
{
    int status = PAPPUS_OK;
    bool first = true;
    const cJSON *item;
    if (depth == 0) return read_part(outline, number, coordinates, PAPPUS_OUTLINE_LINE);
    if (!cJSON_IsArray(coordinates)) {
        pappus_outline_fault(outline, number, NULL, "has no coordinates array");
        return PAPPUS_OK;
    }
    cJSON_ArrayForEach(item, coordinates)
    {
        if (status != PAPPUS_OK) break;
        if (depth == 2 || outline->lines)
            status = read_nested(outline, number, item, depth - 1);
        else
            status = read_part(outline, number, item,
                               first ? PAPPUS_OUTLINE_SHELL : PAPPUS_OUTLINE_HOLE);
        first = false;
    }
    return status;
}

static int read_geometry(pappus_outline *outline, size_t number, const cJSON *geometry)
{
    const char *type = text_of(member(geometry, "type"));
    const cJSON *coordinates = member(geometry, "coordinates"), *item;
    const char *single = outline->lines ? "LineString" : "Polygon";
    const char *multiple = outline->lines ? "MultiLineString" : "MultiPolygon";
    if (strcmp(type, "GeometryCollection") == 0) {
        int status = PAPPUS_OK;
        cJSON_ArrayForEach(item, member(geometry, "geometries"))
        {
            if (status == PAPPUS_OK) status = read_geometry(outline, number, item);
        }
        return status;
    }
    if (strcmp(type, single) == 0)
        return read_nested(outline, number, coordinates, outline->lines ? 0 : 1);
    if (strcmp(type, multiple) == 0)
        return read_nested(outline, number, coordinates, outline->lines ? 1 : 2);
    if (outline->tracks && strcmp(type, "LineString") == 0)
        return pappus_outline_read_track(outline, number, coordinates, false);
    if (outline->tracks && strcmp(type, "MultiLineString") == 0)
        return pappus_outline_read_track(outline, number, coordinates, true);
    pappus_outline_fault(outline, number, type, "a %s takes %s or %s geometry", outline->what,
                         single, multiple);
    return PAPPUS_OK;
}

/* An attribute, exact before any case. */
static const cJSON *attribute(const cJSON *properties, const char *name)
{
    const cJSON *item = member(properties, name), *other;
    if (item) return item;
    cJSON_ArrayForEach(other, properties)
    {
        if (other->string && strcasecmp(other->string, name) == 0) return other;
    }
    return NULL;
}

/* Its text; numbers are taken as written. NULL when there is none. */
static int read_attribute(char **out, const cJSON *properties, const char *name)
{
    const cJSON *item = attribute(properties, name);
    *out = NULL;
    if (!cJSON_IsString(item) && !cJSON_IsNumber(item)) return PAPPUS_OK;
    *out = cJSON_IsString(item) ? strdup(text_of(item)) : cJSON_PrintUnformatted(item);
    return *out ? PAPPUS_OK : PAPPUS_E_MEMORY;
}

static int read_numbers(pappus_outline *outline, const cJSON *properties)
{
    int status = PAPPUS_OK;
    for (int i = 0; i < PAPPUS_OUTLINE_NUMBERS && status == PAPPUS_OK; i++) {
        char *text = NULL;
        status = read_attribute(&text, properties, pappus_outline_numbers[i]);
        if (text) pappus_outline_feature_number(outline, i, text);
        free(text);
    }
    return status;
}

static int read_feature(pappus_outline *outline, size_t number, const cJSON *feature)
{
    const char *type = text_of(member(feature, "type"));
    const cJSON *geometry = member(feature, "geometry");
    if (strcmp(type, "Feature") != 0) {
        pappus_outline_fault(outline, number, type, "must be of type Feature");
        return PAPPUS_OK;
    }
    if (cJSON_IsNull(geometry)) return PAPPUS_OK; /* RFC 7946, 3.2: a feature without a place */
    if (!cJSON_IsObject(geometry)) {
        pappus_outline_fault(outline, number, NULL, "has no geometry");
        return PAPPUS_OK;
    }
    char *name;
    const cJSON *properties = member(feature, "properties");
    int status = read_attribute(&name, properties, "name");
    if (status == PAPPUS_OK) status = pappus_outline_feature_begin(outline, number, name);
    free(name);
    if (status == PAPPUS_OK) status = read_numbers(outline, properties);
    return status == PAPPUS_OK ? read_geometry(outline, number, geometry) : status;
}

static bool ends_with(const char *text, const char *end)
{
    size_t length = strlen(text), tail = strlen(end);
    return length >= tail && strcmp(text + length - tail, end) == 0;
}

static void check_crs(pappus_outline *outline, const cJSON *root)
{
    const cJSON *crs = member(root, "crs");
    const char *name = text_of(member(member(crs, "properties"), "name"));
    if (!crs) return;
    if (ends_with(name, ":CRS84") || ends_with(name, "EPSG::4326") || ends_with(name, "EPSG:4326"))
        return;
    pappus_outline_fault(outline, 0, name,
                         "GeoJSON is in longitude and latitude on WGS 84 (RFC 7946): export the "
                         "layer again in EPSG:4326, or as a shapefile with its .prj");
}

static int read_root(pappus_outline *outline, const cJSON *root)
{
    const char *type = text_of(member(root, "type"));
    const cJSON *features = member(root, "features"), *feature;
    size_t number = 0;
    int status = PAPPUS_OK;
    check_crs(outline, root);
    if (strcmp(type, "Feature") == 0) return read_feature(outline, 1, root);
    if (strcmp(type, "FeatureCollection") != 0) {
        status = pappus_outline_feature_begin(outline, 1, NULL);
        return status == PAPPUS_OK ? read_geometry(outline, 1, root) : status;
    }
    if (!cJSON_IsArray(features)) {
        pappus_outline_fault(outline, 0, NULL, "a FeatureCollection must have a features array");
        return PAPPUS_OK;
    }
    cJSON_ArrayForEach(feature, features)
    {
        if (status == PAPPUS_OK) status = read_feature(outline, ++number, feature);
    }
    return status;
}

int pappus_outline_read_geojson(pappus_outline *outline, const char *text, size_t length)
{
    cJSON *root;
    outline->hint = "GeoJSON positions are longitude first, then latitude";
    int status =
        pappus_json_parse(&root, text, length, outline->file, PAPPUS_E_FIELD, outline->log);
    if (status != PAPPUS_OK) {
        outline->fault_count++;
        return status == PAPPUS_E_MEMORY ? status : PAPPUS_OK;
    }
    status = read_root(outline, root);
    cJSON_Delete(root);
    return status;
}
