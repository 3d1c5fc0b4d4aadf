/* SPDX-License-Identifier: GPL-3.0-or-later
 * Strict JSON over cJSON, merge patches. */
#ifndef PAPPUS_BASE_JSON_H
#define PAPPUS_BASE_JSON_H

#include <cjson/cJSON.h>
#include <pappus/status.h>

#define PAPPUS_JSON_DEPTH 64

/** Parses JSON (RFC 8259): strict grammar, valid UTF-8, no byte order mark, no
 * \u0000 or lone surrogate, no member name twice in an object, numbers finite,
 * at most PAPPUS_JSON_DEPTH deep. A fault of syntax names line and column; a
 * name given twice its dotted path. status: the code of a fault. *out is the
 * caller's, cJSON_Delete. */
int pappus_json_parse(cJSON **out, const char *text, size_t length, const char *file, int status,
                      pappus_log *log);
/** The same, but hands out the tree also when its only faults are names given twice
 * (the first counts) or numbers not finite, so that a reader can tell more faults at
 * once. The return still says the fault. */
int pappus_json_parse_keep(cJSON **out, const char *text, size_t length, const char *file,
                           int status, pappus_log *log);

/** Lays a merge patch (RFC 7396) over *target, which it may replace. */
int pappus_json_merge(cJSON **target, const cJSON *patch, pappus_error *err);

/** A value as text to read: two blanks deep, what fits in a line of 96 stays in
 * one. The caller frees *out. */
int pappus_json_print(char **out, const cJSON *value, pappus_error *err);

/** A value as text for a message: a string as it stands, others as JSON; cut to
 * size. */
void pappus_json_text(char *out, size_t size, const cJSON *value);

#endif
