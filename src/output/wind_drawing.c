/* SPDX-License-Identifier: GPL-3.0-or-later
 * A wind profile drawn as SVG: speed, direction and barbs side by side over one
 * axis of height. Between levels the line is the reader's own: components linear
 * in height. With the air of a plan the shaded bands hold 90 % of the sampled
 * winds, before and after the measured winds: from the quantiles of u and v at 51
 * steps each, taken as independent, which is exact for one profile and near
 * enough for several. Only the first of several profiles is drawn, and their
 * number told. */
#include "air.h"
#include "c_locale.h"
#include "error.h"
#include "format.h"
#include "timestamp.h"
#include "wind_barb.h"
#include "wind_profile.h"
#include "writer.h"

#include <libxml/xmlwriter.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define WIDTH 820.0
#define HEIGHT 650.0
#define TOP 104.0
#define BOTTOM 560.0
#define SPEED_LEFT 78.0
#define SPEED_RIGHT 368.0
#define DIRECTION_LEFT 404.0
#define DIRECTION_RIGHT 664.0
#define BARB_X 736.0
#define BARB_GAP 24.0
#define DEFAULT_SPAN_M 6000.0
#define SURFACE_TOP_M 500.0 /* the surface wind's own profile is constant above 300 m */
#define STEPS 80       /* heights of a line or band */
#define BAND_LOW_M 1.0 /* at 0 there is no wind, and no direction */
#define GRID 51        /* quantiles per component */

#define INK "#22303c"
#define FAINT "#d5dbe1"
#define SPEED_INK "#12507b"
#define DIRECTION_INK "#9c3d12"

typedef struct {
    double height_m;       /* on the axis */
    double u_mps, v_mps;
} point;

typedef struct {
    double height_m;
    double speed_low, speed_high; /* m/s */
    double turn_low, turn_high;   /* degrees from the mean's direction */
    double direction_deg;         /* of the mean, unwrapped */
} band_row;

typedef struct {
    xmlTextWriterPtr xml;
    const pappus_wind_profile *profile; /* NULL: the surface wind alone */
    size_t profile_count;
    const pappus_air *air;
    pappus_unit_system units;
    size_t point_count;
    point *points; /* levels with wind, rising */
    double low_m, top_m, most_mps;
    bool failed;   /* a call of the writer said so */
} drawing;

/* ----------------------------------------------------------------- elements */

static void check(drawing *d, int written)
{
    if (written < 0) d->failed = true;
}

static void open_element(drawing *d, const char *name)
{
    check(d, xmlTextWriterStartElement(d->xml, (const xmlChar *)name));
}

static void close_element(drawing *d)
{
    check(d, xmlTextWriterEndElement(d->xml));
}

static void text_attribute(drawing *d, const char *name, const char *value)
{
    check(d, xmlTextWriterWriteAttribute(d->xml, (const xmlChar *)name, (const xmlChar *)value));
}

static void number_attribute(drawing *d, const char *name, double value)
{
    check(d, xmlTextWriterWriteFormatAttribute(d->xml, (const xmlChar *)name, "%.1f", value));
}

static void line(drawing *d, double x1, double y1, double x2, double y2, const char *style)
{
    open_element(d, "line");
    number_attribute(d, "x1", x1);
    number_attribute(d, "y1", y1);
    number_attribute(d, "x2", x2);
    number_attribute(d, "y2", y2);
    text_attribute(d, "class", style);
    close_element(d);
}

static void text(drawing *d, double x, double y, const char *style, const char *content)
{
    char *clean = pappus_text_clean(content);
    if (!clean) {
        d->failed = true;
        return;
    }
    open_element(d, "text");
    number_attribute(d, "x", x);
    number_attribute(d, "y", y);
    text_attribute(d, "class", style);
    check(d, xmlTextWriterWriteString(d->xml, (const xmlChar *)clean));
    close_element(d);
    free(clean);
}

static void dot(drawing *d, double x, double y, const char *style)
{
    open_element(d, "circle");
    number_attribute(d, "cx", x);
    number_attribute(d, "cy", y);
    text_attribute(d, "r", "2.6");
    text_attribute(d, "class", style);
    close_element(d);
}

