/* SPDX-License-Identifier: GPL-3.0-or-later
 * What is kept of a flight: JSON in the plan's manner, values with their units. What belongs
 * to the plan (surface, profiles, mass, set) is handed on as settings, so that one reader judges
 * it; files of `profiles` are taken from the record's folder, as its log is. A folder stands for
 * every .json in it, in order of their names; a file that is no JSON for a flight of which only
 * this log is kept. */
#include <pappus/debrief.h>

#include "c_locale.h"
#include "coordinate.h"
#include "error.h"
#include "file.h"
#include "grow.h"
#include "json.h"
#include "units.h"

#include <dirent.h>
#include <errno.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#define ACCEPTED_KEYS "accepted are time, landing, surface, profiles, log, mass, notes and set"

typedef struct {
    const char *path;
    pappus_log *log;
    pappus_flight *out;
    int status; /* of the first fault */
} reading;

static bool fault(reading *r, const char *key, const cJSON *found, const char *message)
{
    char value[120] = "";
    if (found) pappus_json_text(value, sizeof value, found);
    int status = pappus_log_add(r->log, PAPPUS_FAULT, PAPPUS_E_RECORD, r->path, key,
                                found ? value : NULL, "%s", message);
    if (r->status == PAPPUS_OK) r->status = status;
    return false;
}

static void memory_fault(reading *r)
{
    int status =
        pappus_log_add(r->log, PAPPUS_FAULT, PAPPUS_E_MEMORY, r->path, NULL, NULL, "out of memory");
    if (r->status == PAPPUS_OK) r->status = status;
}

static void keep(reading *r, char **to, const char *text)
{
    *to = strdup(text);
    if (!*to) memory_fault(r);
}

/* Takes over `setting`. */
static void add_setting(reading *r, char *setting)
{
    pappus_flight *out = r->out;
    if (setting && PAPPUS_GROW(out->settings, NULL, out->setting_count + 1)) {
        out->settings[out->setting_count++] = setting;
        return;
    }
    free(setting);
    memory_fault(r);
}

/* A value of JSON as a setting's text: a string as it stands, others as JSON. */
static void add_value(reading *r, const char *key, const cJSON *value)
{
    char *setting = NULL, *json = cJSON_IsString(value) ? NULL : cJSON_PrintUnformatted(value);
    const char *text = cJSON_IsString(value) ? value->valuestring : json;
    if (text && asprintf(&setting, "%s=%s", key, text) < 0) setting = NULL;
    free(json);
    add_setting(r, setting);
}

/* --------------------------------------------------------------------------- keys */

static void read_time(reading *r, const cJSON *item)
{
    pappus_error error = {0};
    if (!cJSON_IsString(item))
        fault(r, "time", item, "accepted is a time, as in \"2027-04-17T15:10Z\"");
    else if (pappus_time_parse(&r->out->time_utc_s, item->valuestring, &error) != PAPPUS_OK)
        fault(r, "time", item, error.message);
}

static void read_angle(reading *r, const char *key, const cJSON *item, bool latitude, double *out)
{
    pappus_error error = {0};
    pappus_dimension dimension = latitude ? PAPPUS_DIM_LATITUDE : PAPPUS_DIM_LONGITUDE;
    double most = latitude ? 90.0 : 180.0;
    if (!item || !cJSON_IsString(item)) {
        fault(r, key, item,
              latitude ? "accepted is a latitude, as in \"41.7631 deg\" or \"41 45.786 N\""
                       : "accepted is a longitude, as in \"-98.4402 deg\" or \"98 26.412 W\"");
        return;
    }
    if (!pappus_coordinate_read(out, item->valuestring, latitude) &&
        pappus_units_parse(out, NULL, dimension, item->valuestring, &error) != PAPPUS_OK) {
        fault(r, key, item, error.message);
        return;
    }
    if (fabs(*out) > most) fault(r, key, item, "there is no such place; accepted is one on earth");
}

static void read_landing(reading *r, const cJSON *item)
{
    const cJSON *member;
    if (!cJSON_IsObject(item)) {
        fault(r, "landing", item, "accepted is {\"latitude\": \"... deg\", \"longitude\": ...}");
        return;
    }
    cJSON_ArrayForEach(member, item) if (strcmp(member->string, "latitude") != 0 &&
                                         strcmp(member->string, "longitude") != 0)
        fault(r, "landing", member, "an unknown key inside; accepted are latitude and longitude");
    read_angle(r, "landing.latitude", cJSON_GetObjectItemCaseSensitive(item, "latitude"), true,
               &r->out->landing_latitude_deg);
    read_angle(r, "landing.longitude", cJSON_GetObjectItemCaseSensitive(item, "longitude"), false,
               &r->out->landing_longitude_deg);
}

static void read_surface(reading *r, const cJSON *item)
{
    if (!cJSON_IsObject(item)) {
        fault(r, "surface", item, "accepted is an object as the plan's wind.surface");
        return;
    }
    r->out->surface = cJSON_PrintUnformatted(item);
    if (!r->out->surface) memory_fault(r);
}

