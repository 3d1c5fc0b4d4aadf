/* SPDX-License-Identifier: GPL-3.0-or-later
 * The layers of an answer: each is a description with its columns, their values, its
 * places and its names beside it. A new layer is one more, and a line in add_layers.
 *
 * The expected landing point is the mean of all landings; a zone in two lobes may have
 * nothing there. */
#include "layer.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "error.h"
#include "format.h"
#include "rocket.h"
#include "zone_shape.h"

/* A list of columns is lines X(name, kind, width, decimals, value). */
#define COLUMN(name, kind, width, decimals, value) {name, LAYER_##kind, width, decimals},
#define CELL(name, kind, width, decimals, value) *cells++ = kind##_CELL(value);
#define NUMBER_CELL(value) ((layer_cell){.number = (double)(value)})
#define PLACE_CELL(value) NUMBER_CELL(value)
#define TEXT_CELL(value) ((layer_cell){.text = (value)})
#define COLUMNS(list) .columns = list, .column_count = sizeof list / sizeof list[0]

/* ----------------------------------------------------------------- landings */

#define LANDING_COLUMNS(X)                                                                         \
    X("id", NUMBER, 10, 0, i)                                                                      \
    X("outcome", TEXT, 16, 0, pappus_outcome_text(cloud->outcome[i]))                              \
    X("weight", NUMBER, 18, 15, pappus_cloud_weight(cloud, i))                                     \
    X("east_m", NUMBER, 12, 2, cloud->east_m[i])                                                   \
    X("north_m", NUMBER, 12, 2, cloud->north_m[i])                                                 \
    X("time_s", NUMBER, 9, 2, cloud->time_s[i])                                                    \
    X("speed_mps", NUMBER, 9, 3, cloud->speed_mps[i])                                              \
    X("vz_mps", NUMBER, 9, 3, vz_mps)                                                              \
    X("energy_j", NUMBER, 14, 2, 0.5 * *heaviest_kg * vz_mps * vz_mps)                             \
    X("inside", NUMBER, 1, 0, hits->inside_of ? hits->inside_of[i] : NAN)                          \
    X("keep_out", TEXT, 0, 0,                                                                      \
      hits->first_keep_out[i] < 0 ? NULL : answer->field->keep_outs[hits->first_keep_out[i]].name) \
    X("main_m", NUMBER, 9, 2, cloud->main_full_open_m[i])

static const layer_column landing_columns[] = {LANDING_COLUMNS(COLUMN)};

static void fill_landing(const layer *from, size_t i, layer_cell *cells)
{
    const pappus_answer *answer = from->output->answer;
    const pappus_cloud *cloud = answer->cloud;
    const pappus_hits *hits = answer->hits;
    const double *heaviest_kg = from->source;
    double vz_mps = cloud->vz_mps[i];
    LANDING_COLUMNS(CELL)
}

static layer_shape place_landing(const layer *from, size_t i)
{
    const pappus_cloud *cloud = from->output->answer->cloud;
    return (layer_shape){.point_m = {cloud->east_m[i], cloud->north_m[i]}};
}

static const layer landings = {"landings",
                               LAYER_POINTS,
                               LAYER_SHAPEFILE,
                               COLUMNS(landing_columns),
                               .place = place_landing,
                               .fill = fill_landing};

/* Width that holds every area's name, as far as can be: a million landings have it. */
static int keep_out_width(const pappus_field *field)
{
    size_t longest = 1;
    for (size_t i = 0; field && i < field->keep_out_count; i++) {
        char *name = pappus_text_clean(field->keep_outs[i].name);
        size_t length = name ? strlen(name) : LAYER_WIDEST;
        if (length > longest) longest = length;
        free(name);
    }
    return longest > LAYER_WIDEST ? LAYER_WIDEST : (int)longest;
}

/* -------------------------------------------------------------------- zones */

#define ZONE_COLUMNS(X)                                                                            \
    X("outcome", TEXT, 16, 0, shape->outcome)                                                      \
    X("level", NUMBER, 6, 4, shape->level)                                                         \
    X("share", NUMBER, 10, 8, shape->share)                                                        \
    X("major_m", NUMBER, 14, 2, shape->major_m)                                                    \
    X("minor_m", NUMBER, 14, 2, shape->minor_m)                                                    \
    X("bearing", NUMBER, 8, 3, shape->bearing_deg)                                                 \
    X("area_m2", NUMBER, 18, 2, shape->area_m2)

