/* SPDX-License-Identifier: GPL-3.0-or-later
 * The map of a landing zone. North up, one scale, the pad's tangent plane.
 *
 * No meaning
 * rests on colour: the field's boundary is a dash and dot line, keep-out areas are
 * hatched, each outcome has a dash pattern of its own, and shapes carry their names.
 *
 * The frame holds the zone of 95 % of all landings, the pad, the posts, the track of the
 * central flight, and the
 * field, unless it is so large that the zone would be a dot; what lies beyond is told in
 * words.
 *
 * The landings' density is shown by dots: every dot is one chance in MAP_DOTS, by
 * systematic sampling of the weighted landings (Madow 1949), so that rare outcomes
 * have the dots that are due to them and two runs the same ones.
 *
 * Stops being right: at distances where the tangent plane does (tens of kilometres);
 * where so many names crowd that some find no place, and are left out. */
#include "drawing_map.h"

#include <math.h>
#include <stdlib.h>

#include "error.h"
#include "format.h"

#define WHOLE_FIELD 6.0 /* times the zone's own size: larger is cut */
#define PART_OF_FIELD 2.0
#define LEAST_HEIGHT 300.0
#define MOST_HEIGHT 560.0
#define MOST_OUTCOMES_HEIGHT 440.0
#define NEAREST_POINTS 0.4 /* units; nearer points of an outline are left out */
#define NEAR_SHARE 0.5     /* of the farthest outcome's reach: what is nearer is near (A) */

const pappus_area *map_contour(const pappus_zone *zone, pappus_level level)
{
    return level < zone->contour_count ? &zone->contours[level].shape : NULL;
}

/* ------------------------------------------------------------------ extent */

static void add_zone(view_extent *extent, const pappus_zone *zone, pappus_level level)
{
    const pappus_area *contour = map_contour(zone, level);
    if (contour) {
        view_extent_add_area(extent, contour);
        return;
    }
    const pappus_ellipse *e = &zone->ellipses[level];
    if (zone->landings == 0) return;
    view_extent_add(extent, zone->mean_east_m - e->major_m, zone->mean_north_m - e->major_m);
    view_extent_add(extent, zone->mean_east_m + e->major_m, zone->mean_north_m + e->major_m);
}

bool drawing_has_near(const pappus_answer *answer)
{
    for (size_t i = 0; i < PAPPUS_OUTCOMES; i++)
        if (drawing_is_near(answer, (pappus_outcome)i)) return true;
    return false;
}

bool drawing_is_near(const pappus_answer *answer, pappus_outcome outcome)
{
    double farthest_m = 0;
    for (size_t i = 0; i < PAPPUS_OUTCOMES; i++)
        if (answer->zones->outcomes[i].landings > 0)
            farthest_m = fmax(farthest_m, answer->zones->outcomes[i].drift_m.p95);
    return answer->zones->outcomes[outcome].landings > 0 &&
           answer->zones->outcomes[outcome].drift_m.p95 <= NEAR_SHARE * farthest_m;
}

static view_extent find_extent(const drawing *d)
{
    const pappus_answer *answer = d->answer;
    view_extent extent = view_extent_none();
    view_extent_add(&extent, 0, 0);
    if (d->subject == DRAWING_ZONE) {
        for (size_t i = 0; answer->path && i < answer->path->count; i++)
            view_extent_add(&extent, answer->path->points[i].east_m,
                            answer->path->points[i].north_m);
        add_zone(&extent, &answer->zones->all, PAPPUS_LEVEL_95);
        for (size_t i = 0; answer->crews && i < answer->crews->post_count; i++)
            view_extent_add(&extent, answer->crews->posts[i].east_m,
                            answer->crews->posts[i].north_m);
    } else if (d->subject == DRAWING_HAZARD) {
        for (size_t l = 0; l < answer->hazard->contour_count; l++)
            view_extent_add_area(&extent, &answer->hazard->contours[l].shape);
    } else {
        for (size_t i = 0; i < PAPPUS_OUTCOMES; i++)
            if (d->subject == DRAWING_OUTCOMES || drawing_is_near(answer, (pappus_outcome)i))
                add_zone(&extent, &answer->zones->outcomes[i], PAPPUS_LEVEL_90);
    }
    if (d->subject != DRAWING_NEAR && answer->field && answer->field->has_boundary)
        view_extent_add_near(&extent, &answer->field->boundary, WHOLE_FIELD, PART_OF_FIELD);
    return extent;
}

