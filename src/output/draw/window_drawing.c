/* SPDX-License-Identifier: GPL-3.0-or-later
 * The window as a picture: hours across, main heights up. A cell's colour and its mark say
 * whether every limit is met there, its number which share of a limit is used up (at 100 % it
 * breaks); met cells are light and broken ones dark, so that grey print tells the same. Above
 * the cells stands what the plan as it is comes to, hour by hour.
 *
 * Numbers are left out where cells are too narrow for them. */
#include "window_drawing.h"

#include "c_locale.h"
#include "drawing_svg.h"
#include "error.h"
#include "statement.h"
#include "time_zone.h"
#include "timestamp.h"
#include "window_words.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define LEFT 84.0
#define WORDS 94.0 /* height of the words over a picture of its own */
#define STAMP_LINE 16.0
#define STAMP_SIZE 12.5
#define OVER 28.0 /* room over the cells, for the mark of the flight */
#define ROW 26.0
#define BAND 30.0 /* the decision as planned */
#define KEY 900.0 /* width under which the key takes two lines */
#define NARROW 13.0
#define WIDE 46.0
#define WHOLE 900.0       /* width to be filled by the cells where they may */
#define NUMBERS_FROM 34.0 /* width of a cell that holds a number */
#define MARKS_FROM 12.0
#define MOST_SHOWN 999.0
#define SAME_HOUR_S 1.0

typedef struct {
    pappus_xml *xml;
    const pappus_window *window;
    const pappus_plan *plan;
    pappus_unit_system units;
    const char *stamp; /* NULL: the drawing is part of a page that has one */
    double cell, top, bottom;
} drawing_window;

static double left_of(const drawing_window *d, size_t i)
{
    return LEFT + d->cell * (double)i;
}

/* The lowest height stands lowest. */
static double top_of(const drawing_window *d, size_t k)
{
    return d->top + BAND + 8.0 + ROW * (double)(d->window->height_count - 1 - k);
}

static const char *style_of(pappus_verdict verdict, double use)
{
    if (verdict == PAPPUS_BROKEN) return "w-broken";
    if (verdict == PAPPUS_UNDECIDED) return "w-open";
    return use > 0.5 ? "w-near" : "w-met";
}

static const char *mark_of(pappus_verdict verdict)
{
    return verdict == PAPPUS_MET ? "" : verdict == PAPPUS_BROKEN ? "x" : "?";
}

static void put_cell(const drawing_window *d, size_t i, size_t k, const pappus_window_cell *cell)
{
    double x = left_of(d, i), y = top_of(d, k), use = fmin(100.0 * cell->use, MOST_SHOWN);
    const char *text = cell->verdict == PAPPUS_BROKEN ? "w-number w-light" : "w-number";
    pappus_xml_start(d->xml, "g"); /* what a page goes to when it is clicked */
    svg_attribute(d->xml, "data-main", "%.10g %s",
                  pappus_quantity_value(PAPPUS_SHOW_HEIGHT, d->window->heights_m[k], d->units),
                  d->units == PAPPUS_UNITS_US ? "ft" : "m");
    svg_rectangle(d->xml, x, y, d->cell - 1.0, ROW - 1.0, style_of(cell->verdict, cell->use));
    if (d->cell >= NUMBERS_FROM)
        svg_text(d->xml, x + 0.5 * d->cell, y + 17.5, text, "%s%.0f", mark_of(cell->verdict), use);
    else if (d->cell >= MARKS_FROM)
        svg_text(d->xml, x + 0.5 * d->cell, y + 17.5, text, "%s", mark_of(cell->verdict));
    pappus_xml_end(d->xml);
}

static void put_hour(const drawing_window *d, size_t i)
{
    const pappus_window_hour *hour = &d->window->hours[i];
    static const pappus_verdict verdicts[] = {PAPPUS_MET, PAPPUS_BROKEN, PAPPUS_UNDECIDED};
    double x = left_of(d, i);
    char time[40];
    const char *style = hour->why ? "w-none" : style_of(verdicts[hour->decision], hour->wind_use);
    pappus_time_format(time, sizeof time, hour->time_utc_s);
    pappus_xml_start(d->xml, "g");
    svg_attribute(d->xml, "data-hour", "%s", time);
    svg_rectangle(d->xml, x, d->top, d->cell - 1.0, BAND - 2.0, style);
    if (d->cell >= MARKS_FROM) {
        bool dark = !hour->why && hour->decision == PAPPUS_NO_GO;
        const char *word = hour->why                        ? "-"
                           : hour->decision == PAPPUS_GO    ? "go"
                           : hour->decision == PAPPUS_NO_GO ? "no"
                                                            : "?";
        const char *mark = hour->why ? "-" : mark_of(verdicts[hour->decision]);
        svg_text(d->xml, x + 0.5 * d->cell, d->top + 19.0,
                 dark ? "w-number w-strong w-light" : "w-number w-strong", "%s",
                 d->cell >= NUMBERS_FROM ? word : mark);
    }
    for (size_t k = 0; hour->cells && k < d->window->height_count; k++)
        put_cell(d, i, k, &hour->cells[k]);
    if (!hour->cells && d->window->height_count > 0)
        svg_rectangle(d->xml, x, top_of(d, d->window->height_count - 1), d->cell - 1.0,
                      ROW * (double)d->window->height_count - 1.0, "w-none");
    pappus_xml_end(d->xml);
}

