/* SPDX-License-Identifier: GPL-3.0-or-later
 * Clouds of landings made by hand, for the tests. Numbers by GSL's Mersenne twister,
 * so that nothing of the project's own sampling is in them. */
#ifndef PAPPUS_TESTS_CLOUDS_H
#define PAPPUS_TESTS_CLOUDS_H

#include <pappus/pappus.h>

#include <gsl/gsl_randist.h>
#include <gsl/gsl_rng.h>
#include <math.h>
#include <stdlib.h>

/* Everything 0, outcomes in order. Leaves through exit when memory runs out. */
static inline pappus_cloud *cloud_new(const size_t landings[PAPPUS_OUTCOMES],
                                      const double probability[PAPPUS_OUTCOMES])
{
    pappus_cloud *cloud = calloc(1, sizeof *cloud);
    if (!cloud) exit(EXIT_FAILURE);
    size_t n = 0;
    for (int h = 0; h < PAPPUS_OUTCOMES; h++)
        n += landings[h];
    cloud->count = n;
#define ALLOCATE(type, name)                                                                       \
    if (!(cloud->name = calloc(n + 1, sizeof(type)))) exit(EXIT_FAILURE);
    PAPPUS_CLOUD_COLUMN_LIST(ALLOCATE)
#undef ALLOCATE
    n = 0;
    for (int h = 0; h < PAPPUS_OUTCOMES; h++) {
        cloud->probability[h] = probability[h];
        cloud->stratum_count[h] = landings[h];
        for (size_t i = 0; i < landings[h]; i++)
            cloud->outcome[n++] = (uint8_t)h;
    }
    return cloud;
}

/* All landings of the nominal outcome. */
static inline pappus_cloud *cloud_nominal(size_t count)
{
    return cloud_new((size_t[PAPPUS_OUTCOMES]){count}, (double[PAPPUS_OUTCOMES]){1.0});
}

static inline gsl_rng *random_of(unsigned long seed)
{
    gsl_rng *random = gsl_rng_alloc(gsl_rng_mt19937);
    if (!random) exit(EXIT_FAILURE);
    gsl_rng_set(random, seed);
    return random;
}

/* A Gaussian place: standard deviations along an axis of the bearing and across it. */
static inline void gaussian_place(double *east_m, double *north_m, gsl_rng *random, double along_m,
                                  double across_m, double bearing_deg)
{
    double a = gsl_ran_gaussian(random, along_m), c = gsl_ran_gaussian(random, across_m);
    double s = sin(bearing_deg * M_PI / 180.0), k = cos(bearing_deg * M_PI / 180.0);
    *east_m = a * s + c * k;
    *north_m = a * k - c * s;
}

/* A rectangle as an area; points is room for 8 numbers, ring and polygon for one. */
static inline pappus_area rectangle(const char *name, double points_m[8], pappus_ring *ring,
                                    pappus_polygon *polygon, const double west_south_east_north[4])
{
    const double *b = west_south_east_north;
    double corners[8] = {b[0], b[1], b[2], b[1], b[2], b[3], b[0], b[3]};
    for (int i = 0; i < 8; i++)
        points_m[i] = corners[i];
    *ring = (pappus_ring){4, points_m};
    *polygon = (pappus_polygon){1, ring};
    return (pappus_area){(char *)(uintptr_t)name, 1, polygon};
}

#endif
