/* SPDX-License-Identifier: GPL-3.0-or-later
 * The trade over main heights: above, how much of each limit a height uses up (at
 * 100 % it breaks; lines leave through the top at MOST_USE); below, the
 * crew's mean walk. Lines carry their names and dash patterns of their own.
 * Between the heights that were tried the lines are straight, and no more than that. */
#include "drawing.h"

#include <math.h>
#include <stdlib.h>

#include "error.h"
#include "format.h"
#include "plot.h"

#define WIDTH 480.0
#define HEIGHT 418.0
#define LEFT 62.0
#define RIGHT 466.0
#define TOP 60.0
#define BOTTOM 236.0
#define WALK_TOP 296.0
#define WALK_BOTTOM 366.0
#define MOST_USE 1.6    /* at the top of the plot, which cuts off the rest */
#define HIGHEST_USE 1e3 /* keeps far numbers out of the drawing */
#define MOST_TICKS 6.0

typedef struct {
    pappus_xml *xml;
    const pappus_answer *answer;
    const pappus_heights *heights;
    pappus_unit_system units;
    plot_scale height, walk;
} trade;

static const plot_scale use_scale = {0, MOST_USE, BOTTOM, TOP, 0};
static const plot_tick grid = {1, {{LEFT, RIGHT}}, "t-grid"};
static const plot_tick dashes = {
    2, {{BOTTOM, BOTTOM + 5}, {WALK_BOTTOM, WALK_BOTTOM + 5}}, "t-axis"};

static plot_scale height_scale(const pappus_heights *heights)
{
    return (plot_scale){heights->rows[0].height_m, heights->rows[heights->row_count - 1].height_m,
                        LEFT + 10, RIGHT - 10, 0};
}

static plot_scale walk_scale(const pappus_heights *heights)
{
    double most_m = 0;
    for (size_t i = 0; i < heights->row_count; i++)
        if (isfinite(heights->rows[i].walk_m)) most_m = fmax(most_m, heights->rows[i].walk_m);
    return (plot_scale){0, 1.15 * most_m, WALK_BOTTOM, WALK_TOP, 0};
}

void drawing_trade_mark(char *out, size_t size, const pappus_heights *heights, double height_m)
{
    plot_scale scale = height_scale(heights);
    double x = plot_at(&scale, fmax(scale.low, fmin(height_m, scale.high)));
    snprintf(out, size, "M%.1f %.1fV%.1fM%.1f %.1fV%.1f", x, TOP, BOTTOM, x, WALK_TOP, WALK_BOTTOM);
}

/* ------------------------------------------------------------------- values */

typedef enum { USE_OF_ALL, USE_OF_FIELD, USE_OF_KEEP_OUT, WALK, NONE } series;

static double value_of(const trade *t, const pappus_height_row *row, series what)
{
    const pappus_limits *limits = &t->answer->plan->limits;
    switch (what) {
    case USE_OF_FIELD:
        return (1 - row->inside_field.value) / (1 - limits->inside_field);
    case USE_OF_KEEP_OUT:
        return pappus_height_worst_keep_out(row) / limits->keep_out;
    case WALK:
        return row->walk_m;
    default:
        return row->use;
    }
}

static void put_line(const trade *t, series what, const plot_scale *scale, const char *style)
{
    svg_trace line;
    svg_trace_begin(&line, t->xml);
    for (size_t i = 0; i < t->heights->row_count; i++) {
        const pappus_height_row *row = &t->heights->rows[i];
        double value = value_of(t, row, what);
        if (what != WALK && isfinite(value)) value = fmin(value, HIGHEST_USE);
        svg_trace_to(&line, plot_at(&t->height, row->height_m), plot_at(scale, value));
    }
    svg_trace_put(&line, style, NULL);
}

/* --------------------------------------------------------------------- axes */

static void put_use_axis(const trade *t)
{
    double broken = plot_at(&use_scale, 1);
    static const char *const names[] = {"0 %", "50 %", "100 %", "150 %"};
    plot_axis axis = {use_scale, true,           0.01,  50,  &grid,    LEFT - 6,
                      5,         "t-text t-end", names, 100, "t-bound"};
    plot_put_axis(t->xml, &axis);
    svg_rectangle(t->xml, LEFT, TOP, RIGHT - LEFT, broken - TOP, "t-broken");
    svg_text(t->xml, RIGHT - 4, broken - 6, "t-text t-end t-strong t-halo", "limit broken above");
}

static void put_height_axis(const trade *t)
{
    double unit_m = 1 / pappus_quantity_value(PAPPUS_SHOW_HEIGHT, 1, t->units);
    double span = fmax((t->height.high - t->height.low) / unit_m, 1);
    plot_axis axis = {t->height, false,       unit_m, plot_step(span, MOST_TICKS),
                      &dashes,   WALK_BOTTOM, 20,     "t-text t-middle",
                      NULL,      0,           NULL};
    plot_put_axis(t->xml, &axis);
    svg_line(t->xml, LEFT, BOTTOM, RIGHT, BOTTOM, "t-axis");
    svg_text(t->xml, (LEFT + RIGHT) / 2, WALK_BOTTOM + 42, "t-text t-middle",
             "main height as set, %s", pappus_quantity_unit(PAPPUS_SHOW_HEIGHT, t->units));
}

