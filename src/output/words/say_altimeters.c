/* SPDX-License-Identifier: GPL-3.0-or-later
 * What the altimeters are set to, as planned, in one line. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "say.h"
#include "utf8.h"

#define NAME_SIZE 32
#define NAME_SHOWN 25 /* longer names are cut: the line is for what is set */

/* "primary apogee + 0.0 s, main 700 ft" */
static char *setting(sayer *s, const pappus_altimeter *altimeter, size_t index)
{
    char height[PAPPUS_TEXT_SIZE], name[NAME_SIZE];
    bool named = altimeter->name && altimeter->name[0], main = !isnan(altimeter->main_height_m);
    if (named)
        pappus_text_cut(name, NAME_SHOWN, altimeter->name);
    else
        snprintf(name, sizeof name, "altimeter %zu", index + 1);
    pappus_format(height, sizeof height, PAPPUS_SHOW_HEIGHT, altimeter->main_height_m, s->units);
    return say_words(s, "%s apogee %+.1f s%s%s", name, altimeter->drogue_delay_s.mean,
                     main ? ", main " : "", main ? height : "");
}

void say_altimeters(sayer *s)
{
    const pappus_plan *plan = s->answer->plan;
    char *line = NULL;
    for (size_t i = 0; i < plan->altimeter_count && !s->failed; i++) {
        char *one = setting(s, &plan->altimeters[i], i);
        char *longer = say_words(s, "%s%s%s", line ? line : "", line ? "; " : "", one ? one : "");
        free(one);
        free(line);
        line = longer;
    }
    if (pappus_is_present(plan->motor_delay_s)) {
        char *longer = say_words(s, "%s%smotor apogee %+.1f s", line ? line : "", line ? "; " : "",
                                 plan->motor_delay_s.mean);
        free(line);
        line = longer;
    }
    if (line) say(s, SAY_SET, SAY_PLAIN, 0)->brief = line;
}
