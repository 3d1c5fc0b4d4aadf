/* SPDX-License-Identifier: GPL-3.0-or-later
 * Adds a flight to the folder of a season: its log, then its record, named after its time. The
 * record comes last, so that what is cut short leaves no record. */
#include <pappus/debrief.h>
#include <pappus/output.h>

#include "c_locale.h"
#include "error.h"
#include "file.h"
#include "json.h"
#include "timestamp.h"

#include <errno.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#define NAMES_MOST 100

static void add(cJSON *to, const char *key, double value, const char *unit)
{
    char text[64];
    if (!isfinite(value)) return;
    snprintf(text, sizeof text, "%.10g %s", value, unit);
    cJSON_AddStringToObject(to, key, text);
}

static void add_plan(cJSON *to, const pappus_plan *plan)
{
    const pappus_uncertain *mass = &plan->rocket.mass_kg;
    char text[80];
    if (mass->distribution == PAPPUS_NORMAL) {
        snprintf(text, sizeof text, "%.6g kg +/- %.3g kg", mass->mean, mass->sd);
        cJSON_AddStringToObject(to, "mass", text);
    } else {
        add(to, "mass", mass->mean, "kg");
    }
    if (!plan->wind.has_surface) return;
    cJSON *surface = cJSON_AddObjectToObject(to, "surface");
    add(surface, "speed", plan->wind.surface.speed_mps, "m/s");
    add(surface, "direction", plan->wind.surface.direction_deg, "deg");
    add(surface, "height", plan->wind.surface.height_m, "m");
    add(surface, "error", plan->wind.surface.error_mps, "m/s");
    add(surface, "gust", plan->wind.gust_mps, "m/s");
}

static int record_text(char **out, const pappus_flight *flight, const pappus_plan *plan,
                       const char *log_name, pappus_error *err)
{
    char time[40];
    cJSON *root = cJSON_CreateObject();
    pappus_time_format(time, sizeof time, flight->time_utc_s);
    cJSON_AddStringToObject(root, "time", time);
    if (isfinite(flight->landing_latitude_deg)) {
        cJSON *landing = cJSON_AddObjectToObject(root, "landing");
        add(landing, "latitude", flight->landing_latitude_deg, "deg");
        add(landing, "longitude", flight->landing_longitude_deg, "deg");
    }
    add_plan(root, plan);
    if (log_name) cJSON_AddStringToObject(root, "log", log_name);
    int status = pappus_json_print(out, root, err);
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

static int copy_log(const char *to, const char *from, pappus_error *err)
{
    char *text = NULL;
    size_t length;
    int status = pappus_file_read(&text, &length, from, PAPPUS_FILE_LIMIT, PAPPUS_E_RECORD, err);
    if (status == PAPPUS_OK) status = pappus_file_write(to, text, length, err);
    free(text);
    return status;
}

static int keep(const char *folder, const pappus_flight *flight, const pappus_plan *plan,
                const char *log_path, pappus_error *err)
{
    char name[40], log_name[48], *record = NULL, *copy = NULL;
    if (mkdir(folder, 0777) != 0 && errno != EEXIST)
        return pappus_fail(err, pappus_file_code(errno, PAPPUS_E_REFUSED), folder, NULL, NULL, "%s",
                           strerror(errno));
    if (!free_name(name, folder, flight->time_utc_s))
        return pappus_fail(err, PAPPUS_E_REFUSED, folder, NULL, NULL,
                           "has %d flights of this time already", NAMES_MOST);
    snprintf(log_name, sizeof log_name, "%s.csv", name);
    char *text = NULL;
    int status = record_text(&text, flight, plan, log_path ? log_name : NULL, err);
    bool made = asprintf(&record, "%s/%s.json", folder, name) >= 0;
    if (!made) record = NULL;
    if (made && asprintf(&copy, "%s/%s", folder, log_name) < 0) copy = NULL;
    if (status == PAPPUS_OK && !(record && copy)) status = pappus_fail_memory(err);
    if (status == PAPPUS_OK && log_path) status = copy_log(copy, log_path, err);
    if (status == PAPPUS_OK) {
        status = pappus_file_write_new(record, text, err);
        if (status != PAPPUS_OK && log_path) unlink(copy);
    }
    free(text);
    free(record);
    free(copy);
    return status;
}

int pappus_flight_keep(const char *folder, const pappus_flight *flight, const pappus_plan *plan,
                       const char *log_path, pappus_error *err)
{
    pappus_locale locale;
    if (!pappus_locale_enter(&locale)) return pappus_fail_memory(err);
    int status = keep(folder, flight, plan, log_path, err);
    pappus_locale_leave(&locale);
    return status;
}
