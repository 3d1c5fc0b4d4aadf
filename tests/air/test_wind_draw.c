/* SPDX-License-Identifier: GPL-3.0-or-later
 * The sampled wind: its normal numbers against GSL, the same landings with every
 * instruction set and beside any neighbours, and its law against the closed form
 * of the Gaussian posterior, computed here over again by dense linear algebra.
 * Random checks have fixed seeds and bounds of 4.5 standard errors. */
#include "air/air_fixture.h"
#include "air.h"
#include "suite.h"
#include "wind_field.h"

#include <gsl/gsl_cdf.h>
#include <gsl/gsl_errno.h>
#include <gsl/gsl_integration.h>
#include <gsl/gsl_linalg.h>
#include <gsl/gsl_randist.h>
#include <stdlib.h>
#include <string.h>

#define LANES PAPPUS_LANES
#define ERRORS 4.5 /* standard errors */
#define BLOCKS (40000 / LANES)
#define LANDINGS (BLOCKS * LANES)

typedef void normals_function(float *, const uint32_t *);
static normals_function *const normals[] = {
    pappus_wind_normals_generic,
#ifdef PAPPUS_X86
    pappus_wind_normals_avx2,
    pappus_wind_normals_avx512,
#endif
};

static int isa_count(void)
{
    return (int)pappus_isa_best() + 1;
}

static pappus_air *build(const pappus_plan *plan, const pappus_winds *winds)
{
    pappus_air *air = NULL;
    pappus_log log = {0};
    pappus_air_options options = PAPPUS_AIR_OPTIONS_INIT;
    int status = pappus_air_build(&air, plan, winds, &options, &log);
    ck_assert_msg(status == PAPPUS_OK, "%s", log.count ? log.entries[0].error.message : "");
    pappus_log_clear(&log);
    return air;
}

static float *lanes_of(const pappus_air *air)
{
    float *values = aligned_alloc(64, air->node_count * LANES * sizeof *values);
    ck_assert_ptr_nonnull(values);
    return values;
}

/* A word stands for the probability (word + 1/2)/2^32. Relative to GSL's inverse:
 * 6e-7 is five units in the last place of a float. */
static void check_word(int isa, uint32_t word)
{
    uint32_t words[LANES];
    float out[LANES];
    for (int l = 0; l < LANES; l++)
        words[l] = word;
    normals[isa](out, words);
    double expected = gsl_cdf_ugaussian_Pinv((word + 0.5) * 0x1p-32);
    ck_assert_double_eq_tol(out[0] / expected, 1.0, 6e-7);
}

START_TEST(normals_against_gsl)
{
    /* Both tails to 1e-10, the joint of the two branches, the middle, and words
     * spread over all. */
    const uint32_t words[] = {0,           1,           2,          4,          42,
                              1000,        0x1332ffff,  0x13330000, 0x13333333, 0x13340000,
                              0x7fffffff,  0x80000000,  0x7ffffff0, 0x80000001, 0xecccccccu,
                              0xecccd000u, 0xfffffffbu, 0xffffffffu};
    for (int isa = 0; isa < isa_count(); isa++) {
        for (size_t i = 0; i < sizeof words / sizeof words[0]; i++)
            check_word(isa, words[i]);
        for (uint32_t i = 0; i < 20000; i++)
            check_word(isa, i * 214741U + 77U);
        for (uint32_t i = 1; i < 0x80000000U; i += i / 7 + 1)
            check_word(isa, i);
    }
}
END_TEST

/* A plan with everything: two profiles, three readings, gusts. */
typedef struct {
    pappus_plan plan;
    pappus_observation observations[2];
    pappus_wind_level first[4], second[3];
    pappus_wind_profile profiles[2];
    pappus_winds winds;
} everything;

