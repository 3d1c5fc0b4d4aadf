/* SPDX-License-Identifier: GPL-3.0-or-later
 * Values as people read them. Units: NIST Special Publication 811 (2008), appendix
 * B.8: foot 0.3048 m exactly, mile 1609.344 m, pound 0.45359237 kg, pound-force
 * 4.448222 N, foot pound-force 1.355818 J, acre by the international foot 4046.856
 * m2 (M: from memory); the rest follows from them (X). */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "format.h"
#include "suite.h"

static char out[PAPPUS_REASON_SIZE];

START_TEST(quantities)
{
    static const struct {
        pappus_quantity quantity;
        double si;
        pappus_unit_system units;
        const char *text;
    } rows[] = {
        {PAPPUS_SHOW_HEIGHT, 213.36, PAPPUS_UNITS_US, "700 ft"},
        {PAPPUS_SHOW_HEIGHT, 213.36, PAPPUS_UNITS_SI, "213 m"},
        {PAPPUS_SHOW_DISTANCE, 1236.0 * 0.3048, PAPPUS_UNITS_US, "1240 ft"},
        {PAPPUS_SHOW_DISTANCE, 377.4, PAPPUS_UNITS_SI, "375 m"},
        {PAPPUS_SHOW_WIND, 1609.344 / 3600 * 20, PAPPUS_UNITS_US, "20.0 mph"},
        {PAPPUS_SHOW_WIND, 8.9408, PAPPUS_UNITS_SI, "8.9 m/s"},
        {PAPPUS_SHOW_SPEED, 6.7056, PAPPUS_UNITS_US, "22.0 ft/s"},
        {PAPPUS_SHOW_ENERGY, 101.68634862, PAPPUS_UNITS_US, "75.0 ft lbf"},
        {PAPPUS_SHOW_ENERGY, 101.68634862, PAPPUS_UNITS_SI, "101.7 J"},
        {PAPPUS_SHOW_MASS, 4.5359237, PAPPUS_UNITS_US, "10.00 lb"},
        {PAPPUS_SHOW_FORCE, 889.6443230521, PAPPUS_UNITS_US, "200 lbf"},
        {PAPPUS_SHOW_AREA, 40468.564224, PAPPUS_UNITS_US, "10.0 acre"},
        {PAPPUS_SHOW_AREA, 12345, PAPPUS_UNITS_SI, "1.23 ha"},
        {PAPPUS_SHOW_DIAMETER, 2.4384, PAPPUS_UNITS_US, "96.0 inch"},
        {PAPPUS_SHOW_DISTANCE, -0.4, PAPPUS_UNITS_US, "0 ft"},
        {PAPPUS_SHOW_HEIGHT, NAN, PAPPUS_UNITS_US, "not known"},
        {PAPPUS_SHOW_HEIGHT, INFINITY, PAPPUS_UNITS_US, "not known"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        pappus_format(out, sizeof out, rows[i].quantity, rows[i].si, rows[i].units);
        ck_assert_str_eq(out, rows[i].text);
    }
    pappus_format_range(out, sizeof out, PAPPUS_SHOW_TIME, 81.6, 108.2, PAPPUS_UNITS_US);
    ck_assert_str_eq(out, "82 to 108 s");
}
END_TEST

/* A bound on what is allowed is never rounded up, and not down when it is on a step. */
START_TEST(bounds_are_rounded_down)
{
    pappus_format_down(out, sizeof out, PAPPUS_SHOW_WIND, 14.99 * 0.44704, PAPPUS_UNITS_US);
    ck_assert_str_eq(out, "14.9 mph");
    for (int i = 1; i < 300; i++) {
        char expected[32];
        snprintf(expected, sizeof expected, "%d.%d mph", i / 10, i % 10);
        pappus_format_down(out, sizeof out, PAPPUS_SHOW_WIND, i / 10.0 * 0.44704, PAPPUS_UNITS_US);
        ck_assert_str_eq(out, expected);
    }
}
END_TEST

START_TEST(chances)
{
    static const struct {
        double chance;
        const char *text;
    } rows[] = {{0, "0 %"},
                {1, "100 %"},
                {0.95, "95 %"},
                {0.981, "98.1 %"},
                {0.9812, "98.1 %"},
                {0.9934, "99.34 %"},
                {0.0213, "2.1 %"},
                {0.00412, "0.41 %"},
                {0.00004, "0.004 %"},
                {6.6e-6, "0.00066 %"},
                {1e-7, "0.00001 %"},
                {1e-10, "under 0.0000001 %"},
                {0.9999999, "over 99.99 %"},
                {NAN, "not known"},
                {0.5, "50 %"}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
        ck_assert_str_eq(pappus_format_chance(out, sizeof out, rows[i].chance), rows[i].text);
}
END_TEST

START_TEST(directions)
{
    static const struct {
        double bearing;
        const char *point;
    } rows[] = {{0, "N"},       {11.2, "N"},  {11.3, "NNE"}, {45, "NE"}, {90, "E"},  {240, "WSW"},
                {348.7, "NNW"}, {348.8, "N"}, {360, "N"},    {-90, "W"}, {725, "N"}, {NAN, ""}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
        ck_assert_str_eq(pappus_compass_point(rows[i].bearing), rows[i].point);
    ck_assert_double_eq_tol(pappus_bearing_of(1, 0), 90, 1e-12);
    ck_assert_double_eq_tol(pappus_bearing_of(-1, -1), 225, 1e-12);
    ck_assert_double_eq_tol(pappus_bearing_of(0, -3), 180, 1e-12);
    ck_assert_str_eq(pappus_format_bearing(out, sizeof out, 359.7, NAN), "0 deg");
    /* magnetic = true - declination, east positive */
    ck_assert_str_eq(pappus_format_bearing(out, sizeof out, 2, 3), "2 deg true (359 magnetic)");
    ck_assert_str_eq(pappus_format_position(out, sizeof out, 43.567204, -116.211296),
                     "43.56720, -116.21130");
}
END_TEST

START_TEST(reasons)
{
    static const struct {
        pappus_reason reason;
        const char *text;
    } rows[] = {
        {{PAPPUS_LIMIT_INSIDE_FIELD, NULL, {0.873, 0.869, 0.877}, 0.95, true, PAPPUS_BROKEN, {0}},
         "lands inside the field 87.3 % (86.9 to 87.7), at least 95 %"},
        {{PAPPUS_LIMIT_KEEP_OUT, "road", {0.0213, 0.0199, 0.0228}, 0.01, false, PAPPUS_BROKEN, {0}},
         "lands on a keep-out area 2.1 % (2.0 to 2.3), at most 1 %: road"},
        {{PAPPUS_LIMIT_SURFACE_WIND, NULL, {5.36448, NAN, NAN}, 8.9408, false, PAPPUS_MET, {0}},
         "surface wind 12.0 mph, at most 20 mph"},
        {{PAPPUS_LIMIT_INSIDE_FIELD,
          NULL,
          {NAN, NAN, NAN},
          0.95,
          true,
          PAPPUS_UNDECIDED,
          {PAPPUS_CAVEAT_NO_FIELD, 0, 0}},
         "lands inside the field not known, at least 95 %: no field given"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
        ck_assert_str_eq(pappus_format_reason(out, sizeof out, &rows[i].reason, PAPPUS_UNITS_US),
                         rows[i].text);
}
END_TEST

/* A value off its bound never reads the same as its bound. */
START_TEST(a_miss_by_a_hair_shows)
{
    pappus_reason reason = {
        PAPPUS_LIMIT_INSIDE_FIELD, NULL, {0.94996, NAN, NAN}, 0.95, true, PAPPUS_BROKEN, {0}};
    pappus_format_reason(out, sizeof out, &reason, PAPPUS_UNITS_US);
    ck_assert_str_eq(out, "lands inside the field 94.996 %, at least 95 %");
    reason = (pappus_reason){
        PAPPUS_LIMIT_SURFACE_WIND, NULL, {8.9413, NAN, NAN}, 8.9408, false, PAPPUS_BROKEN, {0}};
    pappus_format_reason(out, sizeof out, &reason, PAPPUS_UNITS_US);
    ck_assert_str_eq(out, "surface wind 20.001 mph, at most 20 mph");
}
END_TEST

START_TEST(use_of_a_bound)
{
    pappus_reason reason = {
        PAPPUS_LIMIT_INSIDE_FIELD, NULL, {0.9, NAN, NAN}, 0.95, true, PAPPUS_BROKEN, {0}};
    ck_assert_double_eq_tol(pappus_reason_use(&reason), 2, 1e-9); /* (1 - .9) / (1 - .95) */
    reason.limit = PAPPUS_LIMIT_MAIN_HEIGHT;
    reason.value.value = 200;
    reason.bound = 100;
    ck_assert_double_eq_tol(pappus_reason_use(&reason), 0.5, 1e-12);
    reason.at_least = false;
    ck_assert_double_eq_tol(pappus_reason_use(&reason), 2, 1e-12);
    reason.bound = 0;
    ck_assert(isinf(pappus_reason_use(&reason)));
}
END_TEST

START_TEST(long_text_is_cut_at_a_character)
{
    char name[2001];
    for (size_t i = 0; i < 1000; i++)
        memcpy(name + 2 * i, "\xC3\xA9", 3);
    pappus_reason reason = {PAPPUS_LIMIT_KEEP_OUT,
                            name,
                            {0.02, NAN, NAN},
                            0.01,
                            false,
                            PAPPUS_BROKEN,
                            {PAPPUS_CAVEAT_UNOPENED, 3, 1000}};
    for (size_t size = 40; size < 60; size++) {
        pappus_format_reason(out, size, &reason, PAPPUS_UNITS_US);
        ck_assert_uint_lt(strlen(out), size);
        char *clean = pappus_text_clean(out);
        ck_assert_str_eq(clean, out);
        free(clean);
    }
}
END_TEST

/* 213.06 m is 699.02 ft, 213.36 m 700 ft; 213.33 m is 699.9 ft: as 700 ft it would read the
 * same as what it differs from. */
START_TEST(what_differs_reads_apart)
{
    char first[PAPPUS_TEXT_SIZE], second[PAPPUS_TEXT_SIZE];
    pappus_format_apart(first, second, PAPPUS_SHOW_HEIGHT, 213.36, 213.06, PAPPUS_UNITS_US);
    ck_assert_str_eq(first, "700 ft");
    ck_assert_str_eq(second, "699 ft");
    pappus_format_apart(first, second, PAPPUS_SHOW_HEIGHT, 213.36, 213.33, PAPPUS_UNITS_US);
    ck_assert_str_eq(first, "700.0 ft");
    ck_assert_str_eq(second, "699.9 ft");
    pappus_format_apart(first, second, PAPPUS_SHOW_HEIGHT, 213.36, NAN, PAPPUS_UNITS_US);
    ck_assert_str_eq(first, "700 ft");
    ck_assert_str_eq(second, "not known");
}
END_TEST

START_TEST(what_turns_the_ceiling)
{
    pappus_plan plan = {.wind = {.has_surface = true, .surface.speed_mps = 4.0, .gust_mps = NAN}};
    pappus_ceiling_row row = {.turns_limit = PAPPUS_LIMIT_NONE};
    ck_assert_str_eq(pappus_format_turn(out, sizeof out, &plan, &row), "none");
    row.turns_limit = PAPPUS_LIMIT_SURFACE_WIND;
    ck_assert_str_eq(pappus_format_turn(out, sizeof out, &plan, &row), "surface wind");
    plan.wind.gust_mps = 4.0; /* no more than the wind itself */
    ck_assert_str_eq(pappus_format_turn(out, sizeof out, &plan, &row), "surface wind");
    plan.wind.gust_mps = 6.0;
    ck_assert_str_eq(pappus_format_turn(out, sizeof out, &plan, &row), "surface wind, its gusts");
    row.turns_limit = PAPPUS_LIMIT_KEEP_OUT;
    row.turns_name = (char *)(uintptr_t) "caf\xC3\xA9";
    ck_assert_str_eq(pappus_format_turn(out, sizeof out, &plan, &row),
                     "keep-out area, caf\xC3\xA9");
    ck_assert_str_eq(pappus_format_turn(out, 20, &plan, &row), "keep-out area, caf");
}
END_TEST

/* RFC 3629: overlong forms, surrogates and what is above U+10FFFF are no UTF-8. */
START_TEST(text_is_cleaned)
{
    static const struct {
        const char *raw, *clean;
    } rows[] = {{"plain \xC3\xA9 \xF0\x9F\x9A\x80\n\t", "plain \xC3\xA9 \xF0\x9F\x9A\x80\n\t"},
                {"\x01", "\xEF\xBF\xBD"},
                {"a\xFF", "a\xEF\xBF\xBD"},
                {"\xC0\xAF", "\xEF\xBF\xBD\xEF\xBF\xBD"},
                {"\xE0\x80\xAF", "\xEF\xBF\xBD\xEF\xBF\xBD\xEF\xBF\xBD"},
                {"\xF4\x90\x80\x80", "\xEF\xBF\xBD\xEF\xBF\xBD\xEF\xBF\xBD\xEF\xBF\xBD"},
                {"\xC3", "\xEF\xBF\xBD"},
                {"", ""}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        char *clean = pappus_text_clean(rows[i].raw);
        ck_assert_str_eq(clean, rows[i].clean);
        free(clean);
    }
}
END_TEST

SUITE("format")
{
    tcase_add_test(tests, quantities);
    tcase_add_test(tests, bounds_are_rounded_down);
    tcase_add_test(tests, chances);
    tcase_add_test(tests, directions);
    tcase_add_test(tests, reasons);
    tcase_add_test(tests, a_miss_by_a_hair_shows);
    tcase_add_test(tests, use_of_a_bound);
    tcase_add_test(tests, long_text_is_cut_at_a_character);
    tcase_add_test(tests, what_differs_reads_apart);
    tcase_add_test(tests, what_turns_the_ceiling);
    tcase_add_test(tests, text_is_cleaned);
}
