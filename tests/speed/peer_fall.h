/* SPDX-License-Identifier: GPL-3.0-or-later
 * A fall for integrators of a library, what the benchmark measures the engine against: its
 * equation, and what happens between steps. An integrator goes from event to event; steps may
 * be cut at the nodes of the wind, where its kinks are: no step then is taken twice for a
 * kink, but none is longer than a layer either. */
#ifndef PAPPUS_TESTS_PEER_FALL_H
#define PAPPUS_TESTS_PEER_FALL_H

#include <math.h>
#include <string.h>

#include "fall.h"

enum { GF_EAST, GF_NORTH, GF_UP, GF_VE, GF_VN, GF_VUP, GF_DROGUE, GF_MAIN, GF_SIZE };

typedef struct {
    const pappus_air *air;
    const pappus_fall *fall;
    const float *u, *v; /* [node][lane] */
    int lane;
    bool cuts_at_nodes;
    size_t layer;
    bool fired, released;
    double t, y[GF_SIZE], release_s, trigger_m[PAPPUS_TRIGGERS];
    int triggers;
    bool opened;
    double drogue_peak, main_peak;
    pappus_touchdown *out;
} peer_fall;

static inline void peer_fall_air(peer_fall *g, double z, double *u, double *v, double *density)
{
    const pappus_air *air = g->air;
    size_t k = g->layer;
    while (k > 0 && z < air->height_m[k])
        k--;
    while (k + 2 < air->node_count && z > air->height_m[k + 1])
        k++;
    g->layer = k;
    double x = (z - air->height_m[k]) / (air->height_m[k + 1] - air->height_m[k]);
    const float *pu = g->u + k * PAPPUS_LANES + g->lane, *pv = g->v + k * PAPPUS_LANES + g->lane;
    *u = pu[0] + x * (pu[PAPPUS_LANES] - pu[0]);
    *v = pv[0] + x * (pv[PAPPUS_LANES] - pv[0]);
    /* an exponential: its chord less the parabola */
    double base = air->density_kgpm3[k], change = air->density_kgpm3[k + 1] - base;
    *density = base + x * change * (1 - 0.5 * change / base * (1 - x));
}

static inline double peer_fall_share(double opening)
{
    double p = fmin(opening, 1);
    return p * p;
}

static inline double peer_fall_rate(double open_s, double fill_m, double speed)
{
    return isnan(open_s) ? speed / fmax(fill_m, 1e-9) : 1 / fmax(open_s, 1e-9);
}

static inline double peer_fall_pressure(peer_fall *g, const double y[])
{
    double u, v, density;
    peer_fall_air(g, y[GF_UP], &u, &v, &density);
    double re = y[GF_VE] - u, rn = y[GF_VN] - v;
    return density * (re * re + rn * rn + y[GF_VUP] * y[GF_VUP]);
}

static inline int peer_fall_rates(double t, const double y[], double dy[], void *context)
{
    (void)t;
    peer_fall *g = context;
    const pappus_fall *f = g->fall;
    double u, v, density;
    peer_fall_air(g, y[GF_UP], &u, &v, &density);
    double re = y[GF_VE] - u, rn = y[GF_VN] - v;
    double speed = sqrt(re * re + rn * rn + y[GF_VUP] * y[GF_VUP]);
    double area = g->fired || g->released ? f->body_after_m2 : f->body_before_m2;
    if (g->fired) area += (f->drogue_cds_m2 - f->drogue_shields_m2) * peer_fall_share(y[GF_DROGUE]);
    if (g->fired && !g->released) area += f->held_cds_m2;
    if (g->released) area += (f->main_cds_m2 - f->main_shields_m2) * peer_fall_share(y[GF_MAIN]);
    double drag = 0.5 * density * area * speed / f->mass_kg;
    dy[GF_EAST] = y[GF_VE];
    dy[GF_NORTH] = y[GF_VN];
    dy[GF_UP] = y[GF_VUP];
    dy[GF_VE] = -drag * re;
    dy[GF_VN] = -drag * rn;
    dy[GF_VUP] = -drag * y[GF_VUP] - PAPPUS_GRAVITY_MPS2;
    dy[GF_DROGUE] = g->fired && y[GF_DROGUE] < 1
                        ? peer_fall_rate(f->drogue_open_s, f->drogue_fill_m, speed)
                        : 0;
    dy[GF_MAIN] =
        g->released && y[GF_MAIN] < 1 ? peer_fall_rate(f->main_open_s, f->main_fill_m, speed) : 0;
    return 0;
}

/* The events that are places, each a value that falls through 0. */
static inline double peer_fall_event(const peer_fall *g, const double y[], int event)
{
    int n = g->triggers;
    if (event < n) return g->trigger_m[event] < 0 ? 1 : y[GF_UP] - g->trigger_m[event];
    if (event == n) return y[GF_UP];
    /* an opening is set to exactly 1 when it is taken */
    if (event == n + 1) return g->fired && y[GF_DROGUE] != 1 ? 1 - 1e-9 - y[GF_DROGUE] : 1;
    return g->released && y[GF_MAIN] != 1 ? 1 - 1e-9 - y[GF_MAIN] : 1;
}

