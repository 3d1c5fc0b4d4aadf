/* SPDX-License-Identifier: GPL-3.0-or-later
 * How the landings are shared out among the outcomes, and several clouds on the
 * same draws. */
#ifndef PAPPUS_DESCENT_SCATTER_H
#define PAPPUS_DESCENT_SCATTER_H

#include <pappus/landings.h>

/** Landings per outcome. Each outcome with a chance gets its share of run.landings,
 * but at least stratum_minimum; the likeliest outcome gives up what the others gain, so
 * that all together are run.landings, as far as the minima allow. With
 * nominal_only, all are nominal. */
void pappus_scatter_shares(size_t out[PAPPUS_OUTCOMES], const double probability[PAPPUS_OUTCOMES],
                           const pappus_scatter_options *options);

/** pappus_scatter at several shifts of the main heights, clouds[count] beside
 * main_shift_m[count] (options->main_shift_m is not looked at): the same winds,
 * canopies and apogees, drawn once. Each cloud is what pappus_scatter gives. */
int pappus_scatter_shifts(pappus_cloud **clouds, size_t count, const double *main_shift_m,
                          const pappus_plan *plan, const pappus_air *air,
                          const pappus_scatter_options *options, pappus_error *err);

#endif
