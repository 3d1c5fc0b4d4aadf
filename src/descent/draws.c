/* SPDX-License-Identifier: GPL-3.0-or-later
 * Draws of everything but the wind. Each uncertain quantity has its own random
 * stream (random.h), so a quantity that is added or changed disturbs no other, and
 * two main heights are compared on the same canopies and the same apogee. A value
 * that is not physical is redrawn: rejection sampling, that is the distribution
 * cut at the physical bound and scaled up again.
 *
 * A normal number is turned into a value by mean + sd z, a lognormal one by its
 * logarithm's moments, uniform and triangular by the quantile of a uniform number.
 *
 * The height at which an altimeter fires the main is where it would show
 * main_height + error; that inverse is tabled per altimeter over six standard
 * deviations, 32 linear intervals (under a millimetre from the exact inverse for
 * errors up to 50 m), because it is needed for every landing.
 *
 * Stops being right: quantities that depend on each other (mass and apogee), which
 * are drawn independently. */
#include "draws.h"
#include "draws_table.h"

#include "body_drag.h"
#include "error.h"
#include "uncertain.h"

#include <math.h>
#include <stdlib.h>

#define REDRAWS_MOST 64 /* a mean is physical, so 64 misses have chance 2^-64 */
#define TRIGGER_SDS 6.0

static size_t of_altimeter(size_t altimeter, size_t which)
{
    return PLAIN_QUANTITIES + PER_ALTIMETER * altimeter + which;
}

static void set_quantity(pappus_draws *draws, size_t at, pappus_uncertain value,
                         pappus_stream stream, uint32_t sub, double above)
{
    draws->quantities[at] = (quantity){value, stream, sub, above, INFINITY};
    if (at >= draws->quantity_count) draws->quantity_count = at + 1;
}

static pappus_uncertain or_zero(pappus_uncertain value)
{
    return pappus_is_present(value) ? value : pappus_exact(0.0);
}

static pappus_uncertain or_exact(pappus_uncertain value, double otherwise)
{
    return pappus_is_present(value) ? value : pappus_exact(otherwise);
}

static void set_plain_quantities(pappus_draws *draws, const pappus_plan *plan, double top_m)
{
    const pappus_rocket *rocket = &plan->rocket;
    pappus_uncertain absent = {0};
    pappus_uncertain held = draws->held ? or_zero(plan->main.held_drag_area_m2) : absent;
    set_quantity(draws, MASS, rocket->mass_kg, PAPPUS_STREAM_MASS, 0, 0.0);
    set_quantity(draws, BALLISTIC_DRAG,
                 or_exact(rocket->ballistic_drag_area_m2, pappus_body_ballistic_m2(rocket)),
                 PAPPUS_STREAM_BALLISTIC_DRAG, 0, 0.0);
    set_quantity(draws, TUMBLE_DRAG,
                 or_exact(rocket->tumble_drag_area_m2, pappus_body_tumble_m2(rocket)),
                 PAPPUS_STREAM_TUMBLE_DRAG, 0, 0.0);
    set_quantity(draws, DROGUE_DRAG, draws->drogue.value, PAPPUS_STREAM_DROGUE_DRAG, 0, 0.0);
    set_quantity(draws, MAIN_DRAG, draws->main.value, PAPPUS_STREAM_MAIN_DRAG, 0, 0.0);
    set_quantity(draws, HELD_DRAG, held, PAPPUS_STREAM_HELD_DRAG, 0, 0.0);
    set_quantity(draws, DROGUE_OPENING, draws->drogue.opening_time_s, PAPPUS_STREAM_DROGUE_OPENING,
                 0, 0.0);
    set_quantity(draws, MAIN_OPENING, draws->main.opening_time_s, PAPPUS_STREAM_MAIN_OPENING, 0,
                 0.0);
    set_quantity(draws, APOGEE_HEIGHT, plan->apogee.height_m, PAPPUS_STREAM_APOGEE_HEIGHT, 0, 0.0);
    draws->quantities[APOGEE_HEIGHT].upto = fmax(top_m, plan->apogee.height_m.mean);
    set_quantity(draws, APOGEE_SPEED, or_zero(plan->apogee.speed_mps), PAPPUS_STREAM_APOGEE_SPEED,
                 0, -INFINITY);
    set_quantity(draws, MOTOR_DELAY, plan->motor_delay_s, PAPPUS_STREAM_MOTOR_DELAY, 0, -INFINITY);
    set_quantity(draws, HANGING_SHARE, or_zero(rocket->hanging_share), PAPPUS_STREAM_HANGING_SHARE,
                 0, 0.0);
    draws->quantities[HANGING_SHARE].upto = 1.0;
}