/* A polyline or polygon of points x, y. */
static void shape(drawing *d, const char *name, const char *style, const double *xy, size_t count)
{
    open_element(d, name);
    text_attribute(d, "class", style);
    check(d, xmlTextWriterStartAttribute(d->xml, (const xmlChar *)"points"));
    for (size_t i = 0; i < count; i++)
        check(d, xmlTextWriterWriteFormatString(d->xml, "%s%.1f,%.1f", i ? " " : "", xy[2 * i],
                                                xy[2 * i + 1]));
    check(d, xmlTextWriterEndAttribute(d->xml));
    close_element(d);
}

/* -------------------------------------------------------------------- scales */

static double y_of(const drawing *d, double height_m)
{
    return BOTTOM - (BOTTOM - TOP) * (height_m - d->low_m) / (d->top_m - d->low_m);
}

static double x_of_speed(const drawing *d, double speed_mps)
{
    return SPEED_LEFT + (SPEED_RIGHT - SPEED_LEFT) * speed_mps / d->most_mps;
}

static double x_of_direction(double direction_deg)
{
    return DIRECTION_LEFT + (DIRECTION_RIGHT - DIRECTION_LEFT) * direction_deg / 360.0;
}

/* A step of 1, 2 or 5 times a power of ten, at most `most` of them in the span. */
static double nice_step(double span, double most)
{
    double power = pow(10.0, floor(log10(span / most)));
    double least = span / most / power;
    return power * (least <= 1.0 ? 1.0 : least <= 2.0 ? 2.0 : least <= 5.0 ? 5.0 : 10.0);
}

/* ------------------------------------------------------------------- profile */

static point at_height(const drawing *d, double height_m)
{
    const point *p = d->points;
    size_t i = 1;
    if (height_m <= p[0].height_m) return p[0];
    while (i < d->point_count && p[i].height_m < height_m) i++;
    if (i == d->point_count) return p[i - 1];
    double share = (height_m - p[i - 1].height_m) / (p[i].height_m - p[i - 1].height_m);
    return (point){height_m, p[i - 1].u_mps + share * (p[i].u_mps - p[i - 1].u_mps),
                   p[i - 1].v_mps + share * (p[i].v_mps - p[i - 1].v_mps)};
}

static double from_deg(double u_mps, double v_mps)
{
    return pappus_bearing_of(-u_mps, -v_mps);
}

/* direction_deg moved by whole turns to within 180 of before_deg. */
static double unwrap(double direction_deg, double before_deg)
{
    return before_deg + remainder(direction_deg - before_deg, 360.0);
}

/* Without a profile: what the air makes of the surface wind alone. */
static int points_of_air(drawing *d, pappus_error *err)
{
    d->points = malloc((STEPS + 1) * sizeof *d->points);
    if (!d->points) return pappus_fail_memory(err);
    for (int i = 0; i <= STEPS; i++) {
        point *p = &d->points[d->point_count++];
        p->height_m = BAND_LOW_M + (SURFACE_TOP_M - BAND_LOW_M) * i * i / (STEPS * STEPS);
        pappus_air_mean_wind(d->air, p->height_m, &p->u_mps, &p->v_mps);
    }
    return PAPPUS_OK;
}

static int read_points(drawing *d, pappus_error *err)
{
    if (!d->profile) return points_of_air(d, err);
    d->points = malloc((d->profile->level_count + 1) * sizeof *d->points);
    if (!d->points) return pappus_fail_memory(err);
    for (size_t i = 0; i < d->profile->level_count; i++) {
        const pappus_wind_level *level = &d->profile->levels[i];
        if (isnan(level->u_mps)) continue;
        double height_m = d->air ? pappus_wind_level_height_m(level, d->air->atmosphere)
                                 : level->height_m;
        if (d->point_count && height_m <= d->points[d->point_count - 1].height_m) continue;
        d->points[d->point_count++] = (point){height_m, level->u_mps, level->v_mps};
    }
    if (d->point_count > 0) return PAPPUS_OK;
    return pappus_fail(err, PAPPUS_E_OUTPUT, d->profile->path, NULL, NULL, "no level with a wind");
}

static void set_range(drawing *d, double top_m)
{
    double highest_m = d->points[d->point_count - 1].height_m;
    d->low_m = d->air ? 0.0 : fmin(d->points[0].height_m, fmax(0.0, d->points[0].height_m - 200.0));
    d->top_m = isnan(top_m) ? fmin(highest_m, d->low_m + DEFAULT_SPAN_M) : top_m;
    if (!(d->top_m > d->low_m + 1.0)) d->top_m = d->low_m + 100.0;
    d->most_mps = 1.0;
    for (size_t i = 0; i < d->point_count; i++)
        if (d->points[i].height_m <= d->top_m)
            d->most_mps = fmax(d->most_mps, hypot(d->points[i].u_mps, d->points[i].v_mps));
    point top = at_height(d, d->top_m);
    d->most_mps = 1.08 * fmax(d->most_mps, hypot(top.u_mps, top.v_mps));
}

