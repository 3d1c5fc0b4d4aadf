/* SPDX-License-Identifier: GPL-3.0-or-later
 * Hazard and risk in the summary. */
#ifndef PAPPUS_OUTPUT_SUMMARY_HAZARD_H
#define PAPPUS_OUTPUT_SUMMARY_HAZARD_H

#include "json_build.h"

/** "hazard" and "risk"; null where they were not looked for. */
void summary_add_hazard(json_builder *build, cJSON *root, const pappus_answer *answer);

#endif
