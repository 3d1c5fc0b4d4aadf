/* SPDX-License-Identifier: GPL-3.0-or-later
 * The straight walks from the posts to the landings: of all, and of each post to those
 * that it is nearest to. */
#include "crew_walks.h"
#include "error.h"

#include <math.h>
#include <stdint.h>
#include <stdlib.h>

typedef struct {
    double walk_m, weight;
    size_t post;
} walk;

static int by_distance(const void *a, const void *b)
{
    double x = ((const walk *)a)->walk_m, y = ((const walk *)b)->walk_m;
    return (x > y) - (x < y);
}

/* Mean and 90th percentile of the walks of one post, or of all (post == SIZE_MAX). */
static void walk_figures(double *mean_m, double *p90_m, double *share, const walk *walks,
                         size_t count, size_t post)
{
    double total = 0.0, sum = 0.0, reached = 0.0;
    for (size_t i = 0; i < count; i++) {
        if (post != SIZE_MAX && walks[i].post != post) continue;
        total += walks[i].weight;
        sum += walks[i].weight * walks[i].walk_m;
    }
    *mean_m = total > 0.0 ? sum / total : NAN;
    *p90_m = NAN;
    if (share) *share = total;
    for (size_t i = 0; i < count && total > 0.0; i++) {
        if (post != SIZE_MAX && walks[i].post != post) continue;
        reached += walks[i].weight;
        *p90_m = walks[i].walk_m;
        if (reached >= 0.9 * total) return;
    }
}

static void nearest_post(walk *out, const pappus_crews *crews, double east_m, double north_m)
{
    *out = (walk){.walk_m = INFINITY};
    for (size_t k = 0; k < crews->post_count; k++) {
        double distance = hypot(east_m - crews->posts[k].east_m, north_m - crews->posts[k].north_m);
        if (distance >= out->walk_m) continue;
        out->walk_m = distance;
        out->post = k;
    }
}

int pappus_crews_walks(pappus_crews *crews, const pappus_cloud *cloud, pappus_error *err)
{
    walk *walks = malloc((cloud->count + 1) * sizeof *walks);
    if (!walks) return pappus_fail_memory(err);
    for (size_t i = 0; i < cloud->count; i++) {
        nearest_post(&walks[i], crews, cloud->east_m[i], cloud->north_m[i]);
        walks[i].weight = pappus_cloud_weight(cloud, i);
        pappus_post *post = &crews->posts[walks[i].post];
        post->served_east_m += walks[i].weight * cloud->east_m[i];
        post->served_north_m += walks[i].weight * cloud->north_m[i];
    }
    qsort(walks, cloud->count, sizeof *walks, by_distance);
    walk_figures(&crews->walk_mean_m, &crews->walk_p90_m, NULL, walks, cloud->count, SIZE_MAX);
    for (size_t k = 0; k < crews->post_count; k++) {
        pappus_post *post = &crews->posts[k];
        walk_figures(&post->walk_mean_m, &post->walk_p90_m, &post->share, walks, cloud->count, k);
        post->served_east_m /= post->share;
        post->served_north_m /= post->share;
    }
    free(walks);
    return PAPPUS_OK;
}
