/* SPDX-License-Identifier: GPL-3.0-or-later
 * What was measured of the wind's error, drawn: dots are measured, lines are the law that
 * was fitted. Every series has a dash pattern and a dot of its own, for those who do not
 * see its colour. */
#include "drawing.h"
#include "error.h"
#include "format.h"
#include "plot.h"

#include <pappus/skill.h>

#include <math.h>

#define WIDTH 480.0
#define HEIGHT 340.0
#define LEFT 58.0
#define RIGHT 466.0
#define TOP 84.0
#define BOTTOM 284.0
#define MOST_TICKS 6.0
#define SERIES 4
#define LEAST_PAIRS 30 /* fewer are noise, and are left to the table */
#define DOT 4.0
#define KEY_WIDTH 225.0

static const char *const lines[SERIES] = {"k-line k-0", "k-line k-1", "k-line k-2", "k-line k-3"};
static const char *const dots[SERIES] = {"k-dot k-0", "k-dot k-1", "k-dot k-2", "k-dot k-3"};
static const plot_tick grid = {1, {{LEFT, RIGHT}}, "t-grid"};
static const plot_tick dash = {1, {{BOTTOM, BOTTOM + 5}}, "t-axis"};
static const char *const percents[] = {"0 %", "25 %", "50 %", "75 %", "100 %"};
static const plot_scale share_scale = {0, 1, BOTTOM, TOP, 0};

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

static void put_upright(pappus_xml *xml, plot_scale scale, double unit, double step,
                        const char *const *names)
{
    plot_axis axis = {scale, true, unit, step, &grid, LEFT - 6, 5, "t-text t-end", names, 0, NULL};
    plot_put_axis(xml, &axis);
    svg_line(xml, LEFT, BOTTOM, RIGHT, BOTTOM, "t-axis");
}

static void put_flat(pappus_xml *xml, plot_scale scale, double unit, const char *text)
{
    double step = plot_step((scale.high - scale.low) / unit, MOST_TICKS);
    plot_axis axis = {scale, false, unit, step, &dash, BOTTOM, 20, "t-text t-middle",
                      NULL,  0,     NULL};
    plot_put_axis(xml, &axis);
    svg_text(xml, (LEFT + RIGHT) / 2, BOTTOM + 44, "t-text t-middle", "%s", text);
}

static void put_key(pappus_xml *xml, int series, const char *text)
{
    double x = 4 + KEY_WIDTH * (series % 2), y = 38.0 + 20.0 * (series / 2);
    plot_put_key(xml, x, y, lines[series], "t-text", text);
    svg_circle(xml, x + 12, y, DOT, dots[series]);
}

/* ----------------------------------------------------------------- against age */

static bool is_drawn(const pappus_skill_row *row, const pappus_skill_row *of_band)
{
    return row->from_m == of_band->from_m && row->pairs >= LEAST_PAIRS;
}

static bool is_first_drawn(const pappus_skill *skill, size_t row)
{
    for (size_t i = 0; i < row; i++)
        if (is_drawn(&skill->rows[i], &skill->rows[row])) return false;
    return skill->rows[row].pairs >= LEAST_PAIRS;
}

static void put_band(pappus_xml *xml, const pappus_skill *skill, size_t first, int series,
                     const plot_scale *x, const plot_scale *y)
{
    svg_trace line;
    svg_trace_begin(&line, xml);
    for (size_t i = first; i < skill->row_count; i++)
        if (is_drawn(&skill->rows[i], &skill->rows[first]))
            svg_trace_to(&line, plot_at(x, skill->rows[i].age_h),
                         plot_at(y, skill->rows[i].model_mps));
    svg_trace_put(&line, lines[series], NULL);
    for (size_t i = first; i < skill->row_count; i++)
        if (is_drawn(&skill->rows[i], &skill->rows[first]))
            svg_circle(xml, plot_at(x, skill->rows[i].age_h), plot_at(y, skill->rows[i].rms_mps),
                       DOT, dots[series]);
}

