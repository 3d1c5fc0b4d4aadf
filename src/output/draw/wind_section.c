/* SPDX-License-Identifier: GPL-3.0-or-later
 * The winds of a whole forecast as a section through time: times across, heights up, in each
 * cell the speed as a shade and a number and the wind as a barb. Components are linear in
 * height between the levels of a profile; where a profile has no level above and below, its
 * cell stays empty. Of several members the mean of their components is shown, which is less
 * than their mean speed where they disagree on the direction, or one member that is chosen.
 *
 * Columns are as wide as one another, whatever the time between them; of very many times every
 * second, third ... is shown, and the chosen one always. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "bearing.h"
#include "c_locale.h"
#include "error.h"
#include "format.h"
#include "plot.h"
#include "timestamp.h"
#include "wind_barb.h"
#include "writer.h"

#define LEFT 84.0
#define TOP 118.0
#define ROW 34.0
#define MOST_ROWS 16.0
#define WHOLE 936.0 /* width that the columns fill where they may */
#define NARROW 26.0
#define WIDE 56.0
#define LEAST_WIDTH 640.0
#define NUMBERS_FROM 44.0
#define MOST_COLUMNS 36
#define DEFAULT_SPAN_M 6000.0
#define CALM_RADIUS 3.5
#define BARB_SCALE 0.62
#define TIME_GAP 46.0 /* from one time under the columns to the next */
#define SHADES 6

typedef struct {
    pappus_xml xml;
    const pappus_winds *winds;
    double chosen_utc_s; /* NaN: none */
    int member;          /* -1: the mean of all */
    pappus_unit_system units;
    size_t time_count, every;
    double *times;
    double step_m, low_m, lowest_m; /* of the rows; of one under them, NaN: none */
    size_t row_count;
    double cell, width, bottom;
    size_t member_count;
} section;

/* ------------------------------------------------------------------- the winds */

static bool is_of_member(const section *s, const pappus_wind_profile *profile)
{
    return s->member < 0 || profile->member == s->member;
}

static int by_value(const void *a, const void *b)
{
    double p = *(const double *)a, q = *(const double *)b;
    return (p > q) - (p < q);
}

/* Every time once, rising. */
static bool collect_times(section *s)
{
    size_t kept = 0;
    s->times = malloc((s->winds->profile_count + 1) * sizeof *s->times);
    if (!s->times) return false;
    for (size_t i = 0; i < s->winds->profile_count; i++) {
        const pappus_wind_profile *profile = &s->winds->profiles[i];
        if (is_of_member(s, profile) && !isnan(profile->valid_utc_s))
            s->times[s->time_count++] = profile->valid_utc_s;
    }
    qsort(s->times, s->time_count, sizeof *s->times, by_value);
    for (size_t i = 0; i < s->time_count; i++)
        if (kept == 0 || s->times[i] != s->times[kept - 1]) s->times[kept++] = s->times[i];
    s->time_count = kept;
    return true;
}

/* u and v at a height; false outside the levels. */
static bool wind_at(double wind[2], const pappus_wind_profile *profile, double height_m)
{
    const pappus_wind_level *below = NULL, *above = NULL;
    for (size_t i = 0; i < profile->level_count && !above; i++) {
        const pappus_wind_level *level = &profile->levels[i];
        if (isnan(level->u_mps)) continue;
        if (level->height_m <= height_m) below = level;
        if (level->height_m >= height_m) above = level;
    }
    if (!below || !above) return false;
    double span = above->height_m - below->height_m;
    double share = span > 0.0 ? (height_m - below->height_m) / span : 0.0;
    wind[0] = below->u_mps + share * (above->u_mps - below->u_mps);
    wind[1] = below->v_mps + share * (above->v_mps - below->v_mps);
    return true;
}

/* The mean of the members at a time and height; false where none has a wind. */
static bool mean_wind(double wind[2], const section *s, double time_utc_s, double height_m)
{
    size_t count = 0;
    double one[2], sum[2] = {0.0, 0.0};
    for (size_t i = 0; i < s->winds->profile_count; i++) {
        const pappus_wind_profile *profile = &s->winds->profiles[i];
        if (profile->valid_utc_s != time_utc_s || !is_of_member(s, profile)) continue;
        if (!wind_at(one, profile, height_m)) continue;
        sum[0] += one[0];
        sum[1] += one[1];
        count++;
    }
    wind[0] = sum[0] / (double)count;
    wind[1] = sum[1] / (double)count;
    return count > 0;
}

