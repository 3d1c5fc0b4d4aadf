/* SPDX-License-Identifier: GPL-3.0-or-later
 * The rule that every limit is judged by, and judging a cloud whose landings are counted
 * but whose zones are not wanted. */
#ifndef PAPPUS_CHOICE_DECISION_H
#define PAPPUS_CHOICE_DECISION_H

#include <pappus/choice.h>

#include "hits.h"

/** met when the whole interval keeps the bound, broken when the whole interval
 * breaks it, else (and when anything is NaN) undecided. at_least: the bound is kept
 * by values >= bound, else by values <= bound. */
pappus_verdict pappus_verdict_of(const pappus_estimate *interval, double bound, bool at_least);

/** pappus_judge by the counts alone. field: names of the keep-outs; NULL when hits has none. */
int pappus_judge_hits(pappus_judgement **out, const pappus_plan *plan, const pappus_field *field,
                      const pappus_air *air, const pappus_cloud *cloud, const pappus_hits *hits,
                      double decide_confidence, pappus_error *err);

#endif
