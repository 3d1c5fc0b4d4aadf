/* SPDX-License-Identifier: GPL-3.0-or-later
 * The places on a map and their names: the pad, posts, events of the flight, areas, outlines,
 * roads. Each name stands by its thing or not at all: a road's along the road, the field's
 * within the field, on a straight stretch or in a place wide enough; others keep off roads
 * and boundaries where there is room. Whoever comes first gets the better place. */
#include <math.h>

#include "drawing_map.h"

#define CONTOUR_ANCHORS 24
#define POST_SIZE 9.0
#define BADGE_SIZE 17.0
#define MIDDLE_REACH 8.0 /* beyond a post's edge: a post on the middle leaves it in sight */
#define SMALL_AREA 0.25  /* of the frame, either way */
#define BOLD 1.13        /* most labels are */
#define LONGEST_NAME 190.0
#define BEND 3.0          /* units that a straight stretch of road may bow */
#define STRETCH_POINTS 64 /* at most, so that a dense road is not looked at for long */
#define OFF_ROAD 4.0      /* between a road and its name */

bool map_put_label(map *m, const char *style, view_label label, const char *text)
{
    static const char *const anchors[] = {"m-end", "m-mid", "m-start"};
    char fitted[160], class[96];
    view_spot spot;
    svg_text_fit(fitted, sizeof fitted, text ? text : "", MAP_TEXT, LONGEST_NAME);
    if (fitted[0] == '\0') return true;
    label.size = MAP_TEXT;
    label.width = BOLD * svg_text_width(fitted, MAP_TEXT);
    if (!view_labels_place(&m->labels, &spot, label)) return false;
    snprintf(class, sizeof class, "%s %s", style, anchors[spot.anchor + 1]);
    svg_text(m->xml, spot.x, spot.baseline, class, "%s", fitted);
    return true;
}

static void take_around(map *m, double x, double y, double reach)
{
    view_labels_take(&m->labels, (view_box){x - reach, y - reach, x + reach, y + reach});
}

/* ----------------------------------------------------------------- outlines */

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
        const pappus_area *shape = map_contour(&m->answer->zones->all, map_levels[i].level);
        if (shape)
            label_outline(m, shape, "m-label m-blue m-level m-plan", starts[i], map_levels[i].text);
    }
}

/* Near ones are named in the nearer view, where there is one. */
static void label_outcomes(map *m)
{
    for (size_t i = 0; i < PAPPUS_OUTCOMES; i++) {
        const pappus_area *shape = map_contour(&m->answer->zones->outcomes[i], PAPPUS_LEVEL_90);
        bool near = drawing_is_near(m->answer, (pappus_outcome)i);
        if (shape && near == (m->drawing->subject == DRAWING_NEAR))
            label_outline(m, shape, "m-label m-strong", 0.1 + 0.2 * (double)i,
                          pappus_outcome_text((pappus_outcome)i));
    }
}

/* -------------------------------------------------------------------- areas */

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
    map_put_label(m, style, label, area->name);
    /* other labels stay off a small area, lest they seem to name it */
    const view_box *f = &m->labels.frame;
    if (box.right - box.left < SMALL_AREA * (f->right - f->left) &&
        box.bottom - box.top < SMALL_AREA * (f->bottom - f->top))
        view_labels_take(&m->labels, box);
}

/* Crossings of the ring's sides with the ray from a point to the right; *cut: a side is in
 * the box. */
static size_t crossings(const map *m, const pappus_ring *ring, double x, double y,
                        const view_box *box, bool *cut)
{
    size_t count = 0;
    for (size_t i = 0; i < ring->point_count; i++) {
        size_t k = (i + 1) % ring->point_count;
        view_line side = {
            view_x(&m->view, ring->points_m[2 * i]), view_y(&m->view, ring->points_m[2 * i + 1]),
            view_x(&m->view, ring->points_m[2 * k]), view_y(&m->view, ring->points_m[2 * k + 1])};
        if ((side.y1 > y) != (side.y2 > y) &&
            side.x1 + (y - side.y1) / (side.y2 - side.y1) * (side.x2 - side.x1) > x)
            count++;
        *cut |= view_line_clip(&side, box);
    }
    return count;
}

/* Whether all of a box is within an area (its middle is, and no side comes into it). */
static bool area_holds_box(const map *m, const pappus_area *area, const view_box *box)
{
    double x = (box->left + box->right) / 2, y = (box->top + box->bottom) / 2;
    size_t count = 0;
    bool cut = false;
    for (size_t i = 0; i < area->polygon_count && !cut; i++)
        for (size_t k = 0; k < area->polygons[i].ring_count && !cut; k++)
            count += crossings(m, &area->polygons[i].rings[k], x, y, box, &cut);
    return !cut && count % 2 == 1;
}

