/* SPDX-License-Identifier: GPL-3.0-or-later
 * Flown flights as a sheet: the team's table, what was known after each flight. */
#ifndef PAPPUS_OUTPUT_DEBRIEF_SHEET_H
#define PAPPUS_OUTPUT_DEBRIEF_SHEET_H

#include <pappus/debrief.h>

#include "sheet.h"

/** Call under the C locale; free with cJSON_Delete. */
cJSON *debrief_sheet(json_builder *build, const pappus_debrief *debrief, const pappus_plan *plan,
                     pappus_unit_system units);

#endif
