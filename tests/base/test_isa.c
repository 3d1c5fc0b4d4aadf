/* SPDX-License-Identifier: GPL-3.0-or-later
 * The environment's choice of an instruction set: a lesser one is taken, one that the processor
 * lacks or a word that is none changes nothing. */
#include "isa.h"

#include <stdlib.h>
#include <string.h>

#include "suite.h"

static pappus_isa with(const char *asked)
{
    ck_assert_int_eq(setenv("PAPPUS_ISA", asked, 1), 0);
    pappus_isa isa = pappus_isa_best();
    ck_assert_int_eq(unsetenv("PAPPUS_ISA"), 0);
    return isa;
}

START_TEST(lesser_set_is_taken)
{
    ck_assert_int_eq(unsetenv("PAPPUS_ISA"), 0);
    pappus_isa best = pappus_isa_best();
    for (int isa = 0; isa < PAPPUS_ISA_COUNT; isa++) {
        pappus_isa found = with(pappus_isa_text((pappus_isa)isa));
        ck_assert_int_eq(found, isa < (int)best ? isa : (int)best);
    }
    ck_assert_int_eq(with("avx"), best);
    ck_assert_int_eq(with(""), best);
    ck_assert_int_eq(with("GENERIC"), best);
}
END_TEST

START_TEST(names_are_known)
{
    ck_assert_str_eq(pappus_isa_text(PAPPUS_ISA_GENERIC), "generic");
    ck_assert_str_eq(pappus_isa_text(PAPPUS_ISA_AVX2), "avx2");
    ck_assert_str_eq(pappus_isa_text(PAPPUS_ISA_AVX512), "avx512");
}
END_TEST

SUITE("instruction sets")
{
    tcase_add_test(tests, lesser_set_is_taken);
    tcase_add_test(tests, names_are_known);
}
