/* SPDX-License-Identifier: GPL-3.0-or-later
 * The equation of motion of fall.h by an adaptive Runge-Kutta method of GSL's
 * odeiv2 (Runge-Kutta-Fehlberg 4(5), Fehlberg 1969, error per step held to the
 * tolerance). The state is position, velocity and the air distance since each
 * firing. The right side has kinks and jumps at events, so the integration goes
 * from event to event: events at known times end a step there; events of the
 * state (ground, a trigger height, full open by distance, the top of the path)
 * are found by the method of false position (Illinois variant: Dowell & Jarratt,
 * BIT 11:168, 1971) on the length of the step that crosses them. Kinks of the
 * piecewise linear wind are left to the step control.
 *
 * Opening loads are the largest of all steps' ends, with the steps in an opening
 * kept short; that errs by the square of a step's share of the opening.
 *
 * Stops being right: as the equation does, a point mass whose canopies are always
 * in line with the air that meets it. */
#include "reference.h"

#include "draws.h"
#include "error.h"
#include "step_control.h"

#include <gsl/gsl_errno.h>
#include <gsl/gsl_odeiv2.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { EAST, NORTH, UP, V_EAST, V_NORTH, V_UP, DROGUE_AIR, MAIN_AIR, DIMENSION };

#define STEPS_MOST 2000000
#define FIRST_STEP_S 1e-3
#define STEP_MOST_S 5.0
#define ROOT_TRIES 80
#define PATH_SPACING_S 0.1

/* Steps within one opening: loads to about 1e-4 when tight, 1e-2 when loose. */
#define OPENING_STEPS_TIGHT 100.0
#define OPENING_STEPS_LOOSE 10.0
#define LOOSE_TOLERANCE 1e-6

typedef enum { NOT_FIRED, OPENING, FULL } opening_state;

typedef struct {
    opening_state state;
    double cds_m2, shields_m2, open_s, fill_m, cx; /* open_s NaN: by distance */
    double fire_s;                                 /* when it fires; INFINITY: not known to */
    double fire_mps, load_n;                       /* NaN: has not fired */
    double fire_height_m, full_height_m, full_s;
} canopy_flight;

typedef struct {
    const pappus_fall *fall;
    const pappus_air *air;
    const double *u_mps, *v_mps;
    size_t layer; /* of the last look at the wind */
    bool apogee_fired, rising;
    canopy_flight drogue, main;
    bool passed[PAPPUS_TRIGGERS];
    double time_s, state[DIMENSION];
    pappus_path *path;
} flight;

typedef struct {
    double u_mps, v_mps, density_kgpm3;
} air_here;

/* Wind linear and density exponential between the nodes; what the ends have holds
 * beyond them. */
static air_here air_at(flight *f, double height_m)
{
    const double *z = f->air->height_m, *density = f->air->density_kgpm3;
    size_t last = f->air->node_count - 2, i = f->layer;
    while (i < last && height_m > z[i + 1])
        i++;
    while (i > 0 && height_m < z[i])
        i--;
    f->layer = i;
    double share = (height_m - z[i]) / (z[i + 1] - z[i]);
    share = fmin(fmax(share, 0.0), 1.0);
    return (air_here){f->u_mps[i] + share * (f->u_mps[i + 1] - f->u_mps[i]),
                      f->v_mps[i] + share * (f->v_mps[i + 1] - f->v_mps[i]),
                      density[i] * exp(share * log(density[i + 1] / density[i]))};
}

/* Share of its drag area that a canopy shows. */
static double canopy_share(const canopy_flight *canopy, double time_s, double air_m)
{
    if (canopy->state == NOT_FIRED) return 0.0;
    if (canopy->state == FULL) return 1.0;
    double open =
        isnan(canopy->open_s) ? air_m / canopy->fill_m : (time_s - canopy->fire_s) / canopy->open_s;
    open = fmin(fmax(open, 0.0), 1.0);
    return open * open;
}

