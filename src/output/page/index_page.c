/* SPDX-License-Identifier: GPL-3.0-or-later
 * index.html: several answers on one page, with a map of all and the way to the report of
 * each; and that map as map.svg. */
#include "index_page.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "drawing.h"
#include "error.h"
#include "flight_sheet.h"
#include "page_value.h"
#include "parts.h"
#include "text_stream.h"

/* What is not a letter, digit or one of "-._" is escaped (RFC 3986). */
static char *link_to(const char *name)
{
    static const char plain[] = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789-._";
    pappus_text link;
    if (pappus_text_begin(&link, NULL) != PAPPUS_OK) return NULL;
    fputs("./", link.stream);
    for (const char *c = name; *c; c++)
        fprintf(link.stream, strchr(plain, *c) ? "%c" : "%%%02X", (unsigned char)*c);
    fputs("/report.html", link.stream);
    return pappus_text_finish(&link, NULL) == PAPPUS_OK ? link.bytes : NULL;
}

static void add_links(json_builder *build, cJSON *root, const pappus_answer *const *answers,
                      size_t count)
{
    cJSON *list = json_add_array(build, root, "links");
    for (size_t i = 0; i < count; i++) {
        char *name = pappus_part_name(answers, i), *link = name ? link_to(name) : NULL;
        char *text = NULL;
        build->failed |= !link || asprintf(&text, "%zu. %s: report", i + 1, name) < 0;
        if (!build->failed) {
            cJSON *item = json_append_object(build, list);
            json_add_text(build, item, "href", link);
            json_add_text(build, item, "text", text);
            free(text);
        }
        free(link);
        free(name);
    }
}

/* Zones are told from the pad: those of two pads are on no map together. */
static bool share_a_pad(const pappus_answer *const *answers, size_t count)
{
    const pappus_site *first = &answers[0]->plan->site;
    for (size_t i = 1; i < count; i++) {
        const pappus_site *site = &answers[i]->plan->site;
        if (site->latitude_deg != first->latitude_deg ||
            site->longitude_deg != first->longitude_deg)
            return false;
    }
    return true;
}

static int add_map(char **svg, const pappus_answer *const *answers, size_t count,
                   const pappus_output *output, bool alone, pappus_error *err)
{
    pappus_xml xml;
    size_t size;
    int status = alone ? pappus_xml_begin(&xml, err) : pappus_xml_fragment(&xml, err);
    if (status != PAPPUS_OK) return status;
    status = drawing_flight(&xml, answers, count, output->options->units, err);
    return pappus_xml_finish(svg, &size, &xml, status, err);
}

static int put_map(json_builder *build, cJSON *root, const pappus_answer *const *answers,
                   size_t count, const pappus_output *output, pappus_error *err)
{
    char *svg = NULL;
    if (!share_a_pad(answers, count)) {
        json_add_null(build, root, "map_svg");
        return PAPPUS_OK;
    }
    int status = add_map(&svg, answers, count, output, false, err);
    if (status != PAPPUS_OK) return status;
    json_add_item(build, root, "map_svg", cJSON_CreateString(svg));
    free(svg);
    status = add_map(&svg, answers, count, output, true, err);
    if (status != PAPPUS_OK) return status;
    status = pappus_output_bytes(output, "map.svg", svg, strlen(svg), err);
    free(svg);
    return status;
}

int pappus_write_index(const pappus_output *output, const pappus_answer *const *answers,
                       size_t count, pappus_error *err)
{
    page_reader reader = {output->options->units, answers[0]->plan->site.declination_deg};
    json_builder build = {false};
    char *bytes = NULL;
    size_t size;
    cJSON *root = flight_sheet(&build, answers, count, output->options->alternatives,
                               output->options->units, err);
    if (!root) return err ? err->code : PAPPUS_E_MEMORY;
    add_links(&build, root, answers, count);
    int status = put_map(&build, root, answers, count, output, err);
    if (status == PAPPUS_OK && build.failed) status = pappus_fail_memory(err);
    if (status == PAPPUS_OK) status = page_make(&bytes, &size, "index.html", root, &reader, err);
    if (status == PAPPUS_OK) status = pappus_output_bytes(output, "index.html", bytes, size, err);
    free(bytes);
    cJSON_Delete(root);
    return status;
}
