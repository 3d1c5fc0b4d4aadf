/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "isa.h"

pappus_isa pappus_isa_best(void)
{
#ifdef PAPPUS_X86
    __builtin_cpu_init();
    if (__builtin_cpu_supports("avx512f") && __builtin_cpu_supports("avx512dq") &&
        __builtin_cpu_supports("avx512bw") && __builtin_cpu_supports("avx512vl"))
        return PAPPUS_ISA_AVX512;
    if (__builtin_cpu_supports("avx2") && __builtin_cpu_supports("fma")) return PAPPUS_ISA_AVX2;
#endif
    return PAPPUS_ISA_GENERIC;
}

const char *pappus_isa_text(pappus_isa isa)
{
    static const char *const texts[] = {"generic", "avx2", "avx512"};
    return texts[isa];
}
