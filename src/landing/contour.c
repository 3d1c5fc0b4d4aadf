/* SPDX-License-Identifier: GPL-3.0-or-later
 * Highest-density contours; method and limits in contour.h. */
#include "contour.h"

#include "containment.h"
#include "density.h"
#include "error.h"
#include "geometry.h"
#include "isoline.h"
#include "run.h"

#include <float.h>
#include <math.h>
#include <stdlib.h>

#define TIE 1e-6        /* densities nearer than this part are one */
#define SPOT 0.01       /* a share that no threshold can split */
#define LEAST_PART 1e-9 /* of the highest density: keeps the threshold over 0 */

/* What one set of contours is made from. */
typedef struct {
    const pappus_cloud *cloud;
    const pappus_sample *sample;
    const pappus_density *density;
    const double *east_m, *north_m; /* of the sample: the cloud's own where it is of one piece */
    double *copied_m;               /* or copied, both */
    uint8_t *in;
} contour_work;

static void work_clear(contour_work *work)
{
    free(work->copied_m);
    free(work->in);
}

static bool is_of_one_piece(const pappus_sample *sample)
{
    for (size_t i = 0; i < sample->count; i++)
        if (sample->index[i] != sample->index[0] + i) return false;
    return true;
}

static int copy_places(contour_work *work)
{
    size_t n = work->sample->count;
    work->copied_m = malloc(2 * n * sizeof *work->copied_m);
    if (!work->copied_m) return PAPPUS_E_MEMORY;
    for (size_t i = 0; i < n; i++) {
        work->copied_m[i] = work->cloud->east_m[work->sample->index[i]];
        work->copied_m[n + i] = work->cloud->north_m[work->sample->index[i]];
    }
    work->east_m = work->copied_m;
    work->north_m = work->copied_m + n;
    return PAPPUS_OK;
}

static int work_start(contour_work *work)
{
    work->in = malloc(work->sample->count);
    if (!work->in) return PAPPUS_E_MEMORY;
    if (!is_of_one_piece(work->sample)) return copy_places(work);
    work->east_m = work->cloud->east_m + work->sample->index[0];
    work->north_m = work->cloud->north_m + work->sample->index[0];
    return PAPPUS_OK;
}

static double weight_of(const contour_work *work, size_t i)
{
    return pappus_sample_weight(work->sample, i);
}

/* Share of the landings clearly over a density. */
static double share_over(const contour_work *work, double per_m2)
{
    double sum = 0.0;
    for (size_t i = 0; i < work->sample->count; i++)
        if (work->density->at_per_m2[i] > per_m2 * (1.0 + TIE)) sum += weight_of(work, i);
    return sum / work->sample->total;
}

static double highest(const contour_work *work)
{
    double most = 0.0;
    for (size_t i = 0; i < work->sample->count; i++)
        if (work->density->at_per_m2[i] > most) most = work->density->at_per_m2[i];
    return most;
}

/* The density over which each level's share lies. */
static int find_thresholds(double per_m2[PAPPUS_LEVELS], const contour_work *work)
{
    double own[PAPPUS_LEVELS], others[PAPPUS_LEVELS], p[PAPPUS_LEVELS];
    const pappus_density *density = work->density;
    for (int l = 0; l < PAPPUS_LEVELS; l++)
        p[l] = 1.0 - pappus_levels[l];
    int status =
        pappus_sample_quantiles_at(own, density->at_per_m2, work->sample, p, PAPPUS_LEVELS);
    if (status == PAPPUS_OK)
        status = pappus_sample_quantiles_at(others, density->others_per_m2, work->sample, p,
                                            PAPPUS_LEVELS);
    double least = fmax(LEAST_PART * highest(work), DBL_MIN);
    for (int l = 0; l < PAPPUS_LEVELS && status == PAPPUS_OK; l++) {
        per_m2[l] = fmin(own[l], others[l]);
        /* a spot that holds many landings: its densities are all one value */
        if (share_over(work, own[l]) < pappus_levels[l] - SPOT) per_m2[l] *= 0.5;
        per_m2[l] = fmax(per_m2[l], least);
    }
    return status;
}

static int fill_contour(pappus_contour *out, contour_work *work, double level, double per_m2,
                        pappus_error *err)
{
    size_t n = work->sample->count;
    pappus_containment *containment = NULL;
    out->level = level;
    out->density_per_m2 = per_m2;
    int status = pappus_isoline_area(&out->shape, &work->density->grid, per_m2, err);
    if (status == PAPPUS_OK) status = pappus_containment_new(&containment, &out->shape, err);
    if (status == PAPPUS_OK)
        status =
            pappus_containment_test(work->in, containment, n, work->east_m, work->north_m, 1, err);
    pappus_containment_free(containment);
    if (status != PAPPUS_OK) return status;
    double sum = 0.0;
    for (size_t i = 0; i < n; i++)
        if (work->in[i]) sum += weight_of(work, i);
    out->share = fmin(sum / work->sample->total, 1.0); /* rounding */
    out->area_m2 = pappus_area_m2(&out->shape);
    return PAPPUS_OK;
}

