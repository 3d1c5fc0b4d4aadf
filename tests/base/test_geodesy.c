/* SPDX-License-Identifier: GPL-3.0-or-later
 * The local plane against geodesics, and the reference systems. */
#include "coordinate.h"
#include "geodesy.h"
#include "suite.h"

#include <math.h>
#include <proj.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define RADIANS (3.14159265358979323846 / 180.0)

/* Geodesic direct on WGS 84: X, computed with two libraries (GeographicLib and
 * PROJ) that agree to 1e-9 degrees; the first two as in our table of sources, the
 * rest with `geod +ellps=WGS84` of proj-bin 9.1.1. */
static const struct {
    double latitude, longitude, azimuth, distance_m, to_latitude, to_longitude;
} direct[] = {
    {35.1808, -97.4378, 21.0, 2500.0, 35.201836784, -97.427961586},
    {43.5672, -116.2113, 260.0, 1234.5, 43.565269564, -116.226348306},
    {69.6, 18.9, 300.0, 10000.0, 69.644678442, 18.677003557},
    {-33.9, 151.2, 123.0, 5000.0, -33.924542460, 151.245350020},
    {-16.5, 179.99, 90.0, 8000.0, -16.499986574, -179.935068487},
    {89.95, 10.0, 200.0, 12000.0, 89.844634937, -3.680667522},
    {-90.0, 0.0, 75.0, 3000.0, -89.973140898, 75.0},
};

START_TEST(local_plane_is_the_geodesic)
{
    pappus_frame *frame;
    double place[2] = {direct[_i].to_latitude, direct[_i].to_longitude}, local[2], back[2];
    double azimuth = direct[_i].azimuth * RADIANS;
    ck_assert_int_eq(pappus_frame_new(&frame, direct[_i].latitude, direct[_i].longitude, NULL), 0);
    ck_assert_int_eq(pappus_frame_to_local(frame, 1, place, local, NULL), 0);
    /* 1e-9 degrees is 0.1 mm. */
    ck_assert_double_eq_tol(local[0], direct[_i].distance_m * sin(azimuth), 2e-4);
    ck_assert_double_eq_tol(local[1], direct[_i].distance_m * cos(azimuth), 2e-4);
    local[0] = direct[_i].distance_m * sin(azimuth);
    local[1] = direct[_i].distance_m * cos(azimuth);
    ck_assert_int_eq(pappus_frame_to_geographic(frame, 1, local, back, NULL), 0);
    ck_assert_double_eq_tol(back[0], place[0], 1.1e-9);
    ck_assert_double_eq_tol(back[1], place[1], 1.1e-9);
    pappus_frame_free(frame);
}
END_TEST

/* There and back within a millimetre, at many latitudes and over the antimeridian,
 * in place as well. */
START_TEST(round_trip)
{
    static const double pads[][2] = {{35.0, -97.0}, {-33.9, 151.2},  {0.0, 0.0},
                                     {69.6, 18.9},  {-16.5, 179.99}, {51.9, -179.98}};
    pappus_frame *frame;
    double local[200], place[200];
    ck_assert_int_eq(pappus_frame_new(&frame, pads[_i][0], pads[_i][1], NULL), 0);
    for (int i = 0; i < 100; i++) {
        local[2 * i] = 20000.0 * sin(1.7 * i);
        local[2 * i + 1] = 20000.0 * cos(2.3 * i);
    }
    ck_assert_int_eq(pappus_frame_to_geographic(frame, 100, local, place, NULL), 0);
    for (int i = 0; i < 100; i++) {
        ck_assert_double_le(fabs(place[2 * i] - pads[_i][0]), 0.3);
        ck_assert_double_le(fabs(place[2 * i + 1]), 180.0);
    }
    ck_assert_int_eq(pappus_frame_to_local(frame, 100, place, place, NULL), 0);
    for (int i = 0; i < 200; i++)
        ck_assert_double_eq_tol(place[i], local[i], 1e-3);
    pappus_frame_free(frame);
}
END_TEST

