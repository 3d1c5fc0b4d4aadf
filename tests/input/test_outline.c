/* SPDX-License-Identifier: GPL-3.0-or-later
 * The field from files and from the plan: what is read, what is refused and with
 * which words. Places are invented. */
#include "geodesy.h"
#include "geometry.h"
#include "german_locale.h"
#include "outline.h"
#include "suite.h"
#include "test_folder.h"

#include <locale.h>
#include <math.h>
#include <shapefil.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#define PAD_LATITUDE 41.76
#define PAD_LONGITUDE -98.44
#define PI 3.14159265358979323846

static void path_in(char out[256], const char *name)
{
    snprintf(out, 256, "%s/%s", test_folder, name);
}

static void file_write(const char *name, const void *bytes, size_t length)
{
    char path[256];
    path_in(path, name);
    FILE *file = fopen(path, "wb");
    ck_assert_ptr_nonnull(file);
    ck_assert_uint_eq(fwrite(bytes, 1, length, file), length);
    ck_assert_int_eq(fclose(file), 0);
}

static void text_write(const char *name, const char *text)
{
    file_write(name, text, strlen(text));
}

static pappus_plan plan_at_pad(void)
{
    pappus_plan plan = {0};
    plan.path = (char *)"plan.json";
    plan.site.latitude_deg = PAD_LATITUDE;
    plan.site.longitude_deg = PAD_LONGITUDE;
    plan.field.radius_m = NAN;
    return plan;
}

static size_t count_of(const pappus_log *log, pappus_severity severity)
{
    size_t count = 0;
    for (size_t i = 0; i < log->count; i++)
        count += log->entries[i].severity == severity;
    return count;
}

typedef enum { BOUNDARY, KEEP_OUT, ROADS } use;

static int read_as(pappus_field **out, const char *name, use what, pappus_log *log)
{
    char path[256];
    pappus_plan plan = plan_at_pad();
    path_in(path, name);
    if (what == BOUNDARY) plan.field.boundary_path = path;
    if (what == KEEP_OUT) plan.field.keep_out_path = path;
    if (what == ROADS) plan.field.roads_path = path;
    return pappus_field_read(out, &plan, log);
}

/* What must be read, with the log shown when it is not. */
static pappus_field *read_good(const char *name, use what, pappus_log *log)
{
    pappus_field *field;
    int status = read_as(&field, name, what, log);
    ck_assert_msg(status == PAPPUS_OK, "%s: %s", name,
                  log->count ? log->entries[0].error.message : "no message");
    return field;
}

/* One line of log, a fault, with the words. */
static void check_refused(int status, const pappus_field *field, pappus_log *log, const char *words)
{
    char line[1200] = "";
    ck_assert_int_eq(status, PAPPUS_E_FIELD);
    ck_assert_ptr_null(field);
    ck_assert_uint_eq(log->count, 1);
    ck_assert_int_eq(log->entries[0].severity, PAPPUS_FAULT);
    pappus_error_line(line, sizeof line, &log->entries[0].error);
    ck_assert_msg(strstr(line, words) != NULL, "'%s' has no '%s'", line, words);
    ck_assert_ptr_null(strchr(line, '\n'));
    ck_assert_str_ne(log->entries[0].error.file, "");
    pappus_log_clear(log);
}

/* ------------------------------------------------------------------ GeoJSON */

#define RING "[[-98.45,41.75],[-98.43,41.75],[-98.43,41.77],[-98.45,41.77],[-98.45,41.75]]"
#define POLYGON "{\"type\":\"Polygon\",\"coordinates\":[" RING "]}"
#define FEATURE(properties, geometry)                                                              \
    "{\"type\":\"Feature\",\"properties\":" properties ",\"geometry\":" geometry "}"
#define POLYGON_OF(rings) "{\"type\":\"Polygon\",\"coordinates\":[" rings "]}"

