/* SPDX-License-Identifier: GPL-3.0-or-later
 * Counting hits for many clouds on one field: its shapes are prepared once. They are
 * read-only and may be shared between threads. */
#ifndef PAPPUS_LANDING_HITS_H
#define PAPPUS_LANDING_HITS_H

#include <pappus/hits.h>

#include "containment.h"

/** Which keep-outs may hold a place: a grid over their bounds, the areas of each cell
 * ascending. */
typedef struct {
    double west_m, south_m, per_east, per_north;
    size_t side;     /**< cells per side; 0: no areas */
    uint32_t *start; /**< [row][column], and one more */
    uint32_t *area;
} pappus_area_index;

typedef struct {
    pappus_area_index index;
    pappus_containment *boundary; /**< NULL: no field given */
    size_t keep_out_count;
    pappus_containment **keep_outs;
} pappus_field_shapes;

/** field NULL: no boundary and no keep-outs. */
int pappus_field_shapes_new(pappus_field_shapes **out, const pappus_field *field,
                            pappus_error *err);
void pappus_field_shapes_free(pappus_field_shapes *shapes);

/** The areas that may hold a place, ascending; how many. */
size_t pappus_field_shapes_about(const uint32_t **areas, const pappus_field_shapes *shapes,
                                 double east_m, double north_m);

/** Counts alone: what is said of each landing stays NULL. Cleared with pappus_hits_clear. */
int pappus_hits_of_shapes(pappus_hits *out, const pappus_field_shapes *shapes,
                          const pappus_cloud *cloud, int threads, pappus_error *err);
void pappus_hits_clear(pappus_hits *hits);

#endif
