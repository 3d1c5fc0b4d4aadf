/* SPDX-License-Identifier: GPL-3.0-or-later
 * When the canopies fired, and how long the main took to open: the fall about the change
 * between two steady falls, and that after the apogee, handed to opening.h. A gap in the log
 * where it happened hides it. */
#include "finding.h"

#include "body_drag.h"
#include "opening.h"
#include "si.h"

#include <math.h>

#define FIRING_GAP_S 1.2
#define FIRED_WITHIN_S 2.0 /* half-width up to which a firing of the drogue is told */

double speed_of(const finding *f, double slope, double height_m)
{
    return -slope * sqrt(2.0 * PAPPUS_GRAVITY_MPS2 / pappus_air_density_kgpm3(f->air, height_m));
}

double height_at(const finding *f, double time_s)
{
    size_t i = pappus_track_find(&f->track, time_s);
    while (i > 0 && (i >= f->track.count || f->track.spike[i]))
        i--;
    return f->track.height_m[i];
}

static pappus_opening_case case_of(const finding *f, double start_s, double start_mps,
                                   double before_m2, double after_m2)
{
    double mass_kg = f->plan->rocket.mass_kg.mean, height_m = height_at(f, start_s);
    double density = pappus_air_density_kgpm3(f->air, height_m);
    double lower = pappus_air_density_kgpm3(f->air, fmax(height_m - 50.0, 0.0));
    return (pappus_opening_case){.start_s = start_s,
                                 .start_mps = start_mps,
                                 .density_kgpm3 = density,
                                 .density_slope_pm =
                                     height_m > 50.0 ? (lower / density - 1.0) / 50.0 : 1e-4,
                                 .before_m2pkg = before_m2 / mass_kg,
                                 .after_m2pkg = after_m2 / mass_kg};
}

static pappus_estimate shifted(pappus_estimate e, double by)
{
    return (pappus_estimate){e.value - by, e.low - by, e.high - by};
}

/* No sample within so long of what is looked for. */
static bool gap_about(const finding *f, double from_s, double to_s)
{
    double before_s = from_s;
    for (size_t i = pappus_track_find(&f->track, from_s);
         i < f->track.count && f->track.time_s[i] < to_s; i++) {
        if (f->track.spike[i]) continue;
        if (f->track.time_s[i] - before_s > FIRING_GAP_S) return true;
        before_s = f->track.time_s[i];
    }
    return to_s - before_s > FIRING_GAP_S;
}

/* A value where a steady stretch ends. */
static double before_at(finding *f, const double *values, double from_s, double to_s)
{
    pappus_line line;
    size_t n = pappus_track_cut(f->t, f->value, &f->track, values, from_s, to_s);
    if (pappus_line_fit(&line, n, f->t, f->value, f->room)) return pappus_line_at(&line, to_s);
    return n > 0 ? f->value[n - 1] : NAN;
}

/* Between the two steady falls. */
void find_main(finding *f, const pappus_knot *knot)
{
    pappus_opening found;
    double start_s = knot->knot_s - 4.0, height_m = height_at(f, start_s);
    pappus_opening_case c =
        case_of(f, start_s, speed_of(f, f->lines[0].slope, height_m),
                f->out->phases[0].drag_area_m2.value, f->out->phases[1].drag_area_m2.value);
    c.fire_from_s = knot->knot_s - 3.0;
    c.fire_to_s = knot->knot_s + 1.0;
    c.open_from_s = 0.1;
    c.open_to_s = 4.0;
    size_t n = pappus_track_cut(f->t, f->value, &f->track, f->track.height_m, start_s,
                                fmin(knot->knot_s + 6.0, f->end_s - 0.3));
    if (gap_about(f, knot->knot_s - 2.0, knot->knot_s + 2.0)) return;
    if (!pappus_opening_fit(&found, &c, n, f->t, f->value, f->track.noise_m)) return;
    if (!(f->out->missing & 1U << PAPPUS_MISSING_APOGEE))
        f->out->main_fired_s = shifted(found.fired_s, f->zero_s);
    f->out->main_fired_m = before_at(f, f->track.height_m, start_s, found.fired_s.value);
    f->out->main_fired_shown_m = before_at(f, f->track.shown_m, start_s, found.fired_s.value);
    double width = found.opening_s.high - found.opening_s.low;
    f->out->main_opening_s = found.opening_s;
    if (width > 1.5) f->out->main_opening_s = (pappus_estimate){NAN, NAN, NAN};
    f->out->main_open_m = height_at(f, found.fired_s.value + found.opening_s.value);
}

/* After the apogee, where the body has fallen without it. */
void find_drogue(finding *f)
{
    pappus_opening found;
    const pappus_rocket *rocket = &f->plan->rocket;
    double body_m2 = pappus_is_present(rocket->ballistic_drag_area_m2)
                         ? rocket->ballistic_drag_area_m2.mean
                         : pappus_body_ballistic_m2(rocket);
    double after_m2 = f->out->phases[0].drag_area_m2.value;
    double last_s = fmin(f->zero_s + 16.0, f->zero_s + f->out->phases[0].to_s);
    if (f->out->missing & 1U << PAPPUS_MISSING_APOGEE || !(after_m2 > 2.0 * body_m2)) return;
    pappus_opening_case c = case_of(f, f->zero_s, 0.0, body_m2, after_m2);
    c.fire_from_s = f->zero_s;
    c.fire_to_s = f->zero_s + fmin(12.0, last_s - f->zero_s - 2.0);
    c.open_from_s = c.open_to_s = 0.4;
    c.free_s = 0.5;
    if (!(c.fire_to_s > c.fire_from_s)) return;
    size_t n = pappus_track_cut(f->t, f->value, &f->track, f->track.height_m, f->zero_s, last_s);
    if (!pappus_opening_fit(&found, &c, n, f->t, f->value, f->track.noise_m)) return;
    if (found.fired_s.high - found.fired_s.low > 2.0 * FIRED_WITHIN_S) return;
    f->out->drogue_fired_s = shifted(found.fired_s, f->zero_s);
}
