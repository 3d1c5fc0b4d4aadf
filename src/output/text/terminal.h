/* SPDX-License-Identifier: GPL-3.0-or-later
 * Answers as lines of plain text, for a terminal 78 columns wide. */
#ifndef PAPPUS_OUTPUT_TERMINAL_H
#define PAPPUS_OUTPUT_TERMINAL_H

#include "writer.h"

#define PAPPUS_COLUMNS 78

/** Prints one line, cut with "..." when it is wider than the terminal; control
 * characters in it become spaces, so that no text of a user drives a terminal. */
void pappus_line(pappus_text *text, const char *format, ...) __attribute__((format(printf, 2, 3)));

/** A page of text for a terminal, written by `write` under the C locale; the same care
 * for control characters, lines kept. The caller frees *out. */
int pappus_terminal_page(char **out, void (*write)(FILE *stream, const void *context),
                         const void *context, pappus_error *err);

#endif
