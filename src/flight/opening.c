/* SPDX-License-Identifier: GPL-3.0-or-later
 * Firing and opening by fitting the fall about it: dv/dt = g - 1/2 rho (CdS/m) v^2, CdS
 * growing with the square of the time since the firing (the plan's own law, fall.h), over a
 * net of firing times and opening times, twice refined. The height of the start is free, its
 * least squares in closed form. Intervals: where the sum of squares is within 3.84 s^2 of
 * its least, s the greater of the noise and the misfit, and samples closer than 0.2 s count
 * as one (a sensor's noise is alike over such times; A).
 *
 * The fall is taken as vertical: the airspeed across the wind at an apogee is left out, so
 * that a firing within the first two seconds is not seen, and its interval says so. */
#include "opening.h"

#include "si.h"

#include <math.h>

#define STEP_S 0.02
#define NET 13   /* values of each time in a net */
#define PASSES 4 /* each net spans two steps of the one before */
#define CHI2_95 3.841
#define ALIKE_S 0.2
#define MOST_STEPS 2000
#define SURVEY_OPENINGS 40
#define SURVEY_TIMES 20

typedef struct {
    const pappus_opening_case *c;
    size_t count;
    const double *time_s, *height_m;
    int steps;
    double fallen_m[MOST_STEPS + 1];
} fitting;

/* The fall of one case, a step after the other by the midpoint rule. */
static void fall(fitting *f, double start_s, double fire_s, double open_s)
{
    const pappus_opening_case *c = f->c;
    double v = c->start_mps, z = 0.0, rest = c->after_m2pkg - c->before_m2pkg;
    for (int i = 0; i <= f->steps; i++) {
        double slope[2] = {0.0, 0.0}, speed = v, at = z;
        f->fallen_m[i] = z;
        for (int half = 0; half < 2; half++) {
            double since = start_s + ((double)i + 0.5 * half) * STEP_S - fire_s;
            double part = since <= 0.0 ? 0.0 : since >= open_s ? 1.0 : since / open_s;
            double area = c->before_m2pkg + rest * part * part;
            double density = c->density_kgpm3 * (1.0 + c->density_slope_pm * at);
            slope[0] = speed;
            slope[1] = PAPPUS_GRAVITY_MPS2 - 0.5 * density * area * speed * fabs(speed);
            speed = v + 0.5 * STEP_S * slope[1];
            at = z + 0.5 * STEP_S * slope[0];
        }
        v += STEP_S * slope[1];
        z += STEP_S * slope[0];
    }
}

/* Sum of squares about the best height of the start. */
static double misfit(fitting *f, double start_s, double fire_s, double open_s)
{
    double sum = 0.0, squares = 0.0;
    fall(f, start_s, fire_s, open_s);
    for (size_t i = 0; i < f->count; i++) {
        double at = fmin(fmax((f->time_s[i] - start_s) / STEP_S, 0.0), f->steps - 1.0);
        size_t k = (size_t)at;
        double fallen = f->fallen_m[k] + (at - (double)k) * (f->fallen_m[k + 1] - f->fallen_m[k]);
        double one = f->height_m[i] + fallen;
        sum += one;
        squares += one * one;
    }
    return squares - sum * sum / (double)f->count;
}

/* A net over two times; the third (the start, or none) is the least of five for each. */
typedef struct {
    double fire_s, open_s, start_s, squares;
} node;

static node best_start(fitting *f, double fire_s, double open_s, double centre_s, double half_s)
{
    node best = {fire_s, open_s, centre_s, INFINITY};
    int most = half_s > 0.0 ? 2 : 0;
    for (int i = -most; i <= most; i++) {
        double start_s = centre_s + 0.5 * half_s * i;
        double squares = misfit(f, start_s, fire_s, open_s);
        if (squares < best.squares) best = (node){fire_s, open_s, start_s, squares};
    }
    return best;
}