static const layer_column zone_columns[] = {ZONE_COLUMNS(COLUMN)};

static void fill_zone(const layer *from, size_t i, layer_cell *cells)
{
    const pappus_zone_shape *shape = &((const pappus_zone_shapes *)from->source)->shapes[i];
    ZONE_COLUMNS(CELL)
}

static layer_shape place_zone(const layer *from, size_t i)
{
    return (layer_shape){.area = ((const pappus_zone_shapes *)from->source)->shapes[i].shape};
}

/* Zones of single outcomes are there, switched off. */
static bool label_zone(const layer *from, size_t i, layer_label *out)
{
    const pappus_zone_shape *shape = &((const pappus_zone_shapes *)from->source)->shapes[i];
    bool all = strcmp(shape->outcome, "all") == 0;
    const char *outcome = all ? "all outcomes" : shape->outcome;
    char level[PAPPUS_TEXT_SIZE];
    pappus_format_chance(level, sizeof level, shape->level);
    out->hidden = !all;
    if (asprintf(&out->folder, "Landing zone, %s", outcome) < 0) out->folder = NULL;
    if (asprintf(&out->name, "%s, %s", level, outcome) < 0) out->name = NULL;
    return out->folder && out->name;
}

static const layer ellipses = {"ellipses",
                               LAYER_AREAS,
                               LAYER_SHAPEFILE | LAYER_GEOJSON,
                               "zone",
                               COLUMNS(zone_columns),
                               .place = place_zone,
                               .fill = fill_zone,
                               .label = label_zone};
static const layer contours = {"contours",
                               LAYER_AREAS,
                               LAYER_SHAPEFILE | LAYER_GEOJSON | LAYER_KML,
                               "zone",
                               COLUMNS(zone_columns),
                               .place = place_zone,
                               .fill = fill_zone,
                               .label = label_zone};

/* ------------------------------------------------------------------- hazard */

#define HAZARD_COLUMNS(X)                                                                          \
    X("level", NUMBER, 14, 10, contour->level)                                                     \
    X("area_m2", NUMBER, 18, 2, contour->area_m2)

static const layer_column hazard_columns[] = {HAZARD_COLUMNS(COLUMN)};

/* Levels that are reached, the rarest first: they come first in the list. */
static const pappus_hazard_contour *hazard_contour(const layer *from, size_t i)
{
    return (const pappus_hazard_contour *)from->source + PAPPUS_HAZARD_LEVELS - 1 - i;
}

static void fill_hazard(const layer *from, size_t i, layer_cell *cells)
{
    const pappus_hazard_contour *contour = hazard_contour(from, i);
    HAZARD_COLUMNS(CELL)
}

static layer_shape place_hazard(const layer *from, size_t i)
{
    return (layer_shape){.area = &hazard_contour(from, i)->shape};
}

/* A level that is reached holds all those above it: only the first ones have no area. */
static size_t hazard_count(const pappus_hazard *hazard)
{
    size_t count = 0;
    for (size_t l = 0; hazard && l < hazard->contour_count; l++)
        count += hazard->contours[l].shape.polygon_count > 0;
    return count;
}

static const layer hazards = {"hazard",
                              LAYER_AREAS,
                              LAYER_SHAPEFILE | LAYER_GEOJSON,
                              COLUMNS(hazard_columns),
                              .place = place_hazard,
                              .fill = fill_hazard};

/* -------------------------------------------------------------------- field */

#define AREA_COLUMNS(X)                                                                            \
    X("name", TEXT, LAYER_WIDEST, 0, areas[i].name)                                                \
    X("chance", NUMBER, 12, 10, chances ? chances[i].value : NAN)

static const layer_column area_columns[] = {AREA_COLUMNS(COLUMN)};

static void fill_area(const layer *from, size_t i, layer_cell *cells)
{
    const pappus_area *areas = from->source;
    const pappus_estimate *chances = from->chances;
    AREA_COLUMNS(CELL)
}

static layer_shape place_area(const layer *from, size_t i)
{
    return (layer_shape){.area = (const pappus_area *)from->source + i};
}

