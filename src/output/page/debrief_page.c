/* SPDX-License-Identifier: GPL-3.0-or-later
 * A debrief as a page: debrief.html, the sheet and the drawings over the text that the terminal
 * shows. */
#include <pappus/debrief.h>
#include <pappus/output.h>

#include "c_locale.h"
#include "debrief_drawing.h"
#include "debrief_sheet.h"
#include "error.h"
#include "format.h"
#include "json_build.h"
#include "page_value.h"

#include <math.h>
#include <stdlib.h>

/* A drawing that is being made. */
typedef enum { HEIGHTS, LANDING, CALIBRATION, RANKS, DRAG, WIND } subject_kind;

typedef struct {
    subject_kind kind;
    const pappus_debrief *debrief;
    const pappus_debriefed *flight; /* of heights and landing */
    pappus_unit_system units;
} subject;

static int draw(pappus_xml *xml, const subject *s, pappus_error *err)
{
    switch (s->kind) {
    case HEIGHTS:
        return debrief_drawing_heights(xml, s->flight, s->units, err);
    case LANDING:
        return debrief_drawing_landing(xml, s->flight, s->units, err);
    case CALIBRATION:
        return debrief_drawing_calibration(xml, &s->debrief->calibration, err);
    case RANKS:
        return debrief_drawing_ranks(xml, &s->debrief->calibration, err);
    case DRAG:
        return debrief_drawing_drag(xml, s->debrief, err);
    default:
        return debrief_drawing_wind(xml, s->debrief, err);
    }
}

static int add_drawing(json_builder *build, cJSON *to, const subject *s, pappus_error *err)
{
    pappus_xml xml;
    char *svg;
    size_t size;
    int status = pappus_xml_fragment(&xml, err);
    if (status != PAPPUS_OK) return status;
    status = pappus_xml_finish(&svg, &size, &xml, draw(&xml, s, err), err);
    if (status == PAPPUS_OK) json_add_text(build, to, "svg", svg);
    free(svg);
    return status;
}

static int add_flight(json_builder *build, cJSON *list, const pappus_debriefed *flight,
                      pappus_unit_system units, pappus_error *err)
{
    cJSON *at = json_append_object(build, list);
    subject heights = {HEIGHTS, NULL, flight, units}, landing = {LANDING, NULL, flight, units};
    int status = PAPPUS_OK;
    json_add_text(build, at, "name", pappus_file_name(flight->record->path));
    cJSON *drawings = json_add_array(build, at, "drawings");
    if (flight->has_log)
        status = add_drawing(build, json_append_object(build, drawings), &heights, err);
    if (status == PAPPUS_OK && !isnan(flight->east_m))
        status = add_drawing(build, json_append_object(build, drawings), &landing, err);
    return status;
}

/* What all flights say together. */
static int add_together(json_builder *build, cJSON *tree, const pappus_debrief *debrief,
                        pappus_unit_system units, pappus_error *err)
{
    const pappus_learned *learned = &debrief->learned;
    bool zones = debrief->calibration.count > 0;
    bool drag = learned->drogue.flights + learned->main.flights > 0;
    const bool there[] = {
        [CALIBRATION] = zones, [RANKS] = zones, [DRAG] = drag, [WIND] = learned->wind_flights > 0};
    cJSON *list = json_add_array(build, tree, "together");
    int status = PAPPUS_OK;
    for (int kind = CALIBRATION; kind <= WIND && status == PAPPUS_OK; kind++) {
        subject one = {(subject_kind)kind, debrief, NULL, units};
        if (there[kind]) status = add_drawing(build, json_append_object(build, list), &one, err);
    }
    return status;
}

static int make_page(char **out, size_t *size, const pappus_debrief *debrief,
                     const pappus_plan *plan, const char *text, pappus_unit_system units,
                     pappus_error *err)
{
    json_builder build = {false};
    page_reader reader = {.units = units};
    cJSON *tree = debrief_sheet(&build, debrief, plan, units);
    cJSON *list = json_add_array(&build, tree, "flights");
    json_add_text(&build, tree, "text", text);
    json_add_text(&build, tree, "caution", pappus_caution());
    int status = add_together(&build, tree, debrief, units, err);
    for (size_t i = 0; i < debrief->count && status == PAPPUS_OK; i++)
        status = add_flight(&build, list, &debrief->flights[i], units, err);
    if (status == PAPPUS_OK && (!tree || build.failed)) status = pappus_fail_memory(err);
    if (status == PAPPUS_OK) status = page_make(out, size, "debrief.html", tree, &reader, err);
    cJSON_Delete(tree);
    return status;
}

int pappus_debrief_write(const pappus_debrief *debrief, const pappus_plan *plan, const char *path,
                         pappus_unit_system units, pappus_error *err)
{
    char *bytes = NULL, *text;
    size_t size;
    pappus_locale locale;
    int status = pappus_debrief_text(&text, debrief, plan, units, err);
    if (status != PAPPUS_OK) return status;
    status = pappus_locale_enter(&locale) ? PAPPUS_OK : pappus_fail_memory(err);
    if (status == PAPPUS_OK) {
        status = make_page(&bytes, &size, debrief, plan, text, units, err);
        if (status == PAPPUS_OK) status = pappus_file_write(path, bytes, size, err);
        pappus_locale_leave(&locale);
    }
    free(bytes);
    free(text);
    return status;
}
