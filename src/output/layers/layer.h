/* SPDX-License-Identifier: GPL-3.0-or-later
 * Layers as data. A layer says once what its features are: where they lie, the columns
 * of their table with the values, and how they are called; the encoders (shapefile,
 * GeoJSON, KML, GPX) take it from there. Features are asked for one by one, so that a
 * million landings are not held a second time.
 *
 * Lines are written to shapefiles only, and GPX takes points only. */
#ifndef PAPPUS_OUTPUT_LAYER_H
#define PAPPUS_OUTPUT_LAYER_H

#include "geodesy.h"
#include "writer.h"

typedef enum { LAYER_POINTS, LAYER_LINES, LAYER_AREAS } layer_kind;

/** A table parts PLACE, a number, from the geometry that says the same: only there. */
typedef enum { LAYER_NUMBER, LAYER_TEXT, LAYER_PLACE } layer_column_kind;

typedef struct {
    const char *name; /**< at most 10 characters */
    layer_column_kind kind;
    int width;    /**< bytes in a table, at most LAYER_WIDEST; 0: the layer's text_width */
    int decimals; /**< of a number in a table, at most 15 */
} layer_column;

#define LAYER_WIDEST 254
#define LAYER_MOST_COLUMNS 16

/** Empty: a number that is not finite, a text that is NULL. */
typedef struct {
    double number;
    const char *text;
} layer_cell;

/** On the local plane; which of these, the layer's kind says. */
typedef struct {
    double point_m[2];
    const pappus_road *line;
    const pappus_area *area;
} layer_shape;

/** For a reader's list of places. Texts are the caller's to free; NULL: none. */
typedef struct {
    char *folder, *name, *note;
    bool hidden; /**< there, and not shown at first */
} layer_label;

/** Where a layer goes. */
enum { LAYER_SHAPEFILE = 1, LAYER_GEOJSON = 2, LAYER_KML = 4, LAYER_GPX = 8 };

typedef struct layer layer;
struct layer {
    const char *name; /**< of its file in layers/ */
    layer_kind kind;
    unsigned formats;
    const char *style; /**< of areas in KML, one of its table */
    size_t column_count;
    const layer_column *columns;
    layer_shape (*place)(const layer *from, size_t feature);
    void (*fill)(const layer *from, size_t feature, layer_cell *cells);
    bool (*label)(const layer *from, size_t feature, layer_label *out); /**< false: no memory */
    /* Of one answer: what these read, and the number of features. */
    size_t count;
    const void *source, *chances;
    const pappus_output *output;
    int text_width;
};

/** The layers of an answer that have features. */
typedef struct {
    const pappus_output *output;
    pappus_transform *to_geographic; /**< from the local plane to longitude, latitude */
    size_t count;
    layer layers[16];
} layer_list;

/** Every layer in every format: layers/, posts.gpx and zone.kml. */
pappus_writer pappus_write_layers;

typedef int layer_encoder(const layer_list *list, pappus_error *err);
layer_encoder layers_put_shapefiles; /**< layers/NAME.shp, .shx, .dbf, .prj, .cpg */
layer_encoder layers_put_geojson;    /**< layers/NAME.geojson */
layer_encoder layers_put_kml;        /**< zone.kml */
layer_encoder layers_put_gpx;        /**< posts.gpx */
/** One layer alone, about the pad of its output's answer, as shapefile and GeoJSON. */
int layers_put_one(const layer *one, pappus_error *err);

/** The label, or PAPPUS_E_MEMORY; to be cleared either way. */
int layer_label_of(layer_label *out, const layer *from, size_t feature, pappus_error *err);
void layer_label_clear(layer_label *label);
/** Longitude, latitude of a point feature. */
int layer_point(double out_deg[2], const layer_list *list, const layer *from, size_t feature,
                pappus_error *err);
/** A ring closed, as point_count + 1 pairs of longitude, latitude, which the caller frees. */
int layer_ring(double **out_deg, const layer_list *list, const pappus_ring *ring,
               pappus_error *err);

#endif
