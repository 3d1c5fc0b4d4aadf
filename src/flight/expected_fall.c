/* SPDX-License-Identifier: GPL-3.0-or-later
 * The band of heights over time that a plan expects: nominal falls with every value drawn,
 * computed by the reference integrator in calm air (the wind moves them sideways), and at each
 * time the second lowest, the middle and the second highest of 39: the 5, 50 and 95 % quantiles
 * as order statistics (k/(n + 1)). For drawing; a band of 39 is rough at its edges. */
#include "expected_fall.h"

#include "draws.h"
#include "error.h"
#include "reference.h"

#include <gsl/gsl_sort.h>
#include <math.h>
#include <stdlib.h>

#define FALLS 39

/* Height of a path at a time, 0 after its end. */
static double height_at(const pappus_path *path, double time_s)
{
    size_t low = 0, high = path->count;
    while (low < high) {
        size_t middle = (low + high) / 2;
        if (path->points[middle].time_s < time_s)
            low = middle + 1;
        else
            high = middle;
    }
    if (low >= path->count) return 0.0;
    if (low == 0) return path->points[0].height_m;
    const pappus_path_point *a = &path->points[low - 1], *b = &path->points[low];
    return a->height_m +
           (b->height_m - a->height_m) * (time_s - a->time_s) / (b->time_s - a->time_s);
}

static void fill_band(pappus_height_band *out, const pappus_path paths[FALLS])
{
    double last_s = 0.0, heights[FALLS];
    for (int k = 0; k < FALLS; k++)
        last_s = fmax(last_s, paths[k].points[paths[k].count - 1].time_s);
    out->count = PAPPUS_BAND_TIMES;
    for (size_t i = 0; i < out->count; i++) {
        out->time_s[i] = last_s * (double)i / (PAPPUS_BAND_TIMES - 1);
        for (int k = 0; k < FALLS; k++)
            heights[k] = height_at(&paths[k], out->time_s[i]);
        gsl_sort(heights, 1, FALLS);
        out->low_m[i] = heights[1];
        out->middle_m[i] = heights[FALLS / 2];
        out->high_m[i] = heights[FALLS - 2];
    }
}

static int fly(pappus_path paths[FALLS], const pappus_draws *draws, const pappus_air *air,
               pappus_error *err)
{
    double *calm = calloc(air->node_count, sizeof *calm);
    pappus_redraws redraws = {0};
    int status = calm ? PAPPUS_OK : pappus_fail_memory(err);
    for (int k = 0; k < FALLS && status == PAPPUS_OK; k++) {
        uint64_t index = (uint64_t)k;
        uint8_t outcome = PAPPUS_NOMINAL;
        pappus_fall fall;
        pappus_touchdown down;
        pappus_draws_falls(&fall, draws, 1, &index, &outcome, &redraws);
        status = pappus_reference_fall(&down, &paths[k], &fall, air, calm, calm, 1e-6, err);
        if (status == PAPPUS_OK && paths[k].count == 0) status = PAPPUS_E_NUMERIC;
    }
    free(calm);
    return status;
}

int pappus_expected_fall(pappus_height_band *out, const pappus_plan *plan, const pappus_air *air,
                         uint64_t seed, pappus_error *err)
{
    pappus_draws *draws = NULL;
    pappus_path paths[FALLS] = {0};
    out->count = 0;
    int status = pappus_draws_build(&draws, plan, air, (pappus_random){seed, 0}, 0.0, err);
    if (status == PAPPUS_OK && pappus_draws_probability(draws)[PAPPUS_NOMINAL] > 0.0) {
        status = fly(paths, draws, air, err);
        if (status == PAPPUS_OK) fill_band(out, paths);
    }
    for (int k = 0; k < FALLS; k++)
        pappus_path_clear(&paths[k]);
    pappus_draws_free(draws);
    return status;
}
