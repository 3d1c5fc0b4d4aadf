/* SPDX-License-Identifier: GPL-3.0-or-later
 * An answer as an ordered list of statements: each with its kind, its tone, its values
 * and its words. What is said, and how, is decided here once for every medium; a renderer
 * picks statements by kind and lays them out, and decides nothing. */
#ifndef PAPPUS_OUTPUT_STATEMENT_H
#define PAPPUS_OUTPUT_STATEMENT_H

#include "format.h"

/** Kinds, in the order in which they are said. `index` of a statement counts within the
 * list of the answer that it is about, else within its kind. */
typedef enum {
    SAY_STAMP,       /**< what the answer rests on; about: plan, surface, aloft */
    SAY_FLIGHT,      /**< decision of a flight in parts, of which this is one */
    SAY_DECISION,    /**< strong: GO; brief, full: what to do with it */
    SAY_DOUBT,       /**< what makes the whole answer doubtful, told right under it */
    SAY_WHY,         /**< what the reasons that follow are */
    SAY_LEAD,        /**< a reason to tell first; as SAY_LIMIT */
    SAY_LIMIT,       /**< every reason; strong: the verdict when it is not met */
    SAY_SAMPLED,     /**< how much was sampled; brief when it was not enough */
    SAY_FIELD,       /**< that there is none */
    SAY_PLACE,       /**< where the middle of the landings is */
    SAY_ZONE,        /**< how large the zone is */
    SAY_UNOPENED,    /**< touchdowns before the main is full open */
    SAY_HEIGHT,      /**< what to do about the main's height */
    SAY_SET,         /**< what the altimeters are set to, as planned */
    SAY_RECOMMENDED, /**< the height that the trade comes to */
    SAY_NOT_LOWER,   /**< why not */
    SAY_NOT_HIGHER,
    SAY_NO_HEIGHT,     /**< why none is recommended */
    SAY_HEIGHT_ROW,    /**< strong: its verdict; brief, full: the limit in the way */
    SAY_CEILING,       /**< of the planned direction: lead, strong (the winds), full */
    SAY_CEILING_WORST, /**< of all directions */
    SAY_CEILING_ROW,   /**< lead: direction; strong: the winds; full: what turns it */
    SAY_CEILING_ALIKE, /**< rows of the second question, as SAY_CEILING_ROW; first the planned */
    SAY_CEILING_NOTE,  /**< cautions on the ceiling */
    SAY_CREWS,         /**< without posts: why */
    SAY_POST,          /**< strong: place */
    SAY_POST_NOTE,     /**< of the post before it: what may come down near it, where to look */
    SAY_HOURS,         /**< the best of the hours about the flight */
    SAY_OUTCOMES,      /**< chance that all goes well, and the farthest else */
    SAY_RISK, /**< of each keep-out area: lead its name, strong how rare, full what drives it */
    SAY_RISK_NOTE, /**< persons, where not to stand, what it rests on */
    SAY_WARNING,
    SAY_NOTE,
    SAY_CAUTION,
    SAY_KINDS
} say_kind;

typedef enum { SAY_YES, SAY_NO, SAY_OPEN, SAY_PLAIN } say_tone;

/** A value that the words hold, in SI. */
typedef struct {
    const char *key; /**< static */
    pappus_quantity quantity;
    double si;
} said_value;
#define SAY_MOST_VALUES 5

typedef struct {
    say_kind kind;
    say_tone tone;
    size_t index;
    const char *about;          /**< key of the limit or rule, name of the outcome; NULL */
    char *brief;                /**< for a terminal; NULL: not said there */
    char *lead, *strong, *full; /**< for a page, one after another; each may be NULL */
    size_t value_count;
    said_value values[SAY_MOST_VALUES];
} statement;

typedef struct {
    size_t count, capacity;
    statement *items;
} statements;

/** flight: decision of all parts together; NULL when the answer is the flight. Call under
 * the C locale; clear with statements_clear, also after a failure. */
int statements_make(statements *out, const pappus_answer *answer, const pappus_decision *flight,
                    pappus_unit_system units, pappus_error *err);
void statements_clear(statements *said);

/** The next statement of a kind behind `after` (NULL: the first); NULL: no more. */
const statement *statement_next(const statements *said, say_kind kind, const statement *after);
/** The stamp in one line, for what holds a description; the caller frees, NULL when out of
 * memory. */
char *stamp_text(const pappus_answer *answer, pappus_unit_system units);
/** The same of an answer of many hours, which tells the time of issue in place of an age. */
char *stamp_text_of_hours(const pappus_answer *answer, pappus_unit_system units);
/** The statements of a stamp alone; clear with statements_clear, also after a failure. */
int stamp_make(statements *out, const pappus_answer *answer, bool hours, pappus_unit_system units,
               pappus_error *err);
size_t statements_count(const statements *said, say_kind kind);

#endif
