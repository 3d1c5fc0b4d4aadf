/* SPDX-License-Identifier: GPL-3.0-or-later
 * Forecasts on a grid (GRIB 1 and 2): the values at the pad (foreign/grib_point.c) become
 * one profile for each valid time and member.
 *
 * A level is a wind with a height: on a pressure level the geopotential height there, above
 * ground the ground and that much. The ground is the pad's; where the pad's elevation is not
 * known it is the model's own. Levels under the model's ground are made up by its makers and
 * levels under the pad are of no use: both are left out and told, as is a model's ground that
 * is far from the pad's. Of several runs for one time the newest counts. */
#include "grib_point.h"
#include "si.h"
#include "wind_levels.h"
#include "timestamp.h"

#include "error.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define SAME_TIME_S 1.0
#define FAR_GROUND_M 100.0 /* (A) of the model's ground from the pad's: told */

typedef struct {
    pappus_wind_reading *reading;
    const pappus_grib_values *values;
    double model_ground_msl_m, pad_msl_m; /* NaN: not known */
    bool over_ground; /* no pressure level, and no ground known: heights are above it */
    size_t under_ground, without_height, older; /* winds left out */
} forecast;

static bool probe_grib(const char *bytes, size_t length)
{
    return pappus_grib_is(bytes, length);
}

static int by_time_and_member(const void *a, const void *b)
{
    const pappus_grib_value *p = a, *q = b;
    if (p->valid_utc_s != q->valid_utc_s) return p->valid_utc_s < q->valid_utc_s ? -1 : 1;
    if (p->member != q->member) return p->member < q->member ? -1 : 1;
    if (p->issued_utc_s != q->issued_utc_s) return p->issued_utc_s > q->issued_utc_s ? -1 : 1;
    return (p->field > q->field) - (p->field < q->field);
}

/* A value of the element on the same level and run, in [first, end); NaN when none. */
static double beside(const forecast *f, size_t first, size_t end, pappus_grib_element element,
                     const pappus_grib_value *level)
{
    for (size_t i = first; i < end; i++) {
        const pappus_grib_value *v = &f->values->values[i];
        if (v->element == element && v->level_kind == level->level_kind &&
            v->level == level->level && v->issued_utc_s == level->issued_utc_s)
            return v->value;
    }
    return NAN;
}

/* Geopotential height of a pressure level, above ground the height above the sea. */
static double height_of(const forecast *f, size_t first, size_t end, const pappus_grib_value *u)
{
    if (u->level_kind == PAPPUS_GRIB_ABOVE_GROUND)
        return u->level + (isnan(f->pad_msl_m) ? f->model_ground_msl_m : f->pad_msl_m);
    double height = beside(f, first, end, PAPPUS_GRIB_HEIGHT, u);
    if (!isnan(height)) return height;
    return beside(f, first, end, PAPPUS_GRIB_GEOPOTENTIAL, u) / PAPPUS_GRAVITY_MPS2;
}

static bool under_ground(const forecast *f, double height_msl_m)
{
    return height_msl_m < f->pad_msl_m || height_msl_m < f->model_ground_msl_m;
}

static int add_level(forecast *f, pappus_wind_builder *builder, size_t first, size_t end,
                     const pappus_grib_value *u)
{
    pappus_wind_raw raw = pappus_wind_raw_empty(
        u->field, f->over_ground ? PAPPUS_HEIGHT_AGL : PAPPUS_HEIGHT_MSL_GEOPOTENTIAL);
    raw.height_m = f->over_ground ? u->level : height_of(f, first, end, u);
    raw.u_mps = u->value;
    raw.v_mps = beside(f, first, end, PAPPUS_GRIB_V, u);
    if (isnan(raw.u_mps) || isnan(raw.v_mps)) return PAPPUS_OK;
    if (isnan(raw.height_m)) {
        f->without_height++;
        return PAPPUS_OK;
    }
    if (u->level_kind == PAPPUS_GRIB_ISOBARIC) {
        if (under_ground(f, raw.height_m)) {
            f->under_ground++;
            return PAPPUS_OK;
        }
        raw.temperature_k = beside(f, first, end, PAPPUS_GRIB_TEMPERATURE, u);
        raw.pressure_pa = u->level;
    }
    return pappus_wind_builder_add(builder, &raw);
}

