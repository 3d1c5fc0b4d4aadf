/* SPDX-License-Identifier: GPL-3.0-or-later
 * Values of a part, each looked at before it is believed. */
#ifndef PAPPUS_INPUT_PART_VALUE_H
#define PAPPUS_INPUT_PART_VALUE_H

#include "part.h"

#include <cjson/cJSON.h>

#define MOST_DAYS 4e9

const cJSON *part_item(const cJSON *from, const char *key);
bool part_whole(size_t *out, const cJSON *value, double most);
/** NaN for null. */
bool part_number(double *out, const cJSON *value);
/** A copy; NULL for null, where that may be. False when it is no text or memory is out. */
bool part_text(char **out, const cJSON *value, bool may_be_null);
bool part_truth(bool *out, const cJSON *value);

#endif
