/* SPDX-License-Identifier: GPL-3.0-or-later
 * The wind at which the answer turns: the planned direction in words, all others as rows. */
#include <math.h>
#include <stdlib.h>

#include "say.h"

/* No-go, and go again in stronger wind. */
static bool goes_again(const pappus_ceiling_row *row)
{
    return row->go && !row->monotonic && !(row->floor_mps > 0);
}

static bool has_field(const sayer *s)
{
    return s->answer->field && s->answer->field->has_boundary;
}

typedef struct {
    char top[PAPPUS_TEXT_SIZE], floor[PAPPUS_TEXT_SIZE], turn[PAPPUS_REASON_SIZE];
} row_words;

static row_words words_of(const sayer *s, const pappus_ceiling_row *row)
{
    row_words w;
    pappus_format_down(w.top, sizeof w.top, PAPPUS_SHOW_WIND, row->surface_wind_mps, s->units);
    pappus_format(w.floor, sizeof w.floor, PAPPUS_SHOW_WIND, row->floor_mps, s->units);
    pappus_format_turn(w.turn, sizeof w.turn, s->answer->plan, row);
    return w;
}

/* The winds that are go, for a page. */
static char *winds(sayer *s, const pappus_ceiling_row *row, const row_words *w)
{
    if (!row->go) return say_words(s, "none");
    if (row->floor_mps > 0) return say_words(s, "%s to %s", w->floor, w->top);
    return say_words(s, "%s%s%s%s", row->reached ? "up to " : "", w->top,
                     row->reached ? "" : " and above (highest tried)", goes_again(row) ? " *" : "");
}

static statement *put_facts(sayer *s, say_kind kind, const pappus_ceiling_row *row, size_t index)
{
    statement *it = say(s, kind, row->go ? SAY_YES : SAY_NO, index);
    if (row->turns_limit != PAPPUS_LIMIT_NONE) it->about = pappus_limit_text(row->turns_limit);
    say_value(it, "surface_wind", PAPPUS_SHOW_WIND, row->surface_wind_mps);
    say_value(it, "floor", PAPPUS_SHOW_WIND, row->floor_mps);
    return it;
}

static char *headline(sayer *s, const pappus_ceiling_row *row, const row_words *w)
{
    char from[PAPPUS_TEXT_SIZE];
    bool low = row->floor_mps > 0;
    pappus_format_bearing(from, sizeof from, row->wind_from_deg, NAN);
    if (!row->go) return say_words(s, "no wind from %s is go: %s", from, w->turn);
    if (!has_field(s))
        return say_words(s, "without a field: the other limits are met up to %s from %s", w->top,
                         from);
    if (!row->reached)
        return say_words(s, "still go at %s from %s, the highest that was tried", w->top, from);
    return say_words(s, "go %s%s%sup to %s from %s, then no-go: %s", low ? "above " : "",
                     low ? w->floor : "", low ? " " : "", w->top, from, w->turn);
}

static void put_headline(sayer *s, const pappus_ceiling_row *row)
{
    row_words w = words_of(s, row);
    statement *it = put_facts(s, SAY_CEILING, row, 0);
    it->brief = headline(s, row, &w);
    it->lead = say_words(s, "%sWind from %.0f deg (%s), as planned: %s",
                         has_field(s) ? "" : "No field was given: nothing here is a go. ",
                         row->wind_from_deg, pappus_compass_point(row->wind_from_deg),
                         !row->go       ? "no wind is go"
                         : has_field(s) ? "go in "
                                        : "the other limits are met in ");
    if (row->go) it->strong = winds(s, row, &w);
    it->full = say_words(s, "; the limit in the way is %s.", w.turn);
}

static void put_row(sayer *s, say_kind kind, const pappus_ceiling_row *row, size_t index)
{
    row_words w = words_of(s, row);
    statement *it = put_facts(s, kind, row, index);
    it->lead =
        say_words(s, "%.0f deg %s", row->wind_from_deg, pappus_compass_point(row->wind_from_deg));
    it->strong = winds(s, row, &w);
    it->full = say_words(s, "%s", w.turn);
}

static void put_note(sayer *s, const char *brief, const char *full)
{
    statement *it = say(s, SAY_CEILING_NOTE, SAY_OPEN, 0);
    if (brief) it->brief = say_words(s, "%s", brief);
    if (full) it->full = say_words(s, "%s", full);
}

/* The second question, apart from the first. */
static void put_whole(sayer *s, const pappus_ceiling *ceiling)
{
    row_words w = words_of(s, &ceiling->whole.planned);
    char *line = headline(s, &ceiling->whole.planned, &w);
    statement *it = say(s, SAY_CEILING_NOTE, SAY_PLAIN, 0);
    it->brief = say_words(s, "If the whole wind grows alike, aloft too: %s.", line ? line : "");
    it->full = say_words(s,
                         "This is for the reading, with the forecast as it is. If the whole wind "
                         "grows alike, aloft too: %s.",
                         line ? line : "");
    free(line);
}

static void put_notes(sayer *s, const pappus_ceiling *ceiling, const pappus_ceiling_round *first)
{
    bool again = goes_again(&first->planned);
    for (size_t i = 0; i < first->row_count; i++)
        again |= goes_again(&first->rows[i]);
    if (ceiling->has_reading) put_whole(s, ceiling);
    if (again) put_note(s, NULL, "* Go again in stronger wind: do not trust that.");
    if (s->answer->plan->wind.gust_mps > 0)
        put_note(s, "Gusts are scaled with the wind: they reach a wind limit first.", NULL);
    if (ceiling->led)
        put_note(
            s, "Limits under 0.1 % are judged from the planned direction; from others by counting.",
            "Keep-out limits under 0.1 % are judged by landings that are led there, from the "
            "planned direction. From the others counted landings only tell where one is broken.");
    if (ceiling->fixed_bearing)
        put_note(s, "The apogee has a fixed bearing: it was not turned with the wind.",
                 "The apogee's bearing is fixed in the plan: it does not turn with the wind here, "
                 "but a flight would.");
    if (!has_field(s)) put_note(s, "No field given: only the other limits are looked at.", NULL);
}

void say_ceiling(sayer *s)
{
    const pappus_ceiling *ceiling = s->answer->ceiling;
    if (!ceiling) return;
    const pappus_ceiling_round *first = pappus_ceiling_first(ceiling);
    put_headline(s, &first->planned);
    put_row(s, SAY_CEILING_WORST, &first->planned, 0);
    put_row(s, SAY_CEILING_WORST, &first->worst, 1);
    for (size_t i = 0; i < first->row_count; i++)
        put_row(s, SAY_CEILING_ROW, &first->rows[i], i);
    if (ceiling->has_reading && ceiling->whole.row_count > 0) {
        put_row(s, SAY_CEILING_ALIKE, &ceiling->whole.planned, 0);
        for (size_t i = 0; i < ceiling->whole.row_count; i++)
            put_row(s, SAY_CEILING_ALIKE, &ceiling->whole.rows[i], i + 1);
    }
    put_notes(s, ceiling, first);
}
