/* SPDX-License-Identifier: GPL-3.0-or-later
 * Winds as a layer table (CSV), which the layer reader takes back to the same
 * levels bit for bit: every number is written with the fewest digits that read
 * back to it. The wind is direction and speed where those do, else u and v for
 * the whole table. Heights stay of the kind that the source has, each in its own
 * column, so nothing is converted that only the air of the launch can convert.
 * The name of the station is a comment and is lost on reading. */
#include "c_locale.h"
#include "error.h"
#include "si.h"
#include "timestamp.h"
#include "wind_levels.h"
#include "writer.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define NUMBER_SIZE 32
#define HEIGHT_KINDS 4

static const char *const height_names[HEIGHT_KINDS] = {
    [PAPPUS_HEIGHT_AGL] = "height_agl_m",
    [PAPPUS_HEIGHT_MSL] = "height_msl_m",
    [PAPPUS_HEIGHT_MSL_GEOPOTENTIAL] = "height_geopotential_m",
    [PAPPUS_HEIGHT_PRESSURE] = "height_pressure_m",
};

/* Which columns the table has. */
typedef struct {
    bool heights[HEIGHT_KINDS], components, sd, gust, temperature, pressure, time, issued, member,
        kind;
} layout;

typedef struct {
    char direction[NUMBER_SIZE], speed[NUMBER_SIZE];
} polar;

/* The shortest text, from six digits on, that reads as value + offset. */
static void shortest(char out[NUMBER_SIZE], double value, double offset)
{
    for (int digits = 6; digits <= 17; digits++) {
        snprintf(out, NUMBER_SIZE, "%.*g", digits, value - offset);
        if (strtod(out, NULL) + offset == value) return;
    }
}

static bool reads_back(const pappus_wind_level *level, const polar *wind)
{
    double u, v, direction = strtod(wind->direction, NULL);
    if (direction >= 360.0) return false;
    pappus_wind_components(&u, &v, direction, strtod(wind->speed, NULL));
    return u == level->u_mps && v == level->v_mps;
}

/* hypot may be one step off the speed that the file had. */
static bool near_speed(polar *out, const pappus_wind_level *level, double speed)
{
    const double steps[] = {nextafter(speed, 0.0), nextafter(speed, INFINITY)};
    for (int i = 0; i < 2; i++) {
        snprintf(out->speed, sizeof out->speed, "%.17g", steps[i]);
        if (reads_back(level, out)) return true;
    }
    return false;
}

/* Direction and speed that read back to the components; false when none near do. */
static bool find_polar(polar *out, const pappus_wind_level *level)
{
    double speed = hypot(level->u_mps, level->v_mps);
    double direction = atan2(-level->u_mps, -level->v_mps) * (180.0 / M_PI);
    if (direction < 0.0) direction += 360.0;
    if (speed == 0.0) direction = 0.0;
    for (int digits = 3; digits <= 17; digits++) {
        snprintf(out->direction, sizeof out->direction, "%.*g", digits, direction);
        if (fabs(strtod(out->direction, NULL) - direction) > 1e-9) continue;
        for (int speed_digits = 3; speed_digits <= 17; speed_digits++) {
            snprintf(out->speed, sizeof out->speed, "%.*g", speed_digits, speed);
            if (reads_back(level, out)) return true;
        }
        if (near_speed(out, level, speed)) return true;
    }
    return false;
}

static layout lay_out(const pappus_winds *winds)
{
    layout l = {0};
    for (size_t p = 0; p < winds->profile_count; p++) {
        const pappus_wind_profile *profile = &winds->profiles[p];
        l.time = l.time || !isnan(profile->valid_utc_s);
        l.issued = l.issued || !isnan(profile->issued_utc_s);
        l.member = l.member || profile->member >= 0;
        l.kind = l.kind || !profile->kind_assumed;
        l.gust = l.gust || !isnan(profile->gust_mps);
        for (size_t i = 0; i < profile->level_count; i++) {
            const pappus_wind_level *level = &profile->levels[i];
            polar wind;
            l.heights[level->height_kind] = true;
            l.sd = l.sd || !isnan(level->speed_sd_mps);
            l.temperature = l.temperature || !isnan(level->temperature_k);
            l.pressure = l.pressure || !isnan(level->pressure_pa);
            if (!l.components && !isnan(level->u_mps)) l.components = !find_polar(&wind, level);
        }
    }
    return l;
}

/* Each of several profiles needs a time and member that no other has. */
static int check_times(const pappus_winds *winds, pappus_error *err)
{
    for (size_t i = 0; i < winds->profile_count && winds->profile_count > 1; i++)
        for (size_t j = 0; j <= i; j++) {
            const pappus_wind_profile *a = &winds->profiles[i], *b = &winds->profiles[j];
            bool differ = i == j || a->valid_utc_s != b->valid_utc_s || a->member != b->member;
            bool alike = (a->member < 0) == (b->member < 0);
            if (!isnan(a->valid_utc_s) && differ && alike) continue;
            return pappus_fail(err, PAPPUS_E_OUTPUT, a->path, NULL, NULL,
                               "profiles of one layer table need a time each, and no two of one "
                               "member the same; convert one at a time");
        }
    return PAPPUS_OK;
}

