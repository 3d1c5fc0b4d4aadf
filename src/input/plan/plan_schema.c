/* SPDX-License-Identifier: GPL-3.0-or-later
 * The key table as a JSON Schema (draft 2020-12) for editors, and as a list for
 * the manual. The schema knows keys, shapes and that a unit must stand there; it
 * does not know units, bounds of values with units, nor what goes together: the
 * reader does. In a plan over a base nothing is required, and null takes a key
 * away, so null is allowed everywhere. */
#include "error.h"
#include "json.h"
#include "plan_keys.h"
#include "text_stream.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define NUMBER "[+-]?([0-9]+[.]?[0-9]*|[.][0-9]+)([eE][+-]?[0-9]+)?"
#define WORD "[A-Za-z\u00b0\u00b5%]+(\\^?-?[0-9]|\u00b2|\u00b3)*"
#define UNIT WORD "([ \u00b7*/.-]+" WORD ")*"
#define SIGN " *([+]/-|\u00b1) *"

static cJSON *object_schema(const char *parent, bool *failed);

/* Gives item to object; item is freed when that fails. Returns item. */
static cJSON *add(cJSON *object, const char *name, cJSON *item, bool *failed)
{
    cJSON_bool added = cJSON_IsArray(object)
                           ? item && cJSON_AddItemToArray(object, item)
                           : object && item && cJSON_AddItemToObject(object, name, item);
    if (added) return item;
    cJSON_Delete(item);
    *failed = true;
    return NULL;
}

static cJSON *add_text(cJSON *object, const char *name, const char *text, bool *failed)
{
    return add(object, name, cJSON_CreateString(text), failed);
}

static cJSON *add_object(cJSON *object, const char *name, bool *failed)
{
    return add(object, name, cJSON_CreateObject(), failed);
}

static cJSON *add_array(cJSON *object, const char *name, bool *failed)
{
    return add(object, name, cJSON_CreateArray(), failed);
}

/* "type": [type, "null"] */
static void add_type(cJSON *schema, const char *type, bool *failed)
{
    cJSON *types = add_array(schema, "type", failed);
    add_text(types, NULL, type, failed);
    add_text(types, NULL, "null", failed);
}

/* ------------------------------------------------------------------ values */

static void text_schema(cJSON *schema, const char *pattern, bool *failed)
{
    add_type(schema, "string", failed);
    add_text(schema, "pattern", pattern, failed);
}

static void number_schema(cJSON *schema, const pappus_plan_key *row, const char *type, bool *failed)
{
    add_type(schema, type, failed);
    add(schema, "minimum", cJSON_CreateNumber(row->low), failed);
    add(schema, "maximum", cJSON_CreateNumber(row->high), failed);
}

static void reference(cJSON *schema, const char *name, bool *failed)
{
    char path[40];
    snprintf(path, sizeof path, "#/$defs/%s", name);
    add_text(schema, "$ref", path, failed);
}

static void value_schema(cJSON *schema, const pappus_plan_key *row, bool *failed)
{
    bool off = (row->flags & PAPPUS_KEY_CAN_BE_OFF) != 0;
    if (row->dimension == PAPPUS_DIM_LATITUDE || row->dimension == PAPPUS_DIM_LONGITUDE) {
        reference(schema, "coordinate", failed);
        return;
    }
    if (pappus_dimension_needs_unit(row->dimension)) {
        reference(schema, off ? "limit" : "value", failed);
        return;
    }
    cJSON *forms = add_array(schema, "anyOf", failed);
    number_schema(add_object(forms, NULL, failed), row, "number", failed);
    reference(add_object(forms, NULL, failed), off ? "number_limit" : "number", failed);
}

static void uncertain_schema(cJSON *schema, const pappus_plan_key *row, bool *failed)
{
    if (pappus_dimension_needs_unit(row->dimension)) {
        reference(schema, "uncertain", failed);
        return;
    }
    cJSON *forms = add_array(schema, "anyOf", failed);
    number_schema(add_object(forms, NULL, failed), row, "number", failed);
    reference(add_object(forms, NULL, failed), "uncertain_number", failed);
}

static void choice_schema(cJSON *schema, const pappus_plan_key *row, bool *failed)
{
    cJSON *names = add_array(schema, "enum", failed);
    for (size_t i = 0; row->choices[i]; i++)
        add_text(names, NULL, row->choices[i], failed);
    add(names, NULL, cJSON_CreateNull(), failed);
}

static void list_schema(cJSON *schema, const pappus_plan_key *row, bool *failed)
{
    add_type(schema, "array", failed);
    add(schema, "maxItems", cJSON_CreateNumber(row->high), failed);
    cJSON *element = object_schema(row->key, failed);
    if (!row->shorthand) {
        add(schema, "items", element, failed);
        return;
    }
    cJSON *forms = add_array(add_object(schema, "items", failed), "anyOf", failed);
    add_text(add_object(forms, NULL, failed), "type", "string", failed);
    add(forms, NULL, element, failed);
}

