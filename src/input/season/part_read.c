/* SPDX-License-Identifier: GPL-3.0-or-later
 * Reading a part; its lines are in part.h. Every byte is digested before a value is believed,
 * and every value is looked at all the same: a file may be made by hand. */
#include "part.h"

#include "error.h"
#include "geometry.h"
#include "json.h"

#include <errno.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define MOST_SHARDS 1e6
#define MOST_DAYS 4e9
#define MOST_HEIGHTS 1000
#define MOST_PLANS 10000

typedef struct {
    const char *path;
    FILE *file;
    char *line; /* without its line feed */
    size_t size, number;
    ssize_t length;
} line_reader;

static int damaged(const char *path, const char *what, pappus_error *err)
{
    return pappus_fail(err, PAPPUS_E_SEASON, path, NULL, NULL,
                       "%s; remove it and run this shard again", what);
}

static int bad_line(const line_reader *in, pappus_error *err)
{
    char key[32];
    snprintf(key, sizeof key, "line %zu", in->number);
    return pappus_fail(err, PAPPUS_E_SEASON, in->path, key, NULL,
                       "is no line of a part of a season");
}

/* -------------------------------------------------------------------- values */

static const cJSON *item(const cJSON *from, const char *key)
{
    return cJSON_GetObjectItemCaseSensitive(from, key);
}

static bool whole(size_t *out, const cJSON *value, double most)
{
    if (!cJSON_IsNumber(value) || !(value->valuedouble >= 0.0 && value->valuedouble <= most) ||
        value->valuedouble != floor(value->valuedouble))
        return false;
    *out = (size_t)value->valuedouble;
    return true;
}

static bool number(double *out, const cJSON *value)
{
    *out = NAN;
    if (cJSON_IsNull(value)) return true;
    if (!cJSON_IsNumber(value) || !isfinite(value->valuedouble)) return false;
    *out = value->valuedouble;
    return true;
}

/* A copy; NULL for null, where that may be. False when it is no text or memory is out. */
static bool text(char **out, const cJSON *value, bool may_be_null)
{
    *out = NULL;
    if (cJSON_IsNull(value)) return may_be_null;
    if (!cJSON_IsString(value)) return false;
    *out = strdup(value->valuestring);
    return *out != NULL;
}

static bool truth(bool *out, const cJSON *value)
{
    *out = cJSON_IsTrue(value);
    return cJSON_IsBool(value);
}

/* --------------------------------------------------------------------- lines */

static bool open_lines(line_reader *in, const char *path)
{
    *in = (line_reader){.path = path, .file = fopen(path, "rb")};
    return in->file != NULL;
}

static void close_lines(line_reader *in)
{
    if (in->file) fclose(in->file);
    free(in->line);
    *in = (line_reader){0};
}

static bool next_line(line_reader *in)
{
    in->length = getline(&in->line, &in->size, in->file);
    if (in->length <= 0 || in->line[in->length - 1] != '\n') return false;
    in->number++;
    return true;
}

static cJSON *parse_line(const line_reader *in)
{
    cJSON *tree = cJSON_ParseWithLength(in->line, (size_t)in->length);
    if (cJSON_IsObject(tree)) return tree;
    cJSON_Delete(tree);
    return NULL;
}

/* ---------------------------------------------------------------------- open */

static bool read_first(part_file *out, const line_reader *in)
{
    size_t version;
    cJSON *tree = parse_line(in);
    bool good = whole(&version, item(tree, "season_part"), 1.0) && version == 1 &&
                whole(&out->shard, item(tree, "shard"), MOST_SHARDS) &&
                whole(&out->shards, item(tree, "shards"), MOST_SHARDS) &&
                whole(&out->from, item(tree, "from"), MOST_DAYS) &&
                whole(&out->to, item(tree, "to"), MOST_DAYS) && out->shard >= 1 &&
                out->shard <= out->shards && out->from <= out->to;
    cJSON_Delete(tree);
    return good;
}