/* A comment stays in its line whatever the file is called. */
static int write_comment(FILE *stream, const pappus_wind_profile *profile, pappus_error *err)
{
    const char *name = strrchr(profile->path, '/');
    char *clean = strdup(name ? name + 1 : profile->path);
    if (!clean) return pappus_fail_memory(err);
    for (char *c = clean; *c; c++)
        if ((unsigned char)*c < 0x20 || *c == 0x7F) *c = '?';
    fprintf(stream, "# pappus: from %s, read as %s", clean, profile->format);
    if (profile->station) fprintf(stream, ", station %s", profile->station);
    fputc('\n', stream);
    free(clean);
    return PAPPUS_OK;
}

static void write_header(FILE *stream, const layout *l)
{
    const char *separator = "";
    if (l->time) {
        fputs("time", stream);
        separator = ",";
    }
    if (l->issued) {
        fprintf(stream, "%sissued", separator);
        separator = ",";
    }
    if (l->member) {
        fprintf(stream, "%smember", separator);
        separator = ",";
    }
    if (l->kind) {
        fprintf(stream, "%skind", separator);
        separator = ",";
    }
    for (int k = 0; k < HEIGHT_KINDS; k++) {
        if (!l->heights[k]) continue;
        fprintf(stream, "%s%s", separator, height_names[k]);
        separator = ",";
    }
    fputs(l->components ? ",u_mps,v_mps" : ",direction_deg,speed_mps", stream);
    if (l->sd) fputs(",speed_sd_mps", stream);
    if (l->gust) fputs(",gust_mps", stream);
    if (l->temperature) fputs(",temperature_degC", stream);
    if (l->pressure) fputs(",pressure_Pa", stream);
    fputc('\n', stream);
}

static void write_number(FILE *stream, double value, double offset)
{
    char text[NUMBER_SIZE] = "";
    if (!isnan(value)) shortest(text, value, offset);
    fprintf(stream, ",%s", text);
}

static void write_wind(FILE *stream, const pappus_wind_level *level, bool components)
{
    polar wind = {"", ""};
    if (components) {
        write_number(stream, level->u_mps, 0.0);
        write_number(stream, level->v_mps, 0.0);
        return;
    }
    if (!isnan(level->u_mps)) find_polar(&wind, level);
    fprintf(stream, ",%s,%s", wind.direction, wind.speed);
}

static void write_times(FILE *stream, const pappus_wind_profile *profile, const layout *l,
                        const char **separator)
{
    char text[40];
    if (l->time) {
        pappus_time_format(text, sizeof text, profile->valid_utc_s);
        fputs(isnan(profile->valid_utc_s) ? "" : text, stream);
        *separator = ",";
    }
    if (l->issued) {
        pappus_time_format(text, sizeof text, profile->issued_utc_s);
        fprintf(stream, "%s%s", *separator, isnan(profile->issued_utc_s) ? "" : text);
        *separator = ",";
    }
}

static void write_source(FILE *stream, const pappus_wind_profile *profile, const layout *l,
                         const char **separator)
{
    if (l->member) {
        fputs(*separator, stream);
        if (profile->member >= 0) fprintf(stream, "%d", profile->member);
        *separator = ",";
    }
    if (l->kind) {
        fprintf(stream, "%s%s", *separator,
                profile->kind_assumed ? "" : pappus_wind_kind_text(profile->kind));
        *separator = ",";
    }
}

static void write_level(FILE *stream, const pappus_wind_profile *profile,
                        const pappus_wind_level *level, const layout *l)
{
    const char *separator = "";
    char text[NUMBER_SIZE];
    write_times(stream, profile, l, &separator);
    write_source(stream, profile, l, &separator);
    shortest(text, level->height_m, 0.0);
    for (int k = 0; k < HEIGHT_KINDS; k++) {
        if (!l->heights[k]) continue;
        fprintf(stream, "%s%s", separator, (int)level->height_kind == k ? text : "");
        separator = ",";
    }
    write_wind(stream, level, l->components);
    if (l->sd) write_number(stream, level->speed_sd_mps, 0.0);
    if (l->gust) write_number(stream, level == profile->levels ? profile->gust_mps : NAN, 0.0);
    if (l->temperature) write_number(stream, level->temperature_k, PAPPUS_ZERO_DEGC_K);
    if (l->pressure) write_number(stream, level->pressure_pa, 0.0);
    fputc('\n', stream);
}

static int write_table(FILE *stream, const pappus_winds *winds, pappus_error *err)
{
    layout l = lay_out(winds);
    int status = write_comment(stream, &winds->profiles[0], err);
    if (status != PAPPUS_OK) return status;
    write_header(stream, &l);
    for (size_t p = 0; p < winds->profile_count; p++)
        for (size_t i = 0; i < winds->profiles[p].level_count; i++)
            write_level(stream, &winds->profiles[p], &winds->profiles[p].levels[i], &l);
    return PAPPUS_OK;
}

int pappus_wind_csv_text(char **out, const pappus_winds *winds, pappus_error *err)
{
    pappus_locale locale;
    pappus_text text;
    *out = NULL;
    if (winds->profile_count == 0)
        return pappus_fail(err, PAPPUS_E_OUTPUT, NULL, NULL, NULL, "no profile to write");
    int status = check_times(winds, err);
    if (status != PAPPUS_OK) return status;
    if (!pappus_locale_enter(&locale)) return pappus_fail_memory(err);
    status = pappus_text_begin(&text, err);
    if (status == PAPPUS_OK) {
        int written = write_table(text.stream, winds, err);
        status = pappus_text_finish(&text, err);
        if (status == PAPPUS_OK && written != PAPPUS_OK) {
            free(text.bytes);
            status = written;
        }
    }
    pappus_locale_leave(&locale);
    if (status == PAPPUS_OK) *out = text.bytes;
    return status;
}
