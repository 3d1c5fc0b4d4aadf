/* SPDX-License-Identifier: GPL-3.0-or-later
 * A GRIB file at a place: what each field is comes from its own sections (grib_scan.c), the
 * values from GDAL's GRIB driver, those that it may not unpack from grib_ccsds.c. Both number
 * the fields in the order of the file; a file in which they do not count the same is refused.
 *
 * Bilinear between the four grid points about the place (grib_grid.c), winds turned to
 * true north at each point before. */
#include "grib_point.h"

#include "error.h"
#include "gdal_calls.h"
#include "grib_ccsds.h"
#include "grib_grid.h"
#include "isolate.h"

#include <inttypes.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define CORNERS PAPPUS_GRIB_CORNERS

typedef struct {
    pappus_gdal gdal;
    const char *path;
    double latitude_deg, longitude_deg;
    pappus_grib_fields fields;
    pappus_grib_place *places; /* of each field */
    GDALDatasetH data;         /* of the file, or of the message at hand */
    bool by_message;
    int64_t message_at;
    pappus_error *err;
} grib;

/* Templates of section 5 that the library unpacks; CCSDS is unpacked here. */
static bool is_plain_packing(int template)
{
    return template == 0 || (template >= 2 && template <= 4) || template == 40 || template == 41;
}

static bool is_known_packing(int template)
{
    return is_plain_packing(template) || template == PAPPUS_GRIB_CCSDS;
}

static int refuse(grib *g, const char *message)
{
    return pappus_fail(g->err, PAPPUS_E_WIND, g->path, NULL, NULL, "%s", message);
}

/* Where a height belongs to the ground; a gust stands near it, whatever its level says. */
static bool wanted(const pappus_grib_field *field)
{
    if (!field->instant || field->element == PAPPUS_GRIB_OTHER || isnan(field->valid_utc_s))
        return false;
    bool height =
        field->element == PAPPUS_GRIB_HEIGHT || field->element == PAPPUS_GRIB_GEOPOTENTIAL;
    bool gust = field->element == PAPPUS_GRIB_GUST;
    return (field->level_kind == PAPPUS_GRIB_ISOBARIC && !gust) ||
           (field->level_kind == PAPPUS_GRIB_ABOVE_GROUND && !height) ||
           (field->level_kind == PAPPUS_GRIB_SURFACE && (height || gust));
}

/* Without it a profile is another one. */
static bool needed(const pappus_grib_field *field)
{
    return field->level_kind != PAPPUS_GRIB_SURFACE && field->element != PAPPUS_GRIB_GUST &&
           field->element != PAPPUS_GRIB_TEMPERATURE;
}

/* ----------------------------------------------------------------- the places */

static int refuse_grid(grib *g, const pappus_grib_grid *grid)
{
    char found[40];
    snprintf(found, sizeof found, "%s %d", grid->reduced ? "reduced, type" : "type", grid->code);
    return pappus_fail(g->err, PAPPUS_E_WIND, g->path, "grid", found,
                       "accepted are regular and Gaussian latitude-longitude, Lambert, polar "
                       "stereographic and Mercator grids, not rotated and not reduced");
}

static int find_place(grib *g, const pappus_grib_grid *grid, pappus_grib_place *out)
{
    char place[64];
    if (grid->projection == PAPPUS_GRIB_UNKNOWN_GRID || grid->reduced) return refuse_grid(g, grid);
    if (pappus_grib_locate(out, grid, g->latitude_deg, g->longitude_deg)) return PAPPUS_OK;
    snprintf(place, sizeof place, "%.4f, %.4f", g->latitude_deg, g->longitude_deg);
    return pappus_fail(g->err, PAPPUS_E_WIND, g->path, "place", place,
                       "the file does not reach there; accepted is a place within its grid");
}

/* The place on the grid of each field: most files have one grid for all, some have the u and v
 * of a model beside one another, or a part on another grid. Of u, v and heights none may be
 * lost; the others are left out where their grid is of no use. */
static int find_places(grib *g)
{
    const pappus_grib_field *last = NULL;
    bool any = false;
    g->places = calloc(g->fields.count, sizeof *g->places);
    if (!g->places) return pappus_fail_memory(g->err);
    for (size_t i = 0; i < g->fields.count; i++) {
        pappus_grib_field *field = &g->fields.fields[i];
        if (!wanted(field)) continue;
        bool wind = field->element == PAPPUS_GRIB_U || field->element == PAPPUS_GRIB_V;
        if (last && last->grid.digest == field->grid.digest) {
            g->places[i] = g->places[last - g->fields.fields];
        } else if (find_place(g, &field->grid, &g->places[i]) != PAPPUS_OK) {
            if (needed(field)) return g->err->code;
            *g->err = (pappus_error){0};
            field->element = PAPPUS_GRIB_OTHER;
            continue;
        }
        last = field;
        any = any || wind;
    }
    return any ? PAPPUS_OK : refuse(g, "no wind on pressure levels or above ground in it");
}

