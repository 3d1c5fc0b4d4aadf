/* SPDX-License-Identifier: GPL-3.0-or-later
 * The zones of summary.json. */
#ifndef PAPPUS_OUTPUT_SUMMARY_ZONES_H
#define PAPPUS_OUTPUT_SUMMARY_ZONES_H

#include "json_build.h"

/** Adds "all" and "outcomes". */
void summary_add_zones(json_builder *build, cJSON *root, const pappus_answer *answer);
/** An object with value, low, high; null where the value is NaN. */
void summary_add_estimate(json_builder *build, cJSON *to, const char *key,
                          pappus_estimate estimate);
/** The three into an object. */
void summary_put_estimate(json_builder *build, cJSON *to, pappus_estimate estimate);

#endif