START_TEST(a_pad_that_is_no_place)
{
    static const double bad[][2] = {{91.0, 0.0}, {NAN, 0.0}, {0.0, INFINITY}, {0.0, 1000.0}};
    pappus_frame *frame = (pappus_frame *)&frame;
    pappus_error err = {0};
    ck_assert_int_eq(pappus_frame_new(&frame, bad[_i][0], bad[_i][1], &err), PAPPUS_E_PLAN);
    ck_assert_ptr_null(frame);
    ck_assert_ptr_nonnull(strstr(err.message, "latitude must be -90 to 90"));
}
END_TEST

START_TEST(a_place_that_is_none)
{
    pappus_frame *frame;
    pappus_error err = {0};
    double places[4] = {35.0, -97.0, NAN, -97.0}, local[4];
    ck_assert_int_eq(pappus_frame_new(&frame, 35.0, -97.0, NULL), 0);
    ck_assert_int_eq(pappus_frame_to_local(frame, 2, places, local, &err), PAPPUS_E_NUMERIC);
    ck_assert_ptr_nonnull(strstr(err.message, "point 2"));
    ck_assert_double_eq_tol(local[0], 0.0, 1e-6);
    pappus_frame_free(frame);
}
END_TEST

/* C: EPSG registry, "WGS 84 / UTM zone 14N" is 32614, "60S" is 32760; zones of six
 * degrees from 180 west (NGA, TM8358.2). */
START_TEST(utm_zones)
{
    ck_assert_int_eq(pappus_utm_epsg(35.18, -97.44), 32614);
    ck_assert_int_eq(pappus_utm_epsg(-33.9, 151.2), 32756);
    ck_assert_int_eq(pappus_utm_epsg(0.0, -180.0), 32601);
    ck_assert_int_eq(pappus_utm_epsg(-1.0, 179.999), 32760);
    ck_assert_int_eq(pappus_utm_epsg(10.0, 180.0), 32601);
    ck_assert_int_eq(pappus_utm_epsg(10.0, -96.0), 32615);
    ck_assert_int_eq(pappus_utm_epsg(84.5, 0.0), 0);
    ck_assert_int_eq(pappus_utm_epsg(-80.5, 0.0), 0);
    ck_assert_int_eq(pappus_utm_epsg(NAN, 0.0), 0);
}
END_TEST

/* M: the text that is in common use for WGS 84 .prj files. */
START_TEST(prj_text)
{
    char *text;
    ck_assert_int_eq(pappus_crs_wkt(&text, PAPPUS_EPSG_WGS84, NULL), 0);
    ck_assert_str_eq(text, "GEOGCS[\"GCS_WGS_1984\",DATUM[\"D_WGS_1984\",SPHEROID[\"WGS_1984\","
                           "6378137.0,298.257223563]],PRIMEM[\"Greenwich\",0.0],"
                           "UNIT[\"Degree\",0.0174532925199433]]");
    free(text);
}
END_TEST

/* X: PROJ's own text. */
START_TEST(prj_text_is_as_proj_writes_it)
{
    static const char *const options[] = {"MULTILINE=NO", NULL};
    static const int epsg[] = {PAPPUS_EPSG_WGS84, 32601, 32614, 32660, 32701, 32731, 32760};
    PJ_CONTEXT *context = proj_context_create();
    for (size_t i = 0; i < sizeof epsg / sizeof *epsg; i++) {
        char name[32], *text;
        snprintf(name, sizeof name, "EPSG:%d", epsg[i]);
        PJ *crs = proj_create(context, name);
        ck_assert_int_eq(pappus_crs_wkt(&text, epsg[i], NULL), 0);
        ck_assert_str_eq(text, proj_as_wkt(context, crs, PJ_WKT1_ESRI, options));
        free(text);
        proj_destroy(crs);
    }
    proj_context_destroy(context);
}
END_TEST

START_TEST(prj_text_of_another_system)
{
    static const int epsg[] = {1, 4269, 32600, 32661, 32700, 32761};
    char *text = (char *)&text;
    ck_assert_int_eq(pappus_crs_wkt(&text, epsg[_i], NULL), PAPPUS_E_NUMERIC);
    ck_assert_ptr_null(text);
}
END_TEST

