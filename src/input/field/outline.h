/* SPDX-License-Identifier: GPL-3.0-or-later
 * An outline file as read: features with their rings or lines, still in
 * longitude and latitude. The readers (outline_<format>.c) fill it; outline.c
 * checks it and makes the field of it. */
#ifndef PAPPUS_INPUT_OUTLINE_H
#define PAPPUS_INPUT_OUTLINE_H

#include <pappus/field.h>

#include "geodesy.h"

#include <cjson/cJSON.h>

#define FARTHEST_M 100e3 /**< from the pad, of anything of a field */

typedef enum {
    PAPPUS_OUTLINE_SHELL,
    PAPPUS_OUTLINE_HOLE, /**< of the shell before it */
    PAPPUS_OUTLINE_RING, /**< shell or hole: its direction tells */
    PAPPUS_OUTLINE_LINE
} pappus_outline_kind;

typedef struct {
    pappus_outline_kind kind;
    size_t first, count; /**< points; a ring's last repeats its first */
} pappus_outline_part;

typedef struct {
    size_t number; /**< in the file, from 1 */
    char *name;    /**< NULL: none */
    size_t first_part, part_count;
    double limit, people; /**< of a keep-out; NaN: not given */
} pappus_outline_feature;

typedef struct {
    const char *file; /**< for messages */
    const char *key;  /**< for messages; NULL: "feature N" */
    const char *what; /**< "boundary", "keep-out", "road" */
    const char *hint; /**< put after a coordinate out of range */
    bool lines;       /**< lines are wanted, else polygons */
    bool tracks;      /**< where polygons are wanted, a closed line is one */
    pappus_log *log;
    size_t fault_count;
    size_t point_count, xy_capacity;
    double *xy; /**< longitude, latitude pairs in degrees once read */
    size_t part_count, part_capacity;
    pappus_outline_part *parts;
    size_t feature_count, feature_capacity;
    pappus_outline_feature *features;
} pappus_outline;

/* For the readers. They return PAPPUS_OK or PAPPUS_E_MEMORY; what is wrong with
 * the data goes to the log and raises fault_count. */

/** Tells a fault of a feature (0: of the file). value may be NULL. */
void pappus_outline_fault(pappus_outline *outline, size_t feature, const char *value,
                          const char *message, ...) __attribute__((format(printf, 4, 5)));
/** Begins a feature; name may be NULL. */
int pappus_outline_feature_begin(pappus_outline *outline, size_t number, const char *name);
/** What a keep-out may say of itself beside its name. */
#define PAPPUS_OUTLINE_NUMBERS 2
extern const char *const pappus_outline_numbers[PAPPUS_OUTLINE_NUMBERS];
/** Gives the last feature a number as it is written; a fault when it is none or out of
 * bounds. which: in that list. */
void pappus_outline_feature_number(pappus_outline *outline, int which, const char *text);
/** Begins a part of the last feature. */
int pappus_outline_part_begin(pappus_outline *outline, pappus_outline_kind kind);
/** Adds a point to the last part. */
int pappus_outline_point(pappus_outline *outline, double x, double y);
/** Ends the last part: enough points, all finite, a ring closed; else a fault. */
void pappus_outline_part_end(pappus_outline *outline);

/** text: the whole file, terminated. */
int pappus_outline_read_geojson(pappus_outline *outline, const char *text, size_t length);
/** Limits and persons that the plan gives to areas by name, and what is to be said of areas
 * with people. The areas are complete. PAPPUS_E_FIELD when a name is nobody's. */
int pappus_field_rules(pappus_field *field, const pappus_plan *plan, pappus_log *log);
/** Coordinates of a LineString, or of a MultiLineString (segments), as one area. */
int pappus_outline_read_track(pappus_outline *outline, size_t number, const cJSON *coordinates,
                              bool segments);
/** path: the .shp. */
int pappus_outline_read_shapefile(pappus_outline *outline, const char *path);

/* For the field that is made of it. */

/** Reads a file into an empty outline, by content; PAPPUS_OK or PAPPUS_E_MEMORY. */
int outline_read(pappus_outline *outline, const char *path);
/** Longitude and latitude to metres east and north of the pad, or a fault. */
int outline_place(pappus_outline *outline, const pappus_frame *frame, double pad_longitude_deg);
/** How many faults were not told one by one. */
void outline_tell_rest(const pappus_outline *outline);
void outline_clear(pappus_outline *outline);
/** A feature's polygons, checked and oriented; what is wrong is a fault of the outline. */
int outline_area(pappus_area *area, pappus_outline *outline, const pappus_frame *frame,
                 const pappus_outline_feature *feature);
/** A new empty polygon of the area; NULL when memory is short. */
pappus_polygon *area_polygon_add(pappus_area *area);
/** Moves the ring into the polygon (NULL: memory was short), or frees it. */
int area_ring_add(pappus_polygon *polygon, pappus_ring ring);

#endif
