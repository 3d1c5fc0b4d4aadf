/* SPDX-License-Identifier: GPL-3.0-or-later
 * A feature for each plan and level: the area of the landings of all days. */
#include "season_layer.h"

#include <math.h>
#include <stdlib.h>

#include "error.h"
#include "layer.h"

typedef struct {
    const pappus_season_plan *plan;
    const pappus_contour *contour;
    size_t days;
} footprint;

#define FOOTPRINT_COLUMNS(X)                                                                       \
    X("plan", TEXT, 80, 0, .text = from_plan->plan->name)                                          \
    X("level", NUMBER, 6, 4, .number = from_plan->contour->level)                                  \
    X("share", NUMBER, 12, 10, .number = from_plan->contour->share)                                \
    X("days", NUMBER, 10, 0, .number = (double)from_plan->days)                                    \
    X("main_m", NUMBER, 9, 2, .number = from_plan->plan->planned_m)                                \
    X("area_m2", NUMBER, 18, 2, .number = from_plan->contour->area_m2)
#define COLUMN(name, kind, width, decimals, value) {name, LAYER_##kind, width, decimals},
#define CELL(name, kind, width, decimals, value) *cells++ = (layer_cell){value};

static const layer_column columns[] = {FOOTPRINT_COLUMNS(COLUMN)};

static void fill(const layer *from, size_t i, layer_cell *cells)
{
    const footprint *from_plan = &((const footprint *)from->source)[i];
    FOOTPRINT_COLUMNS(CELL)
}

static layer_shape place(const layer *from, size_t i)
{
    return (layer_shape){.area = &((const footprint *)from->source)[i].contour->shape};
}

static size_t list_footprints(footprint *list, const pappus_season_result *result)
{
    size_t count = 0;
    for (size_t p = 0; p < result->head.plan_count; p++)
        for (int l = 0; l < PAPPUS_LEVELS; l++) {
            const pappus_contour *contour = &result->sums[p].footprint[l];
            if (contour->shape.polygon_count > 0)
                list[count++] =
                    (footprint){&result->head.plans[p], contour, result->sums[p].judged};
        }
    return count;
}

static int encode(const pappus_output *output, const footprint *footprints, size_t count,
                  pappus_error *err)
{
    layer one = {.name = "footprint",
                 .kind = LAYER_AREAS,
                 .formats = LAYER_SHAPEFILE | LAYER_GEOJSON,
                 .columns = columns,
                 .column_count = sizeof columns / sizeof columns[0],
                 .place = place,
                 .fill = fill,
                 .count = count,
                 .source = footprints,
                 .output = output};
    return layers_put_one(&one, err);
}

int season_layer_write(const pappus_output *output, const pappus_season_result *result,
                       pappus_error *err)
{
    footprint *list = calloc(result->head.plan_count * PAPPUS_LEVELS + 1, sizeof *list);
    if (!list) return pappus_fail_memory(err);
    size_t count = list_footprints(list, result);
    int status = count > 0 ? encode(output, list, count, err) : PAPPUS_OK;
    free(list);
    return status;
}
