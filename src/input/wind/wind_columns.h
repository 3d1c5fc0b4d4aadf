/* SPDX-License-Identifier: GPL-3.0-or-later
 * What the name of a column of a layer table, or the words behind a number, say. */
#ifndef PAPPUS_INPUT_WIND_COLUMNS_H
#define PAPPUS_INPUT_WIND_COLUMNS_H

#include <pappus/winds.h>
#include "units.h"

typedef enum {
    PAPPUS_LAYER_HEIGHT_AGL, /**< the first four in the order of pappus_height_kind */
    PAPPUS_LAYER_HEIGHT_MSL,
    PAPPUS_LAYER_HEIGHT_GEOPOTENTIAL,
    PAPPUS_LAYER_HEIGHT_PRESSURE,
    PAPPUS_LAYER_HEIGHT, /**< above what, each cell has to say */
    PAPPUS_LAYER_DIRECTION,
    PAPPUS_LAYER_SPEED,
    PAPPUS_LAYER_U,
    PAPPUS_LAYER_V,
    PAPPUS_LAYER_SD,
    PAPPUS_LAYER_GUST,
    PAPPUS_LAYER_TEMPERATURE,
    PAPPUS_LAYER_PRESSURE,
    PAPPUS_LAYER_TIME,
    PAPPUS_LAYER_ISSUED,
    PAPPUS_LAYER_MEMBER,
    PAPPUS_LAYER_KIND,
    PAPPUS_LAYER_QUANTITIES,
    PAPPUS_LAYER_IGNORED = PAPPUS_LAYER_QUANTITIES
} pappus_layer_quantity;

typedef struct {
    const char *name; /**< as written */
    pappus_layer_quantity quantity;
    bool has_unit;
    double factor, offset; /**< SI = (value + offset) * factor */
    bool utc;              /**< times without a zone are UTC */
} pappus_layer_column;

#define PAPPUS_LAYER_HEIGHTS                                                                       \
    "accepted are height_agl, height_msl, height_geopotential, height_pressure with _m, _ft or "   \
    "_km"
#define PAPPUS_LAYER_WINDS                                                                         \
    "accepted are direction_deg with speed_mps, _kt, _mph, _kph or _fps, or u_mps with v_mps"

#define PAPPUS_LAYER_WHY 400

/** Reads a name: false when it is one of a known quantity and cannot be read without
 * guessing; why then says what is wrong. A name of nothing known is PAPPUS_LAYER_IGNORED. */
bool pappus_layer_column_read(pappus_layer_column *out, const char *name,
                              char why[PAPPUS_LAYER_WHY]);
/** The same for what stands behind a number in a cell of such a column: a unit, for heights
 * also above what, which must not be other than the column's. */
bool pappus_layer_cell_read(pappus_layer_column *out, const pappus_layer_column *column,
                            const char *words, char why[PAPPUS_LAYER_WHY]);

#endif