/* Near the field's upper or lower edge before its middle, where the landings are. */
static void label_boundary(map *m)
{
    static const double downs[] = {0.06, 0.94, 0.14, 0.86, 0.22, 0.78, 0.3, 0.7, 0.5};
    static const double acrosses[] = {0.5, 0.3, 0.7, 0.15, 0.85};
    const pappus_area *area = &m->answer->field->boundary;
    view_box all = area_in_frame(m, area);
    char text[160];
    svg_text_fit(text, sizeof text, area->name ? area->name : "", MAP_TEXT, LONGEST_NAME);
    double half = BOLD * svg_text_width(text, MAP_TEXT) / 2 + MAP_GAP;
    for (size_t i = 0; i < sizeof downs / sizeof downs[0]; i++) {
        for (size_t k = 0; k < sizeof acrosses / sizeof acrosses[0]; k++) {
            double x = all.left + acrosses[k] * (all.right - all.left);
            double y = all.top + downs[i] * (all.bottom - all.top);
            view_box box = {x - half, y - 0.7 * MAP_TEXT, x + half, y + 0.7 * MAP_TEXT};
            if (!view_labels_free(&m->labels, box, m->labels.line_count) ||
                !area_holds_box(m, area, &box))
                continue;
            view_labels_take(&m->labels, box);
            svg_text(m->xml, x, y + 0.36 * MAP_TEXT, "m-label m-green m-mid", "%s", text);
            return;
        }
    }
}

/* -------------------------------------------------------------------- roads */

static view_line chord(const map *m, const pappus_road *road, size_t from, size_t to)
{
    return (view_line){
        view_x(&m->view, road->points_m[2 * from]), view_y(&m->view, road->points_m[2 * from + 1]),
        view_x(&m->view, road->points_m[2 * to]), view_y(&m->view, road->points_m[2 * to + 1])};
}

/* Whether the road from one of its points to another is straight. */
static bool is_straight(const map *m, const pappus_road *road, size_t from, size_t to)
{
    view_line line = chord(m, road, from, to);
    double dx = line.x2 - line.x1, dy = line.y2 - line.y1, length = hypot(dx, dy);
    for (size_t i = from + 1; i < to; i++) {
        double x = view_x(&m->view, road->points_m[2 * i]) - line.x1;
        double y = view_y(&m->view, road->points_m[2 * i + 1]) - line.y1;
        double along = x * dx + y * dy;
        if (!(fabs(x * dy - y * dx) <= BEND * length) || along < 0 || along > length * length)
            return false;
    }
    return true;
}

/* The text along a line through (x, y), as boxes one behind another. */
static size_t boxes_along(view_box boxes[VIEW_MOST_BOXES], double x, double y, double cosine,
                          double sine, double width)
{
    size_t count = (size_t)fmin(ceil(width / (0.5 * MAP_TEXT)), VIEW_MOST_BOXES / 4.0);
    double piece = width / (double)count,
           half_x = (piece * fabs(cosine) + MAP_TEXT * fabs(sine)) / 2;
    double half_y = (piece * fabs(sine) + MAP_TEXT * fabs(cosine)) / 2;
    for (size_t i = 0; i < count; i++) {
        double along = ((double)i + 0.5) * piece - width / 2;
        double at_x = x + along * cosine, at_y = y + along * sine;
        boxes[i] = (view_box){at_x - half_x, at_y - half_y, at_x + half_x, at_y + half_y};
    }
    return count;
}

static bool cross(const view_line *a, const view_line *b)
{
    const double *p = &a->x1, *q = &b->x1;
    double side[2][2];
    for (int i = 0; i < 2; i++) {
        side[0][i] = (p[2] - p[0]) * (q[2 * i + 1] - p[1]) - (p[3] - p[1]) * (q[2 * i] - p[0]);
        side[1][i] = (q[2] - q[0]) * (p[2 * i + 1] - q[1]) - (q[3] - q[1]) * (p[2 * i] - q[0]);
    }
    return side[0][0] * side[0][1] <= 0 && side[1][0] * side[1][1] <= 0;
}

/* Whether a road's name would lie across another road. */
static bool crosses_road(const map *m, const view_line *text, const pappus_road *own)
{
    const pappus_field *field = m->answer->field;
    for (size_t i = 0; i < field->road_count; i++)
        for (size_t k = 0; &field->roads[i] != own && k + 1 < field->roads[i].point_count; k++) {
            view_line piece = chord(m, &field->roads[i], k, k + 1);
            if (cross(text, &piece)) return true;
        }
    return false;
}