static void set_altimeter_quantities(pappus_draws *draws, const pappus_plan *plan)
{
    draws->altimeter_count = plan->altimeter_count;
    for (size_t a = 0; a < plan->altimeter_count; a++) {
        const pappus_altimeter *altimeter = &plan->altimeters[a];
        uint32_t sub = (uint32_t)a;
        pappus_uncertain fire = or_zero(altimeter->fire_delay_s);
        set_quantity(draws, of_altimeter(a, DROGUE_DELAY), or_zero(altimeter->drogue_delay_s),
                     PAPPUS_STREAM_DROGUE_DELAY, sub, -INFINITY);
        set_quantity(draws, of_altimeter(a, FIRE_APOGEE), fire, PAPPUS_STREAM_FIRE_DELAY_APOGEE,
                     sub, 0.0);
        set_quantity(draws, of_altimeter(a, FIRE_MAIN), fire, PAPPUS_STREAM_FIRE_DELAY_MAIN, sub,
                     0.0);
        set_quantity(draws, of_altimeter(a, HEIGHT_ERROR), or_zero(altimeter->height_error_m),
                     PAPPUS_STREAM_HEIGHT_ERROR, sub, -INFINITY);
    }
}

static void set_triggers(pappus_draws *draws, const pappus_plan *plan, const pappus_air *air,
                         double main_shift_m)
{
    for (size_t a = 0; a < plan->altimeter_count; a++) {
        const pappus_uncertain *error = &draws->quantities[of_altimeter(a, HEIGHT_ERROR)].value;
        trigger_table *table = &draws->triggers[a];
        double half_m = fmax(TRIGGER_SDS * error->sd, 1.0);
        draws->main_height_m[a] = plan->altimeters[a].main_height_m + main_shift_m;
        if (!isfinite(draws->main_height_m[a])) continue;
        table->low_m = draws->main_height_m[a] + error->mean - half_m;
        table->step_m = 2.0 * half_m / TRIGGER_INTERVALS;
        for (size_t i = 0; i <= TRIGGER_INTERVALS; i++)
            table->true_m[i] =
                pappus_air_true_height_m(air, table->low_m + table->step_m * (double)i);
    }
}

/* Draws beyond the table's ends (2e-9 of a normal) take the end's slope. */
static double true_height_m(const trigger_table *table, double indicated_m)
{
    double at = (indicated_m - table->low_m) / table->step_m;
    double floor_at = fmin(fmax(floor(at), 0.0), TRIGGER_INTERVALS - 1);
    size_t i = (size_t)floor_at;
    return table->true_m[i] + (at - floor_at) * (table->true_m[i + 1] - table->true_m[i]);
}

/* Where a calm is expected, upwind and downwind have none but a landing's own. */
static direction direction_of(pappus_heading heading, const pappus_air *air)
{
    double against = heading.kind == PAPPUS_UPWIND     ? 1.0
                     : heading.kind == PAPPUS_DOWNWIND ? -1.0
                                                       : 0.0;
    double bearing_deg = heading.kind == PAPPUS_BEARING
                             ? heading.bearing_deg
                             : air->upwind_bearing_deg + 90.0 * (1.0 - against);
    double radians = bearing_deg * M_PI / 180.0;
    if (isnan(bearing_deg)) return (direction){0.0, 0.0, against};
    return (direction){sin(radians), cos(radians), against};
}

/* A rocket weathercocks into the wind that blows, not into the one that was expected. Zones
 * with one upwind for all landings held too few flights: up to 8 points of 90 % (Vienna 2015
 * and Perth 2014-15, soundings 12 h old). */