static const struct {
    const char *text, *words;
    use what;
} bad_geojson[] = {
    {POLYGON_OF("[[-98.45,41.75],[-98.43,41.77],[-98.43,41.75],[-98.45,41.77],[-98.45,41.75]]"),
     "Self-intersection at latitude 41.76", BOUNDARY},
    {POLYGON_OF("[[-98.45,41.75],[-98.43,41.75],[-98.43,41.77],[-98.45,41.77]]"),
     "feature 1: a ring is not closed", BOUNDARY},
    {POLYGON_OF("[[-98.45,41.75],[-98.43,41.75]]"), "a ring of 2 point(s): it needs 4", BOUNDARY},
    {POLYGON_OF("[]"), "a ring of 0 point(s)", BOUNDARY},
    {POLYGON_OF("[[NaN,41.75],[-98.43,41.75],[-98.43,41.77],[NaN,41.75]]"), "line 1", BOUNDARY},
    {POLYGON_OF("[[1e999,41.75],[-98.43,41.75],[-98.43,41.77],[-98.45,41.75]]"), "number too large",
     BOUNDARY},
    {POLYGON_OF("[[null,41.75],[-98.43,41.75],[-98.43,41.77],[null,41.75]]"),
     "a position must be [longitude, latitude]", BOUNDARY},
    {POLYGON_OF("[[-98.45],[-98.43],[-98.43],[-98.45]]"), "a position must be", BOUNDARY},
    {POLYGON_OF("[\"-98.45,41.75\"]"), "a position must be", BOUNDARY},
    {"{\"type\":\"Polygon\",\"coordinates\":[5]}", "not nested", BOUNDARY},
    {"{\"type\":\"Polygon\"}", "no coordinates", BOUNDARY},
    {"{\"type\":\"Point\",\"coordinates\":[-98.44,41.76]}",
     "found Point: a boundary takes Polygon or MultiPolygon", BOUNDARY},
    {"{\"type\":\"LineString\",\"coordinates\":[[-98.44,41.76],[-98.43,41.76]]}",
     "found LineString: a keep-out takes Polygon", KEEP_OUT},
    {POLYGON, "found Polygon: a road takes LineString or MultiLineString", ROADS},
    {"{\"type\":\"LineString\",\"coordinates\":[[-98.44,41.76]]}",
     "a line of 1 point(s): it needs 2", ROADS},
    {"", "empty", BOUNDARY},
    {"hello", "neither GeoJSON", BOUNDARY},
    {"{\"type\":\"Polygon\",\"coordinates\":[[[-98.45", "line 1", BOUNDARY},
    {"{\"type\":\"Feature\",\"crs\":{\"type\":\"name\",\"properties\":{\"name\":"
     "\"urn:ogc:def:crs:EPSG::32614\"}},\"properties\":{},\"geometry\":" POLYGON "}",
     "found urn:ogc:def:crs:EPSG::32614", BOUNDARY},
    {"{\"type\":\"Feature\",\"crs\":null,\"properties\":{},\"geometry\":" POLYGON "}",
     "export the layer again in EPSG:4326", BOUNDARY},
    {"{\"type\":\"FeatureCollection\",\"features\":[]}", "holds no boundary: it needs a polygon",
     BOUNDARY},
    {"{\"type\":\"FeatureCollection\",\"features\":[]}", "holds no road: it needs a line", ROADS},
    {"{\"type\":\"FeatureCollection\"}", "features array", BOUNDARY},
    {"{\"type\":\"FeatureCollection\",\"features\":[{\"type\":\"Polygon\"}]}",
     "feature 1: found Polygon: must be of type Feature", BOUNDARY},
    {"{\"type\":\"Feature\",\"properties\":{}}", "has no geometry", BOUNDARY},
    {"{\"type\":\"Topology\",\"objects\":{}}", "found Topology", BOUNDARY},
    {"{\"coordinates\":[]}", "a boundary takes Polygon", BOUNDARY},
    {POLYGON_OF(RING ",[[-98.40,41.75],[-98.39,41.75],[-98.39,41.76],[-98.40,41.75]]"),
     "Hole lies outside shell at latitude", BOUNDARY},
    {POLYGON_OF("[[-98.45,41.75],[-98.43,41.75],[-98.43,91],[-98.45,41.75]]"),
     "point 3 at longitude -98.43, latitude 91 is out of range", BOUNDARY},
    {POLYGON_OF("[[41.75,-98.45],[41.75,-98.43],[41.77,-98.43],[41.75,-98.45]]"), "longitude first",
     BOUNDARY},
    {POLYGON_OF("[[8.45,41.75],[8.43,41.75],[8.43,41.77],[8.45,41.75]]"), "km from the pad",
     BOUNDARY},
    {"{\"type\":\"Polygon\",\"type\":\"Polygon\",\"coordinates\":[" RING "]}", "type", BOUNDARY},
    {FEATURE("{\"name\":\"\xff\"}", POLYGON), "UTF-8", BOUNDARY},
    {"{\"type\":\"MultiPolygon\",\"coordinates\":[[" RING "],[[[-98.445,41.755],[-98.435,41.755],"
     "[-98.435,41.765],[-98.445,41.755]]]]}",
     "Nested shells at latitude", BOUNDARY},
    {POLYGON_OF("[[-98.45,41.75],[-98.45,41.75],[-98.45,41.75],[-98.45,41.75]]"),
     "fewer than 3 different points", BOUNDARY},
    {POLYGON_OF("[[-98.45,41.75],[-98.43,41.75],[-98.43,41.77],[-98.43,41.75],[-98.45,41.75]]"),
     "not valid", BOUNDARY},
};

START_TEST(refused_geojson)
{
    pappus_field *field;
    pappus_log log = {0};
    text_write("bad.geojson", bad_geojson[_i].text);
    int status = read_as(&field, "bad.geojson", bad_geojson[_i].what, &log);
    check_refused(status, field, &log, bad_geojson[_i].words);
}
END_TEST

START_TEST(refused_paths)
{
    pappus_field *field;
    pappus_log log = {0};
    int status = read_as(&field, "is-not-there.geojson", BOUNDARY, &log);
    check_refused(status, field, &log, "is-not-there.geojson");
    status = read_as(&field, ".", KEEP_OUT, &log);
    check_refused(status, field, &log, "folder");
}
END_TEST

