/* SPDX-License-Identifier: GPL-3.0-or-later
 * The page of the desk: an answer that is changed and looked at again, drawn by what draws the
 * report. Conventions: pappus.h. */
#ifndef PAPPUS_DESK_H
#define PAPPUS_DESK_H

#include <pappus/brief.h>

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#ifdef __cplusplus
extern "C" {
#endif

/** Whether a noted reading counts in the answer that is shown. */
typedef enum {
    PAPPUS_NOTE_COUNTS,
    PAPPUS_NOTE_SUPERSEDED, /**< a newer one at its height does */
    PAPPUS_NOTE_OLD,        /**< older than wind.surface.holds */
    PAPPUS_NOTE_LATER       /**< measured after the hour that is shown */
} pappus_note_standing;

/** A reading that was noted, its values as they were given. */
typedef struct {
    double time_utc_s;
    pappus_note_standing standing;
    double age_s;                                  /**< at the time of the answer */
    const char *speed, *direction, *height, *gust; /**< gust NULL: none */
} pappus_desk_note;

/** What a page of the desk shows beside the answer. All is borrowed. */
typedef struct {
    const char *key;         /**< of the session, for forms and addresses */
    const char *nonce;       /**< of the page's script (Content Security Policy) */
    const pappus_plan *plan; /**< as it stands */
    bool read_only;          /**< looks, and changes nothing */
    uint64_t version;        /**< of what is shown; grows */
    uint64_t number;         /**< of the change that is asked for */
    uint64_t answered;       /**< of the change that the answer is for; 0: none yet */
    bool refined;            /**< all landings, every part */
    size_t note_count;
    const pappus_desk_note *notes;
    size_t note; /**< whose hour is shown; note_count: now */
    size_t change_count;
    const char *const *changes; /**< "key=value", as the command line has it */
    size_t message_count;
    const char *const *messages;    /**< what was refused, or done; one line each */
    double first_utc_s, last_utc_s; /**< of the winds; NaN: no time known */
    size_t member_count;
    const int *members; /**< that the winds are of; none: not of an ensemble */
} pappus_desk_view;

/** A value of the plan as the page's controls show it: as it was given, else as understood; ""
 * when there is none. Borrowed. */
const char *pappus_desk_value(const pappus_plan *plan, const char *key);
/** The key of the highest main height, "altimeters[0].main_height"; "" when there is none. */
const char *pappus_desk_main_key(char out[60], const pappus_plan *plan);
/** The whole page: the knobs, the notes, and the answer (NULL: none yet). The caller frees. */
int pappus_desk_page(char **out, const pappus_desk_view *view, const pappus_answer *answer,
                     pappus_error *err);
/** The part of it that changes, to be put in its place by a script. */
int pappus_desk_part(char **out, const pappus_desk_view *view, const pappus_answer *answer,
                     pappus_error *err);

#ifdef __cplusplus
}
#endif
#endif