/* ---------------------------------------------------------------- the values */

/* One raster of the file that GDAL reads; a file of several grids, or with a packing that is
 * read here, is opened message by message. */
static int open_file(grib *g, const char *name)
{
    static const char *const drivers[] = {"GRIB", NULL};
    if (g->data) g->gdal.GDALClose(g->data);
    g->data = g->gdal.GDALOpenEx(name, GDAL_OF_RASTER | GDAL_OF_READONLY, drivers, NULL, NULL);
    return g->data ? PAPPUS_OK : refuse(g, "damaged: its fields cannot be unpacked");
}

static bool in_one_raster(const grib *g)
{
    const pappus_grib_field *first = &g->fields.fields[0];
    for (size_t i = 0; i < g->fields.count; i++) {
        const pappus_grib_field *field = &g->fields.fields[i];
        if (field->edition == 2 && !is_plain_packing(field->packed.template)) return false;
        if (wanted(field) &&
            (field->grid.width != first->grid.width || field->grid.height != first->grid.height))
            return false;
    }
    return true;
}

static int open_data(grib *g)
{
    g->gdal.CPLSetConfigOption("GRIB_NORMALIZE_UNITS", "NO");        /* else degrees Celsius */
    g->gdal.CPLSetConfigOption("GRIB_ADJUST_LONGITUDE_RANGE", "NO"); /* columns as in the file */
    g->by_message = !in_one_raster(g);
    if (g->by_message) return PAPPUS_OK;
    int status = open_file(g, g->path);
    if (status != PAPPUS_OK) return status;
    if ((size_t)g->gdal.GDALGetRasterCount(g->data) != g->fields.count)
        return refuse(g, "damaged: not all of its fields can be unpacked");
    return PAPPUS_OK;
}

static bool open_message(grib *g, const pappus_grib_packed *packed)
{
    char name[4200];
    if (g->data && g->message_at == packed->message_at) return true;
    int length = snprintf(name, sizeof name, "/vsisubfile/%" PRId64 "_%" PRId64 ",%s",
                          packed->message_at, packed->message_bytes, g->path);
    g->message_at = packed->message_at;
    return length > 0 && (size_t)length < sizeof name && open_file(g, name) == PAPPUS_OK;
}

static bool read_corners(grib *g, size_t index, double values[CORNERS])
{
    const pappus_grib_field *field = &g->fields.fields[index];
    const pappus_grib_place *place = &g->places[index];
    if (field->packed.template == PAPPUS_GRIB_CCSDS)
        return pappus_grib_ccsds_corners(values, g->path, &g->fields, index, place);
    if (field->edition == 2 && !is_plain_packing(field->packed.template)) return false;
    if (g->by_message && !open_message(g, &field->packed)) return false;
    if (g->gdal.GDALGetRasterXSize(g->data) != field->grid.width ||
        g->gdal.GDALGetRasterYSize(g->data) != field->grid.height)
        return false;
    int number = g->by_message ? field->packed.part + 1 : (int)index + 1;
    GDALRasterBandH band = g->gdal.GDALGetRasterBand(g->data, number);
    int has_missing = 0;
    double missing = band ? g->gdal.GDALGetRasterNoDataValue(band, &has_missing) : NAN;
    for (int i = 0; i < CORNERS; i++) {
        if (!band || g->gdal.GDALRasterIO(band, GF_Read, place->column[i % 2], place->row[i / 2], 1,
                                          1, &values[i], 1, 1, GDT_Float64, 0, 0) != CE_None)
            return false;
        if (has_missing && values[i] == missing) values[i] = NAN;
    }
    return true;
}

/* A corner without weight may be missing. */
static double interpolate(const pappus_grib_place *place, const double values[CORNERS])
{
    double sum = 0.0;
    for (int i = 0; i < CORNERS; i++)
        if (place->weight[i] > 0.0) sum += place->weight[i] * values[i];
    return sum;
}

static bool same_layer(const pappus_grib_field *a, const pappus_grib_field *b)
{
    return a->level_kind == b->level_kind && a->level == b->level && a->member == b->member &&
           a->valid_utc_s == b->valid_utc_s && a->issued_utc_s == b->issued_utc_s;
}

/* The v of a u: the next one behind it, or else one before it. */
static bool find_partner(const grib *g, size_t u, size_t *v)
{
    for (size_t step = 1; step < g->fields.count; step++) {
        size_t i = (u + step) % g->fields.count;
        const pappus_grib_field *field = &g->fields.fields[i];
        if (field->element != PAPPUS_GRIB_V || !wanted(field)) continue;
        if (!same_layer(field, &g->fields.fields[u])) continue;
        *v = i;
        return true;
    }
    return false;
}