/* Near the equator a swapped outline is in range and far away. */
START_TEST(swapped_near_the_equator)
{
    pappus_field *field;
    pappus_log log = {0};
    char path[256];
    pappus_plan plan = plan_at_pad();
    plan.site.latitude_deg = 10.0;
    plan.site.longitude_deg = 50.0;
    path_in(path, "swapped.geojson");
    plan.field.boundary_path = path;
    text_write("swapped.geojson",
               POLYGON_OF("[[9.99,49.99],[9.99,50.01],[10.01,50.01],[9.99,49.99]]"));
    int status = pappus_field_read(&field, &plan, &log);
    check_refused(status, field, &log, "latitude and longitude are swapped");
}
END_TEST

/* All that is wrong in all files, at once, each with its feature. */
START_TEST(all_faults_at_once)
{
    pappus_field *field;
    pappus_log log = {0};
    char boundary[256], roads[256];
    pappus_plan plan = plan_at_pad();
    path_in(boundary, "two.geojson");
    path_in(roads, "roads.geojson");
    plan.field.boundary_path = boundary;
    plan.field.roads_path = roads;
    text_write(
        "two.geojson",
        "{\"type\":\"FeatureCollection\",\"features\":[" FEATURE("{}", POLYGON) "," FEATURE(
            "{}",
            POLYGON_OF(
                "[[1,2],[3,4]]")) "," FEATURE("{}",
                                              "{\"type\":\"Point\",\"coordinates\":[0,0]}") "]}");
    text_write("roads.geojson", POLYGON);
    ck_assert_int_eq(pappus_field_read(&field, &plan, &log), PAPPUS_E_FIELD);
    ck_assert_uint_eq(log.count, 3);
    ck_assert_str_eq(log.entries[0].error.key, "feature 2");
    ck_assert_str_eq(log.entries[1].error.key, "feature 3");
    ck_assert_str_eq(log.entries[2].error.file, roads);
    pappus_log_clear(&log);
}
END_TEST

/* The same polygon, 0.02 degrees square, in each dress. X: on the WGS 84 ellipsoid
 * its sides are N cos(phi) dlambda and M dphi (Snyder, USGS PP 1395, eq. 4-18 to
 * 4-20), so 3692600 m2 about; the plane and straight edges move that by less than
 * 1e-5 of it at this size. */
static double square_m2(void)
{
    double a = 6378137.0, e2 = 0.00669437999014, d = 0.02 * PI / 180.0, phi = 41.76 * PI / 180.0;
    double w = 1.0 - e2 * sin(phi) * sin(phi);
    return a / sqrt(w) * cos(phi) * d * a * (1.0 - e2) / (w * sqrt(w)) * d;
}

static const char *const good_geojson[] = {
    POLYGON,
    FEATURE("null", POLYGON),
    "\xEF\xBB\xBF" POLYGON,
    "{\"type\":\"FeatureCollection\",\"features\":[" FEATURE(
        "{\"NAME\":\"x\"}", POLYGON) "," FEATURE("{}", "null") "]}",
    "{\"type\":\"GeometryCollection\",\"geometries\":[" POLYGON "]}",
    "{\"type\":\"MultiPolygon\",\"coordinates\":[[" RING "]]}",
    /* clockwise: inside out by RFC 7946, 3.1.6 */
    POLYGON_OF("[[-98.45,41.75],[-98.45,41.77],[-98.43,41.77],[-98.43,41.75],[-98.45,41.75]]"),
    /* with heights, and a point twice */
    POLYGON_OF("[[-98.45,41.75,500],[-98.43,41.75,510],[-98.43,41.75,510],[-98.43,41.77],"
               "[-98.45,41.77,500],[-98.45,41.75,500]]"),
    "{\"type\":\"Feature\",\"crs\":{\"type\":\"name\",\"properties\":{\"name\":"
    "\"urn:ogc:def:crs:OGC:1.3:CRS84\"}},\"properties\":{},\"geometry\":" POLYGON "}",
    /* two halves that touch along a side, as one geometry and as two features */
    "{\"type\":\"MultiPolygon\",\"coordinates\":[[[[-98.45,41.75],[-98.44,41.75],[-98.44,41.77],"
    "[-98.45,41.77],[-98.45,41.75]]],[[[-98.44,41.75],[-98.43,41.75],[-98.43,41.77],"
    "[-98.44,41.77],[-98.44,41.75]]]]}",
    "{\"type\":\"FeatureCollection\",\"features\":[" FEATURE(
        "{}", POLYGON_OF(
                  "[[-98.45,41.75],[-98.435,41.75],[-98.435,41.77],[-98.45,41.77],"
                  "[-98.45,41.75]]")) "," FEATURE("{}", POLYGON_OF("[[-98.44,41.75],[-98.43,41.75],"
                                                                   "[-98.43,41.77],[-98.44,41.77],"
                                                                   "[-98.44,41.75]]")) "]}",
};

