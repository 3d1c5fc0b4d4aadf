/* SPDX-License-Identifier: GPL-3.0-or-later
 * The trade over main heights: above, how much of each limit a height uses up (at
 * 100 % it breaks; lines leave through the top at MOST_USE); below, the
 * crew's mean walk. Lines carry their names and dash patterns of their own.
 * Between the heights that were tried the lines are straight, and no more than that. */
#include "drawing_trade.h"

#include <math.h>
#include <stdlib.h>

#include "drawing_svg.h"
#include "error.h"
#include "format.h"

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
    double most_walk_m;
    pappus_error *err;
} plot;

static double x_of(const pappus_heights *heights, double height_m)
{
    double low = heights->rows[0].height_m, high = heights->rows[heights->row_count - 1].height_m;
    if (!(high > low)) return (LEFT + RIGHT) / 2;
    return LEFT + 10 + (RIGHT - LEFT - 20) * (height_m - low) / (high - low);
}

static double y_of_use(double use)
{
    return BOTTOM - (BOTTOM - TOP) * fmin(use, HIGHEST_USE) / MOST_USE;
}

static double y_of_walk(const plot *p, double walk_m)
{
    return WALK_BOTTOM - (WALK_BOTTOM - WALK_TOP) * walk_m / p->most_walk_m;
}

void drawing_trade_mark(char *out, size_t size, const pappus_heights *heights, double height_m)
{
    double x = x_of(heights, fmax(heights->rows[0].height_m,
                                  fmin(height_m, heights->rows[heights->row_count - 1].height_m)));
    snprintf(out, size, "M%.1f %.1fV%.1fM%.1f %.1fV%.1f", x, TOP, BOTTOM, x, WALK_TOP, WALK_BOTTOM);
}

/* ------------------------------------------------------------------- values */

typedef double value_of(const plot *p, const pappus_height_row *row);

static double use_of_all(const plot *p, const pappus_height_row *row)
{
    (void)p;
    return row->use;
}

static double use_of_field(const plot *p, const pappus_height_row *row)
{
    return (1 - row->inside_field.value) / (1 - p->answer->plan->limits.inside_field);
}

static double use_of_keep_out(const plot *p, const pappus_height_row *row)
{
    return pappus_height_worst_keep_out(row) / p->answer->plan->limits.keep_out;
}

static double walk_of(const plot *p, const pappus_height_row *row)
{
    (void)p;
    return row->walk_m;
}

static int put_line(const plot *p, value_of *value, bool walk, const char *style)
{
    pappus_text data;
    int status = pappus_text_begin(&data, p->err);
    if (status != PAPPUS_OK) return status;
    bool begun = false;
    for (size_t i = 0; i < p->heights->row_count; i++) {
        double v = value(p, &p->heights->rows[i]);
        if (!isfinite(v)) {
            begun = false;
            continue;
        }
        fprintf(data.stream, "%s%.1f %.1f", begun ? "L" : "M",
                x_of(p->heights, p->heights->rows[i].height_m),
                walk ? y_of_walk(p, v) : y_of_use(v));
        begun = true;
    }
    status = pappus_text_finish(&data, p->err);
    if (status != PAPPUS_OK) return status;
    svg_path(p->xml, style, NULL, data.bytes);
    free(data.bytes);
    return PAPPUS_OK;
}

/* --------------------------------------------------------------------- axes */

static void put_clip(pappus_xml *xml)
{
    pappus_xml_start(xml, "clipPath");
    pappus_xml_attribute(xml, "id", "trade-uses");
    svg_rectangle(xml, LEFT, TOP, RIGHT - LEFT, BOTTOM - TOP + 3, "");
    pappus_xml_end(xml);
}

static void put_use_axis(const plot *p)
{
    for (int percent = 0; percent <= 150; percent += 50) {
        double y = y_of_use(percent / 100.0);
        svg_line(p->xml, LEFT, y, RIGHT, y, percent == 100 ? "t-bound" : "t-grid");
        svg_text(p->xml, LEFT - 6, y + 5, "t-text t-end", "%d %%", percent);
    }
    svg_rectangle(p->xml, LEFT, TOP, RIGHT - LEFT, y_of_use(1) - TOP, "t-broken");
    svg_text(p->xml, RIGHT - 4, y_of_use(1) - 6, "t-text t-end t-strong t-halo",
             "limit broken above");
}

