/* SPDX-License-Identifier: GPL-3.0-or-later
 * The files of one run of a model. */
#ifndef PAPPUS_INPUT_WIND_RUNS_H
#define PAPPUS_INPUT_WIND_RUNS_H

#include <pappus/winds.h>

/** Joins gridded profiles of one run, time and member, which come in several files (near the
 * ground in one, pressure levels in another), to one each. PAPPUS_E_MEMORY with nothing lost. */
int pappus_winds_join_files(pappus_winds *winds);

#endif