START_TEST(read_geojson)
{
    pappus_log log = {0};
    text_write("good.geojson", good_geojson[_i]);
    pappus_field *field = read_good("good.geojson", BOUNDARY, &log);
    ck_assert_uint_eq(log.count, 0);
    ck_assert(field->has_boundary);
    ck_assert_uint_eq(field->boundary.polygon_count, 1);
    ck_assert_uint_eq(field->boundary.polygons[0].ring_count, 1);
    ck_assert_double_gt(pappus_ring_area_m2(&field->boundary.polygons[0].rings[0]), 0.0);
    ck_assert_double_eq_tol(pappus_area_m2(&field->boundary), square_m2(), 1e-4 * square_m2());
    pappus_field_free(field);
}
END_TEST

/* A field over the antimeridian, cut there as RFC 7946, 3.1.9 asks. X: the degrees
 * of longitude and latitude at 16.5 south as above. */
START_TEST(over_the_antimeridian)
{
    pappus_field *field;
    pappus_log log = {0};
    char path[256];
    pappus_plan plan = plan_at_pad();
    double a = 6378137.0, e2 = 0.00669437999014, d = 0.02 * PI / 180.0, phi = 16.5 * PI / 180.0;
    double w = 1.0 - e2 * sin(phi) * sin(phi);
    double expected = a / sqrt(w) * cos(phi) * d * a * (1.0 - e2) / (w * sqrt(w)) * d;
    plan.site.latitude_deg = -16.5;
    plan.site.longitude_deg = 179.995;
    path_in(path, "cut.geojson");
    plan.field.boundary_path = path;
    text_write("cut.geojson",
               "{\"type\":\"MultiPolygon\",\"coordinates\":[[[[179.99,-16.51],[180,-16.51],"
               "[180,-16.49],[179.99,-16.49],[179.99,-16.51]]],[[[-180,-16.51],[-179.99,-16.51],"
               "[-179.99,-16.49],[-180,-16.49],[-180,-16.51]]]]}");
    ck_assert_int_eq(pappus_field_read(&field, &plan, &log), PAPPUS_OK);
    ck_assert_uint_eq(log.count, 0);
    ck_assert_uint_eq(field->boundary.polygon_count, 1);
    ck_assert_double_eq_tol(pappus_area_m2(&field->boundary), expected, 1e-4 * expected);
    pappus_field_free(field);
}
END_TEST

START_TEST(holes_turn_clockwise)
{
    pappus_log log = {0};
    text_write("hole.geojson",
               POLYGON_OF(RING ",[[-98.445,41.755],[-98.435,41.755],[-98.435,41.765],"
                               "[-98.445,41.765],[-98.445,41.755]]"));
    pappus_field *field = read_good("hole.geojson", BOUNDARY, &log);
    const pappus_polygon *polygon = &field->boundary.polygons[0];
    ck_assert_uint_eq(polygon->ring_count, 2);
    ck_assert_double_lt(pappus_ring_area_m2(&polygon->rings[1]), 0.0);
    /* A hole of half the side takes a quarter. */
    ck_assert_double_eq_tol(pappus_area_m2(&field->boundary), 0.75 * square_m2(),
                            1e-4 * square_m2());
    /* The pad lies in the hole. */
    ck_assert_uint_eq(count_of(&log, PAPPUS_WARNING), 1);
    ck_assert_ptr_nonnull(strstr(log.entries[0].error.message, "outside the field boundary"));
    pappus_log_clear(&log);
    pappus_field_free(field);
}
END_TEST

/* A: each is a limit of the decision; 100 000 are read, one more is refused before anything is
 * made of it. */
START_TEST(keep_outs_are_bounded)
{
    static const char one[] = FEATURE("{}", POLYGON);
    size_t most = 100000, room = (most + 1) * sizeof one + 64;
    char *text = malloc(room), words[64];
    ck_assert_ptr_nonnull(text);
    for (size_t count = most; count <= most + 1; count++) {
        char *at = stpcpy(text, "{\"type\":\"FeatureCollection\",\"features\":[");
        for (size_t i = 0; i < count; i++)
            at = stpcpy(stpcpy(at, i > 0 ? "," : ""), one);
        strcpy(at, "]}");
        text_write("many.geojson", text);
        pappus_log log = {0};
        pappus_field *field;
        int status = read_as(&field, "many.geojson", KEEP_OUT, &log);
        if (count > most) {
            snprintf(words, sizeof words, "holds %zu areas; accepted are at most %zu", count, most);
            check_refused(status, field, &log, words);
            continue;
        }
        ck_assert_int_eq(status, PAPPUS_OK);
        ck_assert_uint_eq(field->keep_out_count, most);
        pappus_field_free(field);
        pappus_log_clear(&log);
    }
    free(text);
}
END_TEST