static void put_height_axis(const plot *p)
{
    const pappus_heights *h = p->heights;
    double unit_m = 1 / pappus_quantity_value(PAPPUS_SHOW_HEIGHT, 1, p->units);
    double low = h->rows[0].height_m / unit_m, high = h->rows[h->row_count - 1].height_m / unit_m;
    double step = view_round_length(fmax(high - low, 1) / MOST_TICKS * 2);
    for (double at = ceil(low / step - 1e-9) * step; at <= high * (1 + 1e-9); at += step) {
        double x = x_of(h, at * unit_m);
        svg_line(p->xml, x, BOTTOM, x, BOTTOM + 5, "t-axis");
        svg_line(p->xml, x, WALK_BOTTOM, x, WALK_BOTTOM + 5, "t-axis");
        svg_text(p->xml, x, WALK_BOTTOM + 20, "t-text t-middle", "%.0f", at);
    }
    svg_line(p->xml, LEFT, BOTTOM, RIGHT, BOTTOM, "t-axis");
    svg_text(p->xml, (LEFT + RIGHT) / 2, WALK_BOTTOM + 42, "t-text t-middle",
             "main height as set, %s", pappus_quantity_unit(PAPPUS_SHOW_HEIGHT, p->units));
}

static void put_walk_axis(const plot *p)
{
    double unit_m = 1 / pappus_quantity_value(PAPPUS_SHOW_DISTANCE, 1, p->units);
    double step = view_round_length(p->most_walk_m / unit_m);
    svg_line(p->xml, LEFT, WALK_BOTTOM, RIGHT, WALK_BOTTOM, "t-axis");
    for (double at = 0; at * unit_m <= p->most_walk_m; at += step) {
        double y = y_of_walk(p, at * unit_m);
        svg_line(p->xml, LEFT, y, RIGHT, y, "t-grid");
        svg_text(p->xml, LEFT - 6, y + 5, "t-text t-end", "%.0f", at);
    }
    svg_text(p->xml, 4, WALK_TOP - 12, "t-text t-strong", "mean walk, %s",
             pappus_quantity_unit(PAPPUS_SHOW_DISTANCE, p->units));
}

static void put_verdicts(const plot *p)
{
    char data[128];
    for (size_t i = 0; i < p->heights->row_count; i++) {
        const pappus_height_row *row = &p->heights->rows[i];
        double x = x_of(p->heights, row->height_m), y = BOTTOM + 16;
        const char *style = "t-open"; /* a question mark */
        snprintf(data, sizeof data, "M%.1f %.1fa3 3 0 1 1 3 3v2m0 2.6v.6", x - 3, y - 2);
        if (row->verdict == PAPPUS_MET) {
            style = "t-met";
            snprintf(data, sizeof data, "M%.1f %.1fl4 4 7-9", x - 5, y);
        } else if (row->verdict == PAPPUS_BROKEN) {
            style = "t-not";
            snprintf(data, sizeof data, "M%.1f %.1fl8 8m0-8l-8 8", x - 4, y - 4);
        }
        svg_path(p->xml, style, NULL, data);
    }
}

static void put_marks(const plot *p)
{
    const pappus_heights *h = p->heights;
    char data[128];
    drawing_trade_mark(data, sizeof data, h, h->planned_m);
    svg_path(p->xml, "t-mark", "trade-mark", data);
    if (isnan(h->recommended_m)) return;
    double x = x_of(h, h->recommended_m);
    snprintf(data, sizeof data, "M%.1f %.1fl-7 -10h14z", x, TOP - 2);
    svg_path(p->xml, "t-best", NULL, data);
    const char *anchor = x < WIDTH / 3       ? "t-text t-strong"
                         : x > 2 * WIDTH / 3 ? "t-text t-strong t-end"
                                             : "t-text t-strong t-middle";
    svg_text(p->xml, x, TOP - 17, anchor, "recommended");
}

