/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "json_build.h"

#include "error.h"
#include "format.h"
#include "json.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

static cJSON *keep(json_builder *build, cJSON *item)
{
    if (!item) build->failed = true;
    return item;
}

cJSON *json_add_object(json_builder *build, cJSON *to, const char *key)
{
    return to ? keep(build, cJSON_AddObjectToObject(to, key)) : NULL;
}

cJSON *json_add_array(json_builder *build, cJSON *to, const char *key)
{
    return to ? keep(build, cJSON_AddArrayToObject(to, key)) : NULL;
}

void json_add_null(json_builder *build, cJSON *to, const char *key)
{
    if (to) keep(build, cJSON_AddNullToObject(to, key));
}

void json_add_bool(json_builder *build, cJSON *to, const char *key, bool value)
{
    if (to) keep(build, cJSON_AddBoolToObject(to, key, value));
}

/* JSON has no infinity and no NaN. */
static cJSON *number_item(double value)
{
    char text[32];
    if (!isfinite(value)) return cJSON_CreateNull();
    snprintf(text, sizeof text, "%.10g", value);
    return cJSON_CreateRaw(text);
}

void json_add_item(json_builder *build, cJSON *to, const char *key, cJSON *item)
{
    if (to && keep(build, item) && cJSON_AddItemToObject(to, key, item)) return;
    cJSON_Delete(item);
    build->failed = true;
}

static bool append_item(json_builder *build, cJSON *to, cJSON *item)
{
    if (to && keep(build, item) && cJSON_AddItemToArray(to, item)) return true;
    cJSON_Delete(item);
    build->failed = true;
    return false;
}

cJSON *json_append_object(json_builder *build, cJSON *to)
{
    cJSON *object = cJSON_CreateObject();
    return append_item(build, to, object) ? object : NULL;
}

cJSON *json_append_array(json_builder *build, cJSON *to)
{
    cJSON *array = cJSON_CreateArray();
    return append_item(build, to, array) ? array : NULL;
}

void json_append_number(json_builder *build, cJSON *to, double value)
{
    append_item(build, to, number_item(value));
}

void json_add_number(json_builder *build, cJSON *to, const char *key, double value)
{
    json_add_item(build, to, key, number_item(value));
}

void json_add_count(json_builder *build, cJSON *to, const char *key, uint64_t value)
{
    char text[32];
    snprintf(text, sizeof text, "%llu", (unsigned long long)value);
    json_add_item(build, to, key, cJSON_CreateRaw(text));
}

void json_add_text(json_builder *build, cJSON *to, const char *key, const char *text)
{
    if (!text) {
        json_add_null(build, to, key);
        return;
    }
    char *clean = pappus_text_clean(text);
    if (clean)
        json_add_item(build, to, key, cJSON_CreateString(clean));
    else
        build->failed = true;
    free(clean);
}

void json_append_text(json_builder *build, cJSON *to, const char *text)
{
    char *clean = pappus_text_clean(text);
    append_item(build, to, clean ? cJSON_CreateString(clean) : NULL);
    free(clean);
}

int json_finish(char **out, json_builder *build, cJSON *root, pappus_error *err)
{
    *out = NULL;
    int status =
        root && !build->failed ? pappus_json_print(out, root, err) : pappus_fail_memory(err);
    cJSON_Delete(root);
    return status;
}
