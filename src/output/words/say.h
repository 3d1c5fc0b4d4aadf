/* SPDX-License-Identifier: GPL-3.0-or-later
 * Making statements: what the files that say something share. A failed allocation is kept
 * and told at the end; until then nothing needs to look. */
#ifndef PAPPUS_OUTPUT_SAY_H
#define PAPPUS_OUTPUT_SAY_H

#include "statement.h"

typedef struct {
    const pappus_answer *answer;
    const pappus_decision *flight;
    pappus_unit_system units;
    statements *out;
    bool hours;      /* the answer is of many hours: no age is that of all */
    statement spare; /* what is written to when there is no memory */
    bool failed;
} sayer;

/** A new statement at the end, good until the next one is begun. */
statement *say(sayer *s, say_kind kind, say_tone tone, size_t index);
/** Words, the statement's to free; NULL when out of memory. */
char *say_words(sayer *s, const char *format, ...) __attribute__((format(printf, 2, 3)));
void say_value(statement *to, const char *key, pappus_quantity quantity, double si);

/* What is said, in order. */
void say_stamp(sayer *s);
void say_decision(sayer *s);
void say_doubts(sayer *s); /* within the decision, and without one */
void say_zone(sayer *s);
void say_heights(sayer *s);
void say_altimeters(sayer *s);
void say_ceiling(sayer *s);
void say_crews(sayer *s);
void say_hours(sayer *s);
void say_outcomes(sayer *s);
void say_hazard(sayer *s);
void say_messages(sayer *s);

#endif
