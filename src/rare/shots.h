/* SPDX-License-Identifier: GPL-3.0-or-later
 * Landings of one outcome from several densities at once, and what each weighs. Of N_j
 * landings from density q_j a landing weighs f / sum_j N_j q_j: the balance heuristic
 * (Veach & Guibas, SIGGRAPH 1995; deterministic mixture: Owen & Zhou, JASA 95:135, 2000).
 * Sums of weights are unbiased whatever the densities, and as the flight's own law is
 * among them no landing weighs more than one of those: 1 / N_0.
 *
 * Parts: 0 the flight's own law, 1 the wide density, then one for each aim. */
#ifndef PAPPUS_RARE_SHOTS_H
#define PAPPUS_RARE_SHOTS_H

#include "aim.h"

#define SHOTS_PLAIN 0
#define SHOTS_WIDE 1
#define SHOTS_AIMED 2

/** A body without canopy goes where its speed at apogee takes it, more than with the wind:
 * those of the wide density draw that speed from the law itself or, as often, from one this
 * much wider. */
#define SHOTS_WIDE_SPEED 2.5

/** Brings down the falls of a block, as pappus_engine_run_rows does. */
typedef int (*rare_descend)(void *context, const pappus_air *air, size_t count, size_t rows,
                            const pappus_fall *falls, const float *u_mps, const float *v_mps,
                            pappus_touchdown *out);
/** The fast engine. */
int rare_descend_engine(void *context, const pappus_air *air, size_t count, size_t rows,
                        const pappus_fall *falls, const float *u_mps, const float *v_mps,
                        pappus_touchdown *out);

typedef struct {
    const rare_law *law;
    size_t rows;                      /**< main heights that each landing is flown for */
    const pappus_draws *const *draws; /**< [row] */
    pappus_outcome outcome;
    pappus_random random;
    uint64_t first_index;
    rare_descend descend;
    void *descend_context;
    int threads; /**< 0: all; the same on any number of threads */
    size_t aim_count;
    const rare_aim *aims;
    bool wide_speed;  /**< see SHOTS_WIDE_SPEED */
    bool keep_normal; /**< shots->normal is wanted */
} rare_range;

typedef struct {
    size_t count, part_count, rows;
    size_t *start;    /**< [part_count + 1] landings of part j: start[j] to start[j + 1] */
    double (*x_m)[2]; /**< where each was led to */
    double *weight;
    double *east_m, *north_m; /**< [row][landing] */
    float *speed_mps;         /**< [row][landing] in all, at touchdown */
    pappus_normals normals;
    size_t normal_count; /**< the values', and two of the low wind where that is led */
    double *normal;      /**< [landing][normal_count] z; NULL: not wanted */
} rare_shots;

/** part[2 + aim_count] landings of each part. */
int rare_shots_fly(rare_shots *out, const rare_range *range, const size_t *part, pappus_error *err);
void rare_shots_clear(rare_shots *shots);

#endif
