/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sheet.h"

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "both.h"

cJSON *sheet_begin(sheet *s, json_builder *build, pappus_unit_system units, bool both)
{
    cJSON *root = cJSON_CreateObject();
    *s = (sheet){build, units, both, NULL, cJSON_CreateArray()};
    json_add_array(build, root, "lines");
    s->sections = json_add_array(build, root, "sections");
    return root;
}

void sheet_end(sheet *s)
{
    cJSON_Delete(s->scratch);
    s->scratch = NULL;
}

const char *sheet_text(const sheet *s, const char *format, ...)
{
    char *made;
    va_list arguments;
    va_start(arguments, format);
    if (vasprintf(&made, format, arguments) < 0) made = NULL;
    va_end(arguments);
    cJSON *kept = made ? cJSON_CreateString(made) : NULL;
    free(made);
    if (kept && cJSON_AddItemToArray(s->scratch, kept)) return kept->valuestring;
    cJSON_Delete(kept);
    s->build->failed = true;
    return "";
}

const char *sheet_show(const sheet *s, pappus_quantity quantity, double si)
{
    char out[PAPPUS_BOTH_SIZE];
    return sheet_text(s, "%s",
                      s->both ? pappus_format_both(out, quantity, si, s->units)
                              : pappus_format(out, sizeof out, quantity, si, s->units));
}

const char *sheet_range(const sheet *s, pappus_quantity quantity, double low, double high)
{
    char number[PAPPUS_TEXT_SIZE];
    pappus_format_number(number, sizeof number, quantity, low, s->units);
    return sheet_text(s, "%s to %s", number, sheet_show(s, quantity, high));
}

static cJSON *list_of(const cJSON *object, const char *key)
{
    return cJSON_GetObjectItemCaseSensitive(object, key);
}

void sheet_say(const sheet *s, cJSON *to, const char *list, const char *line)
{
    json_append_text(s->build, list_of(to, list), line);
}

cJSON *sheet_section(const sheet *s, sheet_heading heading)
{
    static const char *const lists[] = {"notes", "items", "parts"};
    cJSON *to = json_append_object(s->build, s->sections);
    json_add_text(s->build, to, "id", heading.id);
    json_add_text(s->build, to, "heading", heading.text);
    json_add_bool(s->build, to, "whole", heading.whole);
    json_add_bool(s->build, to, "columns", heading.columns);
    json_add_text(s->build, to, "list", heading.list);
    json_add_text(s->build, to, "caution", heading.caution);
    for (size_t i = 0; i < sizeof lists / sizeof lists[0]; i++)
        json_add_array(s->build, to, lists[i]);
    return to;
}

cJSON *sheet_part(const sheet *s, cJSON *section, const char *heading, const char *style,
                  const char *caption, const char *headings)
{
    cJSON *made = json_append_object(s->build, list_of(section, "parts"));
    json_add_text(s->build, made, "heading", heading);
    json_add_text(s->build, made, "style", style);
    json_add_text(s->build, made, "caption", caption);
    json_add_array(s->build, made, "headings");
    for (size_t length; length = strcspn(headings, "|"), true; headings += length + 1) {
        sheet_say(s, made, "headings", sheet_text(s, "%.*s", (int)length, headings));
        if (headings[length] == '\0') break;
    }
    json_add_array(s->build, made, "rows");
    json_add_array(s->build, made, "totals");
    return made;
}

void sheet_row(const sheet *s, cJSON *part, bool user, const char *name, ...)
{
    const cJSON *headings = list_of(part, "headings");
    const cJSON *label = headings && headings->child ? headings->child->next : NULL;
    cJSON *made = json_append_object(s->build, list_of(part, "rows"));
    json_add_text(s->build, made, "name", name);
    json_add_bool(s->build, made, "user", user);
    cJSON *cells = json_add_array(s->build, made, "cells");
    va_list arguments;
    va_start(arguments, name);
    for (const char *cell; (cell = va_arg(arguments, const char *)) != NULL;) {
        cJSON *item = json_append_object(s->build, cells);
        json_add_text(s->build, item, "label", label ? label->valuestring : "");
        json_add_text(s->build, item, "text", cell);
        label = label ? label->next : NULL;
    }
    va_end(arguments);
}
