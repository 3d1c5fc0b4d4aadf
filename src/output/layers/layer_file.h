/* SPDX-License-Identifier: GPL-3.0-or-later
 * One shapefile layer (.shp .shx .dbf .prj .cpg) being written by shapelib,
 * record after record. */
#ifndef PAPPUS_OUTPUT_LAYER_FILE_H
#define PAPPUS_OUTPUT_LAYER_FILE_H

#include <pappus/output.h>

#include "geodesy.h"

typedef enum { PAPPUS_LAYER_POINTS, PAPPUS_LAYER_LINES, PAPPUS_LAYER_POLYGONS } pappus_layer_kind;

/** A field of the attribute table; the name has at most 10 characters. */
typedef struct {
    const char *name;
    char type;    /**< 'C' text, 'N' number */
    int width;    /**< bytes, at most 254 */
    int decimals; /**< of a number, at most 15 */
} pappus_layer_field;

typedef struct pappus_layer pappus_layer;

/** folder/name.*: the name, without extension, is what a fault is told of. to_crs:
 * from the local plane, borrowed. */
int pappus_layer_open(pappus_layer **out, const char *folder, const char *name,
                      pappus_layer_kind kind, const pappus_layer_field *fields, size_t field_count,
                      const pappus_transform *to_crs, const char *wkt, pappus_error *err);

/* Attributes of the next record; those not set stay empty. Text is cut to its
 * field at a UTF-8 boundary; a number that is not finite stays empty. */
void pappus_layer_text(pappus_layer *layer, size_t field, const char *text);
void pappus_layer_number(pappus_layer *layer, size_t field, double value);

/* Add a record with its shape, given on the local plane. */
void pappus_layer_add_point(pappus_layer *layer, double east_m, double north_m);
void pappus_layer_add_line(pappus_layer *layer, size_t count, const double *points_m);
void pappus_layer_add_area(pappus_layer *layer, const pappus_area *area);
/** A point that is in the layer's own reference system already. */
void pappus_layer_add_placed(pappus_layer *layer, double x, double y);

/** Closes and frees; tells of any failure since the layer was opened. With
 * status other than PAPPUS_OK only closes, and returns it. */
int pappus_layer_close(pappus_layer *layer, int status, pappus_error *err);

#endif
