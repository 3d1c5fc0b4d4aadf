/* SPDX-License-Identifier: GPL-3.0-or-later
 * A season as a page: season.html, the drawings of each plan, and the sheet that the terminal
 * lays out. Of very many plans the first are drawn: all are in the table of designs. */
#include "season_page.h"

#include "error.h"
#include "json_build.h"
#include "page_value.h"
#include "season_drawing.h"
#include "season_sheet.h"
#include "season_words.h"

#include <math.h>
#include <stdlib.h>

#define MOST_DRAWN 12

static void say(json_builder *build, cJSON *list, const char *words)
{
    if (words[0]) json_append_text(build, list, words);
}

static int add_drawing(json_builder *build, cJSON *list, season_subject subject,
                       const pappus_season_result *result, size_t plan, pappus_unit_system units,
                       pappus_error *err)
{
    pappus_xml xml;
    char *svg;
    size_t size;
    int status = pappus_xml_fragment(&xml, err);
    if (status != PAPPUS_OK) return status;
    status = pappus_xml_finish(&svg, &size, &xml,
                               season_drawing(&xml, subject, result, plan, units, err), err);
    if (status == PAPPUS_OK) json_add_text(build, json_append_object(build, list), "svg", svg);
    free(svg);
    return status;
}

static int add_plan(json_builder *build, cJSON *plans, const pappus_season_result *result, size_t p,
                    pappus_unit_system units, pappus_error *err)
{
    const pappus_season_sum *sum = &result->sums[p];
    cJSON *to = json_append_object(build, plans);
    char words[SEASON_WORDS];
    int status = PAPPUS_OK;
    json_add_text(build, to, "title", season_heading(words, &result->head, p));
    cJSON *lines = json_add_array(build, to, "lines");
    say(build, lines, season_headline(words, result, p, units));
    say(build, lines, season_left_out(words, result, p));
    if (sum->off_map > 0.0005) {
        snprintf(words, sizeof words, "%.1f %% of the landings lie beyond the map's sums.",
                 100.0 * sum->off_map);
        say(build, lines, words);
    }
    cJSON *drawings = json_add_array(build, to, "drawings");
    for (int i = 0; i < SEASON_SUBJECTS && status == PAPPUS_OK; i++)
        if (i != SEASON_HEIGHTS || result->head.plans[p].height_count > 0)
            status = add_drawing(build, drawings, (season_subject)i, result, p, units, err);
    return status;
}

int season_page(char **out, size_t *size, const pappus_season_result *result,
                pappus_unit_system units, pappus_error *err)
{
    const pappus_season_head *head = &result->head;
    json_builder build = {false};
    page_reader reader = {.units = units, .declination_deg = head->declination_deg};
    cJSON *tree = season_sheet(&build, result, MOST_DRAWN, units);
    int status = PAPPUS_OK;
    cJSON *plans = json_add_array(&build, tree, "plans");
    for (size_t p = 0; p < head->plan_count && p < MOST_DRAWN && status == PAPPUS_OK; p++)
        status = add_plan(&build, plans, result, p, units, err);
    if (status == PAPPUS_OK && (!tree || build.failed)) status = pappus_fail_memory(err);
    if (status == PAPPUS_OK) status = page_make(out, size, "season.html", tree, &reader, err);
    cJSON_Delete(tree);
    return status;
}
