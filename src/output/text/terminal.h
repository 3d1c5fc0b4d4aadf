/* SPDX-License-Identifier: GPL-3.0-or-later
 * Pages of plain text for a terminal. */
#ifndef PAPPUS_OUTPUT_TERMINAL_H
#define PAPPUS_OUTPUT_TERMINAL_H

#include "writer.h"

/** A page of text for a terminal, written by `write` under the C locale; control characters
 * become spaces, so that no text of a user drives a terminal, lines are kept. The caller
 * frees *out. */
int pappus_terminal_page(char **out, void (*write)(FILE *stream, const void *context),
                         const void *context, pappus_error *err);

#endif
