/* SPDX-License-Identifier: GPL-3.0-or-later
 * Sections of GRIB octet by octet, numbered as in the WMO Manual on Codes (WMO-No. 306, volume
 * I.2; from memory), and places on grids whose points are published. */
#include "grib_grid.h"
#include "grib_sections.h"

#include "suite.h"
#include "test_folder.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define APRIL_17 1807920000.0 /* 2027-04-17T00:00Z, by `date` */

static void put(unsigned char *section, size_t first, size_t octets, uint32_t value)
{
    for (size_t i = 0; i < octets; i++)
        section[first - 1 + i] = (unsigned char)(value >> 8 * (octets - 1 - i));
}

/* ------------------------------------------------------------------- edition 2 */

/* u at 500 hPa, 6 h ahead. */
static void product2(unsigned char section[64], int template)
{
    memset(section, 0, 64);
    put(section, 8, 2, (uint32_t) template);
    put(section, 10, 1, 2);
    put(section, 11, 1, 2);
    put(section, 18, 1, 1); /* hours */
    put(section, 19, 4, 6);
    put(section, 23, 1, 100);
    put(section, 25, 4, 50000);
    put(section, 29, 1, 255);
}

static pappus_grib_field read2(const unsigned char section[64])
{
    pappus_grib_field field;
    ck_assert(pappus_grib2_product(&field, 0, APRIL_17, section, 64));
    return field;
}

START_TEST(a_product_of_edition_2)
{
    unsigned char section[64];
    product2(section, 0);
    pappus_grib_field field = read2(section);
    ck_assert_int_eq(field.element, PAPPUS_GRIB_U);
    ck_assert_int_eq(field.level_kind, PAPPUS_GRIB_ISOBARIC);
    ck_assert_double_eq(field.level, 50000.0);
    ck_assert_double_eq(field.valid_utc_s, APRIL_17 + 6 * 3600);
    ck_assert_int_eq(field.member, -1);
    ck_assert(field.instant);
    put(section, 24, 1, 0x82); /* a scale factor of -2: hPa */
    put(section, 25, 4, 500);
    ck_assert_double_eq_tol(read2(section).level, 50000.0, 1e-6);
    put(section, 18, 1, 0); /* minutes, some before */
    put(section, 19, 4, 0x80000000u | 30);
    ck_assert_double_eq(read2(section).valid_utc_s, APRIL_17 - 1800);
    put(section, 18, 1, 99);
    ck_assert(isnan(read2(section).valid_utc_s));
    pappus_grib_field other;
    ck_assert(pappus_grib2_product(&other, 10, APRIL_17, section, 64)); /* of the sea */
    ck_assert_int_eq(other.element, PAPPUS_GRIB_OTHER);
    ck_assert(!pappus_grib2_product(&other, 0, APRIL_17, section, 33));
}
END_TEST

START_TEST(parameters_and_levels_of_edition_2)
{
    /* code tables 4.2.0 and 4.5 */
    static const struct {
        uint32_t category, number;
        pappus_grib_element element;
    } parameters[] = {{0, 0, PAPPUS_GRIB_TEMPERATURE},
                      {2, 2, PAPPUS_GRIB_U},
                      {2, 3, PAPPUS_GRIB_V},
                      {3, 5, PAPPUS_GRIB_HEIGHT},
                      {3, 4, PAPPUS_GRIB_GEOPOTENTIAL},
                      {2, 22, PAPPUS_GRIB_GUST},
                      {2, 8, PAPPUS_GRIB_OTHER},
                      {0, 6, PAPPUS_GRIB_OTHER}};
    static const struct {
        uint32_t type;
        pappus_grib_level kind;
    } levels[] = {{100, PAPPUS_GRIB_ISOBARIC}, {103, PAPPUS_GRIB_ABOVE_GROUND},
                  {1, PAPPUS_GRIB_SURFACE},    {105, PAPPUS_GRIB_NO_LEVEL},
                  {102, PAPPUS_GRIB_NO_LEVEL}, {118, PAPPUS_GRIB_NO_LEVEL}};
    unsigned char section[64];
    for (size_t i = 0; i < sizeof parameters / sizeof *parameters; i++) {
        product2(section, 0);
        put(section, 10, 1, parameters[i].category);
        put(section, 11, 1, parameters[i].number);
        ck_assert_int_eq(read2(section).element, parameters[i].element);
    }
    for (size_t i = 0; i < sizeof levels / sizeof *levels; i++) {
        product2(section, 0);
        put(section, 23, 1, levels[i].type);
        ck_assert_int_eq(read2(section).level_kind, levels[i].kind);
    }
    product2(section, 0); /* a surface has no value: all bits of it set */
    put(section, 23, 1, 1);
    put(section, 24, 1, 255);
    put(section, 25, 4, UINT32_MAX);
    ck_assert_double_eq(read2(section).level, 0.0);
    product2(section, 0); /* from 500 to 300 hPa; and twice the same */
    put(section, 29, 1, 100);
    put(section, 31, 4, 30000);
    ck_assert_int_eq(read2(section).level_kind, PAPPUS_GRIB_NO_LEVEL);
    put(section, 31, 4, 50000);
    ck_assert_int_eq(read2(section).level_kind, PAPPUS_GRIB_ISOBARIC);
}
END_TEST