/* UTM of the pad itself: on the central meridian easting is 500 km by definition and
 * northing 0.9996 of the meridian's arc, 4984944.378 m from the equator to 45 degrees
 * (X: series of Snyder, USGS PP 1395, eq. 3-21; cs2cs of PROJ 9.1.1 agrees). */
START_TEST(local_to_utm)
{
    pappus_transform *transform;
    double xy[2] = {0.0, 0.0};
    ck_assert_int_eq(pappus_transform_from_local(&transform, 45.0, -99.0, 32614, NULL), 0);
    pappus_transform_run(transform, 1, xy);
    ck_assert_double_eq_tol(xy[0], 500000.0, 1e-3);
    ck_assert_double_eq_tol(xy[1], 0.9996 * 4984944.378, 2e-3);
    pappus_transform_free(transform);
}
END_TEST

START_TEST(local_to_geographic_is_longitude_first)
{
    pappus_transform *transform;
    double xy[2] = {0.0, 0.0};
    ck_assert_int_eq(pappus_transform_from_local(&transform, 35.0, -97.0, PAPPUS_EPSG_WGS84, NULL),
                     0);
    pappus_transform_run(transform, 1, xy);
    ck_assert_double_eq_tol(xy[0], -97.0, 1e-9);
    ck_assert_double_eq_tol(xy[1], 35.0, 1e-9);
    pappus_transform_free(transform);
}
END_TEST

START_TEST(no_such_system)
{
    pappus_transform *transform;
    pappus_error err = {0};
    ck_assert_int_eq(pappus_transform_new(&transform, "PROJCS[\"nothing\"]", "EPSG:4326", &err),
                     PAPPUS_E_FIELD);
    ck_assert_ptr_null(transform);
    ck_assert_ptr_nonnull(strstr(err.message, "not a reference system"));
}
END_TEST

/* X: 45.930 minutes are 0.7655 degrees. */
START_TEST(a_place_as_text)
{
    static const char *const good[] = {"41.7655,-98.4350", "41 45.930 N, 98 26.100 W",
                                       "N41\xC2\xB0 45.930', 98\xC2\xB0 26'06\" W",
                                       " 41.7655 , -98.435 "};
    static const char *const bad[] = {
        "",       "here",  "41.7655",      "91,0", "41.7655,-98.4350,3", "98 26.100 W, 41 45.930 N",
        "41,361", "nan,0", "41.7655;-98.4"};
    double latitude = 7.0, longitude = 8.0;
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
        pappus_error err = {0};
        ck_assert_int_eq(pappus_place_parse(&latitude, &longitude, bad[i], &err), PAPPUS_E_PLAN);
        ck_assert_ptr_nonnull(strstr(err.message, "latitude,longitude"));
    }
    ck_assert(latitude == 7.0 && longitude == 8.0);
    for (size_t i = 0; i < sizeof good / sizeof *good; i++) {
        ck_assert_int_eq(pappus_place_parse(&latitude, &longitude, good[i], NULL), PAPPUS_OK);
        ck_assert_double_eq_tol(latitude, 41.7655, 1e-9);
        ck_assert_double_eq_tol(longitude, -98.4350, 1e-9);
    }
}
END_TEST

SUITE("geodesy")
{
    tcase_add_loop_test(tests, local_plane_is_the_geodesic, 0,
                        (int)(sizeof direct / sizeof *direct));
    tcase_add_loop_test(tests, round_trip, 0, 6);
    tcase_add_loop_test(tests, a_pad_that_is_no_place, 0, 4);
    tcase_add_test(tests, a_place_that_is_none);
    tcase_add_test(tests, a_place_as_text);
    tcase_add_test(tests, utm_zones);
    tcase_add_test(tests, prj_text);
    tcase_add_test(tests, prj_text_is_as_proj_writes_it);
    tcase_add_loop_test(tests, prj_text_of_another_system, 0, 6);
    tcase_add_test(tests, local_to_utm);
    tcase_add_test(tests, local_to_geographic_is_longitude_first);
    tcase_add_test(tests, no_such_system);
}
