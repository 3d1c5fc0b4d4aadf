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
 *    with w the fall speed, q = w^2, r the horizontal airspeed, U the wind,
 *    kappa = rho CdA / (2 m) and K = kappa sqrt(1 + |r|^2 / q),
 *
 *      dq/dz = 2 g - 2 K q          dr/dz = -K r - dU/dz
 *
 *    With K held both are relaxations, solved exactly whatever the layer's depth d
 *    against the length 1/K: q1 = q0 E^2 + g (1 - E^2) / K, r1 = r0 E - dU/dz (1 - E) / K,
 *    E = e^(-K d). What K changes by on the way (slant, density) goes in as a force, by
 *    its values at the top, the middle and the end. The means over the layer are taken from
 *    what it takes and gives: that of q from the equation's own integral,
 *
 *      kappa (mean q + mean |r|^2 / 2 + ...) = g - (q1 - q0) / (2 d),
 *
 *    that of r likewise, those of |r|^2 and |r|^2 r from powers of E. Time is the mean of
 *    1/w, by its series about the mean q; the path has the covariance of 1/w and U + r
 *    besides. So a layer is taken whole, shorter or longer than a relaxation. Most layers are
 *    calm: slip and speed are near what they relax to, and a series in what is left of both
 *    (calm_descent) is as near with half the work.
 *
 * A lane begins the march when nothing is due and slip and change of speed are
 * small; it leaves it at a trigger height, before a layer in which an event falls,
 * and where the slip has grown: then alone the others wait for it, so that they go on together.
 * Where slip or speed change much in a layer a lane takes it in parts. What the lanes do is written
 * in vector types of the compiler, with masks instead of branches; a branch is taken for a whole
 * group only where it changes nothing for the lanes that do not need it.
 *
 * Stops being right: slip greater than half the fall speed inside one layer;
 * heights and times in single precision, fit for falls to some 20 km.
 */
#include "engine_kernel.h"
#include "lanes.h"

#include <math.h>

#define GROUPS (PAPPUS_LANES / WIDTH)

/* Groups go abreast, a piece of work of each in turn: while one waits for its roots and
 * divisions, the processor works on another. What a lane does is the same either way. */
#define EACH(count) for (int i = 0; i < (count); i++)

static const float gravity = (float)PAPPUS_GRAVITY_MPS2;

/* Steps in time. */
static const float longest_step_s = 0.6f;
static const float longest_opening_step_s = 0.3f;
static const float closed_per_s = 1e-6f;        /* opens so little: not at all */
static const float step_per_relaxation = 0.32f; /* of the drag's time constant */
static const float step_more = 0.3f;            /* added where its length is short ... */
static const float short_m = 20;                /* ... against this */
static const float near_ground_m = 30;
static const float step_per_opening = 0.2f; /* of the canopy's opening */
static const float reached_m = 0.02f;       /* a height counts as reached */
static const float ground_m = 0.001f;       /* the ground: wind ends within centimetres */
static const float falling_mps = 0.02f;     /* rising slower counts as falling */
static const float slow_mps = 3;            /* an opening's step foresees this speed */
static const float open_enough = 0.999f;
static const float passed_m = -1e9f;
static const float load_s = (float)PAPPUS_LOAD_S;
static const float load_edge_s = 1e-3f; /* a step that ends so near its end, ends there */
static const int most_rounds = 10000;
static const int most_steps = 100000;

/* The march. */
static const float deepest_layer_m = 110;
static const float begin_depth_m = 25;    /* looked ahead, to begin */
static const float most_slip = 0.15f;     /* |r|^2 / q, to begin */
static const float begin_change = 0.4f;   /* of q in a layer, relative, to begin */
static const float loaded_change = 0.15f; /* while loads count */
static const float leaving_slip = 0.36f;  /* |r|^2 / q, to leave */
/* At one go: */
static const float most_shift = 0.35f;    /* of the slip, over fall speed */
static const float shift_share = 0.5f;    /* less where the layer is many relaxations deep */
static const float most_change = 0.3f;    /* of q, over its mean */
static const float most_turn = 0.1f;      /* of the rate by the slant, over a relaxation */
static const float least_part_m = 0.002f; /* of a layer, at one go: this ... */
static const float least_part = 1e-4f;    /* ... and a share of the height */
static const float least_drag_per_m = 1e-9f;
/* By the series in what is left: */
static const float calm_slip = 0.15f;       /* |r|^2 / q ... */
static const float calm_slip_depth = 0.05f; /* ... and its square times the depth */
static const float calm_change = 0.1f;      /* of q, relative */
static const float calm_rest = 30;          /* of that and q in what it comes to, over q */

/* 1 - e^-x for x >= 0, to 3e-7 relative, small x included: 2^f - 1 by its
 * series on |f| <= 1/2 and the power of two in the exponent. Sums in pairs wait less for
 * each other (Estrin 1960). */
INLINE floats relaxed(floats x)
{
    const float shift = 12582912; /* 1.5 * 2^23 rounds to the nearest integer */
    floats y = most(-x * 1.44269504f, all(-60));
    floats n = (y + shift) - shift;
    floats f = y - n;
    floats f2 = f * f;
    floats p =
        f *
        ((0.693147181f + f * 0.240226507f) +
         f2 * ((0.0555041087f + f * 0.00961812911f) + f2 * (0.00133335581f + f * 0.000154035304f)));
    floats power = (floats)((__builtin_convertvector(n, ints) + 127) << 23);
    return (1 - power) - power * p;
}

/* A quantity at the top, the middle and the end of a depth, or of a step. */
typedef struct {
    floats top, middle, end;
} three;

typedef enum {
    LANE_STEPS,   /* steps in time */
    LANE_MARCHES, /* goes down layer by layer */
    LANE_HELD,    /* waits above what makes several falls of it */
    LANE_LANDED
} lane_mode;

/* A canopy: its drag area grows with the square of its opening, which runs
 * from 0 at its firing to 1, at the rate per_s + per_m * airspeed. */
typedef struct {
    floats area_m2; /* what it adds to the drag area when open: less what it shields */
    floats per_s, per_m;
    floats opening_at_fire; /* 1 when it opens in no time or is absent */
    floats since_s;         /* time since its firing; -INFINITY: not known yet */
    floats fired, open;     /* 0 or 1 */
    floats opening;
    floats fire_mps, fire_m, open_m, open_s;
    floats peak; /* greatest density * airspeed^2 * share of the drag area */
} canopy;

/* The air about each lane: linear in height inside the lane's layer. */
typedef struct {
    floats base_m, top_m;
    floats u_mps, v_mps, density_kgpm3; /* at base_m */
    floats u_slope, v_slope, density_slope;
    ints layer; /* what the lane's values were taken for; -1: none */
} lane_air;

typedef struct {
    floats half_per_kg; /* 1 / (2 mass) */
    floats body_before_m2, body_after_m2, held_m2;
    canopy drogue, main;
    floats trigger_m[PAPPUS_TRIGGERS], trigger_delay_s[PAPPUS_TRIGGERS]; /* passed: -1e9 */
    floats time_s, east_m, north_m, height_m, ve_mps, vn_mps, vup_mps;
    lane_air air;
    ints mode;         /* lane_mode */
    ints layer;        /* node below the lane */
    int trigger_count; /* of the fall that has most */
    bool rises;        /* some lane starts upwards */
    bool holds;        /* trigger 0 is where lanes are held */
} block;

static void load_canopy(canopy *c, int l, double cds_m2, double shields_m2, double open_s,
                        double fill_m, double since_s)
{
    bool by_time = !isnan(open_s);
    bool at_once = cds_m2 <= 0 || (by_time ? open_s <= 0 : fill_m <= 0);
    c->area_m2[l] = (float)(cds_m2 - shields_m2);
    c->per_s[l] = by_time && !at_once ? (float)(1 / open_s) : 0;
    c->per_m[l] = !by_time && !at_once ? (float)(1 / fill_m) : 0;
    c->opening_at_fire[l] = at_once ? 1 : 0;
    c->since_s[l] = (float)since_s;
    c->fired[l] = c->open[l] = c->opening[l] = 0;
    c->fire_mps[l] = c->fire_m[l] = c->open_s[l] = NAN;
    c->open_m[l] = c->peak[l] = 0;
}

/* A height at a node, as single precision has both, is in the layer below it. */
static int layer_of(const pappus_air *air, float height_m)
{
    size_t low = 0, high = air->node_count - 1;
    if (height_m > (float)air->height_m[high]) return (int)high;
    while (high - low > 1) {
        size_t middle = (low + high) / 2;
        if ((float)air->height_m[middle] < height_m)
            low = middle;
        else
            high = middle;
    }
    return (int)low;
}

/* When a trigger's height is reached, where that is known: it is the top, or so near below the
 * start that single precision cannot tell and the fall is free. Otherwise INFINITY. */
static double reached_s(const pappus_fall *fall, int trigger)
{
    double height_m = fall->trigger_height_m[trigger], g = PAPPUS_GRAVITY_MPS2;
    double drop_m = fall->height_m - height_m, down_mps = -fall->vup_mps;
    if (height_m >= fall->apogee_m) return 0;
    if (down_mps < 0 || drop_m < 0 || drop_m > (double)reached_m) return INFINITY;
    return fall->start_s + (sqrt(down_mps * down_mps + 2 * g * drop_m) - down_mps) / g;
}