view drawing_view(const drawing *d)
{
    view_extent extent = find_extent(d);
    double top = map_heading_height(d) + map_winds_height(d);
    return view_fit(&extent, MAP_EDGE, top, MAP_WIDTH - 2 * MAP_EDGE, LEAST_HEIGHT,
                    d->subject == DRAWING_ZONE ? MOST_HEIGHT : MOST_OUTCOMES_HEIGHT);
}

/* ------------------------------------------------------------------- shapes */

static void trace_ring(svg_trace *trace, const view *v, const pappus_ring *ring)
{
    double last_x = NAN, last_y = NAN;
    for (size_t i = 0; i < ring->point_count; i++) {
        double x = view_x(v, ring->points_m[2 * i]), y = view_y(v, ring->points_m[2 * i + 1]);
        if (i > 0 && hypot(x - last_x, y - last_y) < NEAREST_POINTS) continue;
        svg_trace_to(trace, x, y);
        last_x = x;
        last_y = y;
    }
    svg_trace_lift(trace, true);
}

static void trace_area(svg_trace *trace, const view *v, const pappus_area *area)
{
    for (size_t i = 0; i < area->polygon_count; i++)
        for (size_t k = 0; k < area->polygons[i].ring_count; k++)
            trace_ring(trace, v, &area->polygons[i].rings[k]);
}

int drawing_area_path(char **out, const view *v, const pappus_area *area, pappus_error *err)
{
    pappus_xml none = {0};
    svg_trace trace;
    svg_trace_begin(&trace, &none);
    trace_area(&trace, v, area);
    *out = svg_trace_end(&trace);
    return *out ? PAPPUS_OK : pappus_fail_memory(err);
}

void map_put_area(map *m, const char *style, const char *id, const pappus_area *area)
{
    svg_trace trace;
    svg_trace_begin(&trace, m->xml);
    trace_area(&trace, &m->view, area);
    svg_trace_put(&trace, style, id);
}

/* ---------------------------------------------------------------- the whole */

/* A report has a map of each subject: ids of one are not those of the other. */
static const struct {
    const char *frame, *hatch, *keep;
} ids[] = {[DRAWING_ZONE] = {"zone-frame", "zone-hatch", "m-keep"},
           [DRAWING_OUTCOMES] = {"outcomes-frame", "outcomes-hatch", "m-keep m-keep-o"},
           [DRAWING_NEAR] = {"near-frame", "near-hatch", "m-keep m-keep-n"},
           [DRAWING_HAZARD] = {"hazard-frame", "hazard-hatch", "m-keep m-keep-h"}};

const char *map_keep_style(const map *m)
{
    return ids[m->drawing->subject].keep;
}

static void put_patterns(map *m)
{
    const view_box *f = &m->view.frame;
    pappus_xml_start(m->xml, "defs");
    svg_clip(m->xml, ids[m->drawing->subject].frame, f->left, f->top, f->right - f->left,
             f->bottom - f->top);
    pappus_xml_start(m->xml, "pattern");
    pappus_xml_attribute(m->xml, "id", ids[m->drawing->subject].hatch);
    pappus_xml_attribute(m->xml, "patternUnits", "userSpaceOnUse");
    pappus_xml_attribute(m->xml, "width", "6");
    pappus_xml_attribute(m->xml, "height", "6");
    pappus_xml_attribute(m->xml, "patternTransform", "rotate(45)");
    svg_rectangle(m->xml, 0, 0, 6, 6, "m-hatch-paper");
    svg_line(m->xml, 1.2, 0, 1.2, 6, "m-hatch");
    pappus_xml_end(m->xml);
    pappus_xml_end(m->xml);
}

view_box map_inset(const map *m)
{
    drawing d = *m->drawing;
    d.subject = DRAWING_NEAR;
    view v = drawing_view(&d);
    double ratio = m->view.scale / v.scale, x = view_x(&m->view, v.east_m);
    double y = view_y(&m->view, v.north_m), wide = ratio * (v.frame.right - v.frame.left);
    double high = ratio * (v.frame.bottom - v.frame.top);
    return (view_box){x - wide / 2, y - high / 2, x + wide / 2, y + high / 2};
}