static void put_frame(const drawing_window *d, size_t i, size_t k)
{
    svg_rectangle(d->xml, left_of(d, i) - 1.0, top_of(d, k) - 1.0, d->cell + 1.0, ROW + 1.0,
                  "w-best");
}

/* A frame about the recommended height of each hour that has one. */
static void put_recommended(const drawing_window *d)
{
    const pappus_window *window = d->window;
    for (size_t i = 0; i < window->hour_count; i++)
        for (size_t k = 0; window->hours[i].cells && k < window->height_count; k++)
            if (window->heights_m[k] == window->hours[i].recommended_m) put_frame(d, i, k);
}

/* A mark over the hour of the flight as planned. */
static void put_flight(const drawing_window *d)
{
    for (size_t i = 0; i < d->window->hour_count; i++) {
        double x = left_of(d, i) + 0.5 * (d->cell - 1.0);
        if (!(fabs(d->window->hours[i].time_utc_s - d->window->flight_utc_s) < SAME_HOUR_S))
            continue;
        svg_trace mark;
        svg_trace_begin(&mark, d->xml);
        svg_trace_to(&mark, x, d->top - 2.0);
        svg_trace_to(&mark, x - 6.0, d->top - 11.0);
        svg_trace_to(&mark, x + 6.0, d->top - 11.0);
        svg_trace_lift(&mark, true);
        svg_trace_put(&mark, "w-flight", NULL);
        svg_text(d->xml, x, d->top - 14.0, "w-small w-mid", "flight");
    }
}

static void put_heights(const drawing_window *d)
{
    char text[PAPPUS_TEXT_SIZE];
    svg_text(d->xml, LEFT - 8.0, d->top + 19.0, "w-text w-end", "as plan");
    for (size_t k = 0; k < d->window->height_count; k++) {
        pappus_format(text, sizeof text, PAPPUS_SHOW_HEIGHT, d->window->heights_m[k], d->units);
        svg_text(d->xml, LEFT - 8.0, top_of(d, k) + 18.0, "w-text w-end", "%s", text);
    }
}

/* Hours under the cells, as many as have room; the day where it begins. */
static void put_times(const drawing_window *d, const char *zone, double y, const char *what)
{
    char name[PAPPUS_ZONE_SIZE] = "UTC", text[40], day[PAPPUS_TEXT_SIZE],
         before[PAPPUS_TEXT_SIZE] = "";
    double last = -INFINITY, last_day = -INFINITY;
    for (size_t i = 0; i < d->window->hour_count; i++) {
        double time = d->window->hours[i].time_utc_s, ahead = 0.0, x = left_of(d, i);
        if (zone && !pappus_zone_at(&ahead, name, zone, time)) return;
        pappus_time_format(text, sizeof text, time + ahead);
        window_day(day, time + ahead);
        if (x - last >= 46.0) {
            svg_text(d->xml, x, y, "w-small", "%.5s", text + 11);
            last = x;
        }
        if (strcmp(day, before) != 0 && x - last_day >= 56.0) {
            svg_text(d->xml, x, y + 17.0, "w-small w-strong", "%.4s%s", day, day + 12);
            last_day = x;
        }
        memcpy(before, day, sizeof before);
    }
    svg_text(d->xml, LEFT - 8.0, y, "w-small w-end", "%s", what ? what : name);
}

static void put_words(const drawing_window *d, double width)
{
    const char *zone = d->plan->site.time_zone;
    char words[WINDOW_WORDS], more[WINDOW_WORDS], line[2 * WINDOW_WORDS], fit[2 * WINDOW_WORDS];
    window_head(words, d->window, zone);
    size_t taken = svg_text_line(fit, sizeof fit, words, 18.0, width - 24.0);
    svg_text(d->xml, 12.0, 28.0, "w-head", "%s", fit);
    svg_text_fit(fit, sizeof fit, words + taken, 18.0, width - 24.0);
    svg_text(d->xml, 12.0, 51.0, "w-head", "%s", fit);
    window_height(words, d->window, zone, d->units);
    window_then(more, d->window);
    snprintf(line, sizeof line, "%s %s", words, more);
    svg_text_fit(fit, sizeof fit, line, 14.0, width - 24.0);
    svg_text(d->xml, 12.0, 76.0, "w-text", "%s", fit);
    window_readings(words, d->window);
    svg_text_fit(fit, sizeof fit, words, 14.0, width - 24.0);
    svg_text(d->xml, 12.0, 98.0, "w-text", "%s", fit);
}

static size_t stamp_lines(const drawing_window *d, double width)
{
    char line[2 * WINDOW_WORDS];
    size_t lines = 0;
    for (const char *rest = d->stamp; *rest; lines++)
        rest += svg_text_line(line, sizeof line, rest, STAMP_SIZE, width - 24.0);
    return lines;
}