/* Returns when the main fires whatever the height. */
static double load_triggers(block *b, int l, const pappus_fall *fall)
{
    bool has_main = fall->main_cds_m2 > 0;
    double main_fire_s = has_main ? fall->main_fire_s : INFINITY;
    if (fall->trigger_count > b->trigger_count) b->trigger_count = fall->trigger_count;
    for (int i = 0; i < PAPPUS_TRIGGERS; i++) {
        bool waits = has_main && i < fall->trigger_count;
        double known_s = waits ? reached_s(fall, i) : INFINITY;
        if (known_s < INFINITY) {
            main_fire_s = fmin(main_fire_s, known_s + fall->trigger_delay_s[i]);
            waits = false;
        }
        b->trigger_m[i][l] = waits ? (float)fall->trigger_height_m[i] : passed_m;
        b->trigger_delay_s[i][l] = waits ? (float)fall->trigger_delay_s[i] : 0;
    }
    return main_fire_s;
}

static void load(block *b, int l, const pappus_air *air, const pappus_fall *fall)
{
    b->half_per_kg[l] = (float)(0.5 / fall->mass_kg);
    b->body_before_m2[l] = (float)fall->body_before_m2;
    b->body_after_m2[l] = (float)fall->body_after_m2;
    b->held_m2[l] = (float)fall->held_cds_m2;
    load_canopy(&b->drogue, l, fall->drogue_cds_m2, fall->drogue_shields_m2, fall->drogue_open_s,
                fall->drogue_fill_m, fall->start_s - fall->apogee_fire_s);
    load_canopy(&b->main, l, fall->main_cds_m2, fall->main_shields_m2, fall->main_open_s,
                fall->main_fill_m, fall->start_s - load_triggers(b, l, fall));
    b->time_s[l] = (float)fall->start_s;
    b->east_m[l] = (float)fall->east_m;
    b->north_m[l] = (float)fall->north_m;
    b->height_m[l] = (float)fall->height_m;
    b->ve_mps[l] = (float)fall->ve_mps;
    b->vn_mps[l] = (float)fall->vn_mps;
    b->vup_mps[l] = (float)fall->vup_mps;
    if (fall->vup_mps > 0) b->rises = true;
    b->mode[l] = LANE_STEPS;
    b->layer[l] = layer_of(air, b->height_m[l]);
    b->air.layer[l] = -1;
}

static void store(pappus_touchdown *out, const block *b, int l, const pappus_fall *fall)
{
    const canopy *drogue = &b->drogue, *main = &b->main;
    bool has_drogue = fall->drogue_cds_m2 > 0 && drogue->fired[l] > 0;
    bool has_main = main->fired[l] > 0;
    bool opened = has_main && main->open[l] > 0;
    *out = (pappus_touchdown){
        .time_s = b->time_s[l],
        .east_m = b->east_m[l],
        .north_m = b->north_m[l],
        .ve_mps = b->ve_mps[l],
        .vn_mps = b->vn_mps[l],
        .vup_mps = b->vup_mps[l],
        .drogue_fire_mps = has_drogue ? drogue->fire_mps[l] : NAN,
        .main_fire_mps = has_main ? main->fire_mps[l] : NAN,
        .drogue_load_n =
            has_drogue ? 0.5 * fall->drogue_cx * fall->drogue_cds_m2 * drogue->peak[l] : NAN,
        .main_load_n = has_main ? 0.5 * fall->main_cx * fall->main_cds_m2 * main->peak[l] : NAN,
        .main_fire_m = has_main ? main->fire_m[l] : NAN,
        .main_full_open_m = opened ? main->open_m[l] : 0,
        .time_full_open_s = opened ? main->open_s[l] : NAN,
    };
}

static void take_air(block *b, const pappus_air *air, const float *u_mps, const float *v_mps)
{
    lane_air *a = &b->air;
    if (!any(a->layer != b->layer)) return;
    for (int l = 0; l < WIDTH; l++) {
        int low = b->layer[l];
        if (a->layer[l] == low) continue;
        const float *u = u_mps + low * PAPPUS_LANES + l, *v = v_mps + low * PAPPUS_LANES + l;
        a->layer[l] = low;
        a->base_m[l] = (float)air->height_m[low];
        a->u_mps[l] = u[0];
        a->v_mps[l] = v[0];
        a->density_kgpm3[l] = (float)air->density_kgpm3[low];
        a->u_slope[l] = a->v_slope[l] = a->density_slope[l] = 0;
        a->top_m[l] = INFINITY;
        if (low + 1 == (int)air->node_count) continue; /* above the grid all holds */
        a->top_m[l] = (float)air->height_m[low + 1];
        float per_m = 1 / (a->top_m[l] - a->base_m[l]);
        a->u_slope[l] = (u[PAPPUS_LANES] - u[0]) * per_m;
        a->v_slope[l] = (v[PAPPUS_LANES] - v[0]) * per_m;
        a->density_slope[l] = ((float)air->density_kgpm3[low + 1] - a->density_kgpm3[l]) * per_m;
    }
}

/* One lane's equation of motion between two events. */
typedef struct {
    floats half_per_kg, body_m2;
    floats drogue_m2, drogue_per_s, drogue_per_m; /* 0 before its firing */
    floats main_m2, main_per_s, main_per_m;
} motion;

typedef struct {
    floats z, ve, vn, vup, drogue, main;
} state;

typedef struct {
    floats ae, an, aup, drogue, main;
    floats speed, density;
    floats pressure; /* density * airspeed^2 */
} rates;

INLINE floats share(floats opening)
{
    floats p = least(opening, all(1));
    return p * p;
}

INLINE floats area_of(const motion *m, state s)
{
    return m->body_m2 + m->drogue_m2 * share(s.drogue) + m->main_m2 * share(s.main);
}

INLINE rates rates_at(const lane_air *air, const motion *m, state s, bool opens, floats area)
{
    floats height = s.z - air->base_m;
    floats re = s.ve - (air->u_mps + air->u_slope * height);
    floats rn = s.vn - (air->v_mps + air->v_slope * height);
    floats density = air->density_kgpm3 + air->density_slope * height;
    floats square = re * re + rn * rn + s.vup * s.vup;
    floats speed = root(square);
    if (opens) area = area_of(m, s);
    floats drag = m->half_per_kg * density * area * speed;
    rates k = {
        .ae = -drag * re,
        .an = -drag * rn,
        .aup = -drag * s.vup - gravity,
        .speed = speed,
        .density = density,
        .pressure = density * square,
    };
    if (opens) {
        k.drogue = m->drogue_per_s + m->drogue_per_m * speed;
        k.main = m->main_per_s + m->main_per_m * speed;
    }
    return k;
}

INLINE state moved(state s, rates k, floats vup, floats dt, bool opens)
{
    return (state){
        .z = s.z + dt * vup,
        .ve = s.ve + dt * k.ae,
        .vn = s.vn + dt * k.an,
        .vup = s.vup + dt * k.aup,
        .drogue = opens ? s.drogue + dt * k.drogue : s.drogue,
        .main = opens ? s.main + dt * k.main : s.main,
    };
}

/* Time until the fall reaches a height below, from speed and acceleration. */
INLINE floats time_to_fall(floats drop_m, floats vup, floats aup)
{
    floats square = vup * vup - 2 * aup * drop_m;
    floats sum = root(most(square, all(0))) - vup;
    return pick((square > 0) & (sum > 0), 2 * drop_m / sum, all(INFINITY));
}

/* Time until the rise reaches a height above; INFINITY when it turns before. */
INLINE floats time_to_rise(floats rise_m, floats vup, floats aup)
{
    floats square = vup * vup + 2 * aup * rise_m;
    floats time = 2 * rise_m / (vup + root(most(square, all(0))));
    return pick((vup > falling_mps) & (square > 0), time, all(INFINITY));
}

/* The longest step that a canopy's opening allows: a share of it, and no further
 * than full open, with the rate changing as the fall slows. */
INLINE floats opening_step(floats opening, floats per_s, floats per_m, floats speed,
                           floats speed_rate)
{
    floats rate = most(per_s + per_m * most(speed, all(slow_mps)), all(closed_per_s));
    floats per_rate = 1 / rate, full = (1 - opening) * per_rate;
    floats slowing = least(-0.5f * per_m * speed_rate * full * per_rate, all(0.5f));
    full *= 1 + most(slowing, all(-0.5f));
    floats step = least(least(full, step_per_opening * per_rate), all(longest_opening_step_s));
    return pick((opening < 1) & (rate > closed_per_s), step, all(INFINITY));
}

INLINE floats time_left(floats since_s)
{
    return pick(since_s < 0, -since_s, all(INFINITY));
}

INLINE ints is_due(const canopy *c)
{
    return ((c->fired == 0) & (c->since_s >= 0)) | ((c->open == 0) & (c->opening >= open_enough));
}

