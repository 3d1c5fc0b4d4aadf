/* SPDX-License-Identifier: GPL-3.0-or-later
 * The fast integrator's inside: a block of falls in lock-step, every lane doing
 * what it would do alone.
 *
 * Two ways of going down take turns until all lanes have landed:
 *
 * 1. Steps in time (classical Runge-Kutta of order 4), wherever something
 *    happens: after apogee, around a firing, while a canopy opens. Each lane has
 *    its own step; steps end at the grid's nodes, where the wind has its kinks,
 *    at trigger heights, and at every known event.
 * 2. Depth z, one layer of the wind grid after the other, when nothing happens:
 *    with w the fall speed, q = w^2, r the horizontal airspeed, U the wind and
 *    K = rho CdA / (2 m) sqrt(1 + |r|^2 / q) held at its mid-layer value,
 *
 *      dq/dz = 2 g - 2 K q          q1 = q0 E^2 + g (1 - E^2) / K
 *      dr/dz = -K r - dU/dz         r1 = r0 E - dU/dz (1 - E) / K,   E = e^(-K d)
 *
 *    exactly, whatever the layer's depth against the relaxation length 1/K.
 *    Time is the integral of 1/w and the path that of (U + r)/w: Gauss, with the
 *    part that the relaxation adds integrated exactly.
 *
 * A lane leaves the march at a trigger height, before a layer in which an event
 * falls, and where the slip is no longer small against the fall. Every loop over
 * the lanes is without branches, for the compiler to vectorise.
 *
 * Stops being right: slip greater than half the fall speed inside one layer;
 * heights and times in single precision, fit for falls to some 20 km.
 */
#include <math.h>
#include <stdint.h>
#include <string.h>

#include "engine_block.h"

#define LANES PAPPUS_LANES

static const float gravity = (float)PAPPUS_GRAVITY_MPS2;

/* Steps in time. */
static const float longest_step_s = 0.4f;
static const float step_per_relaxation = 0.35f; /* of the drag's time constant */
static const float step_per_opening = 0.1f;     /* of the canopy's opening */
static const float reached_m = 0.02f;           /* a height counts as reached */
static const float open_enough = 0.999f;
static const int most_rounds = 2000;
static const int most_steps = 100000;

/* The march. */
static const float deepest_layer_m = 30;
static const float most_slip = 0.25f;       /* |r|^2 / q, to begin */
static const float most_change = 1.5f;      /* of q in a layer, relative, to begin */
static const float leaving_slip = 0.36f;    /* |r|^2 / q, to leave */
static const float least_drag_per_m = 1e-9f;

static inline float least(float a, float b)
{
    return a < b ? a : b;
}

static inline float most(float a, float b)
{
    return a > b ? a : b;
}

static inline float root(float x)
{
    return __builtin_sqrtf(x);
}

/* 1 - e^-x for x >= 0, to 3e-7 relative, small x included: 2^f - 1 by its
 * series on |f| <= 1/2 and the power of two in the exponent. */
static inline float relaxed(float x)
{
    const float shift = 12582912; /* 1.5 * 2^23 rounds to the nearest integer */
    float y = most(-x * 1.44269504f, -60);
    float n = (y + shift) - shift;
    float f = y - n;
    float p = f * (0.693147181f + f * (0.240226507f + f * (0.0555041087f +
              f * (0.00961812911f + f * (0.00133335581f + f * 0.000154035304f)))));
    union { int32_t bits; float value; } power = {.bits = ((int32_t)n + 127) << 23};
    return (1 - power.value) - power.value * p;
}

/* The air about one lane: linear in height inside a layer. */
typedef struct {
    float base_m, top_m;
    float u, v, u_slope, v_slope, density, density_slope;
} layer_air;

static inline layer_air air_of_layer(const pappus_air *air, const float *u_mps, const float *v_mps,
                                     int layer, int l)
{
    layer_air a;
    a.base_m = (float)air->height_m[layer];
    a.top_m = (float)air->height_m[layer + 1];
    float per_m = 1 / (a.top_m - a.base_m);
    a.u = u_mps[layer * LANES + l];
    a.v = v_mps[layer * LANES + l];
    a.u_slope = (u_mps[layer * LANES + LANES + l] - a.u) * per_m;
    a.v_slope = (v_mps[layer * LANES + LANES + l] - a.v) * per_m;
    a.density = (float)air->density_kgpm3[layer];
    a.density_slope = ((float)air->density_kgpm3[layer + 1] - a.density) * per_m;
    return a;
}