/* The last line, of a digest of the lines before. */
static bool read_last(part_file *out, const line_reader *in, const pappus_digest *digest)
{
    cJSON *tree = parse_line(in);
    const cJSON *sha = item(tree, "sha256");
    pappus_digest_text(out->digest, digest);
    bool good = whole(&out->done, item(tree, "days"), MOST_DAYS) && cJSON_IsString(sha) &&
                strcmp(sha->valuestring, out->digest) == 0 && out->done <= out->to - out->from;
    cJSON_Delete(tree);
    return good;
}

static bool is_last(const line_reader *in)
{
    static const char begin[] = "{\"days\":";
    return (size_t)in->length >= sizeof begin && memcmp(in->line, begin, sizeof begin - 1) == 0;
}

static int look_through(part_file *out, line_reader *in, pappus_digest *digest, pappus_error *err)
{
    while (next_line(in)) {
        if (in->number == 1 && !read_first(out, in))
            return pappus_fail(err, PAPPUS_E_SEASON, in->path, NULL, NULL,
                               "is no part of a season; accepted are files that pappus season "
                               "--shard wrote");
        if (is_last(in)) {
            if (!read_last(out, in, digest))
                return damaged(in->path, "is damaged: its checksum is another", err);
            return next_line(in) ? damaged(in->path, "is damaged: it goes on behind its end", err)
                                 : PAPPUS_OK;
        }
        pappus_digest_add(digest, in->line, (size_t)in->length);
        if (in->number != 2) continue;
        out->head = strndup(in->line, (size_t)in->length - 1);
        out->days_at = ftell(in->file);
        if (!out->head) return pappus_fail_memory(err);
    }
    if (in->number == 0)
        return pappus_fail(err, PAPPUS_E_SEASON, in->path, NULL, NULL, "is no part of a season");
    return damaged(in->path, "is damaged: it ends before its last line", err);
}

int part_open(part_file *out, const char *path, pappus_error *err)
{
    line_reader in;
    *out = (part_file){.path = strdup(path)};
    if (!out->path) return pappus_fail_memory(err);
    if (!open_lines(&in, path)) {
        part_clear(out);
        return pappus_fail(err, PAPPUS_E_SEASON, path, NULL, NULL, "cannot be opened: %s",
                           strerror(errno));
    }
    pappus_digest *digest = pappus_digest_new();
    int status = digest ? look_through(out, &in, digest, err) : pappus_fail_memory(err);
    if (status == PAPPUS_OK && !out->head) status = damaged(path, "is damaged", err);
    pappus_digest_free(digest);
    close_lines(&in);
    if (status != PAPPUS_OK) part_clear(out);
    return status;
}

void part_clear(part_file *part)
{
    free(part->path);
    free(part->head);
    *part = (part_file){0};
}

/* ---------------------------------------------------------------------- head */

static bool read_ring(pappus_ring *out, const cJSON *points)
{
    size_t count = (size_t)cJSON_GetArraySize(points), i = 0;
    const cJSON *value;
    if (!cJSON_IsArray(points) || count % 2 || count < 6) return false;
    out->points_m = calloc(count, sizeof *out->points_m);
    if (!out->points_m) return false;
    out->point_count = count / 2;
    cJSON_ArrayForEach(value, points) if (!cJSON_IsNumber(value)) return false;
    else out->points_m[i++] = value->valuedouble;
    return true;
}

static bool read_polygon(pappus_polygon *out, const cJSON *rings)
{
    const cJSON *ring;
    if (!cJSON_IsArray(rings) || cJSON_GetArraySize(rings) < 1) return false;
    out->rings = calloc((size_t)cJSON_GetArraySize(rings), sizeof *out->rings);
    if (!out->rings) return false;
    cJSON_ArrayForEach(ring,
                       rings) if (!read_ring(&out->rings[out->ring_count++], ring)) return false;
    return true;
}

static bool read_area(pappus_area *out, const cJSON *from)
{
    const cJSON *polygons = item(from, "polygons"), *polygon;
    if (!text(&out->name, item(from, "name"), false) || !cJSON_IsArray(polygons)) return false;
    out->polygons = calloc((size_t)cJSON_GetArraySize(polygons) + 1, sizeof *out->polygons);
    if (!out->polygons) return false;
    cJSON_ArrayForEach(polygon, polygons) if (!read_polygon(&out->polygons[out->polygon_count++],
                                                            polygon)) return false;
    return true;
}

