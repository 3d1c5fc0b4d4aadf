/* SPDX-License-Identifier: GPL-3.0-or-later
 * What was read of wind files as JSON (RFC 8259): SI, ten significant digits, null
 * for what a file does not have. A calm has direction null. */
#include "c_locale.h"
#include "error.h"
#include "format.h"
#include "json.h"
#include "timestamp.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

static const char *const above[] = {
    [PAPPUS_HEIGHT_AGL] = "pad",
    [PAPPUS_HEIGHT_MSL] = "sea",
    [PAPPUS_HEIGHT_MSL_GEOPOTENTIAL] = "sea, geopotential",
    [PAPPUS_HEIGHT_PRESSURE] = "pressure altitude",
};

/* Each returns false when memory is short; a chain of them stops there. */
static bool add(cJSON *to, const char *key, cJSON *item)
{
    if (item && cJSON_AddItemToObject(to, key, item)) return true;
    cJSON_Delete(item);
    return false;
}

static bool add_number(cJSON *to, const char *key, double value)
{
    char text[32];
    if (!isfinite(value)) return add(to, key, cJSON_CreateNull());
    snprintf(text, sizeof text, "%.10g", value);
    return add(to, key, cJSON_CreateRaw(text));
}

static bool add_text(cJSON *to, const char *key, const char *text)
{
    if (!text) return add(to, key, cJSON_CreateNull());
    char *clean = pappus_text_clean(text);
    bool added = clean && add(to, key, cJSON_CreateString(clean));
    free(clean);
    return added;
}

static bool add_time(cJSON *to, const char *key, double utc_s)
{
    char text[40];
    pappus_time_format(text, sizeof text, utc_s);
    return add_text(to, key, isnan(utc_s) ? NULL : text);
}

static bool add_level(cJSON *levels, const pappus_wind_level *level)
{
    cJSON *to = cJSON_CreateObject();
    if (!to || !cJSON_AddItemToArray(levels, to)) {
        cJSON_Delete(to);
        return false;
    }
    double speed_mps = hypot(level->u_mps, level->v_mps);
    double from_deg = speed_mps > 0.0 ? pappus_bearing_of(-level->u_mps, -level->v_mps) : NAN;
    return add_number(to, "height_m", level->height_m) &&
           add_text(to, "above", above[level->height_kind]) &&
           add_number(to, "direction_deg", from_deg) && add_number(to, "speed_mps", speed_mps) &&
           add_number(to, "u_mps", level->u_mps) && add_number(to, "v_mps", level->v_mps) &&
           add_number(to, "speed_sd_mps", level->speed_sd_mps) &&
           add_number(to, "temperature_k", level->temperature_k) &&
           add_number(to, "pressure_pa", level->pressure_pa);
}

static bool add_profile(cJSON *profiles, const pappus_wind_profile *profile)
{
    cJSON *to = cJSON_CreateObject(), *levels;
    if (!to || !cJSON_AddItemToArray(profiles, to)) {
        cJSON_Delete(to);
        return false;
    }
    bool good = add_text(to, "file", profile->path) && add_text(to, "format", profile->format) &&
                add_text(to, "station", profile->station) &&
                add_number(to, "station_elevation_msl_m", profile->station_elevation_msl_m) &&
                add_time(to, "issued", profile->issued_utc_s) &&
                add_time(to, "valid", profile->valid_utc_s) &&
                add_number(to, "weight", profile->weight) &&
                add_number(to, "levels_read", (double)profile->read_count) &&
                add_number(to, "levels_repaired", (double)profile->repaired_count) &&
                add_number(to, "levels_left_out", (double)profile->refused_count);
    levels = good ? cJSON_AddArrayToObject(to, "levels") : NULL;
    good = levels != NULL;
    for (size_t i = 0; good && i < profile->level_count; i++)
        good = add_level(levels, &profile->levels[i]);
    return good;
}

int pappus_wind_json_text(char **out, const pappus_winds *winds, pappus_error *err)
{
    pappus_locale locale;
    *out = NULL;
    if (!pappus_locale_enter(&locale)) return pappus_fail_memory(err);
    cJSON *root = cJSON_CreateObject();
    cJSON *profiles = root ? cJSON_AddArrayToObject(root, "profiles") : NULL;
    bool good = profiles != NULL;
    for (size_t i = 0; good && i < winds->profile_count; i++)
        good = add_profile(profiles, &winds->profiles[i]);
    int status = good ? pappus_json_print(out, root, err) : pappus_fail_memory(err);
    cJSON_Delete(root);
    pappus_locale_leave(&locale);
    return status;
}