static void fill_everything(everything *e)
{
    e->plan = fixture_plan(286.0, 1600.0);
    e->first[0] = fixture_level(10.0, 3.0, 2.0);
    e->first[1] = fixture_level(420.0, 8.0, 3.0);
    e->first[2] = fixture_level(1500.0, 12.0, -2.0);
    e->first[3] = fixture_level(3000.0, 15.0, -3.0);
    e->first[2].speed_sd_mps = 2.5;
    e->second[0] = fixture_level(40.0, 1.0, 4.0);
    e->second[1] = fixture_level(700.0, 4.0, 9.0);
    e->second[2] = fixture_level(2500.0, 3.0, 14.0);
    e->profiles[0] = fixture_profile(e->first, 4);
    e->profiles[1] = fixture_profile(e->second, 3);
    e->profiles[1].weight = 2.0;
    e->winds = (pappus_winds){2, e->profiles, 8.0 * 3600.0};
    e->plan.wind.has_surface = true;
    e->plan.wind.surface = (pappus_observation){2.0, 4.5, 235.0, 1.0};
    e->plan.wind.gust_mps = 7.5;
    e->observations[0] = (pappus_observation){152.4, 9.0, 255.0, 1.0};
    e->observations[1] = (pappus_observation){600.0, 10.0, 250.0, 1.5};
    e->plan.wind.observation_count = 2;
    e->plan.wind.observations = e->observations;
}

/* IEEE 754: the same operations in the same order are the same bits, however many at once. */
START_TEST(sets_agree)
{
    everything e;
    fill_everything(&e);
    pappus_air *air = build(&e.plan, &e.winds);
    size_t count = air->node_count * LANES;
    float *u0 = lanes_of(air), *v0 = lanes_of(air), *u1 = lanes_of(air), *v1 = lanes_of(air);
    for (uint64_t block = 0; block < 50; block++) {
        uint64_t index[LANES];
        for (uint64_t l = 0; l < LANES; l++)
            index[l] = block * LANES + l;
        pappus_wind_draw(air, PAPPUS_ISA_GENERIC, (pappus_random){3, 0}, index, u0, v0);
        for (int isa = 1; isa < isa_count(); isa++) {
            pappus_wind_draw(air, (pappus_isa)isa, (pappus_random){3, 0}, index, u1, v1);
            ck_assert_mem_eq(u0, u1, count * sizeof *u0);
            ck_assert_mem_eq(v0, v1, count * sizeof *v0);
        }
    }
    free(u0);
    free(v0);
    free(u1);
    free(v1);
    pappus_air_free(air);
}
END_TEST

/* A landing's wind is the same to the bit in any lane beside any others. */
START_TEST(neighbours_do_not_matter)
{
    everything e;
    fill_everything(&e);
    pappus_air *air = build(&e.plan, &e.winds);
    float *u0 = lanes_of(air), *v0 = lanes_of(air), *u1 = lanes_of(air), *v1 = lanes_of(air);
    uint64_t forward[LANES], mixed[LANES];
    for (uint64_t l = 0; l < LANES; l++) {
        forward[l] = 1000 + l;
        mixed[l] = l % 2 ? 1000 + (LANES - 1 - l) : 0x123456789abULL + l;
    }
    for (int isa = 0; isa < isa_count(); isa++) {
        pappus_wind_draw(air, (pappus_isa)isa, (pappus_random){4, 0}, forward, u0, v0);
        pappus_wind_draw(air, (pappus_isa)isa, (pappus_random){4, 0}, mixed, u1, v1);
        for (size_t i = 0; i < air->node_count; i++)
            for (size_t l = 1; l < LANES; l += 2) {
                size_t a = i * LANES + LANES - 1 - l, b = i * LANES + l;
                ck_assert_mem_eq(&u0[a], &u1[b], sizeof(float));
                ck_assert_mem_eq(&v0[a], &v1[b], sizeof(float));
            }
    }
    free(u0);
    free(v0);
    free(u1);
    free(v1);
    pappus_air_free(air);
}
END_TEST

/* With one level on the ground of no wind and a deviation of 1 m/s, the lowest
 * node is the generator's word itself, for wide seeds and indices, drawn afresh or
 * not. */
