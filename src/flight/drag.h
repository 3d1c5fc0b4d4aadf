/* SPDX-License-Identifier: GPL-3.0-or-later
 * The drag area that a steady fall speaks of. */
#ifndef PAPPUS_FLIGHT_DRAG_H
#define PAPPUS_FLIGHT_DRAG_H

#include "robust.h"

#include <pappus/debrief.h>

/** Vertical air over a stretch of fall, standard deviation (A; measured 0.24 m/s on 23
 * dropsondes). */
#define PAPPUS_VERTICAL_AIR_MPS 0.3
/** How well the air's temperature and pressure are known (A). */
#define PAPPUS_AIR_TEMPERATURE_SD_K 2.0
#define PAPPUS_AIR_PRESSURE_SD_PA 300.0

/** Fills rate and drag area of a phase, whose times and heights are there, from its line of
 * depth over time. */
void pappus_drag_of_phase(pappus_flown_phase *phase, const pappus_line *line,
                          pappus_uncertain mass_kg, const pappus_air *air);
/** What opened between two phases: the later sum less the earlier. */
pappus_estimate pappus_drag_between(const pappus_flown_phase *earlier,
                                    const pappus_flown_phase *later);
/** The sum of one phase with all its errors. */
pappus_estimate pappus_drag_whole(const pappus_flown_phase *phase);

#endif
