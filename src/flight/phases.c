/* SPDX-License-Identifier: GPL-3.0-or-later
 * What a log shows of a flight: apogee, ground, the steady falls and what parts them.
 *
 * - Apogee: the vertex of a parabola through the samples within 1 s of the highest.
 * - Ground: where the fall meets the level that the log ends at, if it ends at rest.
 * - Phases: in depth (track.h) a steady fall is a straight line; two lines that meet
 *   (robust.h) part drogue and main where the second is slower by a quarter or more. Each
 *   phase is then fitted by itself, from three times v/g after its begin, when the speed has
 *   settled to e^-6, to shortly before its end.
 * - Firing and opening: firing.c.
 * A phase by itself is told for what the plan's canopies say: the nearer in the logarithm.
 *
 * Where it stops being right: a drogue so near the main's rate that no change shows; three
 * phases (a reefed main); a firing within two seconds of the apogee, which the heights do not
 * show. */
#include "bands.h"
#include "body_drag.h"
#include "canopy.h"
#include "drag.h"
#include "error.h"
#include "finding.h"
#include "si.h"

#include "air.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#define LEAST_CLIMB_M 30.0
#define SECOND_CLIMB 0.3 /* of the highest, and no less than 50 m: another flight */
#define SECOND_CLIMB_M 50.0
#define SLOWER 1.25
#define LEAST_PHASE_S 3.0
#define LEAST_SAMPLES 8
#define REST_MPS 1.0
#define GAP_S 2.0

const char *pappus_missing_text(pappus_missing missing)
{
    static const char *const texts[] = {
#define PAPPUS_MISSING_STRING(name, text) text,
        PAPPUS_MISSING_LIST(PAPPUS_MISSING_STRING)
#undef PAPPUS_MISSING_STRING
    };
    return texts[missing];
}

static void miss(finding *f, pappus_missing what)
{
    f->out->missing |= 1U << what;
}

/* ------------------------------------------------------------ apogee and ground */

static size_t highest(const pappus_track *track)
{
    size_t best = track->count;
    for (size_t i = 0; i < track->count; i++)
        if (!track->spike[i] && (best == track->count || track->shown_m[i] > track->shown_m[best]))
            best = i;
    return best == track->count ? 0 : best;
}

/* A climb after a fall, before or behind the highest sample. */
static double second_climb_s(const finding *f)
{
    const pappus_track *track = &f->track;
    double most = track->shown_m[f->top], low = most;
    double bound = fmax(SECOND_CLIMB_M, SECOND_CLIMB * most);
    for (size_t i = f->top; i < track->count; i++) {
        if (track->spike[i]) continue;
        low = fmin(low, track->shown_m[i]);
        if (track->shown_m[i] > low + bound) return track->time_s[i];
    }
    double high = -INFINITY;
    for (size_t i = 0; i < f->top; i++) {
        if (track->spike[i]) continue;
        high = fmax(high, track->shown_m[i]);
        if (track->shown_m[i] < high - bound) return track->time_s[i];
    }
    return NAN;
}

static int check_one_flight(const finding *f, pappus_error *err)
{
    char value[40];
    const pappus_track *track = &f->track;
    double low = INFINITY, again_s = second_climb_s(f);
    for (size_t i = 0; i < track->count; i++)
        if (!track->spike[i]) low = fmin(low, track->shown_m[i]);
    if (track->shown_m[f->top] - low < LEAST_CLIMB_M)
        return pappus_fail(err, PAPPUS_E_RECORD, f->flight_log->path, "height", NULL,
                           "no flight: the heights are within %.1f m; accepted is a log of one "
                           "flight",
                           track->shown_m[f->top] - low);
    if (isnan(again_s)) return PAPPUS_OK;
    snprintf(value, sizeof value, "%.1f s after its begin", again_s);
    return pappus_fail(err, PAPPUS_E_RECORD, f->flight_log->path, "height", value,
                       "a second flight; accepted is a log of one flight: cut it in two");
}

