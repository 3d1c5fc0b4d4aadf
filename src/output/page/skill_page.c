/* SPDX-License-Identifier: GPL-3.0-or-later
 * What was measured of the wind's error as a page: skill.html, the drawings over the text
 * that the terminal shows; or the drawings alone as one SVG. */
#include <pappus/skill.h>

#include "c_locale.h"
#include "drawing.h"
#include "error.h"
#include "json_build.h"
#include "page_value.h"

#include <stdlib.h>
#include <string.h>

static int add_drawing(json_builder *build, cJSON *tree, drawing_skill_subject subject,
                       const pappus_skill *skill, const pappus_proof *proof,
                       pappus_unit_system units, pappus_error *err)
{
    pappus_xml xml;
    char *svg;
    size_t size;
    int status = pappus_xml_fragment(&xml, err);
    if (status != PAPPUS_OK) return status;
    status = pappus_xml_finish(&svg, &size, &xml,
                               drawing_skill(&xml, subject, skill, proof, units, err), err);
    if (status == PAPPUS_OK) json_add_text(build, json_append_object(build, tree), "svg", svg);
    free(svg);
    return status;
}

static int make_page(char **out, size_t *size, const char *station, const char *text,
                     const pappus_skill *skill, const pappus_proof *proof, pappus_unit_system units,
                     pappus_error *err)
{
    json_builder build = {false};
    page_reader reader = {.units = units};
    cJSON *tree = cJSON_CreateObject(), *list = json_add_array(&build, tree, "drawings");
    int status = PAPPUS_OK, end = proof ? DRAWING_SKILL_SUBJECTS : DRAWING_COVERAGE;
    json_add_text(&build, tree, "station", station);
    json_add_text(&build, tree, "text", text);
    for (int i = 0; i < end && status == PAPPUS_OK; i++)
        status = add_drawing(&build, list, (drawing_skill_subject)i, skill, proof, units, err);
    if (status == PAPPUS_OK && (!tree || build.failed)) status = pappus_fail_memory(err);
    if (status == PAPPUS_OK) status = page_make(out, size, "skill.html", tree, &reader, err);
    cJSON_Delete(tree);
    return status;
}

static int make_sheet(char **out, size_t *size, const pappus_skill *skill,
                      const pappus_proof *proof, pappus_unit_system units, pappus_error *err)
{
    pappus_xml xml;
    int status = pappus_xml_begin(&xml, err);
    if (status != PAPPUS_OK) return status;
    status = drawing_skill_sheet(&xml, skill, proof, units, err);
    return pappus_xml_finish(out, size, &xml, status, err);
}

static bool is_drawing(const char *path)
{
    const char *dot = strrchr(path, '.');
    return dot && strcmp(dot, ".svg") == 0;
}

int pappus_skill_write(const pappus_archive *archive, const pappus_skill *skill,
                       const pappus_proof *proof, const char *path, pappus_unit_system units,
                       pappus_error *err)
{
    char *bytes = NULL, *text;
    size_t size;
    pappus_locale locale;
    int status = pappus_skill_text(&text, archive, skill, proof, units, err);
    if (status != PAPPUS_OK) return status;
    status = pappus_locale_enter(&locale) ? PAPPUS_OK : pappus_fail_memory(err);
    if (status == PAPPUS_OK) {
        status = is_drawing(path)
                     ? make_sheet(&bytes, &size, skill, proof, units, err)
                     : make_page(&bytes, &size, archive->station, text, skill, proof, units, err);
        if (status == PAPPUS_OK) status = pappus_file_write(path, bytes, size, err);
        pappus_locale_leave(&locale);
    }
    free(bytes);
    free(text);
    return status;
}
