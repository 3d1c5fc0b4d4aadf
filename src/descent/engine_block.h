/* SPDX-License-Identifier: GPL-3.0-or-later
 * What engine.c and the compiled sets of engine_kernel.c share: one block of
 * falls, lanes side by side. */
#ifndef PAPPUS_DESCENT_ENGINE_BLOCK_H
#define PAPPUS_DESCENT_ENGINE_BLOCK_H

#include "fall.h"
#include "isa.h"

/** One value of each lane: vector types of GCC and clang, subscripted as arrays. */
typedef float pappus_lanes __attribute__((vector_size(sizeof(float) * PAPPUS_LANES)));
typedef int pappus_lane_ints __attribute__((vector_size(sizeof(int) * PAPPUS_LANES)));

typedef enum {
    PAPPUS_LANE_STEPS,  /**< steps in time */
    PAPPUS_LANE_MARCHES, /**< goes down layer by layer */
    PAPPUS_LANE_LANDED
} pappus_lane_mode;

/** A canopy: its drag area grows with the square of its opening, which runs
 * from 0 at its firing to 1, at the rate per_s + per_m * airspeed. */
typedef struct {
    pappus_lanes cds_m2, per_s, per_m;
    pappus_lanes opening_at_fire; /**< 1 when it opens in no time or is absent */
    pappus_lanes since_s;         /**< time since its firing; -INFINITY: not known yet */
    pappus_lanes fired, open;     /**< 0 or 1 */
    pappus_lanes opening;
    pappus_lanes fire_mps, fire_m, open_m, open_s;
    pappus_lanes peak;            /**< greatest density * airspeed^2 * share of the drag area */
} pappus_block_canopy;

/** The air about each lane: linear in height inside the lane's layer. */
typedef struct {
    pappus_lanes base_m, top_m;
    pappus_lanes u_mps, v_mps, density_kgpm3; /**< at base_m */
    pappus_lanes u_slope, v_slope, density_slope;
    pappus_lane_ints layer; /**< what the lane's values were taken for; -1: none */
} pappus_block_air;

typedef struct {
    pappus_lanes half_per_kg; /**< 1 / (2 mass) */
    pappus_lanes body_before_m2, body_after_m2, held_m2;
    pappus_block_canopy drogue, main;
    pappus_lanes trigger_m[PAPPUS_TRIGGERS], trigger_delay_s[PAPPUS_TRIGGERS]; /**< passed: -1e9 */
    pappus_lanes time_s, east_m, north_m, height_m, ve_mps, vn_mps, vup_mps;
    pappus_block_air air;
    pappus_lane_ints mode;  /**< pappus_lane_mode */
    pappus_lane_ints layer; /**< node below the lane */
    int trigger_count;       /**< of the fall that has most */
} pappus_block;

/** Brings all lanes down. 0, or 1 when the step limit is reached. */
#define PAPPUS_ENGINE_KERNEL_DECLARE(isa)                                                 \
    int pappus_engine_block_##isa(pappus_block *block, const pappus_air *air, const float *u_mps, \
                                  const float *v_mps);
PAPPUS_ENGINE_KERNEL_DECLARE(generic)
#ifdef PAPPUS_X86
PAPPUS_ENGINE_KERNEL_DECLARE(avx2)
PAPPUS_ENGINE_KERNEL_DECLARE(avx512)
#endif

#endif
