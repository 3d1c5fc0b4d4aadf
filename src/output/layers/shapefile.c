/* SPDX-License-Identifier: GPL-3.0-or-later
 * Shapefile layers (ESRI Shapefile Technical Description, 1998; dBASE III
 * attribute tables) in WGS 84 or in the pad's UTM zone. Landings go out block
 * by block, so that no second copy of the cloud is made. */
#include "shapefile.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "error.h"
#include "format.h"
#include "geodesy.h"
#include "layer_file.h"
#include "rocket.h"
#include "zone_shape.h"

#define BLOCK 4096     /* landings that are projected at once */
#define NAME_WIDTH 254 /* the widest a text field can be */

/* What all layers share. */
typedef struct {
    const pappus_output *output;
    pappus_transform *to_crs;
    char *wkt;
    pappus_error *err;
} layer_set;

static int open_layer(pappus_layer **out, const layer_set *set, const char *name,
                      pappus_layer_kind kind, const pappus_layer_field *fields, size_t count)
{
    return pappus_layer_open(out, set->output->folder, name, kind, fields, count, set->to_crs,
                             set->wkt, set->err);
}

/* Width that holds every area's name, as far as can be: a million landings have
 * this field. */
static int keep_out_width(const pappus_field *field)
{
    size_t longest = 1;
    for (size_t i = 0; field && i < field->keep_out_count; i++) {
        char *name = pappus_text_clean(field->keep_outs[i].name);
        size_t length = name ? strlen(name) : NAME_WIDTH;
        if (length > longest) longest = length;
        free(name);
    }
    return longest > NAME_WIDTH ? NAME_WIDTH : (int)longest;
}

typedef enum {
    ID,
    OUTCOME,
    WEIGHT,
    EAST,
    NORTH,
    TIME,
    SPEED,
    VZ,
    ENERGY,
    INSIDE,
    KEEP_OUT,
    MAIN
} landing_field;

static void put_landing(pappus_layer *layer, const pappus_answer *answer, size_t i,
                        double heaviest_kg)
{
    const pappus_cloud *cloud = answer->cloud;
    const pappus_zones *zones = answer->zones;
    double vz_mps = cloud->vz_mps[i];
    pappus_layer_number(layer, ID, (double)i);
    pappus_layer_text(layer, OUTCOME, pappus_outcome_text((pappus_outcome)cloud->outcome[i]));
    pappus_layer_number(layer, WEIGHT, pappus_cloud_weight(cloud, i));
    pappus_layer_number(layer, EAST, cloud->east_m[i]);
    pappus_layer_number(layer, NORTH, cloud->north_m[i]);
    pappus_layer_number(layer, TIME, (double)cloud->time_s[i]);
    pappus_layer_number(layer, SPEED, (double)cloud->speed_mps[i]);
    pappus_layer_number(layer, VZ, vz_mps);
    pappus_layer_number(layer, ENERGY, 0.5 * heaviest_kg * vz_mps * vz_mps);
    if (zones->inside) pappus_layer_number(layer, INSIDE, zones->inside[i]);
    if (zones->keep_out && zones->keep_out[i] >= 0)
        pappus_layer_text(layer, KEEP_OUT, answer->field->keep_outs[zones->keep_out[i]].name);
    pappus_layer_number(layer, MAIN, (double)cloud->main_full_open_m[i]);
}

static void put_landings(pappus_layer *layer, const layer_set *set)
{
    const pappus_answer *answer = set->output->answer;
    const pappus_cloud *cloud = answer->cloud;
    double heaviest_kg = pappus_rocket_heaviest(&answer->plan->rocket).mass_kg;
    double at[2 * BLOCK];
    for (size_t first = 0; first < cloud->count; first += BLOCK) {
        size_t count = cloud->count - first < BLOCK ? cloud->count - first : BLOCK;
        for (size_t i = 0; i < count; i++) {
            at[2 * i] = cloud->east_m[first + i];
            at[2 * i + 1] = cloud->north_m[first + i];
        }
        pappus_transform_run(set->to_crs, count, at);
        for (size_t i = 0; i < count; i++) {
            put_landing(layer, answer, first + i, heaviest_kg);
            pappus_layer_add_placed(layer, at[2 * i], at[2 * i + 1]);
        }
    }
}

