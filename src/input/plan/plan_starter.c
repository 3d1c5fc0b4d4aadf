/* SPDX-License-Identifier: GPL-3.0-or-later
 * The starter plan: the values of the key table's starter column, a small
 * two-canopy rocket over a round field with a measured surface wind, invented. */
#include "plan_starter.h"
#include "error.h"
#include "file.h"
#include "json.h"
#include "plan_keys.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static cJSON *starter_object(const char *parent, size_t element);

/* The part of a starter text for an element of a list. */
static void part_of(char *out, size_t size, const char *starter, size_t element)
{
    while (element-- > 0 && *starter) {
        starter += strcspn(starter, "|");
        if (*starter) starter++;
    }
    snprintf(out, size, "%.*s", (int)strcspn(starter, "|"), starter);
}

static cJSON *starter_value(const pappus_plan_key *row, size_t element)
{
    char text[100];
    double number;
    part_of(text, sizeof text, row->starter, element);
    bool counts = row->kind == PAPPUS_KEY_VALUE || row->kind == PAPPUS_KEY_SIZE ||
                  row->kind == PAPPUS_KEY_INT || row->kind == PAPPUS_KEY_UINT64;
    if (counts && !pappus_dimension_needs_unit(row->dimension) &&
        pappus_number_read(&number, text)) {
        return cJSON_CreateNumber(number);
    }
    return cJSON_CreateString(text);
}

static cJSON *starter_list(const pappus_plan_key *row)
{
    cJSON *list = cJSON_CreateArray();
    size_t count = (size_t)(row->starter[0] - '0');
    for (size_t i = 0; list && i < count; i++) {
        cJSON *item = starter_object(row->key, i);
        if (item && cJSON_AddItemToArray(list, item)) continue;
        cJSON_Delete(item);
        cJSON_Delete(list);
        list = NULL;
    }
    return list;
}

static bool has_starter(const pappus_plan_key *row)
{
    size_t n = strlen(row->key);
    if (row->kind != PAPPUS_KEY_OBJECT) return row->starter != NULL;
    for (size_t i = 0; i < pappus_plan_key_count; i++) {
        const pappus_plan_key *below = &pappus_plan_keys[i];
        if (strncmp(below->key, row->key, n) == 0 && below->key[n] == '.' && below->starter) {
            return true;
        }
    }
    return false;
}

/* NULL when out of memory. */
static cJSON *starter_object(const char *parent, size_t element)
{
    cJSON *object = cJSON_CreateObject();
    for (size_t i = 0; object && i < pappus_plan_key_count; i++) {
        const pappus_plan_key *row = &pappus_plan_keys[i];
        char leaf[64];
        if (!pappus_plan_key_is_in(row, parent) || !has_starter(row)) continue;
        pappus_plan_key_leaf(leaf, sizeof leaf, row);
        cJSON *item = row->kind == PAPPUS_KEY_OBJECT ? starter_object(row->key, 0)
                      : row->kind == PAPPUS_KEY_LIST ? starter_list(row)
                                                     : starter_value(row, element);
        if (item && cJSON_AddItemToObject(object, leaf, item)) continue;
        cJSON_Delete(item);
        cJSON_Delete(object);
        object = NULL;
    }
    return object;
}

int pappus_plan_starter(char **out, pappus_error *err)
{
    cJSON *tree = starter_object("", 0);
    *out = NULL;
    int status = tree ? pappus_json_print(out, tree, err) : pappus_fail_memory(err);
    cJSON_Delete(tree);
    return status;
}

int pappus_plan_new(const char *path, pappus_error *err)
{
    char *text;
    int status = pappus_plan_starter(&text, err);
    if (status != PAPPUS_OK) return status;
    status = pappus_file_write_new(path, text, err);
    free(text);
    return status;
}