static int add(grib *g, pappus_reply *reply, size_t index, pappus_grib_element element,
               double value)
{
    const pappus_grib_field *field = &g->fields.fields[index];
    pappus_grib_value one = {
        element,       field->level_kind, field->level, field->issued_utc_s, field->valid_utc_s,
        field->member, index + 1,         value};
    if (pappus_reply_add(reply, &one, sizeof one)) return PAPPUS_OK;
    return pappus_fail_memory(g->err);
}

static int damaged(grib *g, size_t index)
{
    char key[40], found[40];
    const pappus_grib_field *field = &g->fields.fields[index];
    snprintf(key, sizeof key, "field %zu", index + 1);
    if (field->edition == 2 && !is_known_packing(field->packed.template)) {
        snprintf(found, sizeof found, "packing 5.%d", field->packed.template);
        return pappus_fail(g->err, PAPPUS_E_WIND, g->path, key, found,
                           "accepted are simple, complex, IEEE, JPEG 2000, PNG and CCSDS packing "
                           "(5.0, 5.2 to 5.4, 5.40 to 5.42)");
    }
    return pappus_fail(g->err, PAPPUS_E_WIND, g->path, key, NULL,
                       "its values cannot be unpacked: the file is damaged, or packed in a way "
                       "that is not known");
}

/* Along the grid's x and y to true east and north: north stands at the angle clockwise
 * from y. */
static void turn(const pappus_grib_place *place, double u[CORNERS], double v[CORNERS])
{
    for (int i = 0; i < CORNERS; i++) {
        double x = u[i], y = v[i];
        u[i] = x * place->cosine[i] - y * place->sine[i];
        v[i] = x * place->sine[i] + y * place->cosine[i];
    }
}

static int add_wind(grib *g, pappus_reply *reply, size_t index)
{
    double u[CORNERS], v[CORNERS];
    size_t partner;
    if (!find_partner(g, index, &partner)) return PAPPUS_OK;
    if (!read_corners(g, index, u)) return damaged(g, index);
    if (!read_corners(g, partner, v)) return damaged(g, partner);
    turn(&g->places[index], u, v);
    int status = add(g, reply, index, PAPPUS_GRIB_U, interpolate(&g->places[index], u));
    if (status != PAPPUS_OK) return status;
    return add(g, reply, partner, PAPPUS_GRIB_V, interpolate(&g->places[partner], v));
}

static int add_scalar(grib *g, pappus_reply *reply, size_t index)
{
    double values[CORNERS];
    if (!read_corners(g, index, values)) return damaged(g, index);
    return add(g, reply, index, g->fields.fields[index].element,
               interpolate(&g->places[index], values));
}

static int add_all(grib *g, pappus_reply *reply)
{
    int status = PAPPUS_OK;
    for (size_t i = 0; i < g->fields.count && status == PAPPUS_OK; i++) {
        const pappus_grib_field *field = &g->fields.fields[i];
        if (!wanted(field) || field->element == PAPPUS_GRIB_V) continue;
        status = field->element == PAPPUS_GRIB_U ? add_wind(g, reply, i) : add_scalar(g, reply, i);
    }
    return status;
}

/* In the child: nothing is freed, the process ends with it. */
static int read_isolated(pappus_reply *reply, void *context, pappus_error *err)
{
    grib *g = context;
    g->err = err;
    int status = pappus_grib_scan(&g->fields, g->path, PAPPUS_E_WIND, err);
    if (status == PAPPUS_OK) status = find_places(g);
    if (status == PAPPUS_OK) status = pappus_gdal_load(&g->gdal, PAPPUS_E_WIND, err);
    if (status == PAPPUS_OK) status = open_data(g);
    return status == PAPPUS_OK ? add_all(g, reply) : status;
}

int pappus_grib_read(pappus_grib_values *out, const char *path, double latitude_deg,
                     double longitude_deg, pappus_error *err)
{
    grib g = {.path = path, .latitude_deg = latitude_deg, .longitude_deg = longitude_deg};
    pappus_reply reply;
    *out = (pappus_grib_values){0};
    int status = pappus_isolate(&reply, read_isolated, &g, path, PAPPUS_E_WIND, NULL, err);
    if (status != PAPPUS_OK) return status;
    out->values = (pappus_grib_value *)(void *)reply.bytes;
    out->count = reply.length / sizeof *out->values;
    return PAPPUS_OK;
}

void pappus_grib_values_clear(pappus_grib_values *values)
{
    free(values->values);
    *values = (pappus_grib_values){0};
}