START_TEST(words_are_those_of_the_generator)
{
    pappus_wind_level levels[2] = {fixture_level(0.0, 0.0, 0.0), fixture_level(3000.0, 0.0, 0.0)};
    pappus_wind_profile profile = fixture_profile(levels, 2);
    pappus_winds winds = {1, &profile, 0.0};
    pappus_plan plan = fixture_plan(0.0, 1000.0);
    pappus_air *air = build(&plan, &winds);
    float *u = lanes_of(air), *v = lanes_of(air);
    uint64_t index[LANES];
    for (uint64_t l = 0; l < LANES; l++)
        index[l] = 0xabc000000000ULL + 3 * l;
    for (unsigned fresh = 0; fresh < 4; fresh++) {
        pappus_random random = {0x1fedcba9876543ULL, fresh};
        for (int isa = 0; isa < isa_count(); isa++) {
            pappus_wind_draw(air, (pappus_isa)isa, random, index, u, v);
            for (int l = 0; l < LANES; l++) {
                uint32_t w[4];
                pappus_random_words(w, random, PAPPUS_STREAM_WIND_PRIOR, 0, index[l], 0);
                double keep = exp(-air->height_m[1] / 1000.0), fresh_part = sqrt(1 - keep * keep);
                double x[4];
                for (int i = 0; i < 4; i++)
                    x[i] = gsl_cdf_ugaussian_Pinv((w[i] + 0.5) * 0x1p-32);
                ck_assert_double_eq_tol(u[l], x[0], 3e-6);
                ck_assert_double_eq_tol(v[l], x[1], 3e-6);
                ck_assert_double_eq_tol(u[LANES + l], keep * x[0] + fresh_part * x[2], 3e-6);
                ck_assert_double_eq_tol(v[LANES + l], keep * x[1] + fresh_part * x[3], 3e-6);
            }
        }
    }
    free(u);
    free(v);
    pappus_air_free(air);
}
END_TEST

/* ---------------------------------------------------- the law of the samples */

/* First and second moments of both components at every node. */
typedef struct {
    size_t nodes;
    double *mean_u, *mean_v, *square_u, *square_v; /* [nodes], [nodes * nodes] */
    double cross;                                  /* of u and v at a middle node */
} moments;

static moments sample(const pappus_air *air, uint64_t seed)
{
    size_t n = air->node_count;
    moments m = {n, calloc(n, 8), calloc(n, 8), calloc(n * n, 8), calloc(n * n, 8), 0.0};
    ck_assert(m.mean_u && m.mean_v && m.square_u && m.square_v);
    float *u = lanes_of(air), *v = lanes_of(air);
    for (uint64_t block = 0; block < BLOCKS; block++) {
        uint64_t index[LANES];
        for (uint64_t l = 0; l < LANES; l++)
            index[l] = block * LANES + l;
        pappus_wind_draw(air, pappus_isa_best(), (pappus_random){seed, 0}, index, u, v);
        for (size_t i = 0; i < n; i++)
            for (size_t l = 0; l < LANES; l++) {
                m.mean_u[i] += u[i * LANES + l] / (double)LANDINGS;
                m.mean_v[i] += v[i * LANES + l] / (double)LANDINGS;
                for (size_t j = i; j < n; j += 9) {
                    m.square_u[i * n + j] += (double)u[i * LANES + l] * u[j * LANES + l] / LANDINGS;
                    m.square_v[i * n + j] += (double)v[i * LANES + l] * v[j * LANES + l] / LANDINGS;
                }
                if (i == n / 2) m.cross += (double)u[i * LANES + l] * v[i * LANES + l] / LANDINGS;
            }
    }
    free(u);
    free(v);
    return m;
}

static void clear(moments *m)
{
    free(m->mean_u);
    free(m->mean_v);
    free(m->square_u);
    free(m->square_v);
}

/* The expected law, computed apart from the program: prior covariance by the
 * design's formulas, then the Gaussian posterior with one dense inverse. */
typedef struct {
    size_t nodes;
    double *mean_u, *mean_v, *covariance;
} law;

typedef struct {
    double z_low, error, growth_hours, exponent; /* the prior's sd is uniform above z_low */
    double (*u)(double), (*v)(double);
    size_t readings;
    const double *z, *yu, *yv, *sd;
} problem;

static double prior_sd(const problem *p, double z)
{
    double sd = sqrt(p->error * p->error + pow(1.5 * cbrt(p->growth_hours), 2.0));
    return z < p->z_low ? sd * pow(z / p->z_low, p->exponent) : sd;
}

static double prior_covariance(const problem *p, double a, double b)
{
    return prior_sd(p, a) * prior_sd(p, b) * exp(-fabs(a - b) / 1000.0);
}

