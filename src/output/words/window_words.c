/* SPDX-License-Identifier: GPL-3.0-or-later
 * A window in words. Times are UTC; local time stands beside them where the plan has a
 * zone. */
#include "window_words.h"

#include "time_zone.h"
#include "timestamp.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

/* Hours and minutes of ISO text. */
static void hour_of(char out[6], double utc_s)
{
    char text[40];
    pappus_time_format(text, sizeof text, utc_s);
    snprintf(out, 6, "%.5s", strlen(text) > 16 ? text + 11 : "?");
}

char *window_local(char out[PAPPUS_TEXT_SIZE], const char *zone, double utc_s)
{
    char name[PAPPUS_ZONE_SIZE], hour[6];
    double ahead_s;
    out[0] = '\0';
    if (!zone || !pappus_zone_at(&ahead_s, name, zone, utc_s)) return out;
    hour_of(hour, utc_s + ahead_s);
    snprintf(out, PAPPUS_TEXT_SIZE, "%s %s", hour, name);
    return out;
}

static bool one_day(const pappus_window *window)
{
    double first = window->hours[0].time_utc_s;
    return floor(first / 86400.0) ==
           floor(window->hours[window->hour_count - 1].time_utc_s / 86400.0);
}

char *window_clock(char out[PAPPUS_TEXT_SIZE], const pappus_window *window, const char *zone,
                   double utc_s)
{
    char hour[6], local[PAPPUS_TEXT_SIZE], day[PAPPUS_TEXT_SIZE];
    hour_of(hour, utc_s);
    window_local(local, zone, utc_s);
    snprintf(out, PAPPUS_TEXT_SIZE, local[0] ? "%.4s%sZ (%.40s)" : "%.4s%sZ",
             one_day(window) ? "" : window_day(day, utc_s), hour, local);
    return out;
}

char *window_day(char out[PAPPUS_TEXT_SIZE], double utc_s)
{
    /* 1970-01-01 was a Thursday. */
    static const char *const days[] = {"Thu", "Fri", "Sat", "Sun", "Mon", "Tue", "Wed"};
    char text[40];
    long day = (long)floor(utc_s / 86400.0);
    pappus_time_format(text, sizeof text, utc_s);
    snprintf(out, PAPPUS_TEXT_SIZE, "%s %.10s", days[((day % 7) + 7) % 7], text);
    return out;
}

const char *window_verdict(const pappus_window_hour *hour)
{
    if (hour->why) return "-";
    return hour->decision == PAPPUS_NOT_DECIDED ? "?" : pappus_decision_shout(hour->decision);
}

char *window_chance(char out[PAPPUS_TEXT_SIZE], double chance)
{
    double percent = 100.0 * chance;
    if (percent > 0.0 && percent < 0.1)
        snprintf(out, PAPPUS_TEXT_SIZE, "<0.1 %%");
    else if (percent < 100.0 && percent > 99.9)
        snprintf(out, PAPPUS_TEXT_SIZE, ">99.9 %%");
    else
        snprintf(out, PAPPUS_TEXT_SIZE, "%.1f %%", percent);
    return out;
}

char *window_head(char out[WINDOW_WORDS], const pappus_window *window, const char *zone)
{
    char from[PAPPUS_TEXT_SIZE], to[PAPPUS_TEXT_SIZE], best[PAPPUS_TEXT_SIZE],
        chance[PAPPUS_TEXT_SIZE];
    if (!window->go) {
        snprintf(out, WINDOW_WORDS, "No hour is go.");
        return out;
    }
    const pappus_window_hour *hour = &window->hours[window->best];
    window_clock(from, window, zone, window->hours[window->first].time_utc_s);
    window_clock(to, window, zone, window->hours[window->last].time_utc_s);
    window_clock(best, window, zone, hour->time_utc_s);
    bool known = !isnan(hour->inside_field.value);
    pappus_format_chance(chance, sizeof chance, hour->inside_field.value);
    snprintf(out, WINDOW_WORDS, "Go %s%s%s; best %s%s%s%s.", from,
             window->first == window->last ? "" : " to ", window->first == window->last ? "" : to,
             best, known ? ", " : "", known ? chance : "", known ? " inside the field" : "");
    return out;
}

