/* SPDX-License-Identifier: GPL-3.0-or-later
 * GeoJSON layers (RFC 7946): always WGS 84, longitude before latitude, shells
 * counter-clockwise and holes clockwise (section 3.1.6). Eight decimals are
 * about a millimetre. A zone that crosses the 180th meridian is not cut. */
#include "geojson.h"

#include <cjson/cJSON.h>
#include <math.h>
#include <stdlib.h>

#include "error.h"
#include "format.h"
#include "zone_shape.h"

static void put_number(FILE *out, const char *key, double value)
{
    if (isfinite(value))
        fprintf(out, ", \"%s\": %.10g", key, value);
    else
        fprintf(out, ", \"%s\": null", key);
}

static int put_text(FILE *out, const char *key, const char *text, pappus_error *err)
{
    char *clean = pappus_text_clean(text);
    cJSON *item = clean ? cJSON_CreateString(clean) : NULL;
    char *quoted = item ? cJSON_PrintUnformatted(item) : NULL;
    if (quoted) fprintf(out, "\"%s\": %s", key, quoted);
    int status = quoted ? PAPPUS_OK : pappus_fail_memory(err);
    free(quoted);
    cJSON_Delete(item);
    free(clean);
    return status;
}

static int put_ring(FILE *out, const pappus_ring *ring, const pappus_transform *to_geographic,
                    pappus_error *err)
{
    double *xy;
    int status = pappus_ring_placed(&xy, ring, to_geographic, err);
    if (status != PAPPUS_OK) return status;
    for (size_t i = 0; i <= ring->point_count; i++)
        fprintf(out, "%s[%.8f, %.8f]", i ? ", " : "[", xy[2 * i], xy[2 * i + 1]);
    fputc(']', out);
    free(xy);
    return PAPPUS_OK;
}

static int put_area(FILE *out, const pappus_area *area, const pappus_transform *to_geographic,
                    pappus_error *err)
{
    int status = PAPPUS_OK;
    fputs("\"geometry\": {\"type\": \"MultiPolygon\", \"coordinates\": [", out);
    for (size_t p = 0; p < area->polygon_count; p++) {
        const pappus_polygon *polygon = &area->polygons[p];
        for (size_t r = 0; status == PAPPUS_OK && r < polygon->ring_count; r++) {
            fputs(r ? ", " : p ? ", [" : "[", out);
            status = put_ring(out, &polygon->rings[r], to_geographic, err);
        }
        fputc(']', out);
    }
    fputs("]}", out);
    return status;
}

static int put_shape(FILE *out, const pappus_zone_shape *shape,
                     const pappus_transform *to_geographic, pappus_error *err)
{
    fputs("{\"type\": \"Feature\", \"properties\": {", out);
    int status = put_text(out, "outcome", shape->outcome, err);
    put_number(out, "level", shape->level);
    put_number(out, "share", shape->share);
    put_number(out, "major_m", shape->major_m);
    put_number(out, "minor_m", shape->minor_m);
    put_number(out, "bearing", shape->bearing_deg);
    put_number(out, "area_m2", shape->area_m2);
    fputs("}, ", out);
    if (status == PAPPUS_OK) status = put_area(out, shape->shape, to_geographic, err);
    fputc('}', out);
    return status;
}

static void begin_collection(FILE *out)
{
    fputs("{\"type\": \"FeatureCollection\", \"features\": [\n", out);
}

static void end_collection(FILE *out)
{
    fputs("\n]}\n", out);
}

static int write_shapes(const pappus_output *output, const char *name,
                        const pappus_zone_shapes *shapes, const pappus_transform *to_geographic,
                        pappus_error *err)
{
    pappus_text text;
    if (shapes->count == 0) return PAPPUS_OK;
    int status = pappus_text_begin(&text, err);
    if (status != PAPPUS_OK) return status;
    begin_collection(text.stream);
    for (size_t i = 0; status == PAPPUS_OK && i < shapes->count; i++) {
        if (i > 0) fputs(",\n", text.stream);
        status = put_shape(text.stream, &shapes->shapes[i], to_geographic, err);
    }
    end_collection(text.stream);
    return pappus_text_write(&text, status, output, name, err);
}

static int write_zones(const pappus_output *output, const char *name,
                       int (*shapes_of)(pappus_zone_shapes *, const pappus_zones *, pappus_error *),
                       const pappus_transform *to_geographic, pappus_error *err)
{
    pappus_zone_shapes shapes;
    int status = shapes_of(&shapes, output->answer->zones, err);
    if (status == PAPPUS_OK) status = write_shapes(output, name, &shapes, to_geographic, err);
    pappus_zone_shapes_clear(&shapes);
    return status;
}

static int put_post(FILE *out, const pappus_post *post, size_t number, pappus_error *err)
{
    int status = PAPPUS_OK;
    fprintf(out, "{\"type\": \"Feature\", \"properties\": {\"post\": %zu", number);
    put_number(out, "east_m", post->east_m);
    put_number(out, "north_m", post->north_m);
    put_number(out, "distance_m", post->distance_m);
    put_number(out, "bearing", post->bearing_deg);
    put_number(out, "walk_m", post->walk_mean_m);
    put_number(out, "walk_p90_m", post->walk_p90_m);
    put_number(out, "share", post->share);
    fputs(", ", out);
    if (post->road)
        status = put_text(out, "road", post->road, err);
    else
        fputs("\"road\": null", out);
    fprintf(out, "}, \"geometry\": {\"type\": \"Point\", \"coordinates\": [%.8f, %.8f]}}",
            post->longitude_deg, post->latitude_deg);
    return status;
}

static int write_posts(const pappus_output *output, pappus_error *err)
{
    const pappus_crews *crews = output->answer->crews;
    pappus_text text;
    if (!crews || crews->post_count == 0) return PAPPUS_OK;
    int status = pappus_text_begin(&text, err);
    if (status != PAPPUS_OK) return status;
    begin_collection(text.stream);
    for (size_t i = 0; status == PAPPUS_OK && i < crews->post_count; i++) {
        if (i > 0) fputs(",\n", text.stream);
        status = put_post(text.stream, &crews->posts[i], i + 1, err);
    }
    end_collection(text.stream);
    return pappus_text_write(&text, status, output, "layers/posts.geojson", err);
}

int pappus_write_geojson(const pappus_output *output, pappus_error *err)
{
    pappus_transform *to_geographic;
    int status = pappus_output_to_geographic(&to_geographic, output, err);
    if (status != PAPPUS_OK) return status;
    status =
        write_zones(output, "layers/ellipses.geojson", pappus_zone_ellipses, to_geographic, err);
    if (status == PAPPUS_OK)
        status = write_zones(output, "layers/contours.geojson", pappus_zone_contours, to_geographic,
                             err);
    if (status == PAPPUS_OK) status = write_posts(output, err);
    pappus_transform_free(to_geographic);
    return status;
}
