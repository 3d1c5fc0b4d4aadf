/* SPDX-License-Identifier: GPL-3.0-or-later
 * GeoJSON layers (RFC 7946): always WGS 84, longitude before latitude, shells
 * counter-clockwise and holes clockwise (section 3.1.6). Eight decimals are
 * about a millimetre. A zone that crosses the 180th meridian is not cut. */
#include <cjson/cJSON.h>
#include <math.h>
#include <stdlib.h>

#include "error.h"
#include "format.h"
#include "layer.h"

typedef struct {
    FILE *out;
    const layer_list *list;
    pappus_error *err;
} collection;

static int put_text(const collection *to, const char *text)
{
    char *clean = pappus_text_clean(text);
    cJSON *item = clean ? cJSON_CreateString(clean) : NULL;
    char *quoted = item ? cJSON_PrintUnformatted(item) : NULL;
    if (quoted) fputs(quoted, to->out);
    int status = quoted ? PAPPUS_OK : pappus_fail_memory(to->err);
    free(quoted);
    cJSON_Delete(item);
    free(clean);
    return status;
}

static int put_properties(const collection *to, const layer *from, size_t feature)
{
    layer_cell cells[LAYER_MOST_COLUMNS];
    const char *before = "";
    int status = PAPPUS_OK;
    from->fill(from, feature, cells);
    for (size_t i = 0; status == PAPPUS_OK && i < from->column_count; i++) {
        const layer_column *column = &from->columns[i];
        if (column->kind == LAYER_PLACE) continue;
        fprintf(to->out, "%s\"%s\": ", before, column->name);
        before = ", ";
        if (column->kind == LAYER_TEXT && cells[i].text)
            status = put_text(to, cells[i].text);
        else if (column->kind == LAYER_NUMBER && isfinite(cells[i].number))
            fprintf(to->out, "%.10g", cells[i].number);
        else
            fputs("null", to->out);
    }
    return status;
}

static int put_ring(const collection *to, const pappus_ring *ring)
{
    double *deg;
    int status = layer_ring(&deg, to->list, ring, to->err);
    if (status != PAPPUS_OK) return status;
    for (size_t i = 0; i <= ring->point_count; i++)
        fprintf(to->out, "%s[%.8f, %.8f]", i ? ", " : "[", deg[2 * i], deg[2 * i + 1]);
    fputc(']', to->out);
    free(deg);
    return PAPPUS_OK;
}

static int put_area(const collection *to, const pappus_area *area)
{
    int status = PAPPUS_OK;
    fputs("{\"type\": \"MultiPolygon\", \"coordinates\": [", to->out);
    for (size_t p = 0; p < area->polygon_count; p++) {
        const pappus_polygon *polygon = &area->polygons[p];
        for (size_t r = 0; status == PAPPUS_OK && r < polygon->ring_count; r++) {
            fputs(r ? ", " : p ? ", [" : "[", to->out);
            status = put_ring(to, &polygon->rings[r]);
        }
        fputc(']', to->out);
    }
    fputs("]}", to->out);
    return status;
}

static int put_point(const collection *to, const layer *from, size_t feature)
{
    double at_deg[2];
    int status = layer_point(at_deg, to->list, from, feature, to->err);
    if (status == PAPPUS_OK)
        fprintf(to->out, "{\"type\": \"Point\", \"coordinates\": [%.8f, %.8f]}", at_deg[0],
                at_deg[1]);
    return status;
}

static int put_feature(const collection *to, const layer *from, size_t feature)
{
    fputs(feature > 0 ? ",\n" : "", to->out);
    fputs("{\"type\": \"Feature\", \"properties\": {", to->out);
    int status = put_properties(to, from, feature);
    fputs("}, \"geometry\": ", to->out);
    if (status == PAPPUS_OK)
        status = from->kind == LAYER_AREAS ? put_area(to, from->place(from, feature).area)
                                           : put_point(to, from, feature);
    fputc('}', to->out);
    return status;
}

static int put_layer(const layer_list *list, const layer *from, pappus_error *err)
{
    char name[64];
    pappus_text text;
    int status = pappus_text_begin(&text, err);
    if (status != PAPPUS_OK) return status;
    collection to = {text.stream, list, err};
    fputs("{\"type\": \"FeatureCollection\", \"features\": [\n", text.stream);
    for (size_t i = 0; status == PAPPUS_OK && i < from->count; i++)
        status = put_feature(&to, from, i);
    fputs("\n]}\n", text.stream);
    snprintf(name, sizeof name, "layers/%s.geojson", from->name);
    return pappus_text_write(&text, status, list->output, name, err);
}

int layers_put_geojson(const layer_list *list, pappus_error *err)
{
    int status = PAPPUS_OK;
    for (size_t i = 0; status == PAPPUS_OK && i < list->count; i++)
        if (list->layers[i].formats & LAYER_GEOJSON)
            status = put_layer(list, &list->layers[i], err);
    return status;
}
