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
#include "drawing_svg.h"
#include "error.h"
#include "format.h"
#include "timestamp.h"
#include "wind_barb.h"
#include "wind_profile.h"

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
#define DOT_RADIUS 2.6
#define CALM_RADIUS 5.0
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
    pappus_xml xml;
    const pappus_wind_profile *profile; /* NULL: the surface wind alone */
    size_t profile_count;
    const pappus_air *air;
    pappus_unit_system units;
    size_t point_count;
    point *points; /* levels with wind, rising */
    double low_m, top_m, most_mps;
} drawing;

/* ----------------------------------------------------------------- elements */

static void dot(drawing *d, double x, double y, const char *style)
{
    svg_circle(&d->xml, x, y, DOT_RADIUS, style);
}

/* A polyline or polygon of points x, y. */
static void shape(drawing *d, const char *name, const char *style, const double *xy, size_t count)
{
    char *text = NULL;
    size_t size = 0;
    FILE *points = open_memstream(&text, &size);
    for (size_t i = 0; points && i < count; i++)
        fprintf(points, "%s%.1f,%.1f", i ? " " : "", xy[2 * i], xy[2 * i + 1]);
    if (!points || fclose(points) != 0) {
        d->xml.failed = true;
    } else {
        pappus_xml_start(&d->xml, name);
        pappus_xml_attribute(&d->xml, "class", style);
        pappus_xml_attribute(&d->xml, "points", text);
        pappus_xml_end(&d->xml);
    }
    free(text);
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
    pappus_xml_start(&d->xml, "g");
    pappus_xml_attribute(&d->xml, "clip-path", "url(#directions)");
    draw_direction_band(d, prior, "prior direction");
    draw_direction_band(d, after, "after direction");
    pappus_xml_end(&d->xml);
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
    char path[1024];
    double y = y_of(d, p->height_m);
    pappus_barb barb = pappus_barb_of(hypot(p->u_mps, p->v_mps));
    if (!barb.pennants && !barb.full && !barb.half) {
        svg_circle(&d->xml, BARB_X, y, CALM_RADIUS, "barb");
        return;
    }
    pappus_barb_path(path, sizeof path, barb);
    pappus_xml_start(&d->xml, "path");
    pappus_xml_attribute(&d->xml, "d", path);
    svg_attribute(&d->xml, "transform", "translate(%.1f %.1f) rotate(%.1f)", BARB_X, y,
                  from_deg(p->u_mps, p->v_mps));
    pappus_xml_attribute(&d->xml, "class", "barb");
    pappus_xml_end(&d->xml);
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
        double y = y_of(d, h);
        svg_line(&d->xml, SPEED_LEFT, y, SPEED_RIGHT, y, "grid");
        svg_line(&d->xml, DIRECTION_LEFT, y, DIRECTION_RIGHT, y, "grid");
        svg_text(&d->xml, SPEED_LEFT - 8, y + 4, "label end", "%.0f", h / unit_m);
    }
}

static void draw_speeds(drawing *d)
{
    double unit_mps = 1.0 / pappus_quantity_value(PAPPUS_SHOW_WIND, 1.0, d->units);
    double step_mps = unit_mps * nice_step(d->most_mps / unit_mps, 7.0);
    for (double s = 0.0; s <= d->most_mps; s += step_mps) {
        double x = x_of_speed(d, s);
        svg_line(&d->xml, x, TOP, x, BOTTOM, "grid");
        svg_text(&d->xml, x, BOTTOM + 16, "label middle", "%.0f", s / unit_mps);
    }
}

