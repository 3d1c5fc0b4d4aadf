/* SPDX-License-Identifier: GPL-3.0-or-later
 * A fall by CVODE of SUNDIALS (Hindmarsh et al., ACM TOMS 31:363, 2005): Adams-Moulton with
 * fixed-point iteration, as its guide has it for what is not stiff. It locates events itself. */
#ifndef PAPPUS_TESTS_CVODE_FALL_H
#define PAPPUS_TESTS_CVODE_FALL_H

#include <cvode/cvode.h>
#include <nvector/nvector_serial.h>
#include <sunnonlinsol/sunnonlinsol_fixedpoint.h>

#include "peer_fall.h"

#define CVODE_EVENTS (PAPPUS_TRIGGERS + 3)

typedef struct {
    peer_fall fall;
    SUNContext context;
    N_Vector y;
    SUNNonlinearSolver solver;
    void *cvode;
} cvode_fall;

static int cvode_fall_rates(realtype t, N_Vector y, N_Vector dy, void *fall)
{
    return peer_fall_rates(t, N_VGetArrayPointer(y), N_VGetArrayPointer(dy), fall);
}

static int cvode_fall_roots(realtype t, N_Vector y, realtype *values, void *fall)
{
    const peer_fall *s = fall;
    (void)t;
    for (int e = 0; e < CVODE_EVENTS; e++)
        values[e] = e <= s->triggers + 2 ? peer_fall_event(s, N_VGetArrayPointer(y), e) : 1;
    return 0;
}

static int cvode_fall_open(cvode_fall *g, const pappus_air *air, double tolerance,
                           bool cuts_at_nodes)
{
    int falling[CVODE_EVENTS];
    for (int e = 0; e < CVODE_EVENTS; e++)
        falling[e] = -1;
    *g = (cvode_fall){.fall = {.air = air, .cuts_at_nodes = cuts_at_nodes}};
    if (SUNContext_Create(NULL, &g->context)) return 1;
    g->y = N_VMake_Serial(GF_SIZE, g->fall.y, g->context);
    g->cvode = CVodeCreate(CV_ADAMS, g->context);
    if (!g->y || !g->cvode || CVodeInit(g->cvode, cvode_fall_rates, 0, g->y)) return 1;
    g->solver = SUNNonlinSol_FixedPoint(g->y, 0, g->context);
    return !g->solver || CVodeSetErrFile(g->cvode, NULL) || CVodeSetUserData(g->cvode, &g->fall) ||
           CVodeSStolerances(g->cvode, tolerance, tolerance) ||
           CVodeSetNonlinearSolver(g->cvode, g->solver) ||
           CVodeRootInit(g->cvode, CVODE_EVENTS, cvode_fall_roots) ||
           CVodeSetRootDirection(g->cvode, falling) || CVodeSetNoInactiveRootWarn(g->cvode);
}

static void cvode_fall_close(cvode_fall *g)
{
    if (g->cvode) CVodeFree(&g->cvode);
    if (g->solver) SUNNonlinSolFree(g->solver);
    if (g->y) N_VDestroy(g->y);
    if (g->context) SUNContext_Free(&g->context);
}

/* One step; *located: an event, at which the state is settled. */
static int cvode_fall_step(cvode_fall *g, bool *located)
{
    peer_fall *s = &g->fall;
    int roots[CVODE_EVENTS];
    double until = fmin(peer_fall_until(s), s->t + 1e4);
    if (CVodeSetStopTime(g->cvode, until)) return 1;
    int found = CVode(g->cvode, until, g->y, &s->t, CV_ONE_STEP);
    *located = found == CV_ROOT_RETURN;
    if (found < 0 || !isfinite(s->y[GF_UP])) return 1;
    if (!*located) return 0;
    if (CVodeGetRootInfo(g->cvode, roots)) return 1;
    for (int e = 0; e < s->triggers; e++)
        if (roots[e]) s->y[GF_UP] = fmin(s->y[GF_UP], s->trigger_m[e]);
    if (roots[s->triggers]) s->y[GF_UP] = fmin(s->y[GF_UP], 0);
    return 0;
}

/* Returns 0, or 1 when CVODE gives up, or the steps run away at a loose tolerance. */
static int cvode_fall_run(cvode_fall *g, pappus_touchdown *out, const pappus_fall *f,
                          const float *u, const float *v, int lane)
{
    bool anew = true;
    peer_fall_begin(&g->fall, out, f, u, v, lane);
    for (int count = 0; count < 100000; count++) {
        anew |= peer_fall_happens(&g->fall);
        if (peer_fall_is_down(&g->fall)) break;
        if (anew && CVodeReInit(g->cvode, g->fall.t, g->y)) return 1;
        if (cvode_fall_step(g, &anew)) return 1;
    }
    peer_fall_end(&g->fall);
    return 0;
}

#endif
