/* SPDX-License-Identifier: GPL-3.0-or-later
 * The bench card laid out for a terminal of 98 columns: tables with columns as wide as
 * they need, the last one and all other text broken at spaces. */
#include "c_locale.h"
#include "card_sheet.h"
#include "error.h"
#include "utf8.h"
#include "terminal.h"

#include <stdlib.h>
#include <string.h>

enum { COLUMNS = 98, NAME_SIZE = 31, MOST_CELLS = 8, GAP = 2 };

static const char *text_of(const cJSON *object, const char *key)
{
    const char *text = cJSON_GetStringValue(cJSON_GetObjectItemCaseSensitive(object, key));
    return text ? text : "";
}

static const cJSON *list_of(const cJSON *object, const char *key)
{
    return cJSON_GetObjectItemCaseSensitive(object, key);
}

/* Columns that a text takes: its characters, not its bytes. */
static int width_of(const char *text)
{
    int width = 0;
    for (; *text; text++)
        width += ((unsigned char)*text & 0xC0) != 0x80;
    return width;
}

/* Prints text from a column on, broken at spaces; later lines start at indent. */
static void put_wrapped(FILE *stream, int column, int indent, const char *text)
{
    char word[COLUMNS + 1];
    for (bool first = true; *text; first = false) {
        size_t length = strcspn(text, " ");
        pappus_text_cut(word, length < COLUMNS ? length + 1 : sizeof word, text);
        int width = width_of(word);
        if (!first && column + 1 + width > COLUMNS)
            column = fprintf(stream, "\n%*s", indent, "") - 1;
        else if (!first)
            column += fprintf(stream, " ");
        fprintf(stream, "%s", word);
        column += width;
        text += length + (text[length] == ' ');
    }
    fprintf(stream, "\n");
}

/* Every text of a list with a mark before it. */
static void put_list(FILE *stream, const char *mark, const cJSON *list)
{
    const cJSON *item;
    cJSON_ArrayForEach(item, list)
    {
        int lead = fprintf(stream, "  %s", mark);
        put_wrapped(stream, lead, lead, item->valuestring);
    }
}

/* ------------------------------------------------------------------ tables */

typedef struct {
    int count, width[MOST_CELLS];
    bool blanks; /* to write in: empty cells are drawn */
} columns;

static size_t cells_of(char name[NAME_SIZE], const char *cells[MOST_CELLS], const cJSON *row)
{
    const cJSON *item;
    size_t count = 1;
    pappus_text_cut(name, NAME_SIZE, text_of(row, "name"));
    cells[0] = name;
    cJSON_ArrayForEach(item, list_of(row, "cells")) if (count < MOST_CELLS) cells[count++] =
        text_of(item, "text");
    return count;
}

static size_t headings_of(const char *cells[MOST_CELLS], const cJSON *part)
{
    const cJSON *item;
    size_t count = 0;
    cJSON_ArrayForEach(item, list_of(part, "headings")) if (count < MOST_CELLS) cells[count++] =
        item->valuestring;
    return count;
}

static void widen(columns *c, const char *const *cells, size_t count)
{
    for (size_t i = 0; i < count; i++)
        if (width_of(cells[i]) > c->width[i]) c->width[i] = width_of(cells[i]);
    if ((int)count > c->count) c->count = (int)count;
}

static void put_cells(FILE *stream, const columns *c, const char *const *cells, size_t count)
{
    static const char line[] = "______________________________";
    int column = fprintf(stream, "  ");
    for (size_t i = 0; i + 1 < count; i++) {
        const char *text = cells[i];
        bool blank = c->blanks && text[0] == '\0';
        fprintf(stream, "%.*s", blank ? c->width[i] : 1 << 20, blank ? line : text);
        int pad = c->width[i] - (blank ? c->width[i] : width_of(text)) + GAP;
        fprintf(stream, "%*s", pad, "");
        column += c->width[i] + GAP;
    }
    const char *last = cells[count - 1];
    put_wrapped(stream, column, column, c->blanks && last[0] == '\0' ? "________" : last);
}

static void put_table(FILE *stream, const cJSON *part)
{
    columns c = {.blanks = strcmp(text_of(part, "style"), "blanks") == 0};
    const char *cells[MOST_CELLS];
    char name[NAME_SIZE];
    const cJSON *row;
    widen(&c, cells, headings_of(cells, part));
    cJSON_ArrayForEach(row, list_of(part, "rows")) widen(&c, cells, cells_of(name, cells, row));
    put_cells(stream, &c, cells, headings_of(cells, part));
    cJSON_ArrayForEach(row, list_of(part, "rows"))
        put_cells(stream, &c, cells, cells_of(name, cells, row));
}

static void put_part(FILE *stream, const cJSON *part)
{
    if (text_of(part, "heading")[0]) put_wrapped(stream, 0, 2, text_of(part, "heading"));
    if (text_of(part, "caption")[0])
        put_wrapped(stream, fprintf(stream, "  "), 2, text_of(part, "caption"));
    put_table(stream, part);
    put_list(stream, "", list_of(part, "totals"));
}

static void put_section(FILE *stream, const cJSON *section)
{
    const cJSON *part;
    fprintf(stream, "\n");
    for (const char *c = text_of(section, "heading"); *c; c++)
        fputc(*c >= 'a' && *c <= 'z' ? *c - 'a' + 'A' : *c, stream);
    fprintf(stream, "\n");
    put_list(stream, "", list_of(section, "notes"));
    bool ticked = strcmp(text_of(section, "list"), "check") == 0;
    put_list(stream, ticked ? "[ ] " : "! ", list_of(section, "items"));
    cJSON_ArrayForEach(part, list_of(section, "parts")) put_part(stream, part);
    if (text_of(section, "caution")[0])
        put_wrapped(stream, fprintf(stream, "  "), 2, text_of(section, "caution"));
}

static void put_sheet(FILE *stream, const void *context)
{
    const cJSON *root = context, *item;
    char title[80];
    pappus_text_cut(title, sizeof title, text_of(root, "title"));
    fprintf(stream, "BENCH CARD  %s\n", title);
    cJSON_ArrayForEach(item, list_of(root, "lines")) put_wrapped(stream, 0, 2, item->valuestring);
    cJSON_ArrayForEach(item, list_of(root, "sections")) put_section(stream, item);
}

int pappus_card_text(char **out, const pappus_card *card, pappus_unit_system units,
                     pappus_error *err)
{
    json_builder build = {false};
    pappus_locale locale;
    *out = NULL;
    if (!pappus_locale_enter(&locale)) return pappus_fail_memory(err);
    cJSON *root = card_sheet(&build, card, units, false);
    int status = root && !build.failed ? pappus_terminal_page(out, put_sheet, root, err)
                                       : pappus_fail_memory(err);
    cJSON_Delete(root);
    pappus_locale_leave(&locale);
    return status;
}
