/* SPDX-License-Identifier: GPL-3.0-or-later
 * From readings and changes to settings over the plan as it was read. Of each height the newest
 * reading counts, its error grown by what the wind changes in its age: an older one of the same
 * height shares all of that change and would add little but false sureness. The newest of all is
 * the wind at the ground, those of other heights are measured winds beside it. What was changed
 * by hand lies over them.
 *
 * Where it stops being right: readings of different heights share part of their change too, which
 * is not taken into account. */
#include "desk.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define SAME_HEIGHT 1.25 /* ratio of two heights that are one (assumed) */
#define MINUTE_S 60.0

bool desk_wish_copy(desk_wish *out, const desk_wish *from)
{
    *out = *from;
    out->pad = from->pad ? strdup(from->pad) : NULL;
    if (desk_texts_copy(&out->changes, &from->changes) && (out->pad || !from->pad)) return true;
    desk_wish_clear(out);
    return false;
}

void desk_wish_clear(desk_wish *wish)
{
    desk_texts_clear(&wish->changes);
    free(wish->pad);
    *wish = (desk_wish){0};
}

/* ------------------------------------------------------------------ standing */

/* The launch that is asked for, else now. */
static double time_of(const desk_notes *notes, const desk_wish *wish, const pappus_plan *plan,
                      double now_utc_s)
{
    static const char key[] = "wind.time=";
    double time_utc_s = plan->wind.time_utc_s;
    pappus_error unread = {0};
    if (wish->past && wish->note < notes->count) return notes->items[wish->note].time_utc_s;
    for (size_t i = 0; i < wish->changes.count; i++)
        if (strncmp(wish->changes.items[i], key, sizeof key - 1) == 0)
            pappus_time_parse(&time_utc_s, wish->changes.items[i] + sizeof key - 1, &unread);
    return isnan(time_utc_s) ? now_utc_s : time_utc_s;
}

static bool same_height(const desk_note *a, const desk_note *b)
{
    double low = fmin(a->height_m, b->height_m), high = fmax(a->height_m, b->height_m);
    return high <= SAME_HEIGHT * low;
}

/* Notes are in order of time: a later one of the same height that counts supersedes. */
static bool is_superseded(const pappus_desk_note *out, const desk_notes *notes, size_t i)
{
    for (size_t k = i + 1; k < notes->count; k++)
        if (out[k].standing == PAPPUS_NOTE_COUNTS &&
            same_height(&notes->items[i], &notes->items[k]))
            return true;
    return false;
}

void desk_notes_stand(pappus_desk_note *out, const desk_notes *notes, const desk_wish *wish,
                      const pappus_plan *plan, double now_utc_s)
{
    double time_utc_s = time_of(notes, wish, plan, now_utc_s);
    double holds_s = plan->has_wind && plan->wind.has_surface ? plan->wind.reading_holds_s
                                                              : PAPPUS_READING_HOLDS_S;
    for (size_t i = notes->count; i-- > 0;) {
        const desk_note *note = &notes->items[i];
        double age_s = floor(fabs(time_utc_s - note->time_utc_s) / MINUTE_S) * MINUTE_S;
        out[i] = (pappus_desk_note){.time_utc_s = note->time_utc_s,
                                    .standing = PAPPUS_NOTE_COUNTS,
                                    .age_s = age_s,
                                    .speed = note->speed,
                                    .direction = note->direction,
                                    .height = note->height,
                                    .gust = note->gust};
        if (wish->past && i > wish->note)
            out[i].standing = PAPPUS_NOTE_LATER;
        else if (age_s > holds_s)
            out[i].standing = PAPPUS_NOTE_OLD;
        else if (is_superseded(out, notes, i))
            out[i].standing = PAPPUS_NOTE_SUPERSEDED;
    }
}

/* ------------------------------------------------------------------ settings */

static bool set(desk_texts *out, const char *parent, const char *key, const char *value)
{
    char name[80];
    snprintf(name, sizeof name, "%s.%s", parent, key);
    return desk_texts_set(out, name, value);
}

static bool set_reading(desk_texts *out, const char *parent, const pappus_desk_note *note,
                        double height_m, const pappus_plan *plan, bool surface)
{
    char error[40];
    double own_mps = plan->has_wind && plan->wind.has_surface ? plan->wind.surface.error_mps : 1.0;
    snprintf(error, sizeof error, "%.4g m/s",
             pappus_reading_error_mps(&plan->wind, own_mps, height_m, note->age_s));
    return set(out, parent, "height", note->height) && set(out, parent, "speed", note->speed) &&
           set(out, parent, "direction", note->direction) && set(out, parent, "error", error) &&
           (!surface || set(out, parent, "gust", note->gust ? note->gust : "null"));
}

static bool set_notes(desk_texts *out, const pappus_desk_note *stand, const desk_notes *notes,
                      const pappus_plan *plan)
{
    size_t observation = plan->wind.observation_count;
    bool good = true, surface = true;
    for (size_t i = notes->count; good && i-- > 0;) {
        char parent[60] = "wind.surface";
        if (stand[i].standing != PAPPUS_NOTE_COUNTS) continue;
        if (!surface) snprintf(parent, sizeof parent, "wind.observations[%zu]", observation++);
        good = set_reading(out, parent, &stand[i], notes->items[i].height_m, plan, surface);
        surface = false;
    }
    return good;
}

int desk_layers_settings(desk_texts *out, const desk_wish *wish, const desk_notes *notes,
                         const pappus_plan *plan, double now_utc_s)
{
    pappus_desk_note *stand = calloc(notes->count + 1, sizeof *stand);
    *out = (desk_texts){0};
    bool good = stand != NULL;
    if (good) desk_notes_stand(stand, notes, wish, plan, now_utc_s);
    if (good) good = set_notes(out, stand, notes, plan);
    for (size_t i = 0; good && i < wish->changes.count; i++) {
        const char *change = wish->changes.items[i], *equals = strchr(change, '=');
        char *key = strndup(change, (size_t)(equals - change));
        good = key && desk_texts_set(out, key, equals + 1);
        free(key);
    }
    free(stand);
    if (!good) desk_texts_clear(out);
    return good ? PAPPUS_OK : PAPPUS_E_MEMORY;
}
