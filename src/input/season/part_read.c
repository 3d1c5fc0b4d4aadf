/* SPDX-License-Identifier: GPL-3.0-or-later
 * Reading a part; its lines are in part.h. Every byte is digested before a value is believed,
 * and every value is looked at all the same: a file may be made by hand. */
#include "part_value.h"

#include "error.h"

#include <errno.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define MOST_SHARDS 1e6

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
    bool good = part_whole(&version, part_item(tree, "season_part"), 1.0) && version == 1 &&
                part_whole(&out->shard, part_item(tree, "shard"), MOST_SHARDS) &&
                part_whole(&out->shards, part_item(tree, "shards"), MOST_SHARDS) &&
                part_whole(&out->from, part_item(tree, "from"), MOST_DAYS) &&
                part_whole(&out->to, part_item(tree, "to"), MOST_DAYS) && out->shard >= 1 &&
                out->shard <= out->shards && out->from <= out->to;
    cJSON_Delete(tree);
    return good;
}

/* The last line, of a digest of the lines before. */
static bool read_last(part_file *out, const line_reader *in, const pappus_digest *digest)
{
    cJSON *tree = parse_line(in);
    const cJSON *sha = part_item(tree, "sha256");
    pappus_digest_text(out->digest, digest);
    bool good = part_whole(&out->done, part_item(tree, "days"), MOST_DAYS) && cJSON_IsString(sha) &&
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
    const cJSON *drift = part_item(from, "drift");
    size_t seed, verdict, unmet, limit;
    if (!part_text(&out->why, part_item(from, "why"), true) ||
        !part_whole(&seed, part_item(from, "seed"), 9007199254740992.0))
        return false;
    out->seed = seed;
    if (out->why) return true;
    if (!part_whole(&verdict, part_item(from, "verdict"), PAPPUS_UNDECIDED) ||
        !part_whole(&unmet, part_item(from, "unmet"), (1U << PAPPUS_LIMIT_KINDS) - 1U) ||
        !part_whole(&limit, part_item(from, "limit"), PAPPUS_LIMIT_KINDS - 1) ||
        !part_number(&out->use, part_item(from, "use")) ||
        !part_number(&out->inside_field, part_item(from, "inside")) ||
        !part_number(&out->keep_out, part_item(from, "keep_out")) ||
        !part_number(&out->mean_east_m, part_item(from, "east")) ||
        !part_number(&out->mean_north_m, part_item(from, "north")) ||
        cJSON_GetArraySize(drift) != 3 ||
        !part_number(&out->drift_m.p05, cJSON_GetArrayItem(drift, 0)) ||
        !part_number(&out->drift_m.p50, cJSON_GetArrayItem(drift, 1)) ||
        !part_number(&out->drift_m.p95, cJSON_GetArrayItem(drift, 2)) ||
        !part_number(&out->recommended_m, part_item(from, "best_m")) ||
        !read_heights(out, part_item(from, "heights")))
        return false;
    out->verdict = (pappus_verdict)verdict;
    out->unmet = (unsigned)unmet;
    out->limit = (pappus_limit_kind)limit;
    return out->height_count == plan->height_count;
}

static bool read_day(pappus_season_day *out, const cJSON *tree, const pappus_season_head *head)
{
    const cJSON *rows = part_item(tree, "plans"), *row;
    *out = (pappus_season_day){0};
    if (!part_whole(&out->number, part_item(tree, "day"), MOST_DAYS) ||
        !part_number(&out->valid_utc_s, part_item(tree, "time")) || isnan(out->valid_utc_s) ||
        !part_number(&out->surface_wind_mps, part_item(tree, "wind")) ||
        !part_number(&out->surface_from_deg, part_item(tree, "from")) ||
        !part_truth(&out->reading, part_item(tree, "reading")) ||
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
        if (first >= count || !part_whole(&more, value, 9007199254740992.0)) return false;
        sums[first++] += more;
    }
    return true;
}

static bool read_sums(season_sums *sums, const cJSON *tree, size_t plans)
{
    size_t plan, first = 0, place, beyond;
    if (!part_whole(&plan, part_item(tree, "plan"), (double)plans - 1.0)) return false;
    if (part_whole(&beyond, part_item(tree, "beyond"), 9007199254740992.0)) {
        sums[plan].beyond += beyond;
        return true;
    }
    if (!part_whole(&first, part_item(tree, "first"), SEASON_CELLS + SEASON_DRIFTS)) return false;
    if (part_whole(&place, part_item(tree, "north"), SEASON_CELLS - 1))
        return add_sums(sums[plan].cells[place], SEASON_CELLS, first, part_item(tree, "cells"));
    return part_whole(&place, part_item(tree, "month"), 12) && place >= 1 &&
           add_sums(sums[plan].drift[place - 1], SEASON_DRIFTS, first, part_item(tree, "drift"));
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
