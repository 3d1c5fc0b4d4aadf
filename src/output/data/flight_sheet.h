/* SPDX-License-Identifier: GPL-3.0-or-later
 * Several answers side by side, as a sheet. */
#ifndef PAPPUS_OUTPUT_FLIGHT_SHEET_H
#define PAPPUS_OUTPUT_FLIGHT_SHEET_H

#include "sheet.h"

/** The parts of one flight, worst first said, or alternatives of which one is flown. Call
 * under the C locale; free with cJSON_Delete. NULL: err tells. */
cJSON *flight_sheet(json_builder *build, const pappus_answer *const *answers, size_t count,
                    bool alternatives, pappus_unit_system units, pappus_error *err);

#endif
