/* SPDX-License-Identifier: GPL-3.0-or-later
 * A log made ready: thinned, without spikes, above the pad, as true heights. */
#ifndef PAPPUS_FLIGHT_TRACK_H
#define PAPPUS_FLIGHT_TRACK_H

#include <pappus/debrief.h>

typedef struct {
    size_t count;
    double *time_s;   /**< from the first sample */
    double *shown_m;  /**< as shown, less what was shown at rest on the pad */
    double *height_m; /**< true, above the pad */
    double *depth;    /**< s/sqrt(m^2/kg): integral of sqrt(rho/2g) dz; a steady fall is a line of
                         slope -sqrt(m/CdS) in it, whatever the density does */
    bool *spike;      /**< left out of every fit */
    double noise_m;   /**< standard deviation of a sample */
    double rate_hz;   /**< of the log */
    double pad_m;     /**< what was taken off */
    bool from_rest;   /**< begins at rest on the pad */
} pappus_track;

int pappus_track_make(pappus_track *out, const pappus_flight_log *flight_log, const pappus_air *air,
                      pappus_error *err);
void pappus_track_clear(pappus_track *track);
/** The first sample at or after a time. */
size_t pappus_track_find(const pappus_track *track, double time_s);
/** Copies the samples of [from_s, to_s) that are no spikes; returns how many. */
size_t pappus_track_cut(double *time_s, double *value, const pappus_track *track,
                        const double *values, double from_s, double to_s);

#endif