/* ---------------------------------------------------------------------- band */

static int by_value(const void *a, const void *b)
{
    double p = *(const double *)a, q = *(const double *)b;
    return (p > q) - (p < q);
}

/* 5 and 95 % of the sampled winds at one height. */
static void fill_row(band_row *row, const drawing *d, bool prior, double before_deg)
{
    double u[GRID], v[GRID], speeds[GRID * GRID], turns[GRID * GRID], mean_u, mean_v;
    for (int i = 0; i < GRID; i++)
        pappus_air_wind_quantile(d->air, prior, row->height_m, (i + 0.5) / GRID, &u[i], &v[i]);
    mean_u = u[GRID / 2];
    mean_v = v[GRID / 2];
    double mean_deg = from_deg(mean_u, mean_v);
    for (int i = 0; i < GRID; i++) {
        for (int j = 0; j < GRID; j++) {
            speeds[i * GRID + j] = hypot(u[i], v[j]);
            turns[i * GRID + j] = remainder(from_deg(u[i], v[j]) - mean_deg, 360.0);
        }
    }
    qsort(speeds, GRID * GRID, sizeof *speeds, by_value);
    qsort(turns, GRID * GRID, sizeof *turns, by_value);
    size_t low = GRID * GRID / 20, high = GRID * GRID - 1 - low;
    row->speed_low = speeds[low];
    row->speed_high = speeds[high];
    row->turn_low = turns[low];
    row->turn_high = turns[high];
    row->direction_deg = unwrap(mean_deg, before_deg);
}

/* Rows close up towards the ground, where the wind changes most. */
static void fill_band(band_row rows[STEPS + 1], drawing *d, bool prior)
{
    double before_deg = 180.0;
    for (int i = 0; i <= STEPS; i++) {
        double share = (double)i / STEPS;
        rows[i].height_m = fmax(BAND_LOW_M, d->low_m + (d->top_m - d->low_m) * share * share);
        fill_row(&rows[i], d, prior, before_deg);
        before_deg = rows[i].direction_deg;
        d->most_mps = fmax(d->most_mps, 1.03 * rows[i].speed_high);
    }
}

static void draw_speed_band(drawing *d, const band_row *rows, const char *style)
{
    double xy[4 * (STEPS + 1)];
    for (size_t i = 0; i <= STEPS; i++) {
        size_t back = 2 * STEPS + 1 - i;
        xy[2 * i] = x_of_speed(d, rows[i].speed_low);
        xy[2 * back] = x_of_speed(d, rows[i].speed_high);
        xy[2 * i + 1] = xy[2 * back + 1] = y_of(d, rows[i].height_m);
    }
    shape(d, "polygon", style, xy, 2 * (STEPS + 1));
}

/* Drawn for the turns that touch 0 to 360; the panel cuts off the rest. */
static void draw_direction_band(drawing *d, const band_row *rows, const char *style)
{
    double xy[4 * (STEPS + 1)];
    for (double turn = -720.0; turn <= 720.0; turn += 360.0) {
        double least = INFINITY, most = -INFINITY;
        for (size_t i = 0; i <= STEPS; i++) {
            size_t back = 2 * STEPS + 1 - i;
            double low = rows[i].direction_deg + rows[i].turn_low + turn;
            double high = rows[i].direction_deg + rows[i].turn_high + turn;
            xy[2 * i] = x_of_direction(low);
            xy[2 * back] = x_of_direction(high);
            xy[2 * i + 1] = xy[2 * back + 1] = y_of(d, rows[i].height_m);
            least = fmin(least, low);
            most = fmax(most, high);
        }
        if (most > 0.0 && least < 360.0) shape(d, "polygon", style, xy, 2 * (STEPS + 1));
    }
}

static void draw_bands(drawing *d, const band_row *prior, const band_row *after)
{
    draw_speed_band(d, prior, "prior speed");
    draw_speed_band(d, after, "after speed");
    open_element(d, "g");
    text_attribute(d, "clip-path", "url(#directions)");
    draw_direction_band(d, prior, "prior direction");
    draw_direction_band(d, after, "after direction");
    close_element(d);
}

/* --------------------------------------------------------------------- lines */