static size_t count_members(const section *s)
{
    size_t most = 0;
    for (size_t k = 0; k < s->time_count; k++) {
        size_t count = 0;
        for (size_t i = 0; i < s->winds->profile_count; i++)
            count += s->winds->profiles[i].valid_utc_s == s->times[k] &&
                     is_of_member(s, &s->winds->profiles[i]);
        if (count > most) most = count;
    }
    return most;
}

/* ------------------------------------------------------------------ the layout */

/* Heights between which some profile has a wind, and where every one of them begins. */
static void find_span(const section *s, double *low, double *high, double *common)
{
    *low = INFINITY;
    *high = *common = -INFINITY;
    for (size_t i = 0; i < s->winds->profile_count; i++) {
        double lowest = INFINITY;
        if (!is_of_member(s, &s->winds->profiles[i])) continue;
        for (size_t k = 0; k < s->winds->profiles[i].level_count; k++) {
            const pappus_wind_level *level = &s->winds->profiles[i].levels[k];
            if (isnan(level->u_mps)) continue;
            lowest = fmin(lowest, level->height_m);
            *high = fmax(*high, level->height_m);
        }
        *low = fmin(*low, lowest);
        if (isfinite(lowest)) *common = fmax(*common, lowest);
    }
}

/* Rows at round heights, and one at the lowest level where that is well under them. */
static void set_heights(section *s, double top_m)
{
    double low, high, common;
    find_span(s, &low, &high, &common);
    high = isnan(top_m) ? fmin(high, low + DEFAULT_SPAN_M) : fmin(high, top_m);
    double unit_m = 1.0 / pappus_quantity_value(PAPPUS_SHOW_HEIGHT, 1.0, s->units);
    s->step_m = plot_step(fmax(high - low, 1.0) / unit_m, MOST_ROWS) * unit_m;
    s->low_m = ceil(low / s->step_m - 1e-9) * s->step_m;
    s->row_count = high >= s->low_m ? (size_t)floor((high - s->low_m) / s->step_m + 1e-9) + 1 : 0;
    s->lowest_m = s->row_count == 0 || s->low_m - common > 0.25 * s->step_m ? common : NAN;
    if (!isnan(s->lowest_m)) s->row_count++;
}

static double height_of(const section *s, size_t row)
{
    if (isnan(s->lowest_m)) return s->low_m + s->step_m * (double)row;
    return row == 0 ? s->lowest_m : s->low_m + s->step_m * (double)(row - 1);
}

static void set_columns(section *s)
{
    s->every = 1 + (s->time_count - 1) / MOST_COLUMNS;
    size_t kept = 0;
    for (size_t i = 0; i < s->time_count; i++)
        if (i % s->every == 0 || s->times[i] == s->chosen_utc_s) s->times[kept++] = s->times[i];
    s->time_count = kept;
    s->cell = fmin(WIDE, fmax(NARROW, WHOLE / (double)kept));
    s->bottom = TOP + ROW * (double)s->row_count;
    s->width = fmax(LEFT + s->cell * (double)kept + 40.0, LEAST_WIDTH);
}

static double left_of(const section *s, size_t i)
{
    return LEFT + s->cell * (double)i;
}

static double top_of(const section *s, size_t row)
{
    return s->bottom - ROW * (double)(row + 1);
}

/* ----------------------------------------------------------------- the drawing */

/* In steps of 5 mph or 2.5 m/s, the last two twice as wide. */
static double shade_from(const section *s, int shade)
{
    static const double edges[SHADES] = {0, 1, 2, 3, 4, 6};
    return edges[shade] * (s->units == PAPPUS_UNITS_US ? 5.0 : 2.5);
}

static int shade_of(const section *s, double shown)
{
    int shade = 0;
    while (shade + 1 < SHADES && shown >= shade_from(s, shade + 1))
        shade++;
    return shade;
}

static const char *const shade_styles[SHADES] = {"s-0", "s-1", "s-2", "s-3", "s-4", "s-5"};

