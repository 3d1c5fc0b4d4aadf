/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "isa.h"

#include <stdlib.h>
#include <string.h>

static pappus_isa of_processor(void)
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

pappus_isa pappus_isa_best(void)
{
    pappus_isa best = of_processor();
    const char *asked = getenv("PAPPUS_ISA");
    for (int isa = 0; asked && isa < (int)best; isa++)
        if (strcmp(asked, pappus_isa_text((pappus_isa)isa)) == 0) return (pappus_isa)isa;
    return best;
}

const char *pappus_isa_text(pappus_isa isa)
{
    static const char *const texts[] = {"generic", "avx2", "avx512"};
    return texts[isa];
}
