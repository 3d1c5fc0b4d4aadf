/* SPDX-License-Identifier: GPL-3.0-or-later
 * A part of a season as a file: JSON lines (RFC 8259), each ended by a line feed.
 *
 *   1. {"season_part": 1, "shard", "shards", "from", "to"}: days from <= number < to
 *   2. what all parts have in common (pappus_season_head), the same bytes in each
 *   3. a line for each day done, in order of its number
 *   4. the sums of landings that are not 0: {"plan", "north", "first", "cells"},
 *      {"plan", "month", "first", "drift"}, {"plan", "beyond"}
 *   5. {"days", "sha256"}: how many were done, and the SHA-256 of all lines before
 *
 * A part whose days are not all done is one that was put down: a run can go on with it. It is
 * replaced by rename, so what is there is whole, whenever a run is killed. */
#ifndef PAPPUS_INPUT_PART_H
#define PAPPUS_INPUT_PART_H

#include "digest.h"
#include "sums.h"

#include <stdio.h>

/* ------------------------------------------------------------------ writing */

/** A part in the making. */
typedef struct {
    const char *path;
    size_t shard, shards, from, to, done;
    char *head;   /**< line 2 */
    FILE *days;   /**< lines of the days so far, in a file without a name */
    size_t bytes; /**< of them */
} part_maker;

/** Line 2 of a head; the caller frees. */
int part_head_text(char **out, const pappus_season_head *head, pappus_error *err);
/** Takes over `head`. Cleared with part_end. */
int part_begin(part_maker *out, const char *path, char *head, size_t shard, size_t shards,
               size_t from, size_t to, pappus_error *err);
int part_add_day(part_maker *part, const pappus_season_day *day, pappus_error *err);
/** Writes what is done so far, with sums[plans], in the place of the file. */
int part_put(part_maker *part, const season_sums *sums, size_t plans, pappus_error *err);
void part_end(part_maker *part);

/* ------------------------------------------------------------------ reading */

/** A part that is there, its bytes as they were written. */
typedef struct {
    char *path;
    size_t shard, shards, from, to, done;
    char *head; /**< line 2 */
    char digest[PAPPUS_DIGEST_SIZE];
    long days_at; /**< where line 3 begins */
} part_file;

/** Reads what is said of a part, having looked at every byte. PAPPUS_E_SEASON when it is
 * damaged or no part. */
int part_open(part_file *out, const char *path, pappus_error *err);
void part_clear(part_file *part);
int part_head_read(pappus_season_head *out, const part_file *part, pappus_error *err);
/** All days of a part in order, and, where sums is not NULL, adds its sums to them. */
int part_read(const part_file *part, const pappus_season_head *head, pappus_season_visit visit,
              void *context, season_sums *sums, pappus_error *err);
/** Goes on with a part: its days go into `to`, its sums into sums. */
int part_resume(part_maker *to, const part_file *part, const pappus_season_head *head,
                season_sums *sums, pappus_error *err);
void season_head_clear(pappus_season_head *head);

#endif
