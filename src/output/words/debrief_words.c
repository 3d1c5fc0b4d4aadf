/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "debrief_words.h"

#include <stdio.h>

static const char *many(size_t count)
{
    return count == 1 ? "" : "s";
}

static const char *verdict_words(pappus_zones_verdict verdict)
{
    static const char *const words[] = {[PAPPUS_ZONES_UNTOLD] =
                                            "too few to tell whether the zones hold what they say",
                                        [PAPPUS_ZONES_AS_SAID] = "nothing speaks against the zones",
                                        [PAPPUS_ZONES_NARROW] = "the zones are too narrow",
                                        [PAPPUS_ZONES_WIDE] = "the zones are too wide"};
    return words[verdict];
}

char *debrief_zones_words(char out[DEBRIEF_WORDS], const pappus_calibration *c)
{
    out[0] = '\0';
    if (c->count > 0)
        snprintf(out, DEBRIEF_WORDS, "The zones, over %zu landing%s: %s", c->count, many(c->count),
                 verdict_words(c->verdict));
    return out;
}

char *debrief_drag_words(char out[DEBRIEF_WORDS], const pappus_learned_drag *drag,
                         pappus_unit_system units)
{
    char before[PAPPUS_TEXT_SIZE];
    out[0] = '\0';
    if (drag->flights == 0) return out;
    pappus_format(before, sizeof before, PAPPUS_SHOW_DRAG_AREA, drag->before_m2, units);
    snprintf(out, DEBRIEF_WORDS, "%.2f times the plan's %s, from %zu flight%s",
             drag->drag_area_m2.value / drag->before_m2, before, drag->flights,
             many(drag->flights));
    return out;
}

char *debrief_wind_words(char out[DEBRIEF_WORDS], const pappus_learned *l)
{
    out[0] = '\0';
    if (l->wind_flights > 0)
        snprintf(out, DEBRIEF_WORDS,
                 "its error is %.2f times what the plan says (%.2f to %.2f), from %zu landing%s",
                 l->wind_factor.value, l->wind_factor.low, l->wind_factor.high, l->wind_flights,
                 many(l->wind_flights));
    return out;
}
