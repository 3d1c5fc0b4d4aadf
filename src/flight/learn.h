/* SPDX-License-Identifier: GPL-3.0-or-later
 * What flights teach of drag areas and of the wind's error. */
#ifndef PAPPUS_FLIGHT_LEARN_H
#define PAPPUS_FLIGHT_LEARN_H

#include <pappus/debrief.h>

/** How much a canopy's drag area differs from one flight to the next beside what its interval
 * holds: packing, swing (A). */
#define PAPPUS_FLIGHT_TO_FLIGHT 0.03

/** Drag areas that flights show; before: as the plan has it, its spread relative. */
pappus_learned_drag pappus_learn_drag(const pappus_estimate *areas_m2, size_t count,
                                      double before_m2, double before_part);

/** Where a landing was against a flight computed with all that its log shows. */
typedef struct {
    double east_m, north_m; /**< offset from the mean of that */
    double wind_m2[3];      /**< covariance that the wind's error makes: ee, en, nn */
    double rest_m2[3];      /**< and all else: the apogee's place, gusts, what is not known */
    double error_part;      /**< of the wind's variance, what is of `error` */
    double age_h, dof;      /**< of the wind; of its Student law */
} pappus_wind_lesson;

/** The factor on the standard deviation of the wind's error; NaN for no lesson. */
pappus_estimate pappus_learn_wind_factor(const pappus_wind_lesson *lessons, size_t count);
/** Fills wind_factor, the split and what follows of error and growth (their `before` are
 * there). */
void pappus_learn_wind(pappus_learned *out, const pappus_wind_lesson *lessons, size_t count);

#endif
