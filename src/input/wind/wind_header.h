/* SPDX-License-Identifier: GPL-3.0-or-later
 * The header of a layer table: what parts its cells and which column is what. */
#ifndef PAPPUS_INPUT_WIND_HEADER_H
#define PAPPUS_INPUT_WIND_HEADER_H

#include "csv.h"
#include "wind_columns.h"
#include "wind_format.h"

typedef struct {
    size_t count;
    pappus_layer_column columns[PAPPUS_CSV_MAX_CELLS];
    int where[PAPPUS_LAYER_QUANTITIES]; /**< column of a quantity, or -1 */
} pappus_layer_header;

/** Whether a text begins with the header of a layer table. */
bool pappus_layer_probe(const char *text, size_t length);
/** Begins a table: finds out what parts its cells, and reads the header. */
int pappus_layer_header_read(pappus_layer_header *header, pappus_csv *csv,
                             pappus_wind_reading *reading);
bool pappus_layer_has(const pappus_layer_header *header, pappus_layer_quantity quantity);
/** The name of the column of a quantity; NULL: none. */
const char *pappus_layer_name(const pappus_layer_header *header, pappus_layer_quantity quantity);

#endif
