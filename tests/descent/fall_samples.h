/* SPDX-License-Identifier: GPL-3.0-or-later
 * Random falls, and an air for them, to compare integrators with. Every number
 * here is our own; none is a measurement. */
#ifndef PAPPUS_TESTS_FALL_SAMPLES_H
#define PAPPUS_TESTS_FALL_SAMPLES_H

#include <math.h>
#include <stdint.h>
#include <stdlib.h>

#include "fall.h"

/* splitmix64 (Steele, Lea, Flood 2014). */
static inline double sample_uniform(uint64_t *seed, double low, double high)
{
    uint64_t x = (*seed += 0x9e3779b97f4a7c15u);
    x = (x ^ (x >> 30)) * 0xbf58476d1ce4e5b9u;
    x = (x ^ (x >> 27)) * 0x94d049bb133111ebu;
    x ^= x >> 31;
    return low + (high - low) * ((double)(x >> 11) + 0.5) * 0x1p-53;
}

static inline double sample_normal(uint64_t *seed)
{
    double a = sample_uniform(seed, 0, 1), b = sample_uniform(seed, 0, 1);
    return sqrt(-2 * log(a)) * cos(6.283185307179586 * b);
}

static inline bool sample_chance(uint64_t *seed, double p)
{
    return sample_uniform(seed, 0, 1) < p;
}

/* Log-uniform. */
static inline double sample_scale(uint64_t *seed, double low, double high)
{
    return exp(sample_uniform(seed, log(low), log(high)));
}

#define SAMPLE_NODES 400

typedef struct {
    pappus_air air;
    double height_m[SAMPLE_NODES], density_kgpm3[SAMPLE_NODES];
} sample_air;

/* 1976 standard troposphere from the pad up; nodes 10 m apart below 100 m, 25 m
 * to 2 km, 50 m to 12 km. */
static inline void sample_air_fill(sample_air *s, double elevation_msl_m)
{
    size_t n = 0;
    double z = 0;
    while (z <= 12000) {
        double t = 1 - 2.25577e-5 * (z + elevation_msl_m);
        s->height_m[n] = z;
        s->density_kgpm3[n] = 1.225 * pow(t, 4.25588);
        n++;
        z += z < 100 ? 10 : z < 2000 ? 25 : 50;
    }
    s->air = (pappus_air){.node_count = n,
                          .height_m = s->height_m,
                          .density_kgpm3 = s->density_kgpm3,
                          .elevation_msl_m = elevation_msl_m};
}

/* A wind of one lane: a power law below 300 m, a jump of shear somewhere, and a
 * process of correlation exp(-|dz|/length). */
static inline void sample_wind(float *u, float *v, int lane, const pappus_air *air, uint64_t *seed,
                               double most_shear_mps, double sd_mps)
{
    double speed = sample_uniform(seed, 0, 12), bearing = sample_uniform(seed, 0, 6.2831853);
    double shear = sample_uniform(seed, 0, most_shear_mps);
    double turn = sample_uniform(seed, 0, 6.2831853);
    double bottom = sample_uniform(seed, 0, 3000), depth = sample_uniform(seed, 300, 2000);
    double length = sample_uniform(seed, 300, 2000);
    double a = sd_mps * sample_normal(seed), b = sd_mps * sample_normal(seed);
    for (size_t i = 0; i < air->node_count; i++) {
        double z = air->height_m[i];
        if (i > 0) {
            double keep = exp(-(z - air->height_m[i - 1]) / length), add = sqrt(1 - keep * keep);
            a = keep * a + add * sd_mps * sample_normal(seed);
            b = keep * b + add * sd_mps * sample_normal(seed);
        }
        double low = pow(fmin(z / 300, 1), 0.143);
        double layer = shear * fmin(fmax((z - bottom) / depth, 0), 1);
        size_t at = i * PAPPUS_LANES + (size_t)lane;
        u[at] = (float)(low * (speed * cos(bearing) + a) + layer * cos(turn));
        v[at] = (float)(low * (speed * sin(bearing) + b) + layer * sin(turn));
    }
}

/* A plan as flown on most days: 18.5 lb from 5200 ft, an 18 inch drogue, a 96
 * inch main at 700 ft. */
static inline pappus_fall sample_demo_fall(uint64_t *seed)
{
    const double pi = 3.141592653589793;
    double drogue_m2 = pi / 4 * 0.4572 * 0.4572, main_m2 = pi / 4 * 2.4384 * 2.4384;
    double height = 1584.96 + 76.2 * sample_normal(seed);
    double speed = 10.668 + 4.572 * sample_normal(seed);
    return (pappus_fall){
        .mass_kg = 8.391 + 0.0907 * sample_normal(seed),
        .east_m = -80 + 36.6 * sample_normal(seed),
        .north_m = -45 + 36.6 * sample_normal(seed),
        .height_m = height,
        .apogee_m = height,
        .ve_mps = -0.87 * speed,
        .vn_mps = -0.5 * speed,
        .drogue_cds_m2 = drogue_m2 * (1.5 + 0.15 * sample_normal(seed)),
        .drogue_open_s = fmax(0.02, 0.3 + 0.1 * sample_normal(seed)),
        .drogue_fill_m = 8 * 0.4572 / 0.68,
        .drogue_cx = 1.7,
        .main_cds_m2 = main_m2 * (0.78 + 0.08 * sample_normal(seed)),
        .main_open_s = NAN,
        .main_fill_m = 8 * 2.4384,
        .main_cx = 1.7,
        .main_fire_s = INFINITY,
        .trigger_count = 2,
        .trigger_height_m = {213.36 + 4.572 * sample_normal(seed), 182.88},
        .trigger_delay_s = {fmax(0, 0.1 + 0.05 * sample_normal(seed)), 0},
    };
}

