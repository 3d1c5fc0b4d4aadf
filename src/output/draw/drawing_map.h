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

#define MAP_RADIANS (3.14159265358979323846 / 180.0)
#define DRAWING_ELLIPSE PAPPUS_LEVEL_95

/** A drawn level with its classes, ids and label. */
typedef struct {
    pappus_level level;
    const char *fill, *line, *fill_id, *line_id, *text;
} map_level;
extern const map_level map_levels[DRAWING_CONTOURS];

/** Of the central flight. */
typedef enum { MAP_APOGEE, MAP_MAIN_OPEN, MAP_EVENTS } map_event;

typedef struct {
    pappus_xml *xml;
    const drawing *drawing;
    const pappus_answer *answer;
    view view;
    view_labels labels;
    view_box zone; /**< about the landings; nothing before it is known */
    size_t dots_outside;
} map;

/** Class of an outcome's line. */
const char *map_outcome_style(pappus_outcome outcome);
/** On the map of all outcomes the frame of the nearer view. */
view_box map_inset(const map *m);
/** Of each of pappus_hazard_levels: class and name. */
typedef struct {
    const char *style, *text;
} map_hazard_level;
extern const map_hazard_level map_hazard_levels[PAPPUS_HAZARD_LEVELS];
/** Class of a keep-out area on this map. */
const char *map_keep_style(const map *m);
/** Whether the normal ellipse of the nominal landings is drawn. */
bool map_has_ellipse(const map *m);
/** Where an event of the central flight is drawn; false when it is not. */
bool map_track_point(const map *m, map_event event, double *x, double *y);
void map_put_diamond(map *m, double x, double y);
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
void map_put_hazard(map *m);
void map_put_outlines(map *m);
void map_put_places(map *m);

/* About the frame; each returns the y below what it put. */
double map_put_heading(map *m, double y);
double map_put_winds(map *m, double y);
double map_put_scale_and_north(map *m, double y);
double map_put_notes(map *m, double y);
double map_put_legend(map *m, double y);
double map_put_caution(map *m, double y);
double map_heading_height(const drawing *d);
double map_winds_height(const drawing *d);

#endif
