/* SPDX-License-Identifier: GPL-3.0-or-later
 * Reads a plan: walks the key table and the JSON side by side, object by object,
 * so that every fault of a plan is told at once. What the values mean together is
 * in plan_check.c. */
#include "plan_reader.h"
#include "utf8.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static void read_object(pappus_plan_reader *reader, const cJSON *object, const char *parent,
                        const char *path, void *owner);

static void join(char out[PAPPUS_KEY_LIMIT], const char *path, const char *leaf)
{
    int n = snprintf(out, PAPPUS_KEY_LIMIT, "%s%s%s", path, path[0] ? "." : "", leaf);
    if (n >= PAPPUS_KEY_LIMIT) pappus_text_cut(out, PAPPUS_KEY_LIMIT, leaf); /* not a known key */
}

static void join_index(char out[PAPPUS_KEY_LIMIT], const char *path, size_t index)
{
    int n = snprintf(out, PAPPUS_KEY_LIMIT, "%s[%zu]", path, index);
    if (n >= PAPPUS_KEY_LIMIT) out[PAPPUS_KEY_LIMIT - 1] = '\0';
}

/* Every number in the object and below, not inside lists, is absent at first. */
static void clear_values(const char *parent, void *owner)
{
    for (size_t i = 0; i < pappus_plan_key_count; i++) {
        const pappus_plan_key *row = &pappus_plan_keys[i];
        if (!pappus_plan_key_is_in(row, parent)) continue;
        if (row->kind == PAPPUS_KEY_OBJECT) clear_values(row->key, owner);
        pappus_plan_value_clear(row, owner);
    }
}

static void unknown_key(pappus_plan_reader *reader, const cJSON *member, const char *parent,
                        const char *key)
{
    char value[PAPPUS_KEY_LIMIT];
    const pappus_plan_key *nearest = pappus_plan_key_nearest(parent, member->string);
    pappus_json_text(value, sizeof value, member);
    pappus_plan_fault(reader, key, value, "unknown key; the nearest known key is %s", nearest->key);
}

static void find_unknown_keys(pappus_plan_reader *reader, const cJSON *object, const char *parent,
                              const char *path)
{
    const cJSON *member;
    cJSON_ArrayForEach(member, object)
    {
        char key[PAPPUS_KEY_LIMIT], pattern[PAPPUS_KEY_LIMIT];
        join(key, path, member->string);
        join(pattern, parent, member->string);
        const pappus_plan_key *row = pappus_plan_key_find(pattern, cJSON_IsArray(member));
        bool known = row && strpbrk(member->string, ".[") == NULL;
        if (!known) unknown_key(reader, member, parent, key);
    }
}

/* One element of a list; a text may stand for an object with one key. */
static void read_element(pappus_plan_reader *reader, const pappus_plan_key *row, const cJSON *item,
                         const char *path, void *element)
{
    cJSON *wrapped = NULL;
    clear_values(row->key, element);
    if (row->shorthand && cJSON_IsString(item)) {
        wrapped = cJSON_CreateObject();
        if (!cJSON_AddStringToObject(wrapped, row->shorthand, item->valuestring)) {
            reader->out_of_memory = true;
            cJSON_Delete(wrapped);
            return;
        }
        item = wrapped;
    }
    if (cJSON_IsObject(item)) {
        read_object(reader, item, row->key, path, element);
    } else {
        char value[PAPPUS_KEY_LIMIT];
        pappus_json_text(value, sizeof value, item);
        pappus_plan_fault(reader, path, value, "accepted is an object%s: %s",
                          row->shorthand ? " or a path in quotes" : "", row->help);
    }
    cJSON_Delete(wrapped);
}

