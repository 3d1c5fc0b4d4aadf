/* SPDX-License-Identifier: GPL-3.0-or-later
 * What was read of wind files, as plain text: for each profile where it is from,
 * its times and counts, its levels from the ground up, and then what the reader
 * had to say. For eyes only: figures are rounded. */
#include "c_locale.h"
#include "error.h"
#include "format.h"
#include "si.h"
#include "timestamp.h"
#include "writer.h"

#include <math.h>
#include <stdlib.h>

static const char *const above[] = {
    [PAPPUS_HEIGHT_AGL] = "pad",
    [PAPPUS_HEIGHT_MSL] = "sea",
    [PAPPUS_HEIGHT_MSL_GEOPOTENTIAL] = "sea, geopotential",
    [PAPPUS_HEIGHT_PRESSURE] = "pressure altitude",
};

static void write_head(FILE *stream, const pappus_wind_profile *profile, pappus_unit_system units)
{
    char text[PAPPUS_TEXT_SIZE];
    fprintf(stream, "%s: %s", profile->path, profile->format);
    if (profile->station) fprintf(stream, ", station %s", profile->station);
    if (!isnan(profile->station_elevation_msl_m))
        fprintf(stream, " at %s MSL",
                pappus_format(text, sizeof text, PAPPUS_SHOW_HEIGHT,
                              profile->station_elevation_msl_m, units));
    fputc('\n', stream);
    if (!isnan(profile->issued_utc_s)) {
        pappus_time_format(text, sizeof text, profile->issued_utc_s);
        fprintf(stream, "observed or issued %s\n", text);
    }
    if (!isnan(profile->valid_utc_s)) {
        pappus_time_format(text, sizeof text, profile->valid_utc_s);
        fprintf(stream, "valid %s\n", text);
    }
    fprintf(stream, "levels read %zu, repaired %zu, left out %zu\n\n", profile->read_count,
            profile->repaired_count, profile->refused_count);
}

static void write_wind(FILE *stream, const pappus_wind_level *level, pappus_unit_system units)
{
    double speed = hypot(level->u_mps, level->v_mps), from = 0.0;
    if (isnan(level->u_mps)) {
        fprintf(stream, "  %4s %-3s  %6s", "-", "", "-");
        return;
    }
    if (speed > 0.0) from = pappus_bearing_of(-level->u_mps, -level->v_mps);
    if (speed > 0.0)
        fprintf(stream, "  %4.0f %-3s", from >= 359.5 ? 0.0 : from, pappus_compass_point(from));
    else
        fprintf(stream, "  %-8s", "calm");
    fprintf(stream, "  %6.1f", pappus_quantity_value(PAPPUS_SHOW_WIND, speed, units));
}

static void write_value(FILE *stream, double value, int decimals)
{
    if (isnan(value))
        fprintf(stream, "  %7s", "-");
    else
        fprintf(stream, "  %7.*f", decimals, value);
}

static void write_level(FILE *stream, const pappus_wind_level *level, pappus_unit_system units)
{
    double degrees = level->temperature_k - PAPPUS_ZERO_DEGC_K;
    if (units == PAPPUS_UNITS_US) degrees = degrees * 1.8 + 32.0;
    fprintf(stream, "%8.0f", pappus_quantity_value(PAPPUS_SHOW_HEIGHT, level->height_m, units));
    write_wind(stream, level, units);
    write_value(stream, pappus_quantity_value(PAPPUS_SHOW_WIND, level->speed_sd_mps, units), 1);
    write_value(stream, degrees, 1);
    write_value(stream, level->pressure_pa / 100.0, 1);
    fprintf(stream, "  %s\n", above[level->height_kind]);
}

static void write_profile(FILE *stream, const pappus_wind_profile *profile,
                          pappus_unit_system units)
{
    write_head(stream, profile, units);
    fprintf(stream, "  height  from      speed       sd     temp    press  above\n");
    fprintf(stream, "%8s  %-8s  %6s  %7s  %7s  %7s\n",
            pappus_quantity_unit(PAPPUS_SHOW_HEIGHT, units), "deg true",
            pappus_quantity_unit(PAPPUS_SHOW_WIND, units),
            pappus_quantity_unit(PAPPUS_SHOW_WIND, units),
            units == PAPPUS_UNITS_US ? "degF" : "degC", "hPa");
    for (size_t i = 0; i < profile->level_count; i++)
        write_level(stream, &profile->levels[i], units);
}

static void write_log(FILE *stream, const pappus_log *log)
{
    static const char *const words[] = {"error", "warning", "note"};
    for (size_t i = 0; log && i < log->count; i++) {
        char line[1200];
        pappus_error_line(line, sizeof line, &log->entries[i].error);
        fprintf(stream, "%s%s: %s\n", i == 0 ? "\n" : "", words[log->entries[i].severity], line);
    }
}

int pappus_wind_table_text(char **out, const pappus_winds *winds, pappus_unit_system units,
                           const pappus_log *log, pappus_error *err)
{
    pappus_locale locale;
    pappus_text text;
    *out = NULL;
    if (!pappus_locale_enter(&locale)) return pappus_fail_memory(err);
    int status = pappus_text_begin(&text, err);
    if (status == PAPPUS_OK) {
        for (size_t i = 0; i < winds->profile_count; i++) {
            if (i > 0) fputc('\n', text.stream);
            write_profile(text.stream, &winds->profiles[i], units);
        }
        write_log(text.stream, log);
        status = pappus_text_finish(&text, err);
    }
    pappus_locale_leave(&locale);
    if (status != PAPPUS_OK) return status;
    pappus_text_tame(text.bytes, '\n');
    *out = text.bytes;
    return PAPPUS_OK;
}