static const char style[] =
    ".t-text{font:15px 'DejaVu "
    "Sans',Verdana,Arial,sans-serif;fill:#14202b}.t-strong{font-weight:bold}"
    ".t-end{text-anchor:end}.t-middle{text-anchor:middle}"
    ".t-halo{stroke:#fff;stroke-width:3px;paint-order:stroke}"
    ".t-grid{stroke:#cdd4da;stroke-width:1}.t-axis{stroke:#14202b;stroke-width:1.5}"
    ".t-bound{stroke:#8f2a00;stroke-width:2.4}.t-broken{fill:#d55e00;fill-opacity:.13}"
    ".t-all,.t-field,.t-keep,.t-walk{fill:none;stroke-width:2.2}"
    ".t-all{stroke:#14202b;stroke-width:6;stroke-opacity:.3}.t-field{stroke:#00507d}"
    ".t-keep{stroke:#8f2a00;stroke-dasharray:7 4}.t-walk{stroke:#14202b}"
    ".t-mark{stroke:#14202b;stroke-width:2;stroke-dasharray:3 3;fill:none}"
    ".t-best{fill:#14202b}.t-met{fill:none;stroke:#00573f;stroke-width:2.4}"
    ".t-not{fill:none;stroke:#8f2a00;stroke-width:2.4}"
    ".t-open{fill:none;stroke:#14202b;stroke-width:2.2}";

static void put_key(const plot *p, bool field, bool keep_out)
{
    double x = 4;
    svg_line(p->xml, x, 11, x + 24, 11, "t-all");
    svg_text(p->xml, x + 29, 16, "t-text", "tightest limit");
    x += 150;
    if (field) {
        svg_line(p->xml, x, 11, x + 24, 11, "t-field");
        svg_text(p->xml, x + 29, 16, "t-text", "field");
        x += 85;
    }
    if (keep_out) {
        svg_line(p->xml, x, 11, x + 24, 11, "t-keep");
        svg_text(p->xml, x + 29, 16, "t-text", "keep-out");
        x += 112;
    }
    svg_line(p->xml, x, 11, x + 24, 11, "t-mark");
    svg_text(p->xml, x + 29, 16, "t-text", "shown");
}

static int put_lines(const plot *p)
{
    const pappus_limits *limits = &p->answer->plan->limits;
    const pappus_height_row *row = &p->heights->rows[0];
    bool field = !isnan(limits->inside_field) && limits->inside_field < 1 &&
                 !isnan(row->inside_field.value);
    bool keep_out = !isnan(limits->keep_out) && limits->keep_out > 0 && row->keep_out_count > 0;
    put_key(p, field, keep_out);
    pappus_xml_start(p->xml, "g");
    pappus_xml_attribute(p->xml, "clip-path", "url(#trade-uses)");
    int status = put_line(p, use_of_all, false, "t-all");
    if (status == PAPPUS_OK && field) status = put_line(p, use_of_field, false, "t-field");
    if (status == PAPPUS_OK && keep_out) status = put_line(p, use_of_keep_out, false, "t-keep");
    pappus_xml_end(p->xml);
    if (status == PAPPUS_OK && p->most_walk_m > 0) status = put_line(p, walk_of, true, "t-walk");
    return status;
}

int drawing_trade(pappus_xml *xml, const pappus_answer *answer, pappus_unit_system units,
                  pappus_error *err)
{
    plot p = {xml, answer, answer->heights, units, 0, err};
    for (size_t i = 0; i < p.heights->row_count; i++)
        if (isfinite(p.heights->rows[i].walk_m))
            p.most_walk_m = fmax(p.most_walk_m, 1.15 * p.heights->rows[i].walk_m);
    svg_begin(xml, WIDTH, HEIGHT, "Plot of main heights; the table has the same in numbers.");
    pappus_xml_element(xml, "style", "%s", style);
    put_clip(xml);
    put_use_axis(&p);
    put_height_axis(&p);
    if (p.most_walk_m > 0) put_walk_axis(&p);
    int status = put_lines(&p);
    put_verdicts(&p);
    put_marks(&p);
    pappus_xml_end(xml);
    return status;
}