START_TEST(keep_out_names)
{
    static const char *const names[] = {"crowd", "keep-out 2", "crowd (2)",
                                        "Stra\xc3\x9f"
                                        "e",
                                        "7"};
    pappus_log log = {0};
    text_write(
        "names.geojson",
        "{\"type\":\"FeatureCollection\",\"features\":[" FEATURE("{\"name\":\"crowd\"}", POLYGON) "," FEATURE(
            "{\"name\":null}",
            POLYGON) "," FEATURE("{\"Name\":\"crowd\"}",
                                 POLYGON) "," FEATURE("{\"NAME\":\"Stra\xc3\x9f"
                                                      "e\"}",
                                                      POLYGON) "," FEATURE("{\"name\":7}",
                                                                           POLYGON) "]}");
    pappus_field *field = read_good("names.geojson", KEEP_OUT, &log);
    ck_assert(!field->has_boundary);
    ck_assert_uint_eq(field->keep_out_count, 5);
    for (size_t i = 0; i < 5; i++)
        ck_assert_str_eq(field->keep_outs[i].name, names[i]);
    /* The pad is inside each. */
    ck_assert_uint_eq(count_of(&log, PAPPUS_WARNING), 5);
    ck_assert_str_eq(log.entries[2].error.value, "crowd (2)");
    pappus_log_clear(&log);
    pappus_field_free(field);
}
END_TEST

START_TEST(a_name_with_control_characters)
{
    pappus_log log = {0};
    text_write("control.geojson", FEATURE("{\"name\":\"a\\nb\"}", POLYGON));
    pappus_field *field = read_good("control.geojson", KEEP_OUT, &log);
    ck_assert_str_eq(field->keep_outs[0].name, "keep-out 1");
    ck_assert_ptr_nonnull(strstr(log.entries[0].error.message, "control characters"));
    pappus_log_clear(&log);
    pappus_field_free(field);
}
END_TEST

START_TEST(roads_are_lines)
{
    pappus_log log = {0};
    text_write("lines.geojson",
               "{\"type\":\"FeatureCollection\",\"features\":[" FEATURE(
                   "{\"name\":\"track\"}",
                   "{\"type\":\"MultiLineString\",\"coordinates\":["
                   "[[-98.44,41.76],[-98.44,41.77]],[[-98.43,41.76],[-98.43,41.77],"
                   "[-98.42,41.77]]]}") "," FEATURE("{}", "{\"type\":\"LineString\","
                                                          "\"coordinates\":[[-98.44,41.76],"
                                                          "[-98.44,41.75]]}") "]}");
    pappus_field *field = read_good("lines.geojson", ROADS, &log);
    ck_assert_uint_eq(field->road_count, 3);
    ck_assert_str_eq(field->roads[0].name, "track");
    ck_assert_str_eq(field->roads[1].name, "track");
    ck_assert_str_eq(field->roads[2].name, "road 3");
    ck_assert_uint_eq(field->roads[1].point_count, 3);
    /* North along the pad's meridian. */
    ck_assert_double_eq_tol(field->roads[0].points_m[2], 0.0, 1e-6);
    ck_assert_double_gt(field->roads[0].points_m[3], 1000.0);
    pappus_field_free(field);
}
END_TEST

/* The whole file is refused only when all of it is far away. */
START_TEST(a_far_feature_among_near_ones)
{
    pappus_log log = {0};
    text_write("far.geojson",
               "{\"type\":\"FeatureCollection\",\"features\":[" FEATURE(
                   "{}",
                   "{\"type\":\"LineString\",\"coordinates\":[[-98.44,41.76],"
                   "[-98.43,41.76]]}") "," FEATURE("{}", "{\"type\":\"LineString\",\"coordinates\":"
                                                         "[[-90,41],[-91,41]]}") "]}");
    pappus_field *field = read_good("far.geojson", ROADS, &log);
    ck_assert_uint_eq(field->road_count, 2);
    pappus_field_free(field);
}
END_TEST

/* ------------------------------------------------------------- from the plan */

START_TEST(nothing_given)
{
    pappus_field *field;
    pappus_log log = {0};
    pappus_plan plan = plan_at_pad();
    ck_assert_int_eq(pappus_field_read(&field, &plan, &log), PAPPUS_OK);
    ck_assert(!field->has_boundary);
    ck_assert_uint_eq(field->keep_out_count + field->road_count + log.count, 0);
    pappus_field_free(field);
}
END_TEST

/* Every corner of the field's disc on the circle, every side of a keep-out's disc
 * outside of it: neither is ever on the unsafe side. X: area n/2 R^2 sin(2 pi/n)
 * and n R^2 tan(pi/n). */
START_TEST(discs)
{
    pappus_field *field;
    pappus_log log = {0};
    pappus_plan plan = plan_at_pad();
    pappus_inline_area disc = {
        .name = (char *)"crowd", .bearing_deg = 210.0, .distance_m = 800.0, .radius_m = 100.0};
    plan.field.radius_m = 1500.0;
    plan.field.keep_outs = &disc;
    plan.field.keep_out_count = 1;
    ck_assert_int_eq(pappus_field_read(&field, &plan, &log), PAPPUS_OK);
    ck_assert_uint_eq(log.count, 0);
    const pappus_ring *outer = &field->boundary.polygons[0].rings[0];
    const pappus_ring *crowd = &field->keep_outs[0].polygons[0].rings[0];
    double n = (double)outer->point_count, m = (double)crowd->point_count;
    ck_assert_double_ge(n, 72.0);
    ck_assert_double_eq_tol(pappus_ring_area_m2(outer),
                            n / 2.0 * 1500.0 * 1500.0 * sin(2.0 * PI / n), 1e-3);
    ck_assert_double_eq_tol(pappus_ring_area_m2(crowd), m * 1e4 * tan(PI / m), 1e-5);
    double east = 0.0, north = 0.0;
    for (size_t i = 0; i < crowd->point_count; i++) {
        east += crowd->points_m[2 * i] / m;
        north += crowd->points_m[2 * i + 1] / m;
    }
    ck_assert_double_eq_tol(east, -400.0, 1e-6);               /* 800 sin 210 */
    ck_assert_double_eq_tol(north, -800.0 * sqrt(0.75), 1e-6); /* 800 cos 210 */
    pappus_field_free(field);
}
END_TEST

