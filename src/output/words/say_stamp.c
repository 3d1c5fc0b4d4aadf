/* SPDX-License-Identifier: GPL-3.0-or-later
 * What an answer rests on, and what makes it doubtful from the start: a wind aloft that
 * nobody gave, or one that the measured wind contradicts. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "error.h"
#include "say.h"

#define HOUR_S 3600.0
#define MOST_FILES 3 /* of the winds, told by name */

static statement *put(sayer *s, const char *about, size_t index, char *words)
{
    statement *it = say(s, SAY_STAMP, SAY_PLAIN, index);
    static const char *const leads[] = {"Plan ", "Surface wind ", "Winds aloft "};
    it->about = about;
    it->brief = words;
    it->lead = say_words(s, "%s", leads[index]);
    it->full = words ? say_words(s, "%s", words) : NULL;
    return it;
}

static void put_plan(sayer *s)
{
    const pappus_plan *plan = s->answer->plan;
    const pappus_site *site = &plan->site;
    char place[PAPPUS_TEXT_SIZE], flight[PAPPUS_TEXT_SIZE];
    const char *name = site->pad_name && site->pad_name[0] ? site->pad_name : NULL;
    const char *file = pappus_file_name(plan->path);
    pappus_format_position(place, sizeof place, site->latitude_deg, site->longitude_deg);
    pappus_format_flight(flight, sizeof flight, plan->wind.time_utc_s);
    statement *it = put(s, "plan", 0,
                        say_words(s, "%s; pad %s%s%s; %s", file[0] ? file : "no file",
                                  name ? name : "", name ? " at " : "", place, flight));
    free(it->full);
    pappus_format_minutes(place, sizeof place, site->latitude_deg, site->longitude_deg);
    it->full = say_words(s, "%s; pad in minutes %s", it->brief ? it->brief : "", place);
}

static void put_reading(sayer *s)
{
    const pappus_wind_plan *wind = &s->answer->plan->wind;
    char speed[PAPPUS_TEXT_SIZE], gust[PAPPUS_TEXT_SIZE], height[PAPPUS_TEXT_SIZE];
    char bearing[PAPPUS_TEXT_SIZE];
    if (!wind->has_surface) {
        double gust_mps = s->answer->air ? pappus_air_gust_mps(s->answer->air) : NAN;
        pappus_format(gust, sizeof gust, PAPPUS_SHOW_WIND, gust_mps, s->units);
        statement *none =
            put(s, "surface", 1,
                say_words(s, "wind not measured%s%s", gust_mps > 0 ? ", gust of the forecast " : "",
                          gust_mps > 0 ? gust : ""));
        free(none->full); /* behind "Surface wind" */
        none->full = none->brief ? say_words(s, "%s", none->brief + strlen("wind ")) : NULL;
        return;
    }
    const pappus_observation *reading = &wind->surface;
    bool gusty = wind->gust_mps > 0;
    pappus_format(speed, sizeof speed, PAPPUS_SHOW_WIND, reading->speed_mps, s->units);
    pappus_format(gust, sizeof gust, PAPPUS_SHOW_WIND, wind->gust_mps, s->units);
    pappus_format(height, sizeof height, PAPPUS_SHOW_HEIGHT, reading->height_m, s->units);
    pappus_format_bearing(bearing, sizeof bearing, reading->direction_deg,
                          s->answer->plan->site.declination_deg);
    statement *it = put(s, "surface", 1,
                        say_words(s, "%s from %s, %s%s, at %s", speed, bearing,
                                  gusty ? "gust " : "no gust given", gusty ? gust : "", height));
    say_value(it, "speed", PAPPUS_SHOW_WIND, reading->speed_mps);
    say_value(it, "gust", PAPPUS_SHOW_WIND, wind->gust_mps);
}

static const char *kind_of(const pappus_wind_profile *profile)
{
    if (profile->kind == PAPPUS_WIND_FORECAST)
        return profile->kind_assumed ? "forecast assumed" : "forecast";
    return profile->kind_assumed ? "sounding assumed" : "sounding";
}

/* A file holds the profiles of many times and members: it is named once. */
static bool named_before(const pappus_winds *winds, size_t profile)
{
    const char *name = pappus_file_name(winds->profiles[profile].path);
    for (size_t i = 0; i < profile; i++)
        if (strcmp(pappus_file_name(winds->profiles[i].path), name) == 0) return true;
    return false;
}

