/* SPDX-License-Identifier: GPL-3.0-or-later
 * Points in areas against GEOS asked point by point and against closed
 * forms. */
#include "containment.h"
#include "geometry.h"
#include "suite.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define PI 3.14159265358979323846
#define POINTS 40000 /* enough to be shared out among threads */

/* A 64-bit congruential generator (Knuth, MMIX), seeded per test: (0, 1). */
static double uniform(uint64_t *state)
{
    *state = *state * 6364136223846793005u + 1442695040888963407u;
    return ((double)(*state >> 11) + 0.5) / 9007199254740992.0;
}

static pappus_area area_of(size_t rings, const size_t *counts, double *points)
{
    pappus_area area = {.polygon_count = 1};
    area.name = strdup("area");
    area.polygons = calloc(1, sizeof *area.polygons);
    area.polygons[0].ring_count = rings;
    area.polygons[0].rings = calloc(rings, sizeof *area.polygons[0].rings);
    for (size_t i = 0, at = 0; i < rings; at += 2 * counts[i], i++) {
        pappus_ring *ring = &area.polygons[0].rings[i];
        ring->point_count = counts[i];
        ring->points_m = malloc(2 * counts[i] * sizeof *points);
        memcpy(ring->points_m, points + at, 2 * counts[i] * sizeof *points);
    }
    return area;
}

/* A star of n corners between two radii about a centre: never crosses itself. */
static void star(double *points, size_t n, double east, double north, double inner, double outer,
                 uint64_t *state)
{
    for (size_t i = 0; i < n; i++) {
        double angle = 2.0 * PI * (double)i / (double)n;
        double radius = inner + (outer - inner) * uniform(state);
        points[2 * i] = east + radius * cos(angle);
        points[2 * i + 1] = north + radius * sin(angle);
    }
}

/* Shapes: a square; stars with a star hole, near, far away, tiny, thin as a needle. */
static pappus_area shape(int which, uint64_t *state)
{
    static const double across[] = {1000.0, 1500.0, 1500.0, 1e-3, 1000.0};
    static const double away[] = {0.0, 0.0, 80e3, 50e3, 300.0};
    double points[2 * 90], square[] = {-1, -1, 1, -1, 1, 1, -1, 1};
    size_t counts[] = {50, 40}, four[] = {4};
    if (which == 0) {
        for (int i = 0; i < 8; i++)
            square[i] *= across[0];
        return area_of(1, four, square);
    }
    star(points, 50, away[which], -away[which], 0.5 * across[which], across[which], state);
    star(points + 100, 40, away[which], -away[which], 0.1 * across[which], 0.4 * across[which],
         state);
    if (which == 4)
        for (int i = 0; i < 90; i++)
            points[2 * i] = 300.0 + 1e-4 * (points[2 * i] - 300.0);
    return area_of(2, counts, points);
}

/* The outside check: GEOS itself, no grid, no prepared geometry. */
static void ask_geos(uint8_t *inside, const pappus_area *area, size_t count, const double *east,
                     const double *north)
{
    GEOSContextHandle_t geos = GEOS_init_r();
    GEOSGeometry *geometry;
    ck_assert_int_eq(pappus_area_to_geos(&geometry, geos, area, NULL), 0);
    for (size_t i = 0; i < count; i++) {
        GEOSGeometry *point = GEOSGeom_createPointFromXY_r(geos, east[i], north[i]);
        char in = GEOSIntersects_r(geos, geometry, point);
        ck_assert_int_ne(in, 2);
        inside[i] = (uint8_t)in;
        GEOSGeom_destroy_r(geos, point);
    }
    GEOSGeom_destroy_r(geos, geometry);
    GEOS_finish_r(geos);
}

/* Half the points anywhere about the area, half within a hair of its edge. */
static void scatter(double *east, double *north, size_t count, const pappus_area *area,
                    uint64_t *state)
{
    double b[4];
    ck_assert(pappus_area_bounds(b, area));
    for (size_t i = 0; i < count; i++) {
        const pappus_ring *ring = &area->polygons[0].rings[i / 2 % area->polygons[0].ring_count];
        const double *p = ring->points_m + 2 * (i % ring->point_count);
        const double *q = ring->points_m + 2 * ((i + 1) % ring->point_count);
        double t = uniform(state), hair = pow(10.0, -16.0 * uniform(state)) * (b[2] - b[0]);
        east[i] = p[0] + t * (q[0] - p[0]) + hair * (uniform(state) - 0.5);
        north[i] = p[1] + t * (q[1] - p[1]) + hair * (uniform(state) - 0.5);
        if (i % 2) continue;
        east[i] = b[0] + (1.2 * uniform(state) - 0.1) * (b[2] - b[0]);
        north[i] = b[1] + (1.2 * uniform(state) - 0.1) * (b[3] - b[1]);
    }
}