static int write_landings(const layer_set *set)
{
    const pappus_layer_field fields[] = {
        {"id", 'N', 10, 0},
        {"outcome", 'C', 16, 0},
        {"weight", 'N', 18, 15},
        {"east_m", 'N', 12, 2},
        {"north_m", 'N', 12, 2},
        {"time_s", 'N', 9, 2},
        {"speed_mps", 'N', 9, 3},
        {"vz_mps", 'N', 9, 3},
        {"energy_j", 'N', 14, 2},
        {"inside", 'N', 1, 0},
        {"keep_out", 'C', keep_out_width(set->output->answer->field), 0},
        {"main_m", 'N', 9, 2}};
    pappus_layer *layer;
    int status = open_layer(&layer, set, "layers/landings", PAPPUS_LAYER_POINTS, fields,
                            sizeof fields / sizeof fields[0]);
    if (status != PAPPUS_OK) return status;
    put_landings(layer, set);
    return pappus_layer_close(layer, PAPPUS_OK, set->err);
}

static int write_shapes(const layer_set *set, const char *name, const pappus_zone_shapes *shapes)
{
    static const pappus_layer_field fields[] = {{"outcome", 'C', 16, 0}, {"level", 'N', 6, 4},
                                                {"share", 'N', 10, 8},   {"major_m", 'N', 14, 2},
                                                {"minor_m", 'N', 14, 2}, {"bearing", 'N', 8, 3},
                                                {"area_m2", 'N', 18, 2}};
    pappus_layer *layer;
    if (shapes->count == 0) return PAPPUS_OK;
    int status = open_layer(&layer, set, name, PAPPUS_LAYER_POLYGONS, fields,
                            sizeof fields / sizeof fields[0]);
    if (status != PAPPUS_OK) return status;
    for (size_t i = 0; i < shapes->count; i++) {
        const pappus_zone_shape *shape = &shapes->shapes[i];
        pappus_layer_text(layer, 0, shape->outcome);
        pappus_layer_number(layer, 1, shape->level);
        pappus_layer_number(layer, 2, shape->share);
        pappus_layer_number(layer, 3, shape->major_m);
        pappus_layer_number(layer, 4, shape->minor_m);
        pappus_layer_number(layer, 5, shape->bearing_deg);
        pappus_layer_number(layer, 6, shape->area_m2);
        pappus_layer_add_area(layer, shape->shape);
    }
    return pappus_layer_close(layer, PAPPUS_OK, set->err);
}

static int write_ellipses(const layer_set *set)
{
    pappus_zone_shapes shapes;
    int status = pappus_zone_ellipses(&shapes, set->output->answer->zones, set->err);
    if (status == PAPPUS_OK) status = write_shapes(set, "layers/ellipses", &shapes);
    pappus_zone_shapes_clear(&shapes);
    return status;
}

static int write_contours(const layer_set *set)
{
    pappus_zone_shapes shapes;
    int status = pappus_zone_contours(&shapes, set->output->answer->zones, set->err);
    if (status == PAPPUS_OK) status = write_shapes(set, "layers/contours", &shapes);
    pappus_zone_shapes_clear(&shapes);
    return status;
}

static int write_posts(const layer_set *set)
{
    static const pappus_layer_field fields[] = {
        {"post", 'N', 4, 0},    {"latitude", 'N', 13, 8},    {"longitude", 'N', 13, 8},
        {"east_m", 'N', 12, 2}, {"north_m", 'N', 12, 2},     {"distance_m", 'N', 12, 2},
        {"bearing", 'N', 8, 3}, {"walk_m", 'N', 12, 2},      {"walk_p90_m", 'N', 12, 2},
        {"share", 'N', 10, 8},  {"road", 'C', NAME_WIDTH, 0}};
    const pappus_crews *crews = set->output->answer->crews;
    pappus_layer *layer;
    if (!crews || crews->post_count == 0) return PAPPUS_OK;
    int status = open_layer(&layer, set, "layers/posts", PAPPUS_LAYER_POINTS, fields,
                            sizeof fields / sizeof fields[0]);
    if (status != PAPPUS_OK) return status;
    for (size_t i = 0; i < crews->post_count; i++) {
        const pappus_post *post = &crews->posts[i];
        const double values[] = {(double)(i + 1),   post->latitude_deg, post->longitude_deg,
                                 post->east_m,      post->north_m,      post->distance_m,
                                 post->bearing_deg, post->walk_mean_m,  post->walk_p90_m,
                                 post->share};
        for (size_t k = 0; k < sizeof values / sizeof values[0]; k++)
            pappus_layer_number(layer, k, values[k]);
        if (post->road) pappus_layer_text(layer, 10, post->road);
        pappus_layer_add_point(layer, post->east_m, post->north_m);
    }
    return pappus_layer_close(layer, PAPPUS_OK, set->err);
}

