/* SPDX-License-Identifier: GPL-3.0-or-later
 * Counter-based random numbers by Philox4x32-10 (Salmon, Moraes, Dror, Shaw,
 * SC'11), as in Random123. Uniform numbers take 52 bits, of two words; normal
 * numbers are their inverse (GSL), so that one counter gives one number and a
 * small change of a distribution is a small change of every draw.
 * Right for indices below 2^48, redraws below 2^16 and seeds below 2^53. */
#include "random.h"

#include "random_kernel.h"

#include <Random123/philox.h>
#include <Random123/u01fixedpt.h>
#include <gsl/gsl_cdf.h>
#include <math.h>

static unsigned group_of(pappus_stream stream)
{
    switch (stream) {
#define GROUP_CASE(name, value, group)                                                             \
    case PAPPUS_STREAM_##name:                                                                     \
        return PAPPUS_GROUP_##group;
        PAPPUS_STREAM_LIST(GROUP_CASE)
#undef GROUP_CASE
    }
    return 0;
}

bool pappus_random_is_fresh(pappus_random random, pappus_stream stream)
{
    return (random.fresh_groups & group_of(stream)) != 0;
}

void pappus_random_key(uint32_t key[2], pappus_random random, pappus_stream stream)
{
    uint32_t fresh = pappus_random_is_fresh(random, stream) ? 1U : 0U;
    key[0] = (uint32_t)random.seed;
    key[1] = ((uint32_t)(random.seed >> 32) & 0x1fffffU) | fresh << 31;
}

void pappus_random_words(uint32_t out[4], pappus_random random, pappus_stream stream, uint32_t sub,
                         uint64_t index, unsigned redraw)
{
    philox4x32_key_t key;
    pappus_random_key(key.v, random, stream);
    philox4x32_ctr_t counter = {{(uint32_t)index,
                                 ((uint32_t)(index >> 32) & 0xffffU) | (uint32_t)redraw << 16,
                                 (uint32_t)stream, sub}};
    philox4x32_ctr_t words = philox4x32_R(10, counter, key);
    for (int i = 0; i < 4; i++)
        out[i] = words.v[i];
}

double pappus_random_uniform(pappus_random random, pappus_stream stream, uint32_t sub,
                             uint64_t index, unsigned redraw)
{
    uint32_t words[4];
    pappus_random_words(words, random, stream, sub, index, redraw);
    return u01fixedpt_open_open_64_double((uint64_t)words[1] << 32 | words[0]);
}

double pappus_random_normal(pappus_random random, pappus_stream stream, uint32_t sub,
                            uint64_t index, unsigned redraw)
{
    return gsl_cdf_ugaussian_Pinv(pappus_random_uniform(random, stream, sub, index, redraw));
}

void pappus_random_uniforms(double out[PAPPUS_LANES], pappus_isa isa, pappus_random random,
                            pappus_stream stream, uint32_t sub, const uint64_t index[PAPPUS_LANES])
{
    pappus_random_lanes lanes = {.stream = stream, .sub = sub};
    pappus_random_key(lanes.key, random, stream);
    for (int l = 0; l < PAPPUS_LANES; l++) {
        lanes.index_low[l] = (uint32_t)index[l];
        lanes.index_high[l] = (uint32_t)(index[l] >> 32) & 0xffffU;
    }
    PAPPUS_KERNEL_PICK(pappus_random_uniforms, isa)(out, &lanes);
}

void pappus_random_normals(double out[PAPPUS_LANES], pappus_isa isa, pappus_random random,
                           pappus_stream stream, uint32_t sub, const uint64_t index[PAPPUS_LANES])
{
    double uniform[PAPPUS_LANES];
    pappus_random_uniforms(uniform, isa, random, stream, sub, index);
    PAPPUS_KERNEL_PICK(pappus_random_central, isa)(out, uniform);
    for (int l = 0; l < PAPPUS_LANES; l++)
        if (!(fabs(uniform[l] - 0.5) <= PAPPUS_CENTRAL))
            out[l] = gsl_cdf_ugaussian_Pinv(uniform[l]);
}