/* "evening.csv (sounding), noon.csv (forecast) and 3 more" */
static char *list_of_files(sayer *s, const pappus_winds *winds)
{
    char *list = say_words(s, "%s", "");
    size_t count = 0;
    for (size_t i = 0; i < winds->profile_count && list; i++) {
        const pappus_wind_profile *profile = &winds->profiles[i];
        if (named_before(winds, i) || count++ >= MOST_FILES) continue;
        char *longer = say_words(s, "%s%s%s (%s)", list, count > 1 ? ", " : "",
                                 pappus_file_name(profile->path), kind_of(profile));
        free(list);
        list = longer;
    }
    if (count <= MOST_FILES || !list) return list;
    char *longer = say_words(s, "%s and %zu more", list, count - MOST_FILES);
    free(list);
    return longer;
}

/* With the member that was chosen: the others were not asked. */
static char *files_of(sayer *s, const pappus_winds *winds)
{
    const pappus_wind_plan *wind = &s->answer->plan->wind;
    char *list = list_of_files(s, winds);
    if (!wind->member_given || !list) return list;
    char *longer = say_words(s, "%s, member %d alone", list, wind->member);
    free(list);
    return longer;
}

static double newest_issue(const pappus_winds *winds)
{
    double newest = NAN;
    for (size_t i = 0; i < winds->profile_count; i++)
        newest = fmax(newest, winds->profiles[i].issued_utc_s);
    return newest;
}

static void put_aloft(sayer *s)
{
    const pappus_winds *winds = s->answer->winds;
    const pappus_plan *plan = s->answer->plan;
    if (!winds || winds->profile_count == 0) {
        put(s, "aloft", 2, say_words(s, "no wind aloft given"));
        return;
    }
    char *files = files_of(s, winds);
    if (s->hours) {
        char issued[PAPPUS_TEXT_SIZE] = "";
        double issued_utc_s = newest_issue(winds);
        if (!isnan(issued_utc_s)) pappus_format_issue(issued, sizeof issued, issued_utc_s);
        put(s, "aloft", 2,
            say_words(s, "%s%s%s", files ? files : "", issued[0] ? ", " : "", issued));
        free(files);
        return;
    }
    bool assumed = pappus_winds_age_is_assumed(winds, plan);
    statement *it = put(s, "aloft", 2,
                        say_words(s, "%s, %.1f h old%s", files ? files : "", winds->age_s / HOUR_S,
                                  assumed ? " (assumed: its age is not known)" : ""));
    free(files);
    say_value(it, "age", PAPPUS_SHOW_TIME, winds->age_s);
}

static void put_doubt(sayer *s, const char *about, char *words)
{
    statement *it = say(s, SAY_DOUBT, SAY_OPEN, 0);
    it->about = about;
    it->brief = words;
    it->full = words ? say_words(s, "%s", words) : NULL;
}

void say_doubts(sayer *s)
{
    const pappus_air *air = s->answer->air;
    if (!air) return;
    double widening = pappus_air_wind_widening(air);
    if (s->answer->plan->wind.profile_count == 0)
        put_doubt(s, "surface_only",
                  say_words(s, "Wind aloft is only a guess from the surface wind: give a forecast "
                               "or a sounding."));
    else if (widening > PAPPUS_CONTRADICTED)
        put_doubt(s, "contradicted",
                  say_words(s,
                            "The measured wind contradicts the winds aloft that were given: their "
                            "error is taken %.1f times as large, and the zone is wider for it.",
                            sqrt(widening)));
}

void say_stamp(sayer *s)
{
    put_plan(s);
    put_reading(s);
    put_aloft(s);
}

int stamp_make(statements *out, const pappus_answer *answer, bool hours, pappus_unit_system units,
               pappus_error *err)
{
    sayer s = {.answer = answer, .units = units, .hours = hours, .out = out};
    *out = (statements){0};
    say_stamp(&s);
    return s.failed ? pappus_fail_memory(err) : PAPPUS_OK;
}

static char *in_one_line(const pappus_answer *answer, bool hours, pappus_unit_system units)
{
    statements said = {0};
    sayer s = {.answer = answer, .units = units, .hours = hours, .out = &said};
    char *text = NULL;
    say_stamp(&s);
    if (!hours) say_doubts(&s);
    for (size_t i = 0; i < said.count && !s.failed; i++) {
        const statement *it = &said.items[i];
        char *longer = say_words(&s, "%s%s%s%s", text ? text : "", text ? ". " : "",
                                 it->lead ? it->lead : "", it->full);
        free(text);
        text = longer;
    }
    statements_clear(&said);
    return text;
}

char *stamp_text(const pappus_answer *answer, pappus_unit_system units)
{
    return in_one_line(answer, false, units);
}

char *stamp_text_of_hours(const pappus_answer *answer, pappus_unit_system units)
{
    return in_one_line(answer, true, units);
}
