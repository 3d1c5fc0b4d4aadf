/* SPDX-License-Identifier: GPL-3.0-or-later
 * A fall by height, and its drift.
 *
 * Bands: each phase cut into parts of equal height, each fitted as the phase is (drag.h), its
 * own 0.3 m/s of vertical air in the interval. The phase's one drag area is doubted when the
 * logarithms of the bands' areas have a trend with height that their vertical air and scatter
 * alone show once in a thousand (weighted least squares, the slope against its error).
 *
 * Drift: the sum of the mean wind of the plan's day over the log's own heights and times, as
 * what hangs under a canopy goes with the wind; so the fall needs no model. The lag behind a
 * changing wind, v/g times its change, is left out: metres. */
#include "bands.h"

#include "air.h"
#include "drag.h"

#include <gsl/gsl_cdf.h>
#include <math.h>

#define BAND_LEAST_M 120.0
#define BAND_LEAST_S 6.0
#define Z95 1.959964

static bool fit_band(pappus_flown_band *band, double *log_area, double *sd, const finding *f,
                     double from_s, double to_s)
{
    const pappus_track *track = &f->track;
    pappus_line line;
    pappus_flown_phase part = {0};
    size_t n = pappus_track_cut(f->t, f->value, track, track->depth, from_s, to_s);
    if (n < 8 || !pappus_line_fit(&line, n, f->t, f->value, f->room) || !(line.slope < 0.0))
        return false;
    part.top_m = track->height_m[pappus_track_find(track, from_s)];
    size_t last = pappus_track_find(track, to_s);
    part.bottom_m = track->height_m[last < track->count ? last : track->count - 1];
    pappus_drag_of_phase(&part, &line, f->plan->rocket.mass_kg, f->air);
    *band = (pappus_flown_band){part.top_m, part.bottom_m, part.rate_mps, pappus_drag_whole(&part)};
    *log_area = log(part.drag_area_m2.value);
    *sd = 0.5 * log(part.drag_area_m2.high / part.drag_area_m2.low) / Z95;
    return true;
}

static void band_phase(finding *f, const pappus_flown_phase *phase)
{
    pappus_flown *out = f->out;
    double fallen_m = phase->top_m - phase->bottom_m, seconds = phase->to_s - phase->from_s;
    double room = PAPPUS_BANDS_MOST / 2.0;
    double count = floor(fmin(room, fmin(fallen_m / BAND_LEAST_M, seconds / BAND_LEAST_S)));
    double w = 0.0, wi = 0.0, wii = 0.0, wx = 0.0, wix = 0.0, x, sd;
    for (int i = 0; i < count; i++) {
        double from_s = f->zero_s + phase->from_s + seconds * i / count;
        double to_s = f->zero_s + phase->from_s + seconds * (i + 1) / count;
        if (!fit_band(&out->bands[out->band_count], &x, &sd, f, from_s, to_s) || !isfinite(sd))
            continue;
        double one = 1.0 / (sd * sd);
        out->band_count++;
        w += one;
        wi += one * i;
        wii += one * i * i;
        wx += one * x;
        wix += one * i * x;
    }
    double spread = wii - wi * wi / w, slope = (wix - wi * wx / w) / spread;
    if (spread > 0.0 && slope * slope * spread > gsl_cdf_chisq_Pinv(0.999, 1.0))
        out->missing |= 1U << PAPPUS_MISSING_CONSTANT;
}

void pappus_bands_find(finding *f)
{
    for (size_t p = 0; p < f->out->phase_count; p++)
        band_phase(f, &f->out->phases[p]);
}

static void draw_fall(pappus_flown *out, const pappus_track *track, size_t from, size_t to,
                      double zero_s)
{
    size_t step = (to - from) / PAPPUS_FLOWN_POINTS + 1;
    out->point_count = 0;
    for (size_t i = from; i < to && out->point_count < PAPPUS_FLOWN_POINTS; i += step) {
        if (track->spike[i]) continue;
        out->point_time_s[out->point_count] = (float)(track->time_s[i] - zero_s);
        out->point_height_m[out->point_count++] = (float)track->height_m[i];
    }
}

void pappus_drift_find(pappus_flown *out, const pappus_track *track, double from_s, double to_s,
                       double zero_s, const pappus_air *air)
{
    size_t from = pappus_track_find(track, from_s), to = pappus_track_find(track, to_s + 1e-6);
    size_t before = track->count;
    double u, v, u0 = 0.0, v0 = 0.0;
    draw_fall(out, track, from, to, zero_s);
    out->drift_east_m = out->drift_north_m = 0.0;
    for (size_t i = from; i < to; i++) {
        if (track->spike[i]) continue;
        pappus_air_mean_wind(air, fmax(track->height_m[i], 0.0), &u, &v);
        if (before < track->count) {
            double dt = track->time_s[i] - track->time_s[before];
            out->drift_east_m += 0.5 * (u0 + u) * dt;
            out->drift_north_m += 0.5 * (v0 + v) * dt;
        } else {
            out->drift_from_m = track->height_m[i];
        }
        out->drift_to_m = track->height_m[i];
        u0 = u;
        v0 = v;
        before = i;
    }
}

void pappus_drift_of_path(double drift_m[2], const pappus_path *path, const pappus_air *air)
{
    double u0 = 0.0, v0 = 0.0, u, v;
    drift_m[0] = drift_m[1] = 0.0;
    for (size_t i = 0; i < path->count; i++) {
        pappus_air_mean_wind(air, fmax(path->points[i].height_m, 0.0), &u, &v);
        double dt = i ? path->points[i].time_s - path->points[i - 1].time_s : 0.0;
        drift_m[0] += 0.5 * (u0 + u) * dt;
        drift_m[1] += 0.5 * (v0 + v) * dt;
        u0 = u;
        v0 = v;
    }
}
