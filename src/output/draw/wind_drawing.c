/* SPDX-License-Identifier: GPL-3.0-or-later
 * A wind profile drawn as SVG: speed, direction and barbs side by side over one
 * axis of height. Between levels the line is the reader's own: components linear
 * in height. With the air of a plan the shaded bands hold 90 % of the sampled
 * winds, before and after the measured winds: from the quantiles of u and v at 51
 * steps each, taken as independent, which is exact for one profile and near
 * enough for several. Only the first of several profiles is drawn, and their
 * number told. With the plan too the measured winds and the apogee are drawn. */
#include <gsl/gsl_statistics_double.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "air.h"
#include "c_locale.h"
#include "error.h"
#include "format.h"
#include "plot.h"
#include "timestamp.h"
#include "wind_barb.h"
#include "wind_profile.h"

#define WIDTH 820.0
#define HEIGHT 676.0
#define TOP 104.0
#define BOTTOM 560.0
#define SPEED_LEFT 78.0
#define SPEED_RIGHT 368.0
#define DIRECTION_LEFT 404.0
#define DIRECTION_RIGHT 664.0
#define BARB_X 736.0
#define BARB_GAP 24.0
#define DOT_RADIUS 2.6
#define READING 6.0 /* half a diamond */
#define CALM_RADIUS 5.0
#define DEFAULT_SPAN_M 6000.0
#define SURFACE_TOP_M 500.0 /* the surface wind's own profile is constant above 300 m */
#define STEPS 80            /* heights of a band */
#define LINE_STEPS 320      /* and of a line */
#define BAND_LOW_M 1.0      /* at 0 there is no wind, and no direction */
#define GRID 51             /* quantiles per component */

typedef struct {
    double height_m; /* on the axis */
    double u_mps, v_mps;
} point;

/* Of the sampled winds 5 and 95 %, at rising heights. */
typedef struct {
    double height_m[STEPS + 1], speed_mps[2][STEPS + 1];
    double from_deg[2][STEPS + 1]; /* unwrapped */
} band;

typedef struct {
    pappus_xml xml;
    const pappus_wind_profile *profile; /* NULL: the surface wind alone */
    size_t profile_count;
    const pappus_air *air;
    const pappus_plan *plan; /* NULL: no measured winds, no flight */
    double age_s;
    pappus_unit_system units;
    size_t point_count;
    point *points;            /* levels with wind, rising */
    plot_scale height, speed; /* of the axes, m and m/s */
} drawing;

static const plot_scale direction_scale = {0, 360, DIRECTION_LEFT, DIRECTION_RIGHT, 360};

/* ------------------------------------------------------------------- profile */

static point at_height(const drawing *d, double height_m)
{
    const point *p = d->points;
    size_t i = 1;
    if (height_m <= p[0].height_m) return p[0];
    while (i < d->point_count && p[i].height_m < height_m)
        i++;
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
        double height_m =
            d->air ? pappus_wind_level_height_m(level, d->air->atmosphere) : level->height_m;
        if (d->point_count && height_m <= d->points[d->point_count - 1].height_m) continue;
        d->points[d->point_count++] = (point){height_m, level->u_mps, level->v_mps};
    }
    if (d->point_count > 0) return PAPPUS_OK;
    return pappus_fail(err, PAPPUS_E_OUTPUT, d->profile->path, NULL, NULL, "no level with a wind");
}

static void set_range(drawing *d, double top_m)
{
    double lowest_m = d->points[0].height_m, highest_m = d->points[d->point_count - 1].height_m;
    double low_m = d->air ? 0.0 : fmin(lowest_m, fmax(0.0, lowest_m - 200.0));
    if (isnan(top_m)) top_m = fmin(highest_m, low_m + DEFAULT_SPAN_M);
    if (!(top_m > low_m + 1.0)) top_m = low_m + 100.0;
    double most_mps = 1.0;
    for (size_t i = 0; i < d->point_count; i++)
        if (d->points[i].height_m <= top_m)
            most_mps = fmax(most_mps, hypot(d->points[i].u_mps, d->points[i].v_mps));
    point top = at_height(d, top_m);
    most_mps = 1.08 * fmax(most_mps, hypot(top.u_mps, top.v_mps));
    d->height = (plot_scale){low_m, top_m, BOTTOM, TOP, 0};
    d->speed = (plot_scale){0, most_mps, SPEED_LEFT, SPEED_RIGHT, 0};
}

