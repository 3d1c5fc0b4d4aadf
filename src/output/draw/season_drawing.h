/* SPDX-License-Identifier: GPL-3.0-or-later
 * A season drawn, one plan at a time. */
#ifndef PAPPUS_OUTPUT_SEASON_DRAWING_H
#define PAPPUS_OUTPUT_SEASON_DRAWING_H

#include <pappus/season.h>

#include "xml_text.h"

typedef enum {
    SEASON_HOURS,     /**< share of go, months by hours */
    SEASON_HEIGHTS,   /**< the same, months by main heights; only where there are heights */
    SEASON_FOOTPRINT, /**< where all landings are, over the field */
    SEASON_ROSE,      /**< days and go days by where the surface wind is from */
    SEASON_SUBJECTS
} season_subject;

/** Writes the <svg> element. */
int season_drawing(pappus_xml *xml, season_subject subject, const pappus_season_result *result,
                   size_t plan, pappus_unit_system units, pappus_error *err);

/* The two of them that are no tables. */
int season_map_drawing(pappus_xml *xml, const pappus_season_result *result, size_t plan,
                       pappus_unit_system units, pappus_error *err);
int season_rose_drawing(pappus_xml *xml, const pappus_season_result *result, size_t plan,
                        pappus_error *err);

#endif
