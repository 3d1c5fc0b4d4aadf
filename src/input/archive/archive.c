/* SPDX-License-Identifier: GPL-3.0-or-later
 * Years of soundings and forecasts of one station, read profile by profile with the
 * readers of wind files. Of each is kept what a rocket flies in: the wind up to 10 km
 * above the station.
 *
 * Heights are above the station. IGRA gives its height with each sounding; a table of
 * heights above the sea does not, and there the station is where the lowest levels of
 * most soundings are. The wind of a level at the station's own height is measured 10 m
 * above it. Geopotential heights are taken for geometric ones: 6 m off at 6 km.
 *
 * One station alone: another station's soundings are skipped, however near. A sounding is
 * one that has no issue time or the same as its own; the rest are forecasts. */
#include <pappus/skill.h>

#include "error.h"
#include "grow.h"
#include "wind_levels.h"
#include "wind_stream.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define MAST_M 10.0
#define SAME_HEIGHT_M 1.0
#define TOP_M 10000.0
#define LEAST_LEVELS 2

const char *pappus_skip_text(pappus_skip skip)
{
    static const char *const texts[] = {
#define PAPPUS_SKIP_TEXT(name, text) [PAPPUS_SKIP_##name] = text,
        PAPPUS_SKIP_LIST(PAPPUS_SKIP_TEXT)
#undef PAPPUS_SKIP_TEXT
    };
    return (unsigned)skip < PAPPUS_SKIPS ? texts[skip] : "";
}

typedef struct {
    pappus_archive *archive;
    size_t capacity;
    size_t msl_count, msl_capacity; /* soundings with heights above the sea, without station */
    double *lowest_m;               /* lowest level of each of them */
    size_t *msl;                    /* their places */
    size_t msl_places;
    pappus_log *log;
} archive_work;

static int memory_fault(archive_work *work)
{
    return pappus_log_add(work->log, PAPPUS_FAULT, PAPPUS_E_MEMORY, NULL, NULL, NULL,
                          "out of memory");
}

/* Height above the station, or above the sea where that is not known. */
static double height_of(const pappus_wind_profile *profile, const pappus_wind_level *level)
{
    bool known =
        level->height_kind != PAPPUS_HEIGHT_AGL && !isnan(profile->station_elevation_msl_m);
    return level->height_m - (known ? profile->station_elevation_msl_m : 0.0);
}

static int copy_levels(pappus_sounding *out, const pappus_wind_profile *profile)
{
    double *values = malloc(3 * profile->level_count * sizeof *values);
    if (!values) return PAPPUS_E_MEMORY;
    out->height_m = values;
    out->u_mps = values + profile->level_count;
    out->v_mps = values + 2 * profile->level_count;
    for (size_t i = 0; i < profile->level_count; i++) {
        const pappus_wind_level *level = &profile->levels[i];
        double height = height_of(profile, level);
        if (isnan(level->u_mps) || isnan(level->v_mps) || !isfinite(height)) continue;
        out->height_m[out->level_count] = height;
        out->u_mps[out->level_count] = level->u_mps;
        out->v_mps[out->level_count++] = level->v_mps;
    }
    return PAPPUS_OK;
}

/* Puts heights above the station, the lowest wind on its mast, and cuts what lies under
 * the ground or too high. */
static void settle_levels(pappus_sounding *s, double elevation_msl_m)
{
    size_t kept = 0;
    for (size_t i = 0; i < s->level_count; i++) {
        double z = s->height_m[i] - elevation_msl_m;
        if (fabs(z) < SAME_HEIGHT_M) z = MAST_M;
        if (z <= 0.0 || z > TOP_M || (kept > 0 && z <= s->height_m[kept - 1])) continue;
        s->height_m[kept] = z;
        s->u_mps[kept] = s->u_mps[i];
        s->v_mps[kept++] = s->v_mps[i];
    }
    s->level_count = kept;
}

static bool is_msl(const pappus_wind_profile *profile)
{
    return isnan(profile->station_elevation_msl_m) && profile->level_count > 0 &&
           profile->levels[0].height_kind != PAPPUS_HEIGHT_AGL;
}

static int note_msl(archive_work *work, double lowest_m)
{
    if (!PAPPUS_GROW(work->lowest_m, &work->msl_capacity, work->msl_count + 1) ||
        !PAPPUS_GROW(work->msl, &work->msl_places, work->msl_count + 1))
        return PAPPUS_E_MEMORY;
    work->lowest_m[work->msl_count] = lowest_m;
    work->msl[work->msl_count++] = work->archive->count;
    return PAPPUS_OK;
}

/* True when the profile is of the archive's station, which the first one names. */
static bool is_here(archive_work *work, const pappus_wind_profile *profile)
{
    pappus_archive *archive = work->archive;
    if (!profile->station) return true;
    if (!archive->station[0]) {
        free(archive->station);
        archive->station = strdup(profile->station);
        return archive->station != NULL;
    }
    return strcmp(archive->station, profile->station) == 0;
}