/* Of any run: the ground stays, and many files tell it once. */
static double ground_of(const forecast *f, size_t first, size_t end)
{
    for (size_t i = first; i < end; i++) {
        const pappus_grib_value *v = &f->values->values[i];
        if (v->level_kind != PAPPUS_GRIB_SURFACE || isnan(v->value)) continue;
        if (v->element == PAPPUS_GRIB_HEIGHT) return v->value;
        if (v->element == PAPPUS_GRIB_GEOPOTENTIAL) return v->value / PAPPUS_GRAVITY_MPS2;
    }
    return NAN;
}

/* The first wind of a time and member, which is of the newest run that has one; NULL: none. */
static const pappus_grib_value *newest_wind(const pappus_grib_values *values, size_t first,
                                            size_t end)
{
    for (size_t i = first; i < end; i++)
        if (values->values[i].element == PAPPUS_GRIB_U) return &values->values[i];
    return NULL;
}

/* At the surface or at 10 m, which models mean alike. */
static double gust_of(const forecast *f, size_t first, size_t end, double issued_utc_s)
{
    for (size_t i = first; i < end; i++) {
        const pappus_grib_value *v = &f->values->values[i];
        if (v->element == PAPPUS_GRIB_GUST && v->issued_utc_s == issued_utc_s) return v->value;
    }
    return NAN;
}

/* One time and member. */
static int add_profile(forecast *f, pappus_winds *out, size_t first, size_t end,
                       const pappus_grib_value *newest)
{
    const pappus_grib_value *values = f->values->values;
    double ground = ground_of(f, first, end);
    if (!isnan(ground)) f->model_ground_msl_m = ground;
    pappus_wind_profile *profile =
        pappus_winds_append(out, f->reading->path, pappus_wind_grib.name, NULL);
    if (!profile) return pappus_wind_memory_fault(f->reading);
    profile->issued_utc_s = newest->issued_utc_s;
    profile->valid_utc_s = newest->valid_utc_s;
    profile->member = newest->member;
    profile->gridded = true;
    profile->gust_mps = gust_of(f, first, end, newest->issued_utc_s);
    pappus_wind_builder builder = {
        .reading = f->reading,
        .columns = {"height", NULL, NULL, "u", "v", NULL, "temperature", "pressure"}};
    int status = PAPPUS_OK;
    for (size_t i = first; i < end && status == PAPPUS_OK; i++) {
        if (values[i].element != PAPPUS_GRIB_U) continue;
        if (values[i].issued_utc_s == newest->issued_utc_s)
            status = add_level(f, &builder, first, end, &values[i]);
        else
            f->older++;
    }
    if (status == PAPPUS_OK) return pappus_wind_builder_finish(&builder, profile);
    pappus_wind_builder_clear(&builder);
    return status;
}

static size_t end_of(const pappus_grib_values *values, size_t first)
{
    size_t end = first + 1;
    while (end < values->count && values->values[end].member == values->values[first].member &&
           values->values[end].valid_utc_s - values->values[first].valid_utc_s < SAME_TIME_S)
        end++;
    return end;
}

