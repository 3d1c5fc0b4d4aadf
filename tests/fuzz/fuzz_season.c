/* SPDX-License-Identifier: GPL-3.0-or-later
 * A part of a season made by hand, its checksum right: it is refused with a fault, or read, and
 * then what is said of it can be written. Give it a folder with a part as its corpus: the bytes
 * before the last line. */
#include <pappus/pappus.h>

#include "contour.h"
#include "digest.h"
#include "part.h"
#include "tally.h"

#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>
#include <unistd.h>

/* Days done: the lines that begin as one of a day. */
static size_t count_days(const uint8_t *data, size_t size)
{
    static const char begin[] = "\n{\"day\":";
    size_t count = 0;
    for (const uint8_t *at = data; (at = memmem(at, size - (size_t)(at - data), begin, 8)); at++)
        count++;
    return count;
}

static int write_part(const uint8_t *data, size_t size)
{
    char sha[PAPPUS_DIGEST_SIZE];
    int file = memfd_create("part", 0);
    pappus_digest *digest = pappus_digest_new();
    if (file < 0 || !digest) abort();
    pappus_digest_add(digest, data, size);
    pappus_digest_text(sha, digest);
    pappus_digest_free(digest);
    if (write(file, data, size) != (ssize_t)size) abort();
    dprintf(file, "{\"days\":%zu,\"sha256\":\"%s\"}\n", count_days(data, size), sha);
    return file;
}

static int count(void *tally, const pappus_season_day *day, pappus_error *err)
{
    return season_tally_add(tally, day, 1 + (int)(day->number % 12), (int)(day->number % 24),
                            (long)day->number, err);
}

static void tell(const pappus_season_result *result)
{
    pappus_text_options options = {PAPPUS_UNITS_US, 80, false};
    char *text = NULL;
    if (pappus_season_json_text(&text, result, NULL) != PAPPUS_OK) abort();
    free(text);
    if (pappus_season_text(&text, result, &options, NULL) != PAPPUS_OK) abort();
    free(text);
}

static void clear(pappus_season_result *result)
{
    for (size_t i = 0; i < result->group_count; i++)
        free(result->groups[i].height_days);
    free(result->groups);
    for (size_t p = 0; result->sums && p < result->head.plan_count; p++) {
        free(result->sums[p].first_why);
        pappus_contours_clear(result->sums[p].footprint);
    }
    free(result->sums);
    season_head_clear(&result->head);
}

/* As src/season_merge.c does, of one part. */
static int read_part(const part_file *part, pappus_error *err)
{
    pappus_season_result result = {0};
    season_tally *tally = NULL;
    int status = part_head_read(&result.head, part, err);
    if (status != PAPPUS_OK) return status;
    season_sums *sums = calloc(result.head.plan_count, sizeof *sums);
    result.sums = calloc(result.head.plan_count, sizeof *result.sums);
    if (!sums || !result.sums) abort();
    status = season_tally_new(&tally, &result.head, err);
    if (status == PAPPUS_OK) status = part_read(part, &result.head, count, tally, sums, err);
    if (status == PAPPUS_OK) status = season_tally_finish(&result, tally, err);
    if (status == PAPPUS_OK)
        status = season_footprint(result.sums[0].footprint, &sums[0], result.head.cell_m, 3, err);
    if (status == PAPPUS_OK) tell(&result);
    season_tally_free(tally);
    free(sums);
    clear(&result);
    return status;
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    char path[64];
    part_file part;
    pappus_error error = {0};
    int file = write_part(data, size);
    snprintf(path, sizeof path, "/proc/self/fd/%d", file);
    int status = part_open(&part, path, &error);
    if (status == PAPPUS_OK) {
        status = read_part(&part, &error);
        part_clear(&part);
    }
    if (status != PAPPUS_OK && error.code != status) abort();
    close(file);
    return 0;
}
