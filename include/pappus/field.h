/* SPDX-License-Identifier: GPL-3.0-or-later
 * The field: boundary, keep-out areas, roads. Conventions: pappus.h. */
#ifndef PAPPUS_FIELD_H
#define PAPPUS_FIELD_H

#include <pappus/plan.h>
#include <pappus/geometry.h>

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#ifdef __cplusplus
extern "C" {
#endif

typedef struct {
    bool has_boundary;
    pappus_area boundary;
    size_t keep_out_count;
    pappus_area *keep_outs;
    double *keep_out_limit;  /**< [keep-out] NaN: limits.keep_out; NULL: none has its own */
    double *keep_out_people; /**< [keep-out] persons in the open; NaN: not said; NULL: of none */
    size_t road_count;
    pappus_road *roads;
} pappus_field;

int pappus_field_read(pappus_field **out, const pappus_plan *plan, pappus_log *log);
void pappus_field_free(pappus_field *field);

#ifdef __cplusplus
}
#endif
#endif