/* Firing and full opening. */
INLINE void fire(canopy *c, ints now, floats speed, floats height, floats time)
{
    ints fires = now & (c->fired == 0) & (c->since_s >= 0);
    c->fired = pick(fires, all(1), c->fired);
    c->fire_mps = pick(fires, speed, c->fire_mps);
    c->fire_m = pick(fires, height, c->fire_m);
    c->opening = pick(fires, c->opening_at_fire, c->opening);
    ints opens = now & (c->open == 0) & (c->opening >= open_enough);
    c->open = pick(opens, all(1), c->open);
    c->opening = pick(opens, all(1), c->opening);
    c->open_m = pick(opens, height, c->open_m);
    c->open_s = pick(opens, time, c->open_s);
}

INLINE void pass_trigger(block *b, int i, ints now)
{
    floats above = b->height_m - b->trigger_m[i];
    ints passes = now & (b->vup_mps <= falling_mps) & (above <= reached_m);
    if (!any(passes)) return;
    if (b->holds) {
        b->mode = (passes & LANE_HELD) | (~passes & b->mode);
        return;
    }
    /* Free fall is near enough for a step's rest; a fall that turned below the height
     * was due at its top, v/g ago. */
    floats ahead = time_to_fall(above, b->vup_mps, all(-gravity));
    floats late = pick(ahead < INFINITY, -ahead, -b->vup_mps * (1 / gravity));
    late = pick(above > -1, late, all(0));
    floats since = most(b->main.since_s, late - b->trigger_delay_s[i]);
    b->main.since_s = pick(passes, since, b->main.since_s);
    b->trigger_m[i] = pick(passes, all(passed_m), b->trigger_m[i]);
}

/* Horizontal. */
typedef struct {
    floats e, n;
} airspeed;

INLINE airspeed airspeed_of(const block *b)
{
    floats height = b->height_m - b->air.base_m;
    return (airspeed){b->ve_mps - (b->air.u_mps + b->air.u_slope * height),
                      b->vn_mps - (b->air.v_mps + b->air.v_slope * height)};
}

INLINE void events(block *b, ints now)
{
    for (int i = 0; i < b->trigger_count; i++)
        pass_trigger(b, i, now);
    if (!any(now & (is_due(&b->drogue) | is_due(&b->main)))) return;
    airspeed r = airspeed_of(b);
    floats speed = root(r.e * r.e + r.n * r.n + b->vup_mps * b->vup_mps);
    fire(&b->drogue, now, speed, b->height_m, b->time_s);
    fire(&b->main, now, speed, b->height_m, b->time_s);
}

INLINE motion motion_of(const block *b)
{
    ints parted = (b->drogue.fired > 0) | (b->main.fired > 0);
    floats body = pick(parted, b->body_after_m2, b->body_before_m2);
    floats held = pick((b->drogue.fired > 0) & (b->main.fired == 0), b->held_m2, all(0));
    return (motion){
        .half_per_kg = b->half_per_kg,
        .body_m2 = body + held,
        .drogue_m2 = b->drogue.area_m2 * b->drogue.fired,
        .drogue_per_s = b->drogue.per_s * b->drogue.fired,
        .drogue_per_m = b->drogue.per_m * b->drogue.fired,
        .main_m2 = b->main.area_m2 * b->main.fired,
        .main_per_s = b->main.per_s * b->main.fired,
        .main_per_m = b->main.per_m * b->main.fired,
    };
}

/* Time that a canopy's loads still count; INFINITY while it is not yet open. */
INLINE floats load_left(const canopy *c, floats time_s)
{
    floats left = c->open_s + load_s - time_s;
    return pick(c->open > 0, left, all(INFINITY));
}

/* The same as the limit of a step: none when that time is over. */
INLINE floats load_step(const canopy *c, floats time_s)
{
    floats left = load_left(c, time_s);
    return pick(left > load_edge_s, left, all(INFINITY));
}

/* The same of a canopy that is out; negative of one that is not. */
INLINE floats march_load(const canopy *c, floats time_s)
{
    return pick(c->open > 0, load_left(c, time_s), all(-1));
}

/* Time until the next known event or the next height of interest. */
INLINE floats time_to_event(const block *b, state s, floats aup)
{
    floats dt = least(time_left(b->drogue.since_s), time_left(b->main.since_s));
    dt = least(dt, least(load_step(&b->drogue, b->time_s), load_step(&b->main, b->time_s)));
    if (b->rises) {
        dt = least(dt, pick(s.vup > falling_mps, -s.vup / aup, all(INFINITY)));
        dt = least(dt, time_to_rise(b->air.top_m - s.z, s.vup, aup));
    }
    floats target = b->air.base_m;
    for (int i = 0; i < b->trigger_count; i++)
        target = pick(b->trigger_m[i] < s.z, most(target, b->trigger_m[i]), target);
    return least(dt, time_to_fall(s.z - target, s.vup, aup));
}

/* The longest step that the lane's state allows. */
INLINE floats step_of(const block *b, const motion *m, state s, rates k, bool opens, floats area)
{
    floats dt = least(all(longest_step_s), time_to_event(b, s, k.aup));
    if (opens) {
        floats climb = s.vup / most(k.speed, all(1e-3f));
        floats speed_rate = -m->half_per_kg * k.pressure * area - gravity * climb;
        dt = least(dt,
                   opening_step(s.drogue, m->drogue_per_s, m->drogue_per_m, k.speed, speed_rate));
        dt = least(dt, opening_step(s.main, m->main_per_s, m->main_per_m, k.speed, speed_rate));
        area = m->body_m2 + m->drogue_m2 * share(s.drogue + dt * k.drogue) +
               m->main_m2 * share(s.main + dt * k.main);
    }
    floats faster = k.speed + 0.5f * gravity * dt;
    floats relaxation = m->half_per_kg * k.density * area * faster;
    /* What is left of a brief transient is a small error, but for the speed at the ground. */
    floats loose = short_m * step_more / (short_m * relaxation + faster);
    return least(dt, step_per_relaxation / most(relaxation, all(1e-6f)) +
                         pick(s.z > near_ground_m, loose, all(0)));
}

INLINE void keep_peak(canopy *c, ints now, floats load)
{
    c->peak = pick(now & (c->fired > 0) & (load > c->peak), load, c->peak);
}

/* The greatest of the parabola through a step's start, middle and end, while loads count. */
INLINE void keep_peaks(canopy *c, ints now, floats time_s, three load)
{
    floats left = load_left(c, time_s);
    now &= left > load_edge_s;
    floats peak = most(load.top, load.end);
    floats bend = load.top - 2 * load.middle + load.end, slope = 0.5f * (load.end - load.top);
    ints turns = now & (bend < 0) & (slope < -bend) & (slope > bend);
    if (any(turns)) peak = pick(turns, load.middle - 0.5f * slope * slope / bend, peak);
    keep_peak(c, now, peak);
}

INLINE void pass_time(block *b, floats dt)
{
    b->time_s += dt;
    b->drogue.since_s += dt;
    b->main.since_s += dt;
}

INLINE floats pressure_now(const block *b)
{
    floats height = b->height_m - b->air.base_m;
    airspeed r = airspeed_of(b);
    floats density = b->air.density_kgpm3 + b->air.density_slope * height;
    return density * (r.e * r.e + r.n * r.n + b->vup_mps * b->vup_mps);
}

INLINE ints counts_loads(const canopy *c, floats time_s)
{
    return (c->fired > 0) & (load_left(c, time_s) > load_edge_s);
}

/* A group of lanes in a step in time; opens: some canopy of a group's is opening. */
typedef struct {
    block *b;
    ints now;
    motion m;
    floats area, dt;
    state s, s2, s3, s4;
    rates k1, k2, k3, k4;
} stepper;

INLINE void begin_step(stepper *w, bool opens)
{
    const block *b = w->b;
    w->m = motion_of(b);
    w->s =
        (state){b->height_m, b->ve_mps, b->vn_mps, b->vup_mps, b->drogue.opening, b->main.opening};
    w->area = area_of(&w->m, w->s);
    w->k1 = rates_at(&b->air, &w->m, w->s, opens, w->area);
    w->dt = pick(w->now, step_of(b, &w->m, w->s, w->k1, opens, w->area), all(0));
}

INLINE void second_stage(stepper *w, bool opens)
{
    w->s2 = moved(w->s, w->k1, w->s.vup, 0.5f * w->dt, opens);
    w->k2 = rates_at(&w->b->air, &w->m, w->s2, opens, w->area);
}

INLINE void third_stage(stepper *w, bool opens)
{
    w->s3 = moved(w->s, w->k2, w->s2.vup, 0.5f * w->dt, opens);
    w->k3 = rates_at(&w->b->air, &w->m, w->s3, opens, w->area);
}

INLINE void fourth_stage(stepper *w, bool opens)
{
    w->s4 = moved(w->s, w->k3, w->s3.vup, w->dt, opens);
    w->k4 = rates_at(&w->b->air, &w->m, w->s4, opens, w->area);
}

