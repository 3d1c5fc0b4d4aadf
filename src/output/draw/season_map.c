/* SPDX-License-Identifier: GPL-3.0-or-later
 * Two drawings of a season: where all landings lie over the field, and the days by where the
 * surface wind is from.
 *
 * A sector's area is the number of its days, its dark part that of the go days among them. */
#include "season_drawing.h"

#include "drawing.h"
#include "drawing_svg.h"
#include "error.h"
#include "season_words.h"

#include <math.h>
#include <stdlib.h>

#define WIDTH 480.0
#define EDGE 6.0
#define TITLE 32.0
#define LEAST_HEIGHT 240.0
#define MOST_HEIGHT 440.0
#define WHOLE_FIELD 6.0 /* times the footprint's own size: larger is cut */
#define PART_OF_FIELD 2.0
#define BAR_SHARE 0.3
#define RADIANS (3.14159265358979323846 / 180.0)

/* ----------------------------------------------------------------------- map */

typedef struct {
    pappus_xml *xml;
    const pappus_season_result *result;
    const pappus_season_sum *sum;
    view view;
    pappus_error *err;
} season_map;

static const struct {
    pappus_level level;
    const char *style;
} zones[] = {{PAPPUS_LEVEL_95, "s-z95"}, {PAPPUS_LEVEL_90, "s-z90"}, {PAPPUS_LEVEL_50, "s-z50"}};
#define ZONES (sizeof zones / sizeof zones[0])

static view find_view(const season_map *m)
{
    const pappus_field *field = m->result->head.field;
    view_extent extent = view_extent_none();
    view_extent_add(&extent, 0.0, 0.0);
    for (size_t i = 0; i < ZONES; i++)
        view_extent_add_area(&extent, &m->sum->footprint[zones[i].level].shape);
    if (field->has_boundary)
        view_extent_add_near(&extent, &field->boundary, WHOLE_FIELD, PART_OF_FIELD);
    return view_fit(&extent, EDGE, TITLE, WIDTH - 2 * EDGE, LEAST_HEIGHT, MOST_HEIGHT);
}

static int put_area(const season_map *m, const char *style, const pappus_area *area)
{
    char *data;
    int status = drawing_area_path(&data, &m->view, area, m->err);
    if (status != PAPPUS_OK) return status;
    if (data[0]) svg_path(m->xml, style, NULL, data);
    free(data);
    return PAPPUS_OK;
}

static int put_ground(const season_map *m)
{
    const pappus_field *field = m->result->head.field;
    int status = PAPPUS_OK;
    for (size_t i = 0; i < ZONES && status == PAPPUS_OK; i++)
        status = put_area(m, zones[i].style, &m->sum->footprint[zones[i].level].shape);
    for (size_t i = 0; i < field->keep_out_count && status == PAPPUS_OK; i++)
        status = put_area(m, "s-keep", &field->keep_outs[i]);
    if (status == PAPPUS_OK && field->has_boundary)
        status = put_area(m, "s-field", &field->boundary);
    return status;
}

static void put_marks(const season_map *m, pappus_unit_system units)
{
    const view_box *f = &m->view.frame;
    char length[PAPPUS_TEXT_SIZE];
    double x = view_x(&m->view, 0), y = view_y(&m->view, 0);
    double unit_m = 1.0 / pappus_quantity_value(PAPPUS_SHOW_DISTANCE, 1.0, units);
    double most = BAR_SHARE * (f->right - f->left) / m->view.scale / unit_m;
    double bar_m = view_round_length(most) * unit_m;
    svg_line(m->xml, x - 7, y, x + 7, y, "s-bar");
    svg_line(m->xml, x, y - 7, x, y + 7, "s-bar");
    svg_line(m->xml, f->left + 12, f->bottom - 12, f->left + 12 + bar_m * m->view.scale,
             f->bottom - 12, "s-bar");
    svg_text(m->xml, f->left + 12, f->bottom - 20, "s-text s-halo", "%s",
             pappus_format(length, sizeof length, PAPPUS_SHOW_DISTANCE, bar_m, units));
    svg_text(m->xml, f->right - 16, f->top + 20, "s-text s-middle s-halo", "N");
    svg_arrow(m->xml, f->right - 16, f->top + 38, 24, 0, "s-bar");
}

static void put_map_key(const season_map *m, double y)
{
    static const struct {
        const char *style, *text;
        double x;
    } keys[] = {{"s-z50", "50 %", 4.0},
                {"s-z90", "90 %", 78.0},
                {"s-z95", "95 % of all", 152.0},
                {"s-field", "field", 278.0},
                {"s-keep", "keep-out", 352.0}};
    for (size_t i = 0; i < sizeof keys / sizeof keys[0]; i++) {
        svg_rectangle(m->xml, keys[i].x + 1.0, y, 18.0, 14.0, keys[i].style);
        svg_text(m->xml, keys[i].x + 24.0, y + 13.0, "s-text", "%s", keys[i].text);
    }
}

