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

void view_labels_take(view_labels *labels, view_box box)
{
    if (labels->count < VIEW_MOST_BOXES) labels->boxes[labels->count++] = box;
}

static bool is_free(const view_labels *labels, view_box box)
{
    const view_box *f = &labels->frame;
    if (box.left < f->left || box.right > f->right || box.top < f->top || box.bottom > f->bottom)
        return false;
    for (size_t i = 0; i < labels->count; i++) {
        const view_box *b = &labels->boxes[i];
        if (box.left < b->right && box.right > b->left && box.top < b->bottom &&
            box.bottom > b->top)
            return false;
    }
    return true;
}

bool view_labels_place(view_labels *labels, double *left, double *baseline, view_label label)
{
    /* Side (-1 left, 0 middle, 1 right) and height (-1 above, 0 level, 1 below). */
    static const int places[][2] = {{0, 0},  {1, 0}, {-1, 0},  {0, -1}, {0, 1},
                                    {1, -1}, {1, 1}, {-1, -1}, {-1, 1}};
    for (size_t i = label.over ? 0 : 1; i < sizeof places / sizeof places[0]; i++) {
        double middle = label.x + places[i][0] * (label.gap_x + label.width / 2);
        double level = label.y + places[i][1] * (label.gap_y + 0.6 * label.size);
        view_box box = {middle - label.width / 2 - 2, level - 0.6 * label.size,
                        middle + label.width / 2 + 2, level + 0.6 * label.size};
        if (!is_free(labels, box)) continue;
        view_labels_take(labels, box);
        *left = middle - label.width / 2;
        *baseline = level + 0.36 * label.size;
        return true;
    }
    return false;
}
