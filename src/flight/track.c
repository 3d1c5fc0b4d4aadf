/* SPDX-License-Identifier: GPL-3.0-or-later
 * From a log to a track.
 *
 * - Samples closer than 1/20 s are put together by their medians.
 * - A sample is a spike when it is far from the middle between the median before it and the
 *   median after it (a filter of Hampel's kind, Davies & Gather, Journal of the American
 *   Statistical Association 88:782, 1993, about a slope): within 0.75 s for short ones, within
 *   2.5 s for those of an ejection charge, which blow up the bay's pressure for a second.
 * - What was shown at rest on the pad is taken off.
 * - True height: where the altimeter shows what it showed in the air of that day.
 *
 * A spike of more than two seconds stays, and so does one under 6 m: the fits behind are
 * robust too. */
#include "track.h"

#include "air.h"
#include "error.h"
#include "robust.h"
#include "si.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define BIN_S 0.05
#define LEAST_SAMPLES 20
#define REST_MPS 2.0  /* at rest within the noise */
#define TURN_MPS 10.0 /* what a spike is beside: the speed may change so much */
#define SPIKE_M 6.0

void pappus_track_clear(pappus_track *track)
{
    free(track->time_s);
    free(track->shown_m);
    free(track->height_m);
    free(track->depth);
    free(track->spike);
    *track = (pappus_track){0};
}

size_t pappus_track_find(const pappus_track *track, double time_s)
{
    size_t low = 0, high = track->count;
    while (low < high) {
        size_t middle = (low + high) / 2;
        if (track->time_s[middle] < time_s)
            low = middle + 1;
        else
            high = middle;
    }
    return low;
}

size_t pappus_track_cut(double *time_s, double *value, const pappus_track *track,
                        const double *values, double from_s, double to_s)
{
    size_t n = 0;
    for (size_t i = pappus_track_find(track, from_s); i < track->count && track->time_s[i] < to_s;
         i++) {
        if (track->spike[i]) continue;
        time_s[n] = track->time_s[i];
        value[n++] = values[i];
    }
    return n;
}

/* Puts samples of one bin together. */
static void thin(pappus_track *track, const pappus_flight_log *flight_log, double *spare)
{
    const double *t = flight_log->time_s;
    for (size_t i = 0; i < flight_log->count;) {
        size_t n = 0;
        double sum = 0.0;
        for (; i + n < flight_log->count && (n == 0 || t[i + n] < t[i] + BIN_S - 1e-6); n++) {
            spare[n] = flight_log->height_m[i + n];
            sum += t[i + n] - t[0];
        }
        track->time_s[track->count] = sum / (double)n;
        track->shown_m[track->count++] = pappus_median_of(spare, n);
        i += n;
    }
}

/* Median of the samples in [from, to) that are no spikes yet. */
static double median_within(const pappus_track *track, double *spare, size_t from, size_t to)
{
    size_t n = 0;
    for (size_t i = from; i < to; i++)
        if (!track->spike[i]) spare[n++] = track->shown_m[i];
    return pappus_median_of(spare, n);
}

/* What a fall may bend within the half window, whatever the noise. */
static double bend_m(double half_s)
{
    return 0.5 * half_s * TURN_MPS + 0.125 * PAPPUS_GRAVITY_MPS2 * half_s * half_s;
}

/* far_m: room for as many values as the track has; so is spare. */
static void mark_spikes(pappus_track *track, double half_s, double *spare, double *far_m)
{
    size_t before = 0, after = 0;
    for (size_t i = 0; i < track->count; i++) {
        double t = track->time_s[i];
        while (track->time_s[before] < t - half_s && before + 3 < i)
            before++;
        while (after < track->count && (track->time_s[after] <= t + half_s || after < i + 4))
            after++;
        double low = median_within(track, spare, before, i);
        double high = median_within(track, spare, i + 1, after);
        bool ends = isnan(low) || isnan(high) || i < 3 || i + 3 >= track->count;
        double reach_s = fmax(half_s, t - track->time_s[before]);
        far_m[i] = ends ? 0.0 : fabs(track->shown_m[i] - 0.5 * (low + high)) - bend_m(reach_s);
    }
    for (size_t i = 0; i < track->count; i++)
        spare[i] = fmax(far_m[i] + bend_m(half_s), 0.0);
    double scale = 1.4826 * pappus_median_of(spare, track->count);
    double limit_m = fmax(6.0 * scale, SPIKE_M);
    for (size_t i = 0; i < track->count; i++)
        track->spike[i] = track->spike[i] || far_m[i] > limit_m;
}