START_TEST(points_of_the_plan)
{
    static double square[] = {41.75,  -98.45, 41.75,  -98.43, 41.77,
                              -98.43, 41.77,  -98.45, 41.75,  -98.45};
    pappus_field *field;
    pappus_log log = {0};
    pappus_plan plan = plan_at_pad();
    plan.field.points = square;
    plan.field.point_count = 4 + (size_t)_i; /* open, then closed */
    ck_assert_int_eq(pappus_field_read(&field, &plan, &log), PAPPUS_OK);
    ck_assert_uint_eq(field->boundary.polygons[0].rings[0].point_count, 4);
    ck_assert_double_eq_tol(pappus_area_m2(&field->boundary), square_m2(), 1e-4 * square_m2());
    ck_assert_str_eq(field->boundary.name, "field");
    pappus_field_free(field);
}
END_TEST

START_TEST(refused_in_the_plan)
{
    static double square[] = {41.75, -98.45, 41.75, -98.43, 41.77, -98.43};
    static double swapped[] = {-98.45, 41.75, -98.43, 41.75, -98.43, 41.77};
    static double nan_point[] = {41.75, -98.45, NAN, -98.43, 41.77, -98.43};
    static const char *const words[] = {"field.points",
                                        "latitude first",
                                        "not a number",
                                        "field.radius",
                                        "one of boundary, radius and points",
                                        "field.keep_out[0]",
                                        "field.keep_out[0]"};
    pappus_field *field;
    pappus_log log = {0};
    pappus_plan plan = plan_at_pad();
    pappus_inline_area area = {
        .radius_m = _i == 5 ? NAN : 10.0, .bearing_deg = 0.0, .distance_m = _i == 6 ? -1.0 : 5.0};
    if (_i < 3) {
        plan.field.points = _i == 0 ? square : _i == 1 ? swapped : nan_point;
        plan.field.point_count = _i == 0 ? 2 : 3;
    } else if (_i < 5) {
        plan.field.radius_m = _i == 3 ? -5.0 : 100.0;
        plan.field.points = square;
        plan.field.point_count = _i == 3 ? 0 : 3;
    } else {
        plan.field.keep_outs = &area;
        plan.field.keep_out_count = 1;
    }
    int status = pappus_field_read(&field, &plan, &log);
    check_refused(status, field, &log, words[_i]);
}
END_TEST

/* --------------------------------------------------------------- shapefiles */

static const double square_xy[] = {-98.45, 41.75,  -98.45, 41.77,  -98.43,
                                   41.77,  -98.43, 41.75,  -98.45, 41.75};

/* Writes shape.shp, .shx, .dbf with one shape of the given parts. */
static void shape_write(int type, const double *xy, int points, const int *starts, int parts,
                        const char *name)
{
    char path[256];
    double x[64], y[64];
    path_in(path, "shape");
    SHPHandle shapes = SHPCreate(path, type);
    DBFHandle table = DBFCreate(path);
    ck_assert_ptr_nonnull(shapes);
    ck_assert_int_eq(DBFAddField(table, "NAME", FTString, 40, 0), 0);
    for (int i = 0; i < points; i++) {
        x[i] = xy[2 * i];
        y[i] = xy[2 * i + 1];
    }
    SHPObject *shape = SHPCreateObject(type, -1, parts, starts, NULL, points, x, y, NULL, NULL);
    ck_assert_int_eq(SHPWriteObject(shapes, -1, shape), 0);
    SHPDestroyObject(shape);
    ck_assert(DBFWriteStringAttribute(table, 0, 0, name));
    SHPClose(shapes);
    DBFClose(table);
}

static void shape_remove(const char *extension)
{
    char path[256], name[32];
    snprintf(name, sizeof name, "shape.%s", extension);
    path_in(path, name);
    unlink(path);
}

/* A whole good shapefile to spoil. */
static void shape_good(void)
{
    static const int start[] = {0};
    char *prj;
    shape_remove("cpg");
    shape_write(SHPT_POLYGON, square_xy, 5, start, 1, "north field");
    ck_assert_int_eq(pappus_crs_wkt(&prj, PAPPUS_EPSG_WGS84, NULL), PAPPUS_OK);
    text_write("shape.prj", prj);
    free(prj);
}