static int fill_contours(pappus_contour out[PAPPUS_LEVELS], const pappus_cloud *cloud,
                         const pappus_sample *sample, const pappus_density *density,
                         pappus_error *err)
{
    contour_work work = {.cloud = cloud, .sample = sample, .density = density};
    double per_m2[PAPPUS_LEVELS];
    int status = work_start(&work);
    if (status == PAPPUS_OK) status = find_thresholds(per_m2, &work);
    if (status != PAPPUS_OK) status = pappus_fail_memory(err);
    for (int l = 0; l < PAPPUS_LEVELS && status == PAPPUS_OK; l++)
        status = fill_contour(&out[l], &work, pappus_levels[l], per_m2[l], err);
    work_clear(&work);
    return status;
}

/* Everything of a build, so that threads can share it. */
typedef struct {
    const pappus_cloud *cloud;
    const pappus_strata *strata;
    double floor_m;
    pappus_grid_detail detail;
    pappus_density density[PAPPUS_OUTCOMES];
    pappus_error error[PAPPUS_OUTCOMES + 1];
    int status[PAPPUS_OUTCOMES + 1];
} build_work;

static int first_failure(const build_work *build, pappus_error *err)
{
    for (int h = 0; h <= PAPPUS_OUTCOMES; h++) {
        if (build->status[h] == PAPPUS_OK) continue;
        return pappus_fail(err, build->status[h], NULL, NULL, NULL, "%s", build->error[h].message);
    }
    return PAPPUS_OK;
}

static void find_densities(build_work *build, int threads)
{
#pragma omp parallel for schedule(dynamic) num_threads(threads)
    for (int h = 0; h < PAPPUS_OUTCOMES; h++) {
        pappus_sample sample = pappus_strata_outcome(build->strata, h);
        if (sample.count > 0)
            build->status[h] =
                pappus_density_of_outcome(&build->density[h], build->cloud, &sample, build->floor_m,
                                          build->detail, &build->error[h]);
    }
}

/* Piece 0 is all together, the rest one outcome each. */
static void find_contours(build_work *build, const pappus_density *density_of_all,
                          pappus_contour all[PAPPUS_LEVELS],
                          pappus_contour outcomes[PAPPUS_OUTCOMES][PAPPUS_LEVELS], int threads)
{
    int pieces = outcomes ? PAPPUS_OUTCOMES + 1 : 1;
#pragma omp parallel for schedule(dynamic) num_threads(threads)
    for (int piece = 0; piece < pieces; piece++) {
        pappus_sample sample = piece == 0 ? pappus_strata_all(build->strata)
                                          : pappus_strata_outcome(build->strata, piece - 1);
        const pappus_density *density = piece == 0 ? density_of_all : &build->density[piece - 1];
        if (sample.count > 0)
            build->status[piece] =
                fill_contours(piece == 0 ? all : outcomes[piece - 1], build->cloud, &sample,
                              density, &build->error[piece]);
    }
}

static int contours_of(build_work *build, pappus_contour all[PAPPUS_LEVELS],
                       pappus_contour outcomes[PAPPUS_OUTCOMES][PAPPUS_LEVELS], int threads,
                       pappus_error *err)
{
    pappus_density density;
    int status = pappus_density_of_all(&density, build->cloud, build->strata, build->density,
                                       build->detail, threads, err);
    if (status != PAPPUS_OK) return status;
    find_contours(build, &density, all, outcomes, threads);
    pappus_density_clear(&density);
    return first_failure(build, err);
}

static void blank(pappus_contour contours[PAPPUS_LEVELS])
{
    for (int l = 0; l < PAPPUS_LEVELS; l++)
        contours[l] = (pappus_contour){0};
}

int pappus_contours_build(pappus_contour all[PAPPUS_LEVELS],
                          pappus_contour outcomes[PAPPUS_OUTCOMES][PAPPUS_LEVELS],
                          const pappus_cloud *cloud, const pappus_strata *strata,
                          pappus_grid_detail detail, int threads, pappus_error *err)
{
    blank(all);
    for (int h = 0; outcomes && h < PAPPUS_OUTCOMES; h++)
        blank(outcomes[h]);
    if (cloud->count == 0) return PAPPUS_OK;
    threads = pappus_threads(threads);
    build_work build = {.cloud = cloud, .strata = strata, .detail = detail};
    int status = pappus_density_floor(&build.floor_m, cloud, strata, detail, err);
    if (status == PAPPUS_OK) {
        find_densities(&build, threads);
        status = first_failure(&build, err);
    }
    if (status == PAPPUS_OK) status = contours_of(&build, all, outcomes, threads, err);
    for (int h = 0; h < PAPPUS_OUTCOMES; h++)
        pappus_density_clear(&build.density[h]);
    if (status == PAPPUS_OK) return PAPPUS_OK;
    pappus_contours_clear(all);
    for (int h = 0; outcomes && h < PAPPUS_OUTCOMES; h++)
        pappus_contours_clear(outcomes[h]);
    return status;
}

void pappus_contours_clear(pappus_contour contours[PAPPUS_LEVELS])
{
    for (int l = 0; l < PAPPUS_LEVELS; l++)
        pappus_area_clear(&contours[l].shape);
    blank(contours);
}
