/* SPDX-License-Identifier: GPL-3.0-or-later
 * The window on the terminal: the best first, then a line for each hour. */
#include <math.h>
#include <string.h>

#include "layout.h"
#include "statement.h"
#include "terminal.h"
#include "window_words.h"

typedef struct {
    const pappus_window *window;
    const pappus_plan *plan;
    pappus_unit_system units;
    const statements *stamp;
} page;

static void put_words(FILE *stream, const char *words)
{
    if (words[0]) fprintf(stream, "%s\n", words);
}

/* What all hours rest on. */
static void put_stamp(FILE *stream, const page *p)
{
    layout to = layout_begin(stream, 0);
    if (p->plan->title && p->plan->title[0]) layout_words(&to, 0, 0, 0, p->plan->title);
    for (const statement *it = NULL; (it = statement_next(p->stamp, SAY_STAMP, it));)
        layout_beside(&to, it->lead ? it->lead : "", 0, 0, it->full ? it->full : "");
    fputc('\n', stream);
}

static void put_hour(FILE *stream, const page *p, size_t i)
{
    const pappus_window_hour *hour = &p->window->hours[i];
    char clock[PAPPUS_TEXT_SIZE], local[PAPPUS_TEXT_SIZE],
        inside[PAPPUS_TEXT_SIZE] = "-", height[PAPPUS_TEXT_SIZE] = "-",
        wind[PAPPUS_TEXT_SIZE] = "-", gust[PAPPUS_TEXT_SIZE] = "", limit[WINDOW_WORDS];
    window_clock(clock, p->window, NULL, hour->time_utc_s);
    window_local(local, p->plan->site.time_zone, hour->time_utc_s);
    if (!hour->why) {
        if (!isnan(hour->inside_field.value)) window_chance(inside, hour->inside_field.value);
        if (!isnan(hour->recommended_m))
            pappus_format(height, sizeof height, PAPPUS_SHOW_HEIGHT, hour->recommended_m, p->units);
        pappus_format(wind, sizeof wind, PAPPUS_SHOW_WIND, hour->surface_wind_mps, p->units);
        if (!isnan(hour->gust_mps))
            snprintf(gust, sizeof gust, "g%.0f",
                     pappus_quantity_value(PAPPUS_SHOW_WIND, hour->gust_mps, p->units));
    }
    bool best = p->window->go && i == p->window->best;
    fprintf(stream, "%c %.5s%s%.5s  %-5s %8s %8s %9s %-3s %-4s %s\n", best ? '>' : ' ',
            clock + strlen(clock) - 6, local[0] ? " " : "", local, window_verdict(hour), inside,
            height, wind, hour->why ? "" : pappus_compass_point(hour->surface_from_deg), gust,
            window_limit(limit, hour));
}

/* The same words, whatever their numbers. */
static bool alike(const char *a, const char *b)
{
    static const char numbers[] = "0123456789.";
    while (*a && *b) {
        a += strspn(a, numbers);
        b += strspn(b, numbers);
        if (*a != *b) return false;
        if (*a) a++, b++;
    }
    return *a == *b;
}

/* Hours with a warning like this one; *earlier: one of them stands before hour i. */
static size_t count_alike(bool *earlier, const pappus_window *window, size_t i, const char *message)
{
    size_t count = 0;
    *earlier = false;
    for (size_t h = 0; h < window->hour_count; h++) {
        bool has = false;
        for (size_t k = 0; k < window->hours[h].log.count; k++)
            has = has || alike(window->hours[h].log.entries[k].error.message, message);
        count += has;
        *earlier = *earlier || (has && h < i);
    }
    return count;
}

/* Each kind of warning at the first hour that has it. */
static void put_warnings(FILE *stream, const page *p)
{
    bool any = false, earlier;
    char clock[PAPPUS_TEXT_SIZE];
    for (size_t i = 0; i < p->window->hour_count; i++) {
        const pappus_log *log = &p->window->hours[i].log;
        for (size_t k = 0; k < log->count; k++) {
            const char *message = log->entries[k].error.message;
            size_t count = count_alike(&earlier, p->window, i, message);
            if (earlier) continue;
            window_clock(clock, p->window, NULL, p->window->hours[i].time_utc_s);
            fprintf(stream, "%s%s: %s", any ? "" : "\n", clock, message);
            fprintf(stream, count > 1 ? " (in %zu hours alike)\n" : "\n", count);
            any = true;
        }
    }
}

static void write_page(FILE *stream, const void *context)
{
    const page *p = context;
    const pappus_window *window = p->window;
    const char *zone = p->plan->site.time_zone;
    char words[WINDOW_WORDS], day[PAPPUS_TEXT_SIZE], before[PAPPUS_TEXT_SIZE] = "";
    put_stamp(stream, p);
    put_words(stream, window_head(words, window, zone));
    put_words(stream, window_then(words, window));
    put_words(stream, window_height(words, window, zone, p->units));
    put_words(stream, window_readings(words, window));
    bool local = zone && zone[0];
    fprintf(stream, "\n  %5s%s  %-5s %8s %8s %9s %-3s %-4s %s\n", "UTC", local ? " local" : "",
            "plan", "inside", "main at", "surface", "", "gust", "limit");
    for (size_t i = 0; i < window->hour_count; i++) {
        window_day(day, window->hours[i].time_utc_s);
        if (strcmp(day, before) != 0) fprintf(stream, "%s\n", day);
        memcpy(before, day, sizeof before);
        put_hour(stream, p, i);
    }
    put_warnings(stream, p);
    fprintf(stream,
            "\nplan: the decision with the plan's main height. main at: the height that the\n"
            "trade recommends. surface: wind at 10 m, or as measured. limit: in the way, or\n"
            "of those that the wind decides the tightest; share used up. ?: undecided.\n"
            "A planning estimate from a forecast: the range safety officer decides.\n");
}

int pappus_window_text(char **out, const pappus_window *window, const pappus_givens *given,
                       pappus_unit_system units, pappus_error *err)
{
    const pappus_answer rests_on = {.plan = given->plan, .winds = given->winds, .air = given->air};
    statements stamp;
    int status = stamp_make(&stamp, &rests_on, true, units, err);
    page p = {window, given->plan, units, &stamp};
    if (status == PAPPUS_OK) status = pappus_terminal_page(out, write_page, &p, err);
    statements_clear(&stamp);
    return status;
}
