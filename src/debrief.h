/* SPDX-License-Identifier: GPL-3.0-or-later
 * What the parts of a debrief share. */
#ifndef PAPPUS_DEBRIEF_PARTS_H
#define PAPPUS_DEBRIEF_PARTS_H

#include <pappus/debrief.h>
#include <pappus/givens.h>

#include "against.h"
#include "calibration.h"
#include "learn.h"

/** The situation of a flight's day. */
int pappus_debrief_day(pappus_situation **out, const pappus_situation *situation,
                       const pappus_flight *record, pappus_log *log);

/** All flights whose time is known are of one day. */
bool pappus_debrief_one_day(const pappus_flights *flights);
/** The winds that stand for a flight are of another day than it. plan: of all flights. */
bool pappus_debrief_other_wind(const pappus_flight *record, const pappus_plan *plan,
                               const pappus_winds *winds, bool one_day);
/** Fills what the surprises would be with another wind error, and the wind's share of the
 * variance of the zone. */
int pappus_debrief_power(pappus_ranked *out, const pappus_givens *given,
                         const pappus_expected *expected, const pappus_run *run, pappus_error *err);
/** The landing against a flight computed with what its log shows. */
int pappus_debrief_lesson(pappus_wind_lesson *out, const pappus_debriefed *flight,
                          const pappus_givens *given, const pappus_run *run, pappus_error *err);
/** error and growth of the plan's law. */
void pappus_debrief_wind_before(double *error_mps, double *growth_mps, const pappus_givens *given);
/** Puts a flown drag area in a canopy's place; its size stays. */
void pappus_debrief_lay_drag(pappus_canopy_plan *canopy, pappus_estimate area_m2);
/** What a canopy of the plan drags with what hangs of the body, as a flight measures it, the
 * body's part of it, and its relative spread; NaN without one. */
void pappus_debrief_planned_drag(double *area_m2, double *body_m2, double *part,
                                 const pappus_plan *plan, bool is_main);

#endif
