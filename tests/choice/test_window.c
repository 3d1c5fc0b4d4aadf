/* SPDX-License-Identifier: GPL-3.0-or-later
 * Which hour of a window is named, and the stretch about it: rows by hand. */
#include "suite.h"
#include "uncertain.h"

#include <pappus/pappus.h>

#include <math.h>

#define HOURS 6

/* '-' cannot be judged, 'n' no-go, 'u' undecided, else go; what each uses up. */
static const struct {
    const char *hours;
    double use[HOURS];
    bool go;
    size_t best, first, last;
} cases[] = {
    {"ggnggg", {0.9, 0.3, 9, 0.5, 0.4, 0.8}, true, 1, 0, 1},
    {"ggnggg", {0.9, 0.6, 9, 0.5, 0.4, 0.8}, true, 4, 3, 5},
    {"gugn-g", {0.9, 0.1, 0.5, 0.2, NAN, 0.6}, true, 2, 2, 2},
    {"gg-ggg", {0.4, 0.4, NAN, 0.4, 0.4, 0.4}, true, 0, 0, 1}, /* alike: the first */
    {"nnu-nn", {2, 2, 1, NAN, 2, 2}, false, 0, 0, 0},
    {"gggggg", {NAN, 0.4, 0.4, 0.4, 0.4, 0.4}, true, 0, 0, 5}, /* no limits: nothing used */
};

START_TEST(the_best_hour_and_its_stretch)
{
    static char why[] = "no wind";
    pappus_window_hour hours[HOURS];
    pappus_window window = {.hour_count = HOURS, .hours = hours};
    for (size_t i = 0; i < HOURS; i++) {
        char c = cases[_i].hours[i];
        hours[i] = (pappus_window_hour){.why = c == '-' ? why : NULL,
                                        .decision = c == 'n'   ? PAPPUS_NO_GO
                                                    : c == 'u' ? PAPPUS_NOT_DECIDED
                                                               : PAPPUS_GO,
                                        .wind_use = cases[_i].use[i]};
    }
    pappus_window_choose(&window);
    ck_assert_int_eq(window.go, cases[_i].go);
    ck_assert_uint_eq(window.best, cases[_i].best);
    ck_assert_uint_eq(window.first, cases[_i].first);
    ck_assert_uint_eq(window.last, cases[_i].last);
}
END_TEST

SUITE("window")
{
    tcase_add_loop_test(tests, the_best_hour_and_its_stretch, 0,
                        (int)(sizeof cases / sizeof *cases));
}