INLINE void end_step(const stepper *w, bool opens)
{
    block *b = w->b;
    state s = w->s, s2 = w->s2, s3 = w->s3, s4 = w->s4;
    rates k1 = w->k1, k2 = w->k2, k3 = w->k3, k4 = w->k4;
    floats sixth = w->dt * (1 / 6.0f);
    b->east_m += sixth * (s.ve + 2 * (s2.ve + s3.ve) + s4.ve);
    b->north_m += sixth * (s.vn + 2 * (s2.vn + s3.vn) + s4.vn);
    b->height_m += sixth * (s.vup + 2 * (s2.vup + s3.vup) + s4.vup);
    b->ve_mps += sixth * (k1.ae + 2 * (k2.ae + k3.ae) + k4.ae);
    b->vn_mps += sixth * (k1.an + 2 * (k2.an + k3.an) + k4.an);
    b->vup_mps += sixth * (k1.aup + 2 * (k2.aup + k3.aup) + k4.aup);
    if (opens) {
        b->drogue.opening += sixth * (k1.drogue + 2 * (k2.drogue + k3.drogue) + k4.drogue);
        b->main.opening += sixth * (k1.main + 2 * (k2.main + k3.main) + k4.main);
    }
    /* The middle is right to second order as the mean of its two stages. */
    ints drogue = w->now & counts_loads(&b->drogue, b->time_s);
    ints main = w->now & counts_loads(&b->main, b->time_s);
    if (any(drogue | main)) {
        floats end = pressure_now(b);
        keep_peaks(&b->drogue, drogue, b->time_s,
                   (three){k1.pressure * share(s.drogue),
                           0.5f * (k2.pressure * share(s2.drogue) + k3.pressure * share(s3.drogue)),
                           end * share(b->drogue.opening)});
        keep_peaks(&b->main, main, b->time_s,
                   (three){k1.pressure * share(s.main),
                           0.5f * (k2.pressure * share(s2.main) + k3.pressure * share(s3.main)),
                           end * share(b->main.opening)});
    }
    pass_time(b, w->dt);
}

INLINE void step_on(stepper *w, int count, bool opens)
{
    EACH(count) begin_step(&w[i], opens);
    EACH(count) second_stage(&w[i], opens);
    EACH(count) third_stage(&w[i], opens);
    EACH(count) fourth_stage(&w[i], opens);
    EACH(count) end_step(&w[i], opens);
}

INLINE ints is_opening(const canopy *c)
{
    return (c->fired > 0) & (c->opening < 1);
}

INLINE void time_step(stepper *w, int count)
{
    ints opening = {0};
    EACH(count)
    opening |= w[i].now & (is_opening(&w[i].b->drogue) | is_opening(&w[i].b->main));
    if (any(opening))
        step_on(w, count, true);
    else
        step_on(w, count, false);
}

/* Due to fire, or opening. */
INLINE ints is_busy(const canopy *c)
{
    return (c->open == 0) & ((c->fired > 0) | (c->since_s >= 0));
}

/* Lanes to which nothing happens in the layer ahead, their change of fall speed
 * and their slip small enough for the closed form. The march follows the loads of one
 * canopy at a time. */
INLINE ints may_march(const block *b, ints now)
{
    now &= (b->vup_mps < 0) & ~is_busy(&b->drogue) & ~is_busy(&b->main);
    if (!any(now)) return now;
    motion m = motion_of(b);
    floats height = b->height_m - b->air.base_m, w = -b->vup_mps, q = w * w;
    airspeed r = airspeed_of(b);
    floats density = b->air.density_kgpm3 + b->air.density_slope * height;
    floats area = m.body_m2 + m.drogue_m2 + m.main_m2;
    floats balance = gravity - density * m.half_per_kg * area * q;
    /* The layers below have what does not relax in the rest of this one. */
    floats x = 2 * density * m.half_per_kg * area * height;
    floats depth = most(least(height, all(begin_depth_m)), begin_depth_m / (1 + x + 0.5f * x * x));
    floats change = 2 * depth * most(balance, -balance);
    floats wait = least(time_left(b->drogue.since_s), time_left(b->main.since_s));
    floats drogue_load = march_load(&b->drogue, b->time_s);
    floats main_load = march_load(&b->main, b->time_s);
    now &= least(drogue_load, main_load) <= load_edge_s;
    /* Loads are known at the ends of layers alone. */
    floats allowed =
        pick(most(drogue_load, main_load) > load_edge_s, all(loaded_change), all(begin_change));
    for (int i = 0; i < b->trigger_count; i++)
        now &= b->height_m > b->trigger_m[i] + reached_m;
    return now & (r.e * r.e + r.n * r.n <= most_slip * q) & (change <= allowed * q) &
           (wait * w > 1.2f * height);
}

/* Into the next layer, onto the ground, or over to the march. */
INLINE void after_step(block *b, ints now, int top_layer)
{
    ints marches = may_march(b, now & (b->layer < top_layer));
    ints landed = now & (b->layer == 0) & (b->height_m <= ground_m) & (b->vup_mps < 0);
    if (any(landed)) {
        floats left = pick(landed, -b->height_m / b->vup_mps, all(0));
        b->east_m += left * b->ve_mps;
        b->north_m += left * b->vn_mps;
        b->time_s += left;
    }
    ints rises = b->vup_mps > falling_mps;
    ints down = now & ~rises & (b->layer > 0) & (b->height_m <= b->air.base_m + reached_m);
    ints up = now & rises & (b->layer < top_layer) & (b->height_m >= b->air.top_m - reached_m);
    b->layer += down - up; /* a mask is -1 */
    b->height_m = pick(landed, all(0), b->height_m);
    marches &= ~down & ~landed;
    b->mode = (marches & LANE_MARCHES) | (landed & LANE_LANDED) | (~marches & ~landed & b->mode);
}

static int steps_in_time(block b[GROUPS], const pappus_air *air, const float *u_mps,
                         const float *v_mps)
{
    int top_layer = (int)air->node_count - 1;
    for (int step = 0; step < most_steps; step++) {
        stepper w[GROUPS];
        int count = 0;
        for (int g = 0; g < GROUPS; g++) {
            ints now = b[g].mode == LANE_STEPS;
            if (!any(now)) continue;
            take_air(&b[g], air, u_mps + g * WIDTH, v_mps + g * WIDTH);
            events(&b[g], now);
            w[count].b = &b[g];
            w[count++].now = now & (b[g].mode == LANE_STEPS);
        }
        if (count == 0) return 0;
        time_step(w, count);
        for (int i = 0; i < count; i++)
            after_step(w[i].b, w[i].now, top_layer);
    }
    return 1;
}

/* Lanes on the march: their state, and what stays as it is. */
typedef struct {
    floats q, re, rn; /* square of the fall speed; horizontal airspeed */
    floats z, time, east, north, peak;
    floats load_s;  /* time that loads still count */
    floats event_s; /* time until something fires */
    floats drag_per_density, next_trigger_m;
    ints on;   /* still marching */
    ints left; /* out of the march for their slip */
    ints layer;
    bool any_event;
} marchers;

/* One layer of the grid, the same for all lanes but for its wind. */
typedef struct {
    int index;
    float base_m, depth_m, density, density_slope, density_bend;
    floats u, v, u_slope, v_slope;
} layer;

INLINE layer layer_at(const pappus_air *air, const float *u_mps, const float *v_mps, int index)
{
    const floats *u = (const floats *)(const void *)(u_mps + index * PAPPUS_LANES);
    const floats *v = (const floats *)(const void *)(v_mps + index * PAPPUS_LANES);
    const int next = PAPPUS_LANES / WIDTH;
    float base = (float)air->height_m[index];
    float depth = (float)air->height_m[index + 1] - base, per_m = 1 / depth;
    float density = (float)air->density_kgpm3[index];
    float slope = ((float)air->density_kgpm3[index + 1] - density) * per_m;
    return (layer){
        .index = index,
        .base_m = base,
        .depth_m = depth,
        .density = density,
        .density_slope = slope,
        .density_bend = 0.5f * slope * slope / density,
        .u = u[0],
        .v = v[0],
        .u_slope = (u[next] - u[0]) * per_m,
        .v_slope = (v[next] - v[0]) * per_m,
    };
}

/* Between two nodes density is an exponential: its chord less the parabola. */
INLINE floats density_in(const layer *y, floats height)
{
    return y->density + height * (y->density_slope - y->density_bend * (y->depth_m - height));
}

typedef struct {
    floats q, re, rn;
} slip;

/* The state after a depth, from gone = 1 - e^(-K depth). */
INLINE slip relax(slip s, const layer *y, floats gone, floats per_k)
{
    floats kept = 1 - gone, length = gone * per_k;
    return (slip){
        .q = s.q * kept * kept + gravity * length * (1 + kept),
        .re = s.re * kept + y->u_slope * length,
        .rn = s.rn * kept + y->v_slope * length,
    };
}

/* sqrt(1 + x), to 1e-4 at x = 1/3. */
INLINE floats slant_of(floats x)
{
    return 1 + x * ((0.5f - x * 0.125f) + x * x * (0.0625f - x * 0.0390625f));
}

INLINE floats slip_square(slip s)
{
    return s.re * s.re + s.rn * s.rn;
}

