/* SPDX-License-Identifier: GPL-3.0-or-later
 * Led landings for a trade over main heights: the same landings, flown for every row. */
#ifndef PAPPUS_RARE_ROWS_H
#define PAPPUS_RARE_ROWS_H

#include <pappus/givens.h>
#include <pappus/hits.h>

#include "hits.h"

/** hits[rows] of what was counted; their `rare` is filled for areas whose limit is under
 * PAPPUS_COUNTED_LIMIT, and is NULL where there is none. main_shift_m[rows]: what moves every
 * main height. */
int rare_rows_lead(pappus_hits *hits, size_t rows, const double *main_shift_m,
                   const pappus_givens *given, const pappus_field_shapes *shapes,
                   const pappus_run *run, pappus_error *err);

#endif
