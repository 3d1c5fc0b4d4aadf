/* SPDX-License-Identifier: GPL-3.0-or-later
 * Names of keep-outs are told apart (A: our own rule, a number in brackets). */
#include "area_names.h"
#include "suite.h"

#include <stdio.h>
#include <stdlib.h>

START_TEST(names_are_told_apart)
{
    static const struct {
        const char *name, *expected;
    } cases[] = {
        {"road", "road"},
        {"road", "road (2)"},
        {"road (3)", "road (3)"},
        {"road", "road (4)"},
        {NULL, "keep-out 5"},
        {"keep-out 7", "keep-out 7"},
        {NULL, "keep-out 8"},
        {"road (2)", "road (2) (2)"},
        {"", ""},
        {"", " (2)"},
        {"Road", "Road"},
    };
    area_names names = {0};
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        char *apart = area_name_apart(&names, cases[i].name);
        ck_assert_str_eq(apart, cases[i].expected);
        free(apart);
    }
    area_names_clear(&names);
}
END_TEST

/* Each has the number of its place, however many. */
START_TEST(a_thousand_namesakes)
{
    area_names names = {0};
    char expected[32];
    for (size_t i = 1; i <= 1000; i++) {
        char *apart = area_name_apart(&names, "pond");
        snprintf(expected, sizeof expected, "pond (%zu)", i);
        if (i == 1) expected[4] = 0;
        ck_assert_str_eq(apart, expected);
        free(apart);
    }
    area_names_clear(&names);
}
END_TEST

SUITE("area_names")
{
    tcase_add_test(tests, names_are_told_apart);
    tcase_add_test(tests, a_thousand_namesakes);
}