/* A depth of one layer, for the lanes of `now`. */
typedef struct {
    ints now;
    floats aim_m, target_m, depth_m;
    floats kappa, bend;  /* at the middle, and what it is more at the end */
    floats u_mps, v_mps; /* of the wind at the top */
} leg;

typedef struct {
    slip end;
    floats dt, east, north;
    floats length; /* of the relaxation */
    floats doubt;  /* square of the length over the longest that is near enough */
} descent;

INLINE floats sum_of(three w, three x, three y)
{
    return w.top * x.top * y.top + w.middle * x.middle * y.middle + w.end * x.end * y.end;
}

INLINE floats mean_of(three w, three x)
{
    return w.top * x.top + w.middle * x.middle + w.end * x.end;
}

INLINE floats simpson(three x)
{
    return (x.top + 4 * x.middle + x.end) * (1 / 6.0f);
}

/* 1/w over that of the mean q, less 1. */
INLINE floats excess(floats off)
{
    return off * (-0.5f + off * (0.375f - 0.3125f * off));
}

/* Weights of the three values in a mean: right for 1, e^-h and e^-2h. A layer that hardly
 * relaxes has Simpson's; one that relaxes at once has its end's. */
INLINE three weights_of(floats h, floats per_h, floats half, floats first, floats second)
{
    floats x = 1 - half, x2 = x * x, per = 1 / (half * half * (1 + x) * x);
    floats top = (second - first * (x + x2) + x * x2) * x * per;
    floats middle = -(second - first * (1 + x2) + x2) * (1 + x) * per;
    ints little = h<0.3f, much = h> 3;
    floats brief = 0.75f * per_h;
    top = pick(little, all(1 / 6.0f), pick(much, brief, top));
    middle = pick(little, all(4 / 6.0f), pick(much, all(4 / 6.0f), middle));
    return (three){top, middle, 1 - top - middle};
}

/* Means over a depth of the powers of a slip that relaxes from `top` to `end`. */
typedef struct {
    floats square;           /* of |r|^2 */
    floats re_cube, rn_cube; /* of |r|^2 r */
} powers;

/* The relaxation over a depth: kappa at its middle, bend more at its end and less at its top;
 * k its rate, h = k depth, half and gone what goes by the middle and the end. */
typedef struct {
    floats kappa, bend, k, h, per_h, depth, length, per_kappa;
    floats half, gone, kept;
    floats per_q0; /* 1 / q at its top */
} relaxation;

/* The rate's slant lies between that of the top and what it comes to, found with a fraction in
 * the place of the exponential. */
INLINE relaxation relaxation_of(slip s, const layer *y, const leg *g)
{
    floats d = g->depth_m, bend = g->bend, kappa = most(g->kappa, all(least_drag_per_m));
    floats per_q0 = 1 / pick(g->now, s.q, all(1)), slant = slant_of(slip_square(s) * per_q0);
    floats h = kappa * slant * d;
    floats soon = 1 / (1 + h + 0.5f * h * h), pull = d * (1 + 0.5f * h);
    slip guess = {s.q, (s.re + y->u_slope * pull) * soon, (s.rn + y->v_slope * pull) * soon};
    floats share = 1 - soon * (0.5f + 0.25f * h);
    slant += share * (slant_of(slip_square(guess) * per_q0) - slant);
    floats k = kappa * slant;
    h = k * d;
    floats per_h = 1 / h, length = d * per_h, half = relaxed(0.5f * h), gone = half * (2 - half);
    return (relaxation){
        .kappa = kappa,
        .bend = bend,
        .k = k,
        .h = h,
        .per_h = per_h,
        .depth = d,
        .length = length,
        .per_kappa = length * slant,
        .half = half,
        .gone = gone,
        .kept = 1 - gone,
        .per_q0 = per_q0,
    };
}

/* What the state goes through on the way. */
typedef struct {
    three q, re, rn;
    three over, rest; /* slant - 1; what it adds to q beyond |r|^2 / 2: as first found */
    three r2, turn;   /* likewise the slip's square and what the slant adds to the rate */
} course;

INLINE slip at_end(const course *c)
{
    return (slip){c->q.end, c->re.end, c->rn.end};
}

INLINE slip at_middle(const course *c)
{
    return (slip){c->q.middle, c->re.middle, c->rn.middle};
}

/* first, second: the means of E = e^-(k s) and of its square. The middle that a slip goes
 * through is not quite that of powers of E: what it has more counts with its weight. */
INLINE powers powers_of(slip top, slip middle, slip end, const relaxation *x, floats first,
                        floats second, floats weight)
{
    floats per_gone = 1 / x->gone, kept = x->kept;
    floats third = (1 - kept * kept * kept) * x->per_h * (1 / 3.0f);
    floats e1 = (top.re - end.re) * per_gone, e0 = top.re - e1;
    floats n1 = (top.rn - end.rn) * per_gone, n0 = top.rn - n1;
    floats a = e0 * e0 + n0 * n0, b = 2 * (e0 * e1 + n0 * n1), c = e1 * e1 + n1 * n1;
    floats square = a + b * first + c * second;
    floats by = a * first + b * second + c * third;
    slip half = {middle.q, top.re - e1 * x->half, top.rn - n1 * x->half};
    floats is = slip_square(middle), was = slip_square(half);
    return (powers){square + weight * (is - was),
                    e0 * square + e1 * by + weight * (is * middle.re - was * half.re),
                    n0 * square + n1 * by + weight * (is * middle.rn - was * half.rn)};
}

/* What slant and density add to the rate, as a force on the middle and the end: Simpson's rule
 * with what of it relaxes on the way, its weights such that a force that stays as it is does
 * what it does. */
INLINE void force(course *c, const relaxation *x)
{
    floats kept = x->kept, kept_half = 1 - x->half;
    floats lasts = x->gone * x->length, lasts_half = x->half * x->length;
    three more = {c->turn.top - x->bend, c->turn.middle, c->turn.end + x->bend};
    /* Density grows all the way: what does not relax at once stays behind it. */
    ints much = x->h > 3;
    floats behind = pick(much, x->bend * x->length * x->per_h, all(0));
    floats past = pick(much, all(0), all(-0.125f));
    floats end = lasts / (1 + 4 * kept_half + kept);
    floats end_q = lasts * (1 + kept) / (1 + 4 * kept + kept * kept);
    floats second = 0.5f * x->gone * (1 + kept) * x->per_h;
    floats lags = end_q * (1 - kept * kept) - x->length * (1 + kept * kept - 2 * second);
    floats behind_end = pick(much, x->bend * lags, all(0));
    floats middle = lasts_half / (1 + 0.625f * kept_half + past);
    floats middle_q = lasts / (1 + 0.625f * kept + past);
    three to_end = {end * kept, end * 4 * kept_half, end};
    three to_end_q = {end_q * kept * kept, end_q * 4 * kept, end_q};
    three to_middle = {middle * 0.625f * kept_half, middle, past * middle};
    three to_middle_q = {middle_q * 0.625f * kept, middle_q, past * middle_q};
    course from = *c;
    c->re.middle -= sum_of(to_middle, more, from.re);
    c->rn.middle -= sum_of(to_middle, more, from.rn);
    c->q.middle -= sum_of(to_middle_q, more, from.q) - behind * from.q.middle;
    c->re.end -= sum_of(to_end, more, from.re);
    c->rn.end -= sum_of(to_end, more, from.rn);
    c->q.end -= sum_of(to_end_q, more, from.q) - behind_end * from.q.end;
}

INLINE course course_of(slip s, const layer *y, const relaxation *x)
{
    slip middle = relax(s, y, x->half, x->length), end = relax(s, y, x->gone, x->length);
    three q = {s.q, middle.q, end.q};
    three r2 = {slip_square(s), slip_square(middle), slip_square(end)};
    three over = {slant_of(r2.top * x->per_q0) - 1, slant_of(r2.middle / middle.q) - 1,
                  slant_of(r2.end / end.q) - 1};
    floats less = x->kappa - x->k;
    course c = {
        .q = q,
        .re = {s.re, middle.re, end.re},
        .rn = {s.rn, middle.rn, end.rn},
        .over = over,
        .rest = {over.top * q.top - 0.5f * r2.top, over.middle * q.middle - 0.5f * r2.middle,
                 over.end * q.end - 0.5f * r2.end},
        .r2 = r2,
        .turn = {x->kappa * over.top + less, x->kappa * over.middle + less,
                 x->kappa * over.end + less},
    };
    force(&c, x);
    return c;
}

typedef struct {
    floats q, re, rn, per_q;
    three w; /* weights of a mean */
} means;

/* Twice the mean of bend's share of the force on q: the density's change over the layer meets
 * what is more at its top or its end, trend or transient. */
INLINE floats lean_of(const course *c, const relaxation *x, floats per_kappa)
{
    const floats sixth = all(1 / 6.0f);
    floats lean = least(sixth, 0.5f * x->per_h), trend = -2 * x->bend * per_kappa * c->q.end;
    return trend * (sixth - lean) + (c->q.end - c->q.top) * lean +
           0.5f * (c->r2.end - c->r2.top) * least(sixth, 0.75f * x->per_h);
}

