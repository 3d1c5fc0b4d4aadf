/* SPDX-License-Identifier: GPL-3.0-or-later
 * Landings on many keep-outs at once against every area asked by itself (test_containment
 * holds that against GEOS). */
#include "cloud.h"
#include "hits.h"
#include "suite.h"

#include <math.h>
#include <stdlib.h>

#define PI 3.14159265358979323846

/* A 64-bit congruential generator (Knuth, MMIX): (0, 1). */
static double uniform(uint64_t *state)
{
    *state = *state * 6364136223846793005u + 1442695040888963407u;
    return ((double)(*state >> 11) + 0.5) / 9007199254740992.0;
}

/* Areas of a layout: apart and small; of all sizes over each other; all but one in a spot, that
 * one as wide as everything. */
static void set_area(pappus_area *area, int layout, size_t k, uint64_t *state)
{
    static char name[] = "area";
    pappus_polygon *polygon = calloc(1, sizeof *polygon);
    pappus_ring *ring = calloc(1, sizeof *ring);
    double *points = malloc(12 * sizeof *points);
    double east = 4000.0 * (uniform(state) - 0.5), north = 3000.0 * (uniform(state) - 0.5);
    double radius = layout == 0 ? 20.0 : layout == 1 ? 10.0 * exp(6.0 * uniform(state)) : 5.0;
    if (layout == 2) {
        east *= 1e-3;
        north *= 1e-3;
        if (k == 7) radius = 4000.0;
    }
    for (int i = 0; i < 6; i++) {
        points[2 * i] = east + radius * cos(PI / 3 * i);
        points[2 * i + 1] = north + radius * sin(PI / 3 * i);
    }
    *ring = (pappus_ring){6, points};
    *polygon = (pappus_polygon){1, ring};
    *area = (pappus_area){name, 1, polygon};
}

static pappus_cloud *scattered(size_t count, uint64_t *state)
{
    pappus_cloud *cloud;
    ck_assert_int_eq(pappus_cloud_new(&cloud, count, NULL), 0);
    for (size_t i = 0; i < count; i++) {
        double spread = i % 3 == 0 ? 4.0 : 5000.0; /* some outside of it all */
        cloud->east_m[i] = spread * (uniform(state) - 0.5);
        cloud->north_m[i] = spread * (uniform(state) - 0.5);
        cloud->outcome[i] = (uint8_t)(i % PAPPUS_OUTCOMES);
    }
    cloud->east_m[5] = NAN;
    cloud->north_m[6] = INFINITY;
    for (int h = 0; h < PAPPUS_OUTCOMES; h++)
        cloud->probability[h] = 0.2;
    return cloud;
}

static void check_area(const pappus_hits *hits, const pappus_cloud *cloud, const pappus_area *area,
                       size_t k, uint8_t *seen)
{
    pappus_containment *alone;
    uint8_t *in = malloc(cloud->count);
    size_t count[PAPPUS_OUTCOMES] = {0};
    ck_assert_int_eq(pappus_containment_new(&alone, area, NULL), 0);
    ck_assert_int_eq(
        pappus_containment_test(in, alone, cloud->count, cloud->east_m, cloud->north_m, 1, NULL),
        0);
    for (size_t i = 0; i < cloud->count; i++) {
        count[cloud->outcome[i]] += in[i];
        if (in[i] && !seen[i]) ck_assert_int_eq(hits->first_keep_out[i], (int)k);
        seen[i] |= in[i];
    }
    for (int h = 0; h < PAPPUS_OUTCOMES; h++)
        ck_assert_uint_eq(hits->keep_out[k][h], count[h]);
    pappus_containment_free(alone);
    free(in);
}

START_TEST(each_area_is_counted_as_if_alone)
{
    enum { AREAS = 90 };
    static const size_t counts[] = {3000, 40000}; /* few, and enough for threads */
    pappus_area areas[AREAS];
    uint64_t state = 17u + (uint64_t)_i;
    for (size_t k = 0; k < AREAS; k++)
        set_area(&areas[k], _i, k, &state);
    pappus_field field = {.keep_out_count = AREAS, .keep_outs = areas};
    for (size_t c = 0; c < 2; c++) {
        pappus_cloud *cloud = scattered(counts[c], &state);
        uint8_t *seen = calloc(cloud->count, 1);
        pappus_hits *hits;
        ck_assert_int_eq(pappus_hits_count(&hits, cloud, &field, 3, NULL), 0);
        ck_assert_uint_eq(hits->keep_out_count, AREAS);
        for (size_t k = 0; k < AREAS; k++)
            check_area(hits, cloud, &areas[k], k, seen);
        for (size_t i = 0; i < cloud->count; i++)
            ck_assert(seen[i] || hits->first_keep_out[i] == -1);
        pappus_hits_free(hits);
        pappus_cloud_free(cloud);
        free(seen);
    }
    for (size_t k = 0; k < AREAS; k++) {
        free(areas[k].polygons[0].rings[0].points_m);
        free(areas[k].polygons[0].rings);
        free(areas[k].polygons);
    }
}
END_TEST

SUITE("hits")
{
    tcase_add_loop_test(tests, each_area_is_counted_as_if_alone, 0, 3);
}
