/* SPDX-License-Identifier: GPL-3.0-or-later
 * A map in the making: what its parts (ground, zone, margin) hand on. */
#ifndef PAPPUS_OUTPUT_DRAWING_MAP_H
#define PAPPUS_OUTPUT_DRAWING_MAP_H

#include "drawing.h"
#include "drawing_svg.h"

#define MAP_WIDTH 480.0
#define MAP_EDGE 6.0  /* of the drawing, beside the frame */
#define MAP_TEXT 14.0 /* as in the style: 11.4 px where the map is 390 px wide */
#define MAP_GAP 5.0   /* of a label from its point */
#define MAP_DOTS 1000

typedef struct {
    pappus_xml *xml;
    const drawing *drawing;
    const pappus_answer *answer;
    view view;
    view_labels labels;
    size_t dots_outside;
} map;

/** Class of an outcome's line. */
const char *map_outcome_style(pappus_outcome outcome);
/** A contour's shape, or NULL when the zone has none. */
const pappus_area *map_contour(const pappus_zone *zone, pappus_level level);

void map_put_area(map *m, const char *style, const char *id, const pappus_area *area);
/** A text on the map with a halo, at the first free place by its point; width and
 * size of the label are filled here. */
bool map_put_label(map *m, const char *style, view_label label, const char *text);

/* Within the frame, in this order. */
void map_put_ground(map *m);
void map_put_zone(map *m);
void map_put_outcomes(map *m);
void map_put_outlines(map *m);
void map_put_places(map *m);

/* About the frame; each returns the y below what it put. */
double map_put_heading(map *m, double y);
double map_put_winds(map *m, double y);
void map_put_north_and_scale(map *m);
double map_put_notes(map *m, double y);
double map_put_legend(map *m, double y);
double map_put_caution(map *m, double y);
double map_heading_height(const drawing *d);
double map_winds_height(const drawing *d);

#endif
