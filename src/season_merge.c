/* SPDX-License-Identifier: GPL-3.0-or-later
 * Parts put together: looked at whether they belong together and are all there, then read in
 * order of their days. Sums are of whole numbers and days are counted in their order, so the
 * result does not depend on how many parts there are. */
#include <pappus/season.h>

#include "c_locale.h"
#include "contour.h"
#include "error.h"
#include "grow.h"
#include "part.h"
#include "tally.h"
#include "time_zone.h"

#include <dirent.h>
#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#define PART_BEGIN "season-"
#define PART_END ".part"

struct pappus_season_parts {
    size_t count;
    part_file *files; /* by shard */
};

typedef struct {
    pappus_season_parts *parts;
    pappus_log *log;
} gathering;

static int memory_fault(pappus_log *log)
{
    return pappus_log_add(log, PAPPUS_FAULT, PAPPUS_E_MEMORY, NULL, NULL, NULL, "out of memory");
}

char *pappus_season_part_name(const char *folder, size_t shard, size_t shards)
{
    char *name = NULL;
    if (asprintf(&name, "%s/" PART_BEGIN "%zu-of-%zu" PART_END, folder, shard, shards) < 0)
        return NULL;
    return name;
}

/* -------------------------------------------------------------------- gather */

static int add_part(gathering *g, const char *path)
{
    pappus_season_parts *parts = g->parts;
    pappus_error error = {0};
    if (!PAPPUS_GROW(parts->files, NULL, parts->count + 1)) return memory_fault(g->log);
    int status = part_open(&parts->files[parts->count], path, &error);
    if (status != PAPPUS_OK) return pappus_log_error(g->log, &error);
    parts->count++;
    return PAPPUS_OK;
}

static bool is_part_name(const char *name)
{
    size_t length = strlen(name), end = sizeof PART_END - 1;
    return strncmp(name, PART_BEGIN, sizeof PART_BEGIN - 1) == 0 && length > end &&
           strcmp(name + length - end, PART_END) == 0;
}

static int entry_is_part(const struct dirent *entry)
{
    return is_part_name(entry->d_name);
}

static int add_folder(gathering *g, const char *folder)
{
    struct dirent **entries = NULL;
    int status = PAPPUS_OK, count = scandir(folder, &entries, entry_is_part, alphasort);
    if (count <= 0) {
        free(entries);
        return pappus_log_add(g->log, PAPPUS_FAULT, PAPPUS_E_SEASON, folder, NULL, NULL,
                              "holds no part; accepted are folders that pappus season --shard "
                              "wrote to");
    }
    for (int i = 0; i < count; i++) {
        char *path = NULL;
        int one = asprintf(&path, "%s/%s", folder, entries[i]->d_name) < 0 ? memory_fault(g->log)
                                                                           : add_part(g, path);
        if (status == PAPPUS_OK) status = one; /* all that is damaged is told at once */
        free(path);
        free(entries[i]);
    }
    free(entries);
    return status;
}

static int gather(gathering *g, const char *const *paths, size_t count)
{
    struct stat state;
    int status = PAPPUS_OK;
    for (size_t i = 0; i < count; i++) {
        bool folder = stat(paths[i], &state) == 0 && S_ISDIR(state.st_mode);
        int one = folder ? add_folder(g, paths[i]) : add_part(g, paths[i]);
        if (status == PAPPUS_OK) status = one;
    }
    return status;
}

/* --------------------------------------------------------------------- check */

static int by_shard(const void *a, const void *b)
{
    const part_file *p = a, *q = b;
    if (p->shards != q->shards) return p->shards < q->shards ? -1 : 1;
    if (p->shard != q->shard) return p->shard < q->shard ? -1 : 1;
    return strcmp(p->path, q->path);
}

/* In what two heads differ. */
static const char *difference(const pappus_season_head *a, const pappus_season_head *b)
{
    if (strcmp(a->version, b->version) != 0) return "version of pappus";
    if (strcmp(a->archive, b->archive) != 0) return "archive";
    if (a->plan_count != b->plan_count) return "number of plans";
    for (size_t p = 0; p < a->plan_count; p++)
        if (strcmp(a->plans[p].digest, b->plans[p].digest) != 0 ||
            strcmp(a->plans[p].name, b->plans[p].name) != 0)
            return "plan";
    return "number of landings, age, seed or reading";
}

