/* SPDX-License-Identifier: GPL-3.0-or-later
 * The ground that a map shows: one scale for both axes, north up. Labels are placed
 * one after another, each at the first free place of a fixed list about its point
 * (right before left before above and below, as in Imhof, The American Cartographer
 * 2:128, 1975; from memory); whoever comes first gets the better place. */
#include "drawing_view.h"

#include <math.h>

#define MARGIN 0.05       /* of the extent, on each side */
#define LEAST_SPAN_M 60.0 /* a zone without any spread still is a place */

view_extent view_extent_none(void)
{
    return (view_extent){INFINITY, INFINITY, -INFINITY, -INFINITY};
}

void view_extent_add(view_extent *extent, double east_m, double north_m)
{
    if (!isfinite(east_m) || !isfinite(north_m)) return;
    extent->west_m = fmin(extent->west_m, east_m);
    extent->south_m = fmin(extent->south_m, north_m);
    extent->east_m = fmax(extent->east_m, east_m);
    extent->north_m = fmax(extent->north_m, north_m);
}

void view_extent_add_area(view_extent *extent, const pappus_area *area)
{
    for (size_t i = 0; i < area->polygon_count; i++) {
        if (area->polygons[i].ring_count == 0) continue;
        const pappus_ring *shell = &area->polygons[i].rings[0];
        for (size_t k = 0; k < shell->point_count; k++)
            view_extent_add(extent, shell->points_m[2 * k], shell->points_m[2 * k + 1]);
    }
}

static double longer_side(const view_extent *extent)
{
    return fmax(extent->east_m - extent->west_m, extent->north_m - extent->south_m);
}

void view_extent_add_near(view_extent *extent, const pappus_area *area, double whole, double part)
{
    view_extent all = view_extent_none(), own = *extent, both = *extent;
    view_extent_add_area(&all, area);
    if (!(all.east_m >= all.west_m)) return;
    view_extent_add(&both, all.west_m, all.south_m);
    view_extent_add(&both, all.east_m, all.north_m);
    double side_m = fmax(longer_side(&own), LEAST_SPAN_M);
    if (!(own.east_m >= own.west_m) || longer_side(&both) <= whole * side_m) {
        *extent = both;
        return;
    }
    double reach = part / 2 * side_m;
    double east = (own.east_m + own.west_m) / 2, north = (own.north_m + own.south_m) / 2;
    extent->west_m = fmin(own.west_m, fmax(all.west_m, east - reach));
    extent->east_m = fmax(own.east_m, fmin(all.east_m, east + reach));
    extent->south_m = fmin(own.south_m, fmax(all.south_m, north - reach));
    extent->north_m = fmax(own.north_m, fmin(all.north_m, north + reach));
}

view view_fit(const view_extent *extent, double left, double top, double width, double least_height,
              double most_height)
{
    double wide = fmax(extent->east_m - extent->west_m, LEAST_SPAN_M) * (1 + 2 * MARGIN);
    double high = fmax(extent->north_m - extent->south_m, LEAST_SPAN_M) * (1 + 2 * MARGIN);
    double height = fmax(least_height, fmin(most_height, width * high / wide));
    return (view){.frame = {left, top, left + width, top + height},
                  .scale = fmin(width / wide, height / high),
                  .east_m = (extent->east_m + extent->west_m) / 2,
                  .north_m = (extent->north_m + extent->south_m) / 2};
}

double view_x(const view *v, double east_m)
{
    return (v->frame.left + v->frame.right) / 2 + (east_m - v->east_m) * v->scale;
}

double view_y(const view *v, double north_m)
{
    return (v->frame.top + v->frame.bottom) / 2 - (north_m - v->north_m) * v->scale;
}

bool view_holds(const view *v, double east_m, double north_m)
{
    double x = view_x(v, east_m), y = view_y(v, north_m);
    return x >= v->frame.left && x <= v->frame.right && y >= v->frame.top && y <= v->frame.bottom;
}