/* One lane's equation of motion between two events. */
typedef struct {
    layer_air air;
    float half_per_kg, body_m2;
    float drogue_m2, drogue_per_s, drogue_per_m; /* 0 before its firing */
    float main_m2, main_per_s, main_per_m;
} motion;

typedef struct {
    float z, ve, vn, vup, drogue, main;
} state;

typedef struct {
    float ae, an, aup, drogue, main;
    float pressure; /* density * airspeed^2 */
} rates;

static inline float share(float opening)
{
    float p = least(opening, 1);
    return p * p;
}

static inline rates rates_at(const motion *m, state s)
{
    float height = s.z - m->air.base_m;
    float re = s.ve - (m->air.u + m->air.u_slope * height);
    float rn = s.vn - (m->air.v + m->air.v_slope * height);
    float density = m->air.density + m->air.density_slope * height;
    float speed = root(re * re + rn * rn + s.vup * s.vup);
    float area = m->body_m2 + m->drogue_m2 * share(s.drogue) + m->main_m2 * share(s.main);
    float drag = m->half_per_kg * density * area * speed;
    return (rates){
        .ae = -drag * re,
        .an = -drag * rn,
        .aup = -drag * s.vup - gravity,
        .drogue = m->drogue_per_s + m->drogue_per_m * speed,
        .main = m->main_per_s + m->main_per_m * speed,
        .pressure = density * speed * speed,
    };
}

static inline state moved(state s, rates k, float vup, float dt)
{
    return (state){
        .z = s.z + dt * vup,
        .ve = s.ve + dt * k.ae,
        .vn = s.vn + dt * k.an,
        .vup = s.vup + dt * k.aup,
        .drogue = s.drogue + dt * k.drogue,
        .main = s.main + dt * k.main,
    };
}

/* Time until the fall reaches a height below, from speed and acceleration. */
static inline float time_to_fall(float drop_m, float vup, float aup)
{
    float square = vup * vup - 2 * aup * drop_m;
    float sum = root(most(square, 0)) - vup;
    return square > 0 && sum > 0 ? 2 * drop_m / sum : INFINITY;
}

/* Time until a canopy is fully open, its rate changing as the fall slows. */
static inline float time_to_open(float opening, float per_s, float per_m, float speed,
                                 float speed_rate)
{
    float rate = per_s + per_m * speed;
    float straight = least((1 - opening) / rate, longest_step_s);
    float middle = most(speed + 0.5f * straight * speed_rate, 0.3f * speed);
    return rate > 0 && opening < 1 ? (1 - opening) / (per_s + per_m * middle) : INFINITY;
}

static inline float time_left(float since_s)
{
    return since_s < 0 ? -since_s : INFINITY;
}

/* What happens at a lane's state: passing of triggers, firing, full opening. */
static inline void fire_canopy(pappus_block_canopy *c, int l, bool now, float speed, float height,
                               float time)
{
    bool fires = now && c->fired[l] == 0 && c->since_s[l] >= 0;
    c->fired[l] = fires ? 1 : c->fired[l];
    c->fire_mps[l] = fires ? speed : c->fire_mps[l];
    c->fire_m[l] = fires ? height : c->fire_m[l];
    c->opening[l] = fires ? c->opening_at_fire[l] : c->opening[l];
    bool opens = now && c->open[l] == 0 && c->opening[l] >= open_enough;
    c->open[l] = opens ? 1 : c->open[l];
    c->opening[l] = opens ? 1 : c->opening[l];
    c->open_m[l] = opens ? height : c->open_m[l];
    c->open_s[l] = opens ? time : c->open_s[l];
}

static inline void pass_trigger(pappus_block *b, int i, int l, bool now)
{
    float above = b->height_m[l] - b->trigger_m[i][l];
    bool passes = now && b->time_s[l] >= 0 && above <= reached_m;
    float late = above > -1 ? -above / most(-b->vup_mps[l], 1e-3f) : 0;
    float since = most(b->main.since_s[l], late - b->trigger_delay_s[i][l]);
    b->main.since_s[l] = passes ? since : b->main.since_s[l];
    b->trigger_m[i][l] = passes ? -1e9f : b->trigger_m[i][l];
}