static void draw_directions(drawing *d)
{
    static const char *const names[] = {"N", "E", "S", "W", "N"};
    for (int i = 0; i <= 4; i++) {
        double x = x_of_direction(90.0 * i);
        svg_line(&d->xml, x, TOP, x, BOTTOM, "grid");
        svg_text(&d->xml, x, BOTTOM + 16, "label middle", "%s %d", names[i], i == 4 ? 0 : 90 * i);
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
    draw_heights(d);
    draw_speeds(d);
    draw_directions(d);
    svg_text(&d->xml, SPEED_LEFT - 56, TOP - 12, "axis", "height %s, %s", height_base(d),
             pappus_quantity_unit(PAPPUS_SHOW_HEIGHT, d->units));
    svg_text(&d->xml, (SPEED_LEFT + SPEED_RIGHT) / 2, BOTTOM + 36, "axis middle",
             "wind speed, %s", pappus_quantity_unit(PAPPUS_SHOW_WIND, d->units));
    svg_text(&d->xml, (DIRECTION_LEFT + DIRECTION_RIGHT) / 2, BOTTOM + 36, "axis middle",
             "wind comes from, degrees true");
    svg_text(&d->xml, BARB_X, BOTTOM + 36, "axis middle", "barbs, knots");
}

static void draw_titles(drawing *d)
{
    char time[40], more[80] = "";
    const pappus_wind_profile *p = d->profile;
    if (!p) {
        svg_text(&d->xml, 22, 32, "title", "Surface wind alone");
        return;
    }
    const char *name = strrchr(p->path, '/');
    svg_text(&d->xml, 22, 32, "title", "%.160s%s%.40s", name ? name + 1 : p->path,
             p->station ? ", station " : "", p->station ? p->station : "");
    double when_s = isnan(p->valid_utc_s) ? p->issued_utc_s : p->valid_utc_s;
    pappus_time_format(time, sizeof time, when_s);
    if (d->profile_count > 1)
        snprintf(more, sizeof more, ", the first of %zu profiles", d->profile_count);
    svg_text(&d->xml, 22, 52, "axis", "%s%s%s%s", p->format, isnan(when_s) ? "" : ", ",
             isnan(when_s) ? "" : time, more);
}

static void draw_key(drawing *d)
{
    svg_text(&d->xml, 22, HEIGHT - 28, "label",
             "Dots: levels of the file. Half a feather is 5 kt, a whole one 10, a pennant 50.");
    if (d->air)
        svg_text(&d->xml, 22, HEIGHT - 12, "label",
                 "Shaded: 90 %% of the sampled winds. Dashed: the same before the measured winds "
                 "are taken in.");
}

static void draw_style(drawing *d)
{
    static const char style[] =
        "text{font-family:'DejaVu Sans',Arial,sans-serif;fill:" INK "}"
        ".title{font-size:18px;font-weight:bold}.axis{font-size:14.5px}.label{font-size:14px}"
        ".middle{text-anchor:middle}.end{text-anchor:end}"
        ".paper{fill:#ffffff}.grid{stroke:" FAINT ";stroke-width:1}.frame{fill:none;stroke:" INK ";stroke-width:1}"
        ".line{fill:none;stroke-width:2}.line.speed{stroke:" SPEED_INK "}"
        ".line.direction{stroke:" DIRECTION_INK "}"
        ".dot.speed{fill:" SPEED_INK "}.dot.direction{fill:" DIRECTION_INK "}"
        ".prior{fill:none;stroke-width:1;stroke-dasharray:5 3}"
        ".prior.speed{stroke:" SPEED_INK "}.prior.direction{stroke:" DIRECTION_INK "}"
        ".after.speed{fill:" SPEED_INK ";fill-opacity:.18}"
        ".after.direction{fill:" DIRECTION_INK ";fill-opacity:.18}"
        ".barb{fill:" INK ";stroke:" INK ";stroke-width:1.3}circle.barb{fill:none}";
    pappus_xml_start(&d->xml, "style");
    pappus_xml_text(&d->xml, style);
    pappus_xml_end(&d->xml);
}

static void panel(drawing *d, double left, double right, const char *style)
{
    svg_rectangle(&d->xml, left, TOP, right - left, BOTTOM - TOP, style);
}

static void draw_clip(drawing *d)
{
    pappus_xml_start(&d->xml, "clipPath");
    pappus_xml_attribute(&d->xml, "id", "directions");
    panel(d, DIRECTION_LEFT, DIRECTION_RIGHT, "clip");
    pappus_xml_end(&d->xml);
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
    svg_rectangle(&d->xml, 0, 0, WIDTH, HEIGHT, "paper");
    draw_titles(d);
    draw_key(d);
    draw_axes(d);
    if (d->air) draw_bands(d, prior, after);
    draw_speed_line(d);
    pappus_xml_start(&d->xml, "g");
    pappus_xml_attribute(&d->xml, "clip-path", "url(#directions)");
    draw_direction_line(d);
    pappus_xml_end(&d->xml);
    draw_levels(d);
    panel(d, SPEED_LEFT, SPEED_RIGHT, "frame");
    panel(d, DIRECTION_LEFT, DIRECTION_RIGHT, "frame");
}

/* Draws into memory with libxml2, which escapes what users wrote. */
static int draw_text(char **out, drawing *d, pappus_error *err)
{
    size_t size;
    int status = pappus_xml_begin(&d->xml, err);
    if (status != PAPPUS_OK) return status;
    svg_begin(&d->xml, WIDTH, HEIGHT, "Wind speed, direction and barbs against height");
    draw_all(d);
    pappus_xml_end(&d->xml);
    return pappus_xml_finish(out, &size, &d->xml, PAPPUS_OK, err);
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
