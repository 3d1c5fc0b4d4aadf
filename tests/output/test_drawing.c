/* SPDX-License-Identifier: GPL-3.0-or-later
 * The parts of a drawing: one scale on both axes, a frame that no vast field spoils,
 * labels that keep clear of one another, text cut between letters; and whole drawings
 * of what an answer may lack. Expected values are geometry (X) or plain arithmetic. */
#include "drawing.h"
#include "format.h"
#include "drawing_svg.h"
#include "format.h"
#include "report.h"

#include <libxml/parser.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "sample_answer.h"
#include "suite.h"

/* ------------------------------------------------------------------------ view */

START_TEST(one_scale_north_up)
{
    view_extent extent = {-300, -100, 500, 900};
    view v = view_fit(&extent, 10, 20, 400, 100, 1000);
    double right = view_x(&v, 100) - view_x(&v, 0), up = view_y(&v, 0) - view_y(&v, 100);
    ck_assert_double_eq_tol(right, up, 1e-9); /* 100 m east is as long as 100 m north */
    ck_assert_double_eq_tol(right, 100 * v.scale, 1e-9);
    ck_assert(right > 0);
    ck_assert(view_holds(&v, -300, -100) && view_holds(&v, 500, 900));
    /* Middle of the extent in the middle of the frame. */
    ck_assert_double_eq_tol(view_x(&v, 100), 210, 1e-9);
    ck_assert_double_eq_tol(view_y(&v, 400), (v.frame.top + v.frame.bottom) / 2, 1e-9);
}
END_TEST

START_TEST(frame_keeps_within_its_bounds)
{
    /* Width, height of the extent in metres: flat, tall, a point. */
    static const double extents[][2] = {{5000, 1}, {1, 5000}, {0, 0}, {700, 700}};
    const double *e = extents[_i];
    view_extent extent = {0, 0, e[0], e[1]};
    view v = view_fit(&extent, 0, 0, 400, 150, 600);
    ck_assert(v.frame.bottom >= 150 && v.frame.bottom <= 600);
    ck_assert(isfinite(v.scale) && v.scale > 0);
    ck_assert(view_holds(&v, 0, 0) && view_holds(&v, e[0], e[1]));
}
END_TEST

static pappus_area square(double *points, pappus_ring *ring, pappus_polygon *polygon, double half_m)
{
    const double corners[8] = {-half_m, -half_m, half_m, -half_m, half_m, half_m, -half_m, half_m};
    memcpy(points, corners, sizeof corners);
    *ring = (pappus_ring){4, points};
    *polygon = (pappus_polygon){1, ring};
    return (pappus_area){NULL, 1, polygon};
}

START_TEST(vast_field_does_not_spoil_the_frame)
{
    double points[8];
    pappus_ring ring;
    pappus_polygon polygon;
    view_extent extent = {0, 0, 1000, 500};
    pappus_area field = square(points, &ring, &polygon, 50000);
    view_extent_add_near(&extent, &field, 5, 4);
    /* 4 times 1000 m about the middle (500, 250). */
    ck_assert_double_eq_tol(extent.west_m, -1500, 1e-9);
    ck_assert_double_eq_tol(extent.east_m, 2500, 1e-9);
    ck_assert_double_eq_tol(extent.south_m, -1750, 1e-9);
    ck_assert_double_eq_tol(extent.north_m, 2250, 1e-9);
    field = square(points, &ring, &polygon, 800);
    extent = (view_extent){0, 0, 1000, 500};
    view_extent_add_near(&extent, &field, 5, 4);
    ck_assert_double_eq_tol(extent.west_m, -800, 1e-9); /* a near field is shown whole */
    ck_assert_double_eq_tol(extent.east_m, 1000, 1e-9);
}
END_TEST

START_TEST(scale_bars_are_round)
{
    static const double cases[][2] = {{7, 5},      {2, 2},         {1.9, 1},  {4999, 2000},
                                      {0.35, 0.2}, {12345, 10000}, {500, 500}};
    ck_assert_double_eq_tol(view_round_length(cases[_i][0]), cases[_i][1], 1e-9 * cases[_i][1]);
}
END_TEST

/* A linear congruential generator (Knuth, TAOCP 2, MMIX) for places. */
static double next_place(unsigned long long *state)
{
    *state = *state * 6364136223846793005ULL + 1442695040888963407ULL;
    return (double)(*state >> 40) / 16777216.0;
}

START_TEST(labels_keep_clear_of_one_another)
{
    view_labels labels = {.frame = {0, 0, 400, 300}};
    unsigned long long state = 7;
    size_t placed = 0;
    for (int i = 0; i < 60; i++) {
        view_label label = {
            400 * next_place(&state), 300 * next_place(&state), 5, 5, 60, 14, i % 2 == 0};
        view_spot spot;
        if (!view_labels_place(&labels, &spot, label)) continue;
        placed++;
        double left = spot.x - (1 - spot.anchor) * 30, baseline = spot.baseline;
        ck_assert(left >= 0 && left + 60 <= 400 && baseline <= 300 && baseline - 9 >= 0);
    }
    ck_assert_uint_ge(placed, 15);
    ck_assert_uint_eq(labels.count, placed);
    for (size_t i = 0; i < labels.count; i++) {
        for (size_t k = i + 1; k < labels.count; k++) {
            const view_box *a = &labels.boxes[i], *b = &labels.boxes[k];
            ck_assert(a->right <= b->left || b->right <= a->left || a->bottom <= b->top ||
                      b->bottom <= a->top);
        }
    }
}
END_TEST