static law posterior(const problem *p, size_t nodes, const double *height)
{
    size_t n = p->readings;
    law out = {nodes, calloc(nodes, 8), calloc(nodes, 8), calloc(nodes * nodes, 8)};
    gsl_matrix *a = gsl_matrix_calloc(n, n), *k = gsl_matrix_calloc(nodes, n);
    gsl_vector *du = gsl_vector_alloc(n), *dv = gsl_vector_alloc(n), *x = gsl_vector_alloc(n);
    gsl_permutation *order = gsl_permutation_alloc(n);
    int sign;
    for (size_t i = 0; i < n; i++) {
        for (size_t j = 0; j < n; j++)
            gsl_matrix_set(a, i, j,
                           prior_covariance(p, p->z[i], p->z[j]) +
                               (i == j ? p->sd[i] * p->sd[i] : 0.0));
        gsl_vector_set(du, i, p->yu[i] - p->u(p->z[i]));
        gsl_vector_set(dv, i, p->yv[i] - p->v(p->z[i]));
        for (size_t j = 0; j < nodes; j++)
            gsl_matrix_set(k, j, i, prior_covariance(p, height[j], p->z[i]));
    }
    gsl_linalg_LU_decomp(a, order, &sign);
    for (size_t j = 0; j < nodes; j++) {
        gsl_vector_view row = gsl_matrix_row(k, j);
        gsl_linalg_LU_solve(a, order, &row.vector, x);
        double eu = 0.0, ev = 0.0;
        for (size_t i = 0; i < n; i++) {
            eu += gsl_vector_get(x, i) * gsl_vector_get(du, i);
            ev += gsl_vector_get(x, i) * gsl_vector_get(dv, i);
        }
        out.mean_u[j] = p->u(height[j]) + eu;
        out.mean_v[j] = p->v(height[j]) + ev;
        for (size_t m = 0; m < nodes; m++) {
            double drop = 0.0;
            for (size_t i = 0; i < n; i++)
                drop += gsl_vector_get(x, i) * gsl_matrix_get(k, m, i);
            out.covariance[j * nodes + m] = prior_covariance(p, height[j], height[m]) - drop;
        }
    }
    gsl_matrix_free(a);
    gsl_matrix_free(k);
    gsl_vector_free(du);
    gsl_vector_free(dv);
    gsl_vector_free(x);
    gsl_permutation_free(order);
    return out;
}

static void clear_law(law *l)
{
    free(l->mean_u);
    free(l->mean_v);
    free(l->covariance);
}

/* Sample means to sd/sqrt(N); sample covariances of Gaussians to
 * sqrt((c_ii c_jj + c_ij^2)/N) (X), and 1e-5 for the rounding of floats. */
static void check_law(const moments *m, const law *l)
{
    size_t n = m->nodes;
    for (size_t i = 0; i < n; i++) {
        double bound = ERRORS * sqrt(l->covariance[i * n + i] / LANDINGS) + 1e-5;
        ck_assert_double_eq_tol(m->mean_u[i], l->mean_u[i], bound);
        ck_assert_double_eq_tol(m->mean_v[i], l->mean_v[i], bound);
        for (size_t j = i; j < n; j += 9) {
            double c = l->covariance[i * n + j];
            double cii = l->covariance[i * n + i], cjj = l->covariance[j * n + j];
            double spread = ERRORS * sqrt((cii * cjj + c * c) / LANDINGS) + 1e-4;
            double cu = m->square_u[i * n + j] - m->mean_u[i] * m->mean_u[j];
            double cv = m->square_v[i * n + j] - m->mean_v[i] * m->mean_v[j];
            ck_assert_double_eq_tol(cu, c, spread);
            ck_assert_double_eq_tol(cv, c, spread);
        }
    }
    size_t i = n / 2;
    double cross = m->cross - m->mean_u[i] * m->mean_v[i];
    ck_assert_double_le(fabs(cross), ERRORS * l->covariance[i * n + i] / sqrt(LANDINGS) + 1e-4);
}

/* The closed form of the program at the same heights. */
static void check_closed_form(const pappus_air *air, const law *l, bool prior)
{
    for (size_t i = 0; i < air->node_count; i++) {
        double u50, v50, u95, v95, mean_u, mean_v;
        double sd = sqrt(l->covariance[i * l->nodes + i]);
        pappus_air_wind_quantile(air, prior, air->height_m[i], 0.5, &u50, &v50);
        pappus_air_wind_quantile(air, prior, air->height_m[i], 0.95, &u95, &v95);
        ck_assert_double_eq_tol(u50, l->mean_u[i], 1e-9);
        ck_assert_double_eq_tol(v50, l->mean_v[i], 1e-9);
        ck_assert_double_eq_tol(u95, l->mean_u[i] + 1.6448536269514722 * sd, 1e-7);
        ck_assert_double_eq_tol(v95, l->mean_v[i] + 1.6448536269514722 * sd, 1e-7);
        if (prior) continue;
        pappus_air_mean_wind(air, air->height_m[i], &mean_u, &mean_v);
        ck_assert_double_eq_tol(mean_u, l->mean_u[i], 1e-9);
        ck_assert_double_eq_tol(mean_v, l->mean_v[i], 1e-9);
    }
}

