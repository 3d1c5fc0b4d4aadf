/* SPDX-License-Identifier: GPL-3.0-or-later
 * Forms as browsers send them (URL Standard, 5.1), and lists of texts. */
#include "desk.h"

#include <stdlib.h>
#include <string.h>

#define MOST_FIELDS 200

/* -------------------------------------------------------------------- texts */

bool desk_texts_add(desk_texts *list, const char *text)
{
    char **items = realloc(list->items, (list->count + 1) * sizeof *items);
    if (!items) return false;
    list->items = items;
    items[list->count] = strdup(text);
    if (!items[list->count]) return false;
    list->count++;
    return true;
}

void desk_texts_remove(desk_texts *list, size_t index)
{
    free(list->items[index]);
    list->count--;
    memmove(list->items + index, list->items + index + 1,
            (list->count - index) * sizeof *list->items);
}

bool desk_texts_set(desk_texts *list, const char *key, const char *value)
{
    char *text = NULL;
    size_t length = strlen(key);
    if (asprintf(&text, "%s=%s", key, value) < 0) return false;
    bool added = desk_texts_add(list, text);
    free(text);
    for (size_t i = 0; added && i + 1 < list->count; i++)
        if (strncmp(list->items[i], key, length) == 0 && list->items[i][length] == '=')
            desk_texts_remove(list, i--);
    return added;
}

void desk_texts_clear(desk_texts *list)
{
    for (size_t i = 0; i < list->count; i++)
        free(list->items[i]);
    free(list->items);
    *list = (desk_texts){0};
}

bool desk_texts_copy(desk_texts *out, const desk_texts *from)
{
    *out = (desk_texts){0};
    for (size_t i = 0; i < from->count; i++)
        if (!desk_texts_add(out, from->items[i])) {
            desk_texts_clear(out);
            return false;
        }
    return true;
}

/* -------------------------------------------------------------------- forms */

static int digit(char c)
{
    if (c >= '0' && c <= '9') return c - '0';
    if (c >= 'a' && c <= 'f') return c - 'a' + 10;
    return c >= 'A' && c <= 'F' ? c - 'A' + 10 : -1;
}

/* Decodes in place; false for a control character. A % without two digits stands for itself. */
static bool decode(char *text)
{
    char *to = text;
    for (const char *c = text; *c; c++) {
        int high = *c == '%' ? digit(c[1]) : -1, low = high >= 0 ? digit(c[2]) : -1;
        char value = *c == '+' ? ' ' : *c;
        if (low >= 0) {
            value = (char)(16 * high + low);
            c += 2;
        }
        if ((unsigned char)value < 0x20 || value == 0x7f) return false;
        *to++ = value;
    }
    *to = '\0';
    return true;
}

static bool add_field(desk_form *form, char *pair)
{
    char *value = strchr(pair, '=');
    if (form->count == MOST_FIELDS) return false;
    if (value) *value++ = '\0';
    desk_field field = {pair, value ? value : pair + strlen(pair)};
    if (!decode(field.name) || !decode(field.value)) return false;
    form->fields[form->count++] = field;
    return true;
}

bool desk_form_read(desk_form *out, const char *bytes, size_t size)
{
    char *save = NULL;
    *out =
        (desk_form){.text = malloc(size + 1), .fields = calloc(MOST_FIELDS, sizeof *out->fields)};
    bool good = out->text && out->fields && !memchr(bytes, '\0', size);
    if (good) {
        memcpy(out->text, bytes, size);
        out->text[size] = '\0';
        for (char *pair = strtok_r(out->text, "&", &save); good && pair;
             pair = strtok_r(NULL, "&", &save))
            good = add_field(out, pair);
    }
    if (!good) desk_form_clear(out);
    return good;
}

void desk_form_clear(desk_form *form)
{
    free(form->text);
    free(form->fields);
    *form = (desk_form){0};
}

const char *desk_form_value(const desk_form *form, const char *name)
{
    for (size_t i = 0; i < form->count; i++)
        if (strcmp(form->fields[i].name, name) == 0) return form->fields[i].value;
    return NULL;
}