/* ---------------------------------------------------------------------- band */

/* Fills a height; returns the mean's direction. */
static double fill_height(band *out, size_t i, const drawing *d, bool prior, double before_deg)
{
    double u[GRID], v[GRID], speeds[GRID * GRID], turns[GRID * GRID];
    pappus_air_wind_quantiles(d->air, prior, out->height_m[i], GRID, u, v);
    double mean_deg = unwrap(from_deg(u[GRID / 2], v[GRID / 2]), before_deg);
    for (size_t k = 0; k < GRID * GRID; k++) {
        speeds[k] = u[k / GRID] * u[k / GRID] + v[k % GRID] * v[k % GRID];
        turns[k] = remainder(from_deg(u[k / GRID], v[k % GRID]) - mean_deg, 360.0);
    }
    for (size_t side = 0; side < 2; side++) {
        size_t at = side ? GRID * GRID - 1 - GRID * GRID / 20 : GRID * GRID / 20;
        out->speed_mps[side][i] = sqrt(gsl_stats_select(speeds, 1, GRID * GRID, at));
        out->from_deg[side][i] = mean_deg + gsl_stats_select(turns, 1, GRID * GRID, at);
    }
    return mean_deg;
}

/* Heights close up towards the ground, where the wind changes most. */
static void fill_band(band *out, drawing *d, bool prior)
{
    double before_deg = 180.0;
    for (size_t i = 0; i <= STEPS; i++) {
        double share = (double)i / STEPS;
        out->height_m[i] =
            fmax(BAND_LOW_M, d->height.low + (d->height.high - d->height.low) * share * share);
        before_deg = fill_height(out, i, d, prior, before_deg);
        d->speed.high = fmax(d->speed.high, 1.03 * out->speed_mps[1][i]);
    }
}

static void draw_bands(drawing *d, const band bands[2])
{
    static const char *const styles[2][2] = {{"prior speed", "after speed"},
                                             {"prior direction", "after direction"}};
    for (size_t i = 0; i < 2; i++)
        plot_put_series(&d->xml, styles[0][i], &d->speed, &d->height,
                        &(plot_series){STEPS + 1, bands[i].speed_mps[0], bands[i].speed_mps[1],
                                       bands[i].height_m});
    svg_clipped(&d->xml, "directions");
    for (size_t i = 0; i < 2; i++)
        plot_put_series(&d->xml, styles[1][i], &direction_scale, &d->height,
                        &(plot_series){STEPS + 1, bands[i].from_deg[0], bands[i].from_deg[1],
                                       bands[i].height_m});
    pappus_xml_end(&d->xml);
}

/* --------------------------------------------------------------------- lines */

static void draw_lines(drawing *d)
{
    double heights_m[LINE_STEPS + 1], speeds_mps[LINE_STEPS + 1], directions[LINE_STEPS + 1];
    double from_m = fmax(d->height.low, d->points[0].height_m), before_deg = 180.0;
    for (size_t i = 0; i <= LINE_STEPS; i++) {
        heights_m[i] = from_m + (d->height.high - from_m) * (double)i / LINE_STEPS;
        point p = at_height(d, heights_m[i]);
        speeds_mps[i] = hypot(p.u_mps, p.v_mps);
        if (speeds_mps[i] >= 1e-6) before_deg = unwrap(from_deg(p.u_mps, p.v_mps), before_deg);
        directions[i] = before_deg;
    }
    plot_put_series(&d->xml, "line speed", &d->speed, &d->height,
                    &(plot_series){LINE_STEPS + 1, speeds_mps, NULL, heights_m});
    svg_clipped(&d->xml, "directions");
    plot_put_series(&d->xml, "line direction", &direction_scale, &d->height,
                    &(plot_series){LINE_STEPS + 1, directions, NULL, heights_m});
    pappus_xml_end(&d->xml);
}

static void draw_barb(drawing *d, const point *p)
{
    char path[1024];
    double y = plot_at(&d->height, p->height_m);
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
        double speed_mps = hypot(p->u_mps, p->v_mps), y = plot_at(&d->height, p->height_m);
        if (p->height_m < d->height.low || p->height_m > d->height.high) continue;
        if (d->profile)
            svg_circle(&d->xml, plot_at(&d->speed, speed_mps), y, DOT_RADIUS, "dot speed");
        if (d->profile && speed_mps > 0.0)
            svg_circle(&d->xml, plot_at(&direction_scale, from_deg(p->u_mps, p->v_mps)), y,
                       DOT_RADIUS, "dot direction");
        if (last_y - y < BARB_GAP) continue;
        draw_barb(d, p);
        last_y = y;
    }
}