/* From what is taken and given on the way; of a layer that hardly relaxes by Simpson's rule. */
INLINE means means_of(const course *c, const relaxation *x, const layer *y)
{
    floats first = x->gone * x->per_h, second = 0.5f * first * (1 + x->kept);
    floats per_d = x->k * x->per_h, per_kappa = x->per_kappa;
    three w = weights_of(x->h, x->per_h, x->half, first, second);
    /* What the slip would have come to in the density of the middle. */
    floats undo = x->bend * least(x->depth * (1 / 6.0f), x->length);
    slip top = {c->q.top, c->re.top, c->rn.top};
    slip level = {c->q.end, c->re.end + undo * (c->re.end - x->kept * top.re),
                  c->rn.end + undo * (c->rn.end - x->kept * top.rn)};
    powers p = powers_of(top, at_middle(c), level, x, first, second, w.middle);
    per_kappa *= 1 - x->bend * x->bend * per_kappa * per_kappa * (1 / 6.0f);
    floats q = per_kappa * (gravity + (top.q - c->q.end) * 0.5f * per_d -
                            x->bend * lean_of(c, x, per_kappa)) -
               0.5f * p.square - mean_of(w, c->rest);
    floats half_q = pick(x->h > 0.3f, 0.5f / q, all(0));
    three over = {c->over.top - half_q * c->r2.top, c->over.middle - half_q * c->r2.middle,
                  c->over.end - half_q * c->r2.end};
    floats loss = per_d + x->bend * least(all(1 / 6.0f), 0.8f * x->per_h);
    floats re = per_kappa * ((top.re - c->re.end) * loss + y->u_slope) - half_q * p.re_cube -
                sum_of(w, over, c->re);
    floats rn = per_kappa * ((top.rn - c->rn.end) * loss + y->v_slope) - half_q * p.rn_cube -
                sum_of(w, over, c->rn);
    ints relaxes = x->h > 0.03f;
    q = pick(relaxes, q, simpson(c->q));
    return (means){q, pick(relaxes, re, simpson(c->re)), pick(relaxes, rn, simpson(c->rn)), 1 / q,
                   w};
}

/* Square of the depth over the greatest that is near enough. */
INLINE floats doubt_of(const course *c, const relaxation *x, floats per_end, const three *off)
{
    floats re = c->re.end - c->re.top, rn = c->rn.end - c->rn.top;
    floats shift = (re * re + rn * rn) * per_end * (1 + shift_share * least(x->h, all(10)));
    floats span = least(x->depth * (1 / 6.0f), x->length);
    floats turned = (c->turn.top * c->turn.top + c->turn.end * c->turn.end) * span * span;
    floats change = off->top * off->top + off->end * off->end;
    return most(
        shift * (1 / (most_shift * most_shift)),
        most(turned * (1 / (most_turn * most_turn)), change * (1 / (most_change * most_change))));
}

/* 1/w about the mean of q, and its covariance with the path's speed. */
INLINE descent descent_of(const course *c, const relaxation *x, const means *m, const layer *y,
                          const leg *g)
{
    floats d = g->depth_m, per_w = d * root(m->per_q), per_end = 1 / c->q.end;
    three off = {c->q.top * m->per_q - 1, c->q.middle * m->per_q - 1, c->q.end * m->per_q - 1};
    three f = {excess(off.top), excess(off.middle), excess(off.end)};
    floats longer = 1 + mean_of(m->w, f) + 0.5f * mean_of(m->w, off);
    floats u_half = 0.5f * d * y->u_slope, v_half = 0.5f * d * y->v_slope;
    three e = {u_half + c->re.top - m->re, c->re.middle - m->re, c->re.end - u_half - m->re};
    three n = {v_half + c->rn.top - m->rn, c->rn.middle - m->rn, c->rn.end - v_half - m->rn};
    return (descent){
        .end = at_end(c),
        .dt = per_w * longer,
        .east = per_w * ((g->u_mps - u_half + m->re) * longer + sum_of(m->w, f, e)),
        .north = per_w * ((g->v_mps - v_half + m->rn) * longer + sum_of(m->w, f, n)),
        .length = x->length,
        .doubt = doubt_of(c, x, per_end, &off),
    };
}

/* A leg in which slip and speed are near what the layer relaxes to, by series in what is left.
 * With x = |r|^2 / q on the way, S = sqrt(1 + x) and E = e^(-kappa s),
 *
 *   r = r* + D E,  r* = -dU/dz / (kappa S)        q = q* + Q E^2,  q* = g / (kappa S)
 *
 * and to first order what x changes by and the density's trend add to both. The means are
 * those of powers of E, and so exact for a depth that is short or long against 1/kappa; 1/w
 * is taken about the mean of q to second order. First E, whatever the slip. */
typedef struct {
    floats d, kappa, h, per_h, soon, length, beta;
    floats gone, kept, kept2, one_more;  /* 1 - E at the end, E, E^2, 1 + E */
    floats first, second, third, fourth; /* means of powers of E */
} fading;

INLINE fading fading_of(const leg *g)
{
    floats d = g->depth_m, kappa = most(g->kappa, all(least_drag_per_m));
    floats h = kappa * d, per_h = 1 / h, soon = 1 / (1 + h), length = d * per_h;
    floats gone = relaxed(h), kept = 1 - gone, kept2 = kept * kept, one_more = 1 + kept;
    floats first = gone * per_h, second = 0.5f * first * one_more;
    return (fading){
        .d = d,
        .kappa = kappa,
        .h = h,
        .per_h = per_h,
        .soon = soon,
        .length = length,
        .beta = g->bend * length,
        .gone = gone,
        .kept = kept,
        .kept2 = kept2,
        .one_more = one_more,
        .first = first,
        .second = second,
        .third = first * (one_more + kept2) * (1 / 3.0f),
        .fourth = 0.5f * second * (1 + kept2),
    };
}

/* r* and D, q* and what the density's trend adds to it; |r|^2 = a + b E + c E^2; q at the end
 * and its mean. */
typedef struct {
    floats re, rn, e, n, a, b, c;
    floats even, trend, q_end, q;
    floats less;         /* 1/S */
    floats square, more; /* |r|^2 at the top; a less what x takes for |r|^2 */
} approach;

INLINE approach approach_of(slip s, const layer *y, const fading *f)
{
    floats kept = f->kept, kept2 = f->kept2, first = f->first, second = f->second;
    floats re = y->u_slope * f->length, rn = y->v_slope * f->length;
    /* x is taken where the slip is about half way. */
    floats a = re * re + rn * rn, square = slip_square(s), part = f->h * f->soon;
    floats xe = f->soon * s.re + part * re, xn = f->soon * s.rn + part * rn;
    floats x = (xe * xe + xn * xn) * (f->kappa * (1 / gravity));
    x -= 0.5f * x * x;
    floats less = 1 - x * (0.5f - 0.375f * x);
    re *= less;
    rn *= less;
    a *= less * less;
    floats e = s.re - re, n = s.rn - rn, b = 2 * (re * e + rn * n), c = e * e + n * n;
    floats even = gravity * f->length * (1 - 0.125f * x * x) - 0.5f * less * a, q0 = s.q - even;
    floats trend = -f->beta * even;
    floats q = even + q0 * second +
               trend * (second - f->per_h * (1 - second) - f->beta * (1 / 6.0f)) -
               less * (b * (first - second) + 0.5f * c * (second - kept2));
    return (approach){
        .re = re,
        .rn = rn,
        .e = e,
        .n = n,
        .a = a,
        .b = b,
        .c = c,
        .even = even,
        .trend = trend,
        .q_end = even + q0 * kept2 + trend * (1 + kept2 - 2 * second) -
                 less * kept * (b * f->gone + c * f->h * kept),
        .q = q,
        .less = less,
        .square = square,
        .more = a - x * q,
    };
}

