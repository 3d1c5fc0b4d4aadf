/* SPDX-License-Identifier: GPL-3.0-or-later
 * The best of a row of judged hours: the go hour that uses up the least share of the limits
 * that the wind decides (a descent rate is the same in every hour), the earlier of equals, and
 * the go hours before and behind it without a gap. */
#include <pappus/window.h>

#include "contour.h"

#include <math.h>
#include <stdlib.h>

static bool is_go(const pappus_window_hour *hour)
{
    return !hour->why && hour->decision == PAPPUS_GO;
}

/* A plan without limits uses up nothing. */
static double use_of(const pappus_window_hour *hour)
{
    return isnan(hour->wind_use) ? 0.0 : hour->wind_use;
}

void pappus_window_choose(pappus_window *window)
{
    const pappus_window_hour *hours = window->hours;
    window->go = false;
    window->best = window->first = window->last = 0;
    for (size_t i = 0; i < window->hour_count; i++) {
        if (!is_go(&hours[i])) continue;
        if (!window->go || use_of(&hours[i]) < use_of(&hours[window->best])) window->best = i;
        window->go = true;
    }
    if (!window->go) return;
    window->first = window->last = window->best;
    while (window->first > 0 && is_go(&hours[window->first - 1]))
        window->first--;
    while (window->last + 1 < window->hour_count && is_go(&hours[window->last + 1]))
        window->last++;
}

void pappus_window_free(pappus_window *window)
{
    if (!window) return;
    for (size_t i = 0; i < window->hour_count; i++) {
        pappus_window_hour *hour = &window->hours[i];
        if (hour->contour_count > 0) pappus_contours_clear(hour->contours);
        free(hour->why);
        free(hour->limit_name);
        free(hour->cells);
        pappus_log_clear(&hour->log);
    }
    pappus_log_clear(&window->log);
    free(window->hours);
    free(window->heights_m);
    free(window);
}