static void turn(double out[2], const direction *expected, const double wind[2])
{
    bool turns = expected->against != 0.0 && (wind[0] != 0.0 || wind[1] != 0.0);
    out[0] = turns ? -expected->against * wind[0] : expected->east;
    out[1] = turns ? -expected->against * wind[1] : expected->north;
}

/* A distance that goes with the wind scales with it when the wind is scaled. */
static void set_apogee(pappus_draws *draws, const pappus_apogee *apogee, const pappus_air *air)
{
    double factor = apogee->bearing.kind == PAPPUS_BEARING ? 1.0 : air->wind_factor;
    draws->distance_m = isfinite(apogee->distance_m) ? apogee->distance_m * factor : 0.0;
    draws->spread_m = isfinite(apogee->spread_m) ? apogee->spread_m : 0.0;
    draws->bearing = direction_of(apogee->bearing, air);
    draws->heading = direction_of(apogee->heading, air);
}

static int resolve_canopies(pappus_draws *draws, const pappus_plan *plan, pappus_error *err)
{
    draws->has_drogue = plan->drogue.present;
    draws->has_main = plan->main.present;
    draws->held = plan->main.present && plan->main.held_in_bundle;
    int status = PAPPUS_OK;
    if (draws->has_drogue)
        status = pappus_canopy_resolve(&draws->drogue, &plan->drogue, "drogue", err);
    if (draws->has_main && status == PAPPUS_OK)
        status = pappus_canopy_resolve(&draws->main, &plan->main, "main", err);
    return status;
}

static int fill_draws(pappus_draws *draws, const pappus_plan *plan, const pappus_air *air,
                      double main_shift_m, pappus_error *err)
{
    int status = pappus_draws_check_events(plan, err);
    if (status == PAPPUS_OK) status = pappus_case_table_build(&draws->cases, plan, err);
    if (status == PAPPUS_OK) status = resolve_canopies(draws, plan, err);
    if (status != PAPPUS_OK) return status;
    set_plain_quantities(draws, plan, air->height_m[air->node_count - 1]);
    set_altimeter_quantities(draws, plan);
    set_triggers(draws, plan, air, main_shift_m);
    set_apogee(draws, &plan->apogee, air);
    return pappus_draws_check(draws, air, plan->units, err);
}

int pappus_draws_build(pappus_draws **out, const pappus_plan *plan, const pappus_air *air,
                       pappus_random random, double main_shift_m, pappus_error *err)
{
    *out = NULL;
    pappus_draws *draws = calloc(1, sizeof *draws);
    if (!draws) return pappus_fail_memory(err);
    draws->random = random;
    draws->isa = pappus_isa_best();
    int status = fill_draws(draws, plan, air, main_shift_m, err);
    if (status != PAPPUS_OK) {
        pappus_draws_free(draws);
        return status;
    }
    *out = draws;
    return PAPPUS_OK;
}

void pappus_draws_free(pappus_draws *draws)
{
    if (!draws) return;
    pappus_case_table_clear(&draws->cases);
    free(draws);
}

const double *pappus_draws_probability(const pappus_draws *draws)
{
    return draws->cases.probability;
}

/* What makes a value of a quantity's random number. */
typedef struct {
    const pappus_uncertain *law;
    bool normal;       /* its number is a normal one, else uniform */
    double s, half_s2; /* of the logarithm of a lognormal value */
} maker;

static maker maker_of(const pappus_uncertain *law)
{
    maker m = {.law = law, .normal = law->distribution == PAPPUS_NORMAL};
    if (law->distribution != PAPPUS_LOGNORMAL) return m;
    double s2 = log1p(law->sd * law->sd / (law->mean * law->mean));
    return (maker){law, true, sqrt(s2), 0.5 * s2};
}

static double value_of(const maker *m, double number)
{
    switch (m->law->distribution) {
    case PAPPUS_NORMAL:
        return m->law->mean + m->law->sd * number;
    case PAPPUS_LOGNORMAL:
        return m->law->mean * exp(m->s * number - m->half_s2);
    default:
        return pappus_uncertain_quantile(*m->law, number);
    }
}

