/* SPDX-License-Identifier: GPL-3.0-or-later
 * The main job: a plan in, an answer out. Conventions: pappus.h. */
#ifndef PAPPUS_BRIEF_H
#define PAPPUS_BRIEF_H

#include <pappus/choice.h>

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#ifdef __cplusplus
extern "C" {
#endif

/** Everything for a launch decision on one plan. */
typedef struct {
    pappus_plan *plan;
    pappus_winds *winds;
    pappus_field *field;
    pappus_air *air;
    pappus_cloud *cloud;
    pappus_hits *hits;
    pappus_zones *zones;
    pappus_judgement *judgement;
    pappus_heights *heights;          /**< NULL: not asked, or no main height */
    pappus_ceiling *ceiling;          /**< NULL: not asked */
    pappus_crews *crews;              /**< NULL: not asked, or no posts */
    pappus_sensitivity *sensitivity;  /**< NULL: not asked */
    pappus_path *path;                /**< central nominal flight */
    pappus_log log;                   /**< warnings and notes of the inputs */
    size_t looks;                     /**< looks taken at the landings */
} pappus_answer;

/** Parts of an answer (bits of a mask). Landings and zones are always there. */
typedef enum {
    PAPPUS_PART_DECISION = 1,  /**< looks until decided, and the judgement */
    PAPPUS_PART_CONTOURS = 2,
    PAPPUS_PART_HEIGHTS = 4,
    PAPPUS_PART_CEILING = 8,
    PAPPUS_PART_CREWS = 16,
    PAPPUS_PART_DRIVERS = 32,
    PAPPUS_PART_ALL = 63
} pappus_part;

typedef struct {
    pappus_plan_options plan;
    size_t landings;  /**< 0: the plan's */
    const uint64_t *seed; /**< NULL: the plan's */
    int threads;      /**< 0: all */
    unsigned parts;   /**< pappus_part bits */
    pappus_progress progress;                        /**< may be NULL */
    void *progress_context;
    void (*stage)(void *context, const char *name);  /**< told as each stage begins; may be NULL */
    void *stage_context;
} pappus_brief_options;
#define PAPPUS_BRIEF_OPTIONS_INIT \
    {PAPPUS_PLAN_OPTIONS_INIT, 0, NULL, 0, PAPPUS_PART_ALL, NULL, NULL, NULL, NULL}

/** The main job: plan in, answer out. PAPPUS_OK with an answer whether go or no-go;
 * warnings are then in the answer's own log. On failure `log` (initialised, empty)
 * gets every fault and warning. */
int pappus_brief(pappus_answer **out, const char *plan_path, const pappus_brief_options *options,
                 pappus_log *log);
void pappus_answer_free(pappus_answer *answer);

#ifdef __cplusplus
}
#endif
#endif