static void put_inset(map *m)
{
    if (m->drawing->subject != DRAWING_OUTCOMES || !drawing_has_near(m->answer)) return;
    view_box box = map_inset(m);
    svg_rectangle(m->xml, box.left, box.top, box.right - box.left, box.bottom - box.top, "m-inset");
}

static void put_frame(map *m)
{
    const view_box *f = &m->view.frame;
    m->labels.frame = (view_box){f->left + 3, f->top + 3, f->right - 3, f->bottom - 3};
    svg_clipped(m->xml, ids[m->drawing->subject].frame);
    svg_rectangle(m->xml, f->left, f->top, f->right - f->left, f->bottom - f->top,
                  m->answer->field && m->answer->field->has_boundary ? "m-outside" : "m-field");
    map_put_ground(m);
    if (m->drawing->subject == DRAWING_ZONE)
        map_put_zone(m);
    else if (m->drawing->subject == DRAWING_HAZARD)
        map_put_hazard(m);
    else
        map_put_outcomes(m);
    map_put_outlines(m);
    put_inset(m);
    map_put_places(m);
    pappus_xml_end(m->xml);
    svg_rectangle(m->xml, f->left, f->top, f->right - f->left, f->bottom - f->top, "m-frame");
}

/* What the drawing shows, for those who do not see it. */
static void describe(char *out, size_t size, const drawing *d)
{
    const pappus_zone *all = &d->answer->zones->all;
    char distance[PAPPUS_TEXT_SIZE], inside[PAPPUS_TEXT_SIZE];
    double bearing_deg = pappus_bearing_of(all->mean_east_m, all->mean_north_m);
    if (d->subject == DRAWING_HAZARD) {
        snprintf(out, size, "Map of the chance per flight that a person standing there is hit.");
        return;
    }
    if (d->subject != DRAWING_ZONE) {
        snprintf(out, size,
                 "Map of where each outcome comes down; the table of outcomes says "
                 "the same in words.");
        return;
    }
    pappus_format(distance, sizeof distance, PAPPUS_SHOW_DISTANCE,
                  hypot(all->mean_east_m, all->mean_north_m), d->units);
    pappus_format_chance(inside, sizeof inside, all->inside_field.value);
    snprintf(out, size,
             "Map of the landing zone: its middle lies %s %s of the pad, %s of the "
             "landings are inside the field.",
             distance, pappus_compass_point(bearing_deg), inside);
}

/* Returns the height, which is known only when all is placed: drawn twice, first into
 * nothing. */
static double put_all(pappus_xml *xml, const drawing *d)
{
    map m = {.xml = xml, .drawing = d, .answer = d->answer, .view = drawing_view(d)};
    map_put_winds(&m, map_put_heading(&m, 0));
    put_patterns(&m);
    put_frame(&m);
    double y = map_put_notes(&m, map_put_scale_and_north(&m, m.view.frame.bottom));
    if (d->subject == DRAWING_NEAR) return y;
    return map_put_caution(&m, map_put_legend(&m, y));
}

static int measure(double *height, const drawing *d, pappus_error *err)
{
    pappus_xml scratch;
    int status = pappus_xml_begin(&scratch, err);
    if (status != PAPPUS_OK) return status;
    pappus_xml_start(&scratch, "svg");
    *height = put_all(&scratch, d);
    xmlFreeTextWriter(scratch.writer);
    xmlBufferFree(scratch.buffer);
    return PAPPUS_OK;
}

int drawing_map(pappus_xml *xml, const drawing *d, pappus_error *err)
{
    double height;
    char what[512];
    int status = measure(&height, d, err);
    if (status != PAPPUS_OK) return status;
    describe(what, sizeof what, d);
    svg_begin(xml, MAP_WIDTH, height, what);
    pappus_xml_element(xml, "style", "%s", drawing_map_style);
    svg_rectangle(xml, 0, 0, MAP_WIDTH, height, "m-page");
    put_all(xml, d);
    pappus_xml_end(xml);
    return xml->failed ? pappus_fail_memory(err) : PAPPUS_OK;
}
