/* SPDX-License-Identifier: GPL-3.0-or-later
 * Philox4x32-10 (Salmon et al., SC'11) for the lanes of a register, each at its own index;
 * keys and counters are laid out as random.h has them. Only kernel files include this. */
#ifndef PAPPUS_BASE_PHILOX_LANES_H
#define PAPPUS_BASE_PHILOX_LANES_H

#include "lanes.h"

#include <string.h>

#define PHILOX_ROUNDS 10

/* A 32-bit word in the low half of each wide lane; the high half is not kept clean and
 * nothing may read it. index_low, index_high: of WIDE_WIDTH lanes. */
INLINE void philox(wides words[4], const uint32_t *index_low, const uint32_t *index_high,
                   const uint32_t key[2], uint32_t stream, uint32_t sub)
{
    halves low, high;
    memcpy(&low, index_low, sizeof low);
    memcpy(&high, index_high, sizeof high);
    wides c0 = __builtin_convertvector(low, wides);
    wides c1 = __builtin_convertvector(high, wides);
    wides c2 = (wides){0} + stream, c3 = (wides){0} + sub;
    uint32_t k0 = key[0], k1 = key[1];
    for (int round = 0; round < PHILOX_ROUNDS; round++) {
        wides p0 = multiply_low(c0, 0xd2511f53U), p1 = multiply_low(c2, 0xcd9e8d57U);
        c0 = (p1 >> 32) ^ c1 ^ k0;
        c2 = (p0 >> 32) ^ c3 ^ k1;
        c1 = p1;
        c3 = p0;
        k0 += 0x9e3779b9U;
        k1 += 0xbb67ae85U;
    }
    words[0] = c0;
    words[1] = c1;
    words[2] = c2;
    words[3] = c3;
}

#endif
