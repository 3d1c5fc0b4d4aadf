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

static inline float *cloud_column(size_t count)
{
    return calloc(count + 1, sizeof(float));
}

/* Everything 0, outcomes in order. Leaves through exit when memory runs out. */
static inline pappus_cloud *cloud_new(const size_t landings[PAPPUS_OUTCOMES],
                                      const double probability[PAPPUS_OUTCOMES])
{
    pappus_cloud *cloud = calloc(1, sizeof *cloud);
    if (!cloud) exit(EXIT_FAILURE);
    size_t n = 0;
    for (int h = 0; h < PAPPUS_OUTCOMES; h++)
        n += landings[h];
    cloud->count = cloud->capacity = n;
    cloud->outcome = calloc(n + 1, 1);
    cloud->unopened = calloc(n + 1, 1);
    cloud->east_m = calloc(n + 1, sizeof(double));
    cloud->north_m = calloc(n + 1, sizeof(double));
    float **columns[] = {&cloud->time_s,
                         &cloud->vz_mps,
                         &cloud->speed_mps,
                         &cloud->drogue_load_n,
                         &cloud->main_load_n,
                         &cloud->drogue_load,
                         &cloud->main_load,
                         &cloud->drogue_fire_speed_mps,
                         &cloud->main_fire_speed_mps,
                         &cloud->main_fire_m,
                         &cloud->main_full_open_m};
    for (size_t c = 0; c < sizeof columns / sizeof columns[0]; c++) {
        *columns[c] = cloud_column(n);
        if (!*columns[c]) exit(EXIT_FAILURE);
    }
    if (!cloud->outcome || !cloud->unopened || !cloud->east_m || !cloud->north_m)
        exit(EXIT_FAILURE);
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

static inline void cloud_delete(pappus_cloud *cloud)
{
    free(cloud->outcome);
    free(cloud->unopened);
    free(cloud->east_m);
    free(cloud->north_m);
    float *columns[] = {cloud->time_s,
                        cloud->vz_mps,
                        cloud->speed_mps,
                        cloud->drogue_load_n,
                        cloud->main_load_n,
                        cloud->drogue_load,
                        cloud->main_load,
                        cloud->drogue_fire_speed_mps,
                        cloud->main_fire_speed_mps,
                        cloud->main_fire_m,
                        cloud->main_full_open_m};
    for (size_t c = 0; c < sizeof columns / sizeof columns[0]; c++)
        free(columns[c]);
    free(cloud);
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