/* The profile of the law's tests: 4 m/s east at 50 m to 10 at 1250 m, 2 m/s north
 * to -4; power law 0.143 below 50 m. */
static double shape(double z)
{
    return z < 50.0 ? pow(z / 50.0, 0.143) : 1.0;
}

static double part_of(double z)
{
    return z < 50.0 ? 0.0 : z > 1250.0 ? 1.0 : (z - 50.0) / 1200.0;
}

static double law_u(double z)
{
    return shape(z) * (4.0 + 6.0 * part_of(z));
}

static double law_v(double z)
{
    return shape(z) * (2.0 - 6.0 * part_of(z));
}

static pappus_wind_level law_levels[2];

static pappus_wind_profile law_profile(void)
{
    law_levels[0] = fixture_level(50.0, 4.0, 2.0);
    law_levels[1] = fixture_level(1250.0, 10.0, -4.0);
    return fixture_profile(law_levels, 2);
}

START_TEST(prior_law)
{
    pappus_wind_profile profile = law_profile();
    pappus_winds winds = {1, &profile, 8.0 * 3600.0};
    pappus_plan plan = fixture_plan(100.0, 1600.0);
    pappus_air *air = build(&plan, &winds);
    problem p = {50.0, 1.0, 8.0, 0.143, law_u, law_v, 0, NULL, NULL, NULL, NULL};
    size_t n = air->node_count;
    law l = {n, calloc(n, 8), calloc(n, 8), calloc(n * n, 8)};
    for (size_t i = 0; i < n; i++) {
        l.mean_u[i] = law_u(air->height_m[i]);
        l.mean_v[i] = law_v(air->height_m[i]);
        for (size_t j = 0; j < n; j++)
            l.covariance[i * n + j] = prior_covariance(&p, air->height_m[i], air->height_m[j]);
    }
    check_closed_form(air, &l, true);
    check_closed_form(air, &l, false);
    moments m = sample(air, 11);
    check_law(&m, &l);
    clear(&m);
    clear_law(&l);
    pappus_air_free(air);
}
END_TEST

/* Three readings: at 2 m, which also carries the error of reaching it, at 150 m,
 * and a second one at 150 m. */
START_TEST(posterior_law)
{
    pappus_wind_profile profile = law_profile();
    pappus_winds winds = {1, &profile, 3600.0};
    pappus_plan plan = fixture_plan(100.0, 1600.0);
    pappus_observation observations[2] = {{150.0, 9.0, 180.0, 0.5}, {150.0, 8.0, 190.0, 1.0}};
    plan.wind.has_surface = true;
    plan.wind.surface = (pappus_observation){2.0, 5.0, 270.0, 1.0};
    plan.wind.observation_count = 2;
    plan.wind.observations = observations;
    pappus_air *air = build(&plan, &winds);
    double reach = 0.1 * hypot(law_u(2.0), law_v(2.0)) * log(50.0 / 2.0);
    const double ten = 10.0 * M_PI / 180.0;
    const double z[] = {2.0, 150.0, 150.0}, sd[] = {hypot(1.0, reach), 0.5, 1.0};
    const double yu[] = {5.0, 0.0, 8.0 * sin(ten)}, yv[] = {0.0, 9.0, 8.0 * cos(ten)};
    problem p = {50.0, 1.0, 1.0, 0.143, law_u, law_v, 3, z, yu, yv, sd};
    law l = posterior(&p, air->node_count, air->height_m);
    check_closed_form(air, &l, false);
    moments m = sample(air, 12);
    check_law(&m, &l);
    clear(&m);
    clear_law(&l);
    pappus_air_free(air);
}
END_TEST

/* Surface only: power law to 300 m, 5 m/s of error from the reading's height up. */
static double alone_v(double z)
{
    return 4.0 * pow(fmin(z, 300.0) / 2.0, 0.143);
}