/* Vertex of a least-squares parabola; NaN, NaN where it does not bend down. */
static void vertex(double *time_s, double *value, size_t n, const double *t, const double *y,
                   double origin_s)
{
    double s[5] = {0}, b[3] = {0};
    *time_s = *value = NAN;
    for (size_t i = 0; i < n; i++) {
        double x = t[i] - origin_s, power = 1.0;
        for (int k = 0; k < 5; k++, power *= x) {
            s[k] += power;
            if (k < 3) b[k] += power * y[i];
        }
    }
    double det = s[0] * (s[2] * s[4] - s[3] * s[3]) - s[1] * (s[1] * s[4] - s[3] * s[2]) +
                 s[2] * (s[1] * s[3] - s[2] * s[2]);
    double c0 = b[0] * (s[2] * s[4] - s[3] * s[3]) - s[1] * (b[1] * s[4] - s[3] * b[2]) +
                s[2] * (b[1] * s[3] - s[2] * b[2]);
    double c1 = s[0] * (b[1] * s[4] - b[2] * s[3]) - b[0] * (s[1] * s[4] - s[3] * s[2]) +
                s[2] * (s[1] * b[2] - b[1] * s[2]);
    double c2 = s[0] * (s[2] * b[2] - s[3] * b[1]) - s[1] * (s[1] * b[2] - b[1] * s[2]) +
                b[0] * (s[1] * s[3] - s[2] * s[2]);
    if (!(fabs(det) > 0.0) || !(c2 / det < 0.0)) return;
    *time_s = origin_s - 0.5 * c1 / c2;
    *value = (c0 - 0.25 * c1 * c1 / c2) / det;
}

/* The height at a shown one: as the track was made. */
static double true_height_m(const finding *f, double shown_m)
{
    return f->flight_log->geometric ? shown_m : pappus_air_true_height_m(f->air, shown_m);
}

static void find_apogee(finding *f)
{
    const pappus_track *track = &f->track;
    double at_s = track->time_s[f->top], time_s, shown_m;
    f->zero_s = track->time_s[0];
    if (at_s < 0.5 || f->top < 3) {
        miss(f, PAPPUS_MISSING_APOGEE);
        return;
    }
    size_t n = pappus_track_cut(f->t, f->value, track, track->shown_m, at_s - 1.0, at_s + 1.0);
    vertex(&time_s, &shown_m, n, f->t, f->value, at_s);
    if (!(n >= LEAST_SAMPLES && fabs(time_s - at_s) < 1.0)) {
        time_s = at_s;
        shown_m = track->shown_m[f->top];
    }
    f->zero_s = time_s;
    f->out->apogee_shown_m = shown_m;
    f->out->apogee_m = true_height_m(f, shown_m);
}

/* The level that a log ends at, when it ends at rest and low. */
static double rest_level(finding *f)
{
    const pappus_track *track = &f->track;
    pappus_line line;
    double last_s = track->time_s[track->count - 1];
    size_t last = track->count - 1, few = last > 8 ? last - 8 : 0;
    double from_s = fmin(last_s - 3.0, track->time_s[few]);
    size_t n = pappus_track_cut(f->t, f->value, track, track->shown_m, from_s, last_s + 1.0);
    if (!pappus_line_fit(&line, n, f->t, f->value, f->room)) return NAN;
    if (fabs(line.slope) > REST_MPS || line.value > 0.5 * track->shown_m[f->top]) return NAN;
    return line.value;
}

static void find_ground(finding *f)
{
    const pappus_track *track = &f->track;
    double level = rest_level(f), above_m = fmax(4.0 * track->noise_m, 3.0);
    f->ground_s = NAN;
    f->end_s = track->time_s[track->count - 1];
    if (isnan(level)) {
        miss(f, PAPPUS_MISSING_GROUND);
        return;
    }
    size_t last = track->count - 1;
    while (last > f->top && (track->spike[last] || track->shown_m[last] < level + above_m))
        last--;
    double at_s = track->time_s[last];
    pappus_line line;
    f->end_s = f->ground_s = at_s;
    size_t n = pappus_track_cut(f->t, f->value, track, track->shown_m, at_s - 4.0, at_s);
    if (!pappus_line_fit(&line, n, f->t, f->value, f->room) || !(line.slope < -REST_MPS)) return;
    f->ground_s = fmin(at_s + (track->shown_m[last] - level) / -line.slope, at_s + 10.0);
}

/* ------------------------------------------------------------------------ phases */

/* Time that a fall at `slope` takes to settle, at most half of what there is. */
static double settling_s(const finding *f, double slope, double from_s, double to_s, double least_s)
{
    double v = speed_of(f, slope, height_at(f, from_s));
    return fmin(fmax(3.0 * v / PAPPUS_GRAVITY_MPS2, least_s), 0.5 * (to_s - from_s));
}

