/* SPDX-License-Identifier: GPL-3.0-or-later
 * Drawings of a debrief. */
#ifndef PAPPUS_OUTPUT_DEBRIEF_DRAWING_H
#define PAPPUS_OUTPUT_DEBRIEF_DRAWING_H

#include <pappus/debrief.h>

#include "xml_text.h"

/** A flight with a log; with a landing; what all say. */
int debrief_drawing_heights(pappus_xml *xml, const pappus_debriefed *flight,
                            pappus_unit_system units, pappus_error *err);
int debrief_drawing_landing(pappus_xml *xml, const pappus_debriefed *flight,
                            pappus_unit_system units, pappus_error *err);
int debrief_drawing_calibration(pappus_xml *xml, const pappus_calibration *calibration,
                                pappus_error *err);
/** How many flights lay in each part of their zone, and how many may. */
int debrief_drawing_ranks(pappus_xml *xml, const pappus_calibration *calibration,
                          pappus_error *err);
/** What was known after each flight, over the plan's: drag areas; the wind's error. */
int debrief_drawing_drag(pappus_xml *xml, const pappus_debrief *debrief, pappus_error *err);
int debrief_drawing_wind(pappus_xml *xml, const pappus_debrief *debrief, pappus_error *err);

#endif
