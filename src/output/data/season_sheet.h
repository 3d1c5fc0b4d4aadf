/* SPDX-License-Identifier: GPL-3.0-or-later
 * A season in words, as a sheet (sheet.h). */
#ifndef PAPPUS_OUTPUT_SEASON_SHEET_H
#define PAPPUS_OUTPUT_SEASON_SHEET_H

#include "sheet.h"

#include <pappus/season.h>

/** The designs side by side where there are several, and the months and hours of the first
 * `detailed` of them. The caller frees. */
cJSON *season_sheet(json_builder *build, const pappus_season_result *result, size_t detailed,
                    pappus_unit_system units);

#endif