static void put_stamp(const drawing_window *d, double width)
{
    char line[2 * WINDOW_WORDS];
    double y = WORDS + 12.0;
    for (const char *rest = d->stamp; *rest; y += STAMP_LINE) {
        rest += svg_text_line(line, sizeof line, rest, STAMP_SIZE, width - 24.0);
        svg_text(d->xml, 12.0, y, "w-stamp", "%s", line);
    }
}

static void put_key(const drawing_window *d, double y, double width)
{
    static const struct {
        const char *style, *text;
    } keys[] = {{"w-met", "every limit met"}, {"w-near", "met, over half used up"},
                {"w-open", "? undecided"},    {"w-broken", "x a limit broken"},
                {"w-none", "not judged"},     {"w-best", "recommended"}};
    double x = 12.0;
    for (size_t i = 0; i < sizeof keys / sizeof keys[0]; i++) {
        double room = 40.0 + svg_text_width(keys[i].text, 13.6);
        if (x + room > width && x > 12.0) {
            x = 12.0;
            y += 20.0;
        }
        svg_rectangle(d->xml, x, y - 12.0, 18.0, 14.0, keys[i].style);
        svg_text(d->xml, x + 24.0, y, "w-small", "%s", keys[i].text);
        x += room;
    }
    svg_text(d->xml, 12.0, y + 20.0, "w-small",
             d->cell >= NUMBERS_FROM
                 ? "Numbers: largest share of a limit that is used up, %%. Up: main height."
                 : "Up: main height. Shades: by the largest share of a limit that is used up.");
    if (d->stamp) svg_text(d->xml, 12.0, y + 38.0, "w-small", "%s", pappus_caution());
}

int window_drawing(pappus_xml *xml, const pappus_window *window, const pappus_plan *plan,
                   pappus_unit_system units, const char *stamp, pappus_error *err)
{
    drawing_window d = {.xml = xml, .window = window, .plan = plan, .units = units, .stamp = stamp};
    const char *zone = plan->site.time_zone;
    d.cell = fmin(WIDE, fmax(NARROW, WHOLE / (double)window->hour_count));
    double width = fmax(LEFT + d.cell * (double)window->hour_count + 60.0, 640.0);
    d.top = OVER + (stamp ? WORDS + STAMP_LINE * (double)stamp_lines(&d, width) : 0.0);
    d.bottom = d.top + BAND + 8.0 + ROW * (double)window->height_count;
    double height =
        d.bottom + (zone ? 150.0 : 108.0) + (width < KEY ? 20.0 : 0.0) + (stamp ? 18.0 : 0.0);
    svg_begin(xml, width, height, "the decision hour by hour");
    pappus_xml_element(xml, "style", "%s", drawing_window_style);
    svg_rectangle(xml, 0, 0, width, height, "w-page");
    if (stamp) put_words(&d, width);
    if (stamp) put_stamp(&d, width);
    put_heights(&d);
    for (size_t i = 0; i < window->hour_count; i++)
        put_hour(&d, i);
    put_recommended(&d);
    put_flight(&d);
    put_times(&d, NULL, d.bottom + 18.0, "UTC");
    if (zone) put_times(&d, zone, d.bottom + 60.0, NULL);
    put_key(&d, d.bottom + (zone ? 110.0 : 68.0), width);
    pappus_xml_end(xml);
    return xml->failed ? pappus_fail_memory(err) : PAPPUS_OK;
}

/* Title and stamp; NULL when out of memory. */
static char *words_of_stamp(const pappus_givens *given, pappus_unit_system units)
{
    const pappus_answer rests_on = {.plan = given->plan, .winds = given->winds, .air = given->air};
    char *stamp = stamp_text_of_hours(&rests_on, units), *both = NULL;
    const char *title = given->plan->title && given->plan->title[0] ? given->plan->title : NULL;
    if (stamp && asprintf(&both, "%s%s%s", title ? title : "", title ? ". " : "", stamp) < 0)
        both = NULL;
    free(stamp);
    return both;
}

static int draw_alone(char **out, const pappus_window *window, const pappus_givens *given,
                      pappus_unit_system units, const char *stamp, pappus_error *err)
{
    pappus_xml xml;
    size_t size;
    int status = pappus_xml_begin(&xml, err);
    if (status != PAPPUS_OK) return status;
    status = window_drawing(&xml, window, given->plan, units, stamp, err);
    return pappus_xml_finish(out, &size, &xml, status, err);
}

int pappus_window_svg_text(char **out, const pappus_window *window, const pappus_givens *given,
                           pappus_unit_system units, pappus_error *err)
{
    pappus_locale locale;
    *out = NULL;
    if (!pappus_locale_enter(&locale)) return pappus_fail_memory(err);
    char *stamp = words_of_stamp(given, units);
    int status =
        stamp ? draw_alone(out, window, given, units, stamp, err) : pappus_fail_memory(err);
    free(stamp);
    pappus_locale_leave(&locale);
    return status;
}
