/* SPDX-License-Identifier: GPL-3.0-or-later
 * What plots are made of: scales, axes with ticks, keys. Lines and bands are traces
 * (drawing_svg.h) at places that the scales give. */
#ifndef PAPPUS_OUTPUT_PLOT_H
#define PAPPUS_OUTPUT_PLOT_H

#include "drawing_svg.h"

/** Values low to high lie at from to to of the drawing, along x or y. */
typedef struct {
    double low, high, from, to;
    double period; /**< values one period apart are the same; 0: none are */
} plot_scale;

double plot_at(const plot_scale *scale, double value);
/** A step of 1, 2 or 5 times a power of ten, at most `most` of them in the span. */
double plot_step(double span, double most);

/** A tick is a line across the axis: a dash, or a line of a grid over a panel or two. */
typedef struct {
    size_t count;
    double lines[2][2]; /**< from, to */
    const char *style;
} plot_tick;

typedef struct {
    plot_scale scale;
    bool upright;      /**< values go up the drawing, ticks lie */
    double unit, step; /**< the numbers' unit in what the scale has; from tick to tick, in units */
    const plot_tick *tick;
    double label_at, label_down; /**< where across the axis numbers stand; down from the tick */
    const char *label;           /**< their style */
    const char *const *names;    /**< in the place of numbers, or NULL */
    double bound;                /**< the tick of this value has a style of its own, */
    const char *bound_style;     /**< if this is not NULL */
} plot_axis;

/** Draws the ticks, from the least multiple of the step in the scale to the greatest. */
void plot_put_axis(pappus_xml *xml, const plot_axis *axis);
/** A line over x, y, or with to_x the band between x and to_x. */
typedef struct {
    size_t count;
    const double *x, *to_x, *y;
} plot_series;
/** Draws it, as often as it touches an x scale with a period: clip it to the panel. */
void plot_put_series(pappus_xml *xml, const char *style, const plot_scale *x, const plot_scale *y,
                     const plot_series *series);
/** A piece of line and what it stands for, to the right of x. */
void plot_put_key(pappus_xml *xml, double x, double y, const char *line, const char *label,
                  const char *text);

#endif
