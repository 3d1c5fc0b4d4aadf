/* SPDX-License-Identifier: GPL-3.0-or-later
 * Areas on the plane: sizes against closed forms (X), validity against the words of
 * the OGC rules as GEOS has them, unions. */
#include "geometry.h"
#include "suite.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define SQUARE(e, n, side)                                                                         \
    {                                                                                              \
        e, n, e + side, n, e + side, n + side, e, n + side                                         \
    }

/* An area of `count` polygons of one ring of four points each. */
static pappus_area squares(size_t count, double (*points)[8])
{
    pappus_area area = {strdup("squares"), count, calloc(count, sizeof(pappus_polygon))};
    for (size_t i = 0; i < count; i++) {
        area.polygons[i].ring_count = 1;
        area.polygons[i].rings = calloc(1, sizeof(pappus_ring));
        area.polygons[i].rings[0].point_count = 4;
        area.polygons[i].rings[0].points_m = malloc(sizeof *points);
        memcpy(area.polygons[i].rings[0].points_m, points[i], sizeof *points);
    }
    return area;
}

/* Puts the ring of the second polygon into the first as a hole. */
static void second_into_first(pappus_area *area)
{
    pappus_polygon *first = &area->polygons[0], *second = &area->polygons[1];
    first->rings = realloc(first->rings, 2 * sizeof *first->rings);
    first->rings[1] = second->rings[0];
    first->ring_count = 2;
    free(second->rings);
    area->polygon_count = 1;
}

/* 80 km away a field of a square metre keeps its digits: the products of such
 * coordinates do not. */
START_TEST(size_far_from_the_pad)
{
    double points[][8] = {SQUARE(80000.1, -80000.3, 1.0)};
    pappus_area area = squares(1, points);
    ck_assert_double_eq_tol(pappus_area_m2(&area), 1.0, 1e-10);
    pappus_area_clear(&area);
    ck_assert_ptr_null(area.name);
}
END_TEST

START_TEST(orientation_and_holes)
{
    double points[][8] = {{0, 0, 0, 10, 10, 10, 10, 0}, SQUARE(2, 2, 3)};
    double bounds[4];
    pappus_area area = squares(2, points), copy;
    second_into_first(&area);
    ck_assert_double_eq_tol(pappus_ring_area_m2(&area.polygons[0].rings[0]), -100.0, 1e-12);
    ck_assert_int_eq(pappus_area_copy(&copy, &area, NULL), 0);
    pappus_area_orient(&copy);
    ck_assert_double_eq_tol(pappus_ring_area_m2(&copy.polygons[0].rings[0]), 100.0, 1e-12);
    ck_assert_double_eq_tol(pappus_ring_area_m2(&copy.polygons[0].rings[1]), -9.0, 1e-12);
    ck_assert_double_eq_tol(pappus_area_m2(&copy), 91.0, 1e-12);
    ck_assert_double_eq_tol(pappus_ring_area_m2(&area.polygons[0].rings[0]), -100.0, 1e-12);
    ck_assert(pappus_area_bounds(bounds, &copy));
    ck_assert(bounds[0] == 0 && bounds[1] == 0 && bounds[2] == 10 && bounds[3] == 10);
    ck_assert_str_eq(copy.name, "squares");
    pappus_area_clear(&copy);
    pappus_area_clear(&area);
}
END_TEST

/* There and back through GEOS: the same rings, in the same sense. */
START_TEST(through_geos)
{
    double points[][8] = {SQUARE(0, 0, 10), SQUARE(2, 2, 3)};
    pappus_area area = squares(2, points), back;
    GEOSGeometry *geometry;
    GEOSContextHandle_t geos = pappus_geos_begin();
    double size;
    second_into_first(&area);
    ck_assert_int_eq(pappus_area_to_geos(&geometry, geos, &area, NULL), 0);
    ck_assert_int_eq(GEOSArea_r(geos, geometry, &size), 1);
    ck_assert_double_eq_tol(size, pappus_area_m2(&area), 1e-12);
    ck_assert_int_eq(pappus_area_from_geos(&back, geos, geometry, NULL, NULL), 0);
    ck_assert_str_eq(back.name, "");
    ck_assert_uint_eq(back.polygon_count, 1);
    ck_assert_uint_eq(back.polygons[0].ring_count, 2);
    ck_assert_uint_eq(back.polygons[0].rings[0].point_count, 4);
    ck_assert_double_eq_tol(pappus_ring_area_m2(&back.polygons[0].rings[1]), -9.0, 1e-12);
    pappus_area_clear(&back);
    pappus_area_clear(&area);
    GEOSGeom_destroy_r(geos, geometry);
    pappus_geos_end(geos);
}
END_TEST

START_TEST(valid_or_where_not)
{
    double bow[][8] = {{0, 0, 10, 10, 10, 0, 0, 10}}, good[][8] = {SQUARE(0, 0, 10)};
    pappus_area area = squares(1, bow);
    pappus_validity validity;
    ck_assert_int_eq(pappus_area_check(&validity, &area, NULL), 0);
    ck_assert(!validity.valid);
    ck_assert_str_eq(validity.reason, "Self-intersection");
    ck_assert_double_eq_tol(validity.east_m, 5.0, 1e-12);
    ck_assert_double_eq_tol(validity.north_m, 5.0, 1e-12);
    pappus_area_clear(&area);
    area = squares(1, good);
    ck_assert_int_eq(pappus_area_check(&validity, &area, NULL), 0);
    ck_assert(validity.valid);
    pappus_area_clear(&area);
}
END_TEST

/* Two squares of 100 that share 25, and one apart. */
START_TEST(unions)
{
    double points[][8] = {SQUARE(0, 0, 10), SQUARE(5, 5, 10), SQUARE(100, 0, 2)};
    pappus_area area = squares(3, points);
    ck_assert_int_eq(pappus_area_unite(&area, NULL), 0);
    ck_assert_uint_eq(area.polygon_count, 2);
    ck_assert_double_eq_tol(pappus_area_m2(&area), 175.0 + 4.0, 1e-9);
    ck_assert_str_eq(area.name, "squares");
    pappus_area_clear(&area);
}
END_TEST

START_TEST(rings_that_are_none)
{
    double points[][8] = {SQUARE(0, 0, 1)};
    pappus_area area = squares(1, points);
    pappus_validity validity;
    pappus_error err = {0};
    area.polygons[0].rings[0].point_count = 2;
    ck_assert_int_eq(pappus_area_check(&validity, &area, &err), PAPPUS_E_NUMERIC);
    ck_assert_int_eq(err.code, PAPPUS_E_NUMERIC);
    pappus_area_clear(&area);
}
END_TEST

SUITE("geometry")
{
    tcase_add_test(tests, size_far_from_the_pad);
    tcase_add_test(tests, orientation_and_holes);
    tcase_add_test(tests, through_geos);
    tcase_add_test(tests, valid_or_where_not);
    tcase_add_test(tests, unions);
    tcase_add_test(tests, rings_that_are_none);
}