static double drag_area_m2(const flight *f, double time_s, const double y[])
{
    const pappus_fall *fall = f->fall;
    const canopy_flight *drogue = &f->drogue, *main = &f->main;
    bool parted = f->apogee_fired || main->state != NOT_FIRED;
    double area_m2 = parted ? fall->body_after_m2 : fall->body_before_m2;
    if (f->apogee_fired && main->state == NOT_FIRED) area_m2 += fall->held_cds_m2;
    return area_m2 +
           (drogue->cds_m2 - drogue->shields_m2) * canopy_share(drogue, time_s, y[DROGUE_AIR]) +
           (main->cds_m2 - main->shields_m2) * canopy_share(main, time_s, y[MAIN_AIR]);
}

static double airspeed_mps(flight *f, const double y[])
{
    air_here here = air_at(f, y[UP]);
    double east = y[V_EAST] - here.u_mps, north = y[V_NORTH] - here.v_mps;
    return sqrt(east * east + north * north + y[V_UP] * y[V_UP]);
}

static int motion(double time_s, const double y[], double dydt[], void *context)
{
    flight *f = context;
    air_here here = air_at(f, y[UP]);
    double east = y[V_EAST] - here.u_mps, north = y[V_NORTH] - here.v_mps, up = y[V_UP];
    double speed = sqrt(east * east + north * north + up * up);
    double k = 0.5 * here.density_kgpm3 * drag_area_m2(f, time_s, y) * speed / f->fall->mass_kg;
    dydt[EAST] = y[V_EAST];
    dydt[NORTH] = y[V_NORTH];
    dydt[UP] = y[V_UP];
    dydt[V_EAST] = -k * east;
    dydt[V_NORTH] = -k * north;
    dydt[V_UP] = -PAPPUS_GRAVITY_MPS2 - k * up;
    dydt[DROGUE_AIR] = f->drogue.state == OPENING ? speed : 0.0;
    dydt[MAIN_AIR] = f->main.state == OPENING ? speed : 0.0;
    return GSL_SUCCESS;
}

/* ------------------------------------------------------------------ events */

enum { GROUND, TOP, DROGUE_FULL, MAIN_FULL, TRIGGER, EVENTS = TRIGGER + PAPPUS_TRIGGERS };

static bool fills_by_distance(const canopy_flight *canopy)
{
    return canopy->state == OPENING && isnan(canopy->open_s);
}

/* How far each event of the state is away: it happens where this falls to 0.
 * INFINITY: cannot happen now. Triggers wait for the top of the path. */
static void distances(const flight *f, const double y[], double out[EVENTS])
{
    out[GROUND] = y[UP];
    out[TOP] = f->rising ? y[V_UP] : INFINITY;
    out[DROGUE_FULL] = fills_by_distance(&f->drogue) ? f->drogue.fill_m - y[DROGUE_AIR] : INFINITY;
    out[MAIN_FULL] = fills_by_distance(&f->main) ? f->main.fill_m - y[MAIN_AIR] : INFINITY;
    for (int t = 0; t < PAPPUS_TRIGGERS; t++) {
        bool waits = t < f->fall->trigger_count && !f->passed[t] && !f->rising;
        out[TRIGGER + t] = waits ? y[UP] - f->fall->trigger_height_m[t] : INFINITY;
    }
}

static double nearest(const flight *f, const double y[])
{
    double d[EVENTS], least = INFINITY;
    distances(f, y, d);
    for (int i = 0; i < EVENTS; i++)
        least = fmin(least, d[i]);
    return least;
}

static double known_full_s(const canopy_flight *canopy)
{
    bool by_time = canopy->state == OPENING && !isnan(canopy->open_s);
    return by_time ? canopy->fire_s + canopy->open_s : INFINITY;
}

/* When the time is over whose loads count as opening. */
static double load_end_s(const canopy_flight *canopy)
{
    return canopy->state == FULL ? canopy->full_s + PAPPUS_LOAD_S : INFINITY;
}

/* The next event of one canopy at a known time, after now. */
static double canopy_time_s(const canopy_flight *canopy, double now_s)
{
    if (canopy->state == NOT_FIRED) return canopy->fire_s;
    double end_s = load_end_s(canopy);
    return end_s > now_s ? fmin(end_s, known_full_s(canopy)) : INFINITY;
}

/* The next event at a known time. */
static double next_time_s(const flight *f)
{
    double next = f->apogee_fired ? INFINITY : f->fall->apogee_fire_s;
    return fmin(next,
                fmin(canopy_time_s(&f->drogue, f->time_s), canopy_time_s(&f->main, f->time_s)));
}

