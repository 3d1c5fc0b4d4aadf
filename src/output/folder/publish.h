/* SPDX-License-Identifier: GPL-3.0-or-later
 * An output folder appears whole or not at all. */
#ifndef PAPPUS_OUTPUT_PUBLISH_H
#define PAPPUS_OUTPUT_PUBLISH_H

#include <pappus/output.h>

/** Lists the files of a result, one path a line; a folder without it was not
 * written by pappus and is never touched. */
#define PAPPUS_MARKER ".pappus-files"

/** A folder in the making, beside the one that it will become. */
typedef struct {
    char *target;  /**< without a slash at its end */
    char *parent;  /**< folder of the target */
    char *name;    /**< last part of the target */
    char *folder;  /**< being made; write here */
    int lock;      /**< open on the folder, and locked, while it is in the making */
    int displaced; /**< the same on the result that it displaced, until that is removed */
} pappus_stage;

/** Checks the target, removes what a killed run left, and makes an empty stage.
 * On failure nothing is left. */
int pappus_stage_begin(pappus_stage *out, const char *folder, pappus_error *err);
/** Lists, syncs and puts the stage in the target's place. The stage is gone
 * after it, whether it succeeds or not; on failure the target is as before. */
int pappus_stage_publish(pappus_stage *stage, pappus_error *err);
/** Removes a stage that is not to be published. */
void pappus_stage_abandon(pappus_stage *stage);

/** publish with the file system's own exchange left out, as on file systems that
 * have none: for tests of the two renames. */
int pappus_stage_publish_by_renames(pappus_stage *stage, pappus_error *err);

#endif
