/* SPDX-License-Identifier: GPL-3.0-or-later
 * UTF-8: checks and cuts. pappus_text_tame is in pappus/status.h. */
#ifndef PAPPUS_BASE_UTF8_H
#define PAPPUS_BASE_UTF8_H

#include <pappus/status.h>

/** True when the text is well-formed UTF-8 (RFC 3629); else *at is the offset of
 * the first byte that is not. */
bool pappus_utf8_is_valid(const char *text, size_t length, size_t *at);
/** True when a terminated text has no control characters: C0, DEL, C1, and the
 * line and paragraph separators U+2028 and U+2029, U+FFFE and U+FFFF. */
bool pappus_text_is_clean(const char *text);
/** The greatest length up to `most` at which a text of `length` bytes is not cut within a
 * character. */
size_t pappus_utf8_cut(const char *text, size_t length, size_t most);
/** Copies text into out[size], cut at a UTF-8 boundary, always terminated.
 * Returns the length written. */
size_t pappus_text_cut(char *out, size_t size, const char *text);

#endif
