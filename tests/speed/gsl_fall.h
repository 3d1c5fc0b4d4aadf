/* SPDX-License-Identifier: GPL-3.0-or-later
 * A fall by GSL's odeiv2 rkf45, its buffers kept from fall to fall: what the
 * benchmark measures the engine against. It goes from event to event; an event
 * inside a step is located by a secant on steps from the same start. Steps may be
 * cut at the nodes of the wind, where its kinks are: no step then is taken twice
 * for a kink, but none is longer than a layer either. */
#ifndef PAPPUS_TESTS_GSL_FALL_H
#define PAPPUS_TESTS_GSL_FALL_H

#include <gsl/gsl_errno.h>
#include <gsl/gsl_odeiv2.h>
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
    gsl_odeiv2_step *step;
    gsl_odeiv2_control *control;
    gsl_odeiv2_evolve *evolve;
} gsl_fall;

static inline void gsl_fall_air(gsl_fall *g, double z, double *u, double *v, double *density)
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

static inline double gsl_fall_share(double opening)
{
    double p = fmin(opening, 1);
    return p * p;
}

static inline double gsl_fall_rate(double open_s, double fill_m, double speed)
{
    return isnan(open_s) ? speed / fmax(fill_m, 1e-9) : 1 / fmax(open_s, 1e-9);
}

static inline double gsl_fall_pressure(gsl_fall *g, const double y[])
{
    double u, v, density;
    gsl_fall_air(g, y[GF_UP], &u, &v, &density);
    double re = y[GF_VE] - u, rn = y[GF_VN] - v;
    return density * (re * re + rn * rn + y[GF_VUP] * y[GF_VUP]);
}

static int gsl_fall_rates(double t, const double y[], double dy[], void *context)
{
    (void)t;
    gsl_fall *g = context;
    const pappus_fall *f = g->fall;
    double u, v, density;
    gsl_fall_air(g, y[GF_UP], &u, &v, &density);
    double re = y[GF_VE] - u, rn = y[GF_VN] - v;
    double speed = sqrt(re * re + rn * rn + y[GF_VUP] * y[GF_VUP]);
    double area = g->fired || g->released ? f->body_after_m2 : f->body_before_m2;
    if (g->fired) area += (f->drogue_cds_m2 - f->drogue_shields_m2) * gsl_fall_share(y[GF_DROGUE]);
    if (g->fired && !g->released) area += f->held_cds_m2;
    if (g->released) area += (f->main_cds_m2 - f->main_shields_m2) * gsl_fall_share(y[GF_MAIN]);
    double drag = 0.5 * density * area * speed / f->mass_kg;
    dy[GF_EAST] = y[GF_VE];
    dy[GF_NORTH] = y[GF_VN];
    dy[GF_UP] = y[GF_VUP];
    dy[GF_VE] = -drag * re;
    dy[GF_VN] = -drag * rn;
    dy[GF_VUP] = -drag * y[GF_VUP] - PAPPUS_GRAVITY_MPS2;
    dy[GF_DROGUE] =
        g->fired && y[GF_DROGUE] < 1 ? gsl_fall_rate(f->drogue_open_s, f->drogue_fill_m, speed) : 0;
    dy[GF_MAIN] =
        g->released && y[GF_MAIN] < 1 ? gsl_fall_rate(f->main_open_s, f->main_fill_m, speed) : 0;
    return GSL_SUCCESS;
}

static int gsl_fall_open(gsl_fall *g, const pappus_air *air, const gsl_odeiv2_step_type *type,
                         double tolerance, bool cuts_at_nodes)
{
    *g = (gsl_fall){.air = air, .cuts_at_nodes = cuts_at_nodes};
    g->step = gsl_odeiv2_step_alloc(type, GF_SIZE);
    g->control = gsl_odeiv2_control_y_new(tolerance, tolerance);
    g->evolve = gsl_odeiv2_evolve_alloc(GF_SIZE);
    return g->step && g->control && g->evolve ? 0 : 1;
}

static void gsl_fall_close(gsl_fall *g)
{
    if (g->evolve) gsl_odeiv2_evolve_free(g->evolve);
    if (g->control) gsl_odeiv2_control_free(g->control);
    if (g->step) gsl_odeiv2_step_free(g->step);
}

/* The events that are places, each a value that falls through 0. */
static double gsl_fall_event(const double y[], const double *trigger_m, int n, bool fired,
                             bool released, int event)
{
    if (event < n) return trigger_m[event] < 0 ? 1 : y[GF_UP] - trigger_m[event];
    if (event == n) return y[GF_UP];
    /* an opening is set to exactly 1 when it is taken */
    if (event == n + 1) return fired && y[GF_DROGUE] != 1 ? 1 - 1e-9 - y[GF_DROGUE] : 1;
    return released && y[GF_MAIN] != 1 ? 1 - 1e-9 - y[GF_MAIN] : 1;
}

/* Time to the next node below at the present speed; a node that is all but reached
 * is passed over. */
static double gsl_fall_time_to_node(const gsl_fall *g, const double y[])
{
    const double *height_m = g->air->height_m;
    size_t k = g->layer;
    if (!(y[GF_VUP] < -1)) return INFINITY;
    if (k > 0 && y[GF_UP] - height_m[k] < 0.02 * (height_m[k + 1] - height_m[k])) k--;
    return (y[GF_UP] - height_m[k]) / -y[GF_VUP];
}