START_TEST(read_shapefile)
{
    static const int types[] = {SHPT_POLYGON, SHPT_POLYGONZ, SHPT_POLYGONM};
    static const int start[] = {0};
    pappus_log log = {0};
    shape_good();
    shape_write(types[_i], square_xy, 5, start, 1, "north field");
    pappus_field *field = read_good("shape.shp", BOUNDARY, &log);
    ck_assert_str_eq(field->boundary.name, "north field");
    ck_assert_double_eq_tol(pappus_area_m2(&field->boundary), square_m2(), 1e-4 * square_m2());
    pappus_field_free(field);
}
END_TEST

/* Two parts, the first with a hole, clockwise shells as the format has them and
 * the whole inside out: the same field. */
START_TEST(parts_and_holes)
{
    static const int starts[] = {0, 5, 9};
    double xy[] = {-98.45, 41.75,   -98.45, 41.77,   -98.43, 41.77,   -98.43, 41.75,   -98.45,
                   41.75,  -98.445, 41.755, -98.435, 41.755, -98.435, 41.765, -98.445, 41.755,
                   -98.42, 41.75,   -98.42, 41.77,   -98.41, 41.77,   -98.42, 41.75};
    int n = (int)(sizeof xy / sizeof *xy / 2);
    pappus_log log = {0};
    shape_good();
    if (_i == 1) {
        static const int first[] = {0, 5, 9, 13};
        for (int part = 0; part < 3; part++)
            for (int i = first[part], k = first[part + 1] - 1; i < k; i++, k--)
                for (int axis = 0; axis < 2; axis++) {
                    double keep = xy[2 * i + axis];
                    xy[2 * i + axis] = xy[2 * k + axis];
                    xy[2 * k + axis] = keep;
                }
    }
    shape_write(SHPT_POLYGON, xy, n, starts, 3, "");
    pappus_field *field = read_good("shape.shp", BOUNDARY, &log);
    ck_assert_uint_eq(field->boundary.polygon_count, 2);
    /* 1 square, less half of a quarter, and half of a half. */
    ck_assert_double_eq_tol(pappus_area_m2(&field->boundary), 1.125 * square_m2(),
                            2e-4 * square_m2());
    pappus_log_clear(&log);
    pappus_field_free(field);
}
END_TEST

START_TEST(names_in_other_letters)
{
    static const int start[] = {0};
    pappus_log log = {0};
    shape_good();
    shape_write(SHPT_POLYGON, square_xy, 5, start, 1, "caf\xe9");
    pappus_field *field = read_good("shape.shp", KEEP_OUT, &log);
    ck_assert_str_eq(field->keep_outs[0].name, "caf\xc3\xa9");
    pappus_field_free(field);
    pappus_log_clear(&log);
    shape_write(SHPT_POLYGON, square_xy, 5, start, 1, "caf\xc3\xa9");
    text_write("shape.cpg", "UTF-8");
    field = read_good("shape.shp", KEEP_OUT, &log);
    ck_assert_str_eq(field->keep_outs[0].name, "caf\xc3\xa9");
    pappus_field_free(field);
    pappus_log_clear(&log);
}
END_TEST

START_TEST(null_shapes_and_no_dbf)
{
    char path[256];
    pappus_log log = {0};
    shape_good();
    shape_remove("dbf");
    path_in(path, "shape");
    SHPHandle shapes = SHPOpen(path, "rb+");
    SHPObject *null = SHPCreateSimpleObject(SHPT_NULL, 0, NULL, NULL, NULL);
    ck_assert_int_eq(SHPWriteObject(shapes, -1, null), 1);
    SHPDestroyObject(null);
    SHPClose(shapes);
    pappus_field *field = read_good("shape.shp", BOUNDARY, &log);
    ck_assert_str_eq(field->boundary.name, "field");
    pappus_field_free(field);
}
END_TEST

/* GeoJSON in a file called .shp, told by content. */
START_TEST(told_by_content)
{
    pappus_log log = {0};
    text_write("really-json.shp", POLYGON);
    pappus_field_free(read_good("really-json.shp", BOUNDARY, &log));
}
END_TEST

static void spoil_truncate(const char *extension)
{
    char path[256], name[32];
    snprintf(name, sizeof name, "shape.%s", extension);
    path_in(path, name);
    ck_assert_int_eq(truncate(path, 120), 0);
}

static const double bow_tie[] = {-98.45, 41.75,  -98.43, 41.77,  -98.43,
                                 41.75,  -98.45, 41.77,  -98.45, 41.75};
static const double unclosed[] = {-98.45, 41.75, -98.45, 41.77, -98.43, 41.77, -98.43, 41.75};
static const double in_metres[] = {546000,  4623000, 546000,  4625000, 548000,
                                   4625000, 548000,  4623000, 546000,  4623000};
/* A square and, apart from it, a smaller ring the other way round. */
static const double hole_outside[] = {-98.45, 41.75, -98.45, 41.77, -98.43, 41.77,
                                      -98.43, 41.75, -98.45, 41.75, -98.40, 41.75,
                                      -98.39, 41.75, -98.39, 41.76, -98.40, 41.75};