int season_map_drawing(pappus_xml *xml, const pappus_season_result *result, size_t plan,
                       pappus_unit_system units, pappus_error *err)
{
    season_map m = {.xml = xml, .result = result, .sum = &result->sums[plan], .err = err};
    char frame[48];
    m.view = find_view(&m);
    const view_box *f = &m.view.frame;
    snprintf(frame, sizeof frame, "season-frame-%zu", plan + 1);
    svg_begin(xml, WIDTH, f->bottom + 36.0, "Map of where the landings of all days lie.");
    pappus_xml_element(xml, "style", "%s", drawing_season_style);
    svg_text(xml, 4.0, 20.0, "s-text s-strong", "Landings of all days, main as planned");
    svg_clip(xml, frame, f->left, f->top, f->right - f->left, f->bottom - f->top);
    svg_clipped(xml, frame);
    int status = put_ground(&m);
    put_marks(&m, units);
    pappus_xml_end(xml);
    svg_rectangle(xml, f->left, f->top, f->right - f->left, f->bottom - f->top, "s-frame");
    put_map_key(&m, f->bottom + 14.0);
    pappus_xml_end(xml);
    return status == PAPPUS_OK && xml->failed ? pappus_fail_memory(err) : status;
}

/* ---------------------------------------------------------------------- rose */

#define ROSE_HEIGHT 418.0
#define X 240.0
#define Y 206.0
#define RIM 150.0

/* From the middle to a radius. */
static void put_wedge(pappus_xml *xml, double radius, double bearing_deg, const char *style)
{
    double half = 0.5 * 360.0 / PAPPUS_SEASON_SECTORS - 1.0;
    double a = (bearing_deg - half) * RADIANS, b = (bearing_deg + half) * RADIANS;
    char data[160];
    if (!(radius > 0.0)) return;
    snprintf(data, sizeof data, "M%.1f %.1fL%.1f %.1fA%.1f %.1f 0 0 1 %.1f %.1fZ", X, Y,
             X + radius * sin(a), Y - radius * cos(a), radius, radius, X + radius * sin(b),
             Y - radius * cos(b));
    svg_path(xml, style, NULL, data);
}

static pappus_season_petal petal_of(const pappus_season_sum *sum, int sector)
{
    pappus_season_petal petal = {0, 0};
    for (int v = 0; v < PAPPUS_SEASON_SPEEDS; v++) {
        petal.days += sum->rose[sector][v].days;
        petal.go += sum->rose[sector][v].go;
    }
    return petal;
}

static size_t most_days(const pappus_season_sum *sum)
{
    size_t most = 1;
    for (int s = 0; s < PAPPUS_SEASON_SECTORS; s++) {
        pappus_season_petal petal = petal_of(sum, s);
        if (petal.days > most) most = petal.days;
    }
    return most;
}

int season_rose_drawing(pappus_xml *xml, const pappus_season_result *result, size_t plan,
                        pappus_error *err)
{
    static const char *const points[] = {"N", "E", "S", "W"};
    const pappus_season_sum *sum = &result->sums[plan];
    double most = (double)most_days(sum), judged = fmax((double)sum->judged, 1.0);
    svg_begin(xml, WIDTH, ROSE_HEIGHT,
              "Rose of days by where the surface wind is from; season.json has the numbers.");
    pappus_xml_element(xml, "style", "%s", drawing_season_style);
    svg_text(xml, 4.0, 20.0, "s-text s-strong", "Days by where the surface wind is from");
    svg_circle(xml, X, Y, RIM, "s-ring");
    svg_circle(xml, X, Y, RIM * sqrt(0.5), "s-ring");
    for (int s = 0; s < PAPPUS_SEASON_SECTORS; s++) {
        pappus_season_petal petal = petal_of(sum, s);
        double bearing = s * 360.0 / PAPPUS_SEASON_SECTORS;
        put_wedge(xml, RIM * sqrt((double)petal.days / most), bearing, "s-days");
        put_wedge(xml, RIM * sqrt((double)petal.go / most), bearing, "s-go");
    }
    for (int i = 0; i < 4; i++)
        svg_text(xml, X + (RIM + 16.0) * sin(90.0 * i * RADIANS),
                 Y - (RIM + 16.0) * cos(90.0 * i * RADIANS) + 5.0, "s-text s-middle s-strong", "%s",
                 points[i]);
    svg_rectangle(xml, 5.0, ROSE_HEIGHT - 22.0, 18.0, 14.0, "s-go");
    svg_text(xml, 28.0, ROSE_HEIGHT - 9.0, "s-text", "go");
    svg_rectangle(xml, 69.0, ROSE_HEIGHT - 22.0, 18.0, 14.0, "s-days");
    svg_text(xml, 92.0, ROSE_HEIGHT - 9.0, "s-text", "all days (rim: %.0f %% of them)",
             100.0 * most / judged);
    pappus_xml_end(xml);
    return xml->failed ? pappus_fail_memory(err) : PAPPUS_OK;
}
