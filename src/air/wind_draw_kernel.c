/* SPDX-License-Identifier: GPL-3.0-or-later
 * The wind of a block of landings side by side, compiled once per instruction set. Loops
 * over lanes are plain so that the compiler turns each into vector code.
 *
 * The error is a unit Gaussian process whose correlation is exp of minus a distance,
 * which is Markov: x[i] = keep x[i-1] + fresh n[i], exact and linear in nodes; a
 * landing's scale multiplies every n, and a reading's e, and so makes the law a Student
 * one. Matheron's rule then corrects it by the measured winds: x* = x + gain (y + e - H x).
 * Words by Philox4x32-10 (Salmon et al., SC'11); one word is one normal number
 * by the inverse normal distribution PPND7 (Wichura, AS 241, Applied Statistics
 * 37:477, 1988), good to a few units in the last place of a float. The least
 * probability that a word can stand for is 2^-33, so that Wichura's outermost
 * branch (below e^-25) is never reached. */
#include "wind_kernel.h"
#include "philox_lanes.h"

#include <math.h>

#define LANES PAPPUS_LANES

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
    float nc = ((59.109374720f * rc + 159.29113202f) * rc + 50.434271938f) * rc + 3.3871327179f;
    float dc = ((67.187563600f * rc + 78.757757664f) * rc + 17.895169469f) * rc + 1.0f;
    float nt = ((0.17023821103f * rt + 1.3067284816f) * rt + 2.7568153900f) * rt + 1.4234372777f;
    float dt = (0.12021132975f * rt + 0.73700164250f) * rt + 1.0f;
    float x = (q <= 0.425f ? nc * q : nt) / (q <= 0.425f ? dc : dt);
    return sign < 0 ? -x : x;
}

/* Four normal numbers for every lane. */
static inline void draw_normals(four_normals *out, const pappus_wind_lanes *lanes,
                                const uint32_t key[2], uint32_t stream, uint32_t sub)
{
    uint32_t words[4][LANES];
    for (int first = 0; first < LANES; first += WIDE_WIDTH) {
        wides wide[4];
        philox(wide, lanes->index_low + first, lanes->index_high + first, key, stream, sub);
        for (int w = 0; w < 4; w++) {
            halves low = __builtin_convertvector(wide[w], halves);
            memcpy(&words[w][first], &low, sizeof low);
        }
    }
    for (int w = 0; w < 4; w++)
        for (int l = 0; l < LANES; l++)
            out->x[w][l] = normal_of(words[w][l]);
}

/* The scale of every landing: a cubic of one normal number. */
static inline void draw_scale(const pappus_wind_tables *t, const pappus_wind_lanes *lanes,
                              float scale[LANES])
{
    const float parts = PAPPUS_SCALE_PARTS, per_part = (float)(2.0 * PAPPUS_SCALE_WIDTH) / parts;
    four_normals n;
    for (int l = 0; l < LANES; l++)
        scale[l] = lanes->given_scale ? lanes->given_scale[l] : 1.0F;
    if (!t->scale || lanes->given_scale) return;
    draw_normals(&n, lanes, lanes->prior_key, PAPPUS_STREAM_WIND_SCALE, 0);
    for (int l = 0; l < LANES; l++) {
        float x = (n.x[0][l] + (float)PAPPUS_SCALE_WIDTH) / per_part;
        int part = (int)x;
        float y = x - (float)part;
        const float *c = t->scale[part];
        scale[l] = t->spread[lanes->profile[l]] * (c[0] + y * (c[1] + y * (c[2] + y * c[3])));
    }
}

static inline void step(float state[LANES], const float normal[LANES], const float scale[LANES],
                        float keep, float fresh)
{
    for (int l = 0; l < LANES; l++)
        state[l] = keep * state[l] + fresh * (scale[l] * normal[l]);
}

/* The scaled unit process of both components at every node, into u and v. */
static inline void draw_prior(const pappus_wind_tables *t, const pappus_wind_lanes *lanes,
                              const float scale[LANES], float *u_mps, float *v_mps)
{
    float u[LANES] = {0}, v[LANES] = {0};
    four_normals n;
    for (int i = 0; i < t->node_count; i++) {
        int half = i & 1;
        uint32_t pair = (uint32_t)i / 2;
        if (!half) draw_normals(&n, lanes, lanes->prior_key, PAPPUS_STREAM_WIND_PRIOR, pair);
        step(u, n.x[2 * half], scale, t->keep[i], t->fresh[i]);
        step(v, n.x[2 * half + 1], scale, t->keep[i], t->fresh[i]);
        memcpy(u_mps + i * LANES, u, sizeof u);
        memcpy(v_mps + i * LANES, v, sizeof v);
    }
}

