/* SPDX-License-Identifier: GPL-3.0-or-later
 * Names that are told apart: each keep-out is a limit of its own. */
#ifndef PAPPUS_INPUT_FIELD_AREA_NAMES_H
#define PAPPUS_INPUT_FIELD_AREA_NAMES_H

#include <stddef.h>

/** Names given so far; {0} to begin with. */
typedef struct {
    void *tree;
    size_t count;
} area_names;

/** The name, a number after it where it was given before, or "keep-out N" where it is NULL.
 * The caller frees; NULL when out of memory. N names cost about N log N. */
char *area_name_apart(area_names *names, const char *name);
void area_names_clear(area_names *names);

#endif
