/* SPDX-License-Identifier: GPL-3.0-or-later
 * A plan as it stands, settings laid over it, as the text of one file (JSON, RFC 8259). Paths
 * stay as they are: one that a plan under it names from another folder leads elsewhere. */
#include "plan_reader.h"

#include "error.h"

#include <math.h>
#include <stdio.h>
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

int pappus_plan_sources_text(char **out, const pappus_plan_sources *sources, const char *pad,
                             double gust_mps, pappus_error *err)
{
    cJSON *whole = cJSON_Duplicate(sources->whole, true);
    *out = NULL;
    int status = whole && fix_gust(whole, sources, gust_mps) == PAPPUS_OK &&
                         put_pad_first(whole, pad) == PAPPUS_OK
                     ? pappus_json_print(out, whole, err)
                     : pappus_fail_memory(err);
    cJSON_Delete(whole);
    return status;
}
