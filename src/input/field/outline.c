/* SPDX-License-Identifier: GPL-3.0-or-later
 * An outline file as it grows: features, parts and points in longitude and latitude,
 * read by content, then brought vertex by vertex to metres east and north of the pad
 * (edges are straight on that plane). The plane is the pad's, so a file that lies wholly
 * farther than 100 km from the pad is refused. */
#include "outline.h"
#include "error.h"
#include "file.h"
#include "geodesy.h"
#include "grow.h"
#include "utf8.h"
#include "vector.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define FAULTS_SHOWN 20 /* of one file */

/* --------------------------------------------------- the outline as it grows */

void pappus_outline_fault(pappus_outline *outline, size_t feature, const char *value,
                          const char *message, ...)
{
    char text[512], key[32] = "";
    va_list arguments;
    if (outline->fault_count++ >= FAULTS_SHOWN) return;
    va_start(arguments, message);
    vsnprintf(text, sizeof text, message, arguments);
    va_end(arguments);
    if (feature > 0) snprintf(key, sizeof key, "feature %zu", feature);
    pappus_log_add(outline->log, PAPPUS_FAULT, PAPPUS_E_FIELD, outline->file,
                   outline->key ? outline->key : key, value, "%s", text);
}

/* A name that can be shown on one line; *out stays NULL when there is none. */
static int name_keep(char **out, pappus_outline *outline, size_t number, const char *name)
{
    char key[32];
    *out = NULL;
    if (!name || name[strspn(name, " ")] == '\0') return PAPPUS_OK;
    if (pappus_text_is_clean(name)) {
        *out = strdup(name + strspn(name, " "));
        return *out ? PAPPUS_OK : PAPPUS_E_MEMORY;
    }
    snprintf(key, sizeof key, "feature %zu", number);
    pappus_log_add(outline->log, PAPPUS_WARNING, PAPPUS_OK, outline->file, key, NULL,
                   "its name holds control characters and is left out");
    return PAPPUS_OK;
}

int pappus_outline_feature_begin(pappus_outline *outline, size_t number, const char *name)
{
    char *kept;
    if (!PAPPUS_GROW(outline->features, &outline->feature_capacity, outline->feature_count + 1) ||
        name_keep(&kept, outline, number, name) != PAPPUS_OK)
        return PAPPUS_E_MEMORY;
    outline->features[outline->feature_count++] =
        (pappus_outline_feature){number, kept, outline->part_count, 0, NAN, NAN};
    return PAPPUS_OK;
}

int pappus_outline_part_begin(pappus_outline *outline, pappus_outline_kind kind)
{
    if (!PAPPUS_GROW(outline->parts, &outline->part_capacity, outline->part_count + 1))
        return PAPPUS_E_MEMORY;
    outline->parts[outline->part_count++] = (pappus_outline_part){kind, outline->point_count, 0};
    outline->features[outline->feature_count - 1].part_count++;
    return PAPPUS_OK;
}

int pappus_outline_point(pappus_outline *outline, double x, double y)
{
    if (!PAPPUS_GROW(outline->xy, &outline->xy_capacity, 2 * (outline->point_count + 1)))
        return PAPPUS_E_MEMORY;
    outline->xy[2 * outline->point_count] = x;
    outline->xy[2 * outline->point_count + 1] = y;
    outline->point_count++;
    outline->parts[outline->part_count - 1].count++;
    return PAPPUS_OK;
}

void pappus_outline_part_end(pappus_outline *outline)
{
    const pappus_outline_part *part = &outline->parts[outline->part_count - 1];
    const double *xy = outline->xy ? outline->xy + 2 * part->first : NULL;
    size_t n = part->count, number = outline->features[outline->feature_count - 1].number;
    size_t least = part->kind == PAPPUS_OUTLINE_LINE ? 2 : 4;
    for (size_t i = 0; i < 2 * n; i++)
        if (!isfinite(xy[i])) {
            pappus_outline_fault(outline, number, NULL,
                                 "point %zu has a coordinate that is not a number", i / 2 + 1);
            return;
        }
    if (n < least)
        pappus_outline_fault(outline, number, NULL,
                             least == 2 ? "a line of %zu point(s): it needs 2 or more"
                                        : "a ring of %zu point(s): it needs 4 or more, the last "
                                          "equal to the first",
                             n);
    else if (least == 4 && (xy[0] != xy[2 * n - 2] || xy[1] != xy[2 * n - 1]))
        pappus_outline_fault(outline, number, NULL,
                             "a ring is not closed: its last point must equal its first");
}

void outline_clear(pappus_outline *outline)
{
    for (size_t i = 0; i < outline->feature_count; i++)
        free(outline->features[i].name);
    free(outline->features);
    free(outline->parts);
    free(outline->xy);
}

/* ----------------------------------------------------------------- reading */

/* A file of a map program or a receiver, by way of GeoJSON. */
static int read_foreign(pappus_outline *outline, const char *path)
{
    char *text;
    size_t length;
    pappus_error err = {0};
    int status = pappus_vector_read(&text, &length, path, &err);
    if (status != PAPPUS_OK) {
        outline->fault_count++;
        pappus_log_error(outline->log, &err);
        return pappus_is_of_machine(status) ? status : PAPPUS_OK;
    }
    outline->tracks = !outline->lines;
    status = pappus_outline_read_geojson(outline, text, length);
    outline->hint = NULL;
    free(text);
    return status;
}