/* A name along a stretch of its road; turned so that it reads from left to right, or up. */
typedef struct {
    const pappus_road *road;
    view_line stretch;
    double width, cosine, sine;
    char text[160];
} road_name;

/* side: -1 above the road, 1 below. off_zone: not among the landings. */
static bool put_along(map *m, const road_name *n, double share, int side, bool off_zone)
{
    double length = hypot(n->stretch.x2 - n->stretch.x1, n->stretch.y2 - n->stretch.y1);
    double at = (n->width / 2 + share * (length - n->width)) / length;
    double off = side * (0.5 * MAP_TEXT + OFF_ROAD), half = n->width / 2;
    double x = n->stretch.x1 + at * (n->stretch.x2 - n->stretch.x1) - off * n->sine;
    double y = n->stretch.y1 + at * (n->stretch.y2 - n->stretch.y1) + off * n->cosine;
    view_line middle = {x - half * n->cosine, y - half * n->sine, x + half * n->cosine,
                        y + half * n->sine};
    view_box boxes[VIEW_MOST_BOXES];
    size_t count = boxes_along(boxes, x, y, n->cosine, n->sine, n->width);
    if (crosses_road(m, &middle, n->road)) return false;
    for (size_t i = 0; i < count; i++)
        if (!view_labels_free(&m->labels, boxes[i], 0) ||
            (off_zone && view_meets(&m->zone, &boxes[i])))
            return false;
    for (size_t i = 0; i < count; i++)
        view_labels_take(&m->labels, boxes[i]);
    double down = 0.36 * MAP_TEXT;
    svg_text_turned(m->xml, x - down * n->sine, y + down * n->cosine,
                    atan2(n->sine, n->cosine) / MAP_RADIANS, "m-label m-quiet m-mid m-along",
                    n->text);
    return true;
}

static bool label_stretch(map *m, const pappus_road *road, size_t from, size_t to, bool off_zone)
{
    static const double shares[] = {0.5, 0.25, 0.75, 0, 1};
    road_name n = {.road = road, .stretch = chord(m, road, from, to)};
    svg_text_fit(n.text, sizeof n.text, road->name ? road->name : "", MAP_TEXT, LONGEST_NAME);
    n.width = svg_text_width(n.text, MAP_TEXT);
    if (n.text[0] == '\0' || !view_line_clip(&n.stretch, &m->labels.frame)) return false;
    double dx = n.stretch.x2 - n.stretch.x1, dy = n.stretch.y2 - n.stretch.y1;
    double length = hypot(dx, dy), turn = dx < 0 || (dx == 0 && dy > 0) ? -length : length;
    if (length < n.width) return false;
    n.cosine = dx / turn;
    n.sine = dy / turn;
    for (size_t i = 0; i < sizeof shares / sizeof shares[0]; i++)
        if (put_along(m, &n, shares[i], -1, off_zone) || put_along(m, &n, shares[i], 1, off_zone))
            return true;
    return false;
}

static bool label_road(map *m, const pappus_road *road, bool off_zone)
{
    for (size_t from = 0, to; from + 1 < road->point_count; from = to) {
        to = from + 1;
        while (to + 1 < road->point_count && to - from < STRETCH_POINTS &&
               is_straight(m, road, from, to + 1))
            to++;
        if (label_stretch(m, road, from, to, off_zone)) return true;
    }
    return false;
}

/* ------------------------------------------------------------------- places */