static void put_barb(section *s, double x, double y, const double wind[2], bool light)
{
    char path[400];
    double speed = hypot(wind[0], wind[1]);
    pappus_barb barb = pappus_barb_of(speed);
    const char *style = light ? "s-barb s-light" : "s-barb";
    if (barb.pennants + barb.full + barb.half == 0) {
        svg_circle(&s->xml, x, y, CALM_RADIUS, light ? "s-calm s-light" : "s-calm");
        return;
    }
    int length = pappus_barb_path(path, sizeof path, barb);
    if (length < 0 || (size_t)length >= sizeof path) return;
    pappus_xml_start(&s->xml, "path");
    svg_attribute(&s->xml, "class", "%s", style);
    svg_attribute(&s->xml, "transform",
                  "translate(%.1f %.1f) rotate(%.0f) scale(%.2f) translate(0 15)", x, y,
                  pappus_bearing_of(-wind[0], -wind[1]), BARB_SCALE);
    svg_attribute(&s->xml, "d", "%s", path);
    pappus_xml_end(&s->xml);
}

static void put_cell(section *s, size_t i, size_t row)
{
    double wind[2], x = left_of(s, i), y = top_of(s, row);
    if (!mean_wind(wind, s, s->times[i], height_of(s, row))) {
        svg_rectangle(&s->xml, x, y, s->cell - 1.0, ROW - 1.0, "s-none");
        return;
    }
    double shown = pappus_quantity_value(PAPPUS_SHOW_WIND, hypot(wind[0], wind[1]), s->units);
    int shade = shade_of(s, shown);
    bool light = shade >= SHADES - 2, numbers = s->cell >= NUMBERS_FROM;
    svg_rectangle(&s->xml, x, y, s->cell - 1.0, ROW - 1.0, shade_styles[shade]);
    put_barb(s, x + (numbers ? 0.32 : 0.5) * s->cell, y + 0.5 * ROW, wind, light);
    if (numbers)
        svg_text(&s->xml, x + s->cell - 4.0, y + ROW - 6.0, light ? "s-number s-light" : "s-number",
                 "%.0f", shown);
}

static void put_heights(section *s)
{
    char text[PAPPUS_TEXT_SIZE];
    for (size_t row = 0; row < s->row_count; row++) {
        pappus_format(text, sizeof text, PAPPUS_SHOW_HEIGHT, height_of(s, row), s->units);
        svg_text(&s->xml, LEFT - 8.0, top_of(s, row) + 0.5 * ROW + 5.0, "s-text s-end", "%s", text);
    }
}

/* Hours under the columns, the day where it begins. */
static void put_times(section *s)
{
    char text[40], before[40] = "";
    double last = -INFINITY, last_day = -INFINITY;
    for (size_t i = 0; i < s->time_count; i++) {
        double x = left_of(s, i);
        pappus_time_format(text, sizeof text, s->times[i]);
        if (x - last >= TIME_GAP) {
            svg_text(&s->xml, x, s->bottom + 18.0, "s-small", "%.5s", text + 11);
            last = x;
        }
        if (strncmp(text, before, 10) != 0 && x - last_day >= 2.0 * TIME_GAP &&
            x + 2.0 * TIME_GAP <= s->width) {
            svg_text(&s->xml, x, s->bottom + 36.0, "s-small s-strong", "%.10s", text);
            last_day = x;
        }
        memcpy(before, text, sizeof before);
    }
    svg_text(&s->xml, LEFT - 8.0, s->bottom + 18.0, "s-small s-end", "UTC");
}

static void put_chosen(section *s)
{
    for (size_t i = 0; i < s->time_count; i++) {
        if (s->times[i] != s->chosen_utc_s) continue;
        double x = left_of(s, i) + 0.5 * (s->cell - 1.0);
        svg_rectangle(&s->xml, left_of(s, i) - 1.0, TOP - 1.0, s->cell + 1.0, s->bottom - TOP + 1.0,
                      "s-chosen");
        svg_trace mark;
        svg_trace_begin(&mark, &s->xml);
        svg_trace_to(&mark, x, TOP - 3.0);
        svg_trace_to(&mark, x - 6.0, TOP - 12.0);
        svg_trace_to(&mark, x + 6.0, TOP - 12.0);
        svg_trace_lift(&mark, true);
        svg_trace_put(&mark, "s-mark", NULL);
    }
}

static const char *height_base(const section *s)
{
    return s->winds->profiles[0].levels[0].height_kind == PAPPUS_HEIGHT_AGL ? "above the pad"
                                                                            : "above the sea";
}

