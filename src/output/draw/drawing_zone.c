/* SPDX-License-Identifier: GPL-3.0-or-later
 * What lies within the frame of a map: the ground, the landings, the places. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "drawing_map.h"
#include "format.h"

#define CONTOUR_ANCHORS 24
#define POST_SIZE 9.0
#define BADGE_SIZE 17.0
#define SMALL_AREA 0.25 /* of the frame, either way */

/* ------------------------------------------------------------------- ground */

static void put_road(map *m, const pappus_road *road, const char *style)
{
    svg_trace line;
    svg_trace_begin(&line, m->xml);
    for (size_t k = 0; k < road->point_count; k++)
        svg_trace_to(&line, view_x(&m->view, road->points_m[2 * k]),
                     view_y(&m->view, road->points_m[2 * k + 1]));
    svg_trace_put(&line, style, NULL);
}

void map_put_ground(map *m)
{
    const pappus_field *field = m->answer->field;
    if (!field) return;
    if (field->has_boundary) map_put_area(m, "m-field", NULL, &field->boundary);
    for (size_t i = 0; i < field->road_count; i++) {
        put_road(m, &field->roads[i], "m-road-edge");
        put_road(m, &field->roads[i], "m-road");
    }
    for (size_t i = 0; i < field->keep_out_count; i++)
        map_put_area(m, m->drawing->subject == DRAWING_ZONE ? "m-keep" : "m-keep m-keep-o", NULL,
                     &field->keep_outs[i]);
}

void map_put_outlines(map *m)
{
    const pappus_field *field = m->answer->field;
    if (!field || !field->has_boundary) return;
    map_put_area(m, "m-bound-halo", NULL, &field->boundary);
    map_put_area(m, "m-bound", NULL, &field->boundary);
}

/* ----------------------------------------------------------------- landings */

/* Every dot is one chance in MAP_DOTS. */
static void put_dots(map *m)
{
    const pappus_cloud *cloud = m->answer->cloud;
    svg_trace dots;
    svg_trace_begin(&dots, m->xml);
    double reached = 0, next = 0.5 / MAP_DOTS;
    for (size_t i = 0; i < cloud->count; i++) {
        double east_m = cloud->east_m[i], north_m = cloud->north_m[i];
        for (reached += pappus_cloud_weight(cloud, i); next < reached; next += 1.0 / MAP_DOTS) {
            if (view_holds(&m->view, east_m, north_m))
                svg_trace_dot(&dots, view_x(&m->view, east_m), view_y(&m->view, north_m));
            else
                m->dots_outside++;
        }
    }
    svg_trace_put(&dots, "m-dots", NULL);
}

static void put_ellipse(map *m, const pappus_zone *zone, pappus_level level)
{
    const pappus_ellipse *e = &zone->ellipses[level];
    if (!isfinite(e->major_m) || !isfinite(e->bearing_deg)) return;
    pappus_xml_start(m->xml, "ellipse");
    svg_number(m->xml, "rx", e->minor_m * m->view.scale);
    svg_number(m->xml, "ry", e->major_m * m->view.scale);
    svg_attribute(m->xml, "transform", "translate(%.1f %.1f) rotate(%.1f)",
                  view_x(&m->view, zone->mean_east_m), view_y(&m->view, zone->mean_north_m),
                  e->bearing_deg);
    pappus_xml_attribute(m->xml, "class", "m-ellipse");
    pappus_xml_end(m->xml);
}

/* The drawn levels with their classes, ids and labels. */
static const struct {
    pappus_level level;
    const char *fill, *line, *fill_id, *line_id, *text;
} drawn[] = {
#define DRAWN(n) {PAPPUS_LEVEL_##n, "m-in" #n, "m-c" #n, "fill-" #n, "line-" #n, #n " %"},
    DRAWING_LEVEL_LIST(DRAWN)
#undef DRAWN
};

/* Ids are for the report's slider; the map is in it once. */
static void put_contours(map *m, bool lines)
{
    for (size_t i = DRAWING_CONTOURS; i-- > 0;) {
        const pappus_area *shape = map_contour(&m->answer->zones->all, drawn[i].level);
        if (shape)
            map_put_area(m, lines ? drawn[i].line : drawn[i].fill,
                         lines ? drawn[i].line_id : drawn[i].fill_id, shape);
    }
}

void map_put_zone(map *m)
{
    put_contours(m, false);
    put_dots(m);
    put_ellipse(m, &m->answer->zones->all, drawn[DRAWING_CONTOURS - 1].level);
    put_contours(m, true);
}

