/* SPDX-License-Identifier: GPL-3.0-or-later
 * Numbered days; rules in days.h. */
#include "days.h"

#include "error.h"
#include "grow.h"
#include "wind_levels.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define LEAST_LEVELS 2
#define NO_DAY UINT32_MAX

/* One profile of the files, in their order. */
typedef struct {
    double valid_utc_s, issued_utc_s;
    uint32_t levels; /* with a wind; 0: not to be used */
    uint32_t number; /* NO_DAY: left out */
} entry;

struct archive_days {
    const char *const *paths;
    size_t path_count;
    pappus_wind_wanted wanted;
    size_t count, capacity, kept;
    entry *entries;
    size_t skipped[PAPPUS_SKIPS];
    char *station, digest[PAPPUS_DIGEST_SIZE];
    size_t lowest_count, lowest_capacity;
    float *lowest_m; /* of tables of heights above the sea, until the station's is found */
    double elevation_m;
    size_t path, at; /* of the reading: file, and entry that comes next */
    pappus_wind_stream *stream;
};

static int memory_fault(pappus_log *log)
{
    return pappus_log_add(log, PAPPUS_FAULT, PAPPUS_E_MEMORY, NULL, NULL, NULL, "out of memory");
}

/* ------------------------------------------------------------------- stream */

static int open_next(archive_days *days, pappus_log *log)
{
    const pappus_profile_source source = {.path = (char *)(uintptr_t)days->paths[days->path],
                                          .sounding_utc_s = NAN,
                                          .valid_utc_s = NAN,
                                          .weight = 1.0};
    return pappus_wind_stream_open(&days->stream, &source, days->wanted, log);
}

/* The next profile of all files. */
static int next_profile(archive_days *days, pappus_wind_profile *out, bool *more, pappus_log *log)
{
    *more = false;
    while (days->path < days->path_count) {
        int status = days->stream ? PAPPUS_OK : open_next(days, log);
        if (status == PAPPUS_OK) status = pappus_wind_stream_next(days->stream, out, more);
        if (status != PAPPUS_OK || *more) return status;
        days->skipped[PAPPUS_SKIP_DAMAGED] += pappus_wind_stream_skipped(days->stream);
        pappus_wind_stream_close(days->stream);
        days->stream = NULL;
        days->path++;
    }
    return PAPPUS_OK;
}

void archive_days_rewind(archive_days *days)
{
    pappus_wind_stream_close(days->stream);
    days->stream = NULL;
    days->path = days->at = 0;
}

/* --------------------------------------------------------------------- scan */

static uint32_t count_levels(const pappus_wind_profile *profile)
{
    uint32_t count = 0;
    for (size_t i = 0; i < profile->level_count; i++)
        count += !isnan(profile->levels[i].u_mps) && !isnan(profile->levels[i].v_mps);
    return count;
}

/* The lowest level of a table that does not tell its station. */
static int note_lowest(archive_days *days, const pappus_wind_profile *profile)
{
    if (!isnan(profile->station_elevation_msl_m) || profile->level_count == 0 ||
        (profile->levels[0].height_kind != PAPPUS_HEIGHT_MSL &&
         profile->levels[0].height_kind != PAPPUS_HEIGHT_MSL_GEOPOTENTIAL))
        return PAPPUS_OK;
    if (!PAPPUS_GROW(days->lowest_m, &days->lowest_capacity, days->lowest_count + 1))
        return PAPPUS_E_MEMORY;
    days->lowest_m[days->lowest_count++] = (float)profile->levels[0].height_m;
    return PAPPUS_OK;
}

static bool is_here(archive_days *days, const pappus_wind_profile *profile)
{
    if (!profile->station || profile->gridded) return true;
    if (!days->station[0]) {
        free(days->station);
        days->station = strdup(profile->station);
        return days->station != NULL;
    }
    return strcmp(days->station, profile->station) == 0;
}

static int take(archive_days *days, const pappus_wind_profile *profile)
{
    if (!PAPPUS_GROW(days->entries, &days->capacity, days->count + 1)) return PAPPUS_E_MEMORY;
    entry *e = &days->entries[days->count++];
    *e = (entry){profile->valid_utc_s, profile->issued_utc_s, count_levels(profile), NO_DAY};
    days->skipped[PAPPUS_SKIP_LEVELS] += profile->refused_count;
    if (isnan(e->issued_utc_s)) e->issued_utc_s = e->valid_utc_s;
    pappus_skip why = isnan(e->valid_utc_s)      ? PAPPUS_SKIP_NO_TIME
                      : !is_here(days, profile)  ? PAPPUS_SKIP_STATION
                      : e->levels < LEAST_LEVELS ? PAPPUS_SKIP_NO_WIND
                                                 : PAPPUS_SKIPS;
    if (!days->station) return PAPPUS_E_MEMORY;
    if (why == PAPPUS_SKIPS) return note_lowest(days, profile);
    e->levels = 0;
    days->skipped[why]++;
    return PAPPUS_OK;
}

/* The best of a time first, then in the order of the files. */
static int by_time(const void *a, const void *b)
{
    const entry *p = *(const entry *const *)a, *q = *(const entry *const *)b;
    if (p->valid_utc_s != q->valid_utc_s) return p->valid_utc_s < q->valid_utc_s ? -1 : 1;
    if (p->issued_utc_s != q->issued_utc_s) return p->issued_utc_s > q->issued_utc_s ? -1 : 1;
    if (p->levels != q->levels) return p->levels > q->levels ? -1 : 1;
    return p < q ? -1 : p > q;
}

