/* SPDX-License-Identifier: GPL-3.0-or-later
 * A plan as it stands, settings laid over it, as the text of one file (JSON, RFC 8259), for the
 * folder of the plan: a path that a plan under it names from a folder of its own is named from
 * there. */
#include "plan_reader.h"

#include "error.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static bool is_set(const pappus_plan_sources *sources, const char *key)
{
    return strcmp(pappus_plan_sources_file(sources, key), "--set") == 0;
}

/* A gust that the reader scales with a set speed would not be scaled again. */
static int fix_gust(cJSON *whole, const pappus_plan_sources *sources, double gust_mps)
{
    cJSON *surface = cJSON_GetObjectItemCaseSensitive(
        cJSON_GetObjectItemCaseSensitive(whole, "wind"), "surface");
    char text[40];
    if (isnan(gust_mps) || !is_set(sources, "wind.surface.speed") ||
        is_set(sources, "wind.surface.gust") || !cJSON_IsObject(surface))
        return PAPPUS_OK;
    snprintf(text, sizeof text, "%.17g m/s", gust_mps);
    cJSON_DeleteItemFromObjectCaseSensitive(surface, "gust");
    return cJSON_AddStringToObject(surface, "gust", text) ? PAPPUS_OK : PAPPUS_E_MEMORY;
}

/* The pad in use comes first: that one is flown from unless another is asked for. */
static int put_pad_first(cJSON *whole, const char *pad)
{
    cJSON *pads =
        cJSON_GetObjectItemCaseSensitive(cJSON_GetObjectItemCaseSensitive(whole, "site"), "pads");
    int count = pad ? cJSON_GetArraySize(pads) : 0;
    for (int i = 1; i < count; i++) {
        const cJSON *name = cJSON_GetObjectItemCaseSensitive(cJSON_GetArrayItem(pads, i), "name");
        if (!cJSON_IsString(name) || strcmp(name->valuestring, pad) != 0) continue;
        cJSON *first = cJSON_DetachItemFromArray(pads, i);
        return cJSON_InsertItemInArray(pads, 0, first) ? PAPPUS_OK : PAPPUS_E_MEMORY;
    }
    return PAPPUS_OK;
}

/* True of a key's text that is a path, as that of wind.profiles[0] stands for its file. */
static bool is_path(const char *key)
{
    char within[PAPPUS_KEY_LIMIT];
    const pappus_plan_key *row = pappus_plan_key_find(key, false);
    if (row && row->kind == PAPPUS_KEY_LIST && row->shorthand) {
        snprintf(within, sizeof within, "%.*s.%s", PAPPUS_KEY_LIMIT - 20, key, row->shorthand);
        row = pappus_plan_key_find(within, false);
    }
    return row && row->kind == PAPPUS_KEY_PATH;
}

/* Plans under it are found from its folder, so that their paths begin with it, or are whole. */
static int move_path(cJSON *text, const char *key, const pappus_plan_sources *sources)
{
    const char *plan = sources->documents[0].path, *slash = strrchr(plan, '/');
    const char *from = pappus_plan_sources_file(sources, key);
    size_t folder = slash ? (size_t)(slash + 1 - plan) : 0;
    if (text->valuestring[0] == '/' || is_set(sources, key) || strcmp(from, plan) == 0)
        return PAPPUS_OK;
    char *path = pappus_plan_sources_path(sources, key, text->valuestring);
    if (!path) return PAPPUS_E_MEMORY;
    bool within = strncmp(path, plan, folder) == 0;
    bool moved = cJSON_SetValuestring(text, path + (within ? folder : 0)) != NULL;
    free(path);
    return moved ? PAPPUS_OK : PAPPUS_E_MEMORY;
}

/* Every path at a key and below it; what is deeper than keys go holds none. */
static int move_paths(cJSON *node, const char *key, const pappus_plan_sources *sources)
{
    int status = cJSON_IsString(node) && is_path(key) ? move_path(node, key, sources) : PAPPUS_OK;
    int index = 0;
    cJSON *child;
    if (!cJSON_IsObject(node) && !cJSON_IsArray(node)) return status;
    cJSON_ArrayForEach(child, node)
    {
        char below[PAPPUS_KEY_LIMIT];
        int size = cJSON_IsArray(node) ? snprintf(below, sizeof below, "%s[%d]", key, index++)
                                       : snprintf(below, sizeof below, "%s%s%s", key,
                                                  key[0] ? "." : "", child->string);
        if (size >= (int)sizeof below) continue;
        int one = move_paths(child, below, sources);
        if (status == PAPPUS_OK) status = one;
    }
    return status;
}

int pappus_plan_sources_text(char **out, const pappus_plan_sources *sources, const char *pad,
                             double gust_mps, pappus_error *err)
{
    cJSON *whole = cJSON_Duplicate(sources->whole, true);
    *out = NULL;
    int status = whole && fix_gust(whole, sources, gust_mps) == PAPPUS_OK &&
                         put_pad_first(whole, pad) == PAPPUS_OK &&
                         move_paths(whole, "", sources) == PAPPUS_OK
                     ? pappus_json_print(out, whole, err)
                     : pappus_fail_memory(err);
    cJSON_Delete(whole);
    return status;
}
