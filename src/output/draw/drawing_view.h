/* SPDX-License-Identifier: GPL-3.0-or-later
 * The piece of ground that a map shows, and the places of labels on it. */
#ifndef PAPPUS_OUTPUT_DRAWING_VIEW_H
#define PAPPUS_OUTPUT_DRAWING_VIEW_H

#include <pappus/output.h>

/** West, south, east, north on the local plane. */
typedef struct {
    double west_m, south_m, east_m, north_m;
} view_extent;

/** A rectangle of the drawing, y down. */
typedef struct {
    double left, top, right, bottom;
} view_box;

typedef struct {
    view_box frame;
    double scale;           /**< units of the drawing per metre */
    double east_m, north_m; /**< of the frame's middle */
} view;

view_extent view_extent_none(void);
void view_extent_add(view_extent *extent, double east_m, double north_m);
void view_extent_add_area(view_extent *extent, const pappus_area *area);
/** Adds an area: whole when with it the extent is no longer than `whole` times its own
 * longer side, else what lies within `part` times that about its middle, so that a vast
 * area does not make the rest a dot. */
void view_extent_add_near(view_extent *extent, const pappus_area *area, double whole, double part);

/** A frame of a width at (left, top), as high as the extent asks, within bounds. */
view view_fit(const view_extent *extent, double left, double top, double width, double least_height,
              double most_height);
double view_x(const view *v, double east_m);
double view_y(const view *v, double north_m);
bool view_holds(const view *v, double east_m, double north_m);
bool view_holds_area(const view *v, const pappus_area *area);

/** The largest length 1, 2 or 5 times a power of ten that is at most `most`. */
double view_round_length(double most);

/* ------------------------------------------------------------------ labels */

enum { VIEW_MOST_BOXES = 160, VIEW_MOST_LINES = 512 };

typedef struct {
    double x1, y1, x2, y2;
} view_line;

bool view_meets(const view_box *a, const view_box *b);
/** Cuts a line to what of it is in a box; false when nothing is. */
bool view_line_clip(view_line *line, const view_box *box);

typedef struct {
    view_box frame;
    size_t count;
    view_box boxes[VIEW_MOST_BOXES]; /**< taken already */
    size_t line_count;
    size_t edge_count; /**< of them the first, the field's: crossed only for want of any room */
    view_line lines[VIEW_MOST_LINES]; /**< then roads, which are crossed before those */
} view_labels;

void view_labels_take(view_labels *labels, view_box box);
void view_labels_avoid(view_labels *labels, view_line line);
/** Whether a box is in the frame and free, and crossed by none of the first lines. */
bool view_labels_free(const view_labels *labels, view_box box, size_t lines);
/** A text to be placed: its point, how far to keep from it, and its own size. */
typedef struct {
    double x, y, gap_x, gap_y, width, size;
    bool over; /**< may stand on its point, and rather would */
} view_label;
/** Where its baseline is, and which part of the text is at x. */
typedef struct {
    double x, baseline;
    int anchor; /**< 1: it begins there, 0: its middle is there, -1: it ends there */
    view_box box;
} view_spot;
/** Finds a free place and takes it. False when there is none. */
bool view_labels_place(view_labels *labels, view_spot *spot, view_label label);

#endif