/* Marks the best of each time, then numbers what is marked. */
static int number_days(archive_days *days)
{
    size_t usable = 0;
    const entry **order = malloc((days->count + 1) * sizeof *order);
    if (!order) return PAPPUS_E_MEMORY;
    for (size_t i = 0; i < days->count; i++)
        if (days->entries[i].levels > 0) order[usable++] = &days->entries[i];
    if (usable > 0) qsort(order, usable, sizeof *order, by_time);
    for (size_t i = 0; i < usable; i++) {
        bool repeated = i > 0 && order[i]->valid_utc_s == order[i - 1]->valid_utc_s;
        if (repeated)
            days->skipped[PAPPUS_SKIP_REPEATED]++;
        else
            days->entries[order[i] - days->entries].number = 0;
    }
    free(order);
    for (size_t i = 0; i < days->count; i++)
        if (days->entries[i].number != NO_DAY) days->entries[i].number = (uint32_t)days->kept++;
    return PAPPUS_OK;
}

static int by_value(const void *a, const void *b)
{
    float p = *(const float *)a, q = *(const float *)b;
    return (p > q) - (p < q);
}

static void settle_elevation(archive_days *days)
{
    if (days->lowest_count > 0) {
        qsort(days->lowest_m, days->lowest_count, sizeof *days->lowest_m, by_value);
        days->elevation_m = (double)days->lowest_m[days->lowest_count / 2];
    }
    free(days->lowest_m);
    days->lowest_m = NULL;
}

static int add_digests(archive_days *days, pappus_log *log)
{
    pappus_error error = {0};
    int status = PAPPUS_OK;
    pappus_digest *digest = pappus_digest_new();
    if (!digest) return memory_fault(log);
    for (size_t i = 0; i < days->path_count && status == PAPPUS_OK; i++)
        status = pappus_digest_add_file(digest, days->paths[i], PAPPUS_E_WIND, &error);
    pappus_digest_text(days->digest, digest);
    pappus_digest_free(digest);
    return status == PAPPUS_OK ? status : pappus_log_error(log, &error);
}

static int scan(archive_days *days, pappus_log *log)
{
    bool more = true;
    int status = PAPPUS_OK;
    while (more) {
        pappus_wind_profile profile;
        status = next_profile(days, &profile, &more, log);
        if (status != PAPPUS_OK) return status;
        if (!more) break;
        status = days->count < NO_DAY ? take(days, &profile) : PAPPUS_E_MEMORY;
        pappus_wind_profile_clear(&profile);
        if (status != PAPPUS_OK) return memory_fault(log);
    }
    if (number_days(days) != PAPPUS_OK) return memory_fault(log);
    settle_elevation(days);
    archive_days_rewind(days);
    if (days->kept == 0)
        return pappus_log_add(log, PAPPUS_FAULT, PAPPUS_E_WIND, days->paths[0], NULL, NULL,
                              "holds no wind of a known time; accepted are IGRA soundings, layer "
                              "tables with a column `time` and GRIB");
    return add_digests(days, log);
}

int archive_days_open(archive_days **out, const char *const *paths, size_t count,
                      pappus_wind_wanted wanted, pappus_log *log)
{
    archive_days *days = calloc(1, sizeof *days);
    *out = NULL;
    if (!days) return memory_fault(log);
    days->paths = paths;
    days->path_count = count;
    days->wanted = wanted;
    days->wanted.archive = true;
    days->elevation_m = NAN;
    days->station = strdup("");
    int status = days->station ? scan(days, log) : memory_fault(log);
    if (status == PAPPUS_OK)
        *out = days;
    else
        archive_days_free(days);
    return status;
}

void archive_days_free(archive_days *days)
{
    if (!days) return;
    pappus_wind_stream_close(days->stream);
    free(days->entries);
    free(days->station);
    free(days->lowest_m);
    free(days);
}

/* ------------------------------------------------------------------- asking */

size_t archive_days_count(const archive_days *days)
{
    return days->kept;
}

const size_t *archive_days_skipped(const archive_days *days)
{
    return days->skipped;
}

const char *archive_days_station(const archive_days *days)
{
    return days->station;
}

const char *archive_days_digest(const archive_days *days)
{
    return days->digest;
}

double archive_days_elevation_m(const archive_days *days, const pappus_wind_profile *profile)
{
    return isnan(profile->station_elevation_msl_m) ? days->elevation_m
                                                   : profile->station_elevation_msl_m;
}

int archive_days_next(archive_days *days, pappus_wind_profile *out, size_t *number, bool *more,
                      pappus_log *log)
{
    for (;;) {
        int status = next_profile(days, out, more, log);
        if (status != PAPPUS_OK || !*more) return status;
        const entry *e = days->at < days->count ? &days->entries[days->at] : NULL;
        days->at++;
        bool same = e && (e->valid_utc_s == out->valid_utc_s ||
                          (isnan(e->valid_utc_s) && isnan(out->valid_utc_s)));
        if (!same) {
            pappus_wind_profile_clear(out);
            return pappus_log_add(log, PAPPUS_FAULT, PAPPUS_E_WIND, days->paths[days->path], NULL,
                                  NULL, "has changed while it was read; run again");
        }
        if (e->number != NO_DAY) {
            *number = e->number;
            return PAPPUS_OK;
        }
        pappus_wind_profile_clear(out);
    }
}
