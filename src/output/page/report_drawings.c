/* SPDX-License-Identifier: GPL-3.0-or-later
 * The drawings of the report, and the contours that its slider moves. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "drawing.h"
#include "error.h"
#include "report_view.h"
#include "window_drawing.h"

/* Ends a drawing and adds it to the tree. */
static int add_svg(json_builder *build, cJSON *root, const char *key, pappus_xml *xml, int status,
                   pappus_error *err)
{
    char *svg;
    size_t size;
    status = pappus_xml_finish(&svg, &size, xml, status, err);
    if (status == PAPPUS_OK) json_add_item(build, root, key, cJSON_CreateString(svg));
    free(svg);
    return status;
}

static int add_map(json_builder *build, cJSON *root, const char *key, const pappus_output *output,
                   drawing_subject subject, pappus_error *err)
{
    drawing d = {output->answer, output->options->units, subject, false, NULL};
    pappus_xml xml;
    int status = pappus_xml_fragment(&xml, err);
    if (status == PAPPUS_OK) status = drawing_map(&xml, &d, err);
    return add_svg(build, root, key, &xml, status, err);
}

static int add_trade(json_builder *build, cJSON *root, const pappus_output *output,
                     pappus_error *err)
{
    const pappus_heights *heights = output->answer->heights;
    pappus_xml xml;
    if (!heights || heights->row_count == 0) {
        json_add_null(build, root, "trade_svg");
        return PAPPUS_OK;
    }
    int status = pappus_xml_fragment(&xml, err);
    if (status == PAPPUS_OK)
        status = drawing_trade(&xml, output->answer, output->options->units, err);
    return add_svg(build, root, "trade_svg", &xml, status, err);
}

static int add_rose(json_builder *build, cJSON *root, const pappus_output *output,
                    pappus_error *err)
{
    pappus_xml xml;
    if (!output->answer->ceiling) {
        json_add_null(build, root, "rose_svg");
        return PAPPUS_OK;
    }
    int status = pappus_xml_fragment(&xml, err);
    if (status == PAPPUS_OK)
        status = drawing_rose(&xml, output->answer, output->options->units, err);
    return add_svg(build, root, "rose_svg", &xml, status, err);
}

static int add_hours(json_builder *build, cJSON *root, const pappus_output *output,
                     pappus_error *err)
{
    const pappus_answer *answer = output->answer;
    pappus_xml xml;
    if (!answer->window) {
        json_add_null(build, root, "window_svg");
        return PAPPUS_OK;
    }
    int status = pappus_xml_fragment(&xml, err);
    if (status == PAPPUS_OK)
        status =
            window_drawing(&xml, answer->window, answer->plan, output->options->units, NULL, err);
    return add_svg(build, root, "window_svg", &xml, status, err);
}

static int add_outlines(json_builder *build, cJSON *item, const view *v,
                        const pappus_height_row *row, pappus_error *err)
{
    static const char *const keys[DRAWING_CONTOURS] = {"c50", "c90", "c95"};
    int status = PAPPUS_OK;
    for (size_t i = 0; status == PAPPUS_OK && i < DRAWING_CONTOURS; i++) {
        char *data = NULL;
        if (i < row->contour_count)
            status = drawing_area_path(&data, v, &row->contours[i].shape, err);
        if (status == PAPPUS_OK) json_add_text(build, item, keys[i], data ? data : "");
        free(data);
    }
    return status;
}

/* Where a row of the trade is on the map and on the plot. */
static int add_places(json_builder *build, cJSON *root, const pappus_output *output,
                      pappus_error *err)
{
    const pappus_heights *heights = output->answer->heights;
    drawing d = {output->answer, output->options->units, DRAWING_ZONE, false, NULL};
    view v = drawing_view(&d);
    int status = PAPPUS_OK;
    cJSON *trade = cJSON_GetObjectItemCaseSensitive(
        cJSON_GetObjectItemCaseSensitive(root, "heights"), "trade");
    cJSON *item = trade ? trade->child : NULL;
    for (size_t i = 0; status == PAPPUS_OK && item; i++, item = item->next) {
        const pappus_height_row *row = &heights->rows[i];
        char path[128];
        drawing_middle_path(path, sizeof path, &v, row->mean_east_m, row->mean_north_m);
        json_add_text(build, item, "middle", path);
        drawing_trade_mark(path, sizeof path, heights, row->height_m);
        json_add_text(build, item, "mark", path);
        json_add_bool(build, item, "whole",
                      row->contour_count < DRAWING_CONTOURS ||
                          view_holds_area(&v, &row->contours[DRAWING_CONTOURS - 1].shape));
        status = add_outlines(build, item, &v, row, err);
    }
    return status;
}

