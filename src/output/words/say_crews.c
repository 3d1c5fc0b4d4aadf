/* SPDX-License-Identifier: GPL-3.0-or-later
 * Where the crews wait, and why nowhere. */
#include <math.h>
#include <stdio.h>

#include "say.h"

#define LOOK_SIZE (PAPPUS_TEXT_SIZE + 80)

static void put_none(sayer *s, const pappus_crews *crews)
{
    const char *rule = pappus_post_rule_text(crews->blocked_by);
    statement *it = say(s, SAY_CREWS, SAY_NO, 0);
    it->about = rule;
    it->brief = say_words(s, "no place is safe to wait%s%s", rule ? ": " : "", rule ? rule : "");
    it->full = say_words(s, "No place is safe to wait%s%s", rule ? ": " : ".", rule ? rule : "");
}

/* Where and when the main opens, from the post. */
static char *look_for(char out[LOOK_SIZE], const sayer *s, const pappus_post *post)
{
    char bearing[PAPPUS_TEXT_SIZE];
    out[0] = '\0';
    if (!isfinite(post->look_s)) return out;
    pappus_format_bearing(bearing, sizeof bearing, post->look_bearing_deg,
                          s->answer->plan->site.declination_deg);
    snprintf(out, LOOK_SIZE, "; the main opens about %.0f s after apogee, towards %s, %.0f deg up",
             post->look_s, bearing, post->look_elevation_deg);
    return out;
}

static void put_post(sayer *s, const pappus_post *post, size_t index)
{
    char place[PAPPUS_TEXT_SIZE], minutes[PAPPUS_TEXT_SIZE], distance[PAPPUS_TEXT_SIZE],
        bearing[PAPPUS_TEXT_SIZE];
    char look[LOOK_SIZE];
    const char *point = pappus_compass_point(post->bearing_deg);
    pappus_format_position(place, sizeof place, post->latitude_deg, post->longitude_deg);
    pappus_format_minutes(minutes, sizeof minutes, post->latitude_deg, post->longitude_deg);
    pappus_format(distance, sizeof distance, PAPPUS_SHOW_DISTANCE, post->distance_m, s->units);
    pappus_format_bearing(bearing, sizeof bearing, post->bearing_deg,
                          s->answer->plan->site.declination_deg);
    statement *it = say(s, SAY_POST, SAY_YES, index);
    it->brief = say_words(s, "%zu at %s (%s), %s %s", index + 1, place, minutes, distance, point);
    it->strong = say_words(s, "%s", place);
    it->full = say_words(s, " %s %s of the pad, bearing %s%s", distance, point, bearing,
                         look_for(look, s, post));
    say_value(it, "distance", PAPPUS_SHOW_DISTANCE, post->distance_m);
    say_value(it, "walk_mean", PAPPUS_SHOW_DISTANCE, post->walk_mean_m);
}

static void put_note(sayer *s, const pappus_post *post, size_t index)
{
    char near[PAPPUS_TEXT_SIZE], clear[PAPPUS_TEXT_SIZE], look[LOOK_SIZE];
    pappus_format_chance(near, sizeof near, post->near_chance);
    pappus_format(clear, sizeof clear, PAPPUS_SHOW_DISTANCE, s->answer->plan->crew_clear_m,
                  s->units);
    statement *it = say(s, SAY_POST_NOTE, SAY_PLAIN, index);
    it->brief = say_words(s, "something comes down within %s of it in %s of flights%s", clear, near,
                          look_for(look, s, post));
    it->full = say_words(s, "something comes down within %s of it in %s of flights", clear, near);
    say_value(it, "near_chance", PAPPUS_SHOW_CHANCE, post->near_chance);
}

void say_crews(sayer *s)
{
    const pappus_crews *crews = s->answer->crews;
    if (!crews) {
        say(s, SAY_CREWS, SAY_PLAIN, 0)->full = say_words(s, "No posts were asked for.");
        return;
    }
    if (crews->post_count == 0) put_none(s, crews);
    for (size_t i = 0; i < crews->post_count; i++) {
        put_post(s, &crews->posts[i], i);
        put_note(s, &crews->posts[i], i);
    }
}