static void draw_speed_line(drawing *d)
{
    double xy[2 * (4 * STEPS + 1)];
    double from_m = fmax(d->low_m, d->points[0].height_m);
    for (size_t i = 0; i <= 4 * STEPS; i++) {
        double height_m = from_m + (d->top_m - from_m) * (double)i / (4 * STEPS);
        point p = at_height(d, height_m);
        xy[2 * i] = x_of_speed(d, hypot(p.u_mps, p.v_mps));
        xy[2 * i + 1] = y_of(d, height_m);
    }
    shape(d, "polyline", "line speed", xy, 4 * STEPS + 1);
}

static void draw_direction_line(drawing *d)
{
    double directions[4 * STEPS + 1], xy[2 * (4 * STEPS + 1)], before_deg = 180.0;
    double from_m = fmax(d->low_m, d->points[0].height_m);
    for (size_t i = 0; i <= 4 * STEPS; i++) {
        point p = at_height(d, from_m + (d->top_m - from_m) * (double)i / (4 * STEPS));
        bool calm = hypot(p.u_mps, p.v_mps) < 1e-6;
        directions[i] = calm ? before_deg : unwrap(from_deg(p.u_mps, p.v_mps), before_deg);
        before_deg = directions[i];
    }
    for (double turn = -720.0; turn <= 720.0; turn += 360.0) {
        double least = INFINITY, most = -INFINITY;
        for (size_t i = 0; i <= 4 * STEPS; i++) {
            xy[2 * i] = x_of_direction(directions[i] + turn);
            xy[2 * i + 1] = y_of(d, from_m + (d->top_m - from_m) * (double)i / (4 * STEPS));
            least = fmin(least, directions[i] + turn);
            most = fmax(most, directions[i] + turn);
        }
        if (most > 0.0 && least < 360.0)
            shape(d, "polyline", "line direction", xy, 4 * STEPS + 1);
    }
}

static void draw_barb(drawing *d, const point *p)
{
    char path[1024], turn[96];
    double speed_mps = hypot(p->u_mps, p->v_mps), y = y_of(d, p->height_m);
    pappus_barb barb = pappus_barb_of(speed_mps);
    open_element(d, barb.pennants || barb.full || barb.half ? "path" : "circle");
    if (barb.pennants || barb.full || barb.half) {
        pappus_barb_path(path, sizeof path, barb);
        snprintf(turn, sizeof turn, "translate(%.1f %.1f) rotate(%.1f)", BARB_X, y,
                 from_deg(p->u_mps, p->v_mps));
        text_attribute(d, "d", path);
        text_attribute(d, "transform", turn);
    } else {
        number_attribute(d, "cx", BARB_X);
        number_attribute(d, "cy", y);
        text_attribute(d, "r", "5");
    }
    text_attribute(d, "class", "barb");
    close_element(d);
}

static void draw_levels(drawing *d)
{
    double last_y = INFINITY;
    for (size_t i = 0; i < d->point_count; i++) {
        const point *p = &d->points[i];
        double speed_mps = hypot(p->u_mps, p->v_mps), y = y_of(d, p->height_m);
        if (p->height_m < d->low_m || p->height_m > d->top_m) continue;
        if (d->profile) dot(d, x_of_speed(d, speed_mps), y, "dot speed");
        if (d->profile && speed_mps > 0.0)
            dot(d, x_of_direction(from_deg(p->u_mps, p->v_mps)), y, "dot direction");
        if (last_y - y < BARB_GAP) continue;
        draw_barb(d, p);
        last_y = y;
    }
}

/* ---------------------------------------------------------------------- axes */

static void draw_heights(drawing *d)
{
    double unit_m = 1.0 / pappus_quantity_value(PAPPUS_SHOW_HEIGHT, 1.0, d->units);
    double step_m = unit_m * nice_step((d->top_m - d->low_m) / unit_m, 10.0);
    for (double h = ceil(d->low_m / step_m) * step_m; h <= d->top_m * (1 + 1e-9); h += step_m) {
        char label[PAPPUS_TEXT_SIZE];
        double y = y_of(d, h);
        line(d, SPEED_LEFT, y, SPEED_RIGHT, y, "grid");
        line(d, DIRECTION_LEFT, y, DIRECTION_RIGHT, y, "grid");
        snprintf(label, sizeof label, "%.0f", h / unit_m);
        text(d, SPEED_LEFT - 8, y + 4, "label end", label);
    }
}