/* Anything a plan may hold, and the draws of its faults. */
static inline pappus_fall sample_wild_fall(uint64_t *seed)
{
    pappus_fall f = {.mass_kg = sample_scale(seed, 0.5, 50),
                     .apogee_fire_s = INFINITY,
                     .main_fire_s = INFINITY,
                     .drogue_open_s = NAN,
                     .main_open_s = NAN};
    double weight = f.mass_kg * PAPPUS_GRAVITY_MPS2;
    bool canopies = sample_chance(seed, 0.9);
    double body = 2 * weight / 1.225;
    f.apogee_m = f.height_m = sample_scale(seed, 60, 9000);
    f.east_m = sample_uniform(seed, -500, 500);
    f.north_m = sample_uniform(seed, -500, 500);
    double speed = sample_chance(seed, 0.2) ? 60 : sample_uniform(seed, 0, 20);
    double heading = sample_uniform(seed, 0, 6.2831853);
    f.ve_mps = speed * cos(heading);
    f.vn_mps = speed * sin(heading);
    if (sample_chance(seed, 0.5)) f.body_before_m2 = body / pow(sample_uniform(seed, 60, 150), 2);
    f.body_after_m2 = sample_chance(seed, 0.5) ? body / pow(sample_uniform(seed, 30, 90), 2) : 0;
    if (!canopies) {
        if (sample_chance(seed, 0.5)) f.apogee_fire_s = sample_uniform(seed, 0, 2);
        if (sample_chance(seed, 0.2)) f.body_before_m2 = f.body_after_m2 = 0;
        return f;
    }
    if (sample_chance(seed, 0.2)) { /* early ejection by the motor */
        double early = fmin(sample_uniform(seed, 0, 3), 0.9 * sqrt(2 * f.apogee_m / 9.80665));
        f.start_s = -early;
        f.height_m -= 0.5 * PAPPUS_GRAVITY_MPS2 * early * early;
        f.vup_mps = PAPPUS_GRAVITY_MPS2 * early;
    }
    f.apogee_fire_s = f.start_s + (sample_chance(seed, 0.5) ? 0 : sample_uniform(seed, 0, 3));
    bool drogue = sample_chance(seed, 0.85), main = sample_chance(seed, 0.85);
    f.drogue_cx = sample_uniform(seed, 1, 2);
    f.main_cx = sample_uniform(seed, 1, 2);
    double drogue_m2 = body / pow(sample_uniform(seed, 12, 60), 2);
    double main_m2 = body / pow(sample_uniform(seed, 2.5, 10), 2);
    if (drogue) f.drogue_cds_m2 = drogue_m2;
    if (main) f.main_cds_m2 = main_m2;
    if (drogue) f.drogue_shields_m2 = f.body_after_m2 * sample_uniform(seed, 0, 1);
    double left_m2 = f.body_after_m2 - f.drogue_shields_m2;
    if (main) f.main_shields_m2 = left_m2 * sample_uniform(seed, 0, 1);
    f.drogue_fill_m = sample_uniform(seed, 6, 12) * sqrt(drogue_m2 / 0.6);
    f.main_fill_m = sample_uniform(seed, 6, 12) * sqrt(main_m2 / 0.6);
    if (sample_chance(seed, 0.5)) f.drogue_open_s = sample_uniform(seed, 0, 1);
    if (sample_chance(seed, 0.3)) f.main_open_s = sample_uniform(seed, 0.1, 3);
    if (sample_chance(seed, 0.15)) f.held_cds_m2 = 0.02 * main_m2;
    if (sample_chance(seed, 0.2)) { /* main dragged out at apogee */
        f.main_fire_s = f.apogee_fire_s + (sample_chance(seed, 0.5) ? 0 : 0.5);
        return f;
    }
    f.trigger_count = 1 + (int)sample_uniform(seed, 0, 3.999);
    double height = sample_chance(seed, 0.1) ? 1.2 * f.apogee_m : sample_scale(seed, 5, 600);
    for (int i = 0; i < f.trigger_count; i++) {
        f.trigger_height_m[i] = height * sample_uniform(seed, 0.8, 1);
        f.trigger_delay_s[i] = sample_chance(seed, 0.3) ? 0 : sample_uniform(seed, 0, 2);
    }
    return f;
}

#endif
