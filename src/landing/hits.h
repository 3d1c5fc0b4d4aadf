/* SPDX-License-Identifier: GPL-3.0-or-later
 * Counting hits for many clouds on one field: its shapes are prepared once. They are
 * read-only and may be shared between threads. */
#ifndef PAPPUS_LANDING_HITS_H
#define PAPPUS_LANDING_HITS_H

#include <pappus/hits.h>

#include "containment.h"

typedef struct {
    pappus_containment *boundary; /**< NULL: no field given */
    size_t keep_out_count;
    pappus_containment **keep_outs;
} pappus_field_shapes;

/** field NULL: no boundary and no keep-outs. */
int pappus_field_shapes_new(pappus_field_shapes **out, const pappus_field *field,
                            pappus_error *err);
void pappus_field_shapes_free(pappus_field_shapes *shapes);

/** Counts alone: what is said of each landing stays NULL. Cleared with pappus_hits_clear. */
int pappus_hits_of_shapes(pappus_hits *out, const pappus_field_shapes *shapes,
                          const pappus_cloud *cloud, int threads, pappus_error *err);
void pappus_hits_clear(pappus_hits *hits);

#endif
