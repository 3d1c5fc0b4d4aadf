/* SPDX-License-Identifier: GPL-3.0-or-later
 * The compiled sets of engine_kernel.c. */
#ifndef PAPPUS_DESCENT_ENGINE_KERNEL_H
#define PAPPUS_DESCENT_ENGINE_KERNEL_H

#include "fall.h"
#include "isa.h"

/** Brings down the falls of one block (see pappus_engine_run, pappus_engine_run_rows). 0, or 1 when
 * the step limit is reached. */
#define PAPPUS_ENGINE_KERNEL(isa)                                                                  \
    int pappus_engine_block_##isa(pappus_touchdown *out, const pappus_air *air, size_t count,      \
                                  const pappus_fall *falls, const float *u_mps,                    \
                                  const float *v_mps);                                             \
    int pappus_engine_rows_##isa(pappus_touchdown *out, const pappus_air *air, size_t count,       \
                                 size_t rows, const pappus_fall *falls, const float *u_mps,        \
                                 const float *v_mps);
PAPPUS_ENGINE_KERNEL(generic)
#ifdef PAPPUS_X86
PAPPUS_ENGINE_KERNEL(avx2)
PAPPUS_ENGINE_KERNEL(avx512)
#endif

#endif
