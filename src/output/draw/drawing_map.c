/* SPDX-License-Identifier: GPL-3.0-or-later
 * The map of a landing zone. North up, one scale, the pad's tangent plane.
 *
 * Colours: the palette of Okabe & Ito, "Color Universal Design", 2008 (from memory),
 * made for every kind of colour vision, darkened where they carry text. No meaning
 * rests on colour: the field's boundary is a dash and dot line, keep-out areas are
 * hatched, each outcome has a dash pattern of its own, and shapes carry their names.
 *
 * The frame holds the zone of 95 % of all landings, the pad, the posts, and the
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
#define BOLD 1.13          /* most labels are */
#define TALLEST 1600.0

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

static view_extent find_extent(const drawing *d)
{
    const pappus_answer *answer = d->answer;
    view_extent extent = view_extent_none();
    view_extent_add(&extent, 0, 0);
    if (d->subject == DRAWING_ZONE) {
        add_zone(&extent, &answer->zones->all, PAPPUS_LEVEL_95);
        for (size_t i = 0; answer->crews && i < answer->crews->post_count; i++)
            view_extent_add(&extent, answer->crews->posts[i].east_m,
                            answer->crews->posts[i].north_m);
    } else {
        for (size_t i = 0; i < PAPPUS_OUTCOMES; i++)
            add_zone(&extent, &answer->zones->outcomes[i], PAPPUS_LEVEL_90);
    }
    if (answer->field && answer->field->has_boundary)
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

static void put_ring(FILE *stream, const view *v, const pappus_ring *ring)
{
    double last_x = NAN, last_y = NAN;
    for (size_t i = 0; i < ring->point_count; i++) {
        double x = view_x(v, ring->points_m[2 * i]), y = view_y(v, ring->points_m[2 * i + 1]);
        if (i > 0 && hypot(x - last_x, y - last_y) < NEAREST_POINTS) continue;
        fprintf(stream, "%s%.1f %.1f", i == 0 ? "M" : "L", x, y);
        last_x = x;
        last_y = y;
    }
    if (ring->point_count > 0) fputc('Z', stream);
}

int drawing_area_path(char **out, const view *v, const pappus_area *area, pappus_error *err)
{
    pappus_text text;
    *out = NULL;
    int status = pappus_text_begin(&text, err);
    if (status != PAPPUS_OK) return status;
    for (size_t i = 0; i < area->polygon_count; i++)
        for (size_t k = 0; k < area->polygons[i].ring_count; k++)
            put_ring(text.stream, v, &area->polygons[i].rings[k]);
    status = pappus_text_finish(&text, err);
    if (status == PAPPUS_OK) *out = text.bytes;
    return status;
}

int map_put_area(map *m, const char *style, const char *id, const pappus_area *area)
{
    char *data;
    int status = drawing_area_path(&data, &m->view, area, m->err);
    if (status != PAPPUS_OK) return status;
    svg_path(m->xml, style, id, data);
    free(data);
    return PAPPUS_OK;
}

bool map_put_label(map *m, const char *style, view_label label, const char *text)
{
    char fitted[160];
    double left, baseline;
    svg_text_fit(fitted, sizeof fitted, text, MAP_TEXT, 190);
    if (fitted[0] == '\0') return true;
    label.size = MAP_TEXT;
    label.width = BOLD * svg_text_width(fitted, MAP_TEXT);
    if (!view_labels_place(&m->labels, &left, &baseline, label)) return false;
    svg_text(m->xml, left + label.width / 2, baseline, style, "%s", fitted);
    return true;
}

/* ---------------------------------------------------------------- the whole */

static void put_patterns(map *m)
{
    const view_box *f = &m->view.frame;
    bool zone = m->drawing->subject == DRAWING_ZONE;
    pappus_xml_start(m->xml, "defs");
    pappus_xml_start(m->xml, "clipPath");
    pappus_xml_attribute(m->xml, "id", zone ? "zone-frame" : "outcomes-frame");
    svg_rectangle(m->xml, f->left, f->top, f->right - f->left, f->bottom - f->top, "");
    pappus_xml_end(m->xml);
    pappus_xml_start(m->xml, "pattern");
    pappus_xml_attribute(m->xml, "id", zone ? "zone-hatch" : "outcomes-hatch");
    pappus_xml_attribute(m->xml, "patternUnits", "userSpaceOnUse");
    pappus_xml_attribute(m->xml, "width", "6");
    pappus_xml_attribute(m->xml, "height", "6");
    pappus_xml_attribute(m->xml, "patternTransform", "rotate(45)");
    svg_rectangle(m->xml, 0, 0, 6, 6, "m-hatch-paper");
    svg_line(m->xml, 1.2, 0, 1.2, 6, "m-hatch");
    pappus_xml_end(m->xml);
    pappus_xml_end(m->xml);
}

static int put_frame(map *m)
{
    const view_box *f = &m->view.frame;
    bool zone = m->drawing->subject == DRAWING_ZONE;
    m->labels.frame = (view_box){f->left + 3, f->top + 3, f->right - 3, f->bottom - 3};
    pappus_xml_start(m->xml, "g");
    pappus_xml_attribute(m->xml, "clip-path", zone ? "url(#zone-frame)" : "url(#outcomes-frame)");
    svg_rectangle(m->xml, f->left, f->top, f->right - f->left, f->bottom - f->top,
                  m->answer->field && m->answer->field->has_boundary ? "m-outside" : "m-field");
    int status = map_put_ground(m);
    if (status == PAPPUS_OK) status = zone ? map_put_zone(m) : map_put_outcomes(m);
    if (status == PAPPUS_OK) status = map_put_outlines(m);
    map_put_north_and_scale(m);
    if (status == PAPPUS_OK) map_put_places(m);
    pappus_xml_end(m->xml);
    svg_rectangle(m->xml, f->left, f->top, f->right - f->left, f->bottom - f->top, "m-frame");
    return status;
}

/* What the drawing shows, for those who do not see it. */
static void describe(char *out, size_t size, const drawing *d)
{
    const pappus_zone *all = &d->answer->zones->all;
    char distance[PAPPUS_TEXT_SIZE], inside[PAPPUS_TEXT_SIZE];
    double bearing_deg = pappus_bearing_of(all->mean_east_m, all->mean_north_m);
    if (d->subject == DRAWING_OUTCOMES) {
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

/* The height is known only when all is placed: drawn twice, first into nothing. */
static int put_all(map *m, double *height)
{
    double y = map_put_heading(m, 0);
    map_put_winds(m, y);
    put_patterns(m);
    int status = put_frame(m);
    y = map_put_notes(m, m->view.frame.bottom);
    y = map_put_legend(m, y);
    *height = map_put_caution(m, y);
    return status;
}

static int measure(double *height, const drawing *d, pappus_error *err)
{
    pappus_xml scratch;
    int status = pappus_xml_begin(&scratch, err);
    if (status != PAPPUS_OK) return status;
    map m = {
        .xml = &scratch, .drawing = d, .answer = d->answer, .view = drawing_view(d), .err = err};
    pappus_xml_start(&scratch, "svg");
    status = put_all(&m, height);
    xmlFreeTextWriter(scratch.writer);
    xmlBufferFree(scratch.buffer);
    return status;
}

int drawing_map(pappus_xml *xml, const drawing *d, pappus_error *err)
{
    double height = TALLEST;
    char what[512];
    int status = measure(&height, d, err);
    if (status != PAPPUS_OK) return status;
    map m = {.xml = xml, .drawing = d, .answer = d->answer, .view = drawing_view(d), .err = err};
    describe(what, sizeof what, d);
    svg_begin(xml, MAP_WIDTH, height, what);
    map_put_style(xml);
    svg_rectangle(xml, 0, 0, MAP_WIDTH, height, "m-page");
    status = put_all(&m, &height);
    pappus_xml_end(xml);
    return status;
}
