/* SPDX-License-Identifier: GPL-3.0-or-later
 * A debrief on the terminal. */
#include <pappus/debrief.h>

#include <math.h>

#include "debrief_change.h"
#include "debrief_words.h"
#include "format.h"
#include "terminal.h"

typedef struct {
    const pappus_debrief *debrief;
    const pappus_plan *plan;
    pappus_unit_system units;
} page;

static void put_area(FILE *stream, const page *p, const char *what, pappus_estimate e)
{
    char text[3][PAPPUS_TEXT_SIZE];
    if (isnan(e.value)) return;
    fprintf(
        stream, "  %-16s drag area %s (%s to %s)\n", what,
        pappus_format(text[0], PAPPUS_TEXT_SIZE, PAPPUS_SHOW_DRAG_AREA, e.value, p->units),
        pappus_format_number(text[1], PAPPUS_TEXT_SIZE, PAPPUS_SHOW_DRAG_AREA, e.low, p->units),
        pappus_format_number(text[2], PAPPUS_TEXT_SIZE, PAPPUS_SHOW_DRAG_AREA, e.high, p->units));
}

static void put_value(FILE *stream, const page *p, const char *what, pappus_quantity quantity,
                      double si)
{
    char text[PAPPUS_TEXT_SIZE];
    if (isnan(si)) return;
    fprintf(stream, "  %-16s %s\n", what, pappus_format(text, sizeof text, quantity, si, p->units));
}

/* Beside what was expected of a nominal flight. */
static void put_shared(FILE *stream, const page *p, const char *what, pappus_quantity quantity,
                       double si, double share)
{
    char text[PAPPUS_TEXT_SIZE];
    if (isnan(si)) return;
    pappus_format(text, sizeof text, quantity, si, p->units);
    if (isnan(share))
        fprintf(stream, "  %-16s %s\n", what, text);
    else
        fprintf(stream, "  %-16s %s, above %.0f %% of the flights expected\n", what, text,
                100.0 * share);
}

static void put_main(FILE *stream, const page *p, const pappus_debriefed *flight)
{
    const pappus_flown *flown = &flight->flown;
    char shown[PAPPUS_TEXT_SIZE], true_m[PAPPUS_TEXT_SIZE], open[PAPPUS_TEXT_SIZE];
    if (isnan(flown->main_fired_m)) return;
    fprintf(
        stream, "  %-16s %s shown, %s true; full open at about %s\n", "main fired at",
        pappus_format(shown, sizeof shown, PAPPUS_SHOW_HEIGHT, flown->main_fired_shown_m, p->units),
        pappus_format(true_m, sizeof true_m, PAPPUS_SHOW_HEIGHT, flown->main_fired_m, p->units),
        pappus_format(open, sizeof open, PAPPUS_SHOW_HEIGHT, flown->main_open_m, p->units));
    put_value(stream, p, "it was set to", PAPPUS_SHOW_HEIGHT, flight->main_set_m);
    if (!isnan(flown->main_opening_s.value))
        fprintf(stream, "  %-16s %.1f s (%.1f to %.1f)\n", "main opened in",
                flown->main_opening_s.value, flown->main_opening_s.low, flown->main_opening_s.high);
}

static void put_log(FILE *stream, const page *p, const pappus_debriefed *flight)
{
    const pappus_flown *flown = &flight->flown;
    char rate[PAPPUS_TEXT_SIZE];
    if (flown->outcome != PAPPUS_NOMINAL)
        fprintf(stream, "  %-16s %s\n", "it looks like", pappus_outcome_text(flown->outcome));
    put_shared(stream, p, "apogee", PAPPUS_SHOW_HEIGHT, flown->apogee_m, flight->apogee_share);
    put_shared(stream, p, "time aloft", PAPPUS_SHOW_TIME, flown->time_aloft_s,
               flight->time_aloft_share);
    put_shared(stream, p, "touched down at", PAPPUS_SHOW_SPEED, flown->touchdown_mps,
               flight->touchdown_share);
    for (size_t i = 0; i < flown->phase_count; i++)
        fprintf(stream, "  %-16s %s from %.0f to %.0f s\n",
                i + 1 < flown->phase_count ? "first fell at" : "fell at",
                pappus_format(rate, sizeof rate, PAPPUS_SHOW_SPEED, flown->phases[i].rate_mps.value,
                              p->units),
                flown->phases[i].from_s, flown->phases[i].to_s);
    put_area(stream, p, "drogue", flown->drogue_drag_area_m2);
    put_area(stream, p, "main", flown->main_drag_area_m2);
    put_main(stream, p, flight);
    for (int i = 0; i < PAPPUS_MISSINGS; i++)
        if (flown->missing & 1U << i)
            fprintf(stream, "  %-16s %s\n", "not shown", pappus_missing_text((pappus_missing)i));
}

/* How far each cause goes along the offset. */
static void put_cause(FILE *stream, const page *p, const pappus_debriefed *flight)
{
    char far[PAPPUS_TEXT_SIZE];
    double east = flight->east_m - flight->expected_east_m;
    double north = flight->north_m - flight->expected_north_m;
    for (int c = 0; c < PAPPUS_CAUSES; c++) {
        double along =
            (flight->cause_east_m[c] * east + flight->cause_north_m[c] * north) / flight->offset_m;
        fprintf(stream, "  %-16s %s of it by %s%s\n", c == 0 ? "because" : "",
                pappus_format(far, sizeof far, PAPPUS_SHOW_DISTANCE, along, p->units),
                pappus_cause_text((pappus_cause)c), c == (int)flight->most ? " (most)" : "");
    }
}

