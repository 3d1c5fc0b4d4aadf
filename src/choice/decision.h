/* SPDX-License-Identifier: GPL-3.0-or-later
 * The rule that every limit is judged by. */
#ifndef PAPPUS_CHOICE_DECISION_H
#define PAPPUS_CHOICE_DECISION_H

#include <pappus/choice.h>

/** met when the whole interval keeps the bound, broken when the whole interval
 * breaks it, else (and when anything is NaN) undecided. at_least: the bound is kept
 * by values >= bound, else by values <= bound. */
pappus_verdict pappus_verdict_of(const pappus_estimate *interval, double bound, bool at_least);

#endif
