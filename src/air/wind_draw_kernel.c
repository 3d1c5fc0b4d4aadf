/* SPDX-License-Identifier: GPL-3.0-or-later
 * The wind of 16 landings side by side, compiled once per instruction set. Loops
 * over lanes are plain so that the compiler turns each into vector code.
 *
 * The error is a unit Gaussian process with correlation exp(-|dz|/L), which is
 * Markov: x[i] = keep x[i-1] + fresh n[i], exact and linear in nodes. Matheron's
 * rule then corrects it by the measured winds: x* = x + gain (y + e - H x).
 * Words by Philox4x32-10 (Salmon et al., SC'11); one word is one normal number
 * by the inverse normal distribution PPND7 (Wichura, AS 241, Applied Statistics
 * 37:477, 1988), good to a few units in the last place of a float. The least
 * probability that a word can stand for is 2^-33, so that Wichura's outermost
 * branch (below e^-25) is never reached. */
#include "wind_kernel.h"

#include <math.h>
#include <string.h>

#define LANES PAPPUS_LANES
#define ROUNDS 10

typedef struct {
    float x[4][LANES];
} four_normals;

/* Natural logarithm of a positive normal float: the polynomial of Cephes' logf. */
static inline float log_float(float x)
{
    uint32_t bits;
    memcpy(&bits, &x, sizeof bits);
    /* m in [sqrt(1/2), sqrt(2)), so that e = 0 near 1 and nothing cancels. */
    uint32_t shifted = bits - 0x3f3504f3U;
    float e = (float)((int32_t)shifted >> 23);
    uint32_t mantissa = (shifted & 0x007fffffU) + 0x3f3504f3U;
    float m;
    memcpy(&m, &mantissa, sizeof m);
    float f = m - 1.0f, z = f * f;
    float p = 7.0376836292e-2f;
    p = p * f - 1.1514610310e-1f;
    p = p * f + 1.1676998740e-1f;
    p = p * f - 1.2420140846e-1f;
    p = p * f + 1.4249322787e-1f;
    p = p * f - 1.6668057665e-1f;
    p = p * f + 2.0000714765e-1f;
    p = p * f - 2.4999993993e-1f;
    p = p * f + 3.3333331174e-1f;
    return e * 0.69314718056f + (f - 0.5f * z + f * z * p);
}

/* The word stands for the probability (word + 1/2) 2^-32. Its distance from 1/2
 * and from the nearer end are both taken from the integer, so that neither loses
 * digits. */
static inline float normal_of(uint32_t word)
{
    int32_t sign = (int32_t)(word ^ 0x80000000U);
    int32_t size = sign ^ (sign >> 31);
    float q = ((float)size + 0.5f) * 0x1p-32f;
    float tail = ((float)(0x7fffffff - size) + 0.5f) * 0x1p-32f;
    float rc = 0.180625f - q * q;
    float rt = sqrtf(-log_float(tail)) - 1.6f;
    float nc = (((59.109374720f * rc + 159.29113202f) * rc + 50.434271938f) * rc + 3.3871327179f) * q;
    float dc = ((67.187563600f * rc + 78.757757664f) * rc + 17.895169469f) * rc + 1.0f;
    float nt = ((0.17023821103f * rt + 1.3067284816f) * rt + 2.7568153900f) * rt + 1.4234372777f;
    float dt = (0.12021132975f * rt + 0.73700164250f) * rt + 1.0f;
    float x = q <= 0.425f ? nc / dc : nt / dt;
    return sign < 0 ? -x : x;
}

static inline void philox(four_normals *out, const pappus_wind_lanes *lanes, const uint32_t key[2],
                          uint32_t stream, uint32_t sub)
{
    uint32_t c0[LANES], c1[LANES], c2[LANES], c3[LANES];
    for (int l = 0; l < LANES; l++) {
        c0[l] = lanes->index_low[l];
        c1[l] = lanes->index_high[l];
        c2[l] = stream;
        c3[l] = sub;
    }
    uint32_t k0 = key[0], k1 = key[1];
    for (int round = 0; round < ROUNDS; round++) {
        for (int l = 0; l < LANES; l++) {
            uint64_t p0 = (uint64_t)0xd2511f53U * c0[l];
            uint64_t p1 = (uint64_t)0xcd9e8d57U * c2[l];
            c0[l] = (uint32_t)(p1 >> 32) ^ c1[l] ^ k0;
            c2[l] = (uint32_t)(p0 >> 32) ^ c3[l] ^ k1;
            c1[l] = (uint32_t)p1;
            c3[l] = (uint32_t)p0;
        }
        k0 += 0x9e3779b9U;
        k1 += 0xbb67ae85U;
    }
    for (int l = 0; l < LANES; l++) {
        out->x[0][l] = normal_of(c0[l]);
        out->x[1][l] = normal_of(c1[l]);
        out->x[2][l] = normal_of(c2[l]);
        out->x[3][l] = normal_of(c3[l]);
    }
}

static inline void step(float state[LANES], const float normal[LANES], float keep, float fresh)
{
    for (int l = 0; l < LANES; l++)
        state[l] = keep * state[l] + fresh * normal[l];
}