static bool label_area(const layer *from, size_t i, layer_label *out)
{
    const pappus_area *area = (const pappus_area *)from->source + i;
    bool boundary = area == &from->output->answer->field->boundary;
    out->name = strdup(boundary && !area->name[0] ? "Field boundary" : area->name);
    return out->name;
}

static const layer boundary = {
    "boundary",        LAYER_AREAS,           LAYER_SHAPEFILE | LAYER_KML,
    "boundary",        COLUMNS(area_columns), .place = place_area,
    .fill = fill_area, .label = label_area};
static const layer keep_outs = {
    "keep_outs",           LAYER_AREAS,         LAYER_SHAPEFILE | LAYER_KML, "keep_out",
    COLUMNS(area_columns), .place = place_area, .fill = fill_area,           .label = label_area};

#define ROAD_COLUMNS(X) X("name", TEXT, LAYER_WIDEST, 0, road->name)

static const layer_column road_columns[] = {ROAD_COLUMNS(COLUMN)};

static void fill_road(const layer *from, size_t i, layer_cell *cells)
{
    const pappus_road *road = (const pappus_road *)from->source + i;
    ROAD_COLUMNS(CELL)
}

static layer_shape place_road(const layer *from, size_t i)
{
    return (layer_shape){.line = (const pappus_road *)from->source + i};
}

static const layer roads = {
    "roads",          LAYER_LINES, LAYER_SHAPEFILE, COLUMNS(road_columns), .place = place_road,
    .fill = fill_road};

/* ------------------------------------------------------------------- places */

/* A place of which there is one. */
typedef struct {
    double at_m[2];
    const char *name, *note;
} spot;

static layer_shape place_spot(const layer *from, size_t i)
{
    const spot *place = (const spot *)from->source + i;
    return (layer_shape){.point_m = {place->at_m[0], place->at_m[1]}};
}

static bool label_spot(const layer *from, size_t i, layer_label *out)
{
    const spot *place = (const spot *)from->source + i;
    out->name = strdup(place->name);
    out->note = strdup(place->note);
    return out->name && out->note;
}

static const layer middle = {"middle", LAYER_POINTS, LAYER_GPX, .place = place_spot,
                             .label = label_spot};
static const layer pad = {"pad", LAYER_POINTS, LAYER_KML, .place = place_spot, .label = label_spot};

#define POST_COLUMNS(X)                                                                            \
    X("post", NUMBER, 4, 0, i + 1)                                                                 \
    X("latitude", PLACE, 13, 8, post->latitude_deg)                                                \
    X("longitude", PLACE, 13, 8, post->longitude_deg)                                              \
    X("east_m", NUMBER, 12, 2, post->east_m)                                                       \
    X("north_m", NUMBER, 12, 2, post->north_m)                                                     \
    X("distance_m", NUMBER, 12, 2, post->distance_m)                                               \
    X("bearing", NUMBER, 8, 3, post->bearing_deg)                                                  \
    X("walk_m", NUMBER, 12, 2, post->walk_mean_m)                                                  \
    X("walk_p90_m", NUMBER, 12, 2, post->walk_p90_m)                                               \
    X("share", NUMBER, 10, 8, post->share)                                                         \
    X("road", TEXT, LAYER_WIDEST, 0, post->road)

static const layer_column post_columns[] = {POST_COLUMNS(COLUMN)};

static void fill_post(const layer *from, size_t i, layer_cell *cells)
{
    const pappus_post *post = (const pappus_post *)from->source + i;
    POST_COLUMNS(CELL)
}

static layer_shape place_post(const layer *from, size_t i)
{
    const pappus_post *post = (const pappus_post *)from->source + i;
    return (layer_shape){.point_m = {post->east_m, post->north_m}};
}

static bool label_post(const layer *from, size_t i, layer_label *out)
{
    const pappus_post *post = (const pappus_post *)from->source + i;
    char walk[PAPPUS_TEXT_SIZE], share[PAPPUS_TEXT_SIZE], minutes[PAPPUS_TEXT_SIZE];
    pappus_format_minutes(minutes, sizeof minutes, post->latitude_deg, post->longitude_deg);
    pappus_format(walk, sizeof walk, PAPPUS_SHOW_DISTANCE, post->walk_mean_m,
                  from->output->options->units);
    pappus_format_chance(share, sizeof share, post->share);
    if (asprintf(&out->name, "Post %zu", i + 1) < 0) out->name = NULL;
    if (asprintf(&out->note, "Recovery crew at %s, serves %s of landings, mean walk %s%s%s",
                 minutes, share, walk, post->road ? ", on " : "", post->road ? post->road : "") < 0)
        out->note = NULL;
    return out->name && out->note;
}

