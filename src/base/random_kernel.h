/* SPDX-License-Identifier: GPL-3.0-or-later
 * Random numbers of a block of landings side by side. */
#ifndef PAPPUS_BASE_RANDOM_KERNEL_H
#define PAPPUS_BASE_RANDOM_KERNEL_H

#include "random.h"

#include <stdint.h>

/** Key, and what the counters of the lanes have in common and of their own. */
typedef struct {
    uint32_t key[2], stream, sub;
    uint32_t index_low[PAPPUS_LANES], index_high[PAPPUS_LANES];
} pappus_random_lanes;

void pappus_random_uniforms_generic(double out[PAPPUS_LANES], const pappus_random_lanes *lanes);
void pappus_random_uniforms_avx2(double out[PAPPUS_LANES], const pappus_random_lanes *lanes);
void pappus_random_uniforms_avx512(double out[PAPPUS_LANES], const pappus_random_lanes *lanes);

/** Normal numbers of uniform ones: right within PAPPUS_CENTRAL of 1/2. */
#define PAPPUS_CENTRAL 0.425
void pappus_random_central_generic(double out[PAPPUS_LANES], const double uniform[PAPPUS_LANES]);
void pappus_random_central_avx2(double out[PAPPUS_LANES], const double uniform[PAPPUS_LANES]);
void pappus_random_central_avx512(double out[PAPPUS_LANES], const double uniform[PAPPUS_LANES]);

#endif