/* After a value that was not physical. */
static double draw_again(const quantity *q, const maker *m, pappus_random random, uint64_t index,
                         pappus_redraws *redraws)
{
    for (unsigned redraw = 1; redraw < REDRAWS_MOST; redraw++) {
        redraws->redrawn++;
        double number = m->normal ? pappus_random_normal(random, q->stream, q->sub, index, redraw)
                                  : pappus_random_uniform(random, q->stream, q->sub, index, redraw);
        double value = value_of(m, number);
        if (value > q->above && value <= q->upto) return value;
    }
    redraws->redrawn++;
    return q->value.mean;
}

static void draw_quantity(double out[PAPPUS_LANES], const quantity *q, const pappus_draws *draws,
                          const uint64_t index[PAPPUS_LANES], size_t count, pappus_redraws *redraws)
{
    bool absent = q->value.distribution == PAPPUS_ABSENT;
    if (absent || q->value.distribution == PAPPUS_EXACT) {
        for (size_t l = 0; l < count; l++)
            out[l] = absent ? NAN : q->value.mean;
        return;
    }
    maker m = maker_of(&q->value);
    if (m.normal)
        pappus_random_normals(out, draws->isa, draws->random, q->stream, q->sub, index);
    else
        pappus_random_uniforms(out, draws->isa, draws->random, q->stream, q->sub, index);
    if (q->above > -INFINITY) redraws->drawn += count;
    for (size_t l = 0; l < count; l++) {
        out[l] = value_of(&m, out[l]);
        if (!(out[l] > q->above && out[l] <= q->upto))
            out[l] = draw_again(q, &m, draws->random, index[l], redraws);
    }
}

static void draw_spread(double out[2][PAPPUS_LANES], const pappus_draws *draws,
                        const uint64_t index[PAPPUS_LANES])
{
    for (uint32_t axis = 0; axis < 2 && draws->spread_m > 0.0; axis++)
        pappus_random_normals(out[axis], draws->isa, draws->random, PAPPUS_STREAM_APOGEE_SPREAD,
                              axis, index);
}

/* Earliest firing of the apogee event; INFINITY when nothing fires it. */
static double apogee_fire_s(const pappus_draws *draws, const pappus_case *c, const double *value)
{
    double first_s = c->motor ? value[MOTOR_DELAY] : INFINITY;
    for (size_t a = 0; a < draws->altimeter_count; a++)
        if (c->works >> a & 1U)
            first_s = fmin(first_s, value[of_altimeter(a, DROGUE_DELAY)] +
                                        value[of_altimeter(a, FIRE_APOGEE)]);
    return first_s;
}

/* At apogee, or on the parabola before it when an event comes early: then not
 * before the rocket has left the ground. */
static void set_start(pappus_fall *fall, const pappus_draws *draws, const pappus_drawn *drawn)
{
    const double *value = drawn->value;
    double bearing[2], heading[2];
    double apogee_m = value[APOGEE_HEIGHT], speed_mps = value[APOGEE_SPEED];
    double earliest_s = -0.99 * sqrt(2.0 * apogee_m / PAPPUS_GRAVITY_MPS2);
    fall->apogee_fire_s = fmax(fall->apogee_fire_s, earliest_s);
    double start_s = fmin(fall->apogee_fire_s, 0.0);
    fall->start_s = start_s;
    fall->apogee_m = apogee_m;
    fall->height_m = apogee_m - 0.5 * PAPPUS_GRAVITY_MPS2 * start_s * start_s;
    double wind_mps = hypot(drawn->wind_u_mps, drawn->wind_v_mps), wind[2] = {0.0, 0.0};
    if (wind_mps > 0.0) {
        wind[0] = drawn->wind_u_mps / wind_mps;
        wind[1] = drawn->wind_v_mps / wind_mps;
    }
    turn(bearing, &draws->bearing, wind);
    turn(heading, &draws->heading, wind);
    if (heading[0] == 0.0 && heading[1] == 0.0) heading[1] = 1.0; /* no wind at all: north */
    fall->ve_mps = speed_mps * heading[0];
    fall->vn_mps = speed_mps * heading[1];
    fall->vup_mps = -PAPPUS_GRAVITY_MPS2 * start_s;
    fall->east_m = draws->distance_m * bearing[0] + draws->spread_m * drawn->spread_east +
                   fall->ve_mps * start_s;
    fall->north_m = draws->distance_m * bearing[1] + draws->spread_m * drawn->spread_north +
                    fall->vn_mps * start_s;
}