static void put_landing(FILE *stream, const page *p, const pappus_debriefed *flight)
{
    char offset[PAPPUS_TEXT_SIZE], bearing[PAPPUS_TEXT_SIZE];
    if (isnan(flight->offset_m)) return;
    fprintf(stream, "  %-16s %s at %s from the middle of what was expected; ", "landed",
            pappus_format(offset, sizeof offset, PAPPUS_SHOW_DISTANCE, flight->offset_m, p->units),
            pappus_format_bearing(bearing, sizeof bearing, flight->offset_bearing_deg,
                                  p->plan->site.declination_deg));
    if (flight->level < 1.0)
        fprintf(stream, "within the %.0f %% contour\n", 100.0 * flight->level);
    else
        fprintf(stream, "outside the 99 %% contour\n");
    if (flight->other_wind)
        fprintf(stream, "  %-16s of another day: nothing of the zones is told by it\n", "wind");
    if (flight->explained) put_cause(stream, p, flight);
}

static void put_flight(FILE *stream, const page *p, const pappus_debriefed *flight)
{
    char when[PAPPUS_TEXT_SIZE];
    fprintf(stream, "%s, %s\n", pappus_file_name(flight->record->path),
            pappus_format_flight(when, sizeof when, flight->record->time_utc_s));
    if (flight->has_log)
        put_log(stream, p, flight);
    else
        fprintf(stream, "  no log\n");
    put_landing(stream, p, flight);
}

static void put_calibration(FILE *stream, const page *p)
{
    const pappus_calibration *c = &p->debrief->calibration;
    char low[PAPPUS_TEXT_SIZE], high[PAPPUS_TEXT_SIZE], words[DEBRIEF_WORDS];
    if (c->count == 0) return;
    fprintf(stream, "\n%s\n", debrief_zones_words(words, c));
    for (int l = 0; l < PAPPUS_LEVELS; l++)
        fprintf(stream, "  within %2.0f %%      %zu (%.0f %%, %.0f to %.0f)\n",
                100.0 * c->levels[l].level, c->levels[l].inside, 100.0 * c->levels[l].share.value,
                100.0 * c->levels[l].share.low, 100.0 * c->levels[l].share.high);
    fprintf(stream, "  surprise         %.1f where %.0f is expected (p %.3f)\n", c->sum, c->degrees,
            c->p);
    if (!isnan(c->power_narrow))
        fprintf(stream,
                "  would show       a wind error of half the truth in %.0f %% of such seasons, of "
                "twice in %.0f %%;\n                   the wind makes %.0f %% of the zones' "
                "variance\n",
                100.0 * c->power_narrow, 100.0 * c->power_wide, 100.0 * c->wind_share);
    if (c->count < 2) return;
    fprintf(stream, "  mean offset      downwind %s, to the right of it %s (95 %%)\n",
            pappus_format_range(low, sizeof low, PAPPUS_SHOW_DISTANCE, c->along_m.low,
                                c->along_m.high, p->units),
            pappus_format_range(high, sizeof high, PAPPUS_SHOW_DISTANCE, c->across_m.low,
                                c->across_m.high, p->units));
}

static void put_learned_drag(FILE *stream, const page *p, const char *what,
                             const pappus_learned_drag *drag)
{
    char words[DEBRIEF_WORDS];
    if (drag->flights == 0) return;
    put_area(stream, p, what, drag->drag_area_m2);
    fprintf(stream, "  %-16s %s\n", "", debrief_drag_words(words, drag, p->units));
}

static void put_learned(FILE *stream, const page *p)
{
    const pappus_learned *l = &p->debrief->learned;
    char words[DEBRIEF_WORDS];
    if (l->drogue.flights + l->main.flights + l->wind_flights == 0) return;
    fprintf(stream, "\nLearned\n");
    put_learned_drag(stream, p, "drogue", &l->drogue);
    put_learned_drag(stream, p, "main", &l->main);
    if (l->wind_flights == 0) return;
    fprintf(stream, "  %-16s %s:\n", "wind", debrief_wind_words(words, l));
    fprintf(stream, "  %-16s error %.2f m/s, growth %.2f m/s at one hour\n", "", l->error_mps,
            l->growth_mps);
}

/* The keys that would say so. */
static void put_changes(FILE *stream, const page *p)
{
    debrief_change changes[DEBRIEF_CHANGES_MOST];
    size_t count = debrief_changes(changes, p->debrief, p->plan);
    for (size_t i = 0; i < count; i++) {
        const debrief_change *c = &changes[i];
        fprintf(stream, "  %s %s.%s%s%s  %s%s%s%s\n", i == 0 ? "in a plan:" : "          ",
                c->group, c->key, c->inner ? "." : "", c->inner ? c->inner : "", c->value,
                c->before[0] ? " (was " : "", c->before, c->before[0] ? ")" : "");
    }
}

static void write_page(FILE *stream, const void *context)
{
    const page *p = context;
    if (p->plan->title[0]) fprintf(stream, "%s\n", p->plan->title);
    for (size_t i = 0; i < p->debrief->count; i++)
        put_flight(stream, p, &p->debrief->flights[i]);
    put_calibration(stream, p);
    put_learned(stream, p);
    put_changes(stream, p);
    fprintf(stream, "\nA comparison of estimates: the range safety officer and an experienced "
                    "mentor judge\nwhat follows from it.\n");
}

int pappus_debrief_text(char **out, const pappus_debrief *debrief, const pappus_plan *plan,
                        pappus_unit_system units, pappus_error *err)
{
    page p = {debrief, plan, units};
    return pappus_terminal_page(out, write_page, &p, err);
}
