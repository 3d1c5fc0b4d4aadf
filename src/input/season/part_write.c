/* SPDX-License-Identifier: GPL-3.0-or-later
 * Writing a part; its lines are in part.h. Numbers are written so that they read back to the
 * same bits. */
#include "part.h"

#include "error.h"

#include <cjson/cJSON.h>
#include <errno.h>
#include <fcntl.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

static int fail_system(const char *path, const char *what, pappus_error *err)
{
    return pappus_fail(err, PAPPUS_E_OUTPUT, path, NULL, NULL, "%s: %s", what, strerror(errno));
}

/* ------------------------------------------------------------------- objects */

/* cJSON's adding calls fail only without memory; what they were to add is then missing, and
 * `good` says so at the end. */
typedef struct {
    cJSON *tree;
    bool good;
} builder;

/* The shortest text that reads back to the same bits; cJSON's own stops at the last but one. */
static cJSON *number_item(double value)
{
    char text[40];
    if (!isfinite(value)) return cJSON_CreateNull();
    for (int digits = 15; digits <= 17; digits++) {
        snprintf(text, sizeof text, "%.*g", digits, value);
        if (strtod(text, NULL) == value) break;
    }
    return cJSON_CreateRaw(text);
}

static void put_number(builder *b, cJSON *to, const char *key, double value)
{
    cJSON *item = number_item(value);
    if (item && to && cJSON_AddItemToObject(to, key, item)) return;
    cJSON_Delete(item);
    b->good = false;
}

static void put_text(builder *b, cJSON *to, const char *key, const char *text)
{
    cJSON *item = text ? cJSON_AddStringToObject(to, key, text) : cJSON_AddNullToObject(to, key);
    b->good = b->good && item;
}

static void put_bool(builder *b, cJSON *to, const char *key, bool value)
{
    b->good = b->good && cJSON_AddBoolToObject(to, key, value);
}

static cJSON *put_array(builder *b, cJSON *to, const char *key)
{
    cJSON *array = cJSON_AddArrayToObject(to, key);
    b->good = b->good && array;
    return array;
}

static void append(builder *b, cJSON *array, cJSON *item)
{
    if (item && array && cJSON_AddItemToArray(array, item)) return;
    cJSON_Delete(item);
    b->good = false;
}

static void append_number(builder *b, cJSON *array, double value)
{
    append(b, array, number_item(value));
}

static cJSON *append_object(builder *b, cJSON *array)
{
    cJSON *object = cJSON_CreateObject();
    append(b, array, object);
    return b->good ? object : NULL;
}

/* The tree as one line, and frees it. */
static int finish(char **out, builder *b, pappus_error *err)
{
    *out = b->tree && b->good ? cJSON_PrintUnformatted(b->tree) : NULL;
    cJSON_Delete(b->tree);
    return *out ? PAPPUS_OK : pappus_fail_memory(err);
}

/* ---------------------------------------------------------------------- head */

static void put_area(builder *b, cJSON *areas, const pappus_area *area)
{
    cJSON *to = append_object(b, areas);
    put_text(b, to, "name", area->name);
    cJSON *polygons = put_array(b, to, "polygons");
    for (size_t i = 0; i < area->polygon_count; i++) {
        cJSON *rings = cJSON_CreateArray();
        append(b, polygons, rings);
        for (size_t k = 0; b->good && k < area->polygons[i].ring_count; k++) {
            const pappus_ring *ring = &area->polygons[i].rings[k];
            cJSON *points = cJSON_CreateArray();
            append(b, rings, points);
            for (size_t n = 0; b->good && n < 2 * ring->point_count; n++)
                append_number(b, points, ring->points_m[n]);
        }
    }
}

static void put_field(builder *b, const pappus_field *field)
{
    cJSON *boundary = put_array(b, b->tree, "boundary");
    cJSON *keep_outs = put_array(b, b->tree, "keep_outs");
    if (field && field->has_boundary) put_area(b, boundary, &field->boundary);
    for (size_t i = 0; field && i < field->keep_out_count; i++)
        put_area(b, keep_outs, &field->keep_outs[i]);
}

static void put_plan(builder *b, cJSON *plans, const pappus_season_plan *plan)
{
    cJSON *to = append_object(b, plans);
    put_text(b, to, "name", plan->name);
    put_text(b, to, "title", plan->title);
    put_text(b, to, "sha256", plan->digest);
    put_number(b, to, "planned_m", plan->planned_m);
    put_number(b, to, "apogee_m", plan->apogee_m);
    cJSON *heights = put_array(b, to, "heights_m");
    for (size_t i = 0; i < plan->height_count; i++)
        append_number(b, heights, plan->heights_m[i]);
}

