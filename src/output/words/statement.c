/* SPDX-License-Identifier: GPL-3.0-or-later
 * The list of statements: who says what, in order. */
#include "statement.h"

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>

#include "error.h"
#include "say.h"

statement *say(sayer *s, say_kind kind, say_tone tone, size_t index)
{
    statements *out = s->out;
    statement *added = &s->spare;
    if (out->count == out->capacity) {
        size_t capacity = 2 * out->capacity + 32;
        statement *items = realloc(out->items, capacity * sizeof *items);
        if (items) out->items = items;
        if (items) out->capacity = capacity;
    }
    s->failed |= out->count == out->capacity;
    if (!s->failed) added = &out->items[out->count++];
    *added = (statement){.kind = kind, .tone = tone, .index = index};
    return added;
}

char *say_words(sayer *s, const char *format, ...)
{
    char *words;
    va_list arguments;
    if (s->failed) return NULL;
    va_start(arguments, format);
    s->failed = vasprintf(&words, format, arguments) < 0;
    va_end(arguments);
    return s->failed ? NULL : words;
}

void say_value(statement *to, const char *key, pappus_quantity quantity, double si)
{
    to->values[to->value_count++] = (said_value){key, quantity, si};
}

int statements_make(statements *out, const pappus_answer *answer, const pappus_decision *flight,
                    pappus_unit_system units, pappus_error *err)
{
    static void (*const parts[])(sayer *) = {say_stamp,      say_decision, say_zone,    say_heights,
                                             say_altimeters, say_ceiling,  say_crews,   say_hours,
                                             say_outcomes,   say_hazard,   say_messages};
    sayer s = {.answer = answer, .flight = flight, .units = units, .out = out};
    *out = (statements){0};
    for (size_t i = 0; i < sizeof parts / sizeof parts[0]; i++)
        parts[i](&s);
    return s.failed ? pappus_fail_memory(err) : PAPPUS_OK;
}

void statements_clear(statements *said)
{
    for (size_t i = 0; i < said->count; i++) {
        free(said->items[i].brief);
        free(said->items[i].lead);
        free(said->items[i].strong);
        free(said->items[i].full);
    }
    free(said->items);
    *said = (statements){0};
}

const statement *statement_next(const statements *said, say_kind kind, const statement *after)
{
    for (size_t i = after ? (size_t)(after - said->items) + 1 : 0; i < said->count; i++)
        if (said->items[i].kind == kind) return &said->items[i];
    return NULL;
}

size_t statements_count(const statements *said, say_kind kind)
{
    size_t count = 0;
    for (size_t i = 0; i < said->count; i++)
        count += said->items[i].kind == kind;
    return count;
}
