/* SPDX-License-Identifier: GPL-3.0-or-later
 * How many landings of each outcome lie inside the field and on each keep-out
 * area. The field's shapes are prepared once and may serve many clouds; they are
 * read-only and may be shared between threads. */
#ifndef PAPPUS_LANDING_HITS_H
#define PAPPUS_LANDING_HITS_H

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

typedef struct {
    double probability[PAPPUS_OUTCOMES]; /**< the cloud's */
    size_t count[PAPPUS_OUTCOMES];       /**< landings */
    bool has_boundary;
    size_t inside[PAPPUS_OUTCOMES];
    size_t keep_out_count;
    size_t (*keep_out)[PAPPUS_OUTCOMES]; /**< per area */
} pappus_hits;

/** Counts. inside_of and first_keep_out, cloud->count long, say it per landing
 * (pappus_zones has their meaning); either may be NULL. Without a boundary
 * inside_of is left as it is. threads 0: all. */
int pappus_hits_count(pappus_hits *out, uint8_t *inside_of, int32_t *first_keep_out,
                      const pappus_field_shapes *shapes, const pappus_cloud *cloud, int threads,
                      pappus_error *err);
void pappus_hits_clear(pappus_hits *hits);

/** Share over all outcomes. Inside: NaN without a boundary. */
pappus_estimate pappus_hits_inside(const pappus_hits *hits, double confidence);
pappus_estimate pappus_hits_keep_out(const pappus_hits *hits, size_t area, double confidence);

#endif
