/* SPDX-License-Identifier: GPL-3.0-or-later
 * A track as an area: a receiver carried round a field leaves a line whose end is near its
 * start. Segments of a track (a pause, a lost fix) follow one another. Lengths are those of an
 * equirectangular plane at the start: within 1 % up to 100 km away from the poles. */
#include "outline.h"

#include <math.h>
#include <stdio.h>

#define CLOSED_M 30.0     /* (A) of the end from the start: three times a receiver's error */
#define CLOSED_SHARE 0.05 /* (A) of the length, whichever is more */
#define DEGREE_M 111320.0

static double apart_m(const double *a, const double *b)
{
    double east = (b[0] - a[0]) * cos(a[1] * M_PI / 180.0), north = b[1] - a[1];
    return DEGREE_M * hypot(east, north);
}

static int add_line(pappus_outline *outline, size_t number, const cJSON *line)
{
    const cJSON *position;
    int status = PAPPUS_OK;
    cJSON_ArrayForEach(position, line)
    {
        const cJSON *x = position->child, *y = x ? x->next : NULL;
        if (status != PAPPUS_OK) break;
        if (!cJSON_IsNumber(x) || !cJSON_IsNumber(y)) {
            pappus_outline_fault(outline, number, NULL, "a point of its track is not two numbers");
            break;
        }
        status = pappus_outline_point(outline, x->valuedouble, y->valuedouble);
    }
    return status;
}

/* The last part, from a line to a ring; tells what was closed. */
static int close_track(pappus_outline *outline, size_t number)
{
    const pappus_outline_part *part = &outline->parts[outline->part_count - 1];
    char key[32];
    double length_m = 0.0;
    if (part->count < 3) {
        pappus_outline_fault(outline, number, NULL, "a track of fewer than 3 points is no area");
        return PAPPUS_OK;
    }
    const double *xy = outline->xy + 2 * part->first;
    for (size_t i = 1; i < part->count; i++)
        length_m += apart_m(xy + 2 * i - 2, xy + 2 * i);
    double gap_m = apart_m(xy + 2 * (part->count - 1), xy);
    if (!(gap_m <= fmax(CLOSED_M, CLOSED_SHARE * length_m))) {
        pappus_outline_fault(outline, number, NULL,
                             "a track whose end is %.0f m from its start is no area; accepted is "
                             "within 30 m or 5 %% of its length (%.0f m)",
                             gap_m, length_m);
        return PAPPUS_OK;
    }
    if (gap_m == 0.0) return PAPPUS_OK;
    snprintf(key, sizeof key, "feature %zu", number);
    pappus_log_add(outline->log, PAPPUS_NOTE, PAPPUS_OK, outline->file, key, NULL,
                   "a track of %.0f m, closed over the %.0f m from its end to its start", length_m,
                   gap_m);
    return pappus_outline_point(outline, xy[0], xy[1]);
}

int pappus_outline_read_track(pappus_outline *outline, size_t number, const cJSON *coordinates,
                              bool segments)
{
    const cJSON *line;
    size_t faults = outline->fault_count;
    int status = pappus_outline_part_begin(outline, PAPPUS_OUTLINE_SHELL);
    if (status == PAPPUS_OK && !segments) status = add_line(outline, number, coordinates);
    if (segments) cJSON_ArrayForEach(line, coordinates)
        {
            if (status == PAPPUS_OK) status = add_line(outline, number, line);
        }
    if (status == PAPPUS_OK && outline->fault_count == faults)
        status = close_track(outline, number);
    if (status == PAPPUS_OK && outline->fault_count == faults) pappus_outline_part_end(outline);
    return status;
}
