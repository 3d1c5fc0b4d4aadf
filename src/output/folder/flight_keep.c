/* SPDX-License-Identifier: GPL-3.0-or-later
 * Adds a flight to the folder of a season: its log, the wind files of the plan, then its record,
 * named after its time. The record comes last, so that what is cut short leaves no record. A
 * wind file is copied, since the next day's may take its name; a large one stays where it is. */
#include <pappus/debrief.h>
#include <pappus/output.h>

#include "c_locale.h"
#include "error.h"
#include "file.h"
#include "format.h"
#include "json.h"
#include "timestamp.h"

#include <errno.h>
#include <math.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#define NAMES_MOST 100
#define COPIED_MOST_BYTES (4 << 20)

typedef struct {
    const char *folder, *log_path; /* log_path: NULL: none */
    const pappus_flight *flight;
    const pappus_plan *plan;
    char log_name[48];
    char **wind_names; /* as the record has them, for each entry of wind.profiles */
    size_t copied;     /* that may be there */
    bool failed;       /* memory was short for a member of the record */
} keeping;

/* What memory is short for is remembered: no record goes without a member. */
static cJSON *check(keeping *k, cJSON *made)
{
    if (!made) k->failed = true;
    return made;
}

static void add_text(keeping *k, cJSON *to, const char *key, const char *text)
{
    check(k, cJSON_AddStringToObject(to, key, text));
}

static void add(keeping *k, cJSON *to, const char *key, double value, const char *unit)
{
    char text[64];
    if (!isfinite(value)) return;
    snprintf(text, sizeof text, "%.10g %s", value, unit);
    add_text(k, to, key, text);
}

static void add_time(keeping *k, cJSON *to, const char *key, double utc_s)
{
    char text[40];
    if (isnan(utc_s)) return;
    pappus_time_format(text, sizeof text, utc_s);
    add_text(k, to, key, text);
}

static void add_landing(keeping *k, cJSON *to)
{
    if (!isfinite(k->flight->landing_latitude_deg)) return;
    cJSON *landing = check(k, cJSON_AddObjectToObject(to, "landing"));
    add(k, landing, "latitude", k->flight->landing_latitude_deg, "deg");
    add(k, landing, "longitude", k->flight->landing_longitude_deg, "deg");
}

static void add_plan(keeping *k, cJSON *to)
{
    const pappus_uncertain *mass = &k->plan->rocket.mass_kg;
    const pappus_wind_plan *wind = &k->plan->wind;
    char text[80];
    if (mass->distribution == PAPPUS_NORMAL) {
        snprintf(text, sizeof text, "%.6g kg +/- %.3g kg", mass->mean, mass->sd);
        add_text(k, to, "mass", text);
    } else {
        add(k, to, "mass", mass->mean, "kg");
    }
    if (!wind->has_surface) return;
    cJSON *surface = check(k, cJSON_AddObjectToObject(to, "surface"));
    add(k, surface, "speed", wind->surface.speed_mps, "m/s");
    add(k, surface, "direction", wind->surface.direction_deg, "deg");
    add(k, surface, "height", wind->surface.height_m, "m");
    add(k, surface, "error", wind->surface.error_mps, "m/s");
    add(k, surface, "gust", wind->gust_mps, "m/s");
}

/* One entry as wind.profiles has them, under the name that its file has got. */
static void add_profile(keeping *k, cJSON *list, const pappus_profile_source *from,
                        const char *name)
{
    const pappus_wind_plan *wind = &k->plan->wind;
    cJSON *to = cJSON_CreateObject();
    if (!cJSON_AddItemToArray(list, to)) {
        cJSON_Delete(to);
        k->failed = true;
        return;
    }
    add_text(k, to, "file", name);
    if (from->station) add_text(k, to, "station", from->station);
    add_time(k, to, "sounding", from->sounding_utc_s);
    add_time(k, to, "valid", from->valid_utc_s);
    if (from->weight != 1.0) check(k, cJSON_AddNumberToObject(to, "weight", from->weight));
    if (from->kind_given || wind->kind_given)
        add_text(k, to, "kind", pappus_wind_kind_text(from->kind_given ? from->kind : wind->kind));
}

static void add_winds(keeping *k, cJSON *to)
{
    const pappus_wind_plan *wind = &k->plan->wind;
    if (wind->profile_count == 0) return;
    cJSON *list = check(k, cJSON_AddArrayToObject(to, "profiles"));
    for (size_t i = 0; i < wind->profile_count; i++)
        add_profile(k, list, &wind->profiles[i], k->wind_names[i]);
    if (isnan(wind->age_s)) return;
    add(k, check(k, cJSON_AddObjectToObject(to, "set")), "wind.age", wind->age_s / 3600.0, "h");
}

static int record_text(char **out, keeping *k, pappus_error *err)
{
    cJSON *root = check(k, cJSON_CreateObject());
    add_time(k, root, "time", k->flight->time_utc_s);
    add_landing(k, root);
    add_plan(k, root);
    if (k->log_path) add_text(k, root, "log", k->log_name);
    add_winds(k, root);
    int status = k->failed ? pappus_fail_memory(err) : pappus_json_print(out, root, err);
    cJSON_Delete(root);
    return status;
}

