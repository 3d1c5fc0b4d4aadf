/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "season_words.h"

#include "timestamp.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

const char *season_month(int month)
{
    static const char *const months[] = {"all", "Jan", "Feb", "Mar", "Apr", "May", "Jun",
                                         "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"};
    return months[month];
}

char *season_hour(char out[PAPPUS_TEXT_SIZE], int hour)
{
    if (hour == PAPPUS_SEASON_ALL_HOURS)
        snprintf(out, PAPPUS_TEXT_SIZE, "all");
    else
        snprintf(out, PAPPUS_TEXT_SIZE, "%02dh", hour);
    return out;
}

char *season_percent(char out[PAPPUS_TEXT_SIZE], double share)
{
    if (isnan(share))
        snprintf(out, PAPPUS_TEXT_SIZE, "-");
    else
        snprintf(out, PAPPUS_TEXT_SIZE, "%.0f %%", 100.0 * share);
    return out;
}

char *season_share(char out[PAPPUS_TEXT_SIZE], const pappus_estimate *share)
{
    snprintf(out, PAPPUS_TEXT_SIZE, "%.0f %% (%.0f to %.0f)", 100.0 * share->value,
             100.0 * share->low, 100.0 * share->high);
    return out;
}

char *season_stamp(char out[SEASON_WORDS], const pappus_season_result *result)
{
    const pappus_season_head *head = &result->head;
    char from[40], to[40];
    pappus_time_format(from, sizeof from, result->first_utc_s);
    pappus_time_format(to, sizeof to, result->last_utc_s);
    snprintf(out, SEASON_WORDS, "%zu soundings%s%.40s, %.10s to %.10s.", head->day_count,
             head->station[0] ? " of station " : "", head->station, from, to);
    return out;
}

char *season_basis(char out[SEASON_WORDS], const pappus_season_head *head)
{
    snprintf(out, SEASON_WORDS,
             "Each is a day, judged by %zu landings with the error of a wind %.0f h old%s.",
             head->landings, head->age_s / 3600.0,
             head->reading ? " and its lowest level as the reading on the field"
                           : " and no reading on the field");
    return out;
}

char *season_clock(char out[SEASON_WORDS], const pappus_season_head *head)
{
    if (head->time_zone)
        snprintf(out, SEASON_WORDS, "Hours and months are local, %.60s.", head->time_zone);
    else
        snprintf(out, SEASON_WORDS, "Hours and months are UTC: the plan gives no site.time_zone.");
    return out;
}

char *season_left_out(char out[SEASON_WORDS], const pappus_season_result *result, size_t plan)
{
    const pappus_season_sum *sum = &result->sums[plan];
    out[0] = '\0';
    if (sum->left_out > 0)
        snprintf(out, SEASON_WORDS, "%zu days are not judged; the first: %s.", sum->left_out,
                 sum->first_why ? sum->first_why : "");
    return out;
}

const pappus_season_group *season_group(const pappus_season_result *result, size_t plan, int month,
                                        int hour)
{
    for (size_t i = 0; i < result->group_count; i++) {
        const pappus_season_group *g = &result->groups[i];
        if (g->plan == plan && g->month == month && g->hour == hour) return g;
    }
    return NULL;
}

const pappus_season_group *season_all(const pappus_season_result *result, size_t plan)
{
    return season_group(result, plan, 0, PAPPUS_SEASON_ALL_HOURS);
}

char *season_headline(char out[SEASON_WORDS], const pappus_season_result *result, size_t plan,
                      pappus_unit_system units)
{
    const pappus_season_group *all = season_all(result, plan);
    char share[PAPPUS_TEXT_SIZE], height[PAPPUS_TEXT_SIZE], best[PAPPUS_TEXT_SIZE],
        any[PAPPUS_TEXT_SIZE];
    if (!all) {
        snprintf(out, SEASON_WORDS, "No day could be judged.");
        return out;
    }
    season_share(share, &all->go);
    int used = snprintf(out, SEASON_WORDS, "Go on %s of %zu days", share, all->days);
    if (isnan(all->go_best)) {
        snprintf(out + used, SEASON_WORDS - (size_t)used, ".");
        return out;
    }
    pappus_format(height, sizeof height, PAPPUS_SHOW_HEIGHT, all->best_main_m, units);
    season_percent(best, all->go_best);
    season_percent(any, all->go_any);
    if (isnan(all->best_main_m))
        snprintf(out + used, SEASON_WORDS - (size_t)used, "; no main height is go on any.");
    else
        snprintf(out + used, SEASON_WORDS - (size_t)used,
                 "; with the main always at %s on %s; set anew each day on %s.", height, best, any);
    return out;
}

const char *season_title(const pappus_season_plan *plan)
{
    return plan->title[0] ? plan->title : plan->name;
}

char *season_heading(char out[SEASON_WORDS], const pappus_season_head *head, size_t plan)
{
    const pappus_season_plan *p = &head->plans[plan];
    if (head->plan_count > 1 && p->title[0])
        snprintf(out, SEASON_WORDS, "%.100s: %.280s", p->name, p->title);
    else
        snprintf(out, SEASON_WORDS, "%.390s", season_title(p));
    return out;
}

const char *season_limits_text(void)
{
    return "A station's soundings are not the field's wind: gusts, cloud, the ground's own winds "
           "and what kept people from flying are not in them. Limits are judged by counts, without "
           "the gust rule. Intervals take in that days in a row are alike, not that years differ.";
}