START_TEST(equal_to_geos)
{
    uint64_t state = 7u + (uint64_t)_i;
    pappus_area area = shape(_i, &state);
    pappus_containment *containment;
    double *east = malloc(POINTS * sizeof *east), *north = malloc(POINTS * sizeof *north);
    uint8_t *ours = malloc(POINTS), *theirs = malloc(POINTS);
    size_t inside = 0;
    scatter(east, north, POINTS, &area, &state);
    ck_assert_int_eq(pappus_containment_new(&containment, &area, NULL), 0);
    ck_assert_int_eq(pappus_containment_test(ours, containment, POINTS, east, north, 0, NULL), 0);
    ask_geos(theirs, &area, POINTS, east, north);
    for (size_t i = 0; i < POINTS; i++)
        inside += theirs[i];
    ck_assert_mem_eq(ours, theirs, POINTS);
    /* The shape is really tried from both sides. */
    ck_assert_uint_gt(inside, POINTS / 10);
    ck_assert_uint_lt(inside, POINTS - POINTS / 10);
    pappus_containment_free(containment);
    pappus_area_clear(&area);
    free(east);
    free(north);
    free(ours);
    free(theirs);
}
END_TEST

START_TEST(same_on_any_number_of_threads)
{
    uint64_t state = 3;
    pappus_area area = shape(1, &state);
    pappus_containment *containment;
    double *east = malloc(POINTS * sizeof *east), *north = malloc(POINTS * sizeof *north);
    uint8_t *one = malloc(POINTS), *many = malloc(POINTS);
    scatter(east, north, POINTS, &area, &state);
    ck_assert_int_eq(pappus_containment_new(&containment, &area, NULL), 0);
    ck_assert_int_eq(pappus_containment_test(one, containment, POINTS, east, north, 1, NULL), 0);
    for (int threads = 2; threads <= 7; threads += 5) {
        memset(many, 2, POINTS);
        ck_assert_int_eq(
            pappus_containment_test(many, containment, POINTS, east, north, threads, NULL), 0);
        ck_assert_mem_eq(one, many, POINTS);
    }
    pappus_containment_free(containment);
    pappus_area_clear(&area);
    free(east);
    free(north);
    free(one);
    free(many);
}
END_TEST

/* A skyline on whole metres: corners and edges on the borders and middles of cells, asked at
 * every quarter metre. */
START_TEST(a_lattice_is_equal_to_geos)
{
    enum { WIDE = 23, HIGH = 17, ASKED = (4 * WIDE + 9) * (4 * HIGH + 9) };
    double points[4 * WIDE + 4], east[ASKED], north[ASKED];
    uint8_t ours[ASKED], theirs[ASKED];
    uint64_t state = 100u + (uint64_t)_i;
    size_t count = 0, asked = 0;
    double before = 0.0;
    for (int i = 0; i < WIDE; i++) {
        double roof = floor(1.0 + HIGH * uniform(&state));
        if (roof == before) roof = roof > 1.0 ? roof - 1.0 : roof + 1.0;
        for (int end = 0; end < 2; end++, count++) {
            points[2 * count] = i + end;
            points[2 * count + 1] = roof;
        }
        before = roof;
    }
    memcpy(points + 2 * count, (double[]){WIDE, 0, 0, 0}, 4 * sizeof *points);
    count += 2;
    pappus_area area = area_of(1, &count, points);
    pappus_containment *containment;
    for (int i = -4; i < 4 * WIDE + 5; i++)
        for (int j = -4; j < 4 * HIGH + 5; j++, asked++) {
            east[asked] = 0.25 * i;
            north[asked] = 0.25 * j;
        }
    ck_assert_uint_eq(asked, ASKED);
    ck_assert_int_eq(pappus_containment_new(&containment, &area, NULL), 0);
    ck_assert_int_eq(pappus_containment_test(ours, containment, ASKED, east, north, 1, NULL), 0);
    ask_geos(theirs, &area, ASKED, east, north);
    ck_assert_mem_eq(ours, theirs, ASKED);
    pappus_containment_free(containment);
    pappus_area_clear(&area);
}
END_TEST