/* A name that neither a record nor a log has yet: 2027-04-17T1510Z, 2027-04-17T1510Z_2 ... */
static bool free_name(char out[40], const char *folder, double utc_s)
{
    char time[40], path[4200];
    pappus_time_format(time, sizeof time, utc_s);
    for (int n = 1; n < NAMES_MOST; n++) {
        struct stat about;
        char number[8] = "";
        if (n > 1) snprintf(number, sizeof number, "_%d", n);
        snprintf(out, 40, "%.13s%.2sZ%s", time, time + 14, number);
        snprintf(path, sizeof path, "%.4000s/%s.json", folder, out);
        bool taken = lstat(path, &about) == 0;
        snprintf(path, sizeof path, "%.4000s/%s.csv", folder, out);
        if (!taken && lstat(path, &about) != 0) return true;
    }
    return false;
}

/* name: in the folder. */
static int copy_file(const keeping *k, const char *name, const char *from, size_t limit,
                     pappus_error *err)
{
    char *text = NULL, *to = NULL;
    size_t length;
    int status = pappus_file_read(&text, &length, from, limit, PAPPUS_E_RECORD, err);
    if (status == PAPPUS_OK && asprintf(&to, "%s/%s", k->folder, name) < 0) {
        to = NULL;
        status = pappus_fail_memory(err);
    }
    if (status == PAPPUS_OK) status = pappus_file_write(to, text, length, err);
    free(text);
    free(to);
    return status;
}

/* A copy's name ends as the file's own does; a file that stays is named from the root. */
static int keep_wind(keeping *k, size_t i, const char *name, pappus_error *err)
{
    const char *path = k->plan->wind.profiles[i].path, *file = pappus_file_name(path);
    const char *end = strrchr(file, '.');
    struct stat about;
    if (stat(path, &about) != 0)
        return pappus_fail(err, pappus_file_code(errno, PAPPUS_E_RECORD), path, NULL, NULL, "%s",
                           strerror(errno));
    if (about.st_size > COPIED_MOST_BYTES) {
        k->wind_names[i] = realpath(path, NULL);
        return k->wind_names[i] ? PAPPUS_OK : pappus_fail_memory(err);
    }
    if (asprintf(&k->wind_names[i], "%s_wind%zu%s", name, i + 1, end ? end : "") < 0) {
        k->wind_names[i] = NULL;
        return pappus_fail_memory(err);
    }
    k->copied = i + 1;
    return copy_file(k, k->wind_names[i], path, PAPPUS_FILE_LIMIT, err);
}

static int keep_files(keeping *k, const char *name, pappus_error *err)
{
    size_t count = k->plan->wind.profile_count;
    int status = PAPPUS_OK;
    k->wind_names = calloc(count + 1, sizeof *k->wind_names);
    if (!k->wind_names) return pappus_fail_memory(err);
    if (k->log_path) status = copy_file(k, k->log_name, k->log_path, PAPPUS_FILE_LIMIT, err);
    for (size_t i = 0; i < count && status == PAPPUS_OK; i++)
        status = keep_wind(k, i, name, err);
    return status;
}

static int put_record(keeping *k, const char *name, pappus_error *err)
{
    char *text = NULL, *path = NULL;
    int status = record_text(&text, k, err);
    if (status == PAPPUS_OK && asprintf(&path, "%s/%s.json", k->folder, name) < 0) {
        path = NULL;
        status = pappus_fail_memory(err);
    }
    if (status == PAPPUS_OK) status = pappus_file_write_new(path, text, err);
    free(text);
    free(path);
    return status;
}

/* Files without a record are of no use; those that are not there do no harm. */
static void drop_files(const keeping *k)
{
    char path[4200];
    snprintf(path, sizeof path, "%.4000s/%s", k->folder, k->log_name);
    if (k->log_path) unlink(path);
    for (size_t i = 0; i < k->copied; i++) {
        snprintf(path, sizeof path, "%.4000s/%.180s", k->folder, k->wind_names[i]);
        if (k->wind_names[i][0] != '/') unlink(path);
    }
}

static int keep(keeping *k, pappus_error *err)
{
    char name[40];
    bool made = mkdir(k->folder, 0777) == 0;
    if (!made && errno != EEXIST)
        return pappus_fail(err, pappus_file_code(errno, PAPPUS_E_REFUSED), k->folder, NULL, NULL,
                           "%s", strerror(errno));
    if (!free_name(name, k->folder, k->flight->time_utc_s))
        return pappus_fail(err, PAPPUS_E_REFUSED, k->folder, NULL, NULL,
                           "has %d flights of this time already", NAMES_MOST);
    snprintf(k->log_name, sizeof k->log_name, "%s.csv", name);
    int status = keep_files(k, name, err);
    if (status == PAPPUS_OK) status = put_record(k, name, err);
    if (status != PAPPUS_OK) drop_files(k);
    if (status != PAPPUS_OK && made) rmdir(k->folder);
    for (size_t i = 0; k->wind_names && i < k->plan->wind.profile_count; i++)
        free(k->wind_names[i]);
    free(k->wind_names);
    return status;
}

int pappus_flight_keep(const char *folder, const pappus_flight *flight, const pappus_plan *plan,
                       const char *log_path, pappus_error *err)
{
    pappus_locale locale;
    if (!pappus_locale_enter(&locale)) return pappus_fail_memory(err);
    keeping k = {.folder = folder, .flight = flight, .plan = plan, .log_path = log_path};
    int status = keep(&k, err);
    pappus_locale_leave(&locale);
    return status;
}
