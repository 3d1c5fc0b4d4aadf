/* SPDX-License-Identifier: GPL-3.0-or-later
 * Which instruction set the kernels (src/<folder>/<name>_kernel.c, one source
 * compiled once per set) run with. */
#ifndef PAPPUS_BASE_ISA_H
#define PAPPUS_BASE_ISA_H

#include <stdbool.h>

typedef enum {
    PAPPUS_ISA_GENERIC,
    PAPPUS_ISA_AVX2,
    PAPPUS_ISA_AVX512,
    PAPPUS_ISA_COUNT
} pappus_isa;

#define PAPPUS_ISA_PASTE2(name, isa) name##_##isa
#define PAPPUS_ISA_PASTE(name, isa) PAPPUS_ISA_PASTE2(name, isa)
/** In a kernel file: the name of a function for the set being compiled,
 * `void PAPPUS_KERNEL(pappus_engine_block)(...)` -> pappus_engine_block_avx2. */
#define PAPPUS_KERNEL(name) PAPPUS_ISA_PASTE(name, PAPPUS_ISA)

/** The best set that this processor has, or a lesser one that the environment variable
 * PAPPUS_ISA names (generic, avx2, avx512). Another word there, or a set that the processor
 * lacks, changes nothing. */
pappus_isa pappus_isa_best(void);
const char *pappus_isa_text(pappus_isa isa);

/** Picks the function of a kernel for a set; sets this build lacks fall back to
 * the next lower. */
#ifdef PAPPUS_X86
#define PAPPUS_KERNEL_PICK(name, isa)                                                              \
    ((isa) == PAPPUS_ISA_AVX512 ? name##_avx512                                                    \
     : (isa) == PAPPUS_ISA_AVX2 ? name##_avx2                                                      \
                                : name##_generic)
#else
#define PAPPUS_KERNEL_PICK(name, isa) ((void)(isa), name##_generic)
#endif

#endif
