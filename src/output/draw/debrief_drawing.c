/* SPDX-License-Identifier: GPL-3.0-or-later
 * A debrief drawn: the flown heights over the band that was expected, the landings in the
 * contours they were expected in, the shares inside the contours, the histogram of ranks, and
 * what was known after each flight. */
#include "debrief_drawing.h"

#include "error.h"
#include "format.h"
#include "plot.h"

#include <math.h>
#include <stddef.h>
#include <string.h>

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

/* What is to be seen on the ground: east, north, least and most. */
typedef struct {
    double low[2], high[2];
} extent;

static void reach(extent *to, double east_m, double north_m)
{
    to->low[0] = fmin(to->low[0], east_m);
    to->low[1] = fmin(to->low[1], north_m);
    to->high[0] = fmax(to->high[0], east_m);
    to->high[1] = fmax(to->high[1], north_m);
}

/* Pad, landing and contour, as wide as high on the ground. */
static void find_scales(plot_scale *x, plot_scale *y, const pappus_debriefed *flight)
{
    const pappus_area *area = &flight->contours[PAPPUS_LEVEL_95].shape;
    extent all = {{0, 0}, {0, 0}};
    reach(&all, flight->east_m, flight->north_m);
    for (size_t p = 0; p < area->polygon_count; p++)
        for (size_t i = 0; i < area->polygons[p].rings[0].point_count; i++)
            reach(&all, area->polygons[p].rings[0].points_m[2 * i],
                  area->polygons[p].rings[0].points_m[2 * i + 1]);
    double east_m = 0.5 * (all.low[0] + all.high[0]), north_m = 0.5 * (all.low[1] + all.high[1]);
    double scale_m = 1.1 * fmax((all.high[0] - all.low[0]) / (RIGHT - LEFT),
                                (all.high[1] - all.low[1]) / (BOTTOM - TOP));
    double wide_m = 0.5 * fmax(scale_m, 0.1) * (RIGHT - LEFT);
    double high_m = 0.5 * fmax(scale_m, 0.1) * (BOTTOM - TOP);
    *x = (plot_scale){east_m - wide_m, east_m + wide_m, LEFT, RIGHT, 0};
    *y = (plot_scale){north_m - high_m, north_m + high_m, BOTTOM, TOP, 0};
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
    double unit = 1 / pappus_quantity_value(PAPPUS_SHOW_DISTANCE, 1, units);
    char text[96];
    plot_scale x, y;
    find_scales(&x, &y, flight);
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

/* One bar a part, and the band that holds all bars of right zones. */
int debrief_drawing_ranks(pappus_xml *xml, const pappus_calibration *c, pappus_error *err)
{
    double bins = (double)c->rank_bins, most = (double)c->ranks_high, width = (RIGHT - LEFT) / bins;
    for (size_t i = 0; i < c->rank_bins; i++)
        most = fmax(most, (double)c->ranks[i]);
    plot_scale x = {0, 100, LEFT, RIGHT, 0}, y = {0, 1.1 * fmax(most, 1.0), BOTTOM, TOP, 0};
    double low = plot_at(&y, (double)c->ranks_low), high = plot_at(&y, (double)c->ranks_high);
    double meant = plot_at(&y, (double)c->count / bins);
    begin(xml, "Flights by how much of their zone is denser",
          "Histogram of where in its zone each flight came down; level when the zones are true.");
    plot_axis up = {y,     true,     1,   fmax(1, plot_step(y.high, 6)),
                    &grid, LEFT - 6, 5,   "t-text t-end",
                    NULL,  0,        NULL};
    plot_axis flat = {x, false, 1, 20, &dash, BOTTOM, 20, "t-text t-middle", NULL, 0, NULL};
    plot_put_axis(xml, &up);
    for (size_t i = 0; i < c->rank_bins; i++)
        svg_rectangle(xml, LEFT + ((double)i + 0.1) * width, plot_at(&y, (double)c->ranks[i]),
                      0.8 * width, BOTTOM - plot_at(&y, (double)c->ranks[i]), "k-bar k-0");
    plot_put_axis(xml, &flat);
    svg_line(xml, LEFT, meant, RIGHT, meant, "k-meant");
    svg_line(xml, LEFT, low, RIGHT, low, "k-line k-1");
    svg_line(xml, LEFT, high, RIGHT, high, "k-line k-1");
    svg_line(xml, LEFT, BOTTOM, RIGHT, BOTTOM, "t-axis");
    plot_put_key(xml, 4, 40, "k-meant", "t-text", "mean of true zones");
    plot_put_key(xml, 210, 40, "k-line k-1", "t-text", "19 of 20 seasons within");
    svg_text(xml, (LEFT + RIGHT) / 2, BOTTOM + 44, "t-text t-middle",
             "denser part of the zone, %%");
    return end(xml, err);
}

/* ------------------------------------------------------------ after each flight */

typedef struct {
    const char *name, *line, *dot;
    double over;                    /* values are shown over this */
    size_t offset;                  /* of the estimate in pappus_known */
    double before_low, before_high; /* of the plan, over the same; NaN: not shown */
} known_series;

static pappus_estimate known_at(const pappus_debriefed *flight, const known_series *series)
{
    pappus_estimate e;
    memcpy(&e, (const char *)&flight->known + series->offset, sizeof e);
    return (pappus_estimate){e.value / series->over, e.low / series->over, e.high / series->over};
}

static void reach_known(plot_scale *y, const pappus_debrief *debrief, const known_series *series)
{
    y->low = fmin(y->low, isnan(series->before_low) ? y->low : series->before_low);
    y->high = fmax(y->high, isnan(series->before_high) ? y->high : series->before_high);
    for (size_t i = 0; i < debrief->count; i++) {
        pappus_estimate e = known_at(&debrief->flights[i], series);
        if (isnan(e.value)) continue;
        y->low = fmin(y->low, e.low);
        y->high = fmax(y->high, e.high);
    }
}

static void put_known(pappus_xml *xml, const pappus_debrief *debrief, const known_series *series,
                      double aside, const plot_scale *x, const plot_scale *y)
{
    if (!isnan(series->before_low))
        svg_line(xml, plot_at(x, 0) + aside, plot_at(y, series->before_low), plot_at(x, 0) + aside,
                 plot_at(y, series->before_high), series->line);
    svg_circle(xml, plot_at(x, 0) + aside, plot_at(y, 1), DOT, series->dot);
    for (size_t i = 0; i < debrief->count; i++) {
        pappus_estimate e = known_at(&debrief->flights[i], series);
        double at = plot_at(x, (double)i + 1.0) + aside;
        if (isnan(e.value)) continue;
        svg_line(xml, at, plot_at(y, e.low), at, plot_at(y, e.high), series->line);
        svg_circle(xml, at, plot_at(y, e.value), DOT, series->dot);
    }
}

static int draw_known(pappus_xml *xml, const pappus_debrief *debrief, const char *title,
                      const known_series *series, size_t count, pappus_error *err)
{
    plot_scale x = {-0.5, (double)debrief->count + 0.5, LEFT, RIGHT, 0};
    plot_scale y = {0.9, 1.1, BOTTOM, TOP, 0};
    for (size_t k = 0; k < count; k++)
        reach_known(&y, debrief, &series[k]);
    y.low = fmax(y.low - 0.05 * (y.high - y.low), 0.0);
    y.high += 0.05 * (y.high - y.low);
    begin(xml, title, "Plot of what was known after each flight; the table has the numbers.");
    plot_axis up = {y,     true,     0.01, plot_step((y.high - y.low) / 0.01, 6),
                    &grid, LEFT - 6, 5,    "t-text t-end",
                    NULL,  0,        NULL};
    plot_axis flat = {x,     false,  1,   fmax(1, plot_step((double)debrief->count, 8)),
                      &dash, BOTTOM, 20,  "t-text t-middle",
                      NULL,  0,      NULL};
    plot_put_axis(xml, &up);
    plot_put_axis(xml, &flat);
    svg_line(xml, LEFT, plot_at(&y, 1), RIGHT, plot_at(&y, 1), "k-meant");
    svg_line(xml, LEFT, BOTTOM, RIGHT, BOTTOM, "t-axis");
    for (size_t k = 0; k < count; k++) {
        double aside = fmin(6.0, 0.2 * (plot_at(&x, 1) - plot_at(&x, 0)));
        put_known(xml, debrief, &series[k], count > 1 ? aside * (k ? 1 : -1) : 0, &x, &y);
        plot_put_key(xml, 4 + 130 * (double)k, 40, series[k].line, "t-text", series[k].name);
        svg_circle(xml, 16 + 130 * (double)k, 40, DOT, series[k].dot);
    }
    plot_put_key(xml, 270, 40, "k-meant", "t-text", "as the plan says");
    svg_text(xml, (LEFT + RIGHT) / 2, BOTTOM + 44, "t-text t-middle", "flights; 0: the plan alone");
    return end(xml, err);
}

static known_series drag_series(const pappus_learned_drag *drag, bool is_main)
{
    double half = 1.959964 * drag->before_sd_m2 / drag->before_m2;
    return (known_series){is_main ? "main" : "drogue",
                          is_main ? "k-line k-0" : "k-line k-1",
                          is_main ? "k-dot k-0" : "k-dot k-1",
                          drag->before_m2,
                          is_main ? offsetof(pappus_known, main_drag_area_m2)
                                  : offsetof(pappus_known, drogue_drag_area_m2),
                          fmax(1.0 - half, 0.0),
                          1.0 + half};
}

int debrief_drawing_drag(pappus_xml *xml, const pappus_debrief *debrief, pappus_error *err)
{
    known_series series[2];
    const pappus_learned *l = &debrief->learned;
    size_t count = 0;
    if (l->main.flights > 0) series[count++] = drag_series(&l->main, true);
    if (l->drogue.flights > 0) series[count++] = drag_series(&l->drogue, false);
    return draw_known(xml, debrief, "Drag areas after each flight, % of the plan's", series, count,
                      err);
}

int debrief_drawing_wind(pappus_xml *xml, const pappus_debrief *debrief, pappus_error *err)
{
    double half = 1.959964 * PAPPUS_WIND_FACTOR_SD;
    known_series series = {
        "the wind's error", "k-line k-0", "k-dot k-0", 1.0, offsetof(pappus_known, wind_factor),
        exp(-half),         exp(half)};
    return draw_known(xml, debrief, "Wind's error after each flight, % of the plan's", &series, 1,
                      err);
}
