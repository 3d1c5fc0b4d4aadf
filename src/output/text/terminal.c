/* SPDX-License-Identifier: GPL-3.0-or-later
 * The half-screen answer: the decision first, what stands against it, then what
 * to do. A column is a character here; wide characters take two on a terminal,
 * and such a line may run over. */
#include "terminal.h"

#include <math.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

#include "c_locale.h"
#include "error.h"
#include "format.h"
#include "zone_shape.h"

#define COLOUR_END "\033[0m"
#define MOST_REASONS 3 /* against a go */
#define TIGHTEST 2     /* shown when all is met */
#define MOST_POSTS 2
#define MOST_WARNINGS 2
#define MOST_WARNING_LINES 3
#define MOST_WHY_LINES 2
#define INDENT 8         /* of what stands beside a heading */
#define REASON_INDENT 10 /* of what stands beside a verdict */

/* ------------------------------------------------------------------- lines */

static bool starts_character(char byte)
{
    return ((unsigned char)byte & 0xC0) != 0x80;
}

/* Cuts to the terminal's width, at a character. */
static void cut_line(char *line)
{
    size_t columns = 0, keep = 0;
    for (size_t i = 0; line[i]; i++) {
        if (!starts_character(line[i])) continue;
        if (columns == PAPPUS_COLUMNS - 3) keep = i;
        if (++columns > PAPPUS_COLUMNS) {
            memcpy(line + keep, "...", 4);
            return;
        }
    }
}

void pappus_line(pappus_text *text, const char *format, ...)
{
    char *line;
    va_list arguments;
    va_start(arguments, format);
    int length = vasprintf(&line, format, arguments);
    va_end(arguments);
    char *clean = length < 0 ? NULL : pappus_text_clean(line);
    if (clean) {
        pappus_text_tame(clean, '\0');
        cut_line(clean);
        fprintf(text->stream, "%s\n", clean);
    }
    if (length >= 0) free(line);
    free(clean);
}

int pappus_terminal_page(char **out, void (*write)(FILE *stream, const void *context),
                         const void *context, pappus_error *err)
{
    pappus_text text;
    pappus_locale locale;
    *out = NULL;
    if (!pappus_locale_enter(&locale)) return pappus_fail_memory(err);
    int status = pappus_text_begin(&text, err);
    if (status == PAPPUS_OK) {
        write(text.stream, context);
        status = pappus_text_finish(&text, err);
    }
    pappus_locale_leave(&locale);
    if (status != PAPPUS_OK) return status;
    *out = pappus_text_clean(text.bytes);
    free(text.bytes);
    if (!*out) return pappus_fail_memory(err);
    pappus_text_tame(*out, '\n');
    return PAPPUS_OK;
}

/* Where a line of `room` characters is broken: between words when it can be. */
static int line_break(const char *line, int room)
{
    int length = (int)strlen(line), cut = room;
    if (length <= room) return length;
    while (cut > 0 && line[cut] != ' ') cut--;
    return cut > 0 ? cut : length;
}

/* Words beside a heading, on at most `most` lines; the last of them is cut. */
static void put_wrapped(pappus_text *text, const char *heading, int indent, const char *words,
                        int most)
{
    for (int i = 0; i < most && *words; i++) {
        bool last = i + 1 == most;
        int cut = last ? (int)strlen(words) : line_break(words, PAPPUS_COLUMNS - indent);
        pappus_line(text, "%-*s%.*s", indent, i ? "" : heading, cut, words);
        words += cut + (words[cut] == ' ');
    }
}

/* ---------------------------------------------------------------- decision */

static const char *colour_of(pappus_decision decision)
{
    return decision == PAPPUS_GO      ? "\033[1;32m"
           : decision == PAPPUS_NO_GO ? "\033[1;31m"
                                      : "\033[1;33m";
}

static const char *shout(pappus_decision decision)
{
    return decision == PAPPUS_GO      ? "GO"
           : decision == PAPPUS_NO_GO ? "NO-GO"
                                      : "UNDECIDED - treat as no-go";
}

static void put_decision(pappus_text *text, const pappus_answer *answer, bool colour)
{
    const char *title = answer->plan->title ? answer->plan->title : "";
    if (!answer->judgement) {
        if (title[0]) pappus_line(text, "%s", title);
        return;
    }
    pappus_decision decision = answer->judgement->decision;
    if (colour) fputs(colour_of(decision), text->stream);
    pappus_line(text, "%s%s%s", shout(decision), title[0] ? "   " : "", title);
    if (colour) fputs(COLOUR_END, text->stream);
}

static void put_reason(pappus_text *text, const pappus_reason *reason, pappus_unit_system units)
{
    static const char *const marks[] = {"  met", "  BROKEN", "  UNSURE"};
    char words[PAPPUS_REASON_SIZE];
    pappus_format_reason(words, sizeof words, reason, units);
    put_wrapped(text, marks[reason->verdict], REASON_INDENT, words, MOST_WHY_LINES);
}

