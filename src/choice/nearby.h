/* SPDX-License-Identifier: GPL-3.0-or-later
 * How likely anything comes down near a place. */
#ifndef PAPPUS_CHOICE_NEARBY_H
#define PAPPUS_CHOICE_NEARBY_H

#include <pappus/landings.h>

/** The landings of a cloud, sorted into square cells. */
typedef struct {
    const pappus_cloud *cloud; /**< borrowed */
    double reach_m, low_m[2], cell_m;
    size_t columns, rows;
    size_t *start; /**< of each cell in `landing`, and one past the last */
    size_t *landing;
} pappus_nearby;

int pappus_nearby_build(pappus_nearby *out, const pappus_cloud *cloud, double reach_m,
                        pappus_error *err);
/** Chance per flight, over all outcomes, of a landing within the reach of a place. */
double pappus_nearby_chance(const pappus_nearby *nearby, double east_m, double north_m);
void pappus_nearby_clear(pappus_nearby *nearby);

#endif