static int check_alike(const pappus_season_parts *parts, const pappus_season_head *head,
                       pappus_log *log)
{
    int status = PAPPUS_OK;
    for (size_t i = 1; i < parts->count; i++) {
        const part_file *part = &parts->files[i];
        pappus_season_head other;
        pappus_error error = {0};
        if (strcmp(part->head, parts->files[0].head) == 0 && part->shards == parts->files[0].shards)
            continue;
        status = part_head_read(&other, part, &error);
        if (status != PAPPUS_OK) return pappus_log_error(log, &error);
        const char *what = strcmp(part->head, parts->files[0].head) == 0 ? "number of shards"
                                                                         : difference(head, &other);
        season_head_clear(&other);
        status = pappus_log_add(log, PAPPUS_FAULT, PAPPUS_E_SEASON, part->path, NULL, NULL,
                                "is of another %s than %s; parts of one season are accepted", what,
                                parts->files[0].path);
    }
    return status;
}

/* The same part twice is one; two that differ are none. */
static int drop_repeated(pappus_season_parts *parts, pappus_log *log)
{
    size_t kept = 0;
    int status = PAPPUS_OK;
    for (size_t i = 0; i < parts->count; i++) {
        part_file *part = &parts->files[i], *last = kept ? &parts->files[kept - 1] : NULL;
        if (!last || last->shard != part->shard) {
            parts->files[kept++] = *part;
            continue;
        }
        if (strcmp(last->digest, part->digest) == 0)
            pappus_log_add(log, PAPPUS_NOTE, PAPPUS_OK, part->path, NULL, NULL,
                           "is the same as %s and counts once", last->path);
        else
            status = pappus_log_add(log, PAPPUS_FAULT, PAPPUS_E_SEASON, part->path, NULL, NULL,
                                    "is the same shard as %s and differs; remove one", last->path);
        part_clear(part);
    }
    parts->count = kept;
    return status;
}

static void name_shard(char *out, size_t size, size_t shard)
{
    size_t used = strlen(out);
    if (used + 24 < size) snprintf(out + used, size - used, "%s%zu", used ? ", " : "", shard);
}

static int check_complete(const pappus_season_parts *parts, const pappus_season_head *head,
                          pappus_log *log)
{
    size_t shards = parts->files[0].shards, at = 0, absent = 0;
    char missing[320] = "";
    int status = PAPPUS_OK;
    for (size_t k = 1; k <= shards; k++) {
        if (at < parts->count && parts->files[at].shard == k) {
            at++;
            continue;
        }
        absent++;
        name_shard(missing, sizeof missing, k);
    }
    if (absent > 0)
        return pappus_log_add(log, PAPPUS_FAULT, PAPPUS_E_SEASON, NULL, "shards", NULL,
                              "%zu of %zu missing: %s; run pappus season --shard for each", absent,
                              shards, missing);
    for (size_t i = 0; i < parts->count; i++) {
        const part_file *part = &parts->files[i];
        size_t from = (size_t)((unsigned long long)head->day_count * i / shards);
        size_t to = (size_t)((unsigned long long)head->day_count * (i + 1) / shards);
        if (part->from != from || part->to != to)
            status = pappus_log_add(log, PAPPUS_FAULT, PAPPUS_E_SEASON, part->path, NULL, NULL,
                                    "has other days than its shard");
        else if (part->done < to - from)
            status = pappus_log_add(log, PAPPUS_FAULT, PAPPUS_E_SEASON, part->path, NULL, NULL,
                                    "is not done: %zu of %zu days; run its shard with --resume",
                                    part->done, to - from);
    }
    return status;
}

static int check(pappus_season_result *result, pappus_log *log)
{
    pappus_season_parts *parts = result->parts;
    pappus_error error = {0};
    if (parts->count == 0)
        return pappus_log_add(log, PAPPUS_FAULT, PAPPUS_E_USAGE, NULL, NULL, NULL,
                              "no part; one or more are needed");
    qsort(parts->files, parts->count, sizeof *parts->files, by_shard);
    int status = part_head_read(&result->head, &parts->files[0], &error);
    if (status != PAPPUS_OK) return pappus_log_error(log, &error);
    status = check_alike(parts, &result->head, log);
    if (status == PAPPUS_OK) status = drop_repeated(parts, log);
    return status == PAPPUS_OK ? check_complete(parts, &result->head, log) : status;
}