START_TEST(members_and_spans_of_edition_2)
{
    unsigned char section[64];
    product2(section, 1);
    put(section, 35, 1, 3);
    put(section, 36, 1, 12);
    ck_assert_int_eq(read2(section).member, 12);
    put(section, 35, 1, 2); /* the negative one of a pair */
    ck_assert_int_eq(read2(section).member, 12 + PAPPUS_GRIB_PAIR_OFFSET);
    for (int member = 0; member < 2; member++) {
        size_t end = member ? 38 : 35;
        product2(section, member ? 11 : 8);
        put(section, 11, 1, 22);
        put(section, end, 2, 2027);
        put(section, end + 2, 1, 4);
        put(section, end + 3, 1, 17);
        put(section, end + 4, 1, 7);
        put(section, end + 12, 1, 2); /* the greatest */
        ck_assert(read2(section).instant);
        ck_assert_double_eq(read2(section).valid_utc_s, APRIL_17 + 7 * 3600);
        put(section, end + 12, 1, 0); /* the mean */
        ck_assert(!read2(section).instant);
        put(section, end + 12, 1, 2);
        put(section, 11, 1, 2); /* the greatest u is no wind */
        ck_assert(!read2(section).instant);
    }
    for (int template = 2; template <8; template ++) { /* spreads, probabilities ... */
        product2(section, template);
        ck_assert(!read2(section).instant);
    }
}
END_TEST

/* ------------------------------------------------------------------- edition 1 */

static pappus_grib_field read1(const unsigned char section[64], size_t length)
{
    pappus_grib_field field;
    ck_assert(pappus_grib1_product(&field, section, length));
    return field;
}

static void product1(unsigned char section[64], uint32_t centre, uint32_t table, uint32_t parameter)
{
    memset(section, 0, 64);
    put(section, 4, 1, table);
    put(section, 5, 1, centre);
    put(section, 9, 1, parameter);
    put(section, 10, 1, 100);
    put(section, 11, 2, 500);
    put(section, 13, 1, 27); /* of the century 21 */
    put(section, 14, 1, 4);
    put(section, 15, 1, 17);
    put(section, 18, 1, 1);
    put(section, 19, 1, 6);
    put(section, 25, 1, 21);
}

START_TEST(products_of_edition_1)
{
    static const struct {
        uint32_t centre, table, parameter;
        pappus_grib_element element;
        double level; /* of the level 500 hPa */
    } cases[] = {{7, 2, 33, PAPPUS_GRIB_U, 50000},
                 {7, 2, 7, PAPPUS_GRIB_HEIGHT, 50000},
                 {7, 2, 180, PAPPUS_GRIB_GUST, 50000},
                 {54, 2, 180, PAPPUS_GRIB_OTHER, 50000},
                 {98, 128, 132, PAPPUS_GRIB_V, 50000},
                 {98, 128, 33, PAPPUS_GRIB_OTHER, 50000},
                 {98, 128, 165, PAPPUS_GRIB_U, 10},
                 {98, 228, 247, PAPPUS_GRIB_V, 100},
                 {74, 2, 11, PAPPUS_GRIB_TEMPERATURE, 50000},
                 {34, 200, 34, PAPPUS_GRIB_V, 50000},
                 {7, 129, 33, PAPPUS_GRIB_OTHER, 50000},
                 {233, 253, 6, PAPPUS_GRIB_GEOPOTENTIAL, 50000}};
    unsigned char section[64];
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        product1(section, cases[i].centre, cases[i].table, cases[i].parameter);
        pappus_grib_field field = read1(section, 28);
        ck_assert_int_eq(field.element, cases[i].element);
        ck_assert_double_eq(field.level, cases[i].level);
        ck_assert_double_eq(field.valid_utc_s, APRIL_17 + 6 * 3600);
        ck_assert_int_eq(field.member, -1);
    }
    product1(section, 7, 2, 33);
    put(section, 10, 1, 210); /* Pa */
    ck_assert_double_eq(read1(section, 28).level, 500.0);
    put(section, 41, 1, 1); /* NCEP: an ensemble, the third of the negative ones */
    put(section, 42, 1, 2);
    put(section, 43, 1, 3);
    ck_assert_int_eq(read1(section, 46).member, 3 + PAPPUS_GRIB_PAIR_OFFSET);
    put(section, 21, 1, 4); /* a sum over time */
    ck_assert(!read1(section, 28).instant);
    put(section, 21, 1, 10); /* both octets together */
    put(section, 19, 2, 300);
    ck_assert_double_eq(read1(section, 28).valid_utc_s, APRIL_17 + 300 * 3600.0);
    put(section, 18, 1, 254); /* seconds */
    ck_assert_double_eq(read1(section, 28).valid_utc_s, APRIL_17 + 300);
    pappus_grib_field field;
    ck_assert(!pappus_grib1_product(&field, section, 27));
}
END_TEST

