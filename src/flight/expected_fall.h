/* SPDX-License-Identifier: GPL-3.0-or-later
 * The heights that the plan expects after the apogee. */
#ifndef PAPPUS_FLIGHT_EXPECTED_FALL_H
#define PAPPUS_FLIGHT_EXPECTED_FALL_H

#include <pappus/debrief.h>

/** Fills the band of heights over time of nominal flights. */
int pappus_expected_fall(pappus_height_band *out, const pappus_plan *plan, const pappus_air *air,
                         uint64_t seed, pappus_error *err);

#endif