/* Each reading with its drawn error, less the drawn wind there. */
static inline void draw_residuals(const pappus_wind_tables *t, const pappus_wind_lanes *lanes,
                                  const float scale[LANES], const float *restrict u_mps,
                                  const float *restrict v_mps, float (*restrict ru)[LANES],
                                  float (*restrict rv)[LANES])
{
    four_normals n;
    for (int j = 0; j < t->reading_count; j++) {
        int node = t->reading_node[j];
        draw_normals(&n, lanes, lanes->surface_key, PAPPUS_STREAM_WIND_READING, t->reading_sub[j]);
        for (int l = 0; l < LANES; l++) {
            const float *row = t->rows + (lanes->profile[l] * t->node_count + node) * t->row;
            float sd = scale[l] * t->reading_sd_mps[lanes->profile[l] * t->reading_count + j];
            ru[j][l] =
                t->reading_u_mps[j] + sd * n.x[0][l] - row[0] - row[2] * u_mps[node * LANES + l];
            rv[j][l] =
                t->reading_v_mps[j] + sd * n.x[1][l] - row[1] - row[2] * v_mps[node * LANES + l];
        }
    }
}

/* Unit process to wind at one node; row: where each lane's profile has it. `same`
 * is a constant of each call: with one profile its row is read once for all lanes. */
static inline __attribute__((always_inline)) void
apply_node(const pappus_wind_tables *t, const float *restrict rows, const int *restrict row,
           bool same, float (*restrict ru)[LANES], float (*restrict rv)[LANES], float *restrict u,
           float *restrict v)
{
    for (int l = 0; l < LANES; l++) {
        const float *at = rows + row[same ? 0 : l];
        u[l] = at[0] + at[2] * u[l];
        v[l] = at[1] + at[2] * v[l];
    }
    for (int j = 0; j < t->reading_count; j++)
        for (int l = 0; l < LANES; l++) {
            float gain = rows[row[same ? 0 : l] + PAPPUS_WIND_COLUMNS + j];
            u[l] += gain * ru[j][l];
            v[l] += gain * rv[j][l];
        }
}

static inline void apply(const pappus_wind_tables *t, const pappus_wind_lanes *lanes,
                         float (*ru)[LANES], float (*rv)[LANES], float *u_mps, float *v_mps)
{
    int row[LANES];
    for (int l = 0; l < LANES; l++)
        row[l] = lanes->profile[l] * t->node_count * t->row;
    for (int i = 0; i < t->node_count; i++) {
        float *u = u_mps + i * LANES, *v = v_mps + i * LANES;
        if (t->profile_count == 1)
            apply_node(t, t->rows, row, true, ru, rv, u, v);
        else
            apply_node(t, t->rows, row, false, ru, rv, u, v);
        for (int l = 0; l < LANES; l++)
            row[l] += t->row;
    }
}

static inline void add_gusts(const pappus_wind_tables *t, const pappus_wind_lanes *lanes,
                             float *u_mps, float *v_mps)
{
    float unit[LANES], u[LANES] = {0}, v[LANES] = {0};
    four_normals n;
    for (int l = 0; l < LANES; l++)
        unit[l] = 1;
    for (int i = 0; i < t->gust_count; i++) {
        int half = i & 1;
        uint32_t pair = (uint32_t)i / 2;
        if (!half) draw_normals(&n, lanes, lanes->surface_key, PAPPUS_STREAM_WIND_GUST, pair);
        step(u, n.x[2 * half], unit, t->gust_keep[i], t->gust_fresh[i]);
        step(v, n.x[2 * half + 1], unit, t->gust_keep[i], t->gust_fresh[i]);
        for (int l = 0; l < LANES; l++) {
            u_mps[i * LANES + l] += t->gust_sd_mps[i] * u[l];
            v_mps[i * LANES + l] += t->gust_sd_mps[i] * v[l];
        }
    }
}

void PAPPUS_KERNEL(pappus_wind_kernel)(const pappus_wind_tables *t, const pappus_wind_lanes *lanes,
                                       float *u_mps, float *v_mps)
{
    float ru[PAPPUS_READINGS][LANES], rv[PAPPUS_READINGS][LANES], scale[LANES];
    draw_scale(t, lanes, scale);
    draw_prior(t, lanes, scale, u_mps, v_mps);
    draw_residuals(t, lanes, scale, u_mps, v_mps, ru, rv);
    apply(t, lanes, ru, rv, u_mps, v_mps);
    add_gusts(t, lanes, u_mps, v_mps);
}

void PAPPUS_KERNEL(pappus_wind_normals)(float out[LANES], const uint32_t words[LANES])
{
    for (int l = 0; l < LANES; l++)
        out[l] = normal_of(words[l]);
}