/* calm: where all that is near enough. */
INLINE descent calm_descent(ints *calm, slip s, const layer *y, const leg *g, const fading *f,
                            const approach *p)
{
    floats first = f->first, second = f->second, gone = f->gone, kept = f->kept, per_h = f->per_h;
    floats a = p->a, b = p->b, c = p->c, e = p->e, n = p->n, beta = f->beta, trend = p->trend;
    floats per_q = 1 / p->q, half = 0.5f * per_q, turn = half * p->less, brief = first - second;

    floats hk = f->h * kept, kg = kept * gone, soon_gone = first - kept, more = p->more;
    floats still = 1 - first;
    floats end_even = 1 - beta * (f->one_more - 2 * first) - turn * (more * gone + b * hk + c * kg);
    floats end_brief = kept - turn * (a * hk + b * kg + 0.5f * c * kg * f->one_more);
    floats mean_even =
        1 + beta * (2 * per_h * still - first) - turn * (more * still + b * soon_gone + c * brief);
    /* Of 2 s / d - 1 with E and E^2, and of these two. */
    floats lean = 2 * per_h * soon_gone - first, lean2 = per_h * (second - f->kept2) - second;
    floats both = f->third - first * second;
    floats mean_brief =
        first - beta * lean - turn * (a * soon_gone + b * brief + 0.5f * c * (first - f->third));
    slip end = {p->q_end, p->re * end_even + e * end_brief, p->rn * end_even + n * end_brief};

    floats slowing = s.q - p->q_end + 2 * trend;
    /* Q as the ends have it, what the slip changes with it. */
    floats over = slowing / (gone * f->one_more);
    floats with_e = over * both + trend * lean, with_depth = over * lean2 + trend * (1 / 3.0f);
    floats variance = over * (over * (f->fourth - second * second) + 2 * trend * lean2) +
                      trend * trend * (1 / 3.0f);
    floats longer = 1 + 0.375f * variance * per_q * per_q, per_w = f->d * root(per_q);
    floats slipped = most(p->square, slip_square(end));
    floats u_half = 0.5f * f->d * y->u_slope, v_half = 0.5f * f->d * y->v_slope;
    floats east = (g->u_mps - u_half + p->re * mean_even + e * mean_brief) * longer -
                  half * (e * with_e - u_half * with_depth);
    floats north = (g->v_mps - v_half + p->rn * mean_even + n * mean_brief) * longer -
                   half * (n * with_e - v_half * with_depth);
    *calm = (slipped * slipped * f->d <= calm_slip_depth * s.q * s.q) &
            (slipped <= calm_slip * s.q) & (a + p->even <= calm_rest * s.q) &
            (most(slowing, -slowing) <= calm_change * s.q);
    return (descent){
        .end = end, .dt = per_w * longer, .east = per_w * east, .north = per_w * north};
}

INLINE floats pressure_of(const layer *y, slip s, floats z)
{
    floats density = y->density + y->density_slope * (z - y->base_m);
    return density * (s.q + slip_square(s));
}

/* The load at the end of a descent, or where loads cease to count on the way: the square
 * of a speed that changes little is near a straight line. */
INLINE void march_peak(marchers *a, const layer *y, ints goes, const descent *way, floats target)
{
    floats before = pressure_of(y, (slip){a->q, a->re, a->rn}, a->z);
    floats end = pressure_of(y, way->end, target);
    floats part = least(a->load_s / most(way->dt, all(1e-6f)), all(1));
    floats pressure = before + part * (end - before);
    a->peak = pick(goes & (a->load_s > load_edge_s) & (pressure > a->peak), pressure, a->peak);
}

/* A group of lanes on its way through a layer, or a part of one, down to a floor. */
typedef struct {
    marchers *a;
    layer y;
    float floor_m;
    int to_next; /* layers that the floor is on: 1, or 0 */
    leg g;
    descent way;
    ints rough, far; /* lanes that are not calm; that the leg is too far for */
    floats part_m;   /* and how far they go instead */
} passage;

INLINE slip slip_of(const passage *p)
{
    return (slip){p->a->q, p->a->re, p->a->rn};
}

INLINE leg leg_of(const passage *p, floats aim_m)
{
    const marchers *a = p->a;
    const layer *y = &p->y;
    ints now = a->on & (a->layer == y->index) & (a->z > p->floor_m);
    floats target = most(aim_m, a->next_trigger_m);
    floats d = pick(now, a->z - target, all(1)), height = a->z - y->base_m;
    return (leg){
        .now = now,
        .aim_m = aim_m,
        .target_m = target,
        .depth_m = d,
        .kappa = density_in(y, height - 0.5f * d) * a->drag_per_density,
        .bend = -0.5f * d * y->density_slope * a->drag_per_density,
        .u_mps = y->u + y->u_slope * height,
        .v_mps = y->v + y->v_slope * height,
    };
}

/* The lanes of a leg go their way, but those that it is too far for. */
INLINE void go(passage *p)
{
    marchers *a = p->a;
    const leg *g = &p->g;
    const descent *way = &p->way;
    /* A trigger at the floor itself stops too: there is no depth left in the next layer. */
    ints goes = g->now & ~p->far, stops = (a->next_trigger_m >= g->aim_m) | (g->target_m <= 0);
    if (a->any_event) goes &= way->dt < a->event_s;
    ints slips = goes & ~stops & (slip_square(way->end) > leaving_slip * way->end.q);
    if (any(goes & (a->load_s > load_edge_s))) march_peak(a, &p->y, goes, way, g->target_m);
    a->on &= ~g->now | p->far | (goes & ~stops & ~slips);
    a->left |= slips;
    a->layer -= goes & (g->target_m <= p->floor_m) & p->to_next;
    a->q = pick(goes, way->end.q, a->q);
    a->re = pick(goes, way->end.re, a->re);
    a->rn = pick(goes, way->end.rn, a->rn);
    a->z = pick(goes, g->target_m, a->z);
    floats dt = pick(goes, way->dt, all(0));
    a->time += dt;
    a->event_s -= dt;
    a->load_s -= dt;
    a->east += pick(goes, way->east, all(0));
    a->north += pick(goes, way->north, all(0));
}

INLINE void descend_calmly(passage *p, int count)
{
    fading f[GROUPS];
    approach r[GROUPS];
    ints calm[GROUPS];
    EACH(count) f[i] = fading_of(&p[i].g);
    EACH(count) r[i] = approach_of(slip_of(&p[i]), &p[i].y, &f[i]);
    EACH(count)
    p[i].way = calm_descent(&calm[i], slip_of(&p[i]), &p[i].y, &p[i].g, &f[i], &r[i]);
    EACH(count)
    {
        p[i].rough = p[i].g.now & ~calm[i];
        p[i].far = (ints){0};
        p[i].part_m = all(INFINITY);
    }
}

/* Whatever the slip, the lanes that are not calm. Those whose slip would change too much stay,
 * with the length to go instead. */
__attribute__((noinline)) static void descend_roughly(passage *const p[], int count)
{
    relaxation x[GROUPS];
    course c[GROUPS];
    means m[GROUPS];
    descent way[GROUPS];
    EACH(count) x[i] = relaxation_of(slip_of(p[i]), &p[i]->y, &p[i]->g);
    EACH(count) c[i] = course_of(slip_of(p[i]), &p[i]->y, &x[i]);
    EACH(count) m[i] = means_of(&c[i], &x[i], &p[i]->y);
    EACH(count) way[i] = descent_of(&c[i], &x[i], &m[i], &p[i]->y, &p[i]->g);
    EACH(count)
    {
        passage *q = p[i];
        ints rough = q->rough;
        q->way.end.q = pick(rough, way[i].end.q, q->way.end.q);
        q->way.end.re = pick(rough, way[i].end.re, q->way.end.re);
        q->way.end.rn = pick(rough, way[i].end.rn, q->way.end.rn);
        q->way.dt = pick(rough, way[i].dt, q->way.dt);
        q->way.east = pick(rough, way[i].east, q->way.east);
        q->way.north = pick(rough, way[i].north, q->way.north);
        floats least_m = least_part_m + least_part * q->a->z;
        floats part = least(0.9f * q->g.depth_m / root(way[i].doubt), 3 * way[i].length);
        q->far = rough & (way[i].doubt > 1) & (q->g.depth_m > 2 * least_m);
        q->part_m = pick(q->far, most(part, least_m), q->part_m);
    }
}

/* The lanes that stayed, in parts. */
__attribute__((noinline)) static void march_in_parts(passage *p, int count)
{
    for (;;) {
        passage *now[GROUPS];
        int more = 0;
        EACH(count)
        {
            p[i].g = leg_of(&p[i], most(all(p[i].floor_m), p[i].a->z - p[i].part_m));
            p[i].rough = p[i].g.now;
            if (any(p[i].g.now)) now[more++] = &p[i];
        }
        if (more == 0) return;
        descend_roughly(now, more);
        EACH(more)
        {
            passage *q = now[i];
            q->part_m = pick(q->g.now & ~q->far, 2 * q->part_m, q->part_m);
            go(q);
        }
    }
}

/* Brings the marching lanes of a layer down to its floor, or to a trigger on the way. */
INLINE void march_to(passage *p, int count)
{
    passage *rough[GROUPS];
    int roughly = 0;
    descend_calmly(p, count);
    EACH(count)
    if (any(p[i].rough)) rough[roughly++] = &p[i];
    if (roughly > 0) descend_roughly(rough, roughly);
    ints far = {0};
    EACH(count)
    {
        go(&p[i]);
        far |= p[i].far;
    }
    if (any(far)) march_in_parts(p, count);
}