/* Adds a phase from what lies between; false when it is too short. */
static bool add_phase(finding *f, double from_s, double to_s)
{
    pappus_line *line = &f->lines[f->out->phase_count];
    pappus_flown_phase *phase = &f->out->phases[f->out->phase_count];
    size_t n = pappus_track_cut(f->t, f->value, &f->track, f->track.depth, from_s, to_s);
    if (to_s - from_s < LEAST_PHASE_S || n < LEAST_SAMPLES) return false;
    if (!pappus_line_fit(line, n, f->t, f->value, f->room) || !(line->slope < 0.0)) return false;
    *phase = (pappus_flown_phase){.from_s = f->t[0] - f->zero_s,
                                  .to_s = f->t[n - 1] - f->zero_s,
                                  .top_m = height_at(f, f->t[0]),
                                  .bottom_m = height_at(f, f->t[n - 1])};
    pappus_drag_of_phase(phase, line, f->plan->rocket.mass_kg, f->air);
    phase->wander_m = line->scale / sqrt(pappus_air_density_kgpm3(f->air, phase->top_m) /
                                         (2.0 * PAPPUS_GRAVITY_MPS2));
    f->out->phase_count++;
    return true;
}

static bool parts(const pappus_knot *knot, double from_s, double to_s)
{
    return knot->after < 0.0 && knot->before < SLOWER * knot->after &&
           knot->knot_s - from_s >= LEAST_PHASE_S && to_s - knot->knot_s >= LEAST_PHASE_S &&
           knot->two_misfit < 0.7 * knot->one_misfit;
}

/* Where the fall's rate changes; the search begins again behind the first settling. */
static bool find_knot(finding *f, pappus_knot *knot)
{
    double to_s = f->end_s - 0.3, from_s = f->zero_s + fmin(4.0, 0.2 * (to_s - f->zero_s));
    bool found = false;
    for (int again = 0; again < 2; again++) {
        size_t n = pappus_track_cut(f->t, f->value, &f->track, f->track.depth, from_s, to_s);
        found = pappus_knot_fit(knot, n, f->t, f->value, f->room) && parts(knot, from_s, to_s);
        if (!found) break;
        from_s = f->zero_s + settling_s(f, knot->before, f->zero_s, knot->knot_s, 2.0);
    }
    return found;
}

static void find_phases(finding *f, pappus_knot *knot, bool *parted)
{
    double end_s = f->end_s - 0.3;
    double begin_s = f->zero_s;
    *parted = find_knot(f, knot);
    if (*parted) {
        double settled = settling_s(f, knot->before, begin_s, knot->knot_s, 2.0);
        *parted = add_phase(f, begin_s + settled, knot->knot_s - 1.5);
        settled = settling_s(f, knot->after, knot->knot_s, end_s, 3.0);
        if (*parted && !add_phase(f, knot->knot_s + settled, end_s)) f->out->phase_count = 0;
        *parted = f->out->phase_count == 2;
    }
    if (*parted) return;
    double skip_s = fmin(4.0, 0.3 * (end_s - begin_s));
    for (int again = 0; again < 2; again++) {
        f->out->phase_count = 0;
        if (!add_phase(f, begin_s + skip_s, end_s)) break;
        skip_s = settling_s(f, f->lines[0].slope, begin_s, end_s, 2.0);
    }
    if (f->out->phase_count == 0) miss(f, PAPPUS_MISSING_STEADY);
}

/* ------------------------------------------------------------------------ outcome */

/* With the body's share that hangs beside, as the plan expects it; NaN: no such canopy. */
static double expected_m2(const pappus_plan *plan, const pappus_canopy_plan *canopy,
                          const char *key)
{
    pappus_canopy resolved;
    if (!canopy->present || pappus_canopy_resolve(&resolved, canopy, key, NULL) != PAPPUS_OK)
        return NAN;
    (void)plan;
    return pappus_canopy_mean_drag_area_m2(&resolved);
}

static double distance(double area_m2, double expected)
{
    return isnan(expected) || !(expected > 0.0) ? INFINITY : fabs(log(area_m2 / expected));
}

static pappus_outcome outcome_of(const finding *f, bool *is_main)
{
    const pappus_plan *plan = f->plan;
    double area = f->out->phases[0].drag_area_m2.value;
    double drogue = expected_m2(plan, &plan->drogue, "drogue");
    double main_m2 = expected_m2(plan, &plan->main, "main");
    double body = distance(area, pappus_body_ballistic_m2(&plan->rocket));
    *is_main = distance(area, main_m2) < distance(area, drogue);
    if (body < distance(area, drogue) && body < distance(area, main_m2)) return PAPPUS_NO_CANOPY;
    if (!plan->drogue.present || !plan->main.present) return PAPPUS_NOMINAL;
    return *is_main ? PAPPUS_MAIN_AT_APOGEE : PAPPUS_DROGUE_ONLY;
}