/* chances: per area, NULL none. */
static int write_areas(const layer_set *set, const char *name, size_t count,
                       const pappus_area *areas, const pappus_estimate *chances)
{
    static const pappus_layer_field fields[] = {{"name", 'C', NAME_WIDTH, 0},
                                                {"chance", 'N', 12, 10}};
    pappus_layer *layer;
    if (count == 0) return PAPPUS_OK;
    int status = open_layer(&layer, set, name, PAPPUS_LAYER_POLYGONS, fields, 2);
    if (status != PAPPUS_OK) return status;
    for (size_t i = 0; i < count; i++) {
        pappus_layer_text(layer, 0, areas[i].name);
        if (chances) pappus_layer_number(layer, 1, chances[i].value);
        pappus_layer_add_area(layer, &areas[i]);
    }
    return pappus_layer_close(layer, PAPPUS_OK, set->err);
}

static int write_boundary(const layer_set *set)
{
    const pappus_answer *answer = set->output->answer;
    if (!answer->field || !answer->field->has_boundary) return PAPPUS_OK;
    return write_areas(set, "layers/boundary", 1, &answer->field->boundary,
                       &answer->zones->all.inside_field);
}

static int write_keep_outs(const layer_set *set)
{
    const pappus_answer *answer = set->output->answer;
    const pappus_zone *all = &answer->zones->all;
    if (!answer->field) return PAPPUS_OK;
    bool known = all->keep_out_count == answer->field->keep_out_count;
    return write_areas(set, "layers/keep_outs", answer->field->keep_out_count,
                       answer->field->keep_outs, known ? all->keep_out : NULL);
}

static int write_roads(const layer_set *set)
{
    static const pappus_layer_field fields[] = {{"name", 'C', NAME_WIDTH, 0}};
    const pappus_field *field = set->output->answer->field;
    pappus_layer *layer;
    if (!field || field->road_count == 0) return PAPPUS_OK;
    int status = open_layer(&layer, set, "layers/roads", PAPPUS_LAYER_LINES, fields, 1);
    if (status != PAPPUS_OK) return status;
    for (size_t i = 0; i < field->road_count; i++) {
        pappus_layer_text(layer, 0, field->roads[i].name ? field->roads[i].name : "");
        pappus_layer_add_line(layer, field->roads[i].point_count, field->roads[i].points_m);
    }
    return pappus_layer_close(layer, PAPPUS_OK, set->err);
}

static int find_crs(layer_set *set)
{
    const pappus_site *site = &set->output->answer->plan->site;
    int epsg = PAPPUS_EPSG_WGS84;
    if (set->output->options->crs == PAPPUS_CRS_UTM)
        epsg = pappus_utm_epsg(site->latitude_deg, site->longitude_deg);
    if (epsg == 0)
        return pappus_fail(set->err, PAPPUS_E_PLAN, NULL, "site.latitude", NULL,
                           "UTM ends at 84 degrees north and 80 south; write the layers in WGS 84");
    int status = pappus_crs_wkt(&set->wkt, epsg, set->err);
    if (status == PAPPUS_OK)
        status = pappus_transform_from_local(&set->to_crs, site->latitude_deg, site->longitude_deg,
                                             epsg, set->err);
    return status;
}

int pappus_write_shapefiles(const pappus_output *output, pappus_error *err)
{
    static int (*const layers[])(const layer_set *) = {
        write_landings, write_ellipses,  write_contours, write_posts,
        write_boundary, write_keep_outs, write_roads};
    layer_set set = {.output = output, .err = err};
    int status = find_crs(&set);
    for (size_t i = 0; status == PAPPUS_OK && i < sizeof layers / sizeof layers[0]; i++)
        status = layers[i](&set);
    pappus_transform_free(set.to_crs);
    free(set.wkt);
    return status;
}