static void put_walk_axis(const trade *t)
{
    double unit_m = 1 / pappus_quantity_value(PAPPUS_SHOW_DISTANCE, 1, t->units);
    svg_line(t->xml, LEFT, WALK_BOTTOM, RIGHT, WALK_BOTTOM, "t-axis");
    plot_axis axis = {t->walk, true,     unit_m, view_round_length(t->walk.high / unit_m),
                      &grid,   LEFT - 6, 5,      "t-text t-end",
                      NULL,    0,        NULL};
    plot_put_axis(t->xml, &axis);
    svg_text(t->xml, 4, WALK_TOP - 12, "t-text t-strong", "mean walk, %s",
             pappus_quantity_unit(PAPPUS_SHOW_DISTANCE, t->units));
}

static void put_verdicts(const trade *t)
{
    char data[128];
    for (size_t i = 0; i < t->heights->row_count; i++) {
        const pappus_height_row *row = &t->heights->rows[i];
        double x = plot_at(&t->height, row->height_m), y = BOTTOM + 16;
        const char *style = "t-open"; /* a question mark */
        snprintf(data, sizeof data, "M%.1f %.1fa3 3 0 1 1 3 3v2m0 2.6v.6", x - 3, y - 2);
        if (row->verdict == PAPPUS_MET) {
            style = "t-met";
            snprintf(data, sizeof data, "M%.1f %.1fl4 4 7-9", x - 5, y);
        } else if (row->verdict == PAPPUS_BROKEN) {
            style = "t-not";
            snprintf(data, sizeof data, "M%.1f %.1fl8 8m0-8l-8 8", x - 4, y - 4);
        }
        svg_path(t->xml, style, NULL, data);
    }
}

static void put_marks(const trade *t)
{
    const pappus_heights *h = t->heights;
    char data[128];
    drawing_trade_mark(data, sizeof data, h, h->planned_m);
    svg_path(t->xml, "t-mark", "trade-mark", data);
    if (isnan(h->recommended_m)) return;
    double x = plot_at(&t->height, h->recommended_m);
    snprintf(data, sizeof data, "M%.1f %.1fl-7 -10h14z", x, TOP - 2);
    svg_path(t->xml, "t-best", NULL, data);
    const char *anchor = x < WIDTH / 3       ? "t-text t-strong"
                         : x > 2 * WIDTH / 3 ? "t-text t-strong t-end"
                                             : "t-text t-strong t-middle";
    svg_text(t->xml, x, TOP - 17, anchor, "recommended");
}

static void put_lines(const trade *t)
{
    const pappus_limits *limits = &t->answer->plan->limits;
    const pappus_height_row *row = &t->heights->rows[0];
    const struct {
        bool there;
        series what;
        const char *style, *text;
        double width; /* of its key */
    } lines[] = {{true, USE_OF_ALL, "t-all", "tightest limit", 150},
                 {!isnan(limits->inside_field) && limits->inside_field < 1 &&
                      !isnan(row->inside_field.value),
                  USE_OF_FIELD, "t-field", "field", 85},
                 {!isnan(limits->keep_out) && limits->keep_out > 0 && row->keep_out_count > 0,
                  USE_OF_KEEP_OUT, "t-keep", "keep-out", 112},
                 {true, NONE, "t-mark", "shown", 0}};
    double x = 4;
    for (size_t i = 0; i < sizeof lines / sizeof lines[0]; i++) {
        if (!lines[i].there) continue;
        plot_put_key(t->xml, x, 11, lines[i].style, "t-text", lines[i].text);
        x += lines[i].width;
    }
    svg_clipped(t->xml, "trade-uses");
    for (size_t i = 0; i < sizeof lines / sizeof lines[0]; i++)
        if (lines[i].there && lines[i].what != NONE)
            put_line(t, lines[i].what, &use_scale, lines[i].style);
    pappus_xml_end(t->xml);
    if (t->walk.high > 0) put_line(t, WALK, &t->walk, "t-walk");
}

int drawing_trade(pappus_xml *xml, const pappus_answer *answer, pappus_unit_system units,
                  pappus_error *err)
{
    const pappus_heights *heights = answer->heights;
    trade t = {xml, answer, heights, units, height_scale(heights), walk_scale(heights)};
    svg_begin(xml, WIDTH, HEIGHT, "Plot of main heights; the table has the same in numbers.");
    pappus_xml_element(xml, "style", "%s", drawing_trade_style);
    svg_clip(xml, "trade-uses", LEFT, TOP, RIGHT - LEFT, BOTTOM - TOP + 3);
    put_use_axis(&t);
    put_height_axis(&t);
    if (t.walk.high > 0) put_walk_axis(&t);
    put_lines(&t);
    put_verdicts(&t);
    put_marks(&t);
    pappus_xml_end(xml);
    return xml->failed ? pappus_fail_memory(err) : PAPPUS_OK;
}
