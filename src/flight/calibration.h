/* SPDX-License-Identifier: GPL-3.0-or-later
 * Whether zones hold what they say, over flights. */
#ifndef PAPPUS_FLIGHT_CALIBRATION_H
#define PAPPUS_FLIGHT_CALIBRATION_H

#include <pappus/debrief.h>

/** Bins of -2 ln(1 - rank), PAPPUS_SURPRISE_BIN wide; the last takes what is over. */
#define PAPPUS_SURPRISE_BINS 128
#define PAPPUS_SURPRISE_BIN 0.2

/** One landing among those expected. */
typedef struct {
    double rank;
    size_t landings; /**< that it was ranked among */
    double along_m, across_m;
    double wind_share;
    double narrow[PAPPUS_SURPRISE_BINS]; /**< chances of its surprise if the wind's error were */
    double wide[PAPPUS_SURPRISE_BINS];   /**< twice, half what the plan says; all 0: not known */
} pappus_ranked;

/** -2 ln(1 - rank), chi-square with 2 degrees of freedom where the zone is right. */
double pappus_surprise(double rank, size_t landings);
/** Adds one surprise to a histogram. */
void pappus_surprise_count(double bins[PAPPUS_SURPRISE_BINS], double surprise, double weight);

int pappus_calibration_find(pappus_calibration *out, const pappus_ranked *ranked, size_t count,
                            pappus_error *err);

#endif
