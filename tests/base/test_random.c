/* SPDX-License-Identifier: GPL-3.0-or-later
 * The random numbers: the generator's published vectors, the layout of key and
 * counter, and moments within bounds from theory (seeds are fixed, so a bound of
 * 4.5 standard errors that holds once holds always). */
#include "random.h"
#include "suite.h"

#include <Random123/philox.h>
#include <gsl/gsl_cdf.h>
#include <gsl/gsl_sort.h>
#include <math.h>
#include <stdlib.h>

#define COUNT 100000
#define ERRORS 4.5 /* standard errors */

/* M: known-answer vectors of philox4x32-10, Random123's kat_vectors. */
static const struct {
    uint32_t counter[4], key[2], words[4];
} vectors[] = {
    {{0, 0, 0, 0}, {0, 0}, {0x6627e8d5, 0xe169c58d, 0xbc57ac4c, 0x9b00dbd8}},
    {{0xffffffff, 0xffffffff, 0xffffffff, 0xffffffff},
     {0xffffffff, 0xffffffff},
     {0x408f276d, 0x41c83b0e, 0xa20bc7c6, 0x6d5451fd}},
    {{0x243f6a88, 0x85a308d3, 0x13198a2e, 0x03707344},
     {0xa4093822, 0x299f31d0},
     {0xd16cfe09, 0x94fdcceb, 0x5001e420, 0x24126ea1}},
};

START_TEST(published_vectors)
{
    for (size_t i = 0; i < sizeof vectors / sizeof vectors[0]; i++) {
        philox4x32_ctr_t counter;
        philox4x32_key_t key = {{vectors[i].key[0], vectors[i].key[1]}};
        for (int w = 0; w < 4; w++)
            counter.v[w] = vectors[i].counter[w];
        philox4x32_ctr_t words = philox4x32_R(10, counter, key);
        for (int w = 0; w < 4; w++)
            ck_assert_uint_eq(words.v[w], vectors[i].words[w]);
    }
    uint32_t words[4];
    pappus_random_words(words, (pappus_random){0, 0}, (pappus_stream)0, 0, 0, 0);
    for (int w = 0; w < 4; w++)
        ck_assert_uint_eq(words[w], vectors[0].words[w]);
}
END_TEST

/* The layout that random.h promises. */
START_TEST(key_and_counter)
{
    const uint64_t seed = 0x1abcde12345678ULL, index = 0xfedc87654321ULL;
    for (unsigned fresh = 0; fresh < 2; fresh++) {
        philox4x32_ctr_t counter = {{0x87654321U, 0xfedcU | 7U << 16, 33U, 12U}};
        philox4x32_key_t key = {{0x12345678U, 0x1abcdeU | (uint32_t)fresh << 31}};
        philox4x32_ctr_t expected = philox4x32_R(10, counter, key);
        uint32_t words[4];
        pappus_random random = {seed, fresh ? PAPPUS_GROUP_WIND_ALOFT : PAPPUS_GROUP_APOGEE};
        pappus_random_words(words, random, PAPPUS_STREAM_WIND_PRIOR, 12, index, 7);
        for (int w = 0; w < 4; w++)
            ck_assert_uint_eq(words[w], expected.v[w]);
    }
}
END_TEST

START_TEST(groups_are_fresh_by_stream)
{
    pappus_random random = {1, PAPPUS_GROUP_SURFACE_WIND | PAPPUS_GROUP_DRAG};
    ck_assert(pappus_random_is_fresh(random, PAPPUS_STREAM_WIND_READING));
    ck_assert(pappus_random_is_fresh(random, PAPPUS_STREAM_WIND_GUST));
    ck_assert(pappus_random_is_fresh(random, PAPPUS_STREAM_MAIN_DRAG));
    ck_assert(!pappus_random_is_fresh(random, PAPPUS_STREAM_WIND_PRIOR));
    ck_assert(!pappus_random_is_fresh(random, PAPPUS_STREAM_APOGEE_HEIGHT));
    ck_assert(!pappus_random_is_fresh(random, PAPPUS_STREAM_FAULTS));
}
END_TEST

/* Side by side they are what they are one by one, to the last bit. */
START_TEST(lanes_give_the_same_numbers)
{
    pappus_random random = {0x1abcde12345678ULL, PAPPUS_GROUP_DRAG};
    uint64_t index[PAPPUS_LANES];
    size_t tails = 0;
    for (uint64_t block = 0; block < 2000; block++) {
        double uniform[PAPPUS_LANES], normal[PAPPUS_LANES];
        for (uint64_t l = 0; l < PAPPUS_LANES; l++)
            index[l] = (block * PAPPUS_LANES + l) * 0x9e3779b97ULL & 0xffffffffffffULL;
        pappus_random_uniforms(uniform, (pappus_isa)_i, random, PAPPUS_STREAM_MASS, 3, index);
        pappus_random_normals(normal, (pappus_isa)_i, random, PAPPUS_STREAM_APOGEE_SPEED, 1, index);
        for (size_t l = 0; l < PAPPUS_LANES; l++) {
            double u = pappus_random_uniform(random, PAPPUS_STREAM_MASS, 3, index[l], 0);
            double z = pappus_random_normal(random, PAPPUS_STREAM_APOGEE_SPEED, 1, index[l], 0);
            ck_assert_mem_eq(&uniform[l], &u, sizeof u);
            ck_assert_mem_eq(&normal[l], &z, sizeof z);
            tails += fabs(z) > 1.5;
        }
    }
    ck_assert_uint_gt(tails, 3000);
}
END_TEST

