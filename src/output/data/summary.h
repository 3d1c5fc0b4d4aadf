/* SPDX-License-Identifier: GPL-3.0-or-later
 * summary.json: the answer as data. */
#ifndef PAPPUS_OUTPUT_SUMMARY_H
#define PAPPUS_OUTPUT_SUMMARY_H

#include "json_build.h"
#include "writer.h"

/** The tree of summary.json; whoever calls frees it. */
cJSON *pappus_summary_tree(json_builder *build, const pappus_answer *answer);
/** "stamp": what the answer rests on. Of the answer its plan, winds and air are looked at. */
void pappus_summary_stamp(json_builder *build, cJSON *root, const pappus_answer *answer);
pappus_writer pappus_write_summary;
/** The same of several parts; output->answer is not looked at. */
int pappus_write_parts_summary(const pappus_output *output, const pappus_answer *const *answers,
                               size_t count, pappus_error *err);

#endif