int part_head_text(char **out, const pappus_season_head *head, pappus_error *err)
{
    builder b = {cJSON_CreateObject(), true};
    put_text(&b, b.tree, "version", head->version);
    put_text(&b, b.tree, "archive_sha256", head->archive);
    put_text(&b, b.tree, "station", head->station);
    put_number(&b, b.tree, "days", (double)head->day_count);
    cJSON *skipped = put_array(&b, b.tree, "skipped");
    for (int i = 0; i < PAPPUS_SKIPS; i++)
        append_number(&b, skipped, (double)head->skipped[i]);
    put_number(&b, b.tree, "landings", (double)head->landings);
    put_number(&b, b.tree, "seed", head->seed == PAPPUS_PLAN_SEED ? NAN : (double)head->seed);
    put_number(&b, b.tree, "age_s", head->age_s);
    put_bool(&b, b.tree, "reading", head->reading);
    put_number(&b, b.tree, "latitude_deg", head->latitude_deg);
    put_number(&b, b.tree, "longitude_deg", head->longitude_deg);
    put_number(&b, b.tree, "elevation_msl_m", head->elevation_msl_m);
    put_number(&b, b.tree, "declination_deg", head->declination_deg);
    put_text(&b, b.tree, "time_zone", head->time_zone);
    put_bool(&b, b.tree, "si", head->units == PAPPUS_UNITS_SI);
    put_number(&b, b.tree, "cell_m", head->cell_m);
    cJSON *plans = put_array(&b, b.tree, "plans");
    for (size_t p = 0; p < head->plan_count; p++)
        put_plan(&b, plans, &head->plans[p]);
    put_field(&b, head->field);
    return finish(out, &b, err);
}

/* ---------------------------------------------------------------------- days */

/* A letter for each height: m, b, u. */
static void put_heights(builder *b, cJSON *to, const pappus_season_row *row)
{
    static const char letters[] = {'m', 'b', 'u'};
    char *text = malloc(row->height_count + 1);
    b->good = b->good && text;
    if (!text) return;
    for (size_t i = 0; i < row->height_count; i++)
        text[i] = letters[row->heights[i]];
    text[row->height_count] = '\0';
    put_text(b, to, "heights", text);
    free(text);
}

static void put_row(builder *b, cJSON *to, const pappus_season_row *row)
{
    put_text(b, to, "why", row->why);
    put_number(b, to, "seed", (double)row->seed);
    if (row->why) return;
    put_number(b, to, "verdict", row->verdict);
    put_number(b, to, "unmet", row->unmet);
    put_number(b, to, "limit", row->limit);
    put_number(b, to, "use", row->use);
    put_number(b, to, "inside", row->inside_field);
    put_number(b, to, "keep_out", row->keep_out);
    put_number(b, to, "east", row->mean_east_m);
    put_number(b, to, "north", row->mean_north_m);
    cJSON *drift = put_array(b, to, "drift");
    append_number(b, drift, row->drift_m.p05);
    append_number(b, drift, row->drift_m.p50);
    append_number(b, drift, row->drift_m.p95);
    put_number(b, to, "best_m", row->recommended_m);
    put_heights(b, to, row);
}

static int day_text(char **out, const pappus_season_day *day, pappus_error *err)
{
    builder b = {cJSON_CreateObject(), true};
    put_number(&b, b.tree, "day", (double)day->number);
    put_number(&b, b.tree, "time", day->valid_utc_s);
    put_number(&b, b.tree, "wind", day->surface_wind_mps);
    put_number(&b, b.tree, "from", day->surface_from_deg);
    put_bool(&b, b.tree, "reading", day->reading);
    cJSON *rows = put_array(&b, b.tree, "plans");
    for (size_t p = 0; p < day->row_count; p++)
        put_row(&b, append_object(&b, rows), &day->rows[p]);
    return finish(out, &b, err);
}

static int add_line(part_maker *part, const char *line, size_t size, pappus_error *err)
{
    if (fwrite(line, 1, size, part->days) != size || fputc('\n', part->days) == EOF)
        return fail_system(part->path, "could not be written", err);
    part->bytes += size + 1;
    return PAPPUS_OK;
}

int part_add_day(part_maker *part, const pappus_season_day *day, pappus_error *err)
{
    char *line = NULL;
    int status = day_text(&line, day, err);
    if (status == PAPPUS_OK) status = add_line(part, line, strlen(line), err);
    if (status == PAPPUS_OK) part->done++;
    free(line);
    return status;
}

/* --------------------------------------------------------------- the whole file */

/* Lines going to a file, digested on the way; a failure is kept to the end. */
typedef struct {
    FILE *file;
    pappus_digest *digest;
    bool good;
} sink;

static void put_bytes(sink *to, const char *bytes, size_t size)
{
    to->good = to->good && fwrite(bytes, 1, size, to->file) == size;
    pappus_digest_add(to->digest, bytes, size);
}

static void put_line(sink *to, const char *line)
{
    put_bytes(to, line, strlen(line));
    put_bytes(to, "\n", 1);
}