static void note_load(flight *f, canopy_flight *canopy, double air_m, double airspeed)
{
    if (canopy->state == NOT_FIRED || f->time_s > load_end_s(canopy)) return;
    double pressure_pa = 0.5 * air_at(f, f->state[UP]).density_kgpm3 * airspeed * airspeed;
    double load_n =
        canopy->cx * pressure_pa * canopy->cds_m2 * canopy_share(canopy, f->time_s, air_m);
    canopy->load_n = fmax(canopy->load_n, load_n);
}

static void note_loads(flight *f)
{
    double airspeed = airspeed_mps(f, f->state);
    note_load(f, &f->drogue, f->state[DROGUE_AIR], airspeed);
    note_load(f, &f->main, f->state[MAIN_AIR], airspeed);
}

static void fire(flight *f, canopy_flight *canopy)
{
    bool at_once = isnan(canopy->open_s) ? canopy->fill_m <= 0.0 : canopy->open_s <= 0.0;
    if (canopy->state != NOT_FIRED || f->time_s < canopy->fire_s) return;
    canopy->fire_mps = airspeed_mps(f, f->state);
    canopy->fire_height_m = f->state[UP];
    canopy->load_n = 0.0;
    canopy->state = OPENING;
    if (!at_once) return;
    canopy->state = FULL;
    canopy->full_s = f->time_s;
    canopy->full_height_m = f->state[UP];
}

static void fill_up(flight *f, canopy_flight *canopy, double distance_left_m)
{
    if (canopy->state != OPENING) return;
    bool full = fills_by_distance(canopy) ? distance_left_m <= 0.0
                                          : f->time_s >= canopy->fire_s + canopy->open_s;
    if (!full) return;
    canopy->state = FULL;
    canopy->full_s = f->time_s;
    canopy->full_height_m = f->state[UP];
}

/* Everything that is due at the present time and state. */
static void take_events(flight *f)
{
    double d[EVENTS];
    if (f->rising && f->state[V_UP] <= 0.0) f->rising = false;
    distances(f, f->state, d);
    for (int t = 0; t < f->fall->trigger_count; t++) {
        if (d[TRIGGER + t] > 0.0) continue;
        f->passed[t] = true;
        if (f->main.cds_m2 > 0.0)
            f->main.fire_s = fmin(f->main.fire_s, f->time_s + f->fall->trigger_delay_s[t]);
    }
    if (f->time_s >= f->fall->apogee_fire_s) f->apogee_fired = true;
    fill_up(f, &f->drogue, d[DROGUE_FULL]);
    fill_up(f, &f->main, d[MAIN_FULL]);
    fire(f, &f->drogue);
    fire(f, &f->main);
    note_loads(f);
}

/* ------------------------------------------------------------- integration */

typedef struct {
    gsl_odeiv2_system system;
    gsl_odeiv2_step *step;
    gsl_odeiv2_control control;
    gsl_odeiv2_evolve *evolve;
    double tolerance;
    double opening_steps;
} integrator;

static void integrator_clear(integrator *g)
{
    if (g->evolve) gsl_odeiv2_evolve_free(g->evolve);
    if (g->step) gsl_odeiv2_step_free(g->step);
}

static int integrator_set(integrator *g, flight *f, double tolerance, pappus_error *err)
{
    g->system = (gsl_odeiv2_system){motion, NULL, DIMENSION, f};
    g->step = gsl_odeiv2_step_alloc(gsl_odeiv2_step_rkf45, DIMENSION);
    g->tolerance = tolerance;
    g->control = pappus_step_control(&g->tolerance);
    g->evolve = gsl_odeiv2_evolve_alloc(DIMENSION);
    g->opening_steps = tolerance < LOOSE_TOLERANCE ? OPENING_STEPS_TIGHT : OPENING_STEPS_LOOSE;
    return g->step && g->evolve ? PAPPUS_OK : pappus_fail_memory(err);
}

static double opening_step_s(const integrator *g, const canopy_flight *canopy, double airspeed)
{
    if (canopy->state != OPENING) return INFINITY;
    double span_s = isnan(canopy->open_s) ? canopy->fill_m / fmax(airspeed, 1.0) : canopy->open_s;
    return span_s / g->opening_steps;
}

