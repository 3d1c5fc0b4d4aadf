/* SPDX-License-Identifier: GPL-3.0-or-later
 * Uniform and normal numbers of a block of landings, compiled once per instruction set: to the
 * last bit those of random.c. The middle of the inverse normal distribution is PPND16's
 * (Wichura, AS 241, Applied Statistics 37:477, 1988), with the sums in GSL's order; its tails
 * take a logarithm, and are left to GSL. */
#include "random_kernel.h"
#include "isa.h"
#include "philox_lanes.h"

typedef double doubles __attribute__((vector_size(VECTOR_BYTES)));

/* (x + 1/2) 2^-52 of whole numbers below 2^52: they are put into the digits of 2^52. */
INLINE doubles open_interval(wides x)
{
    doubles shifted;
    x |= 0x4330000000000000U;
    memcpy(&shifted, &x, sizeof shifted);
    return (shifted - 0x1p52 + 0.5) * 0x1p-52;
}

void PAPPUS_KERNEL(pappus_random_uniforms)(double out[PAPPUS_LANES],
                                           const pappus_random_lanes *lanes)
{
    for (int l = 0; l < PAPPUS_LANES; l += WIDE_WIDTH) {
        wides words[4];
        philox(words, lanes->index_low + l, lanes->index_high + l, lanes->key, lanes->stream,
               lanes->sub);
        doubles x = open_interval((words[1] << 32 | (words[0] & 0xffffffffU)) >> 12);
        memcpy(out + l, &x, sizeof x);
    }
}

INLINE doubles polynomial(const double c[8], doubles x)
{
    doubles sum = (doubles){0} + c[7];
    for (int i = 6; i >= 0; i--)
        sum = x * sum + c[i];
    return sum;
}

INLINE doubles central(doubles q)
{
    static const double over[8] = {
        3.387132872796366608,  133.14166789178437745, 1971.5909503065514427, 13731.693765509461125,
        45921.953931549871457, 67265.770927008700853, 33430.575583588128105, 2509.0809287301226727};
    static const double under[8] = {1.0,
                                    42.313330701600911252,
                                    687.1870074920579083,
                                    5394.1960214247511077,
                                    21213.794301586595867,
                                    39307.89580009271061,
                                    28729.085735721942674,
                                    5226.495278852854561};
    doubles r = 0.180625 - q * q;
    return q * (polynomial(over, r) / polynomial(under, r));
}

void PAPPUS_KERNEL(pappus_random_central)(double out[PAPPUS_LANES],
                                          const double uniform[PAPPUS_LANES])
{
    for (int l = 0; l < PAPPUS_LANES; l += WIDE_WIDTH) {
        doubles x;
        memcpy(&x, uniform + l, sizeof x);
        x = central(x - 0.5);
        memcpy(out + l, &x, sizeof x);
    }
}