/* The unit process of both components at every node, into u and v. */
static inline void draw_prior(const pappus_wind_tables *t, const pappus_wind_lanes *lanes,
                              float *u_mps, float *v_mps)
{
    float u[LANES] = {0}, v[LANES] = {0};
    four_normals n;
    for (int i = 0; i < t->node_count; i++) {
        int half = i & 1;
        if (!half) philox(&n, lanes, lanes->prior_key, PAPPUS_STREAM_WIND_PRIOR, (uint32_t)i / 2);
        step(u, n.x[2 * half], t->keep[i], t->fresh[i]);
        step(v, n.x[2 * half + 1], t->keep[i], t->fresh[i]);
        memcpy(u_mps + i * LANES, u, sizeof u);
        memcpy(v_mps + i * LANES, v, sizeof v);
    }
}

/* Each reading with its drawn error, less the drawn wind there. */
static inline void draw_residuals(const pappus_wind_tables *t, const pappus_wind_lanes *lanes,
                                  const float *u_mps, const float *v_mps,
                                  float (*ru)[LANES], float (*rv)[LANES])
{
    four_normals n;
    for (int j = 0; j < t->reading_count; j++) {
        int node = t->reading_node[j];
        philox(&n, lanes, lanes->surface_key, PAPPUS_STREAM_WIND_READING, t->reading_sub[j]);
        for (int l = 0; l < LANES; l++) {
            const float *row = t->rows + (lanes->profile[l] * t->node_count + node) * t->row;
            float sd = t->reading_sd_mps[lanes->profile[l] * t->reading_count + j];
            ru[j][l] = t->reading_u_mps[j] + sd * n.x[0][l] - row[0] -
                       row[2] * u_mps[node * LANES + l];
            rv[j][l] = t->reading_v_mps[j] + sd * n.x[1][l] - row[1] -
                       row[2] * v_mps[node * LANES + l];
        }
    }
}

/* Unit process to wind. With one profile its row is the same in every lane, and
 * `mixed` is a constant in each copy of this function. */
static inline __attribute__((always_inline)) void
apply(const pappus_wind_tables *t, const pappus_wind_lanes *lanes, bool mixed,
      float (*ru)[LANES], float (*rv)[LANES], float *u_mps, float *v_mps)
{
    for (int i = 0; i < t->node_count; i++) {
        float *u = u_mps + i * LANES, *v = v_mps + i * LANES;
        int offset[LANES];
        for (int l = 0; l < LANES; l++)
            offset[l] = ((mixed ? lanes->profile[l] * t->node_count : 0) + i) * t->row;
        const float *rows = t->rows;
        for (int l = 0; l < LANES; l++) {
            int o = mixed ? offset[l] : i * t->row;
            u[l] = rows[o] + rows[o + 2] * u[l];
            v[l] = rows[o + 1] + rows[o + 2] * v[l];
        }
        for (int j = 0; j < t->reading_count; j++)
            for (int l = 0; l < LANES; l++) {
                float gain = rows[(mixed ? offset[l] : i * t->row) + PAPPUS_WIND_COLUMNS + j];
                u[l] += gain * ru[j][l];
                v[l] += gain * rv[j][l];
            }
    }
}

static inline void add_gusts(const pappus_wind_tables *t, const pappus_wind_lanes *lanes,
                             float *u_mps, float *v_mps)
{
    float u[LANES] = {0}, v[LANES] = {0};
    four_normals n;
    for (int i = 0; i < t->gust_count; i++) {
        int half = i & 1;
        if (!half) philox(&n, lanes, lanes->surface_key, PAPPUS_STREAM_WIND_GUST, (uint32_t)i / 2);
        step(u, n.x[2 * half], t->gust_keep[i], t->gust_fresh[i]);
        step(v, n.x[2 * half + 1], t->gust_keep[i], t->gust_fresh[i]);
        for (int l = 0; l < LANES; l++) {
            u_mps[i * LANES + l] += t->gust_sd_mps[i] * u[l];
            v_mps[i * LANES + l] += t->gust_sd_mps[i] * v[l];
        }
    }
}

void PAPPUS_KERNEL(pappus_wind_kernel)(const pappus_wind_tables *t, const pappus_wind_lanes *lanes,
                                       float *u_mps, float *v_mps)
{
    float ru[PAPPUS_READINGS][LANES], rv[PAPPUS_READINGS][LANES];
    draw_prior(t, lanes, u_mps, v_mps);
    draw_residuals(t, lanes, u_mps, v_mps, ru, rv);
    if (t->profile_count > 1)
        apply(t, lanes, true, ru, rv, u_mps, v_mps);
    else
        apply(t, lanes, false, ru, rv, u_mps, v_mps);
    add_gusts(t, lanes, u_mps, v_mps);
}

void PAPPUS_KERNEL(pappus_wind_normals)(float out[LANES], const uint32_t words[LANES])
{
    for (int l = 0; l < LANES; l++)
        out[l] = normal_of(words[l]);
}