/* Takes up the lanes that march and did not yet. */
INLINE void join(marchers *a, const block *b)
{
    ints new = (b->mode == LANE_MARCHES) & ~a->on;
    a->left = (ints){0};
    if (!any(new)) return;
    motion m = motion_of(b);
    floats trigger = all(passed_m);
    for (int i = 0; i < b->trigger_count; i++)
        trigger = most(trigger, b->trigger_m[i]);
    floats event = least(time_left(b->drogue.since_s), time_left(b->main.since_s));
    floats load = most(march_load(&b->drogue, b->time_s), march_load(&b->main, b->time_s));
    airspeed r = airspeed_of(b);
    a->q = pick(new, b->vup_mps * b->vup_mps, a->q);
    a->re = pick(new, r.e, a->re);
    a->rn = pick(new, r.n, a->rn);
    a->z = pick(new, b->height_m, a->z);
    a->time = pick(new, all(0), a->time);
    a->east = pick(new, all(0), a->east);
    a->north = pick(new, all(0), a->north);
    a->peak = pick(new, all(0), a->peak);
    a->load_s = pick(new, load, a->load_s);
    a->event_s = pick(new, event, a->event_s);
    a->drag_per_density =
        pick(new, (m.body_m2 + m.drogue_m2 + m.main_m2) * m.half_per_kg, a->drag_per_density);
    a->next_trigger_m =
        pick(new, pick(b->main.fired > 0, all(passed_m), trigger), a->next_trigger_m);
    a->layer = (new & b->layer) | (~new & a->layer);
    a->on |= new;
    a->any_event = any(a->on & (a->event_s < INFINITY));
}

/* The lanes that march no longer are on the ground or go back to steps in time. */
INLINE ints leave(block *b, const marchers *a)
{
    ints were = (b->mode == LANE_MARCHES) & ~a->on, landed = were & (a->z <= 0);
    ints drogue = were & (march_load(&b->drogue, b->time_s) > load_edge_s);
    ints main = were & (march_load(&b->main, b->time_s) > load_edge_s);
    pass_time(b, pick(were, a->time, all(0)));
    b->east_m += pick(were, a->east, all(0));
    b->north_m += pick(were, a->north, all(0));
    b->height_m = pick(were, a->z, b->height_m);
    b->vup_mps = pick(were, -root(a->q), b->vup_mps);
    b->layer = (were & a->layer) | (~were & b->layer);
    b->mode = (landed & LANE_LANDED) | (were & ~landed & LANE_STEPS) | (~were & b->mode);
    keep_peak(&b->drogue, drogue, a->peak);
    keep_peak(&b->main, main, a->peak);
    return were;
}

INLINE void slip_to_velocity(block *b, const marchers *a, ints were)
{
    floats height = b->height_m - b->air.base_m;
    floats east = a->re + b->air.u_mps + b->air.u_slope * height;
    floats north = a->rn + b->air.v_mps + b->air.v_slope * height;
    b->ve_mps = pick(were, east, b->ve_mps);
    b->vn_mps = pick(were, north, b->vn_mps);
}

/* The groups in a part of a layer. */
INLINE void march_layer(marchers a[GROUPS], const pappus_air *air, const float *u_mps,
                        const float *v_mps, int index, float floor_m, int to_next)
{
    passage p[GROUPS];
    int count = 0;
    for (int g = 0; g < GROUPS; g++) {
        passage *q = &p[count];
        q->a = &a[g];
        q->y = layer_at(air, u_mps + g * WIDTH, v_mps + g * WIDTH, index);
        q->floor_m = floor_m;
        q->to_next = to_next;
        q->g = leg_of(q, all(floor_m));
        count += any(q->g.now);
    }
    if (count > 0) march_to(p, count);
}

/* Down to where a lane left for its slip, or all have. */
static void march_all(marchers a[GROUPS], const pappus_air *air, const float *u_mps,
                      const float *v_mps, int index)
{
    for (; index >= 0; index--) {
        ints on = {0}, left = {0};
        for (int g = 0; g < GROUPS; g++) {
            on |= a[g].on;
            left |= a[g].left;
        }
        if (!any(on) || any(left)) return;
        float base = (float)air->height_m[index];
        float depth = (float)air->height_m[index + 1] - base;
        int parts = 1 + (int)(depth / fminf(deepest_layer_m, 6 + 1.0f * base));
        for (int part = parts - 1; part >= 0; part--)
            march_layer(a, air, u_mps, v_mps, index, base + depth * (float)part / (float)parts,
                        part == 0 && index > 0);
    }
}

static void march(block b[GROUPS], marchers a[GROUPS], const pappus_air *air, const float *u_mps,
                  const float *v_mps)
{
    int index = 0;
    for (int g = 0; g < GROUPS; g++) {
        join(&a[g], &b[g]);
        ints from = a[g].on & a[g].layer;
        for (int l = 0; l < WIDTH; l++)
            index = from[l] > index ? from[l] : index;
    }
    march_all(a, air, u_mps, v_mps, index);
    for (int g = 0; g < GROUPS; g++) {
        ints were = leave(&b[g], &a[g]);
        if (!any(were)) continue;
        take_air(&b[g], air, u_mps + g * WIDTH, v_mps + g * WIDTH);
        slip_to_velocity(&b[g], &a[g], were);
    }
}

static int bring_down(block b[GROUPS], const pappus_air *air, const float *u_mps,
                      const float *v_mps)
{
    marchers a[GROUPS] = {0};
    for (int round = 0; round < most_rounds; round++) {
        if (steps_in_time(b, air, u_mps, v_mps) != 0) return 1;
        bool marching = false;
        for (int g = 0; g < GROUPS; g++)
            marching = marching || any(b[g].mode == LANE_MARCHES);
        if (!marching) return 0;
        march(b, a, air, u_mps, v_mps);
    }
    return 1;
}

static void load_all(block b[GROUPS], const pappus_air *air, size_t count, const pappus_fall *falls)
{
    for (size_t i = 0; i < PAPPUS_LANES; i++) {
        load(&b[i / WIDTH], (int)(i % WIDTH), air, &falls[i < count ? i : 0]);
        if (i >= count) b[i / WIDTH].mode[i % WIDTH] = LANE_LANDED;
    }
}

static void store_all(pappus_touchdown *out, const block b[GROUPS], size_t count,
                      const pappus_fall *falls)
{
    for (size_t i = 0; i < count; i++)
        store(&out[i], &b[i / WIDTH], (int)(i % WIDTH), &falls[i]);
}

int PAPPUS_KERNEL(pappus_engine_block)(pappus_touchdown *out, const pappus_air *air, size_t count,
                                       const pappus_fall *falls, const float *u_mps,
                                       const float *v_mps)
{
    block b[GROUPS] = {0};
    load_all(b, air, count, falls);
    if (bring_down(b, air, u_mps, v_mps) != 0) return 1;
    store_all(out, b, count, falls);
    return 0;
}

/* The highest of all triggers of one lane's rows; INFINITY: one is at the start already. */
static double first_trigger_m(size_t rows, const pappus_fall *falls)
{
    double height_m = (double)passed_m;
    for (size_t r = 0; r < rows; r++) {
        const pappus_fall *fall = &falls[r * PAPPUS_LANES];
        for (int i = 0; i < fall->trigger_count && fall->main_cds_m2 > 0; i++)
            height_m = fmax(height_m,
                            reached_s(fall, i) < INFINITY ? INFINITY : fall->trigger_height_m[i]);
    }
    return height_m;
}

/* All lanes that may be, down to their first trigger. */
static int hold_all(block b[GROUPS], const pappus_air *air, size_t count, size_t rows,
                    const pappus_fall *falls, const float *u_mps, const float *v_mps)
{
    load_all(b, air, count, falls);
    for (size_t i = 0; i < count; i++) {
        block *own = &b[i / WIDTH];
        int l = (int)(i % WIDTH);
        double hold_m = first_trigger_m(rows, &falls[i]);
        for (int k = 1; k < PAPPUS_TRIGGERS; k++)
            own->trigger_m[k][l] = passed_m;
        own->trigger_m[0][l] = (float)hold_m;
        if (isinf(hold_m)) own->mode[l] = LANE_HELD;
    }
    for (int g = 0; g < GROUPS; g++) {
        b[g].trigger_count = 1;
        b[g].holds = true;
    }
    return bring_down(b, air, u_mps, v_mps);
}

/* The rest of one row: from where a lane was held, or from its start. */
static void release(block b[GROUPS], const pappus_air *air, size_t count, const pappus_fall *falls)
{
    for (int g = 0; g < GROUPS; g++) {
        b[g].trigger_count = 0;
        b[g].holds = false;
    }
    for (size_t i = 0; i < count; i++) {
        block *own = &b[i / WIDTH];
        int l = (int)(i % WIDTH);
        if (own->mode[l] != LANE_HELD) continue;
        if (isinf(own->trigger_m[0][l]))
            load(own, l, air, &falls[i]);
        else
            load_triggers(own, l, &falls[i]);
        own->mode[l] = LANE_STEPS;
    }
}

int PAPPUS_KERNEL(pappus_engine_rows)(pappus_touchdown *out, const pappus_air *air, size_t count,
                                      size_t rows, const pappus_fall *falls, const float *u_mps,
                                      const float *v_mps)
{
    block held[GROUPS] = {0}, b[GROUPS];
    if (hold_all(held, air, count, rows, falls, u_mps, v_mps) != 0) return 1;
    for (size_t r = 0; r < rows; r++) {
        for (int g = 0; g < GROUPS; g++)
            b[g] = held[g];
        release(b, air, count, &falls[r * PAPPUS_LANES]);
        if (bring_down(b, air, u_mps, v_mps) != 0) return 1;
        store_all(&out[r * PAPPUS_LANES], b, count, &falls[r * PAPPUS_LANES]);
    }
    return 0;
}