/* ------------------------------------------------- measured winds, the apogee */

static void draw_diamond(drawing *d, double x, double y, const char *style)
{
    char data[96];
    snprintf(data, sizeof data, "M%.1f %.1fl%.0f %.0fl-%.0f %.0fl-%.0f-%.0fz", x, y - READING,
             READING, READING, READING, READING, READING, READING);
    svg_path(&d->xml, style, NULL, data);
}

/* With its error, one standard deviation, as a bar. */
static void draw_reading(drawing *d, const pappus_observation *o)
{
    double y = plot_at(&d->height, o->height_m), x = plot_at(&d->speed, o->speed_mps);
    if (!(o->height_m >= d->height.low && o->height_m <= d->height.high)) return;
    if (o->error_mps > 0)
        svg_line(&d->xml, plot_at(&d->speed, fmax(0, o->speed_mps - o->error_mps)), y,
                 fmin(plot_at(&d->speed, o->speed_mps + o->error_mps), SPEED_RIGHT), y, "error");
    draw_diamond(d, x, y, "reading speed");
    if (o->speed_mps > 0)
        draw_diamond(d, plot_at(&direction_scale, fmod(o->direction_deg, 360)), y,
                     "reading direction");
}

static void draw_readings(drawing *d)
{
    if (d->plan->wind.has_surface) draw_reading(d, &d->plan->wind.surface);
    for (size_t i = 0; i < d->plan->wind.observation_count; i++)
        draw_reading(d, &d->plan->wind.observations[i]);
}

static void draw_apogee(drawing *d)
{
    double apogee_m = d->plan->apogee.height_m.mean, y = plot_at(&d->height, apogee_m);
    char height[PAPPUS_TEXT_SIZE];
    if (!(apogee_m > d->height.low && apogee_m <= d->height.high)) return;
    pappus_format(height, sizeof height, PAPPUS_SHOW_HEIGHT, apogee_m, d->units);
    svg_line(&d->xml, SPEED_LEFT, y, SPEED_RIGHT, y, "apogee");
    svg_line(&d->xml, DIRECTION_LEFT, y, DIRECTION_RIGHT, y, "apogee");
    svg_text(&d->xml, SPEED_LEFT + 5, y - 6, "label halo", "apogee %s", height);
}

/* ---------------------------------------------------------------------- axes */

static const plot_tick upright = {1, {{TOP, BOTTOM}}, "grid"};
static const plot_tick level = {
    2, {{SPEED_LEFT, SPEED_RIGHT}, {DIRECTION_LEFT, DIRECTION_RIGHT}}, "grid"};

static void draw_ticks(drawing *d)
{
    static const char *const names[] = {"N 0", "E 90", "S 180", "W 270", "N 0"};
    double unit_m = 1.0 / pappus_quantity_value(PAPPUS_SHOW_HEIGHT, 1.0, d->units);
    double unit_mps = 1.0 / pappus_quantity_value(PAPPUS_SHOW_WIND, 1.0, d->units);
    double span = (d->height.high - d->height.low) / unit_m;
    const plot_axis axes[] = {
        {d->height, true, unit_m, plot_step(span, 10), &level, SPEED_LEFT - 8, 4, "label end", NULL,
         0, NULL},
        {d->speed, false, unit_mps, plot_step(d->speed.high / unit_mps, 7), &upright, BOTTOM, 18,
         "label middle", NULL, 0, NULL},
        {direction_scale, false, 1, 90, &upright, BOTTOM, 18, "label middle", names, 0, NULL}};
    for (size_t i = 0; i < sizeof axes / sizeof axes[0]; i++)
        plot_put_axis(&d->xml, &axes[i]);
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
    draw_ticks(d);
    svg_text(&d->xml, SPEED_LEFT - 56, TOP - 12, "axis", "height %s, %s", height_base(d),
             pappus_quantity_unit(PAPPUS_SHOW_HEIGHT, d->units));
    svg_text(&d->xml, (SPEED_LEFT + SPEED_RIGHT) / 2, BOTTOM + 38, "axis middle", "wind speed, %s",
             pappus_quantity_unit(PAPPUS_SHOW_WIND, d->units));
    svg_text(&d->xml, (DIRECTION_LEFT + DIRECTION_RIGHT) / 2, BOTTOM + 38, "axis middle",
             "wind comes from, degrees true");
    svg_text(&d->xml, BARB_X, BOTTOM + 38, "axis middle", "barbs, knots");
}