/* Returns 0, or 1 when GSL gives up, or the steps run away at a loose tolerance. */
static int gsl_fall_run(gsl_fall *g, pappus_touchdown *out, const pappus_fall *f, const float *u,
                        const float *v, int lane)
{
    g->fall = f;
    g->u = u;
    g->v = v;
    g->lane = lane;
    g->layer = g->air->node_count - 2;
    g->fired = g->released = false;
    gsl_odeiv2_system system = {gsl_fall_rates, NULL, GF_SIZE, g};
    double y[GF_SIZE] = {f->east_m, f->north_m, f->height_m, f->ve_mps,
                         f->vn_mps, f->vup_mps, 0,           0};
    double t = f->start_s, h = 0.1, release_s = f->main_fire_s;
    double trigger_m[PAPPUS_TRIGGERS];
    for (int i = 0; i < f->trigger_count; i++)
        trigger_m[i] = f->trigger_height_m[i];
    int n = f->trigger_count;
    *out = (pappus_touchdown){.drogue_fire_mps = NAN,
                              .main_fire_mps = NAN,
                              .drogue_load_n = NAN,
                              .main_load_n = NAN,
                              .main_fire_m = NAN,
                              .main_full_open_m = 0,
                              .time_full_open_s = NAN};
    bool has_drogue = f->drogue_cds_m2 > 0, has_main = f->main_cds_m2 > 0, opened = false;
    double drogue_peak = 0, main_peak = 0;
    gsl_odeiv2_evolve_reset(g->evolve);
    gsl_odeiv2_step_reset(g->step);
    for (int count = 0; count < 100000; count++) {
        bool changed = false;
        if (t >= 0)
            for (int i = 0; i < n; i++)
                if (trigger_m[i] >= 0 && y[GF_UP] <= trigger_m[i]) {
                    release_s = fmin(release_s, t + f->trigger_delay_s[i]);
                    trigger_m[i] = -1;
                }
        if (!g->fired && t >= f->apogee_fire_s) {
            g->fired = changed = true;
            if (has_drogue) out->drogue_fire_mps = sqrt(gsl_fall_pressure(g, y));
            double du, dv, density;
            gsl_fall_air(g, y[GF_UP], &du, &dv, &density);
            if (has_drogue) out->drogue_fire_mps /= sqrt(density);
        }
        if (!g->released && t >= release_s) {
            g->released = changed = true;
            double du, dv, density;
            gsl_fall_air(g, y[GF_UP], &du, &dv, &density);
            if (has_main) out->main_fire_mps = sqrt(gsl_fall_pressure(g, y) / density);
            if (has_main) out->main_fire_m = y[GF_UP];
        }
        if (g->released && has_main && !opened && y[GF_MAIN] >= 1 - 2e-9) {
            opened = changed = true;
            y[GF_MAIN] = 1;
            out->main_full_open_m = y[GF_UP];
            out->time_full_open_s = t;
        }
        if (g->fired && y[GF_DROGUE] >= 1 - 2e-9) y[GF_DROGUE] = 1;
        double pressure = gsl_fall_pressure(g, y);
        if (g->fired) drogue_peak = fmax(drogue_peak, pressure * gsl_fall_share(y[GF_DROGUE]));
        if (g->released) main_peak = fmax(main_peak, pressure * gsl_fall_share(y[GF_MAIN]));
        if (y[GF_UP] <= 1e-7) break;
        if (changed) {
            gsl_odeiv2_evolve_reset(g->evolve);
            gsl_odeiv2_step_reset(g->step);
            h = fmin(h, 0.05);
        }

        double until = g->cuts_at_nodes ? t + gsl_fall_time_to_node(g, y) : INFINITY;
        if (t < 0) until = fmin(until, 0);
        if (!g->fired) until = fmin(until, f->apogee_fire_s);
        if (!g->released) until = fmin(until, release_s);
        double before[GF_SIZE], t_before = t, h_before = h;
        memcpy(before, y, sizeof y);
        if (gsl_odeiv2_evolve_apply(g->evolve, g->control, g->step, &system, &t, until, &h, y))
            return 1;
        if (!isfinite(t) || !isfinite(y[GF_UP])) return 1;
        for (int e = 0; e <= n + 2; e++) {
            double a = gsl_fall_event(before, trigger_m, n, g->fired, g->released, e);
            double b = gsl_fall_event(y, trigger_m, n, g->fired, g->released, e);
            if (!(a > 1e-7 * (e > n ? 1e-3 : 1) && b < 0)) continue;
            double low = 0, high = t - t_before, fa = a, fb = b, error[GF_SIZE];
            for (int i = 0; i < 60 && high - low > 1e-10; i++) {
                double x = low + (high - low) * (i % 3 == 2 ? 0.5 : fa / (fa - fb));
                memcpy(y, before, sizeof y);
                gsl_odeiv2_step_reset(g->step);
                if (gsl_odeiv2_step_apply(g->step, t_before, x, y, error, NULL, NULL, &system))
                    return 1;
                t = t_before + x;
                double c = gsl_fall_event(y, trigger_m, n, g->fired, g->released, e);
                if (fabs(c) < (e > n ? 1e-9 : 1e-7)) break;
                if (c > 0)
                    low = x, fa = c;
                else
                    high = x, fb = c;
            }
            if (e < n) y[GF_UP] = fmin(y[GF_UP], trigger_m[e]);
            h = fmax(h_before, 1e-3);
            gsl_odeiv2_evolve_reset(g->evolve);
        }
    }
    out->time_s = t;
    out->east_m = y[GF_EAST];
    out->north_m = y[GF_NORTH];
    out->ve_mps = y[GF_VE];
    out->vn_mps = y[GF_VN];
    out->vup_mps = y[GF_VUP];
    if (has_drogue && g->fired)
        out->drogue_load_n = 0.5 * f->drogue_cx * f->drogue_cds_m2 * drogue_peak;
    if (has_main && g->released) out->main_load_n = 0.5 * f->main_cx * f->main_cds_m2 * main_peak;
    return 0;
}

#endif