/* A square on the spot and its number beside it, so that the spot stays in sight. */
static void put_posts(map *m)
{
    const pappus_crews *crews = m->answer->crews;
    for (size_t i = 0; crews && i < crews->post_count; i++) {
        double x = view_x(&m->view, crews->posts[i].east_m);
        double y = view_y(&m->view, crews->posts[i].north_m), half = POST_SIZE / 2;
        view_label label = {x, y, half + 1, half + 1, BADGE_SIZE, BADGE_SIZE, false};
        view_spot spot;
        svg_rectangle(m->xml, x - half, y - half, POST_SIZE, POST_SIZE, "m-post");
        if (!view_labels_place(&m->labels, &spot, label)) continue;
        double left = spot.x - (1 - spot.anchor) * BADGE_SIZE / 2;
        double middle = spot.baseline - 0.36 * BADGE_SIZE;
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

void drawing_middle_path(char *out, size_t size, const view *v, double east_m, double north_m)
{
    snprintf(out, size, "M%.1f %.1fh%.0fh%.0fh%.0fv%.0fv%.0f", view_x(v, east_m),
             view_y(v, north_m), -MIDDLE_REACH, 2 * MIDDLE_REACH, -MIDDLE_REACH, -MIDDLE_REACH,
             2 * MIDDLE_REACH);
}

/* Over the posts, which are smaller than it. */
static void put_middle(map *m)
{
    const pappus_zone *all = &m->answer->zones->all;
    char data[128];
    if (!isfinite(all->mean_east_m)) return;
    drawing_middle_path(data, sizeof data, &m->view, all->mean_east_m, all->mean_north_m);
    svg_path(m->xml, "m-middle-halo", "zone-middle-halo", data);
    svg_path(m->xml, "m-middle", "zone-middle", data);
}

static void label_events(map *m)
{
    static const char *const texts[] = {[MAP_APOGEE] = "apogee", [MAP_MAIN_OPEN] = "main open"};
    for (size_t i = 0; i < MAP_EVENTS; i++) {
        view_label label = {.gap_x = 9, .gap_y = 9};
        if (map_track_point(m, (map_event)i, &label.x, &label.y))
            map_put_label(m, "m-label m-plan", label, texts[i]);
    }
}

/* What labels keep off: spots altogether, lines where there is room. */
static void take_spots(map *m)
{
    const pappus_crews *crews = m->answer->crews;
    const pappus_zone *all = &m->answer->zones->all;
    double x, y;
    take_around(m, view_x(&m->view, 0), view_y(&m->view, 0), 9);
    if (m->drawing->subject != DRAWING_ZONE) return;
    for (size_t i = 0; crews && i < crews->post_count; i++)
        take_around(m, view_x(&m->view, crews->posts[i].east_m),
                    view_y(&m->view, crews->posts[i].north_m), POST_SIZE / 2);
    if (isfinite(all->mean_east_m))
        take_around(m, view_x(&m->view, all->mean_east_m), view_y(&m->view, all->mean_north_m),
                    MIDDLE_REACH);
    for (size_t i = 0; i < MAP_EVENTS; i++)
        if (map_track_point(m, (map_event)i, &x, &y)) take_around(m, x, y, 6);
}

static void avoid_lines(map *m)
{
    const pappus_field *field = m->answer->field;
    for (size_t i = 0; field && field->has_boundary && i < field->boundary.polygon_count; i++) {
        const pappus_ring *ring = &field->boundary.polygons[i].rings[0];
        const pappus_road outline = {NULL, ring->point_count, ring->points_m};
        for (size_t k = 0; k < ring->point_count; k++)
            view_labels_avoid(&m->labels, chord(m, &outline, k, (k + 1) % ring->point_count));
    }
    m->labels.edge_count = m->labels.line_count;
    for (size_t i = 0; field && i < field->road_count; i++)
        for (size_t k = 0; k + 1 < field->roads[i].point_count; k++)
            view_labels_avoid(&m->labels, chord(m, &field->roads[i], k, k + 1));
}

/* Roads are named off the landings, and there only on a map that shows them large. */
static void label_roads(map *m)
{
    const pappus_field *field = m->answer->field;
    const pappus_area *shape = map_contour(&m->answer->zones->all, PAPPUS_LEVEL_95);
    bool large = m->drawing->subject != DRAWING_OUTCOMES || !drawing_has_near(m->answer);
    if (!large)
        m->zone = map_inset(m);
    else if (m->drawing->subject == DRAWING_ZONE && shape)
        m->zone = area_in_frame(m, shape);
    for (size_t i = 0; field && i < field->road_count; i++)
        if (!label_road(m, &field->roads[i], true) && large) label_road(m, &field->roads[i], false);
}

/* Spots are taken and posts numbered first: they matter most. */
void map_put_places(map *m)
{
    const pappus_field *field = m->answer->field;
    bool zone = m->drawing->subject == DRAWING_ZONE;
    view_label pad = {.x = view_x(&m->view, 0), .y = view_y(&m->view, 0), .gap_x = 11, .gap_y = 12};
    avoid_lines(m);
    take_spots(m);
    if (zone) put_posts(m);
    if (zone) put_middle(m);
    map_put_label(m, "m-label m-strong", pad, "pad");
    for (size_t i = 0; field && i < field->keep_out_count; i++)
        label_area(m, &field->keep_outs[i], "m-label m-danger");
    if (zone)
        label_contours(m);
    else if (m->drawing->subject != DRAWING_HAZARD)
        label_outcomes(m);
    if (zone) label_events(m);
    label_roads(m);
    if (field && field->has_boundary) label_boundary(m);
    put_pad(m);
}
