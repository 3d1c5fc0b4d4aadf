/* SPDX-License-Identifier: GPL-3.0-or-later
 * Text of others made harmless for a terminal. C0 and C1 controls (ECMA-48; in UTF-8
 * the latter are 0xC2 0x80 to 0xC2 0x9F) can move the cursor or set colours; marks that
 * turn the direction of text (U+202A to U+202E, U+2066 to U+2069) would reorder the
 * words of an answer. Each becomes one blank. Look-alike letters stay what they are. */
#include <pappus/status.h>

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