static void events(pappus_block *b, const pappus_air *air, const float *u_mps, const float *v_mps)
{
    for (int i = 0; i < b->trigger_count; i++)
        for (int l = 0; l < LANES; l++)
            pass_trigger(b, i, l, b->mode[l] == PAPPUS_LANE_STEPS);
    for (int l = 0; l < LANES; l++) {
        bool now = b->mode[l] == PAPPUS_LANE_STEPS;
        layer_air a = air_of_layer(air, u_mps, v_mps, b->layer[l], l);
        float z = b->height_m[l];
        float re = b->ve_mps[l] - (a.u + a.u_slope * (z - a.base_m));
        float rn = b->vn_mps[l] - (a.v + a.v_slope * (z - a.base_m));
        float speed = root(re * re + rn * rn + b->vup_mps[l] * b->vup_mps[l]);
        fire_canopy(&b->drogue, l, now, speed, z, b->time_s[l]);
        fire_canopy(&b->main, l, now, speed, z, b->time_s[l]);
    }
}

static inline motion motion_of(const pappus_block *b, layer_air air, int l)
{
    bool fired = b->drogue.fired[l] > 0, released = b->main.fired[l] > 0;
    return (motion){
        .air = air,
        .half_per_kg = b->half_per_kg[l],
        .body_m2 = (fired ? b->body_after_m2[l] : b->body_before_m2[l]) +
                   (fired && !released ? b->held_m2[l] : 0),
        .drogue_m2 = b->drogue.cds_m2[l] * b->drogue.fired[l],
        .drogue_per_s = b->drogue.per_s[l] * b->drogue.fired[l],
        .drogue_per_m = b->drogue.per_m[l] * b->drogue.fired[l],
        .main_m2 = b->main.cds_m2[l] * b->main.fired[l],
        .main_per_s = b->main.per_s[l] * b->main.fired[l],
        .main_per_m = b->main.per_m[l] * b->main.fired[l],
    };
}

/* The longest step that the lane's state allows. */
static inline float step_of(const pappus_block *b, const motion *m, state s, rates k, int l)
{
    float speed = root(k.pressure / (m->air.density + m->air.density_slope * (s.z - m->air.base_m)));
    float drag = m->half_per_kg * k.pressure;
    float dt = least(longest_step_s, time_left(b->drogue.since_s[l]));
    dt = least(dt, time_left(b->main.since_s[l]));
    dt = least(dt, time_left(b->time_s[l]));
    dt = least(dt, time_to_fall(s.z - m->air.base_m, s.vup, k.aup));

    float faster = speed + 0.5f * gravity * dt;
    float drogue_rate = m->drogue_per_s + m->drogue_per_m * faster;
    float main_rate = m->main_per_s + m->main_per_m * faster;
    dt = s.drogue < 1 ? least(dt, step_per_opening / most(drogue_rate, 1e-6f)) : dt;
    dt = s.main < 1 ? least(dt, step_per_opening / most(main_rate, 1e-6f)) : dt;
    float area = m->body_m2 + m->drogue_m2 * share(s.drogue + dt * drogue_rate) +
                 m->main_m2 * share(s.main + dt * main_rate);
    float relaxation = drag * area * faster / most(speed * speed, 1e-6f);
    dt = least(dt, step_per_relaxation / most(relaxation, 1e-6f));

    float area_now = m->body_m2 + m->drogue_m2 * share(s.drogue) + m->main_m2 * share(s.main);
    float speed_rate = -drag * area_now - gravity * s.vup / most(speed, 1e-3f);
    dt = least(dt, time_to_open(s.drogue, m->drogue_per_s, m->drogue_per_m, speed, speed_rate));
    return least(dt, time_to_open(s.main, m->main_per_s, m->main_per_m, speed, speed_rate));
}

static inline void keep_peak(pappus_block_canopy *c, int l, bool now, float pressure, float opening)
{
    float load = pressure * share(opening);
    c->peak[l] = now && c->fired[l] > 0 && load > c->peak[l] ? load : c->peak[l];
}