/* Where each outcome comes down, and larger those that do so near the pad. */
static int add_outcomes(json_builder *build, cJSON *root, const pappus_output *output,
                        pappus_error *err)
{
    const pappus_answer *answer = output->answer;
    bool any = false;
    int status = PAPPUS_OK;
    for (size_t i = 0; i < PAPPUS_OUTCOMES; i++)
        any |= answer->zones->outcomes[i].contour_count > 0 && !output->answer_alone;
    if (any)
        status = add_map(build, root, "outcomes_svg", output, DRAWING_OUTCOMES, err);
    else
        json_add_null(build, root, "outcomes_svg");
    if (status != PAPPUS_OK) return status;
    if (any && drawing_has_near(answer))
        return add_map(build, root, "near_svg", output, DRAWING_NEAR, err);
    json_add_null(build, root, "near_svg");
    return PAPPUS_OK;
}

/* A map only of what is reached somewhere. */
static int add_hazard(json_builder *build, cJSON *root, const pappus_output *output,
                      pappus_error *err)
{
    const pappus_hazard *hazard = output->answer->hazard;
    bool any = false;
    for (size_t l = 0; hazard && l < hazard->contour_count; l++)
        any |= hazard->contours[l].shape.polygon_count > 0;
    if (any) return add_map(build, root, "hazard_svg", output, DRAWING_HAZARD, err);
    json_add_null(build, root, "hazard_svg");
    return PAPPUS_OK;
}

int report_add_drawings(json_builder *build, cJSON *root, const pappus_output *output,
                        pappus_error *err)
{
    int status = add_map(build, root, "map_svg", output, DRAWING_ZONE, err);
    if (status == PAPPUS_OK) status = add_outcomes(build, root, output, err);
    if (status == PAPPUS_OK) status = add_hazard(build, root, output, err);
    if (status == PAPPUS_OK) status = add_trade(build, root, output, err);
    if (status == PAPPUS_OK) status = add_rose(build, root, output, err);
    if (status == PAPPUS_OK) status = add_hours(build, root, output, err);
    return status == PAPPUS_OK ? add_places(build, root, output, err) : status;
}

/* -------------------------------------------------------------------- wind */

static char *base64(const char *bytes)
{
    static const char letters[] =
        "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    size_t size = strlen(bytes);
    char *out = malloc(4 * ((size + 2) / 3) + 1), *to = out;
    if (!out) return NULL;
    for (size_t i = 0; i < size; i += 3) {
        unsigned long bits = (unsigned long)(unsigned char)bytes[i] << 16;
        if (i + 1 < size) bits |= (unsigned long)(unsigned char)bytes[i + 1] << 8;
        if (i + 2 < size) bits |= (unsigned char)bytes[i + 2];
        *to++ = letters[bits >> 18];
        *to++ = letters[bits >> 12 & 63];
        *to++ = i + 1 < size ? letters[bits >> 6 & 63] : '=';
        *to++ = i + 2 < size ? letters[bits & 63] : '=';
    }
    *to = '\0';
    return out;
}

int report_add_wind_drawing(json_builder *build, cJSON *wind, const pappus_output *output,
                            pappus_error *err)
{
    const pappus_answer *answer = output->answer;
    char *svg;
    if (!answer->winds || answer->winds->profile_count == 0) {
        json_add_null(build, wind, "drawing");
        return PAPPUS_OK;
    }
    int status =
        pappus_wind_svg_text(&svg, answer->winds, answer->air, answer->plan, output->options->units,
                             1.1 * answer->plan->apogee.height_m.mean, err);
    if (status != PAPPUS_OK) return status;
    char *text = base64(svg);
    json_add_item(build, wind, "drawing", text ? cJSON_CreateString(text) : NULL);
    free(text);
    free(svg);
    return PAPPUS_OK;
}
