/* SPDX-License-Identifier: GPL-3.0-or-later
 * A sheet laid out for a terminal: its head, then section after section. */
#include "sheet_text.h"

#include <stdlib.h>
#include <string.h>

#include "error.h"
#include "layout.h"
#include "terminal.h"
#include "utf8.h"

enum { NAME_SIZE = 31 };

static const char *text_of(const cJSON *object, const char *key)
{
    const char *text = cJSON_GetStringValue(cJSON_GetObjectItemCaseSensitive(object, key));
    return text ? text : "";
}

static const cJSON *list_of(const cJSON *object, const char *key)
{
    return cJSON_GetObjectItemCaseSensitive(object, key);
}

/* Every text of a list with a mark before it. */
static void put_list(layout *to, const char *mark, const cJSON *list)
{
    const cJSON *item;
    cJSON_ArrayForEach(item, list) layout_beside(to, mark, 0, 0, item->valuestring);
}

static void add_headings(layout *to, layout_table *table, const cJSON *part)
{
    const char *cells[LAYOUT_CELLS];
    const cJSON *item;
    size_t count = 0;
    cJSON_ArrayForEach(item, list_of(part, "headings")) if (count < LAYOUT_CELLS) cells[count++] =
        item->valuestring;
    layout_table_add(to, table, cells, count);
}

/* Long names are cut in place: the tree is this text's own. */
static void add_row(layout *to, layout_table *table, const cJSON *row)
{
    const char *cells[LAYOUT_CELLS] = {text_of(row, "name")};
    const cJSON *item;
    size_t count = 1;
    if (strlen(cells[0]) >= NAME_SIZE) {
        char name[NAME_SIZE];
        size_t length = pappus_text_cut(name, NAME_SIZE, cells[0]);
        memcpy(cJSON_GetStringValue(list_of(row, "name")), name, length + 1);
    }
    cJSON_ArrayForEach(item, list_of(row, "cells")) if (count < LAYOUT_CELLS) cells[count++] =
        text_of(item, "text");
    layout_table_add(to, table, cells, count);
}

static void put_part(layout *to, const cJSON *part)
{
    layout_table table = {.blanks = strcmp(text_of(part, "style"), "blanks") == 0};
    const cJSON *row;
    if (text_of(part, "heading")[0]) layout_words(to, 0, 2, 0, text_of(part, "heading"));
    if (text_of(part, "caption")[0]) layout_beside(to, "  ", 2, 0, text_of(part, "caption"));
    add_headings(to, &table, part);
    cJSON_ArrayForEach(row, list_of(part, "rows")) add_row(to, &table, row);
    layout_table_end(to, &table);
    put_list(to, "  ", list_of(part, "totals"));
}

static void put_heading(layout *to, const char *heading)
{
    char upper[256];
    size_t length = pappus_text_cut(upper, sizeof upper, heading);
    for (size_t i = 0; i < length; i++)
        if (upper[i] >= 'a' && upper[i] <= 'z') upper[i] = (char)(upper[i] - 'a' + 'A');
    layout_words(to, 0, 2, 0, upper);
}

static void put_section(layout *to, const cJSON *section)
{
    const cJSON *part;
    fputc('\n', to->stream);
    if (text_of(section, "heading")[0]) put_heading(to, text_of(section, "heading"));
    put_list(to, "  ", list_of(section, "notes"));
    bool ticked = strcmp(text_of(section, "list"), "check") == 0;
    put_list(to, ticked ? "  [ ] " : "  ! ", list_of(section, "items"));
    cJSON_ArrayForEach(part, list_of(section, "parts")) put_part(to, part);
    if (text_of(section, "caution")[0]) layout_beside(to, "  ", 2, 0, text_of(section, "caution"));
}

typedef struct {
    const cJSON *root;
    const char *heading;
    int columns;
    bool *failed;
} sheet_page;

static void put_sheet(FILE *stream, const void *context)
{
    const sheet_page *page = context;
    const cJSON *item;
    layout to = layout_begin(stream, page->columns);
    layout_beside(&to, page->heading, 0, 0, text_of(page->root, "title"));
    cJSON_ArrayForEach(item, list_of(page->root, "lines"))
        layout_words(&to, 0, 2, 0, item->valuestring);
    cJSON_ArrayForEach(item, list_of(page->root, "sections")) put_section(&to, item);
    *page->failed = to.failed;
}

int sheet_print(char **out, cJSON *sheet, bool failed, const char *heading, int columns,
                pappus_error *err)
{
    sheet_page page = {sheet, heading, columns, &failed};
    int status = PAPPUS_OK;
    *out = NULL;
    if (sheet && !failed) status = pappus_terminal_page(out, put_sheet, &page, err);
    cJSON_Delete(sheet);
    if (status == PAPPUS_OK && (!*out || failed)) {
        free(*out);
        *out = NULL;
        status = pappus_fail_memory(err);
    }
    return status;
}