static double longest_step_s(const integrator *g, flight *f)
{
    double airspeed = airspeed_mps(f, f->state);
    return fmin(STEP_MOST_S, fmin(opening_step_s(g, &f->drogue, airspeed),
                                  opening_step_s(g, &f->main, airspeed)));
}

/* One Runge-Kutta step of length h from the present state. */
static int try_step(integrator *g, const flight *f, double h, double out[DIMENSION])
{
    double error[DIMENSION];
    memcpy(out, f->state, sizeof f->state);
    return gsl_odeiv2_step_apply(g->step, f->time_s, h, out, error, NULL, NULL, &g->system);
}

/* Length of the step, at most h, after which the nearest event is just passed;
 * the state there replaces the present one. */
static int step_to_event(integrator *g, flight *f, double h)
{
    double low = 0.0, high = h, y[DIMENSION];
    double d_low = nearest(f, f->state), d_high, scale_low = 1.0, scale_high = 1.0;
    int status = try_step(g, f, h, y);
    d_high = nearest(f, y);
    for (int i = 0; i < ROOT_TRIES && high - low > 1e-12 && status == GSL_SUCCESS; i++) {
        double a = scale_low * d_low, b = scale_high * d_high;
        double at = low + (high - low) * a / (a - b);
        if (!(at > low && at < high)) at = 0.5 * (low + high);
        double tried[DIMENSION];
        status = try_step(g, f, at, tried);
        double d = nearest(f, tried);
        if (d > 0.0) {
            low = at;
            d_low = d;
            scale_low = 1.0;
            scale_high *= 0.5;
        } else {
            high = at;
            d_high = d;
            scale_high = 1.0;
            scale_low *= 0.5;
            memcpy(y, tried, sizeof y);
        }
        if (d <= 0.0 && d > -1e-9) break;
    }
    f->time_s += high;
    memcpy(f->state, y, sizeof y);
    return status;
}

/* One accepted step, cut short at the first event. */
static int advance(integrator *g, flight *f, double *h, bool *event, pappus_error *err)
{
    double end_s = next_time_s(f), before_s = f->time_s, y[DIMENSION];
    double limit_s = longest_step_s(g, f);
    memcpy(y, f->state, sizeof y);
    double time_s = before_s;
    double target_s = fmin(end_s, before_s + limit_s);
    int status = gsl_odeiv2_evolve_apply(g->evolve, &g->control, g->step, &g->system, &time_s,
                                         target_s, h, y);
    *event = time_s >= end_s;
    if (status == GSL_SUCCESS && nearest(f, y) <= 0.0) {
        *event = true;
        status = step_to_event(g, f, time_s - before_s);
    } else {
        f->time_s = time_s;
        memcpy(f->state, y, sizeof y);
    }
    if (status == GSL_SUCCESS && isfinite(f->state[UP])) return PAPPUS_OK;
    return pappus_fail(err, PAPPUS_E_NUMERIC, NULL, NULL, NULL,
                       "the descent could not be integrated past %.1f s, %.0f m", f->time_s,
                       f->state[UP]);
}

/* -------------------------------------------------------------------- path */

void pappus_path_clear(pappus_path *path)
{
    free(path->points);
    path->points = NULL;
    path->count = 0;
}

/* Grows by doubling: the capacity is the power of two not under count. */
static int add_point(flight *f, bool always, pappus_error *err)
{
    pappus_path *path = f->path;
    if (!path) return PAPPUS_OK;
    if (!always && f->time_s - path->points[path->count - 1].time_s < PATH_SPACING_S)
        return PAPPUS_OK;
    if ((path->count & (path->count - 1)) == 0) {
        size_t capacity = path->count ? 2 * path->count : 1;
        pappus_path_point *points = realloc(path->points, capacity * sizeof *points);
        if (!points) return pappus_fail_memory(err);
        path->points = points;
    }
    const double *y = f->state;
    path->points[path->count++] =
        (pappus_path_point){f->time_s, y[EAST], y[NORTH], y[UP], y[V_EAST], y[V_NORTH], y[V_UP]};
    return PAPPUS_OK;
}

/* ------------------------------------------------------------------ flight */