static void row_schema(cJSON *schema, const pappus_plan_key *row, bool *failed)
{
    switch (row->kind) {
    case PAPPUS_KEY_VALUE:
        value_schema(schema, row, failed);
        break;
    case PAPPUS_KEY_UNCERTAIN:
        uncertain_schema(schema, row, failed);
        break;
    case PAPPUS_KEY_CHOICE:
    case PAPPUS_KEY_SWITCH:
        choice_schema(schema, row, failed);
        break;
    case PAPPUS_KEY_SIZE:
    case PAPPUS_KEY_INT:
    case PAPPUS_KEY_UINT64:
        number_schema(schema, row, "integer", failed);
        break;
    case PAPPUS_KEY_TIME:
        reference(schema, "time", failed);
        break;
    case PAPPUS_KEY_BEARING:
        reference(schema, "bearing", failed);
        break;
    case PAPPUS_KEY_HEADING:
        reference(schema, "heading", failed);
        break;
    case PAPPUS_KEY_POINTS:
        reference(schema, "points", failed);
        break;
    case PAPPUS_KEY_LIST:
        list_schema(schema, row, failed);
        break;
    default:
        add_type(schema, "string", failed);
        add(schema, "minLength", cJSON_CreateNumber(row->low > 0.0), failed);
    }
}

/* ------------------------------------------------------------- definitions */

static void parts_definition(cJSON *schema, const char *pattern, const char *sd_pattern,
                             bool number, bool *failed)
{
    static const char *const sets[3][4] = {
        {"mean", "sd"}, {"low", "high"}, {"low", "mode", "high"}};
    cJSON *forms = add_array(schema, "oneOf", failed);
    for (size_t k = 0; k < 3; k++) {
        cJSON *form = add_object(forms, NULL, failed);
        add_text(form, "type", "object", failed);
        cJSON *members = add_object(form, "properties", failed);
        cJSON *required = add_array(form, "required", failed);
        for (size_t i = 0; sets[k][i]; i++) {
            cJSON *member = add_object(members, sets[k][i], failed);
            cJSON *types = add_array(member, "type", failed);
            add_text(types, NULL, "string", failed);
            if (number) add_text(types, NULL, "number", failed);
            add_text(member, "pattern", strcmp(sets[k][i], "sd") == 0 ? sd_pattern : pattern,
                     failed);
            add_text(required, NULL, sets[k][i], failed);
        }
        add(form, "additionalProperties", cJSON_CreateFalse(), failed);
        if (k > 0) continue;
        cJSON *names = add_array(add_object(members, "distribution", failed), "enum", failed);
        add_text(names, NULL, "normal", failed);
        add_text(names, NULL, "lognormal", failed);
    }
}

/* Degrees, minutes and seconds are told by their hemisphere. */
#define HEMISPHERE_PATTERN "^ *[NSEWnsew] *[0-9].*$|^ *[0-9].*[NSEWnsew] *$"

static void points_definition(cJSON *schema, bool *failed)
{
    add_type(schema, "array", failed);
    add(schema, "minItems", cJSON_CreateNumber(3), failed);
    cJSON *pair = add_object(schema, "items", failed);
    add_text(pair, "type", "array", failed);
    add(pair, "minItems", cJSON_CreateNumber(2), failed);
    add(pair, "maxItems", cJSON_CreateNumber(2), failed);
    cJSON *forms = add_array(add_object(pair, "items", failed), "anyOf", failed);
    add_text(add_object(forms, NULL, failed), "type", "number", failed);
    text_schema(add_object(forms, NULL, failed), HEMISPHERE_PATTERN, failed);
}

#define VALUE_PATTERN "^ *" NUMBER " ?" UNIT " *$"
#define NUMBER_PATTERN "^ *" NUMBER " ?%? *$"
#define BEARING_PATTERN "^" NUMBER " ?(deg|degT|degM|degree|degrees|\u00b0)$|^[NESW]{1,3}$"

