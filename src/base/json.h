/* SPDX-License-Identifier: GPL-3.0-or-later
 * Strict JSON over cJSON, files as text, merge patches. */
#ifndef PAPPUS_BASE_JSON_H
#define PAPPUS_BASE_JSON_H

#include <cjson/cJSON.h>
#include <pappus/status.h>

#define PAPPUS_JSON_DEPTH 64
#define PAPPUS_TEXT_FILE_LIMIT ((size_t)64 << 20)

/** Reads a whole file of at most `limit` bytes into a terminated buffer (the
 * caller's to free). status: the code of a fault, as PAPPUS_E_PLAN. Missing,
 * unreadable, a directory, empty, too large: each said as it is. */
int pappus_file_read(char **out, size_t *length, const char *path, size_t limit, int status,
                     pappus_error *err);

/** True when the text is well-formed UTF-8 (RFC 3629); else *at is the offset of
 * the first byte that is not. */
bool pappus_utf8_is_valid(const char *text, size_t length, size_t *at);
/** True when a terminated text has no control characters: C0, DEL, C1, and the
 * line and paragraph separators U+2028 and U+2029, U+FFFE and U+FFFF. */
bool pappus_text_is_clean(const char *text);

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