const char *map_outcome_style(pappus_outcome outcome)
{
    static const char *const styles[PAPPUS_OUTCOMES] = {"m-o0", "m-o1", "m-o2", "m-o3", "m-o4"};
    return styles[outcome];
}

void map_put_outcomes(map *m)
{
    for (size_t i = PAPPUS_OUTCOMES; i-- > 0;) {
        const pappus_area *shape = map_contour(&m->answer->zones->outcomes[i], PAPPUS_LEVEL_90);
        if (shape) map_put_area(m, map_outcome_style((pappus_outcome)i), NULL, shape);
    }
}

/* ------------------------------------------------------------------- places */

static const pappus_ring *longest_ring(const pappus_area *area)
{
    const pappus_ring *longest = NULL;
    for (size_t i = 0; i < area->polygon_count; i++) {
        if (area->polygons[i].ring_count == 0) continue;
        const pappus_ring *shell = &area->polygons[i].rings[0];
        if (!longest || shell->point_count > longest->point_count) longest = shell;
    }
    return longest;
}

/* Names an outline at the first point round it that leaves room; start: share of the
 * way round, so that nested outlines are named in different places. */
static void label_outline(map *m, const pappus_area *area, const char *style, double start,
                          const char *text)
{
    const pappus_ring *ring = longest_ring(area);
    if (!ring || ring->point_count == 0) return;
    for (size_t i = 0; i < CONTOUR_ANCHORS; i++) {
        double share = fmod(start + (double)i / CONTOUR_ANCHORS, 1.0);
        size_t k = (size_t)(share * (double)ring->point_count) % ring->point_count;
        double east = ring->points_m[2 * k], north = ring->points_m[2 * k + 1];
        if (!view_holds(&m->view, east, north)) continue;
        view_label label = {.x = view_x(&m->view, east),
                            .y = view_y(&m->view, north),
                            .gap_x = MAP_GAP,
                            .gap_y = MAP_GAP,
                            .over = true};
        if (map_put_label(m, style, label, text)) return;
    }
}

static void label_contours(map *m)
{
    static const double starts[DRAWING_CONTOURS] = {0.25, 0.75, 0.0};
    for (size_t i = DRAWING_CONTOURS; i-- > 0;) {
        const pappus_area *shape = map_contour(&m->answer->zones->all, drawn[i].level);
        if (shape) label_outline(m, shape, "m-label m-blue m-level", starts[i], drawn[i].text);
    }
}

static void label_outcomes(map *m)
{
    for (size_t i = 0; i < PAPPUS_OUTCOMES; i++) {
        const pappus_area *shape = map_contour(&m->answer->zones->outcomes[i], PAPPUS_LEVEL_90);
        if (shape)
            label_outline(m, shape, "m-label m-strong", 0.1 + 0.2 * (double)i,
                          pappus_outcome_text((pappus_outcome)i));
    }
}

/* What of an area's extent is in the frame; nothing is when a side is not before its
 * opposite. */
static view_box area_in_frame(const map *m, const pappus_area *area)
{
    view_extent extent = view_extent_none();
    const view_box *frame = &m->view.frame;
    view_extent_add_area(&extent, area);
    return (view_box){.left = fmax(view_x(&m->view, extent.west_m), frame->left),
                      .top = fmax(view_y(&m->view, extent.north_m), frame->top),
                      .right = fmin(view_x(&m->view, extent.east_m), frame->right),
                      .bottom = fmin(view_y(&m->view, extent.south_m), frame->bottom)};
}

/* Names an area in the middle of what of it is in the frame, or beside it when it is
 * small. */
static void label_area(map *m, const pappus_area *area, const char *style)
{
    view_box box = area_in_frame(m, area);
    if (!(box.left < box.right) || !(box.top < box.bottom)) return;
    double width = svg_text_width(area->name ? area->name : "", MAP_TEXT);
    view_label label = {.x = (box.left + box.right) / 2,
                        .y = (box.top + box.bottom) / 2,
                        .gap_x = (box.right - box.left) / 2 + MAP_GAP,
                        .gap_y = (box.bottom - box.top) / 2 + MAP_GAP,
                        .over = width < box.right - box.left - 2 * MAP_GAP};
    map_put_label(m, style, label, area->name ? area->name : "");
    /* other labels stay off a small area, lest they seem to name it */
    const view_box *f = &m->labels.frame;
    if (box.right - box.left < SMALL_AREA * (f->right - f->left) &&
        box.bottom - box.top < SMALL_AREA * (f->bottom - f->top))
        view_labels_take(&m->labels, box);
}