static void time_step(pappus_block *b, const pappus_air *air, const float *u_mps,
                      const float *v_mps)
{
    for (int l = 0; l < LANES; l++) {
        bool now = b->mode[l] == PAPPUS_LANE_STEPS;
        motion m = motion_of(b, air_of_layer(air, u_mps, v_mps, b->layer[l], l), l);
        state s = {b->height_m[l], b->ve_mps[l], b->vn_mps[l], b->vup_mps[l], b->drogue.opening[l],
                   b->main.opening[l]};
        rates k1 = rates_at(&m, s);
        float dt = step_of(b, &m, s, k1, l);
        for (int i = 0; i < PAPPUS_TRIGGERS; i++) {
            float drop = s.z - b->trigger_m[i][l];
            float limit = time_to_fall(drop, s.vup, k1.aup);
            dt = drop > 0 ? least(dt, limit) : dt;
        }
        dt = now ? dt : 0;

        state s2 = moved(s, k1, s.vup, 0.5f * dt);
        rates k2 = rates_at(&m, s2);
        state s3 = moved(s, k2, s2.vup, 0.5f * dt);
        rates k3 = rates_at(&m, s3);
        state s4 = moved(s, k3, s3.vup, dt);
        rates k4 = rates_at(&m, s4);
        keep_peak(&b->drogue, l, now, k1.pressure, s.drogue);
        keep_peak(&b->drogue, l, now, k3.pressure, s3.drogue);
        keep_peak(&b->drogue, l, now, k4.pressure, s4.drogue);
        keep_peak(&b->main, l, now, k1.pressure, s.main);
        keep_peak(&b->main, l, now, k3.pressure, s3.main);
        keep_peak(&b->main, l, now, k4.pressure, s4.main);

        float sixth = dt / 6;
        b->east_m[l] += sixth * (s.ve + 2 * (s2.ve + s3.ve) + s4.ve);
        b->north_m[l] += sixth * (s.vn + 2 * (s2.vn + s3.vn) + s4.vn);
        b->height_m[l] += sixth * (s.vup + 2 * (s2.vup + s3.vup) + s4.vup);
        b->ve_mps[l] += sixth * (k1.ae + 2 * (k2.ae + k3.ae) + k4.ae);
        b->vn_mps[l] += sixth * (k1.an + 2 * (k2.an + k3.an) + k4.an);
        b->vup_mps[l] += sixth * (k1.aup + 2 * (k2.aup + k3.aup) + k4.aup);
        b->drogue.opening[l] += sixth * (k1.drogue + 2 * (k2.drogue + k3.drogue) + k4.drogue);
        b->main.opening[l] += sixth * (k1.main + 2 * (k2.main + k3.main) + k4.main);
        b->time_s[l] += dt;
        b->drogue.since_s[l] += dt;
        b->main.since_s[l] += dt;
    }
}

/* Due to fire, or opening. */
static inline bool is_busy(const pappus_block_canopy *c, int l)
{
    return c->open[l] == 0 && (c->fired[l] > 0 || c->since_s[l] >= 0);
}

/* Into the next layer, onto the ground, or over to the march. */
static void after_step(pappus_block *b, const pappus_air *air, const float *u_mps,
                       const float *v_mps)
{
    int last = (int)air->node_count - 2;
    for (int l = 0; l < LANES; l++) {
        bool now = b->mode[l] == PAPPUS_LANE_STEPS;
        int layer = b->layer[l];
        layer_air a = air_of_layer(air, u_mps, v_mps, layer, l);
        float z = b->height_m[l];
        bool landed = now && layer == 0 && z <= reached_m && b->vup_mps[l] < 0;
        float left = landed ? -z / b->vup_mps[l] : 0;
        b->east_m[l] += left * b->ve_mps[l];
        b->north_m[l] += left * b->vn_mps[l];
        b->time_s[l] += left;
        b->height_m[l] = landed ? 0 : z;

        bool down = now && layer > 0 && z <= a.base_m + reached_m;
        bool up = now && layer < last && z > a.top_m + reached_m;
        b->layer[l] = layer - (down ? 1 : 0) + (up ? 1 : 0);

        float height = z - a.base_m;
        float re = b->ve_mps[l] - (a.u + a.u_slope * height);
        float rn = b->vn_mps[l] - (a.v + a.v_slope * height);
        float density = a.density + a.density_slope * height;
        float w = -b->vup_mps[l];
        float q = w * w;
        float area = (b->drogue.fired[l] > 0 ? b->body_after_m2[l] : b->body_before_m2[l]) +
                     (b->drogue.fired[l] > 0 && b->main.fired[l] == 0 ? b->held_m2[l] : 0) +
                     b->drogue.cds_m2[l] * b->drogue.fired[l] + b->main.cds_m2[l] * b->main.fired[l];
        float depth = least(height, deepest_layer_m);
        float change = 2 * depth * __builtin_fabsf(gravity - density * b->half_per_kg[l] * area * q);
        float wait = least(time_left(b->drogue.since_s[l]), time_left(b->main.since_s[l]));
        bool busy = is_busy(&b->drogue, l) || is_busy(&b->main, l);
        for (int i = 0; i < PAPPUS_TRIGGERS; i++) busy = busy || z <= b->trigger_m[i][l] + reached_m;
        bool marches = now && !landed && !down && w > 0 && b->time_s[l] >= 0 && !busy &&
                       re * re + rn * rn <= most_slip * q && change <= most_change * q &&
                       wait * w > 1.2f * height;
        b->mode[l] = landed ? PAPPUS_LANE_LANDED : marches ? PAPPUS_LANE_MARCHES : b->mode[l];
    }
}

