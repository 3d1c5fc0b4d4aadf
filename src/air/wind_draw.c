/* SPDX-License-Identifier: GPL-3.0-or-later
 * Sampling the wind of a block of landings: which profile each has, and the kernel
 * (wind_draw_kernel.c) that makes the rest. */
#include "wind_lean.h"

#include <string.h>

static int choose_profile(const pappus_wind_field *f, pappus_random random, uint64_t index)
{
    double rest = pappus_random_uniform(random, PAPPUS_STREAM_WIND_PROFILE, 0, index, 0);
    size_t k = 0;
    while (k + 1 < f->profile_count && rest >= f->weight[k])
        rest -= f->weight[k++];
    return (int)k;
}

static void draw_lanes(const pappus_air *air, pappus_isa isa, pappus_random random,
                       const uint64_t index[PAPPUS_LANES], pappus_wind_lanes *lanes, float *u_mps,
                       float *v_mps)
{
    pappus_random_key(lanes->prior_key, random, PAPPUS_STREAM_WIND_PRIOR);
    pappus_random_key(lanes->surface_key, random, PAPPUS_STREAM_WIND_READING);
    for (int l = 0; l < PAPPUS_LANES; l++) {
        lanes->index_low[l] = (uint32_t)index[l];
        lanes->index_high[l] = (uint32_t)(index[l] >> 32) & 0xffffU;
    }
    PAPPUS_KERNEL_PICK(pappus_wind_kernel, isa)(&air->wind->tables, lanes, u_mps, v_mps);
}

void pappus_wind_draw(const pappus_air *air, pappus_isa isa, pappus_random random,
                      const uint64_t index[PAPPUS_LANES], float *u_mps, float *v_mps)
{
    const pappus_wind_field *f = air->wind;
    pappus_wind_lanes lanes = {.given_scale = NULL};
    for (int l = 0; l < PAPPUS_LANES; l++)
        lanes.profile[l] = f->profile_count > 1 ? choose_profile(f, random, index[l]) : 0;
    draw_lanes(air, isa, random, index, &lanes, u_mps, v_mps);
}

void pappus_wind_draw_given(const pappus_air *air, pappus_isa isa, pappus_random random,
                            const uint64_t index[PAPPUS_LANES], const int profile[PAPPUS_LANES],
                            const float scale[PAPPUS_LANES], float *u_mps, float *v_mps)
{
    pappus_wind_lanes lanes = {.given_scale = scale};
    memcpy(lanes.profile, profile, sizeof lanes.profile);
    draw_lanes(air, isa, random, index, &lanes, u_mps, v_mps);
}
