/* SPDX-License-Identifier: GPL-3.0-or-later
 * The memory of a cloud of landings, column by column from their list, and what a
 * landing weighs. */
#include "cloud.h"

#include "error.h"

#include <stdlib.h>

int pappus_cloud_new(pappus_cloud **out, size_t count, pappus_error *err)
{
    pappus_cloud *cloud = calloc(1, sizeof *cloud);
    bool complete = cloud != NULL;
    *out = NULL;
    if (cloud) cloud->count = count;
#define ALLOCATE(type, name) complete = complete && (cloud->name = malloc(count * sizeof(type)));
    PAPPUS_CLOUD_COLUMN_LIST(ALLOCATE)
#undef ALLOCATE
    if (!complete) {
        pappus_cloud_free(cloud);
        return pappus_fail_memory(err);
    }
    *out = cloud;
    return PAPPUS_OK;
}

void pappus_cloud_free(pappus_cloud *cloud)
{
    if (!cloud) return;
#define FREE(type, name) free(cloud->name);
    PAPPUS_CLOUD_COLUMN_LIST(FREE)
#undef FREE
    free(cloud);
}

double pappus_cloud_weight(const pappus_cloud *cloud, size_t i)
{
    double drawn = 0.0;
    int outcome = cloud->outcome[i];
    for (int h = 0; h < PAPPUS_OUTCOMES; h++)
        if (cloud->stratum_count[h] > 0) drawn += cloud->probability[h];
    return cloud->probability[outcome] / (drawn * (double)cloud->stratum_count[outcome]);
}
