/* SPDX-License-Identifier: GPL-3.0-or-later
 * What the sampling of the wind reads: tables in float, the same for all
 * landings, and the lanes of one block. */
#ifndef PAPPUS_AIR_WIND_KERNEL_H
#define PAPPUS_AIR_WIND_KERNEL_H

#include "air.h"
#include "wind_scale.h"

/** More measured winds than this are refused. */
#define PAPPUS_READINGS 32
/** Columns of a row before its gains: mean u, mean v, scale. */
#define PAPPUS_WIND_COLUMNS 3

typedef struct {
    int node_count, reading_count, profile_count;
    int row;                 /**< floats of one node of one profile: 3 + reading_count */
    const float *rows;       /**< [profile][node][row] */
    const float *keep;       /**< [node] correlation with the node below, 0 for the first */
    const float *fresh;      /**< [node] sqrt(1 - keep^2) */
    const int *reading_node; /**< [reading] */
    const uint32_t *reading_sub;
    const float *reading_u_mps, *reading_v_mps; /**< [reading] */
    const float *reading_sd_mps;                /**< [profile][reading] */
    const float (*scale)[4]; /**< [part] cubics of the Student scale; NULL: normal */
    const float *spread;     /**< [profile] */
    int gust_count;          /**< nodes from the ground that gusts reach */
    const float *gust_keep, *gust_fresh, *gust_sd_mps; /**< [node] */
} pappus_wind_tables;

typedef struct {
    uint32_t index_low[PAPPUS_LANES], index_high[PAPPUS_LANES];
    int profile[PAPPUS_LANES];
    uint32_t prior_key[2], surface_key[2];
    const float *given_scale; /**< [lane]; NULL: drawn */
} pappus_wind_lanes;

void pappus_wind_kernel_generic(const pappus_wind_tables *t, const pappus_wind_lanes *lanes,
                                float *u_mps, float *v_mps);
void pappus_wind_kernel_avx2(const pappus_wind_tables *t, const pappus_wind_lanes *lanes,
                             float *u_mps, float *v_mps);
void pappus_wind_kernel_avx512(const pappus_wind_tables *t, const pappus_wind_lanes *lanes,
                               float *u_mps, float *v_mps);

/** For tests: standard normal numbers of PAPPUS_LANES words, as the wind draws them. */
void pappus_wind_normals_generic(float out[PAPPUS_LANES], const uint32_t words[PAPPUS_LANES]);
void pappus_wind_normals_avx2(float out[PAPPUS_LANES], const uint32_t words[PAPPUS_LANES]);
void pappus_wind_normals_avx512(float out[PAPPUS_LANES], const uint32_t words[PAPPUS_LANES]);

#endif
