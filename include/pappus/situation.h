/* SPDX-License-Identifier: GPL-3.0-or-later
 * A situation: the plan, what it names and what is made of it before anything is
 * sampled. Opened once, changed key by key, briefed as often as wanted. Conventions:
 * pappus.h. */
#ifndef PAPPUS_SITUATION_H
#define PAPPUS_SITUATION_H

#include <pappus/givens.h>
#include <pappus/run.h>

#include <stdbool.h>
#include <stddef.h>

#ifdef __cplusplus
extern "C" {
#endif

/** Plan, winds, field and air that belong together. An answer keeps those it was made of
 * (they are counted, not copied), so a situation may be changed or freed while answers
 * live. One thread at a time for each situation; different ones are independent, even
 * where they share parts. */
typedef struct pappus_situation pappus_situation;

/** Reads a plan and everything it names, and builds the air. options NULL: the usual;
 * run (NULL: none) is told the stages, and nothing else of it is looked at. On success
 * warnings stay with the situation and come with each answer; on failure `log` gets every
 * fault and warning. */
int pappus_situation_open(pappus_situation **out, const char *plan_path,
                          const pappus_plan_options *options, const pappus_run *run,
                          pappus_log *log);
/** The same from the text of a plan. plan_path names it in faults and says in which folder
 * its files are; it need not exist. */
int pappus_situation_open_text(pappus_situation **out, const char *text, size_t length,
                               const char *plan_path, const pappus_plan_options *options,
                               const pappus_run *run, pappus_log *log);
void pappus_situation_free(pappus_situation *situation);

/** Lays a value over the plan as `--set key=value` does, "null" takes one away, and makes
 * anew only what depends on it: a wind reading rebuilds the air and reads no file. On
 * failure the situation is as it was and `log` gets the faults. */
int pappus_situation_set(pappus_situation *situation, const char *key, const char *value,
                         pappus_log *log);

/** Another situation of the same parts: setting one leaves the other alone. NULL when out of
 * memory. */
pappus_situation *pappus_situation_share(const pappus_situation *situation);
/** Another situation with settings ("key=value") laid over this one, which stays as it is;
 * what they leave alone is shared. */
int pappus_situation_vary(pappus_situation **out, const pappus_situation *situation, size_t count,
                          const char *const *settings, pappus_log *log);
/** The same plan from another of its pads (NULL: the first); field and winds are read again. */
int pappus_situation_from_pad(pappus_situation **out, const pappus_situation *situation,
                              const char *pad, pappus_log *log);
/** The first and the last time of the winds that were read; false when no profile has one. */
bool pappus_situation_span(double *first_utc_s, double *last_utc_s,
                           const pappus_situation *situation);
/** The members that the winds as read are of: pappus_winds_members. */
size_t pappus_situation_members(int *out, size_t size, const pappus_situation *situation);
/** The plan as it stands as the text of one file: plans it was laid over merged, settings laid
 * over it, and a gust that went with a set speed written out. In the folder of the plan it
 * reads to the same situation: paths that a plan under it names from another folder are moved.
 * The caller frees *out. */
int pappus_situation_plan_text(char **out, const pappus_situation *situation, pappus_error *err);

/** What a computation works on, borrowed until the situation is next set or freed. */
pappus_givens pappus_situation_givens(const pappus_situation *situation);

#ifdef __cplusplus
}
#endif
#endif
