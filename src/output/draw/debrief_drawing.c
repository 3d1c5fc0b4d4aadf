/* SPDX-License-Identifier: GPL-3.0-or-later
 * A debrief drawn: the flown heights over the band that was expected, the landings in the
 * contours they were expected in, and the shares inside the contours. */
#include "debrief_drawing.h"

#include "error.h"
#include "format.h"
#include "plot.h"

#include <math.h>

#define WIDTH 480.0
#define HEIGHT 340.0
#define LEFT 58.0
#define RIGHT 466.0
#define TOP 64.0
#define BOTTOM 284.0
#define DOT 4.0

static const plot_tick grid = {1, {{LEFT, RIGHT}}, "t-grid"};
static const plot_tick dash = {1, {{BOTTOM, BOTTOM + 5}}, "t-axis"};

static void begin(pappus_xml *xml, const char *title, const char *what)
{
    svg_begin(xml, WIDTH, HEIGHT, what);
    pappus_xml_element(xml, "style", "%s%s", drawing_trade_style, drawing_skill_style);
    svg_text(xml, 4, 18, "t-text t-strong", "%s", title);
}

static int end(pappus_xml *xml, pappus_error *err)
{
    pappus_xml_end(xml);
    return xml->failed ? pappus_fail_memory(err) : PAPPUS_OK;
}

static void put_axes(pappus_xml *xml, plot_scale x, double x_unit, const char *text, plot_scale y,
                     double y_unit)
{
    plot_axis up = {y,     true,     y_unit, plot_step((y.high - y.low) / y_unit, 6),
                    &grid, LEFT - 6, 5,      "t-text t-end",
                    NULL,  0,        NULL};
    plot_axis flat = {x,     false,  x_unit, plot_step((x.high - x.low) / x_unit, 6),
                      &dash, BOTTOM, 20,     "t-text t-middle",
                      NULL,  0,      NULL};
    plot_put_axis(xml, &up);
    plot_put_axis(xml, &flat);
    svg_line(xml, LEFT, BOTTOM, RIGHT, BOTTOM, "t-axis");
    svg_text(xml, (LEFT + RIGHT) / 2, BOTTOM + 44, "t-text t-middle", "%s", text);
}

int debrief_drawing_heights(pappus_xml *xml, const pappus_debriefed *flight,
                            pappus_unit_system units, pappus_error *err)
{
    const pappus_flown *flown = &flight->flown;
    const pappus_height_band *band = &flight->expected_fall;
    double last_s = 1.0, most_m = 1.0,
           unit = 1 / pappus_quantity_value(PAPPUS_SHOW_HEIGHT, 1, units);
    char text[96];
    for (size_t i = 0; i < band->count; i++) {
        last_s = fmax(last_s, band->time_s[i]);
        most_m = fmax(most_m, band->high_m[i]);
    }
    for (size_t i = 0; i < flown->point_count; i++) {
        last_s = fmax(last_s, flown->point_time_s[i]);
        most_m = fmax(most_m, flown->point_height_m[i]);
    }
    plot_scale x = {0, last_s, LEFT, RIGHT, 0}, y = {0, 1.05 * most_m, BOTTOM, TOP, 0};
    snprintf(text, sizeof text, "Height flown and expected (%s)",
             pappus_quantity_unit(PAPPUS_SHOW_HEIGHT, units));
    begin(xml, text, "Plot of the height over the time since the apogee.");
    put_axes(xml, x, 1, "seconds after the apogee", y, unit);
    plot_put_key(xml, 4, 40, "k-line k-0", "t-text", "flown");
    plot_put_key(xml, 130, 40, "k-line k-1", "t-text", "expected: 5, 50, 95 %");
    const double *const lines[] = {band->low_m, band->middle_m, band->high_m};
    for (int k = 0; k < 3; k++) {
        svg_trace line;
        svg_trace_begin(&line, xml);
        for (size_t i = 0; i < band->count; i++)
            svg_trace_to(&line, plot_at(&x, band->time_s[i]), plot_at(&y, lines[k][i]));
        svg_trace_put(&line, "k-line k-1", NULL);
    }
    svg_trace flown_line;
    svg_trace_begin(&flown_line, xml);
    for (size_t i = 0; i < flown->point_count; i++)
        svg_trace_to(&flown_line, plot_at(&x, flown->point_time_s[i]),
                     plot_at(&y, fmax(flown->point_height_m[i], 0.0)));
    svg_trace_put(&flown_line, "k-line k-0", NULL);
    return end(xml, err);
}

/* ------------------------------------------------------------------------- map */