static bool any_in_mode(const pappus_block *b, int mode)
{
    int any = 0;
    for (int l = 0; l < LANES; l++) any |= b->mode[l] == mode;
    return any != 0;
}

static int steps_in_time(pappus_block *b, const pappus_air *air, const float *u_mps,
                         const float *v_mps)
{
    for (int step = 0; any_in_mode(b, PAPPUS_LANE_STEPS); step++) {
        if (step == most_steps) return 1;
        events(b, air, u_mps, v_mps);
        time_step(b, air, u_mps, v_mps);
        after_step(b, air, u_mps, v_mps);
    }
    return 0;
}

/* The drag area of a lane with nothing opening. */
static void march_constants(const pappus_block *b, pappus_lanes drag_per_density,
                            pappus_lanes next_trigger_m, pappus_lanes next_event_s)
{
    for (int l = 0; l < LANES; l++) {
        bool fired = b->drogue.fired[l] > 0, released = b->main.fired[l] > 0;
        float area = (fired ? b->body_after_m2[l] + b->drogue.cds_m2[l] : b->body_before_m2[l]) +
                     (fired && !released ? b->held_m2[l] : 0) +
                     (released ? b->main.cds_m2[l] : 0);
        drag_per_density[l] = area * b->half_per_kg[l];
        float trigger = -1e9f;
        for (int i = 0; i < PAPPUS_TRIGGERS; i++) trigger = most(trigger, b->trigger_m[i][l]);
        next_trigger_m[l] = released ? -1e9f : trigger;
        next_event_s[l] = least(time_left(b->drogue.since_s[l]), time_left(b->main.since_s[l]));
    }
}