char *window_then(char out[WINDOW_WORDS], const pappus_window *window)
{
    out[0] = '\0';
    if (!window->go || window->last + 1 >= window->hour_count) return out;
    const pappus_window_hour *next = &window->hours[window->last + 1];
    if (next->why)
        snprintf(out, WINDOW_WORDS, "Then: %s.", next->why);
    else
        snprintf(out, WINDOW_WORDS, "Then %s: %s%s%s.", pappus_decision_text(next->decision),
                 pappus_limit_noun(next->limit), next->limit_name ? ", " : "",
                 next->limit_name ? next->limit_name : "");
    return out;
}

/* Without a go hour: the cell of all that meets every limit and uses up least. */
static bool find_other(size_t *hour, size_t *height, const pappus_window *window)
{
    double least = INFINITY;
    for (size_t i = 0; i < window->hour_count; i++)
        for (size_t k = 0; window->hours[i].cells && k < window->height_count; k++) {
            const pappus_window_cell *cell = &window->hours[i].cells[k];
            if (cell->verdict != PAPPUS_MET || cell->above_apogee || !(cell->use < least)) continue;
            least = cell->use;
            *hour = i;
            *height = k;
        }
    return least < INFINITY;
}

char *window_height(char out[WINDOW_WORDS], const pappus_window *window, const char *zone,
                    pappus_unit_system units)
{
    char height[PAPPUS_TEXT_SIZE], planned[PAPPUS_TEXT_SIZE], clock[PAPPUS_TEXT_SIZE];
    size_t i = 0, k = 0;
    out[0] = '\0';
    if (window->height_count == 0) return out;
    pappus_format(planned, sizeof planned, PAPPUS_SHOW_HEIGHT, window->planned_m, units);
    if (window->go) {
        double best_m = window->hours[window->best].recommended_m;
        if (isnan(best_m)) return out;
        pappus_format(height, sizeof height, PAPPUS_SHOW_HEIGHT, best_m, units);
        snprintf(out, WINDOW_WORDS, "Main at %s then (planned: %s).", height, planned);
    } else if (find_other(&i, &k, window)) {
        pappus_format(height, sizeof height, PAPPUS_SHOW_HEIGHT, window->heights_m[k], units);
        window_clock(clock, window, zone, window->hours[i].time_utc_s);
        snprintf(out, WINDOW_WORDS,
                 "With the main at %s in place of %s, %s would meet every limit.", height, planned,
                 clock);
    } else {
        snprintf(out, WINDOW_WORDS, "No other main height would make one go.");
    }
    return out;
}

char *window_readings(char out[WINDOW_WORDS], const pappus_window *window)
{
    out[0] = '\0';
    if (window->readings_left_out > 0)
        snprintf(out, WINDOW_WORDS,
                 "The measured wind is of another time (wind.surface.holds) and is left out in %zu "
                 "of %zu hours.",
                 window->readings_left_out, window->hour_count);
    return out;
}

char *window_limit(char out[WINDOW_WORDS], const pappus_window_hour *hour)
{
    bool go = hour->decision == PAPPUS_GO;
    pappus_limit_kind limit = go ? hour->wind_limit : hour->limit;
    double use = go ? hour->wind_use : hour->use;
    out[0] = '\0';
    if (hour->why)
        snprintf(out, WINDOW_WORDS, "%s", hour->why);
    else if (limit != PAPPUS_LIMIT_NONE && isfinite(use))
        snprintf(out, WINDOW_WORDS, "%3.0f %% %s", fmin(100.0 * use, 999.0),
                 pappus_limit_noun(limit));
    else if (limit != PAPPUS_LIMIT_NONE)
        snprintf(out, WINDOW_WORDS, "%s", pappus_limit_noun(limit));
    return out;
}
