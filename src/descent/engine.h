/* SPDX-License-Identifier: GPL-3.0-or-later
 * The fast integrator: PAPPUS_LANES falls side by side in vector lanes. */
#ifndef PAPPUS_DESCENT_ENGINE_H
#define PAPPUS_DESCENT_ENGINE_H

#include "fall.h"
#include "isa.h"

/** Brings down `count` falls (1 to PAPPUS_LANES): out[count], falls[count].
 * u_mps, v_mps: the wind of the lanes, [node][lane], node_count * PAPPUS_LANES
 * floats whatever the count (unused lanes must hold finite numbers), as
 * pappus_wind_draw fills them.
 *
 * A fall's result is bitwise independent of its neighbours, of its lane and of the
 * instruction set.
 *
 * PAPPUS_E_NUMERIC when a fall does not come down within the step limit or a
 * value stops being finite. */
int pappus_engine_run(pappus_touchdown *out, const pappus_air *air, pappus_isa isa, size_t count,
                      const pappus_fall *falls, const float *u_mps, const float *v_mps);

/** The same for several rows of falls that differ in their trigger heights and delays alone:
 * out[row * PAPPUS_LANES + lane], falls likewise. What comes before the highest trigger of a
 * lane's rows is flown once, then every row goes on from there; the falls are those of
 * pappus_engine_run but for rounding and where steps end. Independent of neighbours too. */
int pappus_engine_run_rows(pappus_touchdown *out, const pappus_air *air, pappus_isa isa,
                           size_t count, size_t rows, const pappus_fall *falls, const float *u_mps,
                           const float *v_mps);

#endif