static bool read_field(pappus_season_head *out, const cJSON *tree)
{
    const cJSON *boundary = item(tree, "boundary"), *keep_outs = item(tree, "keep_outs"), *area;
    out->field = calloc(1, sizeof *out->field);
    if (!out->field || !cJSON_IsArray(boundary) || !cJSON_IsArray(keep_outs)) return false;
    out->field->has_boundary = cJSON_GetArraySize(boundary) > 0;
    if (out->field->has_boundary &&
        !read_area(&out->field->boundary, cJSON_GetArrayItem(boundary, 0)))
        return false;
    out->field->keep_outs =
        calloc((size_t)cJSON_GetArraySize(keep_outs) + 1, sizeof *out->field->keep_outs);
    if (!out->field->keep_outs) return false;
    cJSON_ArrayForEach(
        area, keep_outs) if (!read_area(&out->field->keep_outs[out->field->keep_out_count++],
                                        area)) return false;
    return true;
}

static bool read_plan(pappus_season_plan *out, const cJSON *from)
{
    const cJSON *heights = item(from, "heights_m"), *height;
    if (!text(&out->name, item(from, "name"), false) ||
        !text(&out->title, item(from, "title"), false) ||
        !text(&out->digest, item(from, "sha256"), false) ||
        !number(&out->planned_m, item(from, "planned_m")) ||
        !number(&out->apogee_m, item(from, "apogee_m")) || !cJSON_IsArray(heights) ||
        cJSON_GetArraySize(heights) > MOST_HEIGHTS)
        return false;
    out->heights_m = calloc((size_t)cJSON_GetArraySize(heights) + 1, sizeof *out->heights_m);
    if (!out->heights_m) return false;
    cJSON_ArrayForEach(height, heights) if (!cJSON_IsNumber(height)) return false;
    else out->heights_m[out->height_count++] = height->valuedouble;
    return true;
}

static bool read_plans(pappus_season_head *out, const cJSON *plans)
{
    const cJSON *plan;
    int count = cJSON_GetArraySize(plans);
    if (!cJSON_IsArray(plans) || count < 1 || count > MOST_PLANS) return false;
    out->plans = calloc((size_t)count, sizeof *out->plans);
    if (!out->plans) return false;
    cJSON_ArrayForEach(plan,
                       plans) if (!read_plan(&out->plans[out->plan_count++], plan)) return false;
    return true;
}

static bool read_head(pappus_season_head *out, const cJSON *tree)
{
    const cJSON *skipped = item(tree, "skipped");
    bool si;
    size_t seed = 0;
    bool seeded = whole(&seed, item(tree, "seed"), 9007199254740992.0);
    out->seed = seeded ? seed : PAPPUS_PLAN_SEED;
    if (!text(&out->version, item(tree, "version"), false) ||
        !text(&out->archive, item(tree, "archive_sha256"), false) ||
        !text(&out->station, item(tree, "station"), false) ||
        !whole(&out->day_count, item(tree, "days"), MOST_DAYS) ||
        !whole(&out->landings, item(tree, "landings"), 1e9) ||
        !number(&out->age_s, item(tree, "age_s")) || !truth(&out->reading, item(tree, "reading")) ||
        !number(&out->latitude_deg, item(tree, "latitude_deg")) ||
        !number(&out->longitude_deg, item(tree, "longitude_deg")) ||
        !number(&out->elevation_msl_m, item(tree, "elevation_msl_m")) ||
        !number(&out->declination_deg, item(tree, "declination_deg")) ||
        !text(&out->time_zone, item(tree, "time_zone"), true) || !truth(&si, item(tree, "si")) ||
        !number(&out->cell_m, item(tree, "cell_m")) || !(out->cell_m > 0.0) ||
        cJSON_GetArraySize(skipped) != PAPPUS_SKIPS)
        return false;
    for (int i = 0; i < PAPPUS_SKIPS; i++)
        if (!whole(&out->skipped[i], cJSON_GetArrayItem(skipped, i), MOST_DAYS)) return false;
    out->units = si ? PAPPUS_UNITS_SI : PAPPUS_UNITS_US;
    return read_plans(out, item(tree, "plans")) && read_field(out, tree);
}

