/* SPDX-License-Identifier: GPL-3.0-or-later
 * What the hours about a flight come to, where the winds have hours. On a page: a terminal's
 * half screen has no line to spare, and `pappus window` says it there. */
#include "say.h"
#include "window_words.h"

void say_hours(sayer *s)
{
    const pappus_window *window = s->answer->window;
    char words[WINDOW_WORDS];
    if (!window) return;
    window_head(words, window, s->answer->plan->site.time_zone);
    statement *it = say(s, SAY_HOURS, SAY_PLAIN, window->best);
    it->full = say_words(s, "%s", words);
}