static int draw_ages(pappus_xml *xml, const pappus_skill *skill, pappus_unit_system units,
                     pappus_error *err)
{
    double oldest_h = 1, most_mps = 1;
    double unit = 1 / pappus_quantity_value(PAPPUS_SHOW_WIND, 1, units);
    char text[128];
    int series = 0;
    for (size_t i = 0; i < skill->row_count; i++) {
        if (skill->rows[i].pairs < LEAST_PAIRS) continue;
        oldest_h = fmax(oldest_h, skill->rows[i].age_h);
        most_mps = fmax(most_mps, fmax(skill->rows[i].rms_mps, skill->rows[i].model_mps));
    }
    plot_scale x = {0, 1.05 * oldest_h, LEFT, RIGHT, 0}, y = {0, 1.05 * most_mps, BOTTOM, TOP, 0};
    snprintf(text, sizeof text, "Change of a wind component, rms, %s",
             pappus_quantity_unit(PAPPUS_SHOW_WIND, units));
    begin(xml, text, "Plot of the change of the wind against age; the table has the numbers.");
    put_upright(xml, y, unit, plot_step(y.high / unit, MOST_TICKS), NULL);
    put_flat(xml, x, 1, "age, h");
    for (size_t i = 0; i < skill->row_count && series < SERIES; i++) {
        const pappus_skill_row *row = &skill->rows[i];
        if (!is_first_drawn(skill, i)) continue;
        put_band(xml, skill, i, series, &x, &y);
        snprintf(text, sizeof text, "%.0f to %.0f %s",
                 pappus_quantity_value(PAPPUS_SHOW_HEIGHT, row->from_m, units),
                 pappus_quantity_value(PAPPUS_SHOW_HEIGHT, row->to_m, units),
                 pappus_quantity_unit(PAPPUS_SHOW_HEIGHT, units));
        put_key(xml, series++, text);
    }
    return end(xml, err);
}

/* ------------------------------------------------------------ against distance */

/* The first of the same age, and those behind it. */
static void put_age(pappus_xml *xml, const pappus_skill *skill, size_t first, int series,
                    const plot_scale *x, const plot_scale *y)
{
    const pappus_skill_correlation *c = skill->correlations;
    svg_trace line;
    svg_trace_begin(&line, xml);
    svg_trace_to(&line, plot_at(x, 0), plot_at(y, 1));
    for (size_t i = first; i < skill->correlation_count && c[i].age_h == c[first].age_h; i++)
        svg_trace_to(&line, plot_at(x, c[i].distance_m), plot_at(y, c[i].model));
    svg_trace_put(&line, lines[series], NULL);
    for (size_t i = first; i < skill->correlation_count && c[i].age_h == c[first].age_h; i++)
        svg_circle(xml, plot_at(x, c[i].distance_m), plot_at(y, fmax(c[i].measured, y->low)), DOT,
                   dots[series]);
}

static int draw_distances(pappus_xml *xml, const pappus_skill *skill, pappus_unit_system units,
                          pappus_error *err)
{
    static const char *const names[] = {"-0.25", "0", "0.25", "0.5", "0.75", "1"};
    const pappus_skill_correlation *c = skill->correlations;
    double unit = 1 / pappus_quantity_value(PAPPUS_SHOW_HEIGHT, 1, units);
    plot_scale x = {0, 3200, LEFT, RIGHT, 0}, y = {-0.25, 1, BOTTOM, TOP, 0};
    char text[128];
    int series = 0;
    begin(xml, "Correlation of the changes at two heights",
          "Plot of correlation against distance, by age.");
    put_upright(xml, y, 0.25, 1, names);
    snprintf(text, sizeof text, "distance in height, %s",
             pappus_quantity_unit(PAPPUS_SHOW_HEIGHT, units));
    put_flat(xml, x, unit, text);
    for (size_t i = 0; i < skill->correlation_count && series < SERIES; i++) {
        if (c[i].pairs < LEAST_PAIRS || (i > 0 && c[i].age_h == c[i - 1].age_h)) continue;
        put_age(xml, skill, i, series, &x, &y);
        snprintf(text, sizeof text, "%.0f h", c[i].age_h);
        put_key(xml, series++, text);
    }
    return end(xml, err);
}

/* ------------------------------------------------------------------- by level */

/* Middle of the place of one of the levels. */
static double level_at(size_t level)
{
    return LEFT + (RIGHT - LEFT) * ((double)level + 0.5) / PAPPUS_LEVELS;
}

/* The share that is meant, as a stroke across the place. */
static void put_levels(pappus_xml *xml, const char *text)
{
    double half = 0.44 * (RIGHT - LEFT) / PAPPUS_LEVELS;
    put_upright(xml, share_scale, 0.25, 1, percents);
    for (size_t l = 0; l < PAPPUS_LEVELS; l++) {
        double y = plot_at(&share_scale, pappus_levels[l]);
        svg_line(xml, level_at(l) - half, y, level_at(l) + half, y, "k-meant");
        svg_text(xml, level_at(l), BOTTOM + 20, "t-text t-middle", "%.0f %%",
                 100 * pappus_levels[l]);
    }
    svg_text(xml, (LEFT + RIGHT) / 2, BOTTOM + 44, "t-text t-middle", "%s", text);
}

static int draw_tails(pappus_xml *xml, const pappus_skill *skill, pappus_error *err)
{
    begin(xml, "Tails: what each law holds of the pairs",
          "Plot of the share of pairs that a Student and a normal law hold.");
    put_levels(xml, "meant to hold (stroke)");
    put_key(xml, 0, "the law fitted");
    put_key(xml, 1, "a normal law");
    for (size_t l = 0; l < skill->tail_count; l++) {
        const pappus_skill_tail *tail = &skill->tails[l];
        svg_circle(xml, level_at(l) - 12, plot_at(&share_scale, tail->student), DOT, dots[0]);
        svg_circle(xml, level_at(l) + 12, plot_at(&share_scale, tail->normal), DOT, dots[1]);
    }
    return end(xml, err);
}