START_TEST(labels_keep_off_roads_where_there_is_room)
{
    view_labels labels = {.frame = {0, 0, 400, 300}};
    view_label label = {200, 150, 5, 10, 60, 14, false};
    view_spot spot;
    view_labels_avoid(&labels, (view_line){230, 0, 230, 300}); /* right of the point */
    ck_assert(view_labels_place(&labels, &spot, label));
    ck_assert_int_eq(spot.anchor, -1);                         /* it stands on the left */
    ck_assert_double_eq_tol(spot.x, 195, 1e-9);                /* and ends at the gap */
    ck_assert(view_labels_place(&labels, &spot, label));       /* above is crossed, */
    ck_assert(!(spot.box.left < 230 && spot.box.right > 230)); /* above left is not */
    labels.frame = (view_box){190, 0, 400, 300};               /* without room on the left */
    ck_assert(view_labels_place(&labels, &spot, label));
    ck_assert(spot.box.left < 230 && spot.box.right > 230);
}
END_TEST

START_TEST(lines_are_cut_to_a_box)
{
    /* A line; what of it is in the square of 10 to 20, or nothing. X: similar triangles. */
    static const struct {
        view_line line, inside;
        bool any;
    } cases[] = {
        {{0, 15, 30, 15}, {10, 15, 20, 15}, true},  {{0, 0, 30, 30}, {10, 10, 20, 20}, true},
        {{12, 14, 13, 16}, {12, 14, 13, 16}, true}, {{0, 5, 30, 5}, {0, 0, 0, 0}, false},
        {{0, 14, 8, 30}, {0, 0, 0, 0}, false},      {{15, 0, 15, 12}, {15, 10, 15, 12}, true}};
    const view_box box = {10, 10, 20, 20};
    view_line line = cases[_i].line;
    ck_assert_int_eq(view_line_clip(&line, &box), cases[_i].any);
    if (!cases[_i].any) return;
    ck_assert_double_eq_tol(line.x1, cases[_i].inside.x1, 1e-9);
    ck_assert_double_eq_tol(line.y1, cases[_i].inside.y1, 1e-9);
    ck_assert_double_eq_tol(line.x2, cases[_i].inside.x2, 1e-9);
    ck_assert_double_eq_tol(line.y2, cases[_i].inside.y2, 1e-9);
}
END_TEST

/* ------------------------------------------------------------------------ text */

START_TEST(text_is_cut_between_letters)
{
    static const char *const texts[] = {"Mulberry Flat, the far corner",
                                        "\xC3\xA9\xC3\xA9\xC3\xA9"
                                        "\xC3\xA9\xC3\xA9\xC3\xA9\xC3\xA9\xC3\xA9",
                                        "\xE9\x87\x8E\xE5\x8E\x9F\xE9\x87\x8E\xE5\x8E\x9F", "",
                                        "\xF0\x9F\x9A\x80\xF0\x9F\x9A\x80\xF0\x9F\x9A\x80"};
    for (double width = 0; width < 250; width += 3) {
        for (size_t size = 8; size < 40; size += 7) {
            char out[64];
            svg_text_fit(out, size, texts[_i], 14, width);
            char *clean = pappus_text_clean(out);
            ck_assert_str_eq(clean, out); /* whole UTF-8 */
            ck_assert_uint_lt(strlen(out), size);
            ck_assert(svg_text_width(out, 14) <= fmax(width, 14) + 1e-9);
            free(clean);
        }
    }
}
END_TEST

START_TEST(lines_break_at_spaces)
{
    char line[64];
    const char *text = "one two three";
    /* 0.6 em a letter: seven letters are 58.8 units at 14. */
    size_t used = svg_text_line(line, sizeof line, text, 14, 60);
    ck_assert_str_eq(line, "one two");
    ck_assert_str_eq(text + used, "three");
    used = svg_text_line(line, sizeof line, text, 14, 1000);
    ck_assert_str_eq(line, text);
    ck_assert_uint_eq(used, strlen(text));
}
END_TEST