int part_head_read(pappus_season_head *out, const part_file *part, pappus_error *err)
{
    pappus_log log = {0};
    cJSON *tree = NULL;
    *out = (pappus_season_head){0};
    int status =
        pappus_json_parse(&tree, part->head, strlen(part->head), part->path, PAPPUS_E_SEASON, &log);
    if (status != PAPPUS_OK)
        pappus_fail_logged(err, status, &log);
    else if (!read_head(out, tree))
        status = pappus_fail(err, PAPPUS_E_SEASON, part->path, "line 2", NULL,
                             "is not what parts of a season have in common");
    pappus_log_clear(&log);
    cJSON_Delete(tree);
    if (status != PAPPUS_OK) season_head_clear(out);
    return status;
}

void season_head_clear(pappus_season_head *head)
{
    free(head->version);
    free(head->archive);
    free(head->station);
    free(head->time_zone);
    for (size_t p = 0; p < head->plan_count; p++) {
        free(head->plans[p].name);
        free(head->plans[p].title);
        free(head->plans[p].digest);
        free(head->plans[p].heights_m);
    }
    free(head->plans);
    pappus_field_free(head->field);
    *head = (pappus_season_head){0};
}

/* ---------------------------------------------------------------------- days */

static bool read_heights(pappus_season_row *out, const cJSON *value)
{
    static const char letters[] = "mbu";
    const char *at;
    if (!cJSON_IsString(value)) return false;
    out->height_count = strlen(value->valuestring);
    out->heights = calloc(out->height_count + 1, sizeof *out->heights);
    if (!out->heights) return false;
    for (size_t i = 0; i < out->height_count; i++) {
        at = strchr(letters, value->valuestring[i]);
        if (!at) return false;
        out->heights[i] = (pappus_verdict)(at - letters);
    }
    return true;
}

static bool read_row(pappus_season_row *out, const cJSON *from, const pappus_season_plan *plan)
{
    const cJSON *drift = item(from, "drift");
    size_t seed, verdict, unmet, limit;
    if (!text(&out->why, item(from, "why"), true) ||
        !whole(&seed, item(from, "seed"), 9007199254740992.0))
        return false;
    out->seed = seed;
    if (out->why) return true;
    if (!whole(&verdict, item(from, "verdict"), PAPPUS_UNDECIDED) ||
        !whole(&unmet, item(from, "unmet"), (1U << PAPPUS_LIMIT_KINDS) - 1U) ||
        !whole(&limit, item(from, "limit"), PAPPUS_LIMIT_KINDS - 1) ||
        !number(&out->use, item(from, "use")) ||
        !number(&out->inside_field, item(from, "inside")) ||
        !number(&out->keep_out, item(from, "keep_out")) ||
        !number(&out->mean_east_m, item(from, "east")) ||
        !number(&out->mean_north_m, item(from, "north")) || cJSON_GetArraySize(drift) != 3 ||
        !number(&out->drift_m.p05, cJSON_GetArrayItem(drift, 0)) ||
        !number(&out->drift_m.p50, cJSON_GetArrayItem(drift, 1)) ||
        !number(&out->drift_m.p95, cJSON_GetArrayItem(drift, 2)) ||
        !number(&out->recommended_m, item(from, "best_m")) ||
        !read_heights(out, item(from, "heights")))
        return false;
    out->verdict = (pappus_verdict)verdict;
    out->unmet = (unsigned)unmet;
    out->limit = (pappus_limit_kind)limit;
    return out->height_count == plan->height_count;
}