static void add_definitions(cJSON *out, bool *failed)
{
    static const char *const texts[][2] = {
        {"value", VALUE_PATTERN},
        {"limit", VALUE_PATTERN "|^off$"},
        {"number", NUMBER_PATTERN},
        {"number_limit", NUMBER_PATTERN "|^off$"},
        {"coordinate", VALUE_PATTERN "|" HEMISPHERE_PATTERN},
        {"time", "^[0-9]{4}-[0-9]{2}-[0-9]{2}[T ][0-9:.]+ ?([Zz]|UTC|[+-][0-9]{2}(:?[0-9]{2})?)$"},
        {"bearing", BEARING_PATTERN},
        {"heading", BEARING_PATTERN "|^(up|down)wind$"},
    };
    for (size_t i = 0; i < sizeof texts / sizeof *texts; i++) {
        text_schema(add_object(out, texts[i][0], failed), texts[i][1], failed);
    }
    cJSON *forms = add_array(add_object(out, "uncertain", failed), "anyOf", failed);
    text_schema(add_object(forms, NULL, failed),
                "^ *" NUMBER " ?" UNIT "(" SIGN NUMBER " ?" UNIT ")? *$|^ *" NUMBER SIGN NUMBER
                " ?" UNIT " *$",
                failed);
    parts_definition(add_object(forms, NULL, failed), VALUE_PATTERN, VALUE_PATTERN, false, failed);
    forms = add_array(add_object(out, "uncertain_number", failed), "anyOf", failed);
    text_schema(add_object(forms, NULL, failed), "^ *" NUMBER "(" SIGN NUMBER " ?%?)? *$", failed);
    parts_definition(add_object(forms, NULL, failed), "^ *" NUMBER " *$", NUMBER_PATTERN, true,
                     failed);
    points_definition(add_object(out, "points", failed), failed);
}

/* ----------------------------------------------------------------- objects */

/* A property of its own, or one more form beside the one that shares its name. */
static void add_property(cJSON *properties, const pappus_plan_key *row, bool *failed)
{
    char leaf[64];
    pappus_plan_key_leaf(leaf, sizeof leaf, row);
    cJSON *old = cJSON_DetachItemFromObjectCaseSensitive(properties, leaf);
    cJSON *schema =
        row->kind == PAPPUS_KEY_OBJECT ? object_schema(row->key, failed) : cJSON_CreateObject();
    if (row->kind != PAPPUS_KEY_OBJECT) row_schema(schema, row, failed);
    add_text(schema, "description", row->help, failed);
    if (row->assumed && row->assumed[0] == '{')
        add(schema, "default", cJSON_Parse(row->assumed), failed);
    else if (row->assumed)
        add_text(schema, "default", row->assumed, failed);
    if (!old) {
        add(properties, leaf, schema, failed);
        return;
    }
    cJSON *forms = add_array(add_object(properties, leaf, failed), "anyOf", failed);
    add(forms, NULL, old, failed);
    add(forms, NULL, schema, failed);
}

/* The names that are required in parent, as an array; NULL when none. */
static void add_required(cJSON *schema, const char *parent, bool *failed)
{
    cJSON *required = NULL;
    for (size_t i = 0; i < pappus_plan_key_count; i++) {
        const pappus_plan_key *row = &pappus_plan_keys[i];
        char leaf[64];
        if (!(row->flags & PAPPUS_KEY_REQUIRED) || !pappus_plan_key_is_in(row, parent)) continue;
        if (!required) required = add_array(schema, "required", failed);
        pappus_plan_key_leaf(leaf, sizeof leaf, row);
        add_text(required, NULL, leaf, failed);
    }
}

static cJSON *object_schema(const char *parent, bool *failed)
{
    cJSON *schema = cJSON_CreateObject();
    size_t n = strlen(parent);
    bool element = n > 0 && parent[n - 1] == ']';
    if (element) {
        add_text(schema, "type", "object", failed);
        add_required(schema, parent, failed); /* a list is never laid over in part */
    } else {
        add_type(schema, "object", failed);
    }
    cJSON *properties = add_object(schema, "properties", failed);
    for (size_t i = 0; i < pappus_plan_key_count; i++) {
        if (pappus_plan_key_is_in(&pappus_plan_keys[i], parent)) {
            add_property(properties, &pappus_plan_keys[i], failed);
        }
    }
    add(schema, "additionalProperties", cJSON_CreateFalse(), failed);
    return schema;
}

/* What a plan without a base must have, object by object. */
static cJSON *required_schema(const char *parent, bool *failed)
{
    cJSON *schema = cJSON_CreateObject();
    add_required(schema, parent, failed);
    cJSON *properties = add_object(schema, "properties", failed);
    for (size_t i = 0; i < pappus_plan_key_count; i++) {
        const pappus_plan_key *row = &pappus_plan_keys[i];
        char leaf[64];
        if (row->kind != PAPPUS_KEY_OBJECT || !pappus_plan_key_is_in(row, parent)) continue;
        pappus_plan_key_leaf(leaf, sizeof leaf, row);
        add(properties, leaf, required_schema(row->key, failed), failed);
    }
    return schema;
}

