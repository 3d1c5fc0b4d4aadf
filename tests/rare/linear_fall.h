/* SPDX-License-Identifier: GPL-3.0-or-later
 * A fall that is linear in the wind, whose landing has a law in closed form: the drift is
 * the sum over the nodes of seconds times wind, a steady 15 m/s down. It may go by more than
 * it is led by: farther east with its mass, with the mean wind of the lowest 300 m, with the
 * height of its main. */
#ifndef PAPPUS_TESTS_LINEAR_FALL_H
#define PAPPUS_TESTS_LINEAR_FALL_H

#include "descent/real_air.h"
#include "error.h"
#include "led.h"
#include "uncertain.h"

#include <stdlib.h>
#include <string.h>

#define LINEAR_RATE_MPS 15.0
#define LINEAR_SPREAD_M 40.0
#define LINEAR_MASS_KG 8.0
#define LINEAR_MASS_SD_KG 0.5
#define LINEAR_MAIN_M 200.0

/* What moves the landing beside the drift. */
typedef struct {
    double mass_m_per_kg;
    double low_s;          /* that it goes with the low wind as well */
    double height_m_per_m; /* of the main's height */
} linear_beside;

typedef struct {
    flight_setup flight;
    pappus_draws *draws;
    linear_beside beside;
    double *seconds;                         /* led by; */
    double *flown_s, mean_m[2], variance_m2; /* and flown by: the wind's part, both axes */
    double corners[8];
    pappus_ring ring;
    pappus_polygon polygon;
    pappus_area area;
    pappus_field field;
    pappus_field_shapes *shapes;
    size_t counted[1][PAPPUS_OUTCOMES];
    pappus_hits hits;
    led_task task;
} linear_fall;

/* context: a linear_fall */
static inline int linear_descend(void *context, const pappus_air *air, size_t count, size_t rows,
                                 const pappus_fall *falls, const float *u_mps, const float *v_mps,
                                 pappus_touchdown *out)
{
    const linear_fall *f = context;
    for (size_t at = 0; at < rows * PAPPUS_LANES; at++) {
        size_t l = at % PAPPUS_LANES;
        if (l >= count) continue;
        out[at] = (pappus_touchdown){
            .time_s = 100.0,
            .east_m = falls[at].east_m +
                      f->beside.mass_m_per_kg * (falls[at].mass_kg - LINEAR_MASS_KG) +
                      f->beside.height_m_per_m * (falls[at].trigger_height_m[0] - LINEAR_MAIN_M),
            .north_m = falls[at].north_m,
            .vup_mps = -15.0};
        for (size_t i = 0; i < air->node_count; i++) {
            out[at].east_m += f->flown_s[i] * (double)u_mps[i * PAPPUS_LANES + l];
            out[at].north_m += f->flown_s[i] * (double)v_mps[i * PAPPUS_LANES + l];
        }
    }
    return PAPPUS_OK;
}

/* The wind between two nodes is a straight line: of the mean over the lowest 300 m each
 * step's middle counts for them as it lies between (X). */
static inline void add_low(linear_fall *f)
{
    const pappus_air *air = f->flight.air;
    const double step_m = 0.01, top_m = 300.0;
    size_t i = 1;
    for (double z = 0.5 * step_m; z < top_m; z += step_m) {
        while (air->height_m[i] < z)
            i++;
        double part = (z - air->height_m[i - 1]) / (air->height_m[i] - air->height_m[i - 1]);
        f->flown_s[i - 1] += f->beside.low_s * step_m / top_m * (1.0 - part);
        f->flown_s[i] += f->beside.low_s * step_m / top_m * part;
    }
}

/* The covariance as the plan states it: sd 2 m/s at all heights, correlation
 * exp(-dz / 1000 m). */
static inline void linear_law(linear_fall *f)
{
    const pappus_air *air = f->flight.air;
    f->mean_m[0] = f->mean_m[1] = f->variance_m2 = 0.0;
    for (size_t i = 0; i < air->node_count; i++) {
        double u, v;
        pappus_air_mean_wind(air, air->height_m[i], &u, &v);
        f->mean_m[0] += f->flown_s[i] * u;
        f->mean_m[1] += f->flown_s[i] * v;
        for (size_t j = 0; j < air->node_count; j++)
            f->variance_m2 += f->flown_s[i] * f->flown_s[j] * 4.0 *
                              exp(-fabs(air->height_m[i] - air->height_m[j]) / 1000.0);
    }
}

