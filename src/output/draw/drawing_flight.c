/* SPDX-License-Identifier: GPL-3.0-or-later
 * Several zones on one map: the 90 % contour of all landings of each, told apart by the
 * number in its middle and by the pattern of its line. North up, the pad's tangent plane; all
 * must be flown from one pad. */
#include <math.h>
#include <stdlib.h>

#include "drawing.h"
#include "drawing_svg.h"
#include "error.h"
#include "format.h"

#define WIDTH 480.0
#define EDGE 6.0
#define LEAST_HEIGHT 240.0
#define MOST_HEIGHT 480.0
#define WHOLE_FIELD 6.0 /* times the zones' own size: larger is cut */
#define PART_OF_FIELD 2.0
#define BAR_SHARE 0.3
#define FOOT 40.0 /* below the frame: the bar and north */
#define NAME_WIDTH 150.0

static const char style[] =
    "svg{font-family:sans-serif;font-size:14px;fill:#14202b}.f-page{fill:#fff}"
    ".f-frame{fill:none;stroke:#14202b;stroke-width:1.5}"
    ".f-field{fill:none;stroke:#3c8c28;stroke-width:2;stroke-dasharray:12 4 2 4}"
    ".f-keep{fill:#f3d6cb;stroke:#8f2a00;stroke-width:1.5}"
    ".f-name{text-anchor:middle;font-size:12px;fill:#8f2a00;stroke:#fff;stroke-width:3;"
    "paint-order:stroke}"
    ".f-post{fill:#14202b;stroke:#fff;stroke-width:1.5}"
    ".f-zone{fill:#1e64b3;fill-opacity:.12;stroke:#1e64b3;stroke-width:2.5}"
    ".f-1{stroke-dasharray:9 4}.f-2{stroke-dasharray:3 3}.f-3{stroke-dasharray:12 3 3 3}"
    ".f-bar{stroke:#14202b;stroke-width:3}.f-middle{text-anchor:middle}"
    ".f-number{text-anchor:middle;font-weight:bold;stroke:#fff;stroke-width:4;paint-order:stroke}";

typedef struct {
    pappus_xml *xml;
    const pappus_answer *const *answers;
    size_t count;
    view view;
    pappus_error *err;
} flight_map;

static const pappus_area *zone_of(const pappus_answer *answer)
{
    const pappus_zone *all = &answer->zones->all;
    return all->contour_count > PAPPUS_LEVEL_90 ? &all->contours[PAPPUS_LEVEL_90].shape : NULL;
}

static view find_view(const flight_map *m)
{
    view_extent extent = view_extent_none();
    view_extent_add(&extent, 0, 0);
    for (size_t i = 0; i < m->count; i++) {
        const pappus_area *zone = zone_of(m->answers[i]);
        if (zone) view_extent_add_area(&extent, zone);
        view_extent_add(&extent, m->answers[i]->zones->all.mean_east_m,
                        m->answers[i]->zones->all.mean_north_m);
    }
    const pappus_field *field = m->answers[0]->field;
    if (field && field->has_boundary)
        view_extent_add_near(&extent, &field->boundary, WHOLE_FIELD, PART_OF_FIELD);
    return view_fit(&extent, EDGE, EDGE, WIDTH - 2 * EDGE, LEAST_HEIGHT, MOST_HEIGHT);
}

static int put_area(const flight_map *m, const char *class, const pappus_area *area)
{
    char *data;
    int status = drawing_area_path(&data, &m->view, area, m->err);
    if (status != PAPPUS_OK) return status;
    svg_path(m->xml, class, NULL, data);
    free(data);
    return PAPPUS_OK;
}

/* Under the lowest point of an area. */
static void put_name(const flight_map *m, const pappus_area *area)
{
    double west_m = INFINITY, east_m = -INFINITY, south_m = INFINITY;
    char name[PAPPUS_TEXT_SIZE];
    for (size_t i = 0; i < area->polygon_count; i++) {
        const pappus_ring *ring = &area->polygons[i].rings[0];
        for (size_t k = 0; k < ring->point_count; k++) {
            west_m = fmin(west_m, ring->points_m[2 * k]);
            east_m = fmax(east_m, ring->points_m[2 * k]);
            south_m = fmin(south_m, ring->points_m[2 * k + 1]);
        }
    }
    if (!area->name || !area->name[0] || !isfinite(south_m)) return;
    svg_text_fit(name, sizeof name, area->name, 12, NAME_WIDTH);
    svg_text(m->xml, view_x(&m->view, 0.5 * (west_m + east_m)), view_y(&m->view, south_m) + 14,
             "f-name", "%s", name);
}

