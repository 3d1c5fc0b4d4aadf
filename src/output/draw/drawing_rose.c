/* SPDX-License-Identifier: GPL-3.0-or-later
 * The ceiling as a rose: for every direction that the surface wind may come from a sector up
 * to the wind at which go turns to no-go, and today's wind and gust in it. Out along a bearing
 * is a stronger wind from there. Between the directions that were tried the rim is no more
 * than the nearest one's. */
#include "drawing.h"

#include <math.h>

#include "error.h"
#include "format.h"
#include "plot.h"

#define WIDTH 480.0
#define HEIGHT 424.0
#define X 240.0
#define Y 188.0
#define RIM 150.0
#define ARROW 30.0
#define RADIANS (3.14159265358979323846 / 180.0)

typedef struct {
    pappus_xml *xml;
    const pappus_answer *answer;
    pappus_unit_system units;
    plot_scale speed; /* m/s, from the middle outwards */
    double wind_mps, gust_mps, from_deg;
} rose;

static double x_at(double radius, double bearing_deg)
{
    return X + radius * sin(bearing_deg * RADIANS);
}

static double y_at(double radius, double bearing_deg)
{
    return Y - radius * cos(bearing_deg * RADIANS);
}

/* ------------------------------------------------------------------ the rose */

static void put_rings(const rose *r)
{
    double unit_mps = 1 / pappus_quantity_value(PAPPUS_SHOW_WIND, 1, r->units);
    double step = plot_step(r->speed.high / unit_mps, 4);
    for (double value = step; value * unit_mps <= r->speed.high; value += step)
        svg_circle(r->xml, X, Y, plot_at(&r->speed, value * unit_mps), "r-ring");
    for (double value = step; value * unit_mps <= r->speed.high; value += step)
        svg_text(r->xml, X + 3, Y - plot_at(&r->speed, value * unit_mps) + 15, "r-small r-halo",
                 "%.0f", value);
}

static void put_points(const rose *r)
{
    static const char *const points[] = {"N", "E", "S", "W"};
    for (int i = 0; i < 4; i++)
        svg_text(r->xml, x_at(RIM + 17, 90 * i), y_at(RIM + 17, 90 * i) + 5,
                 "r-text r-strong r-mid", "%s", points[i]);
}

/* From the least wind that is go to the greatest, as wide as there are directions. */
static void put_sector(const rose *r, const pappus_ceiling_row *row, double half_deg)
{
    double from = plot_at(&r->speed, row->floor_mps);
    double to = plot_at(&r->speed, row->reached ? row->surface_wind_mps : r->speed.high);
    double a = row->wind_from_deg - half_deg, b = row->wind_from_deg + half_deg;
    char data[320];
    if (!row->go || !(to > from)) return;
    snprintf(data, sizeof data,
             "M%.1f %.1fL%.1f %.1fA%.1f %.1f 0 0 1 %.1f %.1fL%.1f %.1fA%.1f %.1f "
             "0 0 0 %.1f %.1fZ",
             x_at(from, a), y_at(from, a), x_at(to, a), y_at(to, a), to, to, x_at(to, b),
             y_at(to, b), x_at(from, b), y_at(from, b), from, from, x_at(from, a), y_at(from, a));
    svg_path(r->xml, row->reached ? "r-go" : "r-go r-open", NULL, data);
}

static void put_arc(const rose *r, const pappus_ceiling_row *row, double half_deg)
{
    double at = plot_at(&r->speed, row->surface_wind_mps), a = row->wind_from_deg - half_deg;
    double b = row->wind_from_deg + half_deg;
    char data[160];
    if (!row->go || !row->reached) return;
    snprintf(data, sizeof data, "M%.1f %.1fA%.1f %.1f 0 0 1 %.1f %.1f", x_at(at, a), y_at(at, a),
             at, at, x_at(at, b), y_at(at, b));
    svg_path(r->xml, "r-turn", NULL, data);
}

/* ---------------------------------------------------------------------- today */

static void put_gust(const rose *r)
{
    double at = plot_at(&r->speed, r->gust_mps), from = plot_at(&r->speed, r->wind_mps);
    double x = x_at(at, r->from_deg), y = y_at(at, r->from_deg), c = 6 * cos(r->from_deg * RADIANS);
    double s = 6 * sin(r->from_deg * RADIANS);
    if (!(r->gust_mps > r->wind_mps)) return;
    svg_line(r->xml, x_at(from, r->from_deg), y_at(from, r->from_deg), x, y, "r-gust");
    svg_line(r->xml, x - c, y - s, x + c, y + s, "r-gust");
}

