/* SPDX-License-Identifier: GPL-3.0-or-later
 * What the encoders ask of a layer's features: their places in longitude and
 * latitude, and their labels. */
#include "layer.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "error.h"

int layer_label_of(layer_label *out, const layer *from, size_t feature, pappus_error *err)
{
    *out = (layer_label){0};
    return from->label(from, feature, out) ? PAPPUS_OK : pappus_fail_memory(err);
}

void layer_label_clear(layer_label *label)
{
    free(label->folder);
    free(label->name);
    free(label->note);
}

static int to_degrees(const layer_list *list, size_t count, double *xy, pappus_error *err)
{
    pappus_transform_run(list->to_geographic, count, xy);
    for (size_t i = 0; i < 2 * count; i++)
        if (!isfinite(xy[i]))
            return pappus_fail(err, PAPPUS_E_NUMERIC, NULL, NULL, NULL,
                               "a place cannot be given as latitude and longitude");
    return PAPPUS_OK;
}

int layer_point(double out_deg[2], const layer_list *list, const layer *from, size_t feature,
                pappus_error *err)
{
    layer_shape shape = from->place(from, feature);
    memcpy(out_deg, shape.point_m, sizeof shape.point_m);
    return to_degrees(list, 1, out_deg, err);
}

int layer_ring(double **out_deg, const layer_list *list, const pappus_ring *ring, pappus_error *err)
{
    size_t numbers = 2 * ring->point_count;
    double *xy = malloc((numbers + 2) * sizeof *xy);
    *out_deg = NULL;
    if (!xy) return pappus_fail_memory(err);
    memcpy(xy, ring->points_m, numbers * sizeof *xy);
    int status = to_degrees(list, ring->point_count, xy, err);
    memcpy(xy + numbers, xy, 2 * sizeof *xy);
    if (status == PAPPUS_OK)
        *out_deg = xy;
    else
        free(xy);
    return status;
}

int layers_put_one(const layer *one, pappus_error *err)
{
    const pappus_site *site = &one->output->answer->plan->site;
    layer_list list = {.output = one->output, .count = 1};
    list.layers[0] = *one;
    int status = pappus_transform_from_local(&list.to_geographic, site->latitude_deg,
                                             site->longitude_deg, PAPPUS_EPSG_WGS84, err);
    if (status == PAPPUS_OK) status = layers_put_shapefiles(&list, err);
    if (status == PAPPUS_OK) status = layers_put_geojson(&list, err);
    pappus_transform_free(list.to_geographic);
    return status;
}
