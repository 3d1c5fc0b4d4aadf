/* SPDX-License-Identifier: GPL-3.0-or-later
 * What is told of a fall beside its steady phases: by height, its drift, its picture. */
#ifndef PAPPUS_FLIGHT_BANDS_H
#define PAPPUS_FLIGHT_BANDS_H

#include "finding.h"

/** Bands of the phases found; whether the drag area is one value. */
void pappus_bands_find(finding *f);
/** Drift and picture between two times of the track. */
void pappus_drift_find(pappus_flown *out, const pappus_track *track, double from_s, double to_s,
                       double zero_s, const pappus_air *air);

/** Drift of a computed path by the mean wind: the same sum. */
void pappus_drift_of_path(double drift_m[2], const pappus_path *path, const pappus_air *air);

#endif
