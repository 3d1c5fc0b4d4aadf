/* SPDX-License-Identifier: GPL-3.0-or-later
 * Heights of levels that have a pressure alone. */
#include "suite.h"
#include "wind_hydrostatic.h"

#include <math.h>

/* 1976 standard atmosphere, geometric km, K, Pa (C: SOURCES 4, Public Domain Aeronautical
 * Software SI table): heights come out as geopotential ones, 1 m lower at 3 km. */
static pappus_wind_raw level(double height_m, double temperature_k, double pressure_pa)
{
    pappus_wind_raw raw = pappus_wind_raw_empty(1, PAPPUS_HEIGHT_MSL_GEOPOTENTIAL);
    raw.height_m = height_m;
    raw.temperature_k = temperature_k;
    raw.pressure_pa = pressure_pa;
    return raw;
}

START_TEST(test_between_and_below)
{
    pappus_wind_raw levels[] = {level(1000, 281.7, 89876), level(3000, 268.7, 70121),
                                level(NAN, NAN, 79501),    level(NAN, 288.1, 101325),
                                level(NAN, NAN, 61660),    level(NAN, NAN, 35651)};
    ck_assert_uint_eq(pappus_wind_fill_heights(levels, 6), 4 - 1);
    ck_assert_double_eq_tol(levels[2].height_m, 2000.0, 15.0);
    ck_assert_double_eq_tol(levels[3].height_m, 0.0, 3.0);
    ck_assert_double_eq_tol(levels[4].height_m, 4000.0, 15.0);
    ck_assert(isnan(levels[5].height_m)); /* 7.5 km is too far from 3 km */
}
END_TEST

START_TEST(test_nothing_to_go_by)
{
    pappus_wind_raw levels[] = {level(NAN, 281.7, 89876), level(3000, 268.7, NAN)};
    ck_assert_uint_eq(pappus_wind_fill_heights(levels, 2), 0);
    ck_assert(isnan(levels[0].height_m));
}
END_TEST

SUITE("wind_hydrostatic")
{
    tcase_add_test(tests, test_between_and_below);
    tcase_add_test(tests, test_nothing_to_go_by);
}