/* Which canopy each phase speaks of. */
static void tell_canopies(finding *f, bool parted)
{
    pappus_flown *out = f->out;
    bool is_main = false;
    out->outcome = PAPPUS_NOMINAL;
    if (parted) {
        out->drogue_drag_area_m2 = pappus_drag_whole(&out->phases[0]);
        out->main_drag_area_m2 = pappus_drag_between(&out->phases[0], &out->phases[1]);
        return;
    }
    if (out->phase_count == 0) return;
    out->outcome = outcome_of(f, &is_main);
    if (out->outcome == PAPPUS_NO_CANOPY) {
        miss(f, PAPPUS_MISSING_DROGUE);
        miss(f, PAPPUS_MISSING_MAIN);
        return;
    }
    if (is_main)
        out->main_drag_area_m2 = pappus_drag_whole(&out->phases[0]);
    else
        out->drogue_drag_area_m2 = pappus_drag_whole(&out->phases[0]);
    if (is_main && f->plan->drogue.present) miss(f, PAPPUS_MISSING_DROGUE);
    if (!is_main && f->plan->main.present) {
        miss(f, PAPPUS_MISSING_MAIN);
        /* cut off in the air it may have opened later */
        if (out->missing & 1U << PAPPUS_MISSING_GROUND) out->outcome = PAPPUS_NOMINAL;
    }
}

/* ----------------------------------------------------------------------- all of it */

static void count_quality(finding *f)
{
    const pappus_track *track = &f->track;
    f->out->rate_hz = track->rate_hz;
    f->out->noise_m = track->noise_m;
    size_t from = pappus_track_find(track, f->zero_s), last = from;
    for (size_t i = from; i < track->count && track->time_s[i] <= f->end_s; i++) {
        f->out->spikes += track->spike[i];
        if (track->spike[i]) continue;
        f->out->longest_gap_s = fmax(f->out->longest_gap_s, track->time_s[i] - track->time_s[last]);
        last = i;
    }
    if (f->out->longest_gap_s > GAP_S) miss(f, PAPPUS_MISSING_GAP);
}

static void find_all(finding *f)
{
    pappus_knot knot;
    bool parted;
    find_apogee(f);
    find_ground(f);
    count_quality(f);
    if (!(f->out->missing & 1U << PAPPUS_MISSING_APOGEE))
        f->out->time_aloft_s = f->ground_s - f->zero_s;
    find_phases(f, &knot, &parted);
    tell_canopies(f, parted);
    if (parted) find_main(f, &knot);
    if (f->out->phase_count > 0 && !isnan(f->out->drogue_drag_area_m2.value)) find_drogue(f);
    pappus_bands_find(f);
    pappus_drift_find(f->out, &f->track, f->zero_s, isnan(f->ground_s) ? f->end_s : f->ground_s,
                      f->zero_s, f->air);
    if (f->out->phase_count > 0 && !isnan(f->ground_s))
        f->out->touchdown_mps = speed_of(f, f->lines[f->out->phase_count - 1].slope, 0.0);
}

int pappus_flown_find(pappus_flown *out, const pappus_flight_log *flight_log,
                      const pappus_plan *plan, const pappus_air *air, pappus_error *err)
{
    static const pappus_estimate none = {NAN, NAN, NAN};
    finding f = {.out = out, .flight_log = flight_log, .plan = plan, .air = air};
    *out = (pappus_flown){.apogee_m = NAN,
                          .apogee_shown_m = NAN,
                          .time_aloft_s = NAN,
                          .touchdown_mps = NAN,
                          .drogue_fired_s = none,
                          .main_fired_s = none,
                          .main_fired_m = NAN,
                          .main_fired_shown_m = NAN,
                          .main_opening_s = none,
                          .main_open_m = NAN,
                          .drift_east_m = NAN,
                          .drift_north_m = NAN,
                          .drogue_drag_area_m2 = none,
                          .main_drag_area_m2 = none};
    int status = pappus_track_make(&f.track, flight_log, air, err);
    if (status != PAPPUS_OK) return status;
    f.t = malloc(f.track.count * sizeof *f.t);
    f.value = malloc(f.track.count * sizeof *f.value);
    f.room = malloc(PAPPUS_FIT_ROOM(f.track.count) * sizeof *f.room);
    status = f.t && f.value && f.room ? PAPPUS_OK : pappus_fail_memory(err);
    f.top = highest(&f.track);
    if (status == PAPPUS_OK) status = check_one_flight(&f, err);
    if (status == PAPPUS_OK) find_all(&f);
    free(f.t);
    free(f.value);
    free(f.room);
    pappus_track_clear(&f.track);
    return status;
}