/* Which of its times the profile is of, and what flight it is for. */
static void draw_hour(drawing *d)
{
    const pappus_wind_profile *p = d->profile;
    char time[40], flight[40], more[80] = "", age[48] = "";
    double when_s = isnan(p->valid_utc_s) ? p->issued_utc_s : p->valid_utc_s;
    double flight_s = d->plan ? d->plan->wind.time_utc_s : NAN;
    pappus_time_format(time, sizeof time, when_s);
    pappus_time_format(flight, sizeof flight, flight_s);
    if (d->profile_count > 1)
        snprintf(more, sizeof more, ", the first of %zu profiles", d->profile_count);
    if (d->age_s > 0) snprintf(age, sizeof age, ", %.1f h old at the flight", d->age_s / 3600);
    svg_text(&d->xml, 22, 54, "axis", "%s%s%s%s", p->format, isnan(when_s) ? "" : " of ",
             isnan(when_s) ? "" : time, more);
    if (d->age_s > 0 || !isnan(flight_s))
        svg_text(&d->xml, 22, 75, "axis", "for the flight%s%s%s", isnan(flight_s) ? "" : " at ",
                 isnan(flight_s) ? "" : flight, age);
}

static void draw_titles(drawing *d)
{
    const pappus_wind_profile *p = d->profile;
    if (!p) {
        svg_text(&d->xml, 22, 32, "title", "Surface wind alone");
        return;
    }
    const char *name = strrchr(p->path, '/');
    svg_text(&d->xml, 22, 32, "title", "%.160s%s%.40s", name ? name + 1 : p->path,
             p->station ? ", station " : "", p->station ? p->station : "");
    draw_hour(d);
}

static void draw_key(drawing *d)
{
    bool measured = d->plan && (d->plan->wind.has_surface || d->plan->wind.observation_count > 0);
    double y = HEIGHT - 54;
    svg_text(&d->xml, 22, y, "label", "Dots: levels of the file.%s",
             measured ? " Diamonds: measured winds, bar: their error (one sd)." : "");
    if (d->air)
        svg_text(&d->xml, 22, y + 21, "label",
                 "Shaded: 90 %% of the sampled winds. Dashed: the same before the measured winds.");
    svg_text(&d->xml, 22, y + (d->air ? 42 : 21), "label",
             "Half a feather is 5 kt, a whole one 10, a pennant 50.");
}

static void panel(drawing *d, double left, double right)
{
    svg_rectangle(&d->xml, left, TOP, right - left, BOTTOM - TOP, "frame");
}

static void draw_all(drawing *d)
{
    band bands[2];
    for (size_t i = 0; d->air && i < 2; i++)
        fill_band(&bands[i], d, i == 0);
    pappus_xml_element(&d->xml, "style", "%s", drawing_wind_style);
    svg_clip(&d->xml, "directions", DIRECTION_LEFT, TOP, DIRECTION_RIGHT - DIRECTION_LEFT,
             BOTTOM - TOP);
    svg_rectangle(&d->xml, 0, 0, WIDTH, HEIGHT, "paper");
    draw_titles(d);
    draw_key(d);
    draw_axes(d);
    if (d->air) draw_bands(d, bands);
    draw_lines(d);
    draw_levels(d);
    if (d->air && d->plan) draw_apogee(d);
    if (d->air && d->plan) draw_readings(d);
    panel(d, SPEED_LEFT, SPEED_RIGHT);
    panel(d, DIRECTION_LEFT, DIRECTION_RIGHT);
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
                         const pappus_plan *plan, pappus_unit_system units, double top_m,
                         pappus_error *err)
{
    pappus_locale locale;
    *out = NULL;
    if (winds->profile_count == 0 && !air)
        return pappus_fail(err, PAPPUS_E_OUTPUT, NULL, NULL, NULL, "no profile to draw");
    drawing d = {.profile = winds->profile_count ? &winds->profiles[0] : NULL,
                 .profile_count = winds->profile_count,
                 .air = air,
                 .plan = plan,
                 .age_s = winds->age_s,
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