/* Reasons of one verdict; returns how many more there were than were shown. */
static size_t put_reasons_of(pappus_text *text, const pappus_judgement *judgement,
                             pappus_verdict verdict, size_t *room, pappus_unit_system units)
{
    size_t left = 0;
    for (size_t i = 0; i < judgement->reason_count; i++) {
        if (judgement->reasons[i].verdict != verdict) continue;
        if (*room == 0) {
            left++;
            continue;
        }
        put_reason(text, &judgement->reasons[i], units);
        (*room)--;
    }
    return left;
}

/* The limits nearest to being broken, nearest first. */
static void put_tightest(pappus_text *text, const pappus_judgement *judgement,
                         pappus_unit_system units)
{
    double below = INFINITY;
    size_t last = SIZE_MAX;
    for (size_t shown = 0; shown < TIGHTEST; shown++) {
        size_t best = SIZE_MAX;
        for (size_t i = 0; i < judgement->reason_count; i++) {
            double use = pappus_reason_use(&judgement->reasons[i]);
            if (i == last || use > below) continue;
            if (best == SIZE_MAX || use > pappus_reason_use(&judgement->reasons[best])) best = i;
        }
        if (best == SIZE_MAX) return;
        put_reason(text, &judgement->reasons[best], units);
        below = pappus_reason_use(&judgement->reasons[best]);
        last = best;
    }
}

static void put_reasons(pappus_text *text, const pappus_judgement *judgement, size_t landings,
                        pappus_unit_system units)
{
    size_t room = MOST_REASONS;
    if (!judgement) return;
    if (judgement->reason_count == 0)
        pappus_line(text, "  The plan sets no limits: nothing was judged.");
    size_t left = put_reasons_of(text, judgement, PAPPUS_BROKEN, &room, units);
    left += put_reasons_of(text, judgement, PAPPUS_UNDECIDED, &room, units);
    if (left > 0) pappus_line(text, "  and %zu more, see summary.json", left);
    if (room == MOST_REASONS) put_tightest(text, judgement, units);
    if (judgement->capped)
        pappus_line(text, "%*sstill open after %zu landings, the most that are sampled",
                    REASON_INDENT, "", landings);
}

/* -------------------------------------------------------------------- zone */

static void put_place(pappus_text *text, const pappus_answer *answer, pappus_unit_system units)
{
    const pappus_zone *all = &answer->zones->all;
    char distance[PAPPUS_TEXT_SIZE];
    char bearing[PAPPUS_TEXT_SIZE];
    double bearing_deg = pappus_bearing_of(all->mean_east_m, all->mean_north_m);
    pappus_format(distance, sizeof distance, PAPPUS_SHOW_DISTANCE,
                  hypot(all->mean_east_m, all->mean_north_m), units);
    pappus_format_bearing(bearing, sizeof bearing, bearing_deg, answer->plan->site.declination_deg);
    pappus_line(text, "Lands   about %s %s of the pad, bearing %s", distance,
                pappus_compass_point(bearing_deg), bearing);
}

/* Full length and breadth of the 90 % zone. */
static void put_width(pappus_text *text, const pappus_zone *all, pappus_unit_system units)
{
    const pappus_ellipse *ellipse = &all->ellipses[PAPPUS_LEVEL_90];
    double along_m = ellipse->major_m, across_m = ellipse->minor_m;
    double bearing_deg = ellipse->bearing_deg;
    size_t parts = 1;
    char length[PAPPUS_TEXT_SIZE];
    char breadth[PAPPUS_TEXT_SIZE];
    char pieces[PAPPUS_TEXT_SIZE] = "";
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
    pappus_format(length, sizeof length, PAPPUS_SHOW_DISTANCE, 2 * along_m, units);
    pappus_format(breadth, sizeof breadth, PAPPUS_SHOW_DISTANCE, 2 * across_m, units);
    if (parts > 1) snprintf(pieces, sizeof pieces, ", in %zu parts", parts);
    pappus_line(text, "        9 of 10 in a zone %s by %s%s, long side %s-%s", length, breadth,
                pieces, pappus_compass_point(bearing_deg), pappus_compass_point(bearing_deg + 180));
}

static void put_times(pappus_text *text, const pappus_zone *all, pappus_unit_system units)
{
    char time[2 * PAPPUS_TEXT_SIZE];
    char rate[2 * PAPPUS_TEXT_SIZE];
    pappus_format_range(time, sizeof time, PAPPUS_SHOW_TIME, all->time_s.p05, all->time_s.p95,
                        units);
    pappus_format_range(rate, sizeof rate, PAPPUS_SHOW_SPEED, all->landing_vz_mps.p05,
                        all->landing_vz_mps.p95, units);
    pappus_line(text, "        %s from apogee, coming down at %s (5 to 95 %%)", time, rate);
}