/* Standard deviation of where it lands, east. */
static inline double linear_sd_m(const linear_fall *f)
{
    double mass_m = f->beside.mass_m_per_kg * LINEAR_MASS_SD_KG;
    return sqrt(f->variance_m2 + pow(f->flight.plan.apogee.spread_m, 2.0) + mass_m * mass_m);
}

static inline void linear_fall_begin(linear_fall *f, double dof, double spread_m,
                                     linear_beside beside)
{
    pappus_error err = {0};
    *f = (linear_fall){.beside = beside, .hits = {.keep_out_count = 1, .keep_out = f->counted}};
    flight_setup_set(&f->flight);
    pappus_plan *plan = &f->flight.plan;
    plan->wind.error_mps = 2.0;
    plan->wind.growth_mps = 0.0;
    plan->wind.error_dof = dof;
    plan->apogee.spread_m = spread_m;
    if (beside.mass_m_per_kg != 0.0)
        plan->rocket.mass_kg = pappus_normal(LINEAR_MASS_KG, LINEAR_MASS_SD_KG);
    flight_setup_build(&f->flight);
    const pappus_air *air = f->flight.air;
    f->seconds = calloc(air->node_count, sizeof *f->seconds);
    for (size_t i = 1; i < air->node_count; i++)
        for (size_t end = 0; end < 2; end++)
            f->seconds[i - end] +=
                0.5 * (air->height_m[i] - air->height_m[i - 1]) / LINEAR_RATE_MPS;
    f->flown_s = malloc(air->node_count * sizeof *f->flown_s);
    memcpy(f->flown_s, f->seconds, air->node_count * sizeof *f->flown_s);
    if (beside.low_s != 0.0) add_low(f);
    linear_law(f);
    ck_assert_int_eq(pappus_draws_build(&f->draws, plan, air, (pappus_random){1, 0}, 0.0, &err), 0);
    f->hits.probability[PAPPUS_NOMINAL] = 1.0;
    f->task = (led_task){.plan = plan,
                         .air = air,
                         .field = &f->field,
                         .rows = 1,
                         .hits = &f->hits,
                         .threads = 1,
                         .effort = 1,
                         .wide = 100,
                         .aimed = 300,
                         .descend = linear_descend,
                         .descend_context = f};
}

/* The only area: a rectangle, metres from the pad. */
static inline void linear_area(linear_fall *f, double west, double south, double east, double north)
{
    pappus_error err = {0};
    const double corners[8] = {west, south, east, south, east, north, west, north};
    pappus_field_shapes_free(f->shapes);
    memcpy(f->corners, corners, sizeof corners);
    f->ring = (pappus_ring){4, f->corners};
    f->polygon = (pappus_polygon){1, &f->ring};
    f->area = (pappus_area){(char *)(uintptr_t) "area", 1, &f->polygon};
    f->field = (pappus_field){.keep_out_count = 1, .keep_outs = &f->area};
    ck_assert_int_eq(pappus_field_shapes_new(&f->shapes, &f->field, &err), 0);
    f->task.shapes = f->shapes;
}

static inline void linear_lead_rows(led_outcome *out, linear_fall *f,
                                    const pappus_draws *const *draws)
{
    pappus_error err = {0};
    rare_law law;
    const double start_m[2] = {0.0, 0.0};
    double spread_m = f->flight.plan.apogee.spread_m;
    ck_assert_int_eq(rare_law_of(&law, f->flight.air, f->seconds, spread_m, start_m, &err), 0);
    if (f->beside.low_s != 0.0) ck_assert_int_eq(rare_low_build(&law.low, &law.lean, &err), 0);
    ck_assert_int_eq(led_outcome_by_law(out, &f->task, draws, PAPPUS_NOMINAL, &law, &err), 0);
}

static inline void linear_lead(led_outcome *out, linear_fall *f, uint64_t seed)
{
    pappus_error err = {0};
    f->task.random = (pappus_random){seed, 0};
    pappus_draws_free(f->draws);
    ck_assert_int_eq(
        pappus_draws_build(&f->draws, &f->flight.plan, f->flight.air, f->task.random, 0.0, &err),
        0);
    linear_lead_rows(out, f, (const pappus_draws *const *)&f->draws);
}

static inline void linear_fall_end(linear_fall *f)
{
    pappus_field_shapes_free(f->shapes);
    pappus_draws_free(f->draws);
    pappus_air_free(f->flight.air);
    free(f->seconds);
    free(f->flown_s);
}

#endif