static void draw_speeds(drawing *d)
{
    double unit_mps = 1.0 / pappus_quantity_value(PAPPUS_SHOW_WIND, 1.0, d->units);
    double step_mps = unit_mps * nice_step(d->most_mps / unit_mps, 7.0);
    for (double s = 0.0; s <= d->most_mps; s += step_mps) {
        char label[PAPPUS_TEXT_SIZE];
        double x = x_of_speed(d, s);
        line(d, x, TOP, x, BOTTOM, "grid");
        snprintf(label, sizeof label, "%.0f", s / unit_mps);
        text(d, x, BOTTOM + 16, "label middle", label);
    }
}

static void draw_directions(drawing *d)
{
    static const char *const names[] = {"N", "E", "S", "W", "N"};
    for (int i = 0; i <= 4; i++) {
        char label[PAPPUS_TEXT_SIZE];
        double x = x_of_direction(90.0 * i);
        line(d, x, TOP, x, BOTTOM, "grid");
        snprintf(label, sizeof label, "%s %d", names[i], i == 4 ? 0 : 90 * i);
        text(d, x, BOTTOM + 16, "label middle", label);
    }
}

static const char *height_base(const drawing *d)
{
    if (d->air) return "above the pad";
    switch (d->profile->levels[0].height_kind) {
    case PAPPUS_HEIGHT_AGL:
        return "above the pad";
    case PAPPUS_HEIGHT_PRESSURE:
        return "pressure altitude";
    default:
        return "above the sea";
    }
}

static void draw_axes(drawing *d)
{
    char label[2 * PAPPUS_TEXT_SIZE];
    draw_heights(d);
    draw_speeds(d);
    draw_directions(d);
    snprintf(label, sizeof label, "height %s, %s", height_base(d),
             pappus_quantity_unit(PAPPUS_SHOW_HEIGHT, d->units));
    text(d, SPEED_LEFT - 56, TOP - 12, "axis", label);
    snprintf(label, sizeof label, "wind speed, %s",
             pappus_quantity_unit(PAPPUS_SHOW_WIND, d->units));
    text(d, (SPEED_LEFT + SPEED_RIGHT) / 2, BOTTOM + 36, "axis middle", label);
    text(d, (DIRECTION_LEFT + DIRECTION_RIGHT) / 2, BOTTOM + 36, "axis middle",
         "wind comes from, degrees true");
    text(d, BARB_X, BOTTOM + 36, "axis middle", "barbs, knots");
}

static void draw_titles(drawing *d)
{
    char title[320], time[40], more[200] = "";
    const pappus_wind_profile *p = d->profile;
    if (!p) {
        text(d, 22, 32, "title", "Surface wind alone");
        return;
    }
    const char *name = strrchr(p->path, '/');
    snprintf(title, sizeof title, "%.160s%s%.40s", name ? name + 1 : p->path,
             p->station ? ", station " : "", p->station ? p->station : "");
    text(d, 22, 32, "title", title);
    double when_s = isnan(p->valid_utc_s) ? p->issued_utc_s : p->valid_utc_s;
    pappus_time_format(time, sizeof time, when_s);
    if (d->profile_count > 1)
        snprintf(more, sizeof more, ", the first of %zu profiles", d->profile_count);
    snprintf(title, sizeof title, "%s%s%s%s", p->format, isnan(when_s) ? "" : ", ",
             isnan(when_s) ? "" : time, more);
    text(d, 22, 52, "axis", title);
}

static void draw_key(drawing *d)
{
    text(d, 22, HEIGHT - 28, "label",
         "Dots: levels of the file. Half a feather is 5 kt, a whole one 10, a pennant 50.");
    if (d->air)
        text(d, 22, HEIGHT - 12, "label",
             "Shaded: 90 % of the sampled winds. Dashed: the same before the measured winds "
             "are taken in.");
}