/* More corners than cells, teeth as long as a third of it all. */
START_TEST(many_corners_are_equal_to_geos)
{
    enum { CORNERS = 3000, ASKED = 3000 };
    size_t count = CORNERS;
    double *points = malloc(2 * CORNERS * sizeof *points), east[ASKED], north[ASKED];
    uint8_t ours[ASKED], theirs[ASKED];
    uint64_t state = 5;
    star(points, CORNERS, 10.0, -20.0, 300.0, 900.0, &state);
    pappus_area area = area_of(1, &count, points);
    pappus_containment *containment;
    scatter(east, north, ASKED, &area, &state);
    ck_assert_int_eq(pappus_containment_new(&containment, &area, NULL), 0);
    ck_assert_int_eq(pappus_containment_test(ours, containment, ASKED, east, north, 1, NULL), 0);
    ask_geos(theirs, &area, ASKED, east, north);
    ck_assert_mem_eq(ours, theirs, ASKED);
    pappus_containment_free(containment);
    pappus_area_clear(&area);
    free(points);
}
END_TEST

/* On the edge is in, in a hole is out, the hole's edge is in; what is not a number
 * is in nothing. */
START_TEST(edges_and_no_numbers)
{
    double points[] = {0, 0, 10, 0, 10, 10, 0, 10, 4, 4, 4, 6, 6, 6, 6, 4};
    size_t counts[] = {4, 4};
    pappus_area area = area_of(2, counts, points);
    const double east[] = {0, 10, 5, 5, 4, 5, 10.0000001, NAN, INFINITY, 2, 2};
    const double north[] = {0, 5, 10, 5, 5, 4, 5, 2, 2, NAN, -INFINITY};
    const uint8_t expected[] = {1, 1, 1, 0, 1, 1, 0, 0, 0, 0, 0};
    uint8_t inside[11];
    pappus_containment *containment;
    ck_assert_int_eq(pappus_containment_new(&containment, &area, NULL), 0);
    ck_assert_int_eq(pappus_containment_test(inside, containment, 11, east, north, 0, NULL), 0);
    ck_assert_mem_eq(inside, expected, 11);
    pappus_containment_free(containment);
    pappus_area_clear(&area);
}
END_TEST

/* X: share of uniform points inside a triangle is its share of the area, within 4.5
 * standard errors of a binomial (1 in 150 000 by chance; the seed is fixed). */
START_TEST(share_is_area)
{
    double points[] = {0, 0, 1000, 200, 300, 900};
    size_t counts[] = {3}, n = POINTS, hits = 0;
    pappus_area area = area_of(1, counts, points);
    pappus_containment *containment;
    double east[POINTS], north[POINTS], share = 0.5 * (1000.0 * 900.0 - 300.0 * 200.0) / 1e6;
    uint8_t inside[POINTS];
    uint64_t state = 11;
    ck_assert_double_eq_tol(pappus_area_m2(&area), share * 1e6, 1e-6);
    for (size_t i = 0; i < n; i++) {
        east[i] = 1000.0 * uniform(&state);
        north[i] = 1000.0 * uniform(&state);
    }
    ck_assert_int_eq(pappus_containment_new(&containment, &area, NULL), 0);
    ck_assert_int_eq(pappus_containment_test(inside, containment, n, east, north, 0, NULL), 0);
    for (size_t i = 0; i < n; i++)
        hits += inside[i];
    ck_assert_double_eq_tol((double)hits / (double)n, share,
                            4.5 * sqrt(share * (1.0 - share) / (double)n));
    pappus_containment_free(containment);
    pappus_area_clear(&area);
}
END_TEST

START_TEST(an_area_of_nothing)
{
    pappus_area area = {0};
    pappus_containment *containment;
    pappus_edge edge;
    double at[] = {0.0};
    uint8_t inside = 9;
    ck_assert_int_eq(pappus_containment_new(&containment, &area, NULL), 0);
    ck_assert_int_eq(pappus_containment_test(&inside, containment, 1, at, at, 0, NULL), 0);
    ck_assert_uint_eq(inside, 0);
    ck_assert_int_eq(pappus_containment_edge(&edge, containment, 0, 0, NULL), PAPPUS_E_NUMERIC);
    pappus_containment_free(containment);
}
END_TEST