static double zero(double z)
{
    return 0.0 * z;
}

START_TEST(surface_only_law)
{
    pappus_winds winds = {0, NULL, 0.0};
    pappus_plan plan = fixture_plan(100.0, 1600.0);
    plan.wind.has_surface = true;
    plan.wind.surface = (pappus_observation){2.0, 4.0, 180.0, 1.0};
    pappus_air *air = build(&plan, &winds);
    const double z[] = {2.0}, sd[] = {1.0}, yu[] = {0.0}, yv[] = {4.0};
    problem p = {2.0, 5.0, 0.0, 0.143, zero, alone_v, 1, z, yu, yv, sd};
    law l = posterior(&p, air->node_count, air->height_m);
    ck_assert(air->surface_only);
    check_closed_form(air, &l, false);
    moments m = sample(air, 13);
    check_law(&m, &l);
    clear(&m);
    clear_law(&l);
    pappus_air_free(air);
}
END_TEST

/* Two readings without error at one height do not break it: the wind there is
 * their mean, to the thousandth of a metre per second that stands for none. */
START_TEST(readings_without_error)
{
    pappus_wind_profile profile = law_profile();
    pappus_winds winds = {1, &profile, 3600.0};
    pappus_plan plan = fixture_plan(100.0, 1600.0);
    pappus_observation observations[2] = {{150.0, 9.0, 180.0, 0.0}, {150.0, 9.0, 180.0, 0.0}};
    plan.wind.observation_count = 2;
    plan.wind.observations = observations;
    pappus_air *air = build(&plan, &winds);
    float *u = lanes_of(air), *v = lanes_of(air);
    uint64_t index[LANES] = {0};
    pappus_wind_draw(air, pappus_isa_best(), (pappus_random){1, 0}, index, u, v);
    size_t i = 0;
    while (air->height_m[i] != 150.0)
        i++;
    ck_assert_double_eq_tol(u[i * LANES], 0.0, 0.02);
    ck_assert_double_eq_tol(v[i * LANES], 9.0, 0.02);
    free(u);
    free(v);
    pappus_air_free(air);
}
END_TEST

/* ----------------------------------------------------------- several profiles */

/* Weights after the readings against the ratio of the normal densities: one
 * reading, so each is a product of two univariate densities (GSL). */
START_TEST(weights_by_density)
{
    pappus_wind_level levels[3][2] = {
        {fixture_level(0.0, 3.0, 1.0), fixture_level(2000.0, 9.0, 1.0)},
        {fixture_level(0.0, 6.0, -1.0), fixture_level(2000.0, 9.0, 1.0)},
        {fixture_level(0.0, 1.0, 5.0), fixture_level(2000.0, 2.0, 11.0)}};
    levels[2][0].speed_sd_mps = levels[2][1].speed_sd_mps = 3.0;
    pappus_wind_profile profiles[3];
    const double weight[3] = {1.0, 3.0, 2.0};
    for (int k = 0; k < 3; k++) {
        profiles[k] = fixture_profile(levels[k], 2);
        profiles[k].weight = weight[k];
    }
    pappus_winds winds = {3, profiles, 0.0};
    pappus_plan plan = fixture_plan(0.0, 1000.0);
    pappus_observation observation = {100.0, 4.0, 250.0, 1.2};
    plan.wind.observation_count = 1;
    plan.wind.observations = &observation;
    pappus_air *air = build(&plan, &winds);
    double expected[3], sum = 0.0;
    for (int k = 0; k < 3; k++) {
        double error = k == 2 ? 3.0 : 1.0, sd = hypot(error, 1.2), up = 100.0 / 2000.0;
        double u = levels[k][0].u_mps + up * (levels[k][1].u_mps - levels[k][0].u_mps);
        double v = levels[k][0].v_mps + up * (levels[k][1].v_mps - levels[k][0].v_mps);
        double from = 250.0 * M_PI / 180.0;
        expected[k] = weight[k] * gsl_ran_gaussian_pdf(-4.0 * sin(from) - u, sd) *
                      gsl_ran_gaussian_pdf(-4.0 * cos(from) - v, sd);
        sum += expected[k];
    }
    for (int k = 0; k < 3; k++)
        ck_assert_double_eq_tol(air->wind->weight[k], expected[k] / sum, 1e-12);
    pappus_air_free(air);
}
END_TEST