/* ---------------------------------------------------------------------- read */

typedef struct {
    season_tally *tally;
    const char *zone;
} counting;

static int count_day(void *context, const pappus_season_day *day, pappus_error *err)
{
    counting *c = context;
    int month, hour;
    long local_day;
    pappus_time_local(&month, &hour, &local_day, c->zone, day->valid_utc_s);
    return season_tally_add(c->tally, day, month, hour, local_day, err);
}

static int read_parts(const pappus_season_result *result, pappus_season_visit visit, void *context,
                      season_sums *sums, pappus_error *err)
{
    int status = PAPPUS_OK;
    for (size_t i = 0; i < result->parts->count && status == PAPPUS_OK; i++)
        status = part_read(&result->parts->files[i], &result->head, visit, context, sums, err);
    return status;
}

int pappus_season_days(const pappus_season_result *result, pappus_season_visit visit, void *context,
                       pappus_error *err)
{
    pappus_locale locale;
    if (!pappus_locale_enter(&locale)) return pappus_fail_memory(err);
    int status = read_parts(result, visit, context, NULL, err);
    pappus_locale_leave(&locale);
    return status;
}

/* What of the sums is said: how far they drift, where they lie. */
static int use_sums(pappus_season_result *result, const season_sums *sums, pappus_error *err)
{
    int status = PAPPUS_OK;
    for (size_t i = 0; i < result->group_count; i++) {
        pappus_season_group *g = &result->groups[i];
        if (g->hour == PAPPUS_SEASON_ALL_HOURS)
            g->drift_m =
                season_drift_m(&sums[g->plan], g->month ? 1U << (g->month - 1) : (1U << 12) - 1U);
    }
    for (size_t p = 0; p < result->head.plan_count && status == PAPPUS_OK; p++) {
        result->sums[p].off_map = season_beyond(&sums[p]);
        status = season_footprint(result->sums[p].footprint, &sums[p], result->head.cell_m,
                                  result->sums[p].judged, err);
    }
    return status;
}

static int put_together(pappus_season_result *result, pappus_error *err)
{
    counting c = {NULL, result->head.time_zone};
    season_sums *sums = calloc(result->head.plan_count, sizeof *sums);
    result->sums = calloc(result->head.plan_count, sizeof *result->sums);
    int status = sums && result->sums ? season_tally_new(&c.tally, &result->head, err)
                                      : pappus_fail_memory(err);
    if (status == PAPPUS_OK) status = read_parts(result, count_day, &c, sums, err);
    if (status == PAPPUS_OK) status = season_tally_finish(result, c.tally, err);
    if (status == PAPPUS_OK) status = use_sums(result, sums, err);
    season_tally_free(c.tally);
    free(sums);
    return status;
}

int pappus_season_merge(pappus_season_result **out, const char *const *paths, size_t count,
                        pappus_log *log)
{
    pappus_locale locale;
    pappus_error error = {0};
    pappus_season_result *result = calloc(1, sizeof *result);
    *out = NULL;
    if (result) result->parts = calloc(1, sizeof *result->parts);
    if (!result || !result->parts || !pappus_locale_enter(&locale)) {
        pappus_season_result_free(result);
        return memory_fault(log);
    }
    gathering g = {result->parts, log};
    int status = gather(&g, paths, count);
    if (status == PAPPUS_OK) status = check(result, log);
    if (status == PAPPUS_OK) {
        status = put_together(result, &error);
        if (status != PAPPUS_OK) pappus_log_error(log, &error);
    }
    pappus_locale_leave(&locale);
    if (status == PAPPUS_OK)
        *out = result;
    else
        pappus_season_result_free(result);
    return status;
}

void pappus_season_result_free(pappus_season_result *result)
{
    if (!result) return;
    for (size_t i = 0; i < result->group_count; i++)
        free(result->groups[i].height_days);
    free(result->groups);
    for (size_t p = 0; result->sums && p < result->head.plan_count; p++) {
        free(result->sums[p].first_why);
        pappus_contours_clear(result->sums[p].footprint);
    }
    free(result->sums);
    for (size_t i = 0; result->parts && i < result->parts->count; i++)
        part_clear(&result->parts->files[i]);
    if (result->parts) free(result->parts->files);
    free(result->parts);
    season_head_clear(&result->head);
    free(result);
}