static void read_list(pappus_plan_reader *reader, const pappus_plan_key *row, const cJSON *list,
                      const char *path, void *owner)
{
    char value[PAPPUS_KEY_LIMIT];
    const cJSON *item;
    size_t count = cJSON_IsArray(list) ? (size_t)cJSON_GetArraySize(list) : 0, i = 0;
    if (!cJSON_IsArray(list) || (double)count > row->high) {
        pappus_json_text(value, sizeof value, list);
        pappus_plan_fault(reader, path, value, "accepted is a list of at most %.0f: %s", row->high,
                          row->help);
        return;
    }
    if (count == 0) return;
    char *elements = calloc(count, row->size);
    if (!elements) {
        reader->out_of_memory = true;
        return;
    }
    memcpy((char *)owner + row->offset, &elements, sizeof elements);
    memcpy((char *)owner + row->extra, &count, sizeof count);
    cJSON_ArrayForEach(item, list)
    {
        char key[PAPPUS_KEY_LIMIT];
        join_index(key, path, i);
        read_element(reader, row, item, key, elements + i * row->size);
        i++;
    }
}

static void read_group(pappus_plan_reader *reader, const pappus_plan_key *row, const cJSON *item,
                       const char *path, void *owner)
{
    bool there = item && !cJSON_IsNull(item);
    if (there && !cJSON_IsObject(item)) {
        char value[PAPPUS_KEY_LIMIT];
        pappus_json_text(value, sizeof value, item);
        pappus_plan_fault(reader, path, value, "accepted is an object: %s", row->help);
        return;
    }
    if (!there && (row->flags & PAPPUS_KEY_OPTIONAL)) return;
    if (!there && (row->flags & PAPPUS_KEY_REQUIRED)) {
        pappus_plan_fault(reader, path, NULL, "is required: %s", row->help);
        return;
    }
    if (row->offset != PAPPUS_NO_OFFSET) *(bool *)((char *)owner + row->offset) = true;
    read_object(reader, there ? item : NULL, row->key, path, owner);
}

static void read_row(pappus_plan_reader *reader, const pappus_plan_key *row, const cJSON *object,
                     const char *path, void *owner)
{
    char leaf[64], key[PAPPUS_KEY_LIMIT];
    pappus_plan_key_leaf(leaf, sizeof leaf, row);
    join(key, path, leaf);
    const cJSON *item = object ? cJSON_GetObjectItemCaseSensitive(object, leaf) : NULL;
    /* A list and a value may share a name: the value's shape chooses. */
    if (item && pappus_plan_key_find(key, cJSON_IsArray(item)) != row) return;
    if (row->kind == PAPPUS_KEY_OBJECT) {
        read_group(reader, row, item, key, owner);
    } else if (row->kind != PAPPUS_KEY_LIST) {
        pappus_plan_value_read(reader, row, key, item, owner);
    } else if (item && !cJSON_IsNull(item)) {
        read_list(reader, row, item, key, owner);
    }
}

static void read_object(pappus_plan_reader *reader, const cJSON *object, const char *parent,
                        const char *path, void *owner)
{
    find_unknown_keys(reader, object, parent, path);
    for (size_t i = 0; i < pappus_plan_key_count; i++) {
        const pappus_plan_key *row = &pappus_plan_keys[i];
        if (pappus_plan_key_is_in(row, parent)) read_row(reader, row, object, path, owner);
    }
}

/* Control characters in names and values would end up in every output. */
static void check_texts(pappus_plan_reader *reader, const cJSON *value, const char *path)
{
    const cJSON *child;
    size_t index = 0;
    if (cJSON_IsString(value) && !pappus_text_is_clean(value->valuestring)) {
        pappus_plan_fault(reader, path, NULL, "a control character (or a line break) in a text");
    }
    cJSON_ArrayForEach(child, value)
    {
        char key[PAPPUS_KEY_LIMIT];
        if (!cJSON_IsObject(value)) {
            join_index(key, path, index++);
        } else if (pappus_text_is_clean(child->string)) {
            join(key, path, child->string);
        } else {
            pappus_plan_fault(reader, path, NULL, "a control character in the name of a key");
            continue;
        }
        check_texts(reader, child, key);
    }
}

/* One altimeter that works as assumed, when the plan names none. */
static void assume_altimeter(pappus_plan_reader *reader)
{
    pappus_plan *plan = reader->plan;
    if (plan->altimeter_count > 0) return;
    plan->altimeters = calloc(1, sizeof *plan->altimeters);
    if (!plan->altimeters) {
        reader->out_of_memory = true;
        return;
    }
    plan->altimeter_count = 1;
    clear_values("altimeters[]", plan->altimeters);
    read_object(reader, NULL, "altimeters[]", "altimeters[0]", plan->altimeters);
}