/* Brings the marching lanes of one layer down to `floor_m`. */
static void march_layer(pappus_block *b, const pappus_air *air, const float *u_mps,
                        const float *v_mps, int layer, float floor_m, bool to_node,
                        const pappus_lanes drag_per_density, const pappus_lanes next_trigger_m,
                        pappus_lanes next_event_s)
{
    const float nodes[3] = {0.112701665f, 0.5f, 0.887298335f};
    const float weights[3] = {0.277777778f, 0.444444444f, 0.277777778f};
    for (int l = 0; l < LANES; l++) {
        layer_air a = air_of_layer(air, u_mps, v_mps, layer, l);
        float z = b->height_m[l];
        bool now = b->mode[l] == PAPPUS_LANE_MARCHES && b->layer[l] == layer && z > floor_m;
        float target = most(floor_m, next_trigger_m[l]);
        float d = now ? z - target : 1;
        float height = z - a.base_m;
        float u = a.u + a.u_slope * height, v = a.v + a.v_slope * height;
        float re = b->ve_mps[l] - u, rn = b->vn_mps[l] - v;
        float q = b->vup_mps[l] * b->vup_mps[l];
        float density = a.density + a.density_slope * (height - 0.5f * d);
        float kappa = density * drag_per_density[l];

        float k = most(kappa * root(1 + (re * re + rn * rn) / q), least_drag_per_m);
        float m = relaxed(0.5f * k * d);
        float length = m / k;
        float qm = q * (1 - m) * (1 - m) + gravity * length * (2 - m);
        float rem = re * (1 - m) + a.u_slope * length;
        float rnm = rn * (1 - m) + a.v_slope * length;
        k = most(kappa * root(1 + (rem * rem + rnm * rnm) / qm), least_drag_per_m);

        float per_k = 1 / k;
        float m0 = relaxed(nodes[0] * k * d), half = relaxed((0.5f - nodes[0]) * k * d);
        float m1 = m0 + half - m0 * half;
        float m2 = m1 + half - m1 * half;
        float m3 = m2 + m0 - m2 * m0;
        float gone[3] = {m0, m1, m2};
        float dt = 0, east = 0, north = 0, re_sum = 0, rn_sum = 0;
        for (int i = 0; i < 3; i++) {
            float e = 1 - gone[i], len = gone[i] * per_k;
            float qi = q * e * e + gravity * len * (1 + e);
            float rei = re * e + a.u_slope * len, rni = rn * e + a.v_slope * len;
            float per_w = weights[i] / root(qi);
            float deep = nodes[i] * d;
            dt += per_w;
            east += per_w * (u - a.u_slope * deep + rei);
            north += per_w * (v - a.v_slope * deep + rni);
            re_sum += weights[i] * rei;
            rn_sum += weights[i] * rni;
        }
        float e = 1 - m3, len = m3 * per_k;
        float q1 = q * e * e + gravity * len * (1 + e);
        float re1 = re * e + a.u_slope * len, rn1 = rn * e + a.v_slope * len;
        /* What Gauss misses of a relaxation shorter than the layer. */
        float exact = k * d > 0.3f ? per_k : 0, kept = k * d > 0.3f ? d : 0;
        east += dt * ((re - re1 + a.u_slope * d) * exact - re_sum * kept) / d;
        north += dt * ((rn - rn1 + a.v_slope * d) * exact - rn_sum * kept) / d;
        dt *= d;
        east *= d;
        north *= d;

        bool goes = now && dt < next_event_s[l];
        bool lands = goes && target <= 0;
        bool leaves = (now && !goes) ||
                      (goes && (target > floor_m || re1 * re1 + rn1 * rn1 > leaving_slip * q1));
        float z1 = goes ? target : z;
        b->height_m[l] = z1;
        b->east_m[l] += goes ? east : 0;
        b->north_m[l] += goes ? north : 0;
        b->ve_mps[l] = goes ? u - a.u_slope * d + re1 : b->ve_mps[l];
        b->vn_mps[l] = goes ? v - a.v_slope * d + rn1 : b->vn_mps[l];
        b->vup_mps[l] = goes ? -root(q1) : b->vup_mps[l];
        float passed = goes ? dt : 0;
        b->time_s[l] += passed;
        b->drogue.since_s[l] += passed;
        b->main.since_s[l] += passed;
        next_event_s[l] -= passed;
        b->layer[l] = goes && to_node && layer > 0 && target <= floor_m ? layer - 1 : b->layer[l];
        b->mode[l] = lands ? PAPPUS_LANE_LANDED : leaves ? PAPPUS_LANE_STEPS : b->mode[l];
        float end_density = a.density + a.density_slope * (z1 - a.base_m);
        float pressure = end_density * (q1 + re1 * re1 + rn1 * rn1);
        keep_peak(&b->drogue, l, goes, pressure, 1);
        keep_peak(&b->main, l, goes, pressure, 1);
    }
}

static void march(pappus_block *b, const pappus_air *air, const float *u_mps, const float *v_mps)
{
    pappus_lanes drag_per_density, next_trigger_m, next_event_s;
    march_constants(b, drag_per_density, next_trigger_m, next_event_s);
    int layer = 0;
    for (int l = 0; l < LANES; l++)
        layer = b->mode[l] == PAPPUS_LANE_MARCHES && b->layer[l] > layer ? b->layer[l] : layer;
    for (; layer >= 0 && any_in_mode(b, PAPPUS_LANE_MARCHES); layer--) {
        float base = (float)air->height_m[layer];
        float depth = (float)air->height_m[layer + 1] - base;
        int parts = 1 + (int)(depth / deepest_layer_m);
        for (int part = parts - 1; part >= 0; part--)
            march_layer(b, air, u_mps, v_mps, layer, base + depth * (float)part / (float)parts,
                        part == 0, drag_per_density, next_trigger_m, next_event_s);
    }
}

int PAPPUS_KERNEL(pappus_engine_block)(pappus_block *block, const pappus_air *air,
                                       const float *u_mps, const float *v_mps);

int PAPPUS_KERNEL(pappus_engine_block)(pappus_block *block, const pappus_air *air,
                                       const float *u_mps, const float *v_mps)
{
    for (int round = 0; round < most_rounds; round++) {
        if (steps_in_time(block, air, u_mps, v_mps) != 0) return 1;
        if (!any_in_mode(block, PAPPUS_LANE_MARCHES)) return 0;
        march(block, air, u_mps, v_mps);
    }
    return 1;
}
