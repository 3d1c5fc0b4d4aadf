/* SPDX-License-Identifier: GPL-3.0-or-later
 * A debrief on the terminal. */
#include <pappus/debrief.h>

#include <math.h>

#include "format.h"
#include "terminal.h"

typedef struct {
    const pappus_debrief *debrief;
    const pappus_plan *plan;
    pappus_unit_system units;
} page;

/* Drag areas in the units of canopies: square feet, square metres. */
static void put_area(FILE *stream, const page *p, const char *what, pappus_estimate e)
{
    bool us = p->units == PAPPUS_UNITS_US;
    double unit = us ? PAPPUS_FOOT_M * PAPPUS_FOOT_M : 1.0;
    int decimals = e.value / unit < 1.0 ? 3 : 2;
    if (isnan(e.value)) return;
    fprintf(stream, "  %-16s drag area %.*f %s (%.*f to %.*f)\n", what, decimals, e.value / unit,
            us ? "ft2" : "m2", decimals, e.low / unit, decimals, e.high / unit);
}

static void put_value(FILE *stream, const page *p, const char *what, pappus_quantity quantity,
                      double si)
{
    char text[PAPPUS_TEXT_SIZE];
    if (isnan(si)) return;
    fprintf(stream, "  %-16s %s\n", what, pappus_format(text, sizeof text, quantity, si, p->units));
}

static void put_main(FILE *stream, const page *p, const pappus_flown *flown)
{
    char shown[PAPPUS_TEXT_SIZE], true_m[PAPPUS_TEXT_SIZE], open[PAPPUS_TEXT_SIZE];
    if (isnan(flown->main_fired_m)) return;
    fprintf(
        stream, "  %-16s %s shown, %s true; full open at about %s\n", "main fired at",
        pappus_format(shown, sizeof shown, PAPPUS_SHOW_HEIGHT, flown->main_fired_shown_m, p->units),
        pappus_format(true_m, sizeof true_m, PAPPUS_SHOW_HEIGHT, flown->main_fired_m, p->units),
        pappus_format(open, sizeof open, PAPPUS_SHOW_HEIGHT, flown->main_open_m, p->units));
    if (!isnan(flown->main_opening_s.value))
        fprintf(stream, "  %-16s %.1f s (%.1f to %.1f)\n", "main opened in",
                flown->main_opening_s.value, flown->main_opening_s.low, flown->main_opening_s.high);
}

static void put_log(FILE *stream, const page *p, const pappus_debriefed *flight)
{
    const pappus_flown *flown = &flight->flown;
    char rate[PAPPUS_TEXT_SIZE];
    put_value(stream, p, "apogee", PAPPUS_SHOW_HEIGHT, flown->apogee_m);
    put_value(stream, p, "time aloft", PAPPUS_SHOW_TIME, flown->time_aloft_s);
    for (size_t i = 0; i < flown->phase_count; i++)
        fprintf(stream, "  %-16s %s from %.0f to %.0f s\n",
                i + 1 < flown->phase_count ? "first fell at" : "fell at",
                pappus_format(rate, sizeof rate, PAPPUS_SHOW_SPEED, flown->phases[i].rate_mps.value,
                              p->units),
                flown->phases[i].from_s, flown->phases[i].to_s);
    put_area(stream, p, "drogue", flown->drogue_drag_area_m2);
    put_area(stream, p, "main", flown->main_drag_area_m2);
    put_main(stream, p, flown);
    for (int i = 0; i < PAPPUS_MISSINGS; i++)
        if (flown->missing & 1U << i)
            fprintf(stream, "  %-16s %s\n", "not shown", pappus_missing_text((pappus_missing)i));
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

static void write_page(FILE *stream, const void *context)
{
    const page *p = context;
    if (p->plan->title[0]) fprintf(stream, "%s\n", p->plan->title);
    for (size_t i = 0; i < p->debrief->count; i++)
        put_flight(stream, p, &p->debrief->flights[i]);
}

int pappus_debrief_text(char **out, const pappus_debrief *debrief, const pappus_plan *plan,
                        pappus_unit_system units, pappus_error *err)
{
    page p = {debrief, plan, units};
    return pappus_terminal_page(out, write_page, &p, err);
}