static void put_titles(section *s)
{
    const pappus_wind_profile *first = &s->winds->profiles[0];
    const char *name = strrchr(first->path, '/');
    char issued[40] = "", chosen[40] = "", who[60] = "", text[600], fit[600];
    if (s->member >= 0) snprintf(who, sizeof who, ", member %d", s->member);
    if (s->member < 0 && s->member_count > 1)
        snprintf(who, sizeof who, ", mean of up to %zu members", s->member_count);
    pappus_time_format(issued, sizeof issued, first->issued_utc_s);
    pappus_time_format(chosen, sizeof chosen, s->chosen_utc_s);
    svg_text_fit(fit, sizeof fit, name ? name + 1 : first->path, 18.0, s->width - 24.0);
    svg_text(&s->xml, 12.0, 30.0, "s-head", "%s", fit);
    snprintf(text, sizeof text, "%s%s%s%s", first->format,
             isnan(first->issued_utc_s) ? "" : " issued ", isnan(first->issued_utc_s) ? "" : issued,
             who);
    svg_text_fit(fit, sizeof fit, text, 14.0, s->width - 24.0);
    svg_text(&s->xml, 12.0, 54.0, "s-text", "%s", fit);
    if (!isnan(s->chosen_utc_s)) svg_text(&s->xml, 12.0, 76.0, "s-text", "Chosen: %s", chosen);
    svg_text(&s->xml, 12.0, TOP - 16.0, "s-small", "height %s", height_base(s));
}

static void put_key(section *s)
{
    double x = 12.0, y = s->bottom + 68.0;
    const char *unit = pappus_quantity_unit(PAPPUS_SHOW_WIND, s->units);
    for (int i = 0; i < SHADES; i++) {
        char text[60];
        snprintf(text, sizeof text, i + 1 < SHADES ? "%.3g to %.3g" : "over %.3g", shade_from(s, i),
                 shade_from(s, i + 1 < SHADES ? i + 1 : i));
        svg_rectangle(&s->xml, x, y - 13.0, 20.0, 16.0, shade_styles[i]);
        svg_text(&s->xml, x + 25.0, y, "s-small", "%s", text);
        x += 42.0 + svg_text_width(text, 13.6);
    }
    svg_text(&s->xml, x, y, "s-small", "%s", unit);
    svg_text(&s->xml, 12.0, y + 22.0, "s-small",
             "%sBarbs point to where the wind comes from, half a feather 5 kt.",
             s->cell >= NUMBERS_FROM ? "Numbers: the speed. " : "");
    if (s->every > 1)
        svg_text(&s->xml, 12.0, y + 42.0, "s-small", "Of the times one in %zu is shown.", s->every);
}

static int draw(char **out, section *s, pappus_error *err)
{
    size_t size;
    int status = pappus_xml_begin(&s->xml, err);
    if (status != PAPPUS_OK) return status;
    double height = s->bottom + (s->every > 1 ? 122.0 : 102.0);
    svg_begin(&s->xml, s->width, height, "wind by time and height");
    pappus_xml_element(&s->xml, "style", "%s", drawing_section_style);
    svg_rectangle(&s->xml, 0, 0, s->width, height, "s-page");
    put_titles(s);
    put_heights(s);
    for (size_t i = 0; i < s->time_count; i++)
        for (size_t row = 0; row < s->row_count; row++)
            put_cell(s, i, row);
    put_chosen(s);
    put_times(s);
    put_key(s);
    pappus_xml_end(&s->xml);
    return pappus_xml_finish(out, &size, &s->xml, PAPPUS_OK, err);
}

int pappus_wind_section_svg_text(char **out, const pappus_winds *winds, double chosen_utc_s,
                                 int member, pappus_unit_system units, double top_m,
                                 pappus_error *err)
{
    section s = {.winds = winds, .chosen_utc_s = chosen_utc_s, .member = member, .units = units};
    pappus_locale locale;
    *out = NULL;
    if (!pappus_locale_enter(&locale)) return pappus_fail_memory(err);
    int status = collect_times(&s) ? PAPPUS_OK : pappus_fail_memory(err);
    if (status == PAPPUS_OK && s.time_count == 0)
        status = pappus_fail(err, PAPPUS_E_OUTPUT, NULL, NULL, NULL, "no time to draw");
    if (status == PAPPUS_OK) {
        s.member_count = count_members(&s);
        set_heights(&s, top_m);
        set_columns(&s);
        status = draw(out, &s, err);
    }
    free(s.times);
    pappus_locale_leave(&locale);
    return status;
}
