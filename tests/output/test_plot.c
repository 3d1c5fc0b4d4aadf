/* SPDX-License-Identifier: GPL-3.0-or-later
 * Parts of plots, as they stand in the SVG: ticks where the scale puts them, lines that
 * break where nothing is known, what has a period drawn as often as it is seen. Expected
 * values are plain arithmetic (X). */
#include "plot.h"

#include <libxml/parser.h>
#include <math.h>
#include <string.h>

#include "suite.h"

static pappus_xml begin(void)
{
    pappus_xml xml;
    ck_assert_int_eq(pappus_xml_begin(&xml, NULL), PAPPUS_OK);
    svg_begin(&xml, 100, 100, "test");
    return xml;
}

static xmlDocPtr end(pappus_xml *xml)
{
    char *text;
    size_t size;
    pappus_xml_end(xml);
    ck_assert_int_eq(pappus_xml_finish(&text, &size, xml, PAPPUS_OK, NULL), PAPPUS_OK);
    xmlDocPtr document = xmlReadMemory(text, (int)size, "plot.svg", NULL, XML_PARSE_NONET);
    ck_assert_ptr_nonnull(document);
    free(text);
    return document;
}

static xmlNodePtr next(xmlNodePtr node, const char *name)
{
    while (node && (node->type != XML_ELEMENT_NODE || strcmp((const char *)node->name, name) != 0))
        node = node->next;
    return node;
}

static double number(xmlNodePtr node, const char *attribute)
{
    xmlChar *text = xmlGetProp(node, BAD_CAST attribute);
    ck_assert_ptr_nonnull(text);
    double value = strtod((const char *)text, NULL);
    xmlFree(text);
    return value;
}

/* Span, most steps, step: the least of 1, 2, 5 times ten that keeps to the most. */
START_TEST(steps_are_round)
{
    static const double cases[][3] = {{10, 10, 1},    {11, 10, 2},     {21, 10, 5},
                                      {51, 10, 10},   {0.35, 7, 0.05}, {29, 7, 5},
                                      {1000, 6, 200}, {6562, 10, 1000}};
    const double *c = cases[_i];
    ck_assert_double_eq_tol(plot_step(c[0], c[1]), c[2], 1e-9 * c[2]);
}
END_TEST

/* 3 to 17 m in feet (0.3048 m), every 20 ft: 20 and 40 ft of 9.8 to 55.8 ft. */
START_TEST(ticks_stand_at_their_values)
{
    static const plot_tick dash = {1, {{50, 55}}, "dash"};
    plot_axis axis = {
        {3, 17, 10, 90, 0}, false, 0.3048, 20, &dash, 70, 2, "label", NULL, 40, "bound"};
    pappus_xml xml = begin();
    plot_put_axis(&xml, &axis);
    xmlDocPtr document = end(&xml);
    xmlNodePtr node = xmlDocGetRootElement(document)->children;
    for (int feet = 20; feet <= 40; feet += 20) {
        double x = 10 + 80 * (feet * 0.3048 - 3) / 14;
        node = next(node, "line");
        ck_assert_ptr_nonnull(node);
        ck_assert_double_eq_tol(number(node, "x1"), x, 0.051);
        ck_assert_double_eq_tol(number(node, "y2"), 55, 1e-9);
        xmlChar *style = xmlGetProp(node, BAD_CAST "class");
        ck_assert_str_eq((const char *)style, feet == 40 ? "bound" : "dash");
        xmlFree(style);
        node = next(node, "text");
        ck_assert_double_eq_tol(number(node, "x"), x, 0.051);
        ck_assert_double_eq_tol(number(node, "y"), 72, 1e-9);
        xmlChar *text = xmlNodeGetContent(node);
        ck_assert_double_eq(strtod((const char *)text, NULL), feet);
        xmlFree(text);
    }
    ck_assert_ptr_null(next(node, "line"));
    xmlFreeDoc(document);
}
END_TEST

START_TEST(nought_has_no_sign)
{
    static const plot_tick dash = {1, {{0, 5}}, "dash"};
    plot_axis axis = {{0, 1, 0, 100, 0}, true, 1, 1, &dash, 0, 0, "label", NULL, 0, NULL};
    pappus_xml xml = begin();
    plot_put_axis(&xml, &axis);
    xmlDocPtr document = end(&xml);
    xmlChar *text = xmlNodeGetContent(next(xmlDocGetRootElement(document)->children, "text"));
    ck_assert_str_eq((const char *)text, "0");
    xmlFree(text);
    xmlFreeDoc(document);
}
END_TEST

static void check_path(const plot_scale *x, const plot_series *series, const char *expected)
{
    plot_scale y = {0, 10, 100, 0, 0};
    pappus_xml xml = begin();
    plot_put_series(&xml, "line", x, &y, series);
    xmlDocPtr document = end(&xml);
    xmlChar *data =
        xmlGetProp(next(xmlDocGetRootElement(document)->children, "path"), BAD_CAST "d");
    ck_assert_str_eq((const char *)data, expected);
    xmlFree(data);
    xmlFreeDoc(document);
}

START_TEST(series_break_close_and_come_again)
{
    static const double up[] = {0, 2.5, 5, 7.5}, gap[] = {1, 2, NAN, 4}, to[] = {2, 3, 4, 5};
    static const double turns[] = {350, 370}, ends[] = {0, 10}, wide[] = {380, 390};
    plot_scale plain = {0, 10, 0, 100, 0}, round = {0, 360, 0, 360, 360};
    check_path(&plain, &(plot_series){4, gap, NULL, up}, "M10.0 100.0L20.0 75.0M40.0 25.0");
    check_path(&plain, &(plot_series){2, up, to, up}, "M0.0 100.0L25.0 75.0L30.0 75.0L20.0 100.0Z");
    /* 350 to 370 degrees is also -10 to 10 */
    check_path(&round, &(plot_series){2, turns, NULL, ends},
               "M-10.0 100.0L10.0 0.0M350.0 100.0L370.0 0.0");
    /* a band from 350..370 to 380..390 is seen from -10 and from 350 */
    check_path(&round, &(plot_series){2, turns, wide, ends},
               "M-10.0 100.0L10.0 0.0L30.0 0.0L20.0 100.0Z"
               "M350.0 100.0L370.0 0.0L390.0 0.0L380.0 100.0Z");
    /* without extent, a scale has its values in its middle */
    plot_scale point = {3, 3, 0, 100, 0};
    ck_assert_double_eq(plot_at(&point, 3), 50);
}
END_TEST

SUITE("plot")
{
    tcase_add_loop_test(tests, steps_are_round, 0, 8);
    tcase_add_test(tests, ticks_stand_at_their_values);
    tcase_add_test(tests, nought_has_no_sign);
    tcase_add_test(tests, series_break_close_and_come_again);
}