/* Kolmogorov's distance of COUNT uniform numbers from the uniform law; 1.95/sqrt(n)
 * is passed by chance once in a thousand (X: 2 exp(-2 t^2)). */
static void check_uniform(double *values)
{
    gsl_sort(values, 1, COUNT);
    double distance = 0.0;
    for (int i = 0; i < COUNT; i++) {
        ck_assert(values[i] > 0.0 && values[i] < 1.0);
        distance = fmax(distance, fabs(values[i] - (i + 0.5) / COUNT));
    }
    ck_assert_double_lt(distance, 1.95 / sqrt(COUNT));
}

START_TEST(uniform_and_normal_laws)
{
    double *values = malloc(COUNT * sizeof *values);
    ck_assert_ptr_nonnull(values);
    pappus_random random = {20240607, 0};
    for (uint64_t i = 0; i < COUNT; i++)
        values[i] = pappus_random_uniform(random, PAPPUS_STREAM_FAULTS, 0, i, 0);
    check_uniform(values);
    for (uint64_t i = 0; i < COUNT; i++)
        values[i] = gsl_cdf_ugaussian_P(pappus_random_normal(random, PAPPUS_STREAM_MASS, 0, i, 0));
    check_uniform(values);
    free(values);
}
END_TEST

/* Normal moments of n numbers: mean 0 +- 1/sqrt(n), variance 1 +- sqrt(2/n),
 * fourth moment 3 +- sqrt(96/n) (X). */
START_TEST(normal_moments)
{
    pappus_random random = {5, 0};
    double m1 = 0.0, m2 = 0.0, m4 = 0.0;
    for (uint64_t i = 0; i < COUNT; i++) {
        double x = pappus_random_normal(random, PAPPUS_STREAM_HEIGHT_ERROR, 1, i, 0);
        m1 += x / COUNT;
        m2 += x * x / COUNT;
        m4 += x * x * x * x / COUNT;
    }
    ck_assert_double_lt(fabs(m1), ERRORS * sqrt(1.0 / COUNT));
    ck_assert_double_lt(fabs(m2 - 1.0), ERRORS * sqrt(2.0 / COUNT));
    ck_assert_double_lt(fabs(m4 - 3.0), ERRORS * sqrt(96.0 / COUNT));
}
END_TEST

typedef struct {
    pappus_random random;
    pappus_stream stream;
    uint32_t sub;
    unsigned redraw;
    uint64_t shift;
} place;

static double correlation_of(place a, place b)
{
    double sum = 0.0;
    for (uint64_t i = 0; i < COUNT; i++)
        sum += pappus_random_normal(a.random, a.stream, a.sub, i + a.shift, a.redraw) *
               pappus_random_normal(b.random, b.stream, b.sub, i + b.shift, b.redraw);
    return sum / COUNT;
}

/* The mean product of independent standard normals is 0 +- 1/sqrt(n). */
START_TEST(streams_are_independent)
{
    place base = {{9, 0}, PAPPUS_STREAM_MASS, 0, 0, 0};
    const place others[] = {
        {{9, 0}, PAPPUS_STREAM_MAIN_DRAG, 0, 0, 0},
        {{9, 0}, PAPPUS_STREAM_MASS, 1, 0, 0},
        {{9, 0}, PAPPUS_STREAM_MASS, 0, 1, 0},
        {{9, 0}, PAPPUS_STREAM_MASS, 0, 0, 1},
        {{10, 0}, PAPPUS_STREAM_MASS, 0, 0, 0},
        {{9, PAPPUS_GROUP_DRAG}, PAPPUS_STREAM_MASS, 0, 0, 0},
    };
    for (size_t i = 0; i < sizeof others / sizeof others[0]; i++)
        ck_assert_double_lt(fabs(correlation_of(base, others[i])), ERRORS / sqrt(COUNT));
    ck_assert_double_lt(fabs(correlation_of(base, base) - 1.0), ERRORS * sqrt(2.0 / COUNT));
}
END_TEST

SUITE("random")
{
    tcase_add_test(tests, published_vectors);
    tcase_add_test(tests, key_and_counter);
    tcase_add_test(tests, groups_are_fresh_by_stream);
    tcase_add_loop_test(tests, lanes_give_the_same_numbers, 0, (int)pappus_isa_best() + 1);
    tcase_add_test(tests, uniform_and_normal_laws);
    tcase_add_test(tests, normal_moments);
    tcase_add_test(tests, streams_are_independent);
}
