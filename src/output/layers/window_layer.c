/* SPDX-License-Identifier: GPL-3.0-or-later
 * A feature for each hour and level: areas of all landings in that hour. */
#include "window_layer.h"

#include <math.h>
#include <stdlib.h>

#include "error.h"
#include "format.h"
#include "layer.h"
#include "timestamp.h"

typedef struct {
    const pappus_window_hour *hour;
    const pappus_contour *contour;
    char time[40];
} hour_zone;

#define HOUR_COLUMNS(X)                                                                            \
    X("time", TEXT, 24, 0, .text = zone->time)                                                     \
    X("level", NUMBER, 6, 4, .number = zone->contour->level)                                       \
    X("decision", TEXT, 12, 0, .text = pappus_decision_text(zone->hour->decision))                 \
    X("inside", NUMBER, 12, 10, .number = zone->hour->inside_field.value)                          \
    X("limit", TEXT, 20, 0, .text = pappus_limit_text(zone->hour->limit))                          \
    X("main_m", NUMBER, 9, 2, .number = zone->hour->recommended_m)                                 \
    X("wind_mps", NUMBER, 9, 3, .number = zone->hour->surface_wind_mps)                            \
    X("area_m2", NUMBER, 18, 2, .number = zone->contour->area_m2)
#define COLUMN(name, kind, width, decimals, value) {name, LAYER_##kind, width, decimals},
#define CELL(name, kind, width, decimals, value) *cells++ = (layer_cell){value};

static const layer_column columns[] = {HOUR_COLUMNS(COLUMN)};

static void fill(const layer *from, size_t i, layer_cell *cells)
{
    const hour_zone *zone = &((const hour_zone *)from->source)[i];
    HOUR_COLUMNS(CELL)
}

static layer_shape place(const layer *from, size_t i)
{
    return (layer_shape){.area = &((const hour_zone *)from->source)[i].contour->shape};
}

static size_t list_zones(hour_zone *zones, const pappus_window *window)
{
    static const pappus_level levels[] = {PAPPUS_LEVEL_95, PAPPUS_LEVEL_50};
    size_t count = 0;
    for (size_t i = 0; i < window->hour_count; i++) {
        const pappus_window_hour *hour = &window->hours[i];
        for (size_t k = 0; hour->contour_count > 0 && k < 2; k++) {
            hour_zone *zone = &zones[count++];
            *zone = (hour_zone){.hour = hour, .contour = &hour->contours[levels[k]]};
            pappus_time_format(zone->time, sizeof zone->time, hour->time_utc_s);
        }
    }
    return count;
}

static int encode(const pappus_output *output, const hour_zone *zones, size_t count,
                  pappus_error *err)
{
    layer one = {.name = "hours",
                 .kind = LAYER_AREAS,
                 .formats = LAYER_SHAPEFILE | LAYER_GEOJSON,
                 .columns = columns,
                 .column_count = sizeof columns / sizeof columns[0],
                 .place = place,
                 .fill = fill,
                 .count = count,
                 .source = zones,
                 .output = output};
    return layers_put_one(&one, err);
}

int window_layer_write(const pappus_output *output, const pappus_window *window, pappus_error *err)
{
    hour_zone *zones = calloc(2 * window->hour_count + 1, sizeof *zones);
    if (!zones) return pappus_fail_memory(err);
    size_t count = list_zones(zones, window);
    int status = count > 0 ? encode(output, zones, count, err) : PAPPUS_OK;
    free(zones);
    return status;
}
