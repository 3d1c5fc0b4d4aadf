/* SPDX-License-Identifier: GPL-3.0-or-later
 * Several answers as the parts of one flight. */
#ifndef PAPPUS_OUTPUT_PARTS_H
#define PAPPUS_OUTPUT_PARTS_H

#include <pappus/output.h>

/** Name of a part, fit for a folder: its plan's file without folder and ".json",
 * numbered when an earlier part has it. The caller frees; NULL when out of memory. */
char *pappus_part_name(const pappus_answer *const *answers, size_t part);

#endif
