/* SPDX-License-Identifier: GPL-3.0-or-later
 * What the hours about a flight come to, where the winds have hours. */
#include "say.h"
#include "window_words.h"

void say_hours(sayer *s)
{
    const pappus_window *window = s->answer->window;
    char words[WINDOW_WORDS];
    if (!window) return;
    window_head(words, window, s->answer->plan->site.time_zone);
    statement *it = say(s, SAY_HOURS, SAY_PLAIN, window->best);
    it->brief = say_words(s, "%s", words);
    it->full = say_words(s, "%s", words);
}