static void reach(double *half_m, const pappus_debriefed *flight)
{
    const pappus_area *area = &flight->contours[PAPPUS_LEVEL_95].shape;
    *half_m = fmax(fabs(flight->east_m), fabs(flight->north_m));
    for (size_t p = 0; p < area->polygon_count; p++)
        for (size_t i = 0; i < 2 * area->polygons[p].rings[0].point_count; i++)
            *half_m = fmax(*half_m, fabs(area->polygons[p].rings[0].points_m[i]));
}

static void put_contour(pappus_xml *xml, const pappus_area *area, const char *style,
                        const plot_scale *x, const plot_scale *y)
{
    svg_trace line;
    svg_trace_begin(&line, xml);
    for (size_t p = 0; p < area->polygon_count; p++)
        for (size_t r = 0; r < area->polygons[p].ring_count; r++) {
            const pappus_ring *ring = &area->polygons[p].rings[r];
            for (size_t i = 0; i < ring->point_count; i++)
                svg_trace_to(&line, plot_at(x, ring->points_m[2 * i]),
                             plot_at(y, ring->points_m[2 * i + 1]));
            svg_trace_lift(&line, true);
        }
    svg_trace_put(&line, style, NULL);
}

int debrief_drawing_landing(pappus_xml *xml, const pappus_debriefed *flight,
                            pappus_unit_system units, pappus_error *err)
{
    double half_m, unit = 1 / pappus_quantity_value(PAPPUS_SHOW_DISTANCE, 1, units);
    char text[96];
    reach(&half_m, flight);
    half_m = 1.1 * fmax(half_m, 10.0);
    /* as wide as high on the ground: north is up */
    double wide_m = half_m * (RIGHT - LEFT) / (BOTTOM - TOP);
    plot_scale x = {-wide_m, wide_m, LEFT, RIGHT, 0}, y = {-half_m, half_m, BOTTOM, TOP, 0};
    snprintf(text, sizeof text, "Where it lay and was expected (%s from the pad)",
             pappus_quantity_unit(PAPPUS_SHOW_DISTANCE, units));
    begin(xml, text, "Map of the landing in the contours it was expected in, north up.");
    put_axes(xml, x, unit, "east of the pad", y, unit);
    plot_put_key(xml, 4, 40, "k-line k-1", "t-text", "95 %");
    plot_put_key(xml, 90, 40, "k-line k-2", "t-text", "50 % of landings expected");
    svg_circle(xml, 370, 40, DOT, "k-dot k-0");
    svg_text(xml, 380, 44, "t-text", "landed");
    put_contour(xml, &flight->contours[PAPPUS_LEVEL_95].shape, "k-line k-1", &x, &y);
    put_contour(xml, &flight->contours[PAPPUS_LEVEL_50].shape, "k-line k-2", &x, &y);
    svg_line(xml, plot_at(&x, 0) - 5, plot_at(&y, 0), plot_at(&x, 0) + 5, plot_at(&y, 0), "t-axis");
    svg_line(xml, plot_at(&x, 0), plot_at(&y, 0) - 5, plot_at(&x, 0), plot_at(&y, 0) + 5, "t-axis");
    svg_circle(xml, plot_at(&x, flight->east_m), plot_at(&y, flight->north_m), DOT, "k-dot k-0");
    return end(xml, err);
}

/* ----------------------------------------------------------------- calibration */

int debrief_drawing_calibration(pappus_xml *xml, const pappus_calibration *c, pappus_error *err)
{
    plot_scale x = {0, 100, LEFT, RIGHT, 0}, y = {0, 100, BOTTOM, TOP, 0};
    begin(xml, "Flights inside the contours (%)",
          "Plot of the share of flights inside each contour against what it says.");
    put_axes(xml, x, 1, "what the contour says (%)", y, 1);
    plot_put_key(xml, 4, 40, "k-line k-1", "t-text", "as said");
    svg_circle(xml, 130, 40, DOT, "k-dot k-0");
    svg_text(xml, 140, 44, "t-text", "flights, with 95 %% interval");
    svg_line(xml, LEFT, BOTTOM, RIGHT, TOP, "k-line k-1");
    for (int l = 0; l < PAPPUS_LEVELS; l++) {
        const pappus_calibration_level *at = &c->levels[l];
        double where = plot_at(&x, 100.0 * at->level);
        svg_line(xml, where, plot_at(&y, 100.0 * at->share.low), where,
                 plot_at(&y, 100.0 * at->share.high), "k-line k-0");
        svg_circle(xml, where, plot_at(&y, 100.0 * at->share.value), DOT, "k-dot k-0");
    }
    return end(xml, err);
}
