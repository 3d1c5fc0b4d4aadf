/* SPDX-License-Identifier: GPL-3.0-or-later
 * A fall by GSL's odeiv2 rkf45, its buffers kept from fall to fall. An event inside a step is
 * located by a secant on steps from the same start. */
#ifndef PAPPUS_TESTS_GSL_FALL_H
#define PAPPUS_TESTS_GSL_FALL_H

#include <gsl/gsl_errno.h>
#include <gsl/gsl_odeiv2.h>

#include "peer_fall.h"

typedef struct {
    peer_fall fall;
    gsl_odeiv2_system system;
    gsl_odeiv2_step *step;
    gsl_odeiv2_control *control;
    gsl_odeiv2_evolve *evolve;
} gsl_fall;

static int gsl_fall_open(gsl_fall *g, const pappus_air *air, double tolerance, bool cuts_at_nodes)
{
    *g = (gsl_fall){.fall = {.air = air, .cuts_at_nodes = cuts_at_nodes},
                    .system = {peer_fall_rates, NULL, GF_SIZE, &g->fall}};
    g->step = gsl_odeiv2_step_alloc(gsl_odeiv2_step_rkf45, GF_SIZE);
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

/* Takes the step from `before` again, to where event e is. */
static int gsl_fall_locate(gsl_fall *g, const double before[], double t_before, int e)
{
    peer_fall *s = &g->fall;
    double low = 0, high = s->t - t_before, error[GF_SIZE];
    double fa = peer_fall_event(s, before, e), fb = peer_fall_event(s, s->y, e);
    for (int i = 0; i < 60 && high - low > 1e-10; i++) {
        double x = low + (high - low) * (i % 3 == 2 ? 0.5 : fa / (fa - fb));
        memcpy(s->y, before, sizeof s->y);
        gsl_odeiv2_step_reset(g->step);
        if (gsl_odeiv2_step_apply(g->step, t_before, x, s->y, error, NULL, NULL, &g->system))
            return 1;
        s->t = t_before + x;
        double c = peer_fall_event(s, s->y, e);
        if (fabs(c) < (e > s->triggers ? 1e-9 : 1e-7)) break;
        if (c > 0)
            low = x, fa = c;
        else
            high = x, fb = c;
    }
    if (e < s->triggers) s->y[GF_UP] = fmin(s->y[GF_UP], s->trigger_m[e]);
    return 0;
}

/* One step, or less of it to the first event. */
static int gsl_fall_step(gsl_fall *g, double *h)
{
    peer_fall *s = &g->fall;
    double before[GF_SIZE], t_before = s->t, h_before = *h;
    memcpy(before, s->y, sizeof before);
    if (gsl_odeiv2_evolve_apply(g->evolve, g->control, g->step, &g->system, &s->t,
                                peer_fall_until(s), h, s->y))
        return 1;
    if (!isfinite(s->t) || !isfinite(s->y[GF_UP])) return 1;
    for (int e = 0; e <= s->triggers + 2; e++) {
        double a = peer_fall_event(s, before, e), b = peer_fall_event(s, s->y, e);
        if (!(a > 1e-7 * (e > s->triggers ? 1e-3 : 1) && b < 0)) continue;
        if (gsl_fall_locate(g, before, t_before, e)) return 1;
        *h = fmax(h_before, 1e-3);
        gsl_odeiv2_evolve_reset(g->evolve);
    }
    return 0;
}

/* Returns 0, or 1 when GSL gives up, or the steps run away at a loose tolerance. */
static int gsl_fall_run(gsl_fall *g, pappus_touchdown *out, const pappus_fall *f, const float *u,
                        const float *v, int lane)
{
    double h = 0.1;
    peer_fall_begin(&g->fall, out, f, u, v, lane);
    gsl_odeiv2_evolve_reset(g->evolve);
    gsl_odeiv2_step_reset(g->step);
    for (int count = 0; count < 100000; count++) {
        bool changed = peer_fall_happens(&g->fall);
        if (peer_fall_is_down(&g->fall)) break;
        if (changed) {
            gsl_odeiv2_evolve_reset(g->evolve);
            gsl_odeiv2_step_reset(g->step);
            h = fmin(h, 0.05);
        }
        if (gsl_fall_step(g, &h)) return 1;
    }
    peer_fall_end(&g->fall);
    return 0;
}

#endif
