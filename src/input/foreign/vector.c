/* SPDX-License-Identifier: GPL-3.0-or-later
 * GDAL's vector drivers to GeoJSON text, which then goes the way of any GeoJSON. Only the
 * drivers named here are asked: none that follows links to other files or to the network.
 * Heights are dropped. A layer in another system than WGS 84 is brought there. */
#include "vector.h"

#include "error.h"
#include "gdal_calls.h"
#include "isolate.h"

#include <stdio.h>
#include <string.h>

typedef struct {
    pappus_gdal gdal;
    const char *path;
    OGRSpatialReferenceH earth;
    size_t count;
    pappus_reply *reply;
    pappus_error *err;
} vector;

static bool has(const char *bytes, size_t length, const char *word)
{
    return memmem(bytes, length, word, strlen(word)) != NULL;
}

bool pappus_vector_is(const char *bytes, size_t length)
{
    static const char geopackage[] = "SQLite format 3", archive[] = "PK\003\004";
    if (length > sizeof geopackage && memcmp(bytes, geopackage, sizeof geopackage) == 0)
        return true;
    if (length > 4 && memcmp(bytes, archive, 4) == 0) return has(bytes, length, ".kml");
    return has(bytes, length, "<kml") || has(bytes, length, "<gpx") || has(bytes, length, ":kml") ||
           has(bytes, length, ":gpx");
}

static bool add_text(vector *v, const char *text)
{
    return pappus_reply_add(v->reply, text, strlen(text));
}

/* A JSON string: quotes, back slashes and control characters escaped. */
static bool add_string(vector *v, const char *text)
{
    bool good = add_text(v, "\"");
    for (; *text && good; text++) {
        unsigned char c = (unsigned char)*text;
        char escaped[8] = {*text, '\0'};
        if (c == '"' || c == '\\') snprintf(escaped, sizeof escaped, "\\%c", c);
        if (c < 0x20) snprintf(escaped, sizeof escaped, "\\u%04x", c);
        good = add_text(v, escaped);
    }
    return good && add_text(v, "\"");
}

/* The attributes that are passed on; GDAL finds them in any case. */
static const char *const attributes[] = {"name", "limit", "people"};
#define ATTRIBUTES (sizeof attributes / sizeof *attributes)

static bool add_attributes(vector *v, OGRFeatureH feature)
{
    bool good = true, first = true;
    for (size_t i = 0; i < ATTRIBUTES && good; i++) {
        int index = v->gdal.OGR_F_GetFieldIndex(feature, attributes[i]);
        if (index < 0 || !v->gdal.OGR_F_IsFieldSetAndNotNull(feature, index)) continue;
        const char *text = v->gdal.OGR_F_GetFieldAsString(feature, index);
        good = add_text(v, first ? "\"" : ",\"") && add_text(v, attributes[i]) &&
               add_text(v, "\":") && add_string(v, text);
        first = false;
    }
    return good;
}

static bool is_point(vector *v, OGRGeometryH geometry)
{
    OGRwkbGeometryType type = v->gdal.OGR_G_GetGeometryType(geometry);
    return type == wkbPoint || type == wkbMultiPoint;
}

static int add_feature(vector *v, OGRFeatureH feature, OGRCoordinateTransformationH to_earth)
{
    OGRGeometryH geometry = v->gdal.OGR_F_GetGeometryRef(feature);
    if (!geometry) return PAPPUS_OK;
    v->gdal.OGR_G_FlattenTo2D(geometry);
    if (is_point(v, geometry)) return PAPPUS_OK;
    if (to_earth && v->gdal.OGR_G_Transform(geometry, to_earth) != OGRERR_NONE)
        return pappus_fail(v->err, PAPPUS_E_FIELD, v->path, NULL, NULL,
                           "a feature cannot be brought to WGS 84");
    char *json = v->gdal.OGR_G_ExportToJson(geometry);
    bool good = json && add_text(v, v->count++ ? "," : "") &&
                add_text(v, "{\"type\":\"Feature\",\"properties\":{");
    good = good && add_attributes(v, feature);
    good = good && add_text(v, "},\"geometry\":") && add_text(v, json) && add_text(v, "}");
    v->gdal.VSIFree(json);
    return good ? PAPPUS_OK : pappus_fail_memory(v->err);
}

/* GPX holds each point of a track once more in layers of points, passed over as such. */
static int add_layer(vector *v, OGRLayerH layer)
{
    OGRSpatialReferenceH system = v->gdal.OGR_L_GetSpatialRef(layer);
    OGRCoordinateTransformationH to_earth = NULL;
    if (system) {
        v->gdal.OSRSetAxisMappingStrategy(system, OAMS_TRADITIONAL_GIS_ORDER);
        to_earth = v->gdal.OCTNewCoordinateTransformation(system, v->earth);
    }
    int status = PAPPUS_OK;
    OGRFeatureH feature;
    while (status == PAPPUS_OK && (feature = v->gdal.OGR_L_GetNextFeature(layer))) {
        status = add_feature(v, feature, to_earth);
        v->gdal.OGR_F_Destroy(feature);
    }
    return status;
}

static int add_layers(vector *v, GDALDatasetH data)
{
    int status = add_text(v, "{\"type\":\"FeatureCollection\",\"features\":[")
                     ? PAPPUS_OK
                     : pappus_fail_memory(v->err);
    for (int i = 0; i < v->gdal.GDALDatasetGetLayerCount(data) && status == PAPPUS_OK; i++)
        status = add_layer(v, v->gdal.GDALDatasetGetLayer(data, i));
    if (status != PAPPUS_OK) return status;
    return add_text(v, "]}") ? PAPPUS_OK : pappus_fail_memory(v->err);
}

/* In the child: nothing is freed, the process ends with it. */
static int read_isolated(pappus_reply *reply, void *context, pappus_error *err)
{
    static const char *const drivers[] = {"LIBKML", "KML", "GPX", "GPKG", NULL};
    vector *v = context;
    v->reply = reply;
    v->err = err;
    int status = pappus_gdal_load(&v->gdal, PAPPUS_E_FIELD, err);
    if (status != PAPPUS_OK) return status;
    v->earth = v->gdal.OSRNewSpatialReference(NULL);
    v->gdal.OSRImportFromEPSG(v->earth, 4326);
    v->gdal.OSRSetAxisMappingStrategy(v->earth, OAMS_TRADITIONAL_GIS_ORDER);
    GDALDatasetH data =
        v->gdal.GDALOpenEx(v->path, GDAL_OF_VECTOR | GDAL_OF_READONLY, drivers, NULL, NULL);
    if (!data)
        return pappus_fail(err, PAPPUS_E_FIELD, v->path, NULL, NULL,
                           "damaged: it begins like KML, GPX or a GeoPackage and cannot be read "
                           "as one");
    return add_layers(v, data);
}

int pappus_vector_read(char **out, size_t *length, const char *path, pappus_error *err)
{
    vector v = {.path = path};
    pappus_reply reply;
    *out = NULL;
    int status = pappus_isolate(&reply, read_isolated, &v, path, PAPPUS_E_FIELD, NULL, err);
    if (status != PAPPUS_OK) return status;
    *out = reply.bytes;
    *length = reply.length;
    return PAPPUS_OK;
}