static int take(archive_work *work, const pappus_wind_profile *profile)
{
    pappus_archive *archive = work->archive;
    pappus_sounding s = {.valid_utc_s = profile->valid_utc_s,
                         .issued_utc_s = profile->issued_utc_s};
    archive->skipped[PAPPUS_SKIP_LEVELS] += profile->refused_count;
    if (isnan(s.valid_utc_s)) {
        archive->skipped[PAPPUS_SKIP_NO_TIME]++;
        return PAPPUS_OK;
    }
    if (!is_here(work, profile)) {
        archive->skipped[PAPPUS_SKIP_STATION] += archive->station != NULL;
        return archive->station ? PAPPUS_OK : PAPPUS_E_MEMORY;
    }
    if (isnan(s.issued_utc_s)) s.issued_utc_s = s.valid_utc_s;
    if (!PAPPUS_GROW(archive->soundings, &work->capacity, archive->count + 1) ||
        copy_levels(&s, profile) != PAPPUS_OK)
        return PAPPUS_E_MEMORY;
    if (is_msl(profile)) {
        if (s.level_count > 0 && note_msl(work, s.height_m[0]) != PAPPUS_OK) {
            free(s.height_m);
            return PAPPUS_E_MEMORY;
        }
    } else {
        if (!isnan(profile->station_elevation_msl_m))
            archive->elevation_msl_m = profile->station_elevation_msl_m;
        settle_levels(&s, 0.0);
    }
    archive->soundings[archive->count++] = s;
    return PAPPUS_OK;
}

static int read_one(archive_work *work, const char *path)
{
    const pappus_profile_source source = {
        .path = (char *)(uintptr_t)path, .sounding_utc_s = NAN, .valid_utc_s = NAN, .weight = 1.0};
    pappus_wind_wanted wanted = PAPPUS_WIND_WANTED_INIT;
    pappus_wind_stream *stream = NULL;
    bool more = true;
    wanted.archive = true;
    int status = pappus_wind_stream_open(&stream, &source, wanted, work->log);
    while (status == PAPPUS_OK && more) {
        pappus_wind_profile profile;
        status = pappus_wind_stream_next(stream, &profile, &more);
        if (status != PAPPUS_OK || !more) break;
        if (take(work, &profile) != PAPPUS_OK) status = memory_fault(work);
        pappus_wind_profile_clear(&profile);
    }
    if (stream) work->archive->skipped[PAPPUS_SKIP_DAMAGED] += pappus_wind_stream_skipped(stream);
    pappus_wind_stream_close(stream);
    return status;
}

static int by_value(const void *a, const void *b)
{
    double p = *(const double *)a, q = *(const double *)b;
    return (p > q) - (p < q);
}

/* The station of a table of heights above the sea. */
static void settle_msl(archive_work *work)
{
    if (work->msl_count == 0) return;
    qsort(work->lowest_m, work->msl_count, sizeof *work->lowest_m, by_value);
    double elevation = work->lowest_m[work->msl_count / 2];
    if (isnan(work->archive->elevation_msl_m)) work->archive->elevation_msl_m = elevation;
    for (size_t i = 0; i < work->msl_count; i++)
        settle_levels(&work->archive->soundings[work->msl[i]], elevation);
}

static int by_time(const void *a, const void *b)
{
    const pappus_sounding *p = a, *q = b;
    if (p->valid_utc_s != q->valid_utc_s) return p->valid_utc_s < q->valid_utc_s ? -1 : 1;
    if (p->issued_utc_s != q->issued_utc_s) return p->issued_utc_s < q->issued_utc_s ? -1 : 1;
    return (p->level_count < q->level_count) - (p->level_count > q->level_count);
}

/* Puts them in order; of several alike the one with most levels stays. */
static void sort_and_sift(pappus_archive *archive)
{
    size_t kept = 0;
    if (archive->count > 0)
        qsort(archive->soundings, archive->count, sizeof *archive->soundings, by_time);
    for (size_t i = 0; i < archive->count; i++) {
        pappus_sounding *s = &archive->soundings[i];
        const pappus_sounding *last = kept ? &archive->soundings[kept - 1] : NULL;
        bool repeated =
            last && last->valid_utc_s == s->valid_utc_s && last->issued_utc_s == s->issued_utc_s;
        if (s->level_count < LEAST_LEVELS || repeated) {
            archive->skipped[repeated ? PAPPUS_SKIP_REPEATED : PAPPUS_SKIP_NO_WIND]++;
            free(s->height_m);
            continue;
        }
        archive->forecast_count += s->issued_utc_s < s->valid_utc_s;
        archive->soundings[kept++] = *s;
    }
    archive->count = kept;
}

int pappus_archive_read(pappus_archive **out, const char *const *paths, size_t count,
                        pappus_log *log)
{
    archive_work work = {.archive = calloc(1, sizeof *work.archive), .log = log};
    int status = PAPPUS_OK;
    *out = NULL;
    if (!work.archive) return memory_fault(&work);
    work.archive->elevation_msl_m = NAN;
    work.archive->station = strdup("");
    if (!work.archive->station) status = memory_fault(&work);
    for (size_t i = 0; i < count && status != PAPPUS_E_MEMORY; i++) {
        int one = read_one(&work, paths[i]); /* all faults are told at once */
        if (status == PAPPUS_OK) status = one;
    }
    if (status == PAPPUS_OK) {
        settle_msl(&work);
        sort_and_sift(work.archive);
        if (work.archive->count < 2)
            status = pappus_log_add(log, PAPPUS_FAULT, PAPPUS_E_WIND, paths[0], NULL, NULL,
                                    "holds fewer than two winds of known times; accepted are IGRA "
                                    "soundings and layer tables with a column `time`");
    }
    free(work.lowest_m);
    free(work.msl);
    if (status == PAPPUS_OK)
        *out = work.archive;
    else
        pappus_archive_free(work.archive);
    return status;
}

void pappus_archive_free(pappus_archive *archive)
{
    if (!archive) return;
    for (size_t i = 0; i < archive->count; i++)
        free(archive->soundings[i].height_m);
    free(archive->soundings);
    free(archive->station);
    free(archive);
}