/* From second differences: a smooth fall leaves the noise alone, of sqrt 6 its sd. */
static double noise_of(const pappus_track *track, double *spare)
{
    size_t n = 0;
    for (size_t i = 1; i + 1 < track->count; i++)
        if (!track->spike[i - 1] && !track->spike[i] && !track->spike[i + 1])
            spare[n++] =
                fabs(track->shown_m[i - 1] - 2.0 * track->shown_m[i] + track->shown_m[i + 1]);
    return n ? 1.4826 * pappus_median_of(spare, n) / sqrt(6.0) : 0.0;
}

/* The level at rest before the climb, when the log begins there. */
static void find_pad(pappus_track *track, double *spare)
{
    size_t second = pappus_track_find(track, 1.0), n = 0;
    double first = NAN, rest_m = 3.0 * track->noise_m + REST_MPS;
    if (second < 3) return;
    first = median_within(track, spare, 0, second);
    for (size_t i = 0; i < second; i++)
        n += fabs(track->shown_m[i] - first) > rest_m;
    track->from_rest = 4 * n < second;
    if (!track->from_rest) return;
    size_t i = second;
    while (i < track->count && (track->spike[i] || fabs(track->shown_m[i] - first) < rest_m))
        i++;
    track->pad_m = median_within(track, spare, 0, i);
    for (size_t k = 0; k < track->count; k++)
        track->shown_m[k] -= track->pad_m;
}

static void find_heights(pappus_track *track, const pappus_air *air, bool geometric)
{
    for (size_t i = 0; i < track->count; i++)
        track->height_m[i] =
            geometric ? track->shown_m[i] : pappus_air_true_height_m(air, track->shown_m[i]);
    for (size_t i = 1; i < track->count; i++) {
        double low = track->height_m[i - 1], high = track->height_m[i];
        double density = pappus_air_density_kgpm3(air, 0.5 * (low + high));
        track->depth[i] =
            track->depth[i - 1] + (high - low) * sqrt(density / (2.0 * PAPPUS_GRAVITY_MPS2));
    }
}

static int check_log(const pappus_flight_log *flight_log, pappus_error *err)
{
    if (flight_log->count < LEAST_SAMPLES)
        return pappus_fail(err, PAPPUS_E_RECORD, flight_log->path, NULL, NULL,
                           "only %zu usable samples; accepted are %d and more", flight_log->count,
                           LEAST_SAMPLES);
    return PAPPUS_OK;
}

/* A log above the model's air: what is there was not flown by this plan. */
static int check_heights(const pappus_track *track, const pappus_flight_log *flight_log,
                         pappus_error *err)
{
    for (size_t i = 0; i < track->count; i++)
        if (!isfinite(track->depth[i]))
            return pappus_fail(err, PAPPUS_E_RECORD, flight_log->path, "height", NULL,
                               "heights that this air does not reach; accepted are heights of a "
                               "flight, above the pad");
    return PAPPUS_OK;
}

int pappus_track_make(pappus_track *out, const pappus_flight_log *flight_log, const pappus_air *air,
                      pappus_error *err)
{
    size_t n = flight_log->count;
    *out = (pappus_track){0};
    int status = check_log(flight_log, err);
    if (status != PAPPUS_OK) return status;
    double *spare = malloc(2 * n * sizeof *spare);
    out->time_s = malloc(n * sizeof *out->time_s);
    out->shown_m = malloc(n * sizeof *out->shown_m);
    out->height_m = malloc(n * sizeof *out->height_m);
    out->depth = calloc(n, sizeof *out->depth);
    out->spike = calloc(n, sizeof *out->spike);
    if (!spare || !out->time_s || !out->shown_m || !out->height_m || !out->depth || !out->spike) {
        free(spare);
        pappus_track_clear(out);
        return pappus_fail_memory(err);
    }
    thin(out, flight_log, spare);
    mark_spikes(out, 0.75, spare, spare + n);
    mark_spikes(out, 2.5, spare, spare + n);
    out->noise_m = noise_of(out, spare);
    double span_s = flight_log->time_s[n - 1] - flight_log->time_s[0];
    out->rate_hz = span_s > 0.0 ? (double)(n - 1) / span_s : NAN;
    find_pad(out, spare);
    find_heights(out, air, flight_log->geometric);
    status = check_heights(out, flight_log, err);
    free(spare);
    if (status != PAPPUS_OK) pappus_track_clear(out);
    return status;
}
