/* SPDX-License-Identifier: GPL-3.0-or-later
 * The bays as a scheme, nose up: a bay for each charge with its pins, and beside it what it
 * holds and what fires when. Every word is the card's own. Not to scale, and in
 * the usual order (common practice: drogue behind the electronics, main before them). */
#include "card_drawing.h"

#include <stdlib.h>
#include <string.h>

#include "drawing_svg.h"
#include "error.h"

#define WIDTH 340.0
#define LEFT 6.0
#define TUBE 64.0  /* of the airframe, drawn upright */
#define WORDS 84.0 /* where a bay's words start */
#define NOSE 34.0
#define PART 26.0 /* without a charge */
#define BAY 68.0
#define MOST_BAYS 2
#define MOST_PINS 5
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
static void put_pins(pappus_xml *xml, double y, const char *pins)
{
    long count = strtol(pins, NULL, 10);
    if (count > MOST_PINS) count = MOST_PINS;
    svg_line(xml, LEFT - 6, y, LEFT + TUBE + 6, y, "b-seam");
    for (long i = 0; i < count; i++)
        svg_circle(xml, LEFT + TUBE * ((double)i + 0.5) / (double)count, y, 3.5, "b-pin");
}

static void put_lines(pappus_xml *xml, double y, const char *words)
{
    char line[120];
    for (const char *rest = words; *rest; y += TEXT + 2) {
        rest += svg_text_line(line, sizeof line, rest, TEXT, WIDTH - WORDS);
        svg_text(xml, WORDS, y, "b-text", "%s", line);
    }
}

static void put_bay(pappus_xml *xml, double y, const cJSON *row)
{
    svg_rectangle(xml, LEFT, y, TUBE, BAY, "b-bay");
    svg_text(xml, LEFT + TUBE / 2, y + BAY / 2 + 4, "b-middle b-strong", "%s",
             text_of(row, "name"));
    svg_text(xml, WORDS, y + 12, "b-text", "%s, pins %s", cell(row, SIZE), cell(row, PINS));
    svg_text(xml, WORDS, y + 27, "b-text b-strong", "primary %s, backup %s", cell(row, PRIMARY),
             cell(row, BACKUP));
    put_lines(xml, y + 42, cell(row, FIRES));
}

static double put_part(pappus_xml *xml, double y, const char *name)
{
    svg_rectangle(xml, LEFT, y, TUBE, PART, "b-tube");
    svg_text(xml, LEFT + TUBE / 2, y + PART / 2 + 4, "b-middle", "%s", name);
    return y + PART;
}

static double height_of(int count)
{
    return 4 + NOSE + BAY * count + PART * (count > 1 ? 2 : 1) + 4;
}

/* The main's bay opens at the nose, the drogue's at the tail. */
static void put_airframe(pappus_xml *xml, const cJSON *const *bays, int count)
{
    double y = 4 + NOSE, seam_y[MOST_BAYS];
    char nose[80];
    snprintf(nose, sizeof nose, "M%.1f %.1fL%.1f %.1fL%.1f %.1fZ", LEFT, y, LEFT + TUBE / 2, 4.0,
             LEFT + TUBE, y);
    svg_path(xml, "b-tube", NULL, nose);
    for (int i = count - 1; i >= 0; i--) {
        bool aft = strcmp(text_of(bays[i], "name"), "drogue") == 0;
        put_bay(xml, y, bays[i]);
        seam_y[i] = aft ? y + BAY : y;
        y += BAY;
        if (i > 0) y = put_part(xml, y, "altimeters");
    }
    put_part(xml, y, "booster");
    for (int i = 0; i < count; i++)
        put_pins(xml, seam_y[i], cell(bays[i], PINS));
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
    svg_begin(&xml, WIDTH, height_of(count),
              "Scheme of the bays; the table of what fires when says the same.");
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
