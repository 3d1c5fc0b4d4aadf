/* SPDX-License-Identifier: GPL-3.0-or-later
 * Why a landing was where it was. */
#ifndef PAPPUS_FLIGHT_EXPLAIN_H
#define PAPPUS_FLIGHT_EXPLAIN_H

#include <pappus/debrief.h>
#include <pappus/givens.h>

/** Fills the causes of a flight whose log, landing and offset are there. A plan whose central
 * flight cannot be computed leaves it unexplained; PAPPUS_E_MEMORY. */
int pappus_explain(pappus_debriefed *out, const pappus_givens *given, pappus_error *err);
/** Fills the shares of what was expected that were less. cloud: all landings. */
void pappus_shares_find(pappus_debriefed *out, const pappus_plan *plan, const pappus_cloud *cloud);

#endif