/* Under an open canopy the body hangs and no longer tumbles: it keeps a share of its drag,
 * or none beside a canopy that was measured with it. A second canopy takes off only what
 * the first has left. */
static void set_body(pappus_fall *fall, const pappus_draws *draws, const pappus_case *c,
                     const double *value)
{
    double tumble_m2 = value[TUMBLE_DRAG], hanging_m2 = value[HANGING_SHARE] * tumble_m2;
    double left_m2 = tumble_m2;
    fall->mass_kg = value[MASS];
    fall->body_before_m2 = value[BALLISTIC_DRAG];
    fall->body_after_m2 = tumble_m2;
    if (c->drogue_opens) {
        left_m2 = draws->drogue.holds_body ? 0.0 : hanging_m2;
        fall->drogue_shields_m2 = tumble_m2 - left_m2;
    }
    if (c->main != PAPPUS_MAIN_STAYS)
        fall->main_shields_m2 =
            left_m2 - (draws->main.holds_body ? 0.0 : fmin(left_m2, hanging_m2));
}

static void set_drogue(pappus_fall *fall, const pappus_draws *draws, const pappus_case *c,
                       const double *value)
{
    fall->drogue_cds_m2 =
        c->drogue_opens ? pappus_canopy_drag_area_m2(&draws->drogue, value[DROGUE_DRAG]) : 0.0;
    fall->drogue_open_s = value[DROGUE_OPENING];
    fall->drogue_fill_m = draws->drogue.fill_m;
    fall->drogue_cx = draws->drogue.cx;
}

static void set_triggers_of(pappus_fall *fall, const pappus_draws *draws, const pappus_case *c,
                            const double *value)
{
    fall->trigger_count = 0;
    if (c->main != PAPPUS_MAIN_LATE) return;
    for (size_t a = 0; a < draws->altimeter_count; a++) {
        if (!(c->works >> a & 1U) || !isfinite(draws->main_height_m[a])) continue;
        int t = fall->trigger_count++;
        fall->trigger_height_m[t] = true_height_m(
            &draws->triggers[a], draws->main_height_m[a] + value[of_altimeter(a, HEIGHT_ERROR)]);
        fall->trigger_delay_s[t] = value[of_altimeter(a, FIRE_MAIN)];
    }
}

/* A bundle whose main fails stays as it is down to the ground. */
static void set_main(pappus_fall *fall, const pappus_draws *draws, const pappus_case *c,
                     const double *value)
{
    fall->held_cds_m2 = draws->held ? value[HELD_DRAG] : 0.0;
    fall->main_open_s = value[MAIN_OPENING];
    fall->main_fill_m = draws->main.fill_m;
    fall->main_cx = draws->main.cx;
    fall->main_fire_s = c->main == PAPPUS_MAIN_EARLY ? fall->apogee_fire_s : INFINITY;
    fall->main_cds_m2 = 0.0;
    if (c->main != PAPPUS_MAIN_STAYS)
        fall->main_cds_m2 = pappus_canopy_drag_area_m2(&draws->main, value[MAIN_DRAG]);
    set_triggers_of(fall, draws, c, value);
}

static void assemble(pappus_fall *fall, const pappus_draws *draws, const pappus_case *c,
                     const pappus_drawn *drawn)
{
    *fall = (pappus_fall){.apogee_fire_s = apogee_fire_s(draws, c, drawn->value)};
    set_start(fall, draws, drawn);
    set_body(fall, draws, c, drawn->value);
    set_drogue(fall, draws, c, drawn->value);
    set_main(fall, draws, c, drawn->value);
}

static bool several_cases(const pappus_case_table *cases, uint8_t outcome)
{
    return cases->start[outcome + 1] - cases->start[outcome] > 1;
}

