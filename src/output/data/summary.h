/* SPDX-License-Identifier: GPL-3.0-or-later
 * summary.json: the answer as data. */
#ifndef PAPPUS_OUTPUT_SUMMARY_H
#define PAPPUS_OUTPUT_SUMMARY_H

#include "writer.h"

pappus_writer pappus_write_summary;
/** The same of several parts; output->answer is not looked at. */
int pappus_write_parts_summary(const pappus_output *output, const pappus_answer *const *answers,
                               size_t count, pappus_error *err);

#endif
