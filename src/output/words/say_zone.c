/* SPDX-License-Identifier: GPL-3.0-or-later
 * Where it lands, how widely, and how the flight goes when it goes wrong. The zone is the
 * 90 % contour, by its extents along and across the major axis of its ellipse; of a zone
 * in several parts they span all parts. */
#include <math.h>
#include <stdio.h>

#include "geometry.h"
#include "say.h"

static void put_place(sayer *s, const pappus_zone *all)
{
    char distance[PAPPUS_TEXT_SIZE];
    double bearing_deg = pappus_bearing_of(all->mean_east_m, all->mean_north_m);
    double distance_m = hypot(all->mean_east_m, all->mean_north_m);
    pappus_format(distance, sizeof distance, PAPPUS_SHOW_DISTANCE, distance_m, s->units);
    statement *it = say(s, SAY_PLACE, SAY_PLAIN, 0);
    it->brief = say_words(s, "%s %s of the pad", distance, pappus_compass_point(bearing_deg));
    say_value(it, "distance", PAPPUS_SHOW_DISTANCE, distance_m);
}

static void put_width(sayer *s, const pappus_zone *all)
{
    const pappus_ellipse *ellipse = &all->ellipses[PAPPUS_LEVEL_90];
    double along_m = ellipse->major_m, across_m = ellipse->minor_m;
    double bearing_deg = ellipse->bearing_deg;
    size_t parts = 1;
    char length[PAPPUS_TEXT_SIZE], breadth[PAPPUS_TEXT_SIZE], pieces[PAPPUS_TEXT_SIZE] = "";
    if (all->contour_count > PAPPUS_LEVEL_90) {
        const pappus_area *shape = &all->contours[PAPPUS_LEVEL_90].shape;
        pappus_area_extent(&along_m, &across_m, shape, bearing_deg);
        parts = shape->polygon_count;
    }
    if (across_m > along_m) { /* nearly round: the contour need not lie as its ellipse */
        double swapped_m = along_m;
        along_m = across_m;
        across_m = swapped_m;
        bearing_deg += 90.0;
    }
    pappus_format(length, sizeof length, PAPPUS_SHOW_DISTANCE, 2 * along_m, s->units);
    pappus_format(breadth, sizeof breadth, PAPPUS_SHOW_DISTANCE, 2 * across_m, s->units);
    if (parts > 1) snprintf(pieces, sizeof pieces, ", in %zu parts", parts);
    statement *it = say(s, SAY_ZONE, SAY_PLAIN, 0);
    it->brief =
        say_words(s, "9 of 10 in %s by %s%s, along %s-%s", length, breadth, pieces,
                  pappus_compass_point(bearing_deg), pappus_compass_point(bearing_deg + 180));
    say_value(it, "length", PAPPUS_SHOW_DISTANCE, 2 * along_m);
    say_value(it, "breadth", PAPPUS_SHOW_DISTANCE, 2 * across_m);
}

/* Of all landings for the terminal, of each outcome for the page. */
static void put_unopened(sayer *s, const pappus_zones *zones)
{
    char share[PAPPUS_TEXT_SIZE];
    if (zones->all.unopened > 0)
        say(s, SAY_UNOPENED, SAY_NO, 0)->brief =
            say_words(s, "%s of them before the main is full open",
                      pappus_format_chance(share, sizeof share, zones->all.unopened));
    for (size_t i = 0; i < PAPPUS_OUTCOMES; i++) {
        if (!(zones->outcomes[i].unopened > 0)) continue;
        statement *it = say(s, SAY_UNOPENED, SAY_NO, i);
        it->about = pappus_outcome_text((pappus_outcome)i);
        it->full =
            say_words(s, "%s %s", it->about,
                      pappus_format_chance(share, sizeof share, zones->outcomes[i].unopened));
    }
}

void say_zone(sayer *s)
{
    const pappus_zone *all = &s->answer->zones->all;
    put_place(s, all);
    put_width(s, all);
    put_unopened(s, s->answer->zones);
}

/* The outcome beside nominal of which 19 of 20 landings reach farthest. */
static const pappus_zone *farthest_other(const pappus_zones *zones)
{
    const pappus_zone *worst = NULL;
    for (size_t i = 0; i < PAPPUS_OUTCOMES; i++) {
        const pappus_zone *zone = &zones->outcomes[i];
        if (i == PAPPUS_NOMINAL || zone->landings == 0 || isnan(zone->drift_m.p95)) continue;
        if (!worst || zone->drift_m.p95 > worst->drift_m.p95) worst = zone;
    }
    return worst;
}

void say_outcomes(sayer *s)
{
    const pappus_zones *zones = s->answer->zones;
    const pappus_zone *worst = farthest_other(zones);
    double planned = zones->outcomes[PAPPUS_NOMINAL].probability;
    char nominal[PAPPUS_TEXT_SIZE], chance[PAPPUS_TEXT_SIZE], reach[PAPPUS_TEXT_SIZE];
    statement *it = say(s, SAY_OUTCOMES, SAY_PLAIN, 0);
    pappus_format_chance(nominal, sizeof nominal, planned);
    say_value(it, "nominal", PAPPUS_SHOW_CHANCE, planned);
    if (!worst) {
        it->brief = say_words(s, "%s come down as planned", nominal);
        return;
    }
    it->about = pappus_outcome_text((pappus_outcome)(worst - zones->outcomes));
    pappus_format_chance(chance, sizeof chance, worst->probability);
    pappus_format(reach, sizeof reach, PAPPUS_SHOW_DISTANCE, worst->drift_m.p95, s->units);
    it->brief = say_words(s, "%s as planned; farthest else: %s (%s), to %s", nominal, it->about,
                          chance, reach);
    say_value(it, "chance", PAPPUS_SHOW_CHANCE, worst->probability);
    say_value(it, "reach", PAPPUS_SHOW_DISTANCE, worst->drift_m.p95);
}