static void tell(const forecast *f)
{
    const char *path = f->reading->path;
    pappus_log *log = f->reading->log;
    if (f->under_ground > 0)
        pappus_log_add(log, PAPPUS_NOTE, PAPPUS_OK, path, NULL, NULL,
                       "%zu pressure levels under the ground or the pad are left out",
                       f->under_ground);
    if (f->older > 0)
        pappus_log_add(log, PAPPUS_NOTE, PAPPUS_OK, path, NULL, NULL,
                       "%zu levels are left out: a run issued later has the same time", f->older);
    if (f->without_height > 0)
        pappus_log_add(log, PAPPUS_WARNING, PAPPUS_OK, path, NULL, NULL,
                       "%zu levels have a wind and no geopotential height, and are left out",
                       f->without_height);
    double off_m = f->model_ground_msl_m - f->pad_msl_m;
    if (fabs(off_m) > FAR_GROUND_M)
        pappus_log_add(
            log, PAPPUS_WARNING, PAPPUS_OK, path, NULL, NULL,
            "the model's ground at the pad is at %.0f m (%.0f ft) MSL, %.0f m (%.0f ft) %s "
            "the pad: its wind near the ground is that of another place",
            f->model_ground_msl_m, f->model_ground_msl_m / PAPPUS_FOOT_M, fabs(off_m),
            fabs(off_m) / PAPPUS_FOOT_M, off_m > 0.0 ? "above" : "below");
}

static bool has_pressure_wind(const forecast *f)
{
    for (size_t i = 0; i < f->values->count; i++)
        if (f->values->values[i].element == PAPPUS_GRIB_U &&
            f->values->values[i].level_kind == PAPPUS_GRIB_ISOBARIC)
            return true;
    return false;
}

static int build_profiles(forecast *f, pappus_winds *out)
{
    int status = PAPPUS_OK;
    qsort(f->values->values, f->values->count, sizeof *f->values->values, by_time_and_member);
    f->model_ground_msl_m = ground_of(f, 0, f->values->count);
    f->over_ground = isnan(f->pad_msl_m) && isnan(f->model_ground_msl_m) && !has_pressure_wind(f);
    for (size_t first = 0; first < f->values->count && status == PAPPUS_OK;) {
        size_t end = end_of(f->values, first);
        const pappus_grib_value *newest = newest_wind(f->values, first, end);
        if (newest) status = add_profile(f, out, first, end, newest);
        first = end;
    }
    if (status == PAPPUS_OK) tell(f);
    return status;
}

/* No height for any wind is told as such, before the builder finds no level at all. */
static int check_heights(const forecast *f)
{
    bool pressure_wind = false;
    for (size_t i = 0; i < f->values->count; i++) {
        const pappus_grib_value *v = &f->values->values[i];
        bool height = v->element == PAPPUS_GRIB_HEIGHT || v->element == PAPPUS_GRIB_GEOPOTENTIAL;
        if (height && v->level_kind == PAPPUS_GRIB_ISOBARIC) return PAPPUS_OK;
        pressure_wind = pressure_wind || v->level_kind == PAPPUS_GRIB_ISOBARIC;
    }
    if (!pressure_wind) return PAPPUS_OK;
    return pappus_wind_file_fault(f->reading, NULL, NULL,
                                  "no geopotential height on its pressure levels; accepted is a "
                                  "file that holds it beside u and v");
}

static int read_grib(pappus_winds *out, pappus_wind_reading *reading)
{
    pappus_grib_values values;
    pappus_error error = {0};
    const pappus_wind_wanted *wanted = &reading->wanted;
    if (isnan(wanted->latitude_deg) || isnan(wanted->longitude_deg))
        return pappus_wind_file_fault(reading, "place", NULL,
                                      "a forecast on a grid; give the place (--at LAT,LON)");
    int status = pappus_grib_read(&values, reading->path, wanted->latitude_deg,
                                  wanted->longitude_deg, &error);
    if (status != PAPPUS_OK) return pappus_log_error(reading->log, &error);
    forecast f = {.reading = reading,
                  .values = &values,
                  .model_ground_msl_m = NAN,
                  .pad_msl_m = wanted->elevation_msl_m};
    status = check_heights(&f);
    if (status == PAPPUS_OK) status = build_profiles(&f, out);
    pappus_grib_values_clear(&values);
    return status;
}

const pappus_wind_format pappus_wind_grib = {.name = "GRIB",
                                             .help = "a GRIB 1 or 2 forecast",
                                             .by_path = true,
                                             .says_kind = true,
                                             .kind = PAPPUS_WIND_FORECAST,
                                             .probe = probe_grib,
                                             .read = read_grib};