START_TEST(arrow_points_along_its_bearing)
{
    /* Bearing; tip of an arrow 20 long about (100, 100), y down. */
    static const double cases[][3] = {
        {0, 100, 90}, {90, 110, 100}, {180, 100, 110}, {270, 90, 100}};
    pappus_xml xml;
    char *text;
    size_t size;
    double x, y;
    ck_assert_int_eq(pappus_xml_begin(&xml, NULL), PAPPUS_OK);
    svg_arrow(&xml, 100, 100, 20, cases[_i][0], "a");
    ck_assert_int_eq(pappus_xml_finish(&text, &size, &xml, PAPPUS_OK, NULL), PAPPUS_OK);
    const char *second = strchr(strstr(text, "d=\"M") + 4, 'M');
    ck_assert_int_eq(sscanf(second, "M%lf %lf", &x, &y), 2);
    ck_assert_double_eq_tol(x, cases[_i][1], 0.051);
    ck_assert_double_eq_tol(y, cases[_i][2], 0.051);
    free(text);
}
END_TEST

/* --------------------------------------------------------------------- drawings */

static char *draw(const drawing *d)
{
    pappus_xml xml;
    char *text;
    size_t size;
    ck_assert_int_eq(pappus_xml_begin(&xml, NULL), PAPPUS_OK);
    int status = drawing_map(&xml, d, NULL);
    ck_assert_int_eq(pappus_xml_finish(&text, &size, &xml, status, NULL), PAPPUS_OK);
    xmlDocPtr document = xmlReadMemory(text, (int)size, NULL, NULL, XML_PARSE_NOERROR);
    ck_assert_ptr_nonnull(document);
    xmlFreeDoc(document);
    ck_assert_ptr_null(strstr(text, "\"nan"));
    ck_assert_ptr_null(strstr(text, " nan"));
    ck_assert_ptr_null(strstr(text, "inf "));
    return text;
}

START_TEST(drawn_whatever_is_missing)
{
    sample_answer *sample = sample_answer_make(500, "field & <co>");
    pappus_decision flight = PAPPUS_NO_GO;
    if (_i & 1) sample_answer_bare(sample);
    drawing d = {&sample->answer, _i & 2 ? PAPPUS_UNITS_SI : PAPPUS_UNITS_US,
                 (drawing_subject)(_i / 8), (_i & 4) != 0, &flight};
    char *text = draw(&d), *again = draw(&d);
    ck_assert_str_eq(text, again);
    /* A picture of its own tells the flight's decision, whatever the part's is. */
    ck_assert((strstr(text, ">NO-GO<") != NULL) == d.alone);
    free(text);
    free(again);
    sample_answer_clear(sample);
}
END_TEST

START_TEST(png_is_the_same_twice)
{
    sample_answer *sample = sample_answer_make(500, "field");
    drawing d = {&sample->answer, PAPPUS_UNITS_US, DRAWING_ZONE, true, NULL};
    char *text = draw(&d);
    unsigned char *one, *two;
    size_t one_size, two_size;
    pappus_isolation pictures[2];
    for (int i = 0; i < 2; i++)
        ck_assert_int_eq(drawing_png_start(&pictures[i], text, strlen(text), 480, NULL), PAPPUS_OK);
    ck_assert_int_eq(drawing_png_finish(&one, &one_size, &pictures[0], NULL), PAPPUS_OK);
    ck_assert_int_eq(drawing_png_finish(&two, &two_size, &pictures[1], NULL), PAPPUS_OK);
    ck_assert_uint_eq(one_size, two_size);
    ck_assert_mem_eq(one, two, one_size);
    ck_assert_mem_eq(one, "\x89PNG\r\n\x1a\n", 8); /* PNG (ISO/IEC 15948), 5.2 */
    free(one);
    free(two);
    free(text);
    sample_answer_clear(sample);
}
END_TEST

START_TEST(what_is_no_drawing_is_no_png)
{
    pappus_error error = {0};
    unsigned char *out;
    size_t size;
    pappus_isolation picture;
    ck_assert_int_eq(drawing_png_start(&picture, "<svg", 4, 480, &error), PAPPUS_OK);
    ck_assert_int_eq(drawing_png_finish(&out, &size, &picture, &error), PAPPUS_E_OUTPUT);
    ck_assert_ptr_null(out);
    ck_assert_str_eq(error.file, "map.png");
    ck_assert(error.message[0] != '\0');
}
END_TEST

SUITE("drawing")
{
    tcase_add_test(tests, one_scale_north_up);
    tcase_add_loop_test(tests, frame_keeps_within_its_bounds, 0, 4);
    tcase_add_test(tests, vast_field_does_not_spoil_the_frame);
    tcase_add_loop_test(tests, scale_bars_are_round, 0, 7);
    tcase_add_test(tests, labels_keep_clear_of_one_another);
    tcase_add_test(tests, labels_keep_off_roads_where_there_is_room);
    tcase_add_loop_test(tests, lines_are_cut_to_a_box, 0, 6);
    tcase_add_loop_test(tests, text_is_cut_between_letters, 0, 5);
    tcase_add_test(tests, lines_break_at_spaces);
    tcase_add_loop_test(tests, arrow_points_along_its_bearing, 0, 4);
    tcase_add_loop_test(tests, drawn_whatever_is_missing, 0, 24);
    tcase_add_test(tests, png_is_the_same_twice);
    tcase_add_test(tests, what_is_no_drawing_is_no_png);
}