bool view_holds_area(const view *v, const pappus_area *area)
{
    view_extent all = view_extent_none();
    view_extent_add_area(&all, area);
    return !(all.east_m >= all.west_m) ||
           (view_holds(v, all.west_m, all.south_m) && view_holds(v, all.east_m, all.north_m));
}

double view_round_length(double most)
{
    double power = pow(10.0, floor(log10(most)));
    double share = most / power;
    return power * (share >= 5.0 ? 5.0 : share >= 2.0 ? 2.0 : 1.0);
}

bool view_meets(const view_box *a, const view_box *b)
{
    return a->left < b->right && a->right > b->left && a->top < b->bottom && a->bottom > b->top;
}

/* Liang and Barsky, ACM Trans. Graphics 3:1, 1984 (from memory). */
bool view_line_clip(view_line *line, const view_box *box)
{
    double dx = line->x2 - line->x1, dy = line->y2 - line->y1, from = 0, to = 1;
    const double steps[4] = {-dx, dx, -dy, dy};
    const double rooms[4] = {line->x1 - box->left, box->right - line->x1, line->y1 - box->top,
                             box->bottom - line->y1};
    for (size_t i = 0; i < 4; i++) {
        if (steps[i] < 0) from = fmax(from, rooms[i] / steps[i]);
        if (steps[i] > 0) to = fmin(to, rooms[i] / steps[i]);
        if (steps[i] == 0 && rooms[i] < 0) return false;
    }
    if (!(from <= to)) return false;
    *line = (view_line){line->x1 + from * dx, line->y1 + from * dy, line->x1 + to * dx,
                        line->y1 + to * dy};
    return true;
}

void view_labels_take(view_labels *labels, view_box box)
{
    if (labels->count < VIEW_MOST_BOXES) labels->boxes[labels->count++] = box;
}

void view_labels_avoid(view_labels *labels, view_line line)
{
    if (labels->line_count < VIEW_MOST_LINES && view_line_clip(&line, &labels->frame))
        labels->lines[labels->line_count++] = line;
}

bool view_labels_free(const view_labels *labels, view_box box, size_t lines)
{
    const view_box *f = &labels->frame;
    if (box.left < f->left || box.right > f->right || box.top < f->top || box.bottom > f->bottom)
        return false;
    for (size_t i = 0; i < labels->count; i++)
        if (view_meets(&box, &labels->boxes[i])) return false;
    for (size_t i = 0; i < lines; i++) {
        view_line line = labels->lines[i];
        if (view_line_clip(&line, &box)) return false;
    }
    return true;
}

/* Side (-1 left, 0 middle, 1 right) and height (-1 above, 0 level, 1 below). */
static view_spot spot_at(const view_label *label, int side, int height)
{
    double middle = label->x + side * (label->gap_x + label->width / 2);
    double level = label->y + height * (label->gap_y + 0.6 * label->size);
    return (view_spot){.x = middle - side * label->width / 2,
                       .baseline = level + 0.36 * label->size,
                       .anchor = side,
                       .box = {middle - label->width / 2 - 2, level - 0.6 * label->size,
                               middle + label->width / 2 + 2, level + 0.6 * label->size}};
}

bool view_labels_place(view_labels *labels, view_spot *spot, view_label label)
{
    static const int places[][2] = {{0, 0},  {1, 0}, {-1, 0},  {0, -1}, {0, 1},
                                    {1, -1}, {1, 1}, {-1, -1}, {-1, 1}};
    const size_t count = sizeof places / sizeof places[0];
    const size_t lines[] = {labels->line_count, labels->edge_count, 0};
    for (size_t i = 0; i < 3 * count; i++) { /* clear of all lines, of edges, of none */
        if (i % count == 0 && !label.over) continue;
        *spot = spot_at(&label, places[i % count][0], places[i % count][1]);
        if (!view_labels_free(labels, spot->box, lines[i / count])) continue;
        view_labels_take(labels, spot->box);
        return true;
    }
    return false;
}