static void copy_days(sink *to, part_maker *part)
{
    char bytes[1 << 14];
    size_t left = part->bytes;
    to->good = to->good && fflush(part->days) == 0 && fseek(part->days, 0, SEEK_SET) == 0;
    while (to->good && left > 0) {
        size_t size = fread(bytes, 1, left < sizeof bytes ? left : sizeof bytes, part->days);
        to->good = size > 0;
        put_bytes(to, bytes, size);
        left -= size;
    }
    to->good = to->good && fseek(part->days, 0, SEEK_END) == 0;
}

/* What of a row of sums is not 0; no line when all are. */
static void put_sums(sink *to, size_t plan, const char *key, int place, const char *name,
                     const uint64_t *sums, size_t count)
{
    char text[64];
    size_t first = 0, end = count;
    while (first < end && sums[first] == 0)
        first++;
    while (end > first && sums[end - 1] == 0)
        end--;
    if (first == end) return;
    int size = snprintf(text, sizeof text, "{\"plan\":%zu,\"%s\":%d,\"first\":%zu,\"%s\":[", plan,
                        key, place, first, name);
    put_bytes(to, text, (size_t)size);
    for (size_t i = first; i < end; i++) {
        size =
            snprintf(text, sizeof text, i > first ? ",%llu" : "%llu", (unsigned long long)sums[i]);
        put_bytes(to, text, (size_t)size);
    }
    put_line(to, "]}");
}

static void put_all_sums(sink *to, const season_sums *sums, size_t plans)
{
    char text[64];
    for (size_t p = 0; p < plans; p++) {
        for (int j = 0; j < SEASON_CELLS; j++)
            put_sums(to, p, "north", j, "cells", sums[p].cells[j], SEASON_CELLS);
        for (int m = 0; m < 12; m++)
            put_sums(to, p, "month", m + 1, "drift", sums[p].drift[m], SEASON_DRIFTS);
        if (sums[p].beyond == 0) continue;
        snprintf(text, sizeof text, "{\"plan\":%zu,\"beyond\":%llu}", p,
                 (unsigned long long)sums[p].beyond);
        put_line(to, text);
    }
}

static void put_part(sink *to, part_maker *part, const season_sums *sums, size_t plans)
{
    char line[200], sha[PAPPUS_DIGEST_SIZE];
    snprintf(line, sizeof line,
             "{\"season_part\":1,\"shard\":%zu,\"shards\":%zu,\"from\":%zu,\"to\":%zu}",
             part->shard, part->shards, part->from, part->to);
    put_line(to, line);
    put_line(to, part->head);
    copy_days(to, part);
    put_all_sums(to, sums, plans);
    pappus_digest_text(sha, to->digest);
    snprintf(line, sizeof line, "{\"days\":%zu,\"sha256\":\"%s\"}", part->done, sha);
    put_line(to, line);
}

/* A file beside `path` and its name, to be renamed; "-XXXXXX" in it is filled. */
static FILE *open_beside(char **name, const char *path)
{
    const char *slash = strrchr(path, '/');
    int folder = slash ? (int)(slash - path) + 1 : 0;
    mode_t mask = umask(0);
    umask(mask);
    if (asprintf(name, "%.*s.%s-XXXXXX", folder, path, path + folder) < 0) {
        *name = NULL;
        return NULL;
    }
    int handle = mkstemp(*name);
    if (handle < 0) return NULL;
    FILE *file = fchmod(handle, 0666 & ~mask) == 0 ? fdopen(handle, "w+") : NULL;
    if (!file) {
        close(handle);
        unlink(*name);
    }
    return file;
}

int part_put(part_maker *part, const season_sums *sums, size_t plans, pappus_error *err)
{
    char *name = NULL;
    sink to = {open_beside(&name, part->path), pappus_digest_new(), true};
    bool good = to.file && to.digest;
    if (good) {
        put_part(&to, part, sums, plans);
        good = to.good && fflush(to.file) == 0 && fsync(fileno(to.file)) == 0;
    }
    if (to.file && fclose(to.file) != 0) good = false;
    if (good) good = rename(name, part->path) == 0;
    int status = good ? PAPPUS_OK : fail_system(part->path, "could not be written", err);
    if (!good && to.file) unlink(name);
    pappus_digest_free(to.digest);
    free(name);
    return status;
}

int part_begin(part_maker *out, const char *path, char *head, size_t shard, size_t shards,
               size_t from, size_t to, pappus_error *err)
{
    char *name = NULL;
    *out = (part_maker){path, shard, shards, from, to, 0, head, open_beside(&name, path), 0};
    if (out->days) unlink(name);
    free(name);
    return out->days ? PAPPUS_OK : fail_system(path, "could not be made", err);
}

void part_end(part_maker *part)
{
    if (part->days) fclose(part->days);
    free(part->head);
    *part = (part_maker){0};
}