void pappus_draws_values(pappus_drawn *out, const pappus_draws *draws, size_t count,
                         const uint64_t *index, const uint8_t *outcome, pappus_redraws *redraws)
{
    uint64_t lanes[PAPPUS_LANES];
    double value[PAPPUS_LANES], which[PAPPUS_LANES], spread[2][PAPPUS_LANES] = {{0.0}, {0.0}};
    for (size_t l = 0; l < PAPPUS_LANES; l++)
        lanes[l] = index[l < count ? l : count - 1];
    for (size_t i = 0; i < draws->quantity_count; i++) {
        draw_quantity(value, &draws->quantities[i], draws, lanes, count, redraws);
        for (size_t l = 0; l < count; l++)
            out[l].value[i] = value[l];
    }
    draw_spread(spread, draws, lanes);
    pappus_random_uniforms(which, draws->isa, draws->random, PAPPUS_STREAM_ALTIMETER_WORKS, 0,
                           lanes);
    for (size_t l = 0; l < count; l++) {
        out[l].which = several_cases(&draws->cases, outcome[l]) ? which[l] : 0.0;
        out[l].spread_east = spread[0][l];
        out[l].spread_north = spread[1][l];
        out[l].wind_u_mps = out[l].wind_v_mps = 0.0;
    }
}

bool pappus_draws_speed_law(double *mean_mps, double *sd_mps, const pappus_draws *draws)
{
    const pappus_uncertain *speed = &draws->quantities[APOGEE_SPEED].value;
    *mean_mps = speed->mean;
    *sd_mps = speed->sd;
    return speed->distribution == PAPPUS_NORMAL && speed->sd > 0.0;
}

double *pappus_drawn_speed_mps(pappus_drawn *drawn)
{
    return &drawn->value[APOGEE_SPEED];
}

void pappus_draws_winds(pappus_drawn *out, const pappus_draws *draws, size_t count,
                        const pappus_air *air, const float *u_mps, const float *v_mps)
{
    double u[PAPPUS_LANES], v[PAPPUS_LANES];
    if (draws->bearing.against == 0.0 && draws->heading.against == 0.0) return;
    pappus_upwind_drawn(u, v, air, u_mps, v_mps);
    for (size_t l = 0; l < count; l++) {
        out[l].wind_u_mps = u[l];
        out[l].wind_v_mps = v[l];
    }
}

void pappus_draws_assemble(pappus_fall *out, const pappus_draws *draws, size_t count,
                           const uint8_t *outcome, const pappus_drawn *drawn)
{
    for (size_t l = 0; l < count; l++)
        assemble(&out[l], draws, pappus_case_pick(&draws->cases, outcome[l], drawn[l].which),
                 &drawn[l]);
}

void pappus_draws_shift(pappus_fall *out, const pappus_fall *falls, const pappus_draws *draws,
                        size_t count, const uint8_t *outcome, const pappus_drawn *drawn)
{
    for (size_t l = 0; l < count; l++) {
        out[l] = falls[l];
        set_triggers_of(&out[l], draws, pappus_case_pick(&draws->cases, outcome[l], drawn[l].which),
                        drawn[l].value);
    }
}

void pappus_draws_falls(pappus_fall *out, const pappus_draws *draws, size_t count,
                        const uint64_t *index, const uint8_t *outcome, pappus_redraws *redraws)
{
    pappus_drawn drawn[PAPPUS_LANES];
    pappus_draws_values(drawn, draws, count, index, outcome, redraws);
    pappus_draws_assemble(out, draws, count, outcome, drawn);
}

void pappus_draws_central(pappus_fall *out, const pappus_draws *draws, pappus_outcome outcome)
{
    pappus_drawn drawn = {.which = 0.0};
    for (size_t i = 0; i < draws->quantity_count; i++) {
        const pappus_uncertain *value = &draws->quantities[i].value;
        drawn.value[i] = pappus_is_present(*value) ? value->mean : NAN;
    }
    assemble(out, draws, pappus_case_pick(&draws->cases, outcome, drawn.which), &drawn);
}