static void put_unopened(pappus_text *text, const pappus_zone *all)
{
    char share[PAPPUS_TEXT_SIZE];
    if (!(all->unopened > 0)) return;
    pappus_format_chance(share, sizeof share, all->unopened);
    pappus_line(text, "        %s of them before the main is full open", share);
}

static const pappus_zone *worst_other(const pappus_zones *zones, pappus_outcome *which)
{
    const pappus_zone *worst = NULL;
    for (size_t i = 0; i < PAPPUS_OUTCOMES; i++) {
        const pappus_zone *zone = &zones->outcomes[i];
        if (i == PAPPUS_NOMINAL || zone->landings == 0 || isnan(zone->drift_m.p95)) continue;
        if (worst && zone->drift_m.p95 <= worst->drift_m.p95) continue;
        worst = zone;
        *which = (pappus_outcome)i;
    }
    return worst;
}

static void put_outcomes(pappus_text *text, const pappus_zones *zones, pappus_unit_system units)
{
    pappus_outcome which = PAPPUS_NOMINAL;
    const pappus_zone *worst = worst_other(zones, &which);
    char nominal[PAPPUS_TEXT_SIZE], chance[PAPPUS_TEXT_SIZE], reach[PAPPUS_TEXT_SIZE];
    pappus_format_chance(nominal, sizeof nominal, zones->outcomes[PAPPUS_NOMINAL].probability);
    if (!worst) {
        pappus_line(text, "Faults  %s come down as planned", nominal);
        return;
    }
    pappus_format_chance(chance, sizeof chance, worst->probability);
    pappus_format(reach, sizeof reach, PAPPUS_SHOW_DISTANCE, worst->drift_m.p95, units);
    pappus_line(text, "Faults  %s as planned; farthest else: %s (%s), to %s", nominal,
                pappus_outcome_text(which), chance, reach);
}

/* ------------------------------------------------------------------ choice */

static void put_height(pappus_text *text, const pappus_answer *answer, pappus_unit_system units)
{
    const pappus_heights *heights = answer->heights;
    char best[PAPPUS_TEXT_SIZE], planned[PAPPUS_TEXT_SIZE], why[PAPPUS_REASON_SIZE];
    if (!heights) return;
    bool go = !answer->judgement || answer->judgement->decision == PAPPUS_GO;
    pappus_format(planned, sizeof planned, PAPPUS_SHOW_HEIGHT, heights->planned_m, units);
    pappus_format(best, sizeof best, PAPPUS_SHOW_HEIGHT, heights->recommended_m, units);
    if (isnan(heights->recommended_m))
        put_wrapped(text, "Main", INDENT,
                    heights->why_none
                        ? pappus_format_sentence(why, sizeof why, heights->why_none)
                        : "no height meets every limit",
                    MOST_WHY_LINES);
    else if (!go)
        pappus_line(text, "Main    %s would meet every limit; planned is %s", best, planned);
    else if (strcmp(best, planned) == 0)
        pappus_line(text, "Main    %s as planned is the recommended height", planned);
    else
        pappus_line(text, "Main    %s is recommended, pappus heights says why; planned is %s", best,
                    planned);
}

static void put_ceiling(pappus_text *text, const pappus_answer *answer, pappus_unit_system units)
{
    const pappus_ceiling *ceiling = answer->ceiling;
    char wind[PAPPUS_TEXT_SIZE], floor[PAPPUS_TEXT_SIZE], from[PAPPUS_TEXT_SIZE];
    char turn[PAPPUS_REASON_SIZE];
    if (!ceiling) return;
    const pappus_ceiling_row *row = &ceiling->planned;
    bool low = row->floor_mps > 0;
    pappus_format_down(wind, sizeof wind, PAPPUS_SHOW_WIND, row->surface_wind_mps, units);
    pappus_format(floor, sizeof floor, PAPPUS_SHOW_WIND, row->floor_mps, units);
    pappus_format_bearing(from, sizeof from, row->wind_from_deg, NAN);
    pappus_format_turn(turn, sizeof turn, answer->plan, row);
    if (!row->go)
        pappus_line(text, "Wind    no wind from %s is go: %s", from, turn);
    else if (!answer->field || !answer->field->has_boundary)
        pappus_line(text, "Wind    without a field: the other limits are met up to %s from %s", wind,
                    from);
    else if (!row->reached)
        pappus_line(text, "Wind    still go at %s from %s, the highest that was tried", wind, from);
    else
        pappus_line(text, "Wind    go %s%s%sup to %s from %s, then no-go: %s", low ? "above " : "",
                    low ? floor : "", low ? " " : "", wind, from, turn);
}

