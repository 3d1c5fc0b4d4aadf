/* SPDX-License-Identifier: GPL-3.0-or-later
 * The main job: a plan in, an answer out. Conventions: pappus.h. */
#ifndef PAPPUS_BRIEF_H
#define PAPPUS_BRIEF_H

#include <pappus/choice.h>
#include <pappus/hazard.h>
#include <pappus/situation.h>
#include <pappus/window.h>

#include <stddef.h>

#ifdef __cplusplus
extern "C" {
#endif

/** Everything for a launch decision on one situation, as it was when briefed: the answer
 * keeps the plan, winds, field and air that it was made of, whatever becomes of the
 * situation, and owns all that was computed. */
typedef struct {
    pappus_situation *situation; /**< owned; shares its parts with the one that was briefed */
    const pappus_plan *plan;     /**< the situation's; so with the next three */
    const pappus_winds *winds;
    const pappus_field *field;
    const pappus_air *air;
    pappus_cloud *cloud;
    pappus_hits *hits;
    pappus_hazard *hazard; /**< NULL: not asked, and no keep-outs to decide on */
    pappus_zones *zones;
    pappus_judgement *judgement;
    pappus_heights *heights;         /**< NULL: not asked, or no main height */
    pappus_ceiling *ceiling;         /**< NULL: not asked */
    pappus_crews *crews;             /**< NULL: not asked, or no posts */
    pappus_sensitivity *sensitivity; /**< NULL: not asked */
    pappus_window *window;           /**< NULL: not asked, or winds without hours */
    pappus_path *path;               /**< central nominal flight */
    pappus_log log;                  /**< warnings and notes of the inputs */
    size_t looks;                    /**< looks taken at the landings */
} pappus_answer;

/** Parts of an answer (bits of a mask). Landings and zones are always there. */
typedef enum {
    PAPPUS_PART_DECISION = 1, /**< looks until decided, and the judgement */
    PAPPUS_PART_CONTOURS = 2,
    PAPPUS_PART_HEIGHTS = 4,
    PAPPUS_PART_CEILING = 8,
    PAPPUS_PART_CREWS = 16,
    PAPPUS_PART_DRIVERS = 32,
    PAPPUS_PART_HOURS = 64,   /**< the decision hour by hour about the flight */
    PAPPUS_PART_HAZARD = 128, /**< where not to stand: its contours */
    PAPPUS_PART_ALL = 255,
    /** A first look, for an answer while something changes: one look at the landings, with at
     * least a tenth of them (2000 at most) of each outcome, and contours on a coarser grid.
     * With DECISION | CONTOURS | QUICK and PAPPUS_QUICK_LANDINGS the decision and the zones
     * stand a few hundredths of a second after pappus_situation_set. A verdict near its bound
     * is then undecided more often than in the whole answer; where it is given it clears the
     * same 99 % interval. Not in ALL. */
    PAPPUS_PART_QUICK = 1024
} pappus_part;

#define PAPPUS_QUICK_LANDINGS 5000 /**< enough for a first look */

typedef struct {
    pappus_run run;
    unsigned parts; /**< pappus_part bits */
    /** Called when all is there that a map of the answer shows; drivers and hours follow. */
    void (*mapped)(void *context, const pappus_answer *answer);
    void *mapped_context;
} pappus_brief_options;
#define PAPPUS_BRIEF_OPTIONS_INIT                                                                  \
    {                                                                                              \
        PAPPUS_RUN_INIT, PAPPUS_PART_ALL, NULL, NULL                                               \
    }

/** The main job: situation in, answer out; no file is read. PAPPUS_OK with an answer
 * whether go or no-go; warnings are then in the answer's own log. On failure `log`
 * (initialised, empty) gets every fault and warning. */
int pappus_brief(pappus_answer **out, const pappus_situation *situation,
                 const pappus_brief_options *options, pappus_log *log);
void pappus_answer_free(pappus_answer *answer);

#ifdef __cplusplus
}
#endif
#endif