/* The arrow flies with the wind; its tail is the wind's speed. */
static void put_today(const rose *r)
{
    double tail = plot_at(&r->speed, r->wind_mps), long_enough = fmin(ARROW, tail);
    if (!(r->wind_mps > 0)) {
        svg_circle(r->xml, X, Y, 6, "r-calm");
        return;
    }
    put_gust(r);
    double middle = tail - long_enough / 2;
    svg_arrow(r->xml, x_at(middle, r->from_deg), y_at(middle, r->from_deg), long_enough,
              r->from_deg + 180, "r-today");
    svg_circle(r->xml, x_at(tail, r->from_deg), y_at(tail, r->from_deg), 4.5, "r-dot");
}

static void put_words(const rose *r)
{
    char wind[PAPPUS_TEXT_SIZE], gust[PAPPUS_TEXT_SIZE];
    double y = Y + RIM + 42;
    pappus_format(wind, sizeof wind, PAPPUS_SHOW_WIND, r->wind_mps, r->units);
    pappus_format(gust, sizeof gust, PAPPUS_SHOW_WIND, r->gust_mps, r->units);
    bool gusts = r->gust_mps > r->wind_mps;
    svg_circle(r->xml, 14, y - 5, 4.5, "r-dot");
    svg_text(r->xml, 26, y, "r-text r-strong", "today %s %s%s%s%s", wind,
             pappus_compass_point(r->from_deg), gusts ? " (bar: gusts of " : "", gusts ? gust : "",
             gusts ? ")" : "");
    svg_rectangle(r->xml, 5, y + 12, 17, 12, "r-go");
    svg_text(r->xml, 26, y + 23, "r-text", "go");
    svg_line(r->xml, 60, y + 18, 78, y + 18, "r-turn");
    svg_text(r->xml, 84, y + 23, "r-text", "turns to no-go");
    svg_text(r->xml, WIDTH - 4, y + 23, "r-text r-end", "rings: %s, from",
             pappus_quantity_unit(PAPPUS_SHOW_WIND, r->units));
}

static rose make_rose(pappus_xml *xml, const pappus_answer *answer, pappus_unit_system units)
{
    const pappus_ceiling_round *ceiling = pappus_ceiling_first(answer->ceiling);
    rose r = {.xml = xml,
              .answer = answer,
              .units = units,
              .wind_mps = NAN,
              .gust_mps = NAN,
              .from_deg = ceiling->planned.wind_from_deg};
    if (answer->air) r.wind_mps = pappus_air_surface_wind_mps(answer->air);
    if (answer->air) r.gust_mps = pappus_air_gust_mps(answer->air);
    double most_mps = fmax(1, fmax(r.wind_mps, r.gust_mps));
    for (size_t i = 0; i < ceiling->row_count; i++)
        most_mps = fmax(most_mps, ceiling->rows[i].surface_wind_mps);
    most_mps = fmax(most_mps, ceiling->planned.surface_wind_mps);
    r.speed = (plot_scale){0, 1.05 * most_mps, 0, RIM, 0};
    return r;
}

int drawing_rose(pappus_xml *xml, const pappus_answer *answer, pappus_unit_system units,
                 pappus_error *err)
{
    const pappus_ceiling_round *ceiling = pappus_ceiling_first(answer->ceiling);
    rose r = make_rose(xml, answer, units);
    double half_deg = ceiling->row_count > 0 ? 180.0 / (double)ceiling->row_count : 15;
    svg_begin(xml, WIDTH, HEIGHT,
              "Rose of the surface winds that are go; the table has the same "
              "in numbers.");
    pappus_xml_element(xml, "style", "%s", drawing_rose_style);
    svg_circle(xml, X, Y, RIM, "r-ground");
    for (size_t i = 0; i < ceiling->row_count; i++)
        put_sector(&r, &ceiling->rows[i], half_deg);
    put_rings(&r);
    for (size_t i = 0; i < ceiling->row_count; i++)
        put_arc(&r, &ceiling->rows[i], half_deg);
    put_points(&r);
    if (isfinite(r.wind_mps)) put_today(&r);
    if (isfinite(r.wind_mps)) put_words(&r);
    pappus_xml_end(xml);
    return xml->failed ? pappus_fail_memory(err) : PAPPUS_OK;
}
