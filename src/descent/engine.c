/* SPDX-License-Identifier: GPL-3.0-or-later
 * The fast integrator's outside: which compiled set runs, and whether what comes
 * back are numbers. The method stands in engine_kernel.c. */
#include "engine.h"

#include <math.h>

#include "engine_kernel.h"

static int check(size_t count, const pappus_touchdown *found)
{
    for (size_t i = 0; i < count; i++)
        if (!isfinite(found[i].time_s + found[i].east_m + found[i].north_m))
            return PAPPUS_E_NUMERIC;
    return PAPPUS_OK;
}

int pappus_engine_run(pappus_touchdown *out, const pappus_air *air, pappus_isa isa, size_t count,
                      const pappus_fall *falls, const float *u_mps, const float *v_mps)
{
    if (PAPPUS_KERNEL_PICK(pappus_engine_block, isa)(out, air, count, falls, u_mps, v_mps) != 0)
        return PAPPUS_E_NUMERIC;
    return check(count, out);
}

int pappus_engine_run_rows(pappus_touchdown *out, const pappus_air *air, pappus_isa isa,
                           size_t count, size_t rows, const pappus_fall *falls, const float *u_mps,
                           const float *v_mps)
{
    if (PAPPUS_KERNEL_PICK(pappus_engine_rows, isa)(out, air, count, rows, falls, u_mps, v_mps) !=
        0)
        return PAPPUS_E_NUMERIC;
    int status = PAPPUS_OK;
    for (size_t r = 0; r < rows && status == PAPPUS_OK; r++)
        status = check(count, &out[r * PAPPUS_LANES]);
    return status;
}
