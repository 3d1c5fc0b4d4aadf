/* SPDX-License-Identifier: GPL-3.0-or-later
 * What was read of wind files as JSON (RFC 8259): SI, ten significant digits, null
 * for what a file does not have. A calm has direction null. */
#include "c_locale.h"
#include "error.h"
#include "format.h"
#include "json_build.h"
#include "timestamp.h"

#include <math.h>

static const char *const above[] = {
    [PAPPUS_HEIGHT_AGL] = "pad",
    [PAPPUS_HEIGHT_MSL] = "sea",
    [PAPPUS_HEIGHT_MSL_GEOPOTENTIAL] = "sea, geopotential",
    [PAPPUS_HEIGHT_PRESSURE] = "pressure altitude",
};

static void add_time(json_builder *build, cJSON *to, const char *key, double utc_s)
{
    char text[40];
    pappus_time_format(text, sizeof text, utc_s);
    json_add_text(build, to, key, isnan(utc_s) ? NULL : text);
}

static void add_level(json_builder *build, cJSON *levels, const pappus_wind_level *level)
{
    cJSON *to = json_append_object(build, levels);
    double speed_mps = hypot(level->u_mps, level->v_mps);
    double from_deg = speed_mps > 0.0 ? pappus_bearing_of(-level->u_mps, -level->v_mps) : NAN;
    json_add_number(build, to, "height_m", level->height_m);
    json_add_text(build, to, "above", above[level->height_kind]);
    json_add_number(build, to, "direction_deg", from_deg);
    json_add_number(build, to, "speed_mps", speed_mps);
    json_add_number(build, to, "u_mps", level->u_mps);
    json_add_number(build, to, "v_mps", level->v_mps);
    json_add_number(build, to, "speed_sd_mps", level->speed_sd_mps);
    json_add_number(build, to, "temperature_k", level->temperature_k);
    json_add_number(build, to, "pressure_pa", level->pressure_pa);
}

static void add_profile(json_builder *build, cJSON *profiles, const pappus_wind_profile *profile)
{
    cJSON *to = json_append_object(build, profiles);
    json_add_text(build, to, "file", profile->path);
    json_add_text(build, to, "format", profile->format);
    json_add_text(build, to, "station", profile->station);
    json_add_number(build, to, "station_elevation_msl_m", profile->station_elevation_msl_m);
    add_time(build, to, "issued", profile->issued_utc_s);
    add_time(build, to, "valid", profile->valid_utc_s);
    json_add_number(build, to, "member",
                    profile->member < 0 ? (double)NAN : (double)profile->member);
    json_add_number(build, to, "gust_mps", profile->gust_mps);
    json_add_number(build, to, "weight", profile->weight);
    json_add_count(build, to, "levels_read", profile->read_count);
    json_add_count(build, to, "levels_repaired", profile->repaired_count);
    json_add_count(build, to, "levels_left_out", profile->refused_count);
    cJSON *levels = json_add_array(build, to, "levels");
    for (size_t i = 0; i < profile->level_count; i++)
        add_level(build, levels, &profile->levels[i]);
}

int pappus_wind_json_text(char **out, const pappus_winds *winds, pappus_error *err)
{
    json_builder build = {false};
    pappus_locale locale;
    *out = NULL;
    if (!pappus_locale_enter(&locale)) return pappus_fail_memory(err);
    cJSON *root = cJSON_CreateObject();
    cJSON *profiles = json_add_array(&build, root, "profiles");
    for (size_t i = 0; i < winds->profile_count; i++)
        add_profile(&build, profiles, &winds->profiles[i]);
    int status = json_finish(out, &build, root, err);
    pappus_locale_leave(&locale);
    return status;
}
