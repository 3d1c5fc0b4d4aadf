/* SPDX-License-Identifier: GPL-3.0-or-later
 * UTF-8 (RFC 3629): is a text that, is it free of control characters, cut within no
 * character, made harmless for a terminal. Look-alike letters stay what they are. */
#include "utf8.h"

#include <string.h>

/* Bytes of the well-formed sequence at p, 0 when there is none (RFC 3629). */
static size_t utf8_length(const unsigned char *p, size_t left)
{
    size_t n = p[0] < 0x80   ? 1
               : p[0] < 0xC2 ? 0
               : p[0] < 0xE0 ? 2
               : p[0] < 0xF0 ? 3
               : p[0] < 0xF5 ? 4
                             : 0;
    if (n == 0 || n > left) return 0;
    for (size_t i = 1; i < n; i++) {
        if ((p[i] & 0xC0) != 0x80) return 0;
    }
    if (p[0] == 0xE0 && p[1] < 0xA0) return 0; /* longer than needed */
    if (p[0] == 0xED && p[1] > 0x9F) return 0; /* surrogates */
    if (p[0] == 0xF0 && p[1] < 0x90) return 0;
    if (p[0] == 0xF4 && p[1] > 0x8F) return 0; /* above U+10FFFF */
    return n;
}

bool pappus_utf8_is_valid(const char *text, size_t length, size_t *at)
{
    for (size_t i = 0, n; i < length; i += n) {
        n = utf8_length((const unsigned char *)text + i, length - i);
        if (n == 0) {
            *at = i;
            return false;
        }
    }
    return true;
}

bool pappus_text_is_clean(const char *text)
{
    for (const unsigned char *p = (const unsigned char *)text; *p; p++) {
        if (*p < 0x20 || *p == 0x7F) return false;
        if (*p == 0xC2 && p[1] >= 0x80 && p[1] <= 0x9F) return false;
        if (*p == 0xE2 && p[1] == 0x80 && (p[2] == 0xA8 || p[2] == 0xA9)) return false;
        if (*p == 0xEF && p[1] == 0xBF && p[2] >= 0xBE) return false; /* no characters of XML */
    }
    return true;
}

size_t pappus_utf8_cut(const char *text, size_t length, size_t most)
{
    if (length <= most) return length;
    while (most > 0 && ((unsigned char)text[most] & 0xC0) == 0x80)
        most--;
    return most;
}

size_t pappus_text_cut(char *out, size_t size, const char *text)
{
    if (size == 0) return 0;
    size_t length = text ? pappus_utf8_cut(text, strlen(text), size - 1) : 0;
    if (length > 0) memcpy(out, text, length);
    out[length] = '\0';
    return length;
}

/* C0 and C1 controls (ECMA-48; in UTF-8 the latter are 0xC2 0x80 to 0xC2 0x9F) can move the
 * cursor of a terminal or set colours; marks that turn the direction of text (U+202A to
 * U+202E, U+2066 to U+2069) would reorder the words of an answer. */
static size_t control_length(const unsigned char *at)
{
    if (at[0] < 0x20 || at[0] == 0x7F) return 1;
    if (at[0] == 0xC2 && at[1] >= 0x80 && at[1] <= 0x9F) return 2;
    if (at[0] == 0xE2 && at[1] == 0x80 && at[2] >= 0xAA && at[2] <= 0xAE) return 3;
    if (at[0] == 0xE2 && at[1] == 0x81 && at[2] >= 0xA6 && at[2] <= 0xA9) return 3;
    return 0;
}

void pappus_text_tame(char *text, char keep)
{
    char *to = text;
    for (const char *from = text; *from;) {
        size_t length = *from == keep ? 0 : control_length((const unsigned char *)from);
        *to++ = length ? ' ' : *from;
        from += length ? length : 1;
    }
    *to = '\0';
}