/* X: distances in a square of side 10 with a square hole of side 2 in the middle. */
START_TEST(nearest_edge)
{
    static const struct {
        double east, north, distance, at_east, at_north, normal_east, normal_north;
    } cases[] = {
        {1, 5, 1, 0, 5, -1, 0},         /* inside, by the west side */
        {5, 8.5, 1.5, 5, 10, 0, 1},     /* inside, by the north side */
        {5, 7, 1, 5, 6, 0, -1},         /* inside, by the hole: out is into it */
        {-3, 5, -3, 0, 5, -1, 0},       /* outside */
        {13, 14, -5, 10, 10, 0.6, 0.8}, /* off a corner */
        {5, 4.5, -0.5, 5, 4, 0, 1},     /* in the hole */
        {10, 3, 0, 10, 3, 1, 0},        /* on the edge */
        {6, 5, 0, 6, 5, -1, 0},         /* on the hole's edge */
    };
    /* Shell clockwise, hole counter-clockwise: the wrong way round on purpose. */
    double points[] = {0, 0, 0, 10, 10, 10, 10, 0, 4, 4, 6, 4, 6, 6, 4, 6};
    size_t counts[] = {4, 4};
    pappus_area area = area_of(2, counts, points);
    pappus_containment *containment;
    pappus_edge edge;
    ck_assert_int_eq(pappus_containment_new(&containment, &area, NULL), 0);
    ck_assert_int_eq(
        pappus_containment_edge(&edge, containment, cases[_i].east, cases[_i].north, NULL), 0);
    ck_assert_double_eq_tol(edge.distance_m, cases[_i].distance, 1e-12);
    ck_assert_double_eq_tol(edge.east_m, cases[_i].at_east, 1e-12);
    ck_assert_double_eq_tol(edge.north_m, cases[_i].at_north, 1e-12);
    ck_assert_double_eq_tol(edge.normal_east, cases[_i].normal_east, 1e-12);
    ck_assert_double_eq_tol(edge.normal_north, cases[_i].normal_north, 1e-12);
    pappus_containment_free(containment);
    pappus_area_clear(&area);
}
END_TEST

/* Holes whose tips reach a hair over the lines of the grid: less than a thousandth of a cell
 * (512 cells along a side). A point in such a tip is outside. */
START_TEST(a_tip_over_a_line_of_the_grid)
{
    double tip = 1e-4 * (_i + 1), points[8 + 6] = {0, 0, 512, 0, 512, 512, 0, 512};
    double holes[4][6] = {{100.2, 100.2, 101 + tip, 100.5, 100.2, 100.8},
                          {100.8, 100.8, 100 - tip, 100.5, 100.8, 100.2},
                          {100.2, 100.2, 100.8, 100.2, 100.5, 101 + tip},
                          {100.8, 100.8, 100.2, 100.8, 100.5, 100 - tip}};
    double in_tip[4][2] = {{101 + 0.5 * tip, 100.5},
                           {100 - 0.5 * tip, 100.5},
                           {100.5, 101 + 0.5 * tip},
                           {100.5, 100 - 0.5 * tip}};
    size_t counts[] = {4, 3};
    for (int k = 0; k < 4; k++) {
        memcpy(points + 8, holes[k], sizeof holes[k]);
        pappus_area area = area_of(2, counts, points);
        pappus_containment *containment;
        uint8_t ours = 2, theirs = 2;
        ck_assert_int_eq(pappus_containment_new(&containment, &area, NULL), 0);
        ck_assert_int_eq(
            pappus_containment_test(&ours, containment, 1, &in_tip[k][0], &in_tip[k][1], 1, NULL),
            0);
        ask_geos(&theirs, &area, 1, &in_tip[k][0], &in_tip[k][1]);
        ck_assert_uint_eq(theirs, 0);
        ck_assert_uint_eq(ours, 0);
        pappus_containment_free(containment);
        pappus_area_clear(&area);
    }
}
END_TEST

SUITE("containment")
{
    tcase_add_loop_test(tests, equal_to_geos, 0, 5);
    tcase_add_loop_test(tests, a_lattice_is_equal_to_geos, 0, 6);
    tcase_add_test(tests, many_corners_are_equal_to_geos);
    tcase_add_test(tests, same_on_any_number_of_threads);
    tcase_add_test(tests, edges_and_no_numbers);
    tcase_add_test(tests, share_is_area);
    tcase_add_test(tests, an_area_of_nothing);
    tcase_add_loop_test(tests, nearest_edge, 0, 8);
    tcase_add_loop_test(tests, a_tip_over_a_line_of_the_grid, 0, 9);
}
