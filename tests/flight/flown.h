/* SPDX-License-Identifier: GPL-3.0-or-later
 * Logs of invented flights whose drag areas are known, in air that rises or sinks: the
 * equation of motion of fall.h in the vertical, by the classical Runge-Kutta method. Held
 * against the reference integrator in test_flown.c. */
#ifndef PAPPUS_TESTS_FLOWN_H
#define PAPPUS_TESTS_FLOWN_H

#include <check.h>
#include <math.h>
#include <stdlib.h>

#include "altimeter.h"
#include "descent/real_air.h"
#include "random.h"
#include "si.h"

#include <pappus/debrief.h>

typedef struct {
    double mass_kg, body_m2, drogue_m2, main_m2;
    double apogee_m, drogue_fire_s, drogue_open_s;
    double main_shown_m; /* fires where the altimeter shows it; NaN: stays in */
    double fire_delay_s, main_open_s;
    double air_up_mps[2]; /* rising air, under the drogue and under the main */
    double rate_hz, noise_m;
    double pad_s, rest_s; /* on the pad before, on the ground after */
    uint64_t seed;
} flown_truth;

#define FLOWN_TRUTH                                                                                \
    {                                                                                              \
        8.0, 0.006, 0.25, 3.6, 1500.0, 0.2, 0.3, 200.0, 0.1, 0.8, {0.0, 0.0}, 20.0, 0.4, 5.0, 8.0, \
            1                                                                                      \
    }

/* What happened, for the checks. Times from the apogee, true heights. */
typedef struct {
    double main_fired_s, main_fired_m, main_open_m, ground_s;
} flown_events;

static inline double flown_grown(double since_s, double open_s)
{
    double part = since_s <= 0.0 ? 0.0 : since_s >= open_s ? 1.0 : since_s / open_s;
    return part * part;
}

typedef struct {
    const flown_truth *truth;
    const pappus_air *air;
    double main_fire_s;
} flown_fall;

static inline double flown_pull(const flown_fall *f, double t, double z, double v)
{
    const flown_truth *w = f->truth;
    double up = w->air_up_mps[t >= f->main_fire_s], fall = v + up;
    double cds = (t < w->drogue_fire_s ? w->body_m2 : 0.0) +
                 w->drogue_m2 * flown_grown(t - w->drogue_fire_s, w->drogue_open_s) +
                 w->main_m2 * flown_grown(t - f->main_fire_s, w->main_open_s);
    return PAPPUS_GRAVITY_MPS2 - 0.5 * pappus_air_density_kgpm3(f->air, fmax(z, 0.0)) * cds * fall *
                                     fabs(fall) / w->mass_kg;
}

static inline void flown_step(const flown_fall *f, double dt, double t, double *z, double *v)
{
    double a1 = flown_pull(f, t, *z, *v), v2 = *v + 0.5 * dt * a1;
    double a2 = flown_pull(f, t + 0.5 * dt, *z - 0.5 * dt * *v, v2), v3 = *v + 0.5 * dt * a2;
    double a3 = flown_pull(f, t + 0.5 * dt, *z - 0.5 * dt * v2, v3), v4 = *v + dt * a3;
    double a4 = flown_pull(f, t + dt, *z - dt * v3, v4);
    *z -= dt / 6.0 * (*v + 2.0 * v2 + 2.0 * v3 + v4);
    *v += dt / 6.0 * (a1 + 2.0 * a2 + 2.0 * a3 + a4);
}

/* A log of the whole flight; the caller frees time_s and height_m. */
static inline flown_events flown_log(pappus_flight_log *out, const flown_truth *truth,
                                     const pappus_air *air)
{
    flown_fall f = {truth, air, INFINITY};
    flown_events events = {NAN, NAN, NAN, NAN};
    pappus_random random = {truth->seed, 0};
    const double dt = 0.01, climb_s = sqrt(2.0 * truth->apogee_m / PAPPUS_GRAVITY_MPS2);
    double z = truth->apogee_m, v = 0.0, t = 0.0, ended_s = INFINITY;
    double pass_height_m = pappus_altimeter_true_m(air->atmosphere, truth->main_shown_m);
    double before_s = climb_s + truth->pad_s;
    size_t capacity = (size_t)((before_s + 1500.0) * truth->rate_hz) + 16;
    *out = (pappus_flight_log){.path = (char *)"log.csv",
                               .time_s = malloc(capacity * sizeof(double)),
                               .height_m = malloc(capacity * sizeof(double))};
    ck_assert(out->time_s && out->height_m);
    for (double next = -before_s; next < fmin(ended_s + truth->rest_s, 1490.0);
         next += 1.0 / truth->rate_hz) {
        double true_m =
            next < -climb_s ? 0.0 : truth->apogee_m - 0.5 * PAPPUS_GRAVITY_MPS2 * next * next;
        while (next > 0.0 && t + dt <= next && isinf(ended_s)) {
            flown_step(&f, dt, t, &z, &v);
            t += dt;
            double below_m = pass_height_m - z;
            if (isinf(f.main_fire_s) && below_m > 0.0)
                f.main_fire_s = events.main_fired_s = t - below_m / v + truth->fire_delay_s;
            if (isnan(events.main_fired_m) && t >= f.main_fire_s)
                events.main_fired_m = z + v * (t - f.main_fire_s);
            if (isnan(events.main_open_m) && t >= f.main_fire_s + truth->main_open_s)
                events.main_open_m = z;
            if (z <= 0.0) ended_s = events.ground_s = t + z / v;
        }
        if (next > 0.0) true_m = isinf(ended_s) ? z - v * (next - t) : 0.0;
        out->time_s[out->count] = next + before_s;
        out->height_m[out->count] =
            pappus_altimeter_indicated_m(air->atmosphere, true_m) +
            truth->noise_m * pappus_random_normal(random, PAPPUS_STREAM_MASS, 1, out->count, 0);
        out->count++;
    }
    out->rows = out->count;
    return events;
}

static inline void flown_free(pappus_flight_log *log)
{
    free(log->time_s);
    free(log->height_m);
}

#endif