/* The share of samples below the closed-form quantile of the mixture, with gusts:
 * p to sqrt(p(1-p)/N). */
START_TEST(mixture_quantiles)
{
    everything e;
    fill_everything(&e);
    pappus_air *air = build(&e.plan, &e.winds);
    const double ps[] = {0.05, 0.5, 0.9};
    float *u = lanes_of(air), *v = lanes_of(air);
    for (size_t node = 1; node < air->node_count; node += 13) {
        int below_u[3] = {0}, below_v[3] = {0};
        double qu[3], qv[3];
        for (int i = 0; i < 3; i++)
            pappus_air_wind_quantile(air, false, air->height_m[node], ps[i], &qu[i], &qv[i]);
        for (uint64_t block = 0; block < 1250; block++) {
            uint64_t index[LANES];
            for (uint64_t l = 0; l < LANES; l++)
                index[l] = block * LANES + l;
            pappus_wind_draw(air, pappus_isa_best(), (pappus_random){21, 0}, index, u, v);
            for (size_t l = 0; l < LANES; l++)
                for (int i = 0; i < 3; i++) {
                    below_u[i] += u[node * LANES + l] < qu[i];
                    below_v[i] += v[node * LANES + l] < qv[i];
                }
        }
        for (int i = 0; i < 3; i++) {
            double bound = ERRORS * sqrt(ps[i] * (1.0 - ps[i]) / (1250 * LANES));
            ck_assert_double_eq_tol(below_u[i] / (1250.0 * LANES), ps[i], bound);
            ck_assert_double_eq_tol(below_v[i] / (1250.0 * LANES), ps[i], bound);
        }
    }
    free(u);
    free(v);
    pappus_air_free(air);
}
END_TEST

/* Asked together they are what they are one by one: of several profiles, and of one, with
 * gusts, whose law is mirrored. */
START_TEST(quantiles_together)
{
    enum { COUNT = 9 };
    everything e;
    fill_everything(&e);
    if (_i == 1) e.winds.profile_count = 1;
    pappus_air *air = build(&e.plan, &e.winds);
    for (size_t i = 0; i < air->node_count; i += 7)
        for (int prior = 0; prior < 2; prior++) {
            double u[COUNT], v[COUNT], one[2], z = air->height_m[i];
            pappus_air_wind_quantiles(air, prior, z, COUNT, u, v);
            for (size_t k = 0; k < COUNT; k++) {
                pappus_air_wind_quantile(air, prior, z, ((double)k + 0.5) / COUNT, &one[0],
                                         &one[1]);
                ck_assert_double_eq_tol(u[k], one[0], 1e-9);
                ck_assert_double_eq_tol(v[k], one[1], 1e-9);
            }
        }
    pappus_air_free(air);
}
END_TEST

/* ------------------------------------------------------------------- gusts */

/* C: MIL-F-8785C as cited in a library's documentation; h in feet. */
static double military_length_m(double z)
{
    double h = fmin(fmax(z / 0.3048, 10.0), 1000.0);
    return 0.3048 * h / pow(0.177 + 0.000823 * h, 1.2);
}

static double military_sd(double z)
{
    double h = fmin(fmax(z / 0.3048, 10.0), 1000.0), feet = z / 0.3048;
    double taper = feet <= 1000.0 ? 1.0 : feet >= 1200.0 ? 0.0 : (1200.0 - feet) / 200.0;
    return taper / pow(0.177 + 0.000823 * h, 0.4);
}

static double per_length(double z, void *unused)
{
    (void)unused;
    return 1.0 / military_length_m(z);
}