static int put_field(const flight_map *m)
{
    const pappus_field *field = m->answers[0]->field;
    int status = PAPPUS_OK;
    for (size_t i = 0; field && status == PAPPUS_OK && i < field->keep_out_count; i++)
        status = put_area(m, "f-keep", &field->keep_outs[i]);
    if (status == PAPPUS_OK && field && field->has_boundary)
        status = put_area(m, "f-field", &field->boundary);
    for (size_t i = 0; field && i < field->keep_out_count; i++)
        put_name(m, &field->keep_outs[i]);
    return status;
}

static int put_zones(const flight_map *m)
{
    char class[32];
    int status = PAPPUS_OK;
    for (size_t i = 0; status == PAPPUS_OK && i < m->count; i++) {
        const pappus_area *zone = zone_of(m->answers[i]);
        snprintf(class, sizeof class, "f-zone f-%zu", i % 4);
        if (zone) status = put_area(m, class, zone);
    }
    for (size_t i = 0; i < m->count; i++) {
        const pappus_zone *all = &m->answers[i]->zones->all;
        svg_text(m->xml, view_x(&m->view, all->mean_east_m),
                 view_y(&m->view, all->mean_north_m) + 5, "f-number", "%zu", i + 1);
    }
    return status;
}

static void put_posts(const flight_map *m)
{
    for (size_t i = 0; i < m->count; i++) {
        const pappus_crews *crews = m->answers[i]->crews;
        for (size_t k = 0; crews && k < crews->post_count; k++)
            svg_rectangle(m->xml, view_x(&m->view, crews->posts[k].east_m) - 4,
                          view_y(&m->view, crews->posts[k].north_m) - 4, 8, 8, "f-post");
    }
}

/* Inside the frame the pad, below it the bar and north. */
static void put_pad(const flight_map *m)
{
    double x = view_x(&m->view, 0), y = view_y(&m->view, 0);
    svg_line(m->xml, x - 6, y, x + 6, y, "f-bar");
    svg_line(m->xml, x, y - 6, x, y + 6, "f-bar");
    svg_text(m->xml, x, y + 20, "f-middle", "pad");
}

static void put_bar(const flight_map *m, pappus_unit_system units)
{
    const view_box *f = &m->view.frame;
    char length[PAPPUS_TEXT_SIZE];
    double unit_m = 1.0 / pappus_quantity_value(PAPPUS_SHOW_DISTANCE, 1.0, units);
    double most = BAR_SHARE * (f->right - f->left) / m->view.scale / unit_m;
    double bar_m = view_round_length(most) * unit_m;
    svg_line(m->xml, f->left, f->bottom + 30, f->left + bar_m * m->view.scale, f->bottom + 30,
             "f-bar");
    svg_text(m->xml, f->left, f->bottom + 22, "f-text", "%s",
             pappus_format(length, sizeof length, PAPPUS_SHOW_DISTANCE, bar_m, units));
    svg_text(m->xml, f->right - 32, f->bottom + 28, "f-middle", "N");
    svg_arrow(m->xml, f->right - 14, f->bottom + 22, 24, 0, "f-bar");
}

int drawing_flight(pappus_xml *xml, const pappus_answer *const *answers, size_t count,
                   pappus_unit_system units, pappus_error *err)
{
    flight_map m = {.xml = xml, .answers = answers, .count = count, .err = err};
    m.view = find_view(&m);
    const view_box *f = &m.view.frame;
    svg_begin(xml, WIDTH, f->bottom + FOOT,
              "Map of the zones of all; the table says the same in words.");
    pappus_xml_element(xml, "style", "%s", style);
    svg_rectangle(xml, 0, 0, WIDTH, f->bottom + FOOT, "f-page");
    svg_clip(xml, "flight-frame", f->left, f->top, f->right - f->left, f->bottom - f->top);
    svg_clipped(xml, "flight-frame");
    int status = put_field(&m);
    if (status == PAPPUS_OK) status = put_zones(&m);
    put_posts(&m);
    put_pad(&m);
    pappus_xml_end(xml);
    put_bar(&m, units);
    svg_rectangle(xml, f->left, f->top, f->right - f->left, f->bottom - f->top, "f-frame");
    pappus_xml_end(xml);
    return status == PAPPUS_OK && xml->failed ? pappus_fail_memory(err) : status;
}