static void add_canopies(cJSON *schema, bool *failed)
{
    static const char *const canopies[] = {"drogue", "main"};
    cJSON *forms = add_array(schema, "anyOf", failed);
    for (size_t i = 0; i < 2; i++) {
        cJSON *required = add_array(add_object(forms, NULL, failed), "required", failed);
        add_text(required, NULL, canopies[i], failed);
    }
}

int pappus_plan_schema(char **out, pappus_error *err)
{
    bool failed = false;
    cJSON *schema = cJSON_CreateObject();
    add_text(schema, "$schema", "https://json-schema.org/draft/2020-12/schema", &failed);
    add_text(schema, "title", "A pappus plan", &failed);
    cJSON *keys = object_schema("", &failed);
    while (keys && keys->child) {
        cJSON *member = cJSON_DetachItemViaPointer(keys, keys->child);
        char *name = strdup(member->string);
        add(schema, name ? name : "", member, &failed);
        if (!name) failed = true;
        free(name);
    }
    cJSON_Delete(keys);
    cJSON_DeleteItemFromObjectCaseSensitive(schema, "type");
    add_text(schema, "type", "object", &failed);
    cJSON *base = add_array(add_object(schema, "if", &failed), "required", &failed);
    add_text(base, NULL, "base", &failed);
    cJSON *otherwise = required_schema("", &failed);
    add_canopies(otherwise, &failed);
    add(schema, "else", otherwise, &failed);
    add_definitions(add_object(schema, "$defs", &failed), &failed);
    *out = NULL;
    int status = failed ? pappus_fail_memory(err) : pappus_json_print(out, schema, err);
    cJSON_Delete(schema);
    return status;
}

/* ---------------------------------------------------------------- key list */

static const char *kind_text(const pappus_plan_key *row)
{
    static const char *const texts[] = {
        [PAPPUS_KEY_OBJECT] = "a group",
        [PAPPUS_KEY_LIST] = "a list",
        [PAPPUS_KEY_TEXT] = "a text",
        [PAPPUS_KEY_PATH] = "a path",
        [PAPPUS_KEY_CHOICE] = "a choice",
        [PAPPUS_KEY_SWITCH] = "a choice",
        [PAPPUS_KEY_SIZE] = "a whole number",
        [PAPPUS_KEY_INT] = "a whole number",
        [PAPPUS_KEY_UINT64] = "a whole number",
        [PAPPUS_KEY_HEADING] = "a bearing, upwind or downwind",
        [PAPPUS_KEY_BEARING] = "a bearing",
        [PAPPUS_KEY_TIME] = "a time",
        [PAPPUS_KEY_POINTS] = "a list of points",
    };
    bool value = row->kind == PAPPUS_KEY_VALUE || row->kind == PAPPUS_KEY_UNCERTAIN;
    return value ? pappus_dimension_text(row->dimension) : texts[row->kind];
}

static void bounds_text(char *out, size_t size, const pappus_plan_key *row)
{
    size_t n = 0;
    out[0] = '\0';
    if (row->choices) {
        for (size_t i = 0; row->choices[i] && n < size; i++) {
            n += (size_t)snprintf(out + n, size - n, "%s%s", i ? ", " : "", row->choices[i]);
        }
    } else if (row->kind == PAPPUS_KEY_VALUE || row->kind == PAPPUS_KEY_UNCERTAIN) {
        char low[48], high[48];
        pappus_units_format(low, sizeof low, row->dimension, PAPPUS_UNITS_SI, row->low);
        pappus_units_format(high, sizeof high, row->dimension, PAPPUS_UNITS_SI, row->high);
        snprintf(out, size, "%s to %s", low, high);
    } else if (strcmp(kind_text(row), "a whole number") == 0) {
        snprintf(out, size, "%.0f to %.0f", row->low, row->high);
    }
}

int pappus_plan_key_list(char **out, pappus_error *err)
{
    pappus_text text;
    *out = NULL;
    int status = pappus_text_begin(&text, err);
    if (status != PAPPUS_OK) return status;
    fputs("key\twhat\tdefault\taccepted\thelp\n", text.stream);
    for (size_t i = 0; i < pappus_plan_key_count; i++) {
        const pappus_plan_key *row = &pappus_plan_keys[i];
        char bounds[300];
        const char *assumed = row->flags & PAPPUS_KEY_REQUIRED ? "required"
                              : row->assumed                   ? row->assumed
                                                               : "";
        bounds_text(bounds, sizeof bounds, row);
        fprintf(text.stream, "%s\t%s%s\t%s\t%s\t%s\n", row->key, kind_text(row),
                row->kind == PAPPUS_KEY_UNCERTAIN ? ", uncertain" : "", assumed, bounds, row->help);
    }
    status = pappus_text_finish(&text, err);
    *out = text.bytes;
    return status;
}
