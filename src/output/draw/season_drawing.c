/* SPDX-License-Identifier: GPL-3.0-or-later
 * Shares of go as tables of colour: months across, hours or main heights up. The more often it
 * is go the darker the cell, its number says how often, in percent: grey print and eyes of
 * any kind read the same. */
#include "season_drawing.h"

#include "drawing_svg.h"
#include "error.h"
#include "season_words.h"

#include <math.h>

#define WIDTH 480.0
#define LEFT 68.0
#define CELL 34.0
#define ROW 26.0
#define TOP 54.0
#define MONTHS 12
#define CLASSES 5

typedef struct {
    pappus_xml *xml;
    const pappus_season_result *result;
    size_t plan;
    pappus_unit_system units;
} table;

static const char *const classes[CLASSES] = {"s-cell s-0", "s-cell s-1", "s-cell s-2", "s-cell s-3",
                                             "s-cell s-4"};

static void put_cell(const table *t, int month, double y, double share)
{
    double x = LEFT + CELL * (month - 1);
    int class = (int)fmin(floor(share * CLASSES), CLASSES - 1);
    svg_rectangle(t->xml, x, y, CELL - 1.0, ROW - 1.0, classes[class]);
    svg_text(t->xml, x + (CELL - 1.0) / 2.0, y + 18.0, class >= 3 ? "s-number s-light" : "s-number",
             "%.0f", 100.0 * share);
}

static void put_empty(const table *t, int month, double y)
{
    svg_rectangle(t->xml, LEFT + CELL * (month - 1), y, CELL - 1.0, ROW - 1.0, "s-none");
}

static void begin(const table *t, double rows, const char *title, const char *what)
{
    svg_begin(t->xml, WIDTH, TOP + ROW * rows + 34.0, what);
    pappus_xml_element(t->xml, "style", "%s", drawing_season_style);
    svg_text(t->xml, 4.0, 20.0, "s-text s-strong", "%s", title);
    for (int m = 1; m <= MONTHS; m++)
        svg_text(t->xml, LEFT + CELL * (m - 0.5), TOP - 8.0, "s-text s-middle", "%s",
                 season_month(m));
}

static void put_key(const table *t, double rows)
{
    double y = TOP + ROW * rows + 10.0;
    svg_text(t->xml, 4.0, y + 14.0, "s-text", "share of go, %%:");
    for (int k = 0; k < CLASSES; k++) {
        svg_rectangle(t->xml, 140.0 + 66.0 * k, y, 18.0, 16.0, classes[k]);
        svg_text(t->xml, 162.0 + 66.0 * k, y + 14.0, "s-text", "%d", 100 * k / CLASSES);
    }
}

/* --------------------------------------------------------------------- hours */

/* Hours that have days; rows[count]. */
static size_t list_hours(int rows[24], const table *t)
{
    size_t count = 0;
    for (int h = 0; h < 24; h++)
        if (season_group(t->result, t->plan, 0, h)) rows[count++] = h;
    return count;
}

static void put_hour(const table *t, int hour, double y)
{
    char text[PAPPUS_TEXT_SIZE];
    svg_text(t->xml, LEFT - 8.0, y + 18.0, "s-text s-end", "%s", season_hour(text, hour));
    for (int m = 1; m <= MONTHS; m++) {
        const pappus_season_group *g = season_group(t->result, t->plan, m, hour);
        if (g)
            put_cell(t, m, y, g->go.value);
        else
            put_empty(t, m, y);
    }
}

static void draw_hours(const table *t)
{
    int hours[24];
    size_t count = list_hours(hours, t);
    begin(t, (double)count + 1.0, "Go as planned, by month and hour",
          "Table of the share of go days by month and hour; season.csv has the numbers.");
    for (size_t i = 0; i < count; i++)
        put_hour(t, hours[i], TOP + ROW * (double)i);
    put_hour(t, PAPPUS_SEASON_ALL_HOURS, TOP + ROW * (double)count);
    put_key(t, (double)count + 1.0);
}

/* -------------------------------------------------------------------- heights */

static void put_height(const table *t, size_t k, double y)
{
    const pappus_season_plan *plan = &t->result->head.plans[t->plan];
    char text[PAPPUS_TEXT_SIZE];
    bool planned = plan->heights_m[k] == plan->planned_m;
    pappus_format(text, sizeof text, PAPPUS_SHOW_HEIGHT, plan->heights_m[k], t->units);
    svg_text(t->xml, LEFT - 6.0, y + 18.0, planned ? "s-text s-end s-strong" : "s-text s-end", "%s",
             text);
    for (int m = 1; m <= MONTHS; m++) {
        const pappus_season_group *g = season_group(t->result, t->plan, m, PAPPUS_SEASON_ALL_HOURS);
        if (!g) {
            put_empty(t, m, y);
            continue;
        }
        put_cell(t, m, y, (double)g->height_days[k] / (double)g->days);
        if (g->best_main_m == plan->heights_m[k])
            svg_rectangle(t->xml, LEFT + CELL * (m - 1) + 0.5, y + 0.5, CELL - 2.0, ROW - 2.0,
                          "s-best");
    }
}

static void draw_heights(const table *t)
{
    const pappus_season_plan *plan = &t->result->head.plans[t->plan];
    double rows = (double)plan->height_count;
    begin(t, rows, "Go by month and main height; framed: the best",
          "Table of the share of go days by month and main height; season.json has the numbers.");
    for (size_t k = 0; k < plan->height_count; k++) /* the lowest stands lowest */
        put_height(t, k, TOP + ROW * (rows - 1.0 - (double)k));
    put_key(t, rows);
}

int season_drawing(pappus_xml *xml, season_subject subject, const pappus_season_result *result,
                   size_t plan, pappus_unit_system units, pappus_error *err)
{
    table t = {xml, result, plan, units};
    switch (subject) {
    case SEASON_HOURS:
        draw_hours(&t);
        break;
    case SEASON_HEIGHTS:
        draw_heights(&t);
        break;
    case SEASON_FOOTPRINT:
        return season_map_drawing(xml, result, plan, units, err);
    default:
        return season_rose_drawing(xml, result, plan, err);
    }
    pappus_xml_end(xml);
    return xml->failed ? pappus_fail_memory(err) : PAPPUS_OK;
}