/* One net about `best`; widens the intervals by the nodes that fit nearly as well. */
static void search(fitting *f, node *best, double fire_half_s, double open_half_s, double half_s)
{
    const pappus_opening_case *c = f->c;
    node centre = *best;
    int opens = open_half_s > 0.0 ? NET : 1;
    for (int i = 0; i < NET; i++)
        for (int j = 0; j < opens; j++) {
            double fire_s = centre.fire_s + fire_half_s * (2.0 * i / (NET - 1) - 1.0);
            double open_s =
                centre.open_s + (opens > 1 ? open_half_s * (2.0 * j / (NET - 1) - 1.0) : 0.0);
            if (fire_s < c->fire_from_s || fire_s > c->fire_to_s) continue;
            if (open_s < c->open_from_s - 1e-9 || open_s > c->open_to_s + 1e-9) continue;
            node one = best_start(f, fire_s, open_s, centre.start_s, half_s);
            if (one.squares < best->squares) *best = one;
        }
}

static void widen(pappus_estimate *e, double value)
{
    e->low = fmin(e->low, value);
    e->high = fmax(e->high, value);
}

/* A firing later and an opening shorter look alike: what the heights tell well is the time
 * of half the opening. The net runs over that and over the opening; `take` gets each node. */
typedef struct {
    node *best;
    double bound; /* below: one of those that fit nearly as well */
    pappus_opening *out;
} survey;

static void try_node(fitting *f, survey *s, double half_way_s, double open_s, double half_s)
{
    const pappus_opening_case *c = f->c;
    double fire_s = half_way_s - 0.5 * open_s;
    if (fire_s < c->fire_from_s || fire_s > c->fire_to_s) return;
    node one = best_start(f, fire_s, open_s, s->best->start_s, half_s);
    if (!s->out && one.squares < s->best->squares) *s->best = one;
    if (!s->out || one.squares > s->bound) return;
    widen(&s->out->fired_s, fire_s);
    widen(&s->out->opening_s, open_s);
}

static void survey_nodes(fitting *f, survey *s, double half_s)
{
    const pappus_opening_case *c = f->c;
    double half_way_s = s->best->fire_s + 0.5 * s->best->open_s;
    bool opens = c->open_to_s > c->open_from_s;
    int rows = opens ? SURVEY_OPENINGS : 1;
    double reach_s = opens ? 0.4 : 2.5;
    for (int j = 0; j < rows; j++) {
        double open_s = c->open_from_s;
        if (opens) open_s += (c->open_to_s - c->open_from_s) * j / (rows - 1);
        for (int i = -SURVEY_TIMES; i <= SURVEY_TIMES; i++)
            try_node(f, s, half_way_s + reach_s * i / SURVEY_TIMES, open_s, half_s);
    }
}

bool pappus_opening_fit(pappus_opening *out, const pappus_opening_case *c, size_t count,
                        const double *time_s, const double *height_m, double noise_m)
{
    fitting fit = {.c = c, .count = count, .time_s = time_s, .height_m = height_m}, *f = &fit;
    if (count < 8) return false;
    double last_s = time_s[count - 1] - c->start_s + c->free_s;
    f->steps = (int)fmin(fmax(ceil(last_s / STEP_S) + 1.0, 2.0), MOST_STEPS);
    node best = {0.5 * (c->fire_from_s + c->fire_to_s), 0.5 * (c->open_from_s + c->open_to_s),
                 c->start_s, INFINITY};
    double fire_half = 0.5 * (c->fire_to_s - c->fire_from_s);
    double open_half = 0.5 * (c->open_to_s - c->open_from_s), half_s = c->free_s;
    for (int pass = 0; pass < PASSES; pass++) {
        search(f, &best, fire_half, open_half, half_s);
        fire_half *= 2.0 / (NET - 1);
        open_half *= 2.0 / (NET - 1);
        half_s *= 0.5;
    }
    survey_nodes(f, &(survey){&best, 0.0, NULL}, half_s);
    double span_s = time_s[count - 1] - time_s[0];
    double independent = fmin((double)count, span_s / ALIKE_S);
    double rms = sqrt(best.squares / (double)count), s = fmax(rms, noise_m);
    double bound = best.squares + CHI2_95 * s * s * (double)count / independent;
    out->fit_m = rms;
    out->fired_s = (pappus_estimate){best.fire_s, best.fire_s, best.fire_s};
    out->opening_s = (pappus_estimate){best.open_s, best.open_s, best.open_s};
    survey_nodes(f, &(survey){&best, bound, out}, half_s);
    return isfinite(best.squares);
}
