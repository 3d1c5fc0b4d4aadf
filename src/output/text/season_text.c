/* SPDX-License-Identifier: GPL-3.0-or-later
 * A season on the terminal: the designs side by side, then of the first the months. */
#include "season_words.h"
#include "terminal.h"

#include <math.h>

typedef struct {
    const pappus_season_result *result;
    pappus_unit_system units;
} page;

static void put_words(FILE *stream, const char *words)
{
    if (words[0]) fprintf(stream, "%s\n", words);
}

static void put_group(FILE *stream, const page *p, const char *name, const pappus_season_group *g)
{
    char go[PAPPUS_TEXT_SIZE], best[PAPPUS_TEXT_SIZE],
        height[PAPPUS_TEXT_SIZE] = "-", any[PAPPUS_TEXT_SIZE], middle[PAPPUS_TEXT_SIZE] = "-",
        far[PAPPUS_TEXT_SIZE] = "-";
    const char *worst = pappus_limit_noun(g->worst);
    season_share(go, &g->go);
    if (!isnan(g->best_main_m))
        pappus_format(height, sizeof height, PAPPUS_SHOW_HEIGHT, g->best_main_m, p->units);
    if (!isnan(g->drift_m.p50)) {
        pappus_format(middle, sizeof middle, PAPPUS_SHOW_DISTANCE, g->drift_m.p50, p->units);
        pappus_format(far, sizeof far, PAPPUS_SHOW_DISTANCE, g->drift_m.p95, p->units);
    }
    fprintf(stream, "%-16.16s %5zu %19s %8s %6s %6s %9s %9s  %s\n", name, g->days, go, height,
            season_percent(best, g->go_best), season_percent(any, g->go_any), middle, far,
            worst ? worst : "none");
}

static void put_heading(FILE *stream, const char *first)
{
    fprintf(stream, "\n%-16s %5s %19s %8s %6s %6s %9s %9s  %s\n", first, "days", "go as planned",
            "best at", "then", "any", "drift 50%", "95%", "limit most often in the way");
}

static void put_months(FILE *stream, const page *p, size_t plan)
{
    put_heading(stream, "month");
    for (size_t i = 0; i < p->result->group_count; i++) {
        const pappus_season_group *g = &p->result->groups[i];
        if (g->plan == plan && g->month != 0 && g->hour == PAPPUS_SEASON_ALL_HOURS)
            put_group(stream, p, season_month(g->month), g);
    }
    put_heading(stream, "hour");
    for (size_t i = 0; i < p->result->group_count; i++) {
        const pappus_season_group *g = &p->result->groups[i];
        char hour[PAPPUS_TEXT_SIZE];
        if (g->plan == plan && g->month == 0 && g->hour != PAPPUS_SEASON_ALL_HOURS)
            put_group(stream, p, season_hour(hour, g->hour), g);
    }
}

static void write_page(FILE *stream, const void *context)
{
    const page *p = context;
    const pappus_season_result *result = p->result;
    char words[SEASON_WORDS];
    put_words(stream, season_headline(words, result, 0, p->units));
    put_words(stream, season_stamp(words, result));
    put_words(stream, season_basis(words, &result->head));
    put_words(stream, season_clock(words, &result->head));
    put_words(stream, season_left_out(words, result, 0));
    if (result->head.plan_count > 1) put_heading(stream, "plan");
    for (size_t k = 0; result->head.plan_count > 1 && k < result->head.plan_count; k++)
        if (season_all(result, k))
            put_group(stream, p, result->head.plans[k].name, season_all(result, k));
    if (result->head.plan_count > 1)
        fprintf(stream, "\n%s:\n", season_title(&result->head.plans[0]));
    put_months(stream, p, 0);
    fprintf(stream,
            "\ngo as planned: share of days with the plan's main height, 95 %% interval. best at:\n"
            "the main height that is go most often; then: with it. any: set anew each day.\n"
            "drift: from the pad, of all landings.\n");
    fprintf(stream, "%s\n", season_limits_text());
}

int pappus_season_text(char **out, const pappus_season_result *result, pappus_unit_system units,
                       pappus_error *err)
{
    page p = {result, units};
    return pappus_terminal_page(out, write_page, &p, err);
}
