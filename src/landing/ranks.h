/* SPDX-License-Identifier: GPL-3.0-or-later
 * Values of given ranks, without sorting all. */
#ifndef PAPPUS_LANDING_RANKS_H
#define PAPPUS_LANDING_RANKS_H

#include <stddef.h>

/** out[i]: of the count values that of rank[i] < count, 0 the least. Reorders the values, of
 * which none may be NaN. */
void pappus_ranks(double *out, double *values, size_t count, const size_t *rank, size_t ranks);

#endif