static int draw_coverage(pappus_xml *xml, const pappus_proof *proof, pappus_error *err)
{
    begin(xml, "Flights inside the contours of the plan's zones",
          "Plot of the share of flights inside each contour, with its interval.");
    put_levels(xml, "contour (stroke)");
    put_key(xml, 0, "learned");
    put_key(xml, 1, "learned, with reading");
    put_key(xml, 2, "as planned");
    put_key(xml, 3, "as planned, with reading");
    for (size_t i = 0; i < proof->coverage_count; i++) {
        const pappus_skill_coverage *c = &proof->coverage[i];
        int series = 2 * !c->learned + c->reading;
        double x = level_at(i % PAPPUS_LEVELS) + 20.0 * (series - 1.5);
        svg_line(xml, x, plot_at(&share_scale, c->share.low), x,
                 plot_at(&share_scale, c->share.high), lines[series]);
        svg_circle(xml, x, plot_at(&share_scale, c->share.value), DOT, dots[series]);
    }
    return end(xml, err);
}

/* One bar a tenth: how many flights came down where so much of the zone is denser. */
static void put_bars(pappus_xml *xml, const size_t ranks[PAPPUS_SKILL_RANKS], int series,
                     const plot_scale *x, const plot_scale *y)
{
    double width = (RIGHT - LEFT) / PAPPUS_SKILL_RANKS;
    for (int i = 0; i < PAPPUS_SKILL_RANKS; i++) {
        double left = plot_at(x, 100.0 * i / PAPPUS_SKILL_RANKS) + (0.1 + 0.4 * series) * width;
        double top = plot_at(y, (double)ranks[i]);
        svg_rectangle(xml, left, top, 0.4 * width, BOTTOM - top,
                      series ? "k-bar k-1" : "k-bar k-0");
    }
}

static int draw_ranks(pappus_xml *xml, const pappus_proof *proof, pappus_error *err)
{
    double most = 1;
    for (int i = 0; i < PAPPUS_SKILL_RANKS; i++)
        most = fmax(most, fmax((double)proof->ranks[0][i], (double)proof->ranks[1][i]));
    plot_scale x = {0, 100, LEFT, RIGHT, 0}, y = {0, 1.1 * most, BOTTOM, TOP, 0};
    double meant = plot_at(&y, (double)proof->pairs / PAPPUS_SKILL_RANKS);
    begin(xml, "Flights by how much of their zone is denser",
          "Histogram of where in its zone each flight came down; level when the zones are true.");
    put_upright(xml, y, 1, fmax(1, plot_step(y.high, MOST_TICKS)), NULL);
    put_flat(xml, x, 1, "denser part of the zone, % (stroke: as meant)");
    svg_line(xml, LEFT, meant, RIGHT, meant, "k-meant");
    put_key(xml, 0, "learned");
    put_key(xml, 1, "learned, with reading");
    put_bars(xml, proof->ranks[0], 0, &x, &y);
    put_bars(xml, proof->ranks[1], 1, &x, &y);
    return end(xml, err);
}

int drawing_skill(pappus_xml *xml, drawing_skill_subject subject, const pappus_skill *skill,
                  const pappus_proof *proof, pappus_unit_system units, pappus_error *err)
{
    switch (subject) {
    case DRAWING_AGES:
        return draw_ages(xml, skill, units, err);
    case DRAWING_DISTANCES:
        return draw_distances(xml, skill, units, err);
    case DRAWING_TAILS:
        return draw_tails(xml, skill, err);
    case DRAWING_RANKS:
        return draw_ranks(xml, proof, err);
    default:
        return draw_coverage(xml, proof, err);
    }
}

int drawing_skill_sheet(pappus_xml *xml, const pappus_skill *skill, const pappus_proof *proof,
                        pappus_unit_system units, pappus_error *err)
{
    int count = proof ? DRAWING_SKILL_SUBJECTS : DRAWING_COVERAGE, status = PAPPUS_OK;
    svg_begin(xml, WIDTH, count * HEIGHT, "How far winds change, measured");
    pappus_xml_element(xml, "style", ".k-page{fill:#fff}");
    svg_rectangle(xml, 0, 0, WIDTH, count * HEIGHT, "k-page");
    for (int i = 0; i < count && status == PAPPUS_OK; i++) {
        pappus_xml_start(xml, "g");
        svg_attribute(xml, "transform", "translate(0 %.0f)", i * HEIGHT);
        status = drawing_skill(xml, (drawing_skill_subject)i, skill, proof, units, err);
        pappus_xml_end(xml);
    }
    pappus_xml_end(xml);
    return status;
}