static const layer posts = {"posts",
                            LAYER_POINTS,
                            LAYER_SHAPEFILE | LAYER_GEOJSON | LAYER_KML | LAYER_GPX,
                            COLUMNS(post_columns),
                            .place = place_post,
                            .fill = fill_post,
                            .label = label_post};

/* ----------------------------------------------------------------- the list */

/* What layers are made of that the answer does not hold. */
typedef struct {
    pappus_zone_shapes ellipses, contours;
    spot middle, pad;
    double heaviest_kg;
} sources;

static layer *add(layer_list *list, const layer *kind, size_t count, const void *source)
{
    layer *added = &list->layers[list->count];
    *added = *kind;
    added->output = list->output;
    added->count = count;
    added->source = source;
    if (count > 0) list->count++;
    return added;
}

static void add_field(layer_list *list, const pappus_field *field, const pappus_zone *all)
{
    bool known = all->keep_out_count == field->keep_out_count;
    add(list, &boundary, field->has_boundary, &field->boundary)->chances = &all->inside_field;
    add(list, &keep_outs, field->keep_out_count, field->keep_outs)->chances =
        known ? all->keep_out : NULL;
    add(list, &roads, field->road_count, field->roads);
}

/* In the order that KML and GPX have them. */
static void add_layers(layer_list *list, const sources *from)
{
    const pappus_answer *answer = list->output->answer;
    const pappus_zone *all = &answer->zones->all;
    add(list, &landings, answer->cloud->count, &from->heaviest_kg)->text_width =
        keep_out_width(answer->field);
    add(list, &middle, isfinite(all->mean_east_m) && isfinite(all->mean_north_m), &from->middle);
    layer *stand_in = add(list, &ellipses, from->ellipses.count, &from->ellipses);
    if (from->contours.count == 0) stand_in->formats |= LAYER_KML;
    add(list, &contours, from->contours.count, &from->contours);
    if (answer->hazard) add(list, &hazards, hazard_count(answer->hazard), answer->hazard->contours);
    if (answer->field) add_field(list, answer->field, all);
    add(list, &pad, 1, &from->pad);
    if (answer->crews) add(list, &posts, answer->crews->post_count, answer->crews->posts);
}

static int encode(layer_list *list, pappus_error *err)
{
    static const struct {
        layer_encoder *put;
        bool layers; /* for layers_only too */
    } encoders[] = {{layers_put_shapefiles, true},
                    {layers_put_geojson, true},
                    {layers_put_gpx, false},
                    {layers_put_kml, false}};
    const pappus_site *site = &list->output->answer->plan->site;
    int status = pappus_transform_from_local(&list->to_geographic, site->latitude_deg,
                                             site->longitude_deg, PAPPUS_EPSG_WGS84, err);
    for (size_t i = 0; status == PAPPUS_OK && i < sizeof encoders / sizeof encoders[0]; i++)
        if (encoders[i].layers || !list->output->options->layers_only)
            status = encoders[i].put(list, err);
    pappus_transform_free(list->to_geographic);
    return status;
}

int pappus_write_layers(const pappus_output *output, pappus_error *err)
{
    const pappus_answer *answer = output->answer;
    const pappus_zone *all = &answer->zones->all;
    const char *pad_name = answer->plan->site.pad_name;
    layer_list list = {.output = output};
    sources *from = malloc(sizeof *from);
    if (!from) return pappus_fail_memory(err);
    from->middle = (spot){{all->mean_east_m, all->mean_north_m},
                          "Expected landing",
                          "Mean of all sampled landings: a planning estimate"};
    from->pad = (spot){{0, 0}, pad_name ? pad_name : "Pad", "Launch pad"};
    from->heaviest_kg = pappus_rocket_heaviest(&answer->plan->rocket).mass_kg;
    pappus_zone_ellipses(&from->ellipses, answer->zones);
    pappus_zone_contours(&from->contours, answer->zones);
    add_layers(&list, from);
    int status = encode(&list, err);
    free(from);
    return status;
}