static const char *const shapefile_words[] = {"its .prj is missing",
                                              "no reference system",
                                              "no reference system that PROJ",
                                              "its .shx is missing",
                                              "truncated",
                                              "truncated",
                                              "found Point: a boundary takes polygons",
                                              "not a number",
                                              "name the .shp",
                                              "ring is not closed",
                                              "Self-intersection at latitude 41.76",
                                              "out of range",
                                              "Hole lies outside shell",
                                              "not UTF-8 though the .cpg",
                                              ".dbf cannot be read",
                                              "found Arc: a boundary takes polygons",
                                              "found Polygon: a road takes lines"};

static void spoil(int how)
{
    static const int start[] = {0}, two[] = {0, 5};
    double nan_xy[10];
    memcpy(nan_xy, square_xy, sizeof nan_xy);
    nan_xy[5] = NAN;
    if (how == 0) shape_remove("prj");
    if (how == 1) text_write("shape.prj", "+proj=longlat");
    if (how == 2) text_write("shape.prj", "PROJCS[\"nowhere\"]");
    if (how == 3) shape_remove("shx");
    if (how == 4) spoil_truncate("shp");
    if (how == 5) file_write("shape.shx", "\0\0\x27\x0a", 4);
    if (how == 6) shape_write(SHPT_POINT, square_xy, 1, start, 0, "x");
    if (how == 7) shape_write(SHPT_POLYGON, nan_xy, 5, start, 1, "x");
    if (how == 9) shape_write(SHPT_POLYGON, unclosed, 4, start, 1, "x");
    if (how == 10) shape_write(SHPT_POLYGON, bow_tie, 5, start, 1, "x");
    if (how == 11) shape_write(SHPT_POLYGON, in_metres, 5, start, 1, "x");
    if (how == 12) shape_write(SHPT_POLYGON, hole_outside, 9, two, 2, "x");
    if (how == 13) {
        shape_write(SHPT_POLYGON, square_xy, 5, start, 1, "caf\xe9");
        text_write("shape.cpg", "UTF-8"); /* after: the library takes an older one away */
    }
    if (how == 14) text_write("shape.dbf", "x");
    if (how == 15) shape_write(SHPT_ARC, square_xy, 5, start, 1, "x");
}

START_TEST(refused_shapefiles)
{
    pappus_field *field;
    pappus_log log = {0};
    shape_good();
    spoil(_i);
    int status =
        read_as(&field, _i == 8 ? "shape.shx" : "shape.shp", _i == 16 ? ROADS : BOUNDARY, &log);
    check_refused(status, field, &log, shapefile_words[_i]);
}
END_TEST

START_TEST(under_a_comma_locale)
{
    pappus_log log = {0};
    if (!set_german_locale()) return;
    shape_good();
    text_write("comma.geojson", POLYGON);
    for (int i = 0; i < 2; i++) {
        pappus_field *field = read_good(i ? "shape.shp" : "comma.geojson", BOUNDARY, &log);
        double size = pappus_area_m2(&field->boundary), bounds[4];
        ck_assert_double_eq_tol(size, square_m2(), 1e-4 * square_m2());
        /* About the pad, whose degrees have decimals too. */
        ck_assert(pappus_area_bounds(bounds, &field->boundary));
        ck_assert_double_eq_tol(bounds[0] + bounds[2], 0.0, 1.0);
        ck_assert_double_eq_tol(bounds[1] + bounds[3], 0.0, 1.0);
        pappus_field_free(field);
    }
    ck_assert_str_eq(localeconv()->decimal_point, ",");
    setlocale(LC_ALL, "C");
}
END_TEST

#define COUNT(table) (int)(sizeof(table) / sizeof *(table))

SUITE("outline")
{
    tcase_add_checked_fixture(tests, make_folder, remove_folder);
    tcase_add_loop_test(tests, refused_geojson, 0, COUNT(bad_geojson));
    tcase_add_test(tests, refused_paths);
    tcase_add_test(tests, swapped_near_the_equator);
    tcase_add_test(tests, all_faults_at_once);
    tcase_add_loop_test(tests, read_geojson, 0, COUNT(good_geojson));
    tcase_add_test(tests, over_the_antimeridian);
    tcase_add_test(tests, holes_turn_clockwise);
    tcase_add_test(tests, keep_outs_are_bounded);
    tcase_add_test(tests, keep_out_names);
    tcase_add_test(tests, a_name_with_control_characters);
    tcase_add_test(tests, roads_are_lines);
    tcase_add_test(tests, a_far_feature_among_near_ones);
    tcase_add_test(tests, nothing_given);
    tcase_add_test(tests, discs);
    tcase_add_loop_test(tests, points_of_the_plan, 0, 2);
    tcase_add_loop_test(tests, refused_in_the_plan, 0, 7);
    tcase_add_loop_test(tests, read_shapefile, 0, 3);
    tcase_add_loop_test(tests, parts_and_holes, 0, 2);
    tcase_add_test(tests, names_in_other_letters);
    tcase_add_test(tests, null_shapes_and_no_dbf);
    tcase_add_test(tests, told_by_content);
    tcase_add_loop_test(tests, refused_shapefiles, 0, COUNT(shapefile_words));
    tcase_add_test(tests, under_a_comma_locale);
}
