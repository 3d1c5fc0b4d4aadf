/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "season_sheet.h"

#include "season_words.h"

#include <math.h>

#define GO "Days|Go as planned|Best main|With it|Any|In the way"
#define DRIFT "5 %|Half|19 of 20"

static const char *percent(const sheet *s, double share)
{
    char text[PAPPUS_TEXT_SIZE];
    return sheet_text(s, "%s", season_percent(text, share));
}

static const char *show(const sheet *s, pappus_quantity quantity, double si)
{
    return isnan(si) ? "-" : sheet_show(s, quantity, si);
}

static void add_go(const sheet *s, cJSON *part, bool user, const char *name,
                   const pappus_season_group *g)
{
    char share[PAPPUS_TEXT_SIZE];
    const char *worst = pappus_limit_noun(g->worst);
    season_share(share, &g->go);
    sheet_row(s, part, user, name, sheet_text(s, "%zu", g->days), sheet_text(s, "%s", share),
              show(s, PAPPUS_SHOW_HEIGHT, g->best_main_m), percent(s, g->go_best),
              percent(s, g->go_any), worst ? worst : "none", NULL);
}

static void add_drift(const sheet *s, cJSON *part, bool user, const char *name,
                      const pappus_season_group *g)
{
    sheet_row(s, part, user, name, show(s, PAPPUS_SHOW_DISTANCE, g->drift_m.p05),
              show(s, PAPPUS_SHOW_DISTANCE, g->drift_m.p50),
              show(s, PAPPUS_SHOW_DISTANCE, g->drift_m.p95), NULL);
}

static void add_designs(const sheet *s, const pappus_season_result *result)
{
    cJSON *section = sheet_section(s, (sheet_heading){.id = "designs", .text = "Side by side"});
    cJSON *go = sheet_part(s, section, NULL, "cards", "All days", "Plan|" GO);
    cJSON *drift = sheet_part(s, section, NULL, "cards", "Share of landings within", "Plan|" DRIFT);
    for (size_t p = 0; p < result->head.plan_count; p++) {
        const pappus_season_group *all = season_all(result, p);
        if (!all) continue;
        add_go(s, go, true, result->head.plans[p].name, all);
        add_drift(s, drift, true, result->head.plans[p].name, all);
    }
}

static bool of_months(const pappus_season_group *g)
{
    return g->month != 0 && g->hour == PAPPUS_SEASON_ALL_HOURS;
}

static bool of_hours(const pappus_season_group *g)
{
    return g->month == 0 && g->hour != PAPPUS_SEASON_ALL_HOURS;
}

static void add_groups(const sheet *s, cJSON *section, const pappus_season_result *result,
                       size_t plan)
{
    cJSON *months = sheet_part(s, section, NULL, "cards", "By month", "Month|" GO);
    cJSON *drift =
        sheet_part(s, section, NULL, "cards", "Share of landings within", "Month|" DRIFT);
    cJSON *hours = sheet_part(s, section, NULL, "cards", "By hour", "Hour|" GO);
    for (size_t i = 0; i < result->group_count; i++) {
        const pappus_season_group *g = &result->groups[i];
        char hour[PAPPUS_TEXT_SIZE];
        if (g->plan != plan) continue;
        if (of_months(g)) add_go(s, months, false, season_month(g->month), g);
        if (of_months(g)) add_drift(s, drift, false, season_month(g->month), g);
        if (of_hours(g)) add_go(s, hours, false, season_hour(hour, g->hour), g);
    }
}

static void add_plan(const sheet *s, const pappus_season_result *result, size_t plan)
{
    char words[SEASON_WORDS];
    cJSON *section = sheet_section(
        s, (sheet_heading){.id = sheet_text(s, "plan-%zu", plan + 1),
                           .text = result->head.plan_count > 1
                                       ? sheet_text(s, "%s", result->head.plans[plan].name)
                                       : "In numbers"});
    season_left_out(words, result, plan);
    if (words[0]) sheet_say(s, section, "notes", words);
    add_groups(s, section, result, plan);
}

static void add_notes(const sheet *s)
{
    cJSON *section = sheet_section(s, (sheet_heading){.id = "notes",
                                                      .text = "How to read it",
                                                      .list = "notes",
                                                      .caution = pappus_caution()});
    sheet_say(s, section, "items",
              "Go as planned: share of days on which every limit is met with the plan's main "
              "height, with its 95 % interval. Best main: the height that is go most often; with "
              "it: always there; any: the height set anew each day. In the way: the limit that "
              "was not met on most days.");
    sheet_say(s, section, "items",
              "Share of landings within: how far from the pad 5 %, half and 19 of 20 of all "
              "landings come down, the main as planned.");
    sheet_say(s, section, "items", season_limits_text());
}

cJSON *season_sheet(json_builder *build, const pappus_season_result *result, size_t detailed,
                    pappus_unit_system units)
{
    sheet s;
    char words[SEASON_WORDS];
    cJSON *root = sheet_begin(&s, build, units, false);
    json_add_text(build, root, "title", season_title(&result->head.plans[0]));
    if (result->head.plan_count == 1)
        sheet_say(&s, root, "lines", season_headline(words, result, 0, units));
    sheet_say(&s, root, "lines", season_stamp(words, result));
    sheet_say(&s, root, "lines", season_basis(words, &result->head));
    sheet_say(&s, root, "lines", season_clock(words, &result->head));
    if (result->head.plan_count > 1) add_designs(&s, result);
    for (size_t p = 0; p < result->head.plan_count && p < detailed; p++)
        add_plan(&s, result, p);
    add_notes(&s);
    sheet_end(&s);
    return root;
}
