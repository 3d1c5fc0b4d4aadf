/* SPDX-License-Identifier: GPL-3.0-or-later
 * Prints a cloud with its density and contours, for test_contour_scipy.py:
 *   bandwidth along, left, axis east, axis north
 *   landing east north density density-by-the-others     (per landing)
 *   contour level threshold area parts                   (per level)
 * Argument: "gaussian" or "lobes". */
#include "contour.h"
#include "density.h"
#include "landing/clouds.h"

#include <stdio.h>
#include <string.h>

#define LANDINGS 2000

static void place(pappus_cloud *cloud, bool lobes)
{
    gsl_rng *random = random_of(17);
    for (size_t i = 0; i < cloud->count; i++) {
        gaussian_place(&cloud->east_m[i], &cloud->north_m[i], random, 120.0, 60.0, 35.0);
        if (lobes && i % 2 == 1) {
            cloud->east_m[i] += 500.0;
            cloud->north_m[i] += 300.0;
        }
    }
    gsl_rng_free(random);
}

static int print(const pappus_cloud *cloud)
{
    pappus_strata strata;
    pappus_density density;
    pappus_contour all[PAPPUS_LEVELS];
    if (pappus_strata_build(&strata, cloud, NULL) != PAPPUS_OK) return EXIT_FAILURE;
    pappus_sample sample = pappus_strata_outcome(&strata, PAPPUS_NOMINAL);
    if (pappus_density_of_outcome(&density, cloud, &sample, 0.1, PAPPUS_GRID_FINE, NULL) !=
            PAPPUS_OK ||
        pappus_contours_build(all, NULL, cloud, &strata, PAPPUS_GRID_FINE, 1, NULL) != PAPPUS_OK)
        return EXIT_FAILURE;
    printf("bandwidth %.17g %.17g %.17g %.17g\n", density.bandwidth_m[0], density.bandwidth_m[1],
           density.grid.axis[0], density.grid.axis[1]);
    for (size_t i = 0; i < cloud->count; i++)
        printf("landing %.17g %.17g %.17g %.17g\n", cloud->east_m[i], cloud->north_m[i],
               density.at_per_m2[i], density.others_per_m2[i]);
    for (int l = 0; l < PAPPUS_LEVELS; l++)
        printf("contour %.17g %.17g %.17g %zu\n", all[l].level, all[l].density_per_m2,
               all[l].area_m2, all[l].shape.polygon_count);
    pappus_contours_clear(all);
    pappus_density_clear(&density);
    pappus_strata_clear(&strata);
    return EXIT_SUCCESS;
}

int main(int argc, char **argv)
{
    pappus_cloud *cloud = cloud_nominal(LANDINGS);
    place(cloud, argc > 1 && strcmp(argv[1], "lobes") == 0);
    int status = print(cloud);
    pappus_cloud_free(cloud);
    return status;
}