static canopy_flight canopy_set(double cds_m2, double shields_m2, double open_s, double fill_m,
                                double cx, double fire_s)
{
    return (canopy_flight){.cds_m2 = cds_m2,
                           .shields_m2 = shields_m2,
                           .open_s = open_s,
                           .fill_m = fill_m,
                           .cx = cx,
                           .fire_s = cds_m2 > 0.0 ? fire_s : INFINITY,
                           .fire_mps = NAN,
                           .load_n = NAN,
                           .fire_height_m = NAN,
                           .full_height_m = 0.0,
                           .full_s = NAN};
}

static void flight_set(flight *f)
{
    const pappus_fall *fall = f->fall;
    double y[DIMENSION] = {
        fall->east_m, fall->north_m, fall->height_m, fall->ve_mps, fall->vn_mps, fall->vup_mps, 0.0,
        0.0};
    memcpy(f->state, y, sizeof y);
    f->time_s = fall->start_s;
    f->rising = fall->vup_mps > 0.0;
    f->drogue = canopy_set(fall->drogue_cds_m2, fall->drogue_shields_m2, fall->drogue_open_s,
                           fall->drogue_fill_m, fall->drogue_cx, fall->apogee_fire_s);
    f->main = canopy_set(fall->main_cds_m2, fall->main_shields_m2, fall->main_open_s,
                         fall->main_fill_m, fall->main_cx, fall->main_fire_s);
    /* a trigger above the apogee counts as passed at time 0 */
    for (int t = 0; t < fall->trigger_count; t++) {
        f->passed[t] = fall->trigger_height_m[t] >= fall->apogee_m;
        if (f->passed[t] && fall->main_cds_m2 > 0.0)
            f->main.fire_s = fmin(f->main.fire_s, fall->trigger_delay_s[t]);
    }
}

static void report(pappus_touchdown *out, const flight *f)
{
    const double *y = f->state;
    *out = (pappus_touchdown){.time_s = f->time_s,
                              .east_m = y[EAST],
                              .north_m = y[NORTH],
                              .ve_mps = y[V_EAST],
                              .vn_mps = y[V_NORTH],
                              .vup_mps = y[V_UP],
                              .drogue_fire_mps = f->drogue.fire_mps,
                              .main_fire_mps = f->main.fire_mps,
                              .drogue_load_n = f->drogue.load_n,
                              .main_load_n = f->main.load_n,
                              .main_fire_m = f->main.fire_height_m,
                              .main_full_open_m = f->main.full_height_m,
                              .time_full_open_s = f->main.full_s};
    if (!f->path) return;
    bool drogue = f->drogue.state != NOT_FIRED, main = f->main.state != NOT_FIRED;
    f->path->drogue_fire_s = drogue ? f->drogue.fire_s : NAN;
    f->path->main_fire_s = main ? f->main.fire_s : NAN;
    f->path->main_full_open_s = f->main.full_s;
    f->path->drogue_load_n = f->drogue.load_n;
    f->path->main_load_n = f->main.load_n;
}

static int fly(integrator *g, flight *f, pappus_error *err)
{
    double h = FIRST_STEP_S;
    bool event = true;
    int status = add_point(f, true, err);
    for (size_t step = 0; status == PAPPUS_OK && step < STEPS_MOST; step++) {
        if (event) {
            take_events(f);
            gsl_odeiv2_evolve_reset(g->evolve);
            gsl_odeiv2_step_reset(g->step);
        }
        status = advance(g, f, &h, &event, err);
        if (status != PAPPUS_OK) return status;
        note_loads(f);
        bool down = f->state[UP] <= 0.0;
        status = add_point(f, event || down, err);
        if (down) return status;
    }
    if (status != PAPPUS_OK) return status;
    return pappus_fail(err, PAPPUS_E_NUMERIC, NULL, NULL, NULL,
                       "the descent did not reach the ground in %d steps", STEPS_MOST);
}

int pappus_reference_fall(pappus_touchdown *out, pappus_path *path, const pappus_fall *fall,
                          const pappus_air *air, const double *u_mps, const double *v_mps,
                          double tolerance, pappus_error *err)
{
    integrator g = {0};
    flight f = {.fall = fall, .air = air, .u_mps = u_mps, .v_mps = v_mps, .path = path};
    flight_set(&f);
    int status = integrator_set(&g, &f, tolerance, err);
    if (status == PAPPUS_OK) status = fly(&g, &f, err);
    if (status == PAPPUS_OK) report(out, &f);
    integrator_clear(&g);
    return status;
}