static int read_whole_plan(pappus_plan_reader *reader, const pappus_plan_options *options)
{
    const cJSON *whole = reader->sources->whole;
    check_texts(reader, whole, "");
    if (reader->fault_count > 0) return PAPPUS_E_PLAN;
    clear_values("", reader->plan);
    read_object(reader, whole, "", "", reader->plan);
    assume_altimeter(reader);
    if (!reader->out_of_memory) pappus_plan_check(reader, options);
    if (reader->out_of_memory) {
        return pappus_log_add(reader->log, PAPPUS_FAULT, PAPPUS_E_MEMORY, NULL, NULL, NULL,
                              "out of memory");
    }
    if (reader->fault_count > 0 || reader->sources->faulty) return PAPPUS_E_PLAN;
    pappus_plan_warn(reader);
    return PAPPUS_OK;
}

int pappus_plan_make(pappus_plan **out, const pappus_plan_sources *sources,
                     const pappus_plan_options *options, pappus_log *log)
{
    pappus_error error = {0};
    pappus_plan_reader reader = {.sources = sources, .log = log};
    *out = NULL;
    reader.plan = calloc(1, sizeof *reader.plan);
    if (reader.plan) reader.plan->path = strdup(sources->documents[0].path);
    int status = pappus_units_new(&reader.units, &error);
    if (!reader.plan || !reader.plan->path || status != PAPPUS_OK) {
        status =
            pappus_log_add(log, PAPPUS_FAULT, PAPPUS_E_MEMORY, NULL, NULL, NULL, "out of memory");
    } else {
        status = read_whole_plan(&reader, options);
    }
    pappus_units_free(reader.units);
    if (status != PAPPUS_OK) {
        pappus_plan_free(reader.plan);
        return status;
    }
    *out = reader.plan;
    return PAPPUS_OK;
}

int pappus_plan_parse(pappus_plan **out, const char *text, size_t length, const char *path,
                      const pappus_plan_options *options, pappus_log *log)
{
    static const pappus_plan_options defaults = PAPPUS_PLAN_OPTIONS_INIT;
    pappus_plan_sources sources;
    *out = NULL;
    if (!options) options = &defaults;
    int status = pappus_plan_sources_read(&sources, path, text, length, options, log);
    if (status != PAPPUS_OK) return status;
    status = pappus_plan_make(out, &sources, options, log);
    pappus_plan_sources_clear(&sources);
    return status;
}

int pappus_plan_read(pappus_plan **out, const char *path, const pappus_plan_options *options,
                     pappus_log *log)
{
    return pappus_plan_parse(out, NULL, 0, path, options, log);
}

/* -------------------------------------------------------------------- free */

static void free_values(const char *parent, void *owner)
{
    for (size_t i = 0; i < pappus_plan_key_count; i++) {
        const pappus_plan_key *row = &pappus_plan_keys[i];
        if (!pappus_plan_key_is_in(row, parent)) continue;
        if (row->kind == PAPPUS_KEY_OBJECT) free_values(row->key, owner);
        bool pointer = row->kind == PAPPUS_KEY_TEXT || row->kind == PAPPUS_KEY_PATH ||
                       row->kind == PAPPUS_KEY_POINTS || row->kind == PAPPUS_KEY_LIST;
        if (!pointer || row->offset == PAPPUS_NO_OFFSET) continue;
        char *memory;
        memcpy(&memory, (char *)owner + row->offset, sizeof memory);
        if (row->kind == PAPPUS_KEY_LIST && memory) {
            size_t count;
            memcpy(&count, (char *)owner + row->extra, sizeof count);
            for (size_t k = 0; k < count; k++)
                free_values(row->key, memory + k * row->size);
        }
        free(memory);
    }
}

void pappus_plan_free(pappus_plan *plan)
{
    if (!plan) return;
    free_values("", plan);
    for (size_t i = 0; i < plan->entry_count; i++) {
        pappus_plan_entry *entry = &plan->entries[i];
        free(entry->key);
        free(entry->given);
        free(entry->si);
        free(entry->us);
        free(entry->help);
    }
    free(plan->entries);
    free(plan->site.pad_name);
    free(plan->path);
    free(plan);
}
