/* SPDX-License-Identifier: GPL-3.0-or-later
 * What the parts of the plan reader share. */
#ifndef PAPPUS_INPUT_PLAN_READER_H
#define PAPPUS_INPUT_PLAN_READER_H

#include <pappus/plan.h>
#include "json.h"
#include "plan_keys.h"
#include "units.h"

#define PAPPUS_KEY_LIMIT 160
#define PAPPUS_BASE_LIMIT 16

/** One file of the chain: the plan, its base, the base's base ... */
typedef struct {
    char *path;
    cJSON *tree;
} pappus_plan_document;

/** The texts that a plan is made of, and the whole that they make. */
typedef struct {
    size_t document_count; /**< the plan itself first */
    pappus_plan_document documents[PAPPUS_BASE_LIMIT];
    size_t setting_count;
    char **setting_keys; /**< dotted, with [n] for indices */
    cJSON *whole;
    bool faulty; /**< keys given twice or settings that do not fit: told, and read on */
} pappus_plan_sources;

typedef struct {
    pappus_plan *plan;
    const pappus_plan_sources *sources;
    pappus_units *units;
    pappus_log *log;
    size_t entry_capacity;
    size_t fault_count;
    bool out_of_memory;
} pappus_plan_reader;

/** Reads the chain of files from `path`, or, with text, from there (path then only
 * names it), and lays it and the settings together. */
int pappus_plan_sources_read(pappus_plan_sources *out, const char *path, const char *text,
                             size_t length, const pappus_plan_options *options, pappus_log *log);
/** Lays one more "dotted.key=value" over the whole. What the key spoils (plan_keys.h) is
 * added to *spoiled, whether or not the setting fits. */
int pappus_plan_sources_set(pappus_plan_sources *sources, const char *setting, unsigned *spoiled,
                            pappus_log *log);
int pappus_plan_sources_copy(pappus_plan_sources *out, const pappus_plan_sources *from,
                             pappus_log *log);
/** All of it, settings laid over, as the text of one plan whose first pad is `pad` (NULL: as it
 * is); gust_mps: as understood, for a speed that was set without it. The caller frees *out. */
int pappus_plan_sources_text(char **out, const pappus_plan_sources *sources, const char *pad,
                             double gust_mps, pappus_error *err);
void pappus_plan_sources_clear(pappus_plan_sources *sources);
/** The file a key comes from, or "--set"; for a missing key the plan itself. */
const char *pappus_plan_sources_file(const pappus_plan_sources *sources, const char *key);
/** Path of a file named at `key`, relative to the folder of the file that names
 * it; the caller's to free, NULL when out of memory. */
char *pappus_plan_sources_path(const pappus_plan_sources *sources, const char *key,
                               const char *name);

/** Adds a fault at a key. value may be NULL. */
void pappus_plan_fault(pappus_plan_reader *reader, const char *key, const char *value,
                       const char *message, ...) __attribute__((format(printf, 4, 5)));

/** Marks a value of the row in `owner` as absent: NaN for a double. */
void pappus_plan_value_clear(const pappus_plan_key *row, void *owner);
/** Reads the value of one row (not an object or list) into `owner` and notes the
 * entry. item NULL: the default, which may be none. */
void pappus_plan_value_read(pappus_plan_reader *reader, const pappus_plan_key *row, const char *key,
                            const cJSON *item, void *owner);

/** Notes a value that was settled from others as assumed, in the place of what was noted
 * at its key. */
void pappus_plan_value_assume(pappus_plan_reader *reader, const char *key, double value);

/** Faults that need more than one key. */
void pappus_plan_check(pappus_plan_reader *reader, const pappus_plan_options *options);
/** What is allowed and yet looks wrong goes to the log as warnings. */
void pappus_plan_warn(const pappus_plan_reader *reader);

/** The plan that the sources make. Reads no file. */
int pappus_plan_make(pappus_plan **out, const pappus_plan_sources *sources,
                     const pappus_plan_options *options, pappus_log *log);
/** A plan from a buffer; path names it and says which folder its files are in. */
int pappus_plan_parse(pappus_plan **out, const char *text, size_t length, const char *path,
                      const pappus_plan_options *options, pappus_log *log);

#endif