/* Within the field, near its upper edge, else lower. */
static void label_boundary(map *m)
{
    static const double shares[] = {0.06, 0.94, 0.14, 0.86, 0.3, 0.7};
    const pappus_area *area = &m->answer->field->boundary;
    view_box box = area_in_frame(m, area);
    for (size_t i = 0; i < sizeof shares / sizeof shares[0]; i++) {
        view_label label = {.x = (box.left + box.right) / 2,
                            .y = box.top + shares[i] * (box.bottom - box.top),
                            .over = true};
        if (map_put_label(m, "m-label m-green", label, area->name ? area->name : "")) return;
    }
}

static void label_roads(map *m)
{
    const pappus_field *field = m->answer->field;
    for (size_t i = 0; field && i < field->road_count; i++) {
        const pappus_road *road = &field->roads[i];
        for (size_t k = 0; k + 1 < road->point_count; k++) {
            double share = 0.25;
            double east = road->points_m[2 * k] * (1 - share) + road->points_m[2 * k + 2] * share;
            double north =
                road->points_m[2 * k + 1] * (1 - share) + road->points_m[2 * k + 3] * share;
            if (!view_holds(&m->view, east, north)) continue;
            view_label label = {.x = view_x(&m->view, east),
                                .y = view_y(&m->view, north),
                                .gap_x = MAP_GAP,
                                .gap_y = MAP_GAP};
            if (map_put_label(m, "m-label m-quiet", label, road->name)) break;
        }
    }
}

static void take_around(map *m, double x, double y, double reach)
{
    view_labels_take(&m->labels, (view_box){x - reach, y - reach, x + reach, y + reach});
}

/* A square on the spot and its number beside it, so that the spot stays in sight. */
static void put_posts(map *m)
{
    const pappus_crews *crews = m->answer->crews;
    for (size_t i = 0; crews && i < crews->post_count; i++) {
        double left, baseline, x = view_x(&m->view, crews->posts[i].east_m);
        double y = view_y(&m->view, crews->posts[i].north_m);
        view_label label = {x,          y,    POST_SIZE / 2 + 1, POST_SIZE / 2 + 1, BADGE_SIZE,
                            BADGE_SIZE, false};
        svg_rectangle(m->xml, x - POST_SIZE / 2, y - POST_SIZE / 2, POST_SIZE, POST_SIZE, "m-post");
        if (!view_labels_place(&m->labels, &left, &baseline, label)) continue;
        double middle = baseline - 0.36 * BADGE_SIZE;
        svg_rectangle(m->xml, left, middle - BADGE_SIZE / 2, BADGE_SIZE, BADGE_SIZE, "m-post");
        svg_text(m->xml, left + BADGE_SIZE / 2, middle + 5, "m-post-text", "%zu", i + 1);
    }
}

static void put_pad(map *m)
{
    double x = view_x(&m->view, 0), y = view_y(&m->view, 0);
    char data[96];
    snprintf(data, sizeof data, "M%.1f %.1fl8 14h-16z", x, y - 9);
    svg_path(m->xml, "m-pad", NULL, data);
}

static void put_middle(map *m)
{
    const pappus_zone *all = &m->answer->zones->all;
    char data[128];
    if (!isfinite(all->mean_east_m)) return;
    snprintf(data, sizeof data, "M%.1f %.1fh-6h12h-6v-6v12", view_x(&m->view, all->mean_east_m),
             view_y(&m->view, all->mean_north_m));
    svg_path(m->xml, "m-middle", "zone-middle", data);
}

/* Spots are taken and posts numbered first: they matter most. */
void map_put_places(map *m)
{
    const pappus_crews *crews = m->answer->crews;
    const pappus_field *field = m->answer->field;
    bool zone = m->drawing->subject == DRAWING_ZONE;
    view_label pad = {.x = view_x(&m->view, 0), .y = view_y(&m->view, 0), .gap_x = 11, .gap_y = 12};
    take_around(m, pad.x, pad.y, 9);
    for (size_t i = 0; zone && crews && i < crews->post_count; i++)
        take_around(m, view_x(&m->view, crews->posts[i].east_m),
                    view_y(&m->view, crews->posts[i].north_m), POST_SIZE / 2);
    if (zone) put_middle(m);
    if (zone) put_posts(m);
    map_put_label(m, "m-label m-strong", pad, "pad");
    for (size_t i = 0; field && i < field->keep_out_count; i++)
        label_area(m, &field->keep_outs[i], "m-label m-danger");
    if (zone)
        label_contours(m);
    else
        label_outcomes(m);
    if (field && field->has_boundary) label_boundary(m);
    label_roads(m);
    put_pad(m);
}
