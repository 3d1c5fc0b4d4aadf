/* SPDX-License-Identifier: GPL-3.0-or-later
 * The vocabulary of the kernels: vectors of one register of the instruction set that the
 * file is compiled for, in the compiler's vector types, with masks instead of branches.
 * Names are short and without prefix so that a kernel reads like its formulas; only kernel
 * files include this. */
#ifndef PAPPUS_BASE_LANES_H
#define PAPPUS_BASE_LANES_H

#include <stdbool.h>
#include <stdint.h>

#ifdef __SSE__
#include <immintrin.h>
#endif

#if defined(__AVX512F__)
#define VECTOR_BYTES 64
#elif defined(__AVX2__)
#define VECTOR_BYTES 32
#else
#define VECTOR_BYTES 16
#endif
/* Lanes that one register holds, of 32 and of 64 bits: a block is done in groups of these. */
#define WIDTH (VECTOR_BYTES / 4)
#define WIDE_WIDTH (VECTOR_BYTES / 8)

/* One value of each lane; subscripted as an array. */
typedef float floats __attribute__((vector_size(VECTOR_BYTES)));
typedef int ints __attribute__((vector_size(VECTOR_BYTES))); /* a mask: 0 or -1 */
/* 64 bits of each lane, and half of them. */
typedef uint64_t wides __attribute__((vector_size(VECTOR_BYTES)));
typedef uint32_t halves __attribute__((vector_size(VECTOR_BYTES / 2)));

/* Everything here is inlined: no vector is passed by a call's convention. */
#pragma GCC diagnostic ignored "-Wpsabi"
#define INLINE static inline __attribute__((always_inline))

INLINE floats pick(ints mask, floats a, floats b)
{
#if defined(__AVX2__) && !defined(__AVX512F__)
    return (floats)_mm256_blendv_ps((__m256)b, (__m256)a, (__m256)mask);
#else
    return (floats)((mask & (ints)a) | (~mask & (ints)b));
#endif
}

INLINE floats all(float x)
{
    return x - (floats){0};
}

/* Where either is not a number, b: as the instructions have it. */
INLINE floats least(floats a, floats b)
{
#if defined(__AVX512F__)
    return (floats)_mm512_min_ps((__m512)a, (__m512)b);
#elif defined(__AVX2__)
    return (floats)_mm256_min_ps((__m256)a, (__m256)b);
#elif defined(__SSE__)
    return (floats)_mm_min_ps((__m128)a, (__m128)b);
#else
    return pick(a < b, a, b);
#endif
}

INLINE floats most(floats a, floats b)
{
#if defined(__AVX512F__)
    return (floats)_mm512_max_ps((__m512)a, (__m512)b);
#elif defined(__AVX2__)
    return (floats)_mm256_max_ps((__m256)a, (__m256)b);
#elif defined(__SSE__)
    return (floats)_mm_max_ps((__m128)a, (__m128)b);
#else
    return pick(a > b, a, b);
#endif
}

INLINE floats root(floats x)
{
    floats r;
    for (int l = 0; l < WIDTH; l++)
        r[l] = __builtin_sqrtf(x[l]);
    return r;
}

INLINE bool any(ints mask)
{
#if defined(__AVX512DQ__)
    return _mm512_movepi32_mask((__m512i)mask) != 0;
#elif defined(__AVX2__)
    return _mm256_movemask_ps((__m256)mask) != 0;
#elif defined(__SSE__)
    return _mm_movemask_ps((__m128)mask) != 0;
#else
    int found = 0;
    for (int l = 0; l < WIDTH; l++)
        found |= mask[l];
    return found != 0;
#endif
}

/* The full product of the low halves; the high halves may hold anything. Written out because
 * compilers make a slow 64-bit product of it. */
INLINE wides multiply_low(wides a, uint32_t b)
{
#if defined(__AVX512F__)
    return (wides)_mm512_mul_epu32((__m512i)a, _mm512_set1_epi64(b));
#elif defined(__AVX2__)
    return (wides)_mm256_mul_epu32((__m256i)a, _mm256_set1_epi64x(b));
#elif defined(__SSE2__)
    return (wides)_mm_mul_epu32((__m128i)a, _mm_set1_epi64x(b));
#else
    return (a & 0xffffffffU) * b;
#endif
}

#endif
