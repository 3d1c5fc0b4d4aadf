/* SPDX-License-Identifier: GPL-3.0-or-later
 * A log on its way: what the parts of its reading share. */
#ifndef PAPPUS_FLIGHT_FINDING_H
#define PAPPUS_FLIGHT_FINDING_H

#include "robust.h"
#include "track.h"

typedef struct {
    pappus_flown *out;
    const pappus_flight_log *flight_log;
    const pappus_plan *plan;
    const pappus_air *air;
    pappus_track track;
    double *t, *value; /* room for samples */
    double *room;      /* for a fit of them */
    size_t top;        /* highest sample */
    double zero_s;     /* of the track: the apogee, or its begin */
    double ground_s;   /* of the track; NaN: not in the log */
    double end_s;      /* of the fall in the log */
    pappus_line lines[2];
} finding;

/** Speed of a fall whose depth goes with `slope`, at a height. */
double speed_of(const finding *f, double slope, double height_m);
/** True height at a time of the track, or before where that is a spike. */
double height_at(const finding *f, double time_s);
/** Fills what is told of the main between the two phases that meet at the knot. */
void find_main(finding *f, const pappus_knot *knot);
/** Fills when the drogue fired, if its heights tell. */
void find_drogue(finding *f);

#endif