static bool read_day(pappus_season_day *out, const cJSON *tree, const pappus_season_head *head)
{
    const cJSON *rows = item(tree, "plans"), *row;
    *out = (pappus_season_day){0};
    if (!whole(&out->number, item(tree, "day"), MOST_DAYS) ||
        !number(&out->valid_utc_s, item(tree, "time")) || isnan(out->valid_utc_s) ||
        !number(&out->surface_wind_mps, item(tree, "wind")) ||
        !number(&out->surface_from_deg, item(tree, "from")) ||
        !truth(&out->reading, item(tree, "reading")) ||
        (size_t)cJSON_GetArraySize(rows) != head->plan_count)
        return false;
    out->rows = calloc(head->plan_count, sizeof *out->rows);
    if (!out->rows) return false;
    cJSON_ArrayForEach(row, rows)
    {
        size_t p = out->row_count++;
        if (!read_row(&out->rows[p], row, &head->plans[p])) return false;
    }
    return true;
}

/* ---------------------------------------------------------------------- sums */

static bool add_sums(uint64_t *sums, size_t count, size_t first, const cJSON *values)
{
    const cJSON *value;
    if (!cJSON_IsArray(values)) return false;
    cJSON_ArrayForEach(value, values)
    {
        size_t more;
        if (first >= count || !whole(&more, value, 9007199254740992.0)) return false;
        sums[first++] += more;
    }
    return true;
}

static bool read_sums(season_sums *sums, const cJSON *tree, size_t plans)
{
    size_t plan, first = 0, place, beyond;
    if (!whole(&plan, item(tree, "plan"), (double)plans - 1.0)) return false;
    if (whole(&beyond, item(tree, "beyond"), 9007199254740992.0)) {
        sums[plan].beyond += beyond;
        return true;
    }
    if (!whole(&first, item(tree, "first"), SEASON_CELLS + SEASON_DRIFTS)) return false;
    if (whole(&place, item(tree, "north"), SEASON_CELLS - 1))
        return add_sums(sums[plan].cells[place], SEASON_CELLS, first, item(tree, "cells"));
    return whole(&place, item(tree, "month"), 12) && place >= 1 &&
           add_sums(sums[plan].drift[place - 1], SEASON_DRIFTS, first, item(tree, "drift"));
}

/* ---------------------------------------------------------------------- read */

typedef struct {
    const pappus_season_head *head;
    pappus_season_visit visit;
    void *context;
    season_sums *sums;
    size_t next; /* number of the next day */
} part_work;

static int take_day(part_work *work, const line_reader *in, const cJSON *tree, pappus_error *err)
{
    pappus_season_day day;
    int status = read_day(&day, tree, work->head) && day.number == work->next ? PAPPUS_OK
                                                                              : bad_line(in, err);
    work->next++;
    if (status == PAPPUS_OK && work->visit) status = work->visit(work->context, &day, err);
    pappus_season_day_clear(&day);
    return status;
}

int part_read(const part_file *part, const pappus_season_head *head, pappus_season_visit visit,
              void *context, season_sums *sums, pappus_error *err)
{
    line_reader in;
    part_work work = {head, visit, context, sums, part->from};
    int status = PAPPUS_OK;
    if (!open_lines(&in, part->path) || fseek(in.file, part->days_at, SEEK_SET) != 0)
        status = pappus_fail(err, PAPPUS_E_SEASON, part->path, NULL, NULL, "cannot be opened: %s",
                             strerror(errno));
    in.number = 2;
    while (status == PAPPUS_OK && next_line(&in) && !is_last(&in)) {
        cJSON *tree = parse_line(&in);
        bool is_day = work.next < part->from + part->done;
        if (is_day)
            status = take_day(&work, &in, tree, err);
        else if (sums && !read_sums(sums, tree, head->plan_count))
            status = bad_line(&in, err);
        cJSON_Delete(tree);
        if (!is_day && !sums) break;
    }
    if (status == PAPPUS_OK && work.next != part->from + part->done)
        status = damaged(part->path, "has fewer days than it says", err);
    close_lines(&in);
    return status;
}

typedef struct {
    part_maker *to;
} resume_work;

static int take_over(void *context, const pappus_season_day *day, pappus_error *err)
{
    return part_add_day(((resume_work *)context)->to, day, err);
}

int part_resume(part_maker *to, const part_file *part, const pappus_season_head *head,
                season_sums *sums, pappus_error *err)
{
    resume_work work = {to};
    return part_read(part, head, take_over, &work, sums, err);
}
