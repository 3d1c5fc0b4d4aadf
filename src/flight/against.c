/* SPDX-License-Identifier: GPL-3.0-or-later
 * The rank of a place: the share of the expected landings in the smallest area that reaches
 * it, the highest-density region of the report's own contours (contour.h). The landings'
 * densities are those by all others (leave-one-out), so that a place that is one more landing
 * of the same law ranks among equals: the probability integral transform of Hyndman's
 * regions. With n landings it is known to 1/n. */
#include "against.h"

#include "error.h"

#include <stdlib.h>

typedef struct {
    double per_m2, weight;
} ranked;

static int by_density(const void *a, const void *b)
{
    const ranked *p = a, *q = b;
    return (p->per_m2 < q->per_m2) - (p->per_m2 > q->per_m2);
}

static int build_density(pappus_density *out, const pappus_cloud *cloud,
                         const pappus_strata *strata, pappus_error *err)
{
    pappus_density outcomes[PAPPUS_OUTCOMES] = {0};
    double floor_m = 0.0;
    int status = pappus_density_floor(&floor_m, cloud, strata, PAPPUS_GRID_FINE, err);
    for (int h = 0; h < PAPPUS_OUTCOMES && status == PAPPUS_OK; h++) {
        pappus_sample sample = pappus_strata_outcome(strata, h);
        if (sample.count > 0)
            status = pappus_density_of_outcome(&outcomes[h], cloud, &sample, floor_m,
                                               PAPPUS_GRID_FINE, err);
    }
    if (status == PAPPUS_OK)
        status = pappus_density_of_all(out, cloud, strata, outcomes, PAPPUS_GRID_FINE, 1, err);
    for (int h = 0; h < PAPPUS_OUTCOMES; h++)
        pappus_density_clear(&outcomes[h]);
    return status;
}

static int sort_landings(pappus_expected *out, const pappus_strata *strata, pappus_error *err)
{
    pappus_sample all = pappus_strata_all(strata);
    ranked *order = malloc((all.count + 1) * sizeof *order);
    double sum = 0.0;
    out->count = all.count;
    out->sorted_per_m2 = malloc((all.count + 1) * sizeof *out->sorted_per_m2);
    out->above = malloc((all.count + 1) * sizeof *out->above);
    if (!order || !out->sorted_per_m2 || !out->above) {
        free(order);
        return pappus_fail_memory(err);
    }
    for (size_t k = 0; k < all.count; k++)
        order[k] =
            (ranked){out->density.others_per_m2[k], pappus_sample_weight(&all, k) / all.total};
    qsort(order, all.count, sizeof *order, by_density);
    for (size_t k = 0; k < all.count; k++) {
        sum += order[k].weight;
        out->sorted_per_m2[k] = order[k].per_m2;
        out->above[k] = sum;
    }
    free(order);
    return PAPPUS_OK;
}

int pappus_expected_build(pappus_expected *out, const pappus_cloud *cloud, pappus_error *err)
{
    pappus_strata strata = {0};
    *out = (pappus_expected){0};
    int status = pappus_strata_build(&strata, cloud, err);
    if (status == PAPPUS_OK) status = build_density(&out->density, cloud, &strata, err);
    if (status == PAPPUS_OK) status = sort_landings(out, &strata, err);
    pappus_strata_clear(&strata);
    if (status != PAPPUS_OK) pappus_expected_clear(out);
    return status;
}

void pappus_expected_clear(pappus_expected *expected)
{
    pappus_density_clear(&expected->density);
    free(expected->sorted_per_m2);
    free(expected->above);
    *expected = (pappus_expected){0};
}

double pappus_expected_rank(const pappus_expected *expected, double east_m, double north_m)
{
    double here = pappus_grid_at(&expected->density.grid, east_m, north_m);
    size_t low = 0, high = expected->count;
    while (low < high) {
        size_t middle = (low + high) / 2;
        if (expected->sorted_per_m2[middle] > here)
            low = middle + 1;
        else
            high = middle;
    }
    return low > 0 ? expected->above[low - 1] : 0.0;
}

double pappus_level_of_rank(double rank)
{
    for (int l = 0; l < PAPPUS_LEVELS; l++)
        if (rank < pappus_levels[l]) return pappus_levels[l];
    return 1.0;
}