/* `name` from the folder of the record. */
static char *beside(const char *path, const char *name)
{
    const char *slash = strrchr(path, '/');
    char *out = NULL;
    int folder = slash && name[0] != '/' ? (int)(slash + 1 - path) : 0;
    return asprintf(&out, "%.*s%s", folder, path, name) < 0 ? NULL : out;
}

/* A wind file, or an object that names one, from the root. */
static bool root_profile(cJSON *item, const char *folder)
{
    cJSON *file = cJSON_IsObject(item) ? cJSON_GetObjectItemCaseSensitive(item, "file") : item;
    char *path = NULL;
    if (!cJSON_IsString(file) || file->valuestring[0] == '/') return true;
    if (asprintf(&path, "%s/%s", folder, file->valuestring) < 0) return false;
    bool good = cJSON_SetValuestring(file, path) != NULL;
    free(path);
    return good;
}

static void read_profiles(reading *r, const cJSON *item)
{
    if (!cJSON_IsArray(item)) {
        fault(r, "profiles", item, "accepted is a list of wind files, as the plan's wind.profiles");
        return;
    }
    char *name = beside(r->path, "."), *folder = name ? realpath(name, NULL) : NULL;
    cJSON *list = cJSON_Duplicate(item, true), *one;
    bool good = folder && list;
    cJSON_ArrayForEach(one, list) good = good && root_profile(one, folder);
    if (good) r->out->profiles = cJSON_PrintUnformatted(list);
    if (!r->out->profiles) memory_fault(r);
    cJSON_Delete(list);
    free(folder);
    free(name);
}

static void read_log(reading *r, const cJSON *item)
{
    if (!cJSON_IsString(item) || !item->valuestring[0]) {
        fault(r, "log", item, "accepted is the path of a table in quotes");
        return;
    }
    char *path = beside(r->path, item->valuestring);
    if (!path) {
        memory_fault(r);
        return;
    }
    int status = pappus_flight_log_read(&r->out->log, path, r->log);
    if (r->status == PAPPUS_OK) r->status = status;
    free(path);
}

static void read_text(reading *r, const char *key, const cJSON *item, char **out)
{
    if (cJSON_IsString(item))
        keep(r, out, item->valuestring);
    else
        fault(r, key, item, "accepted is a text in quotes");
}

static void read_set(reading *r, const cJSON *item)
{
    const cJSON *member;
    if (!cJSON_IsObject(item)) {
        fault(r, "set", item,
              "accepted is an object of dotted keys of the plan, as in {\"apogee.height\": ...}");
        return;
    }
    cJSON_ArrayForEach(member, item) add_value(r, member->string, member);
}

static void read_member(reading *r, const cJSON *item)
{
    if (cJSON_IsNull(item)) return;
    if (strcmp(item->string, "time") == 0)
        read_time(r, item);
    else if (strcmp(item->string, "landing") == 0)
        read_landing(r, item);
    else if (strcmp(item->string, "surface") == 0)
        read_surface(r, item);
    else if (strcmp(item->string, "profiles") == 0)
        read_profiles(r, item);
    else if (strcmp(item->string, "log") == 0)
        read_log(r, item);
    else if (strcmp(item->string, "mass") == 0)
        read_text(r, "mass", item, &r->out->mass);
    else if (strcmp(item->string, "notes") == 0)
        read_text(r, "notes", item, &r->out->notes);
    else if (strcmp(item->string, "set") == 0)
        read_set(r, item);
    else
        fault(r, item->string, NULL, "an unknown key; " ACCEPTED_KEYS);
}

static void read_tree(reading *r, const cJSON *tree)
{
    const cJSON *member;
    if (!cJSON_IsObject(tree)) {
        fault(r, NULL, NULL,
              "not a record of a flight; accepted is one JSON object, "
              "{\"time\": ..., \"landing\": ..., \"log\": ...}");
        return;
    }
    cJSON_ArrayForEach(member, tree) read_member(r, member);
    if (!cJSON_GetObjectItemCaseSensitive(tree, "landing") &&
        !cJSON_GetObjectItemCaseSensitive(tree, "log"))
        fault(r, NULL, NULL, "neither landing nor log; accepted is a record with one of them");
}

static void clear_flight(pappus_flight *flight)
{
    free(flight->path);
    free(flight->surface);
    free(flight->profiles);
    free(flight->mass);
    free(flight->notes);
    for (size_t i = 0; i < flight->setting_count; i++)
        free(flight->settings[i]);
    free(flight->settings);
    pappus_flight_log_free(flight->log);
}

/* A name that ends in .json, or what begins as an object. */
static int look_for_json(void *found, const char *head, size_t length, pappus_error *err)
{
    size_t i = 0;
    (void)err;
    if (length > 2 && memcmp(head, "\xEF\xBB\xBF", 3) == 0) i = 3;
    while (i < length && strchr(" \t\r\n", head[i]) && head[i])
        i++;
    *(bool *)found = *(bool *)found || (i < length && head[i] == '{');
    return PAPPUS_OK;
}