int outline_read(pappus_outline *outline, const char *path)
{
    static const char shapefile_magic[4] = {0, 0, 0x27, 0x0a}; /* 9994, big-endian */
    char *text;
    size_t length, mark;
    pappus_error err = {0};
    int status = pappus_file_read(&text, &length, path, PAPPUS_FILE_LIMIT, PAPPUS_E_FIELD, &err);
    if (status != PAPPUS_OK) {
        outline->fault_count++;
        pappus_log_error(outline->log, &err);
        return pappus_is_of_machine(status) ? status : PAPPUS_OK;
    }
    mark = strncmp(text, "\xEF\xBB\xBF", 3) == 0 ? 3 : 0;
    if (length >= 4 && memcmp(text, shapefile_magic, 4) == 0)
        status = pappus_outline_read_shapefile(outline, path);
    else if (text[mark + strspn(text + mark, " \t\r\n")] == '{')
        status = pappus_outline_read_geojson(outline, text + mark, length - mark);
    else if (pappus_vector_is(text,
                              length < PAPPUS_FILE_HEAD_BYTES ? length : PAPPUS_FILE_HEAD_BYTES))
        status = read_foreign(outline, path);
    else
        pappus_outline_fault(outline, 0, NULL,
                             "is neither GeoJSON (RFC 7946) nor a shapefile (.shp), KML, GPX or a "
                             "GeoPackage");
    free(text);
    return status;
}

/* Longitude and latitude in range, told once per part. */
static void check_ranges(pappus_outline *outline)
{
    for (size_t f = 0; f < outline->feature_count; f++) {
        const pappus_outline_feature *feature = &outline->features[f];
        for (size_t p = 0; p < feature->part_count; p++) {
            const pappus_outline_part *part = &outline->parts[feature->first_part + p];
            for (size_t i = part->first; i < part->first + part->count; i++) {
                double longitude = outline->xy[2 * i], latitude = outline->xy[2 * i + 1];
                if (fabs(latitude) <= 90.0 && fabs(longitude) <= 180.0) continue;
                pappus_outline_fault(outline, feature->number, NULL,
                                     "point %zu at longitude %.7g, latitude %.7g is out of range "
                                     "(-180 to 180, -90 to 90)%s%s",
                                     i - part->first + 1, longitude, latitude,
                                     outline->hint ? ": " : "", outline->hint ? outline->hint : "");
                break;
            }
        }
    }
}

static double nearest_m(const double *east_north_m, size_t count)
{
    double nearest = INFINITY;
    for (size_t i = 0; i < count; i++)
        nearest = fmin(nearest, hypot(east_north_m[2 * i], east_north_m[2 * i + 1]));
    return nearest;
}

/* Longitude, latitude to metres, in place; a file that is nowhere near the pad is a
 * fault, with the usual reason for it where that is the reason. */
static int to_local(pappus_outline *outline, const pappus_frame *frame, double pad_longitude_deg)
{
    size_t n = outline->point_count;
    double first[2] = {0.0, 0.0}, *xy = outline->xy;
    if (n == 0) return PAPPUS_OK;
    memcpy(first, xy, sizeof first); /* longitude, latitude: swapped if taken as they stand */
    for (size_t i = 0; i < n; i++) {
        double longitude = xy[2 * i], turn = longitude - pad_longitude_deg;
        xy[2 * i] = xy[2 * i + 1];
        /* 180 and -180 are one meridian: the same number on both sides of it. */
        xy[2 * i + 1] = turn < -180.0  ? longitude + 360.0
                        : turn > 180.0 ? longitude - 360.0
                                       : longitude;
    }
    if (pappus_frame_to_local(frame, n, xy, xy, NULL) != PAPPUS_OK) {
        pappus_outline_fault(outline, 0, NULL, "a point cannot be brought to the pad's plane");
        return PAPPUS_OK;
    }
    double away = nearest_m(xy, n);
    if (away <= FARTHEST_M) return PAPPUS_OK;
    bool swapped = fabs(first[0]) <= 90.0 &&
                   pappus_frame_to_local(frame, 1, first, first, NULL) == PAPPUS_OK &&
                   hypot(first[0], first[1]) <= FARTHEST_M;
    pappus_outline_fault(outline, 0, NULL, "lies %.0f km from the pad (100 km at most)%s",
                         away / 1e3,
                         swapped ? ": latitude and longitude are swapped, longitude comes first"
                                 : ": is site.latitude, site.longitude right, and the file?");
    return PAPPUS_OK;
}
int outline_place(pappus_outline *outline, const pappus_frame *frame, double pad_longitude_deg)
{
    check_ranges(outline);
    return outline->fault_count ? PAPPUS_OK : to_local(outline, frame, pad_longitude_deg);
}

void outline_tell_rest(const pappus_outline *outline)
{
    if (outline->fault_count > FAULTS_SHOWN)
        pappus_log_add(outline->log, PAPPUS_NOTE, PAPPUS_OK, outline->file, NULL, NULL,
                       "%zu more faults are not shown", outline->fault_count - FAULTS_SHOWN);
}