/* Time to the next node below at the present speed; a node that is all but reached
 * is passed over. */
static inline double peer_fall_time_to_node(const peer_fall *g, const double y[])
{
    const double *height_m = g->air->height_m;
    size_t k = g->layer;
    if (!(y[GF_VUP] < -1)) return INFINITY;
    if (k > 0 && y[GF_UP] - height_m[k] < 0.02 * (height_m[k + 1] - height_m[k])) k--;
    return (y[GF_UP] - height_m[k]) / -y[GF_VUP];
}

static inline void peer_fall_begin(peer_fall *g, pappus_touchdown *out, const pappus_fall *f,
                                   const float *u, const float *v, int lane)
{
    const double start[GF_SIZE] = {f->east_m, f->north_m, f->height_m, f->ve_mps,
                                   f->vn_mps, f->vup_mps, 0,           0};
    *g = (peer_fall){.air = g->air,
                     .fall = f,
                     .u = u,
                     .v = v,
                     .lane = lane,
                     .cuts_at_nodes = g->cuts_at_nodes,
                     .layer = g->air->node_count - 2,
                     .t = f->start_s,
                     .release_s = f->main_fire_s,
                     .triggers = f->trigger_count,
                     .out = out};
    memcpy(g->y, start, sizeof start);
    memcpy(g->trigger_m, f->trigger_height_m, sizeof g->trigger_m);
    *out = (pappus_touchdown){.drogue_fire_mps = NAN,
                              .main_fire_mps = NAN,
                              .drogue_load_n = NAN,
                              .main_load_n = NAN,
                              .main_fire_m = NAN,
                              .main_full_open_m = 0,
                              .time_full_open_s = NAN};
}

static inline double peer_fall_airspeed(peer_fall *g)
{
    double u, v, density;
    peer_fall_air(g, g->y[GF_UP], &u, &v, &density);
    return sqrt(peer_fall_pressure(g, g->y) / density);
}

/* What is due at the present state; true when the equation is another from now on. */
static inline bool peer_fall_happens(peer_fall *g)
{
    const pappus_fall *f = g->fall;
    bool has_drogue = f->drogue_cds_m2 > 0, has_main = f->main_cds_m2 > 0, changed = false;
    double *y = g->y;
    for (int i = 0; g->t >= 0 && i < g->triggers; i++)
        if (g->trigger_m[i] >= 0 && y[GF_UP] <= g->trigger_m[i]) {
            g->release_s = fmin(g->release_s, g->t + f->trigger_delay_s[i]);
            g->trigger_m[i] = -1;
        }
    if (!g->fired && g->t >= f->apogee_fire_s) {
        g->fired = changed = true;
        if (has_drogue) g->out->drogue_fire_mps = peer_fall_airspeed(g);
    }
    if (!g->released && g->t >= g->release_s) {
        g->released = changed = true;
        if (has_main) g->out->main_fire_mps = peer_fall_airspeed(g);
        if (has_main) g->out->main_fire_m = y[GF_UP];
    }
    if (g->released && has_main && !g->opened && y[GF_MAIN] >= 1 - 2e-9) {
        g->opened = changed = true;
        y[GF_MAIN] = 1;
        g->out->main_full_open_m = y[GF_UP];
        g->out->time_full_open_s = g->t;
    }
    if (g->fired && y[GF_DROGUE] >= 1 - 2e-9) y[GF_DROGUE] = 1;
    double pressure = peer_fall_pressure(g, y);
    if (g->fired) g->drogue_peak = fmax(g->drogue_peak, pressure * peer_fall_share(y[GF_DROGUE]));
    if (g->released) g->main_peak = fmax(g->main_peak, pressure * peer_fall_share(y[GF_MAIN]));
    return changed;
}

static inline bool peer_fall_is_down(const peer_fall *g)
{
    return g->y[GF_UP] <= 1e-7;
}

/* The time that no step may go past. */
static inline double peer_fall_until(const peer_fall *g)
{
    double until = g->cuts_at_nodes ? g->t + peer_fall_time_to_node(g, g->y) : INFINITY;
    if (g->t < 0) until = fmin(until, 0);
    if (!g->fired) until = fmin(until, g->fall->apogee_fire_s);
    if (!g->released) until = fmin(until, g->release_s);
    return until;
}

static inline void peer_fall_end(const peer_fall *g)
{
    const pappus_fall *f = g->fall;
    g->out->time_s = g->t;
    g->out->east_m = g->y[GF_EAST];
    g->out->north_m = g->y[GF_NORTH];
    g->out->ve_mps = g->y[GF_VE];
    g->out->vn_mps = g->y[GF_VN];
    g->out->vup_mps = g->y[GF_VUP];
    if (f->drogue_cds_m2 > 0 && g->fired)
        g->out->drogue_load_n = 0.5 * f->drogue_cx * f->drogue_cds_m2 * g->drogue_peak;
    if (f->main_cds_m2 > 0 && g->released)
        g->out->main_load_n = 0.5 * f->main_cx * f->main_cds_m2 * g->main_peak;
}

#endif
