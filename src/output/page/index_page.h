/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PAPPUS_OUTPUT_INDEX_PAGE_H
#define PAPPUS_OUTPUT_INDEX_PAGE_H

#include "writer.h"

/** index.html and map.svg of several answers, beside their folders. */
int pappus_write_index(const pappus_output *output, const pappus_answer *const *answers,
                       size_t count, pappus_error *err);

#endif