START_TEST(gust_law)
{
    pappus_wind_profile profile = law_profile();
    pappus_winds winds = {1, &profile, 0.0};
    pappus_plan plan = fixture_plan(100.0, 800.0);
    plan.wind.error_mps = 0.0;
    plan.wind.has_surface = true;
    plan.wind.surface = (pappus_observation){10.0, 5.0, 270.0, 1.0};
    plan.wind.gust_mps = 9.5;
    pappus_air *air = build(&plan, &winds);
    size_t n = air->node_count;
    law l = {n, calloc(n, 8), calloc(n, 8), calloc(n * n, 8)};
    gsl_integration_workspace *work = gsl_integration_workspace_alloc(1000);
    gsl_function f = {per_length, NULL};
    for (size_t i = 0; i < n; i++) {
        double zi = air->height_m[i];
        l.mean_u[i] = law_u(zi);
        l.mean_v[i] = law_v(zi);
        for (size_t j = i; j < n; j++) {
            double zj = air->height_m[j], lengths, error;
            gsl_integration_qag(&f, zi, zj, 1e-9, 1e-7, 1000, 2, work, &lengths, &error);
            double scale = 1.5 / military_sd(10.0);
            l.covariance[i * n + j] =
                scale * military_sd(zi) * scale * military_sd(zj) * exp(-lengths);
        }
    }
    ck_assert_double_eq_tol(pappus_wind_field_gust_sd_mps(air->wind, 10.0), 1.5, 1e-12);
    ck_assert_double_eq_tol(pappus_wind_field_gust_sd_mps(air->wind, 366.0), 0.0, 1e-12);
    moments m = sample(air, 14);
    check_law(&m, &l);
    clear(&m);
    clear_law(&l);
    gsl_integration_workspace_free(work);
    pappus_air_free(air);
}
END_TEST

/* A gust below the mean wind, or none, adds nothing. */
START_TEST(no_gusts)
{
    everything e;
    fill_everything(&e);
    e.plan.wind.gust_mps = 4.0;
    pappus_air *a = build(&e.plan, &e.winds);
    e.plan.wind.gust_mps = NAN;
    pappus_air *b = build(&e.plan, &e.winds);
    ck_assert_int_eq(a->wind->tables.gust_count, 0);
    ck_assert_int_eq(b->wind->tables.gust_count, 0);
    ck_assert(isnan(pappus_air_gust_mps(b)));
    pappus_air_free(a);
    pappus_air_free(b);
}
END_TEST

/* Drawn afresh: the surface's group moves gusts and reading noise and leaves the
 * prior; far above the gusts a reading's noise is all that is left of it. */
START_TEST(fresh_groups_move_their_own)
{
    pappus_wind_profile profile = law_profile();
    pappus_winds winds = {1, &profile, 3600.0};
    pappus_plan plan = fixture_plan(100.0, 1600.0);
    plan.wind.has_surface = true;
    plan.wind.surface = (pappus_observation){2.0, 5.0, 270.0, 0.0};
    plan.wind.gust_mps = 9.0;
    plan.wind.correlation_height_m = 20.0;
    pappus_air *air = build(&plan, &winds);
    float *u0 = lanes_of(air), *u1 = lanes_of(air), *v = lanes_of(air);
    uint64_t index[LANES] = {5};
    size_t low = 3 * LANES, high = (air->node_count - 2) * LANES;
    pappus_wind_draw(air, pappus_isa_best(), (pappus_random){1, 0}, index, u0, v);
    pappus_wind_draw(air, pappus_isa_best(), (pappus_random){1, PAPPUS_GROUP_SURFACE_WIND}, index,
                     u1, v);
    ck_assert_double_gt(fabs(u0[low] - u1[low]), 1e-3);
    ck_assert_double_eq_tol(u0[high], u1[high], 1e-5);
    pappus_wind_draw(air, pappus_isa_best(), (pappus_random){1, PAPPUS_GROUP_WIND_ALOFT}, index, u1,
                     v);
    ck_assert_double_gt(fabs(u0[high] - u1[high]), 1e-3);
    free(u0);
    free(u1);
    free(v);
    pappus_air_free(air);
}
END_TEST

SUITE("wind draw")
{
    gsl_set_error_handler_off();
    tcase_add_test(tests, normals_against_gsl);
    tcase_add_test(tests, sets_agree);
    tcase_add_test(tests, neighbours_do_not_matter);
    tcase_add_test(tests, words_are_those_of_the_generator);
    tcase_add_test(tests, prior_law);
    tcase_add_test(tests, posterior_law);
    tcase_add_test(tests, surface_only_law);
    tcase_add_test(tests, readings_without_error);
    tcase_add_test(tests, weights_by_density);
    tcase_add_test(tests, mixture_quantiles);
    tcase_add_loop_test(tests, quantiles_together, 0, 2);
    tcase_add_test(tests, gust_law);
    tcase_add_test(tests, no_gusts);
    tcase_add_test(tests, fresh_groups_move_their_own);
}