static bool ends_in_json(const char *name)
{
    size_t n = strlen(name);
    return n > 5 && strcmp(name + n - 5, ".json") == 0;
}

static void read_json(reading *r, char *text, size_t length)
{
    cJSON *tree = NULL;
    r->status = pappus_json_parse(&tree, text, length, r->path, PAPPUS_E_RECORD, r->log);
    if (r->status == PAPPUS_OK) read_tree(r, tree);
    cJSON_Delete(tree);
}

static int read_record(pappus_flights *to, const char *path, pappus_log *log)
{
    pappus_error error = {0};
    char *text = NULL;
    size_t length;
    bool json = ends_in_json(path);
    if (!PAPPUS_GROW(to->flights, NULL, to->count + 1)) {
        pappus_fail_memory(&error);
        return pappus_log_error(log, &error);
    }
    int status = pappus_file_read_looking(&text, &length, path, PAPPUS_FILE_LIMIT, PAPPUS_E_RECORD,
                                          look_for_json, &json, &error);
    if (status != PAPPUS_OK) return pappus_log_error(log, &error);
    reading r = {.path = path, .log = log, .out = &to->flights[to->count++]};
    *r.out = (pappus_flight){
        .time_utc_s = NAN, .landing_latitude_deg = NAN, .landing_longitude_deg = NAN};
    keep(&r, &r.out->path, path);
    if (r.status == PAPPUS_OK && json)
        read_json(&r, text, length);
    else if (r.status == PAPPUS_OK)
        r.status = pappus_flight_log_read(&r.out->log, path, log);
    free(text);
    return r.status;
}

/* ------------------------------------------------------------------------- folders */

static int is_record(const struct dirent *entry)
{
    return entry->d_name[0] != '.' && ends_in_json(entry->d_name);
}

static int read_folder(pappus_flights *to, const char *path, pappus_log *log)
{
    struct dirent **names = NULL;
    int count = scandir(path, &names, is_record, alphasort), status = PAPPUS_OK;
    if (count < 0)
        return pappus_log_add(log, PAPPUS_FAULT, pappus_file_code(errno, PAPPUS_E_RECORD), path,
                              NULL, NULL, "%s", strerror(errno));
    if (count == 0)
        status = pappus_log_add(log, PAPPUS_FAULT, PAPPUS_E_RECORD, path, NULL, NULL,
                                "no flight in this folder; accepted are records, NAME.json");
    for (int i = 0; i < count; i++) {
        char *file = NULL;
        if (asprintf(&file, "%s/%s", path, names[i]->d_name) < 0) file = NULL;
        int one = file ? read_record(to, file, log)
                       : pappus_log_add(log, PAPPUS_FAULT, PAPPUS_E_MEMORY, path, NULL, NULL,
                                        "out of memory");
        if (status == PAPPUS_OK) status = one;
        free(file);
        free(names[i]);
    }
    free(names);
    return status;
}

static int by_time(const void *a, const void *b)
{
    const pappus_flight *p = a, *q = b;
    if (isnan(p->time_utc_s) || isnan(q->time_utc_s)) {
        int order = isnan(p->time_utc_s) - isnan(q->time_utc_s);
        return order ? order : strcmp(p->path, q->path);
    }
    int order = (p->time_utc_s > q->time_utc_s) - (p->time_utc_s < q->time_utc_s);
    return order ? order : strcmp(p->path, q->path);
}

int pappus_flights_read(pappus_flights **out, const char *const *paths, size_t count,
                        pappus_log *log)
{
    pappus_locale locale;
    bool entered = pappus_locale_enter(&locale);
    pappus_flights *flights = entered ? calloc(1, sizeof *flights) : NULL;
    int status = PAPPUS_OK;
    *out = NULL;
    if (entered && !flights) pappus_locale_leave(&locale);
    if (!flights)
        return pappus_log_add(log, PAPPUS_FAULT, PAPPUS_E_MEMORY, NULL, NULL, NULL,
                              "out of memory");
    for (size_t i = 0; i < count; i++) {
        struct stat about;
        bool folder = stat(paths[i], &about) == 0 && S_ISDIR(about.st_mode);
        int one =
            folder ? read_folder(flights, paths[i], log) : read_record(flights, paths[i], log);
        if (status == PAPPUS_OK) status = one;
    }
    pappus_locale_leave(&locale);
    if (status != PAPPUS_OK) {
        pappus_flights_free(flights);
        return status;
    }
    if (flights->count > 0)
        qsort(flights->flights, flights->count, sizeof *flights->flights, by_time);
    *out = flights;
    return PAPPUS_OK;
}

void pappus_flights_free(pappus_flights *flights)
{
    if (!flights) return;
    for (size_t i = 0; i < flights->count; i++)
        clear_flight(&flights->flights[i]);
    free(flights->flights);
    free(flights);
}