/* ----------------------------------------------------------------------- grids */

static void check_place(const pappus_grib_grid *grid, double latitude, double longitude,
                        double column, double row, double tolerance)
{
    pappus_grib_place place;
    ck_assert_msg(pappus_grib_locate(&place, grid, latitude, longitude), "%g %g", latitude,
                  longitude);
    double right = place.weight[1] + place.weight[3], below = place.weight[2] + place.weight[3];
    double at = place.column[0] + right * (place.column[1] - place.column[0]);
    ck_assert_double_eq_tol(at, column, tolerance);
    ck_assert_double_eq_tol(place.row[0] + below * (place.row[1] - place.row[0]), row, tolerance);
    ck_assert_double_eq_tol(place.weight[0] + place.weight[1] + place.weight[2] + place.weight[3],
                            1.0, 1e-12);
}

static void check_outside(const pappus_grib_grid *grid, double latitude, double longitude)
{
    pappus_grib_place place;
    ck_assert_msg(!pappus_grib_locate(&place, grid, latitude, longitude), "%g %g", latitude,
                  longitude);
}

/* Grid 211 of NCEP's Office Note 388, table B (from memory): 93 by 65 points, 81.2705 km apart,
 * from 12.190 N 133.459 W to 57.290 N 49.385 W. Its coordinates have three decimals: 0.001 of
 * a step. */
START_TEST(a_lambert_grid)
{
    pappus_grib_grid grid = {.projection = PAPPUS_GRIB_LAMBERT,
                             .wind_along_grid = true,
                             .northward = true,
                             .width = 93,
                             .height = 65,
                             .first_latitude_deg = 12.190,
                             .first_longitude_deg = -133.459,
                             .step_x = 81270.5,
                             .step_y = 81270.5,
                             .meridian_deg = 265.0,
                             .true_latitude_deg = {25.0, 25.0},
                             .equator_m = 6371200.0,
                             .pole_m = 6371200.0};
    pappus_grib_place place;
    check_place(&grid, 12.191, -133.458, 0.0, 64.0, 2e-3);
    check_place(&grid, 57.289, -49.386, 92.0, 0.0, 3e-3);
    check_place(&grid, 57.289, 310.614, 92.0, 0.0, 3e-3);
    /* north leans by sin(25 deg) of the longitude from 95 W (Snyder 1987, eq. 14-4; M) */
    ck_assert(pappus_grib_locate(&place, &grid, 57.289, -49.386));
    double theta = sin(25.0 * M_PI / 180.0) * (-49.385 + 95.0) * M_PI / 180.0;
    ck_assert_double_eq_tol(place.sine[1], sin(-theta), 1e-4);
    ck_assert_double_eq_tol(place.cosine[1], cos(theta), 1e-4);
    grid.wind_along_grid = false;
    ck_assert(pappus_grib_locate(&place, &grid, 40.0, -80.0));
    ck_assert_double_eq(place.sine[0], 0.0);
    check_outside(&grid, 10.0, -133.0);
    check_outside(&grid, 57.4, -49.0);
}
END_TEST

