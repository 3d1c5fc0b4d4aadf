/* SPDX-License-Identifier: GPL-3.0-or-later
 * Warnings and notes of the inputs, and the cautions that stand with every answer. */
#include <stdio.h>
#include <string.h>

#include "error.h"
#include "say.h"

/* The folder of the file is left away: it differs from one machine to the next. */
static void put_message(sayer *s, say_kind kind, const pappus_error *message, size_t index)
{
    pappus_error shown = *message;
    char line[sizeof(pappus_error) + 64];
    const char *slash = strrchr(shown.file, '/');
    if (slash) memmove(shown.file, slash + 1, strlen(slash));
    pappus_error_line(line, sizeof line, &shown);
    statement *it = say(s, kind, kind == SAY_WARNING ? SAY_OPEN : SAY_PLAIN, index);
    it->brief = say_words(s, "%s", line);
    it->full = say_words(s, "%s", line);
}

static void put_messages(sayer *s, say_kind kind, pappus_severity severity)
{
    const pappus_log *log = &s->answer->log;
    for (size_t i = 0; i < log->count; i++)
        if (log->entries[i].severity == severity) put_message(s, kind, &log->entries[i].error, i);
}

static void put_cautions(sayer *s)
{
    static const char *const cautions[] = {
        "This is a planning estimate: it knows the wind only as well as the plan does, and no "
        "thermals, rotors or terrain.",
        "The range safety officer decides. Local safety codes and the landowner's terms stand "
        "above this page.",
        "Ask an experienced mentor before you change canopies, charges or altimeter settings.",
        "Look up: a landing outside the zone is rare, not impossible. Nobody stands under a "
        "descent.",
        "When the wind on the field differs from the wind used here, put in what you measured and "
        "brief again."};
    say(s, SAY_CAUTION, SAY_PLAIN, 0)->brief = say_words(s, "%s", pappus_caution());
    for (size_t i = 0; i < sizeof cautions / sizeof cautions[0]; i++)
        say(s, SAY_CAUTION, SAY_PLAIN, i)->full = say_words(s, "%s", cautions[i]);
}

void say_messages(sayer *s)
{
    put_messages(s, SAY_WARNING, PAPPUS_WARNING);
    put_messages(s, SAY_NOTE, PAPPUS_NOTE);
    put_cautions(s);
}