static void put_posts(pappus_text *text, const pappus_crews *crews, pappus_unit_system units)
{
    char place[PAPPUS_TEXT_SIZE];
    char distance[PAPPUS_TEXT_SIZE];
    if (!crews) return;
    if (crews->post_count == 0)
        pappus_line(text, "Crews   no place is safe to wait%s%s", crews->blocked_by ? ": " : "",
                    crews->blocked_by ? pappus_post_rule_text(crews->blocked_by) : "");
    size_t shown = crews->post_count < MOST_POSTS ? crews->post_count : MOST_POSTS;
    for (size_t i = 0; i < shown; i++) {
        const pappus_post *post = &crews->posts[i];
        char more[PAPPUS_TEXT_SIZE] = "";
        if (i + 1 == shown && shown < crews->post_count)
            snprintf(more, sizeof more, "; %zu more", crews->post_count - shown);
        pappus_format_position(place, sizeof place, post->latitude_deg, post->longitude_deg);
        pappus_format(distance, sizeof distance, PAPPUS_SHOW_DISTANCE, post->distance_m, units);
        pappus_line(text, "%s post %zu at %s, %s %s of the pad%s", i ? "       " : "Crews  ", i + 1,
                    place, distance, pappus_compass_point(post->bearing_deg), more);
    }
}

/* ----------------------------------------------------------------- cautions */

static void put_field(pappus_text *text, const pappus_answer *answer)
{
    if (!answer->field || !answer->field->has_boundary)
        pappus_line(text, "Field   none given: nothing is known of landings outside it");
}

/* The folder of the file is left away. */
static void put_warning(pappus_text *text, const pappus_error *warning)
{
    const char *slash = strrchr(warning->file, '/');
    pappus_error shown = *warning;
    char line[sizeof shown];
    if (slash) memmove(shown.file, shown.file + (slash + 1 - warning->file), strlen(slash));
    pappus_error_line(line, sizeof line, &shown);
    put_wrapped(text, "Warning", INDENT, line, MOST_WARNING_LINES);
}

static void put_warnings(pappus_text *text, const pappus_log *log)
{
    size_t count = 0;
    for (size_t i = 0; i < log->count; i++) {
        if (log->entries[i].severity != PAPPUS_WARNING) continue;
        if (count++ < MOST_WARNINGS) put_warning(text, &log->entries[i].error);
    }
    if (count > MOST_WARNINGS)
        pappus_line(text, "        and %zu more, see the report or --json", count - MOST_WARNINGS);
}

static void put_answer(pappus_text *text, const pappus_answer *answer, pappus_unit_system units,
                       bool colour)
{
    put_decision(text, answer, colour);
    put_reasons(text, answer->judgement, answer->cloud ? answer->cloud->count : 0, units);
    put_field(text, answer);
    put_place(text, answer, units);
    put_width(text, &answer->zones->all, units);
    put_times(text, &answer->zones->all, units);
    put_unopened(text, &answer->zones->all);
    put_height(text, answer, units);
    put_ceiling(text, answer, units);
    put_posts(text, answer->crews, units);
    put_outcomes(text, answer->zones, units);
    put_warnings(text, &answer->log);
    pappus_line(text, "A planning estimate. The range safety officer decides.");
}

static void put_answers(pappus_text *text, const pappus_answer *const *answers, size_t count,
                        pappus_unit_system units, bool colour)
{
    if (count > 1) {
        pappus_decision decision = pappus_decision_of(answers, count);
        if (colour) fputs(colour_of(decision), text->stream);
        pappus_line(text, "%s   the flight, in %zu parts", shout(decision), count);
        if (colour) fputs(COLOUR_END, text->stream);
    }
    for (size_t i = 0; i < count; i++) {
        if (count > 1) fputc('\n', text->stream);
        put_answer(text, answers[i], units, colour);
    }
}

int pappus_answers_text(char **out, const pappus_answer *const *answers, size_t count,
                        pappus_unit_system units, bool colour, pappus_error *err)
{
    pappus_locale locale;
    pappus_text text;
    *out = NULL;
    if (!pappus_locale_enter(&locale)) return pappus_fail_memory(err);
    int status = pappus_text_begin(&text, err);
    if (status == PAPPUS_OK) {
        put_answers(&text, answers, count, units, colour);
        status = pappus_text_finish(&text, err);
    }
    pappus_locale_leave(&locale);
    if (status == PAPPUS_OK) *out = text.bytes;
    return status;
}

int pappus_answer_text(char **out, const pappus_answer *answer, pappus_unit_system units,
                       bool colour, pappus_error *err)
{
    return pappus_answers_text(out, &answer, 1, units, colour, err);
}