static void draw_style(drawing *d)
{
    static const char style[] =
        "text{font-family:'DejaVu Sans',Arial,sans-serif;fill:" INK "}"
        ".title{font-size:17px;font-weight:bold}.axis{font-size:12.5px}.label{font-size:11.5px}"
        ".middle{text-anchor:middle}.end{text-anchor:end}"
        ".grid{stroke:" FAINT ";stroke-width:1}.frame{fill:none;stroke:" INK ";stroke-width:1}"
        ".line{fill:none;stroke-width:2}.line.speed{stroke:" SPEED_INK "}"
        ".line.direction{stroke:" DIRECTION_INK "}"
        ".dot.speed{fill:" SPEED_INK "}.dot.direction{fill:" DIRECTION_INK "}"
        ".prior{fill:none;stroke-width:1;stroke-dasharray:5 3}"
        ".prior.speed{stroke:" SPEED_INK "}.prior.direction{stroke:" DIRECTION_INK "}"
        ".after.speed{fill:" SPEED_INK ";fill-opacity:.18}"
        ".after.direction{fill:" DIRECTION_INK ";fill-opacity:.18}"
        ".barb{fill:" INK ";stroke:" INK ";stroke-width:1.3}circle.barb{fill:none}";
    open_element(d, "style");
    check(d, xmlTextWriterWriteString(d->xml, (const xmlChar *)style));
    close_element(d);
}

static void rectangle(drawing *d, double left, double right, const char *style)
{
    open_element(d, "rect");
    number_attribute(d, "x", left);
    number_attribute(d, "y", TOP);
    number_attribute(d, "width", right - left);
    number_attribute(d, "height", BOTTOM - TOP);
    if (style) text_attribute(d, "class", style);
    close_element(d);
}

static void draw_clip(drawing *d)
{
    open_element(d, "clipPath");
    text_attribute(d, "id", "directions");
    rectangle(d, DIRECTION_LEFT, DIRECTION_RIGHT, NULL);
    close_element(d);
}

static void draw_all(drawing *d)
{
    band_row prior[STEPS + 1], after[STEPS + 1];
    if (d->air) {
        fill_band(prior, d, true);
        fill_band(after, d, false);
    }
    draw_style(d);
    draw_clip(d);
    open_element(d, "rect");
    number_attribute(d, "width", WIDTH);
    number_attribute(d, "height", HEIGHT);
    text_attribute(d, "fill", "#ffffff");
    close_element(d);
    draw_titles(d);
    draw_key(d);
    draw_axes(d);
    if (d->air) draw_bands(d, prior, after);
    draw_speed_line(d);
    open_element(d, "g");
    text_attribute(d, "clip-path", "url(#directions)");
    draw_direction_line(d);
    close_element(d);
    draw_levels(d);
    rectangle(d, SPEED_LEFT, SPEED_RIGHT, "frame");
    rectangle(d, DIRECTION_LEFT, DIRECTION_RIGHT, "frame");
}

static void draw_document(drawing *d)
{
    check(d, xmlTextWriterStartDocument(d->xml, "1.0", "UTF-8", NULL));
    check(d, xmlTextWriterStartElementNS(d->xml, NULL, (const xmlChar *)"svg",
                                         (const xmlChar *)"http://www.w3.org/2000/svg"));
    check(d, xmlTextWriterWriteFormatAttribute(d->xml, (const xmlChar *)"viewBox", "0 0 %.0f %.0f",
                                               WIDTH, HEIGHT));
    number_attribute(d, "width", WIDTH);
    number_attribute(d, "height", HEIGHT);
    draw_all(d);
    check(d, xmlTextWriterEndDocument(d->xml));
}

/* Draws into memory with libxml2, which escapes what users wrote. */
static int draw_text(char **out, drawing *d, pappus_error *err)
{
    xmlBufferPtr buffer = xmlBufferCreate();
    d->xml = buffer ? xmlNewTextWriterMemory(buffer, 0) : NULL;
    if (d->xml) {
        draw_document(d);
        xmlFreeTextWriter(d->xml);
        if (!d->failed) *out = strdup((const char *)xmlBufferContent(buffer));
    }
    if (buffer) xmlBufferFree(buffer);
    return *out ? PAPPUS_OK : pappus_fail_memory(err);
}

int pappus_wind_svg_text(char **out, const pappus_winds *winds, const pappus_air *air,
                         pappus_unit_system units, double top_m, pappus_error *err)
{
    pappus_locale locale;
    *out = NULL;
    if (winds->profile_count == 0 && !air)
        return pappus_fail(err, PAPPUS_E_OUTPUT, NULL, NULL, NULL, "no profile to draw");
    drawing d = {.profile = winds->profile_count ? &winds->profiles[0] : NULL,
                 .profile_count = winds->profile_count,
                 .air = air,
                 .units = units};
    if (!pappus_locale_enter(&locale)) return pappus_fail_memory(err);
    int status = read_points(&d, err);
    if (status == PAPPUS_OK) {
        set_range(&d, top_m);
        status = draw_text(out, &d, err);
    }
    free(d.points);
    pappus_locale_leave(&locale);
    return status;
}
