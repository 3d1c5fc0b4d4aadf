/* SPDX-License-Identifier: GPL-3.0-or-later
 * The bays as a scheme: tail to the left, a bay for each charge with its pins and what it
 * holds, and under it what fires when. Every word is the card's own. Not to scale, and in
 * the usual order (common practice: drogue behind the electronics, main before them). */
#include "card_drawing.h"

#include <stdlib.h>
#include <string.h>

#include "drawing_svg.h"
#include "error.h"

#define WIDTH 640.0
#define HEIGHT 196.0
#define TOP 30.0
#define BOTTOM 124.0
#define TAIL 20.0
#define TUBE 90.0 /* a part without a charge */
#define BAY 180.0
#define MOST_BAYS 2
#define MOST_PINS 8
#define TEXT 12.5

static const char style[] =
    "svg{font-family:sans-serif;font-size:12.5px;fill:#14202b}"
    ".b-tube{fill:#fff;stroke:#14202b;stroke-width:1.5}.b-bay{fill:#e8eef2;stroke:#14202b;"
    "stroke-width:1.5}.b-seam{stroke:#14202b;stroke-width:1.5;stroke-dasharray:5 4}"
    ".b-pin{fill:#8f2a00}.b-strong{font-weight:bold}.b-middle{text-anchor:middle}";

/* In the order of the section's columns. */
enum { SIZE, PINS, PRIMARY, BACKUP, FIRES, CELLS };

static const cJSON *member(const cJSON *object, const char *key)
{
    return cJSON_GetObjectItemCaseSensitive(object, key);
}

static const char *text_of(const cJSON *object, const char *key)
{
    const char *text = cJSON_GetStringValue(member(object, key));
    return text ? text : "";
}

static const char *cell(const cJSON *row, int index)
{
    return text_of(cJSON_GetArrayItem(member(row, "cells"), index), "text");
}

/* A row "2 of 35 lbf" has two pins. */
static void put_pins(pappus_xml *xml, double x, const char *pins)
{
    long count = strtol(pins, NULL, 10);
    if (count > MOST_PINS) count = MOST_PINS;
    svg_line(xml, x, TOP - 8, x, BOTTOM + 8, "b-seam");
    for (long i = 0; i < count; i++) {
        double y = TOP + (BOTTOM - TOP) * ((double)i + 0.5) / (double)count;
        svg_circle(xml, x, y, 4.0, "b-pin");
    }
}

static void put_lines(pappus_xml *xml, double x, double y, const char *words)
{
    char line[120];
    for (const char *rest = words; *rest; y += TEXT + 3) {
        rest += svg_text_line(line, sizeof line, rest, TEXT, BAY + 40);
        svg_text(xml, x, y, "b-middle", "%s", line);
    }
}

static void put_bay(pappus_xml *xml, double x, const cJSON *row)
{
    double middle = x + BAY / 2;
    svg_rectangle(xml, x, TOP, BAY, BOTTOM - TOP, "b-bay");
    svg_text(xml, middle, TOP + 20, "b-middle b-strong", "%s", text_of(row, "name"));
    svg_text(xml, middle, TOP + 38, "b-middle", "%s", cell(row, SIZE));
    svg_text(xml, middle, TOP + 55, "b-middle", "pins %s", cell(row, PINS));
    svg_text(xml, middle, TOP + 72, "b-middle", "primary %s", cell(row, PRIMARY));
    svg_text(xml, middle, TOP + 87, "b-middle", "backup %s", cell(row, BACKUP));
    put_lines(xml, middle, BOTTOM + 26, cell(row, FIRES));
}

static void put_part(pappus_xml *xml, double x, const char *name)
{
    svg_rectangle(xml, x, TOP, TUBE, BOTTOM - TOP, "b-tube");
    svg_text(xml, x + TUBE / 2, (TOP + BOTTOM) / 2 + 4, "b-middle", "%s", name);
}

/* The drogue's bay opens at the tail side, the main's at the nose. */
static void put_airframe(pappus_xml *xml, const cJSON *const *bays, int count)
{
    double x = TAIL, seam_x[MOST_BAYS];
    char nose[80];
    put_part(xml, x, "booster");
    x += TUBE;
    for (int i = 0; i < count; i++) {
        bool aft = strcmp(text_of(bays[i], "name"), "drogue") == 0;
        put_bay(xml, x, bays[i]);
        seam_x[i] = aft ? x : x + BAY;
        x += BAY;
        if (aft) put_part(xml, x, "altimeters");
        if (aft) x += TUBE;
    }
    snprintf(nose, sizeof nose, "M%.1f %.1fL%.1f %.1fL%.1f %.1fZ", x, TOP, x + 60.0,
             (TOP + BOTTOM) / 2, x, BOTTOM);
    svg_path(xml, "b-tube", NULL, nose);
    for (int i = 0; i < count; i++)
        put_pins(xml, seam_x[i], cell(bays[i], PINS));
}

static const cJSON *find_rows(const cJSON *card)
{
    const cJSON *section;
    cJSON_ArrayForEach(section, member(card, "sections"))
    {
        if (strcmp(text_of(section, "id"), "bays") != 0) continue;
        return member(cJSON_GetArrayItem(member(section, "parts"), 0), "rows");
    }
    return NULL;
}

int card_add_drawing(json_builder *build, cJSON *card, pappus_error *err)
{
    const cJSON *rows = find_rows(card), *row, *bays[MOST_BAYS];
    pappus_xml xml;
    char *svg;
    size_t size;
    int count = 0;
    if (!rows) return PAPPUS_OK;
    cJSON_ArrayForEach(row, rows) if (count < MOST_BAYS) bays[count++] = row;
    int status = pappus_xml_fragment(&xml, err);
    if (status != PAPPUS_OK) return status;
    svg_begin(&xml, WIDTH, HEIGHT, "Scheme of the bays; the table under it says the same.");
    pappus_xml_element(&xml, "style", "%s", style);
    put_airframe(&xml, bays, count);
    pappus_xml_end(&xml);
    status = pappus_xml_finish(&svg, &size, &xml, PAPPUS_OK, err);
    if (status != PAPPUS_OK) return status;
    cJSON *made = cJSON_CreateString(svg);
    free(svg);
    if (!made || !cJSON_ReplaceItemInObjectCaseSensitive(card, "bays_svg", made)) {
        cJSON_Delete(made);
        build->failed = true;
    }
    return PAPPUS_OK;
}
