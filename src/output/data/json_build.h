/* SPDX-License-Identifier: GPL-3.0-or-later
 * JSON (RFC 8259) built with cJSON: ten significant digits, null for what is not
 * finite or not there. cJSON's adding calls return NULL without memory; the builder
 * remembers that, so that it is asked once, at the end. */
#ifndef PAPPUS_OUTPUT_JSON_BUILD_H
#define PAPPUS_OUTPUT_JSON_BUILD_H

#include <pappus/output.h>

#include <cjson/cJSON.h>

typedef struct {
    bool failed;
} json_builder;

cJSON *json_add_object(json_builder *build, cJSON *to, const char *key);
cJSON *json_add_array(json_builder *build, cJSON *to, const char *key);
cJSON *json_append_object(json_builder *build, cJSON *to);
cJSON *json_append_array(json_builder *build, cJSON *to);
void json_add_null(json_builder *build, cJSON *to, const char *key);
void json_add_bool(json_builder *build, cJSON *to, const char *key, bool value);
void json_add_number(json_builder *build, cJSON *to, const char *key, double value);
void json_append_number(json_builder *build, cJSON *to, double value);
/** Whole numbers are exact up to 2^53. */
void json_add_count(json_builder *build, cJSON *to, const char *key, uint64_t value);
/** NULL becomes null; text that no format can carry is cleaned (format.h). */
void json_add_text(json_builder *build, cJSON *to, const char *key, const char *text);
void json_append_text(json_builder *build, cJSON *to, const char *text);
/** Puts an item of the caller's in place, or frees it. */
void json_add_item(json_builder *build, cJSON *to, const char *key, cJSON *item);

/** Prints `root`, frees it, and hands the text to the caller. */
int json_finish(char **out, json_builder *build, cJSON *root, pappus_error *err);

#endif