START_TEST(degrees_round_the_world)
{
    pappus_grib_grid grid = {.projection = PAPPUS_GRIB_LATLON,
                             .width = 360,
                             .height = 181,
                             .first_latitude_deg = 90.0,
                             .first_longitude_deg = 0.0,
                             .last_latitude_deg = -90.0,
                             .last_longitude_deg = 359.0,
                             .step_x = 1.0,
                             .step_y = 1.0};
    pappus_grib_place place;
    check_place(&grid, 41.25, -98.5, 261.5, 48.75, 1e-9);
    check_place(&grid, -90.0, 0.0, 0.0, 180.0, 1e-9);
    ck_assert(pappus_grib_locate(&place, &grid, 0.0, -0.25)); /* between 359 and 0 */
    ck_assert_int_eq(place.column[0], 359);
    ck_assert_int_eq(place.column[1], 0);
    ck_assert_double_eq_tol(place.weight[1] + place.weight[3], 0.75, 1e-9);
    grid.first_longitude_deg = -180.0;
    grid.last_longitude_deg = 179.0;
    check_place(&grid, 41.25, 261.5, 81.5, 48.75, 1e-9);
    grid.width = 40; /* a part of it, from 170 over the date line to 209 */
    grid.first_longitude_deg = 170.0;
    grid.last_longitude_deg = -151.0;
    check_place(&grid, 0.0, -178.5, 11.5, 90.0, 1e-9);
    check_outside(&grid, 0.0, 169.0);
    check_outside(&grid, 0.0, -150.0);
    grid.height = 10;
    grid.last_latitude_deg = 81.0;
    check_outside(&grid, 80.0, 175.0);
}
END_TEST

/* The northernmost rows of N32 are at 87.8638, 85.0965, 82.3129 degrees (M). */
START_TEST(a_gaussian_grid)
{
    pappus_grib_grid grid = {.projection = PAPPUS_GRIB_GAUSSIAN,
                             .width = 128,
                             .height = 64,
                             .first_latitude_deg = 87.864,
                             .first_longitude_deg = 0.0,
                             .last_latitude_deg = -87.864,
                             .last_longitude_deg = 357.188,
                             .step_x = 2.813, /* 360 / 128, rounded */
                             .step_y = NAN,
                             .gaussian_n = 32};
    check_place(&grid, 87.8638, 0.0, 0.0, 0.0, 1e-3);
    check_place(&grid, 85.0965, 180.0, 64.0, 1.0, 1e-3);
    check_place(&grid, 0.5 * (85.0965 + 82.3129), 90.0, 32.0, 1.5, 1e-3);
    check_place(&grid, -87.8638, 0.0, 0.0, 63.0, 1e-3);
    check_outside(&grid, 89.0, 0.0);
}
END_TEST

/* ------------------------------------------------------------------------ files */

START_TEST(files_that_are_none)
{
    static const struct {
        const char *bytes;
        size_t length;
    } files[] = {{"", 0},
                 {"GRIB", 4},
                 {"GRIB\0\0\0\2\0\0\0\0\0\0\0\x14", 16},
                 {"GRIB\0\0\0\3", 8},
                 {"GRIB\0\0\x10\1\0\0\x08", 11},
                 {"nothing of the kind", 19}};
    for (size_t i = 0; i < sizeof files / sizeof *files; i++) {
        pappus_grib_fields fields;
        pappus_error error = {0};
        char path[100];
        snprintf(path, sizeof path, "%s/none.grib", test_folder);
        FILE *file = fopen(path, "wb");
        ck_assert_uint_eq(fwrite(files[i].bytes, 1, files[i].length, file), files[i].length);
        fclose(file);
        ck_assert_int_eq(pappus_grib_scan(&fields, path, PAPPUS_E_WIND, &error), PAPPUS_E_WIND);
        ck_assert_uint_eq(fields.count, 0);
        ck_assert_str_ne(error.message, "");
    }
    ck_assert(pappus_grib_is("GRIB\0\0\0\2", 8));
    ck_assert(pappus_grib_is("heading\r\r\nGRIB\0\0\0\1", 18));
    ck_assert(!pappus_grib_is("GRIB\0\0\0\3", 8));
    ck_assert(!pappus_grib_is("GRIB", 4));
}
END_TEST

SUITE("grib_scan")
{
    tcase_add_checked_fixture(tests, make_folder, remove_folder);
    tcase_add_test(tests, a_product_of_edition_2);
    tcase_add_test(tests, parameters_and_levels_of_edition_2);
    tcase_add_test(tests, members_and_spans_of_edition_2);
    tcase_add_test(tests, products_of_edition_1);
    tcase_add_test(tests, a_lambert_grid);
    tcase_add_test(tests, degrees_round_the_world);
    tcase_add_test(tests, a_gaussian_grid);
    tcase_add_test(tests, files_that_are_none);
}
