/* SPDX-License-Identifier: GPL-3.0-or-later
 * The trade over main heights: what to do about the planned one, and why not another. */
#include <math.h>
#include <stdio.h>

#include "both.h"
#include "say.h"

#define WHY_SIZE 200

/* Why not the row that `reason` is about, as the end of a sentence. */
static char *why_not(char out[WHY_SIZE], const pappus_heights *heights,
                     const pappus_height_reason *reason)
{
    const char *limit = pappus_limit_noun(reason->limit);
    switch (reason->why) {
    case PAPPUS_WHY_NOT_ABOVE_APOGEE:
        snprintf(out, WHY_SIZE, "it is not below the apogee");
        break;
    case PAPPUS_WHY_NOT_BROKEN:
        snprintf(out, WHY_SIZE, "it breaks the limit \"%s\"", limit);
        break;
    case PAPPUS_WHY_NOT_UNDECIDED:
        snprintf(out, WHY_SIZE, "\"%s\" is undecided there", limit);
        break;
    case PAPPUS_WHY_NOT_USES_MORE:
        snprintf(out, WHY_SIZE,
                 "it uses up more of the chance that \"%s\" allows (%.0f %% against %.0f %%)",
                 limit, 100 * heights->rows[reason->row].use,
                 100 * heights->rows[heights->recommended_row].use);
        break;
    case PAPPUS_WHY_NOT_FARTHER:
        snprintf(out, WHY_SIZE, "it has room as well, and is farther from the plan");
        break;
    default:
        snprintf(out, WHY_SIZE, "%s",
                 reason->row > heights->recommended_row
                     ? "it is no better"
                     : "it is hardly better, and leaves the main less room to open");
    }
    return out;
}

/* Why none is recommended, from the row that comes closest. */
static char *why_none(char out[WHY_SIZE], const pappus_heights *heights)
{
    const pappus_height_reason *closest = &heights->closest;
    const char *limit = pappus_limit_noun(closest->limit);
    if (heights->beyond != PAPPUS_LIMIT_NONE)
        snprintf(out, WHY_SIZE, "no height mends the limit \"%s\", which is not met at any",
                 pappus_limit_noun(heights->beyond));
    else if (closest->why == PAPPUS_WHY_NOT_ABOVE_APOGEE)
        snprintf(out, WHY_SIZE, "no height is below the apogee");
    else if (closest->why == PAPPUS_WHY_NOT_BROKEN)
        snprintf(out, WHY_SIZE, "no height meets every limit; the closest breaks \"%s\"", limit);
    else
        snprintf(out, WHY_SIZE, "no height meets every limit; at the closest, \"%s\" is undecided",
                 limit);
    return out;
}

/* The planned and the recommended height: the same words only when they are the same. */
static void heights_apart(char planned[PAPPUS_TEXT_SIZE], char best[PAPPUS_TEXT_SIZE],
                          const sayer *s, const pappus_heights *heights)
{
    double best_m = heights->shift_m == 0 ? heights->planned_m : heights->recommended_m;
    pappus_format_apart(planned, best, PAPPUS_SHOW_HEIGHT, heights->planned_m, best_m, s->units);
}

static void put_advice(sayer *s, const pappus_heights *heights)
{
    const pappus_judgement *judgement = s->answer->judgement;
    char planned[PAPPUS_TEXT_SIZE], best[PAPPUS_TEXT_SIZE], why[WHY_SIZE];
    bool go = !judgement || judgement->decision == PAPPUS_GO;
    statement *it = say(s, SAY_HEIGHT, SAY_PLAIN, heights->recommended_row);
    say_value(it, "planned", PAPPUS_SHOW_HEIGHT, heights->planned_m);
    say_value(it, "recommended", PAPPUS_SHOW_HEIGHT, heights->recommended_m);
    heights_apart(planned, best, s, heights);
    if (isnan(heights->recommended_m)) {
        it->tone = heights->closest.why == PAPPUS_WHY_NOT_UNDECIDED ? SAY_OPEN : SAY_NO;
        it->brief = say_words(s, "%s", why_none(why, heights));
        it->full = say_words(s, "Main height: %s.", why);
    } else if (heights->shift_m == 0) {
        it->tone = SAY_YES;
        it->brief = say_words(s, "%s as planned is the recommended height", planned);
        it->full = say_words(s, "The planned main height, %s, is the recommended one.", planned);
    } else if (!go) {
        it->brief = say_words(s, "%s would meet every limit; planned is %s", best, planned);
        it->full =
            say_words(s,
                      "%s with the main at %s. At %s every limit is met: set it in the "
                      "plan and brief again.",
                      judgement->decision == PAPPUS_NO_GO ? "No-go" : "Undecided", planned, best);
    } else {
        it->brief = say_words(s, "%s is recommended, pappus heights says why; planned is %s", best,
                              planned);
        it->full = say_words(s,
                             "Recommended is %s rather than %s, as told below: set it in the plan "
                             "and brief again.",
                             best, planned);
    }
}

static void put_why_not(sayer *s, say_kind kind, const char *what, const pappus_heights *heights,
                        const pappus_height_reason *reason)
{
    char height[PAPPUS_TEXT_SIZE], why[WHY_SIZE];
    if (reason->why == PAPPUS_WHY_NOT_NO_ROW) return;
    statement *it = say(s, kind, SAY_PLAIN, reason->row);
    it->about = pappus_why_not_text(reason->why);
    it->full = say_words(s, "Not %s: %s.", what, why_not(why, heights, reason));
    it->brief = say_words(s, "Not %s, %s: %s.", what,
                          pappus_format(height, sizeof height, PAPPUS_SHOW_HEIGHT,
                                        heights->rows[reason->row].height_m, s->units),
                          why);
}

static void put_recommended(sayer *s, const pappus_heights *heights)
{
    char height[PAPPUS_TEXT_SIZE], planned[PAPPUS_TEXT_SIZE], both[PAPPUS_BOTH_SIZE], why[WHY_SIZE];
    heights_apart(planned, height, s, heights);
    statement *it = say(s, SAY_RECOMMENDED, SAY_PLAIN, heights->recommended_row);
    if (isnan(heights->recommended_m)) {
        it->brief = say_words(s, "No main height to recommend (planned: %s)", planned);
        it->full = say_words(s, "Main height: %s.", why_none(why, heights));
        say(s, SAY_NO_HEIGHT, SAY_NO, heights->closest.row)->brief = say_words(s, "Why: %s.", why);
        return;
    }
    it->brief = say_words(s, "Main at %s (planned: %s)", height, planned);
    it->full =
        say_words(s, "Recommended: %s.",
                  pappus_format_both(both, PAPPUS_SHOW_HEIGHT, heights->recommended_m, s->units));
    put_why_not(s, SAY_NOT_LOWER, "lower", heights, &heights->lower);
    put_why_not(s, SAY_NOT_HIGHER, "higher", heights, &heights->higher);
}

static void put_row(sayer *s, const pappus_height_row *row, size_t index)
{
    static const char *const verdicts[] = {"limits met", "a limit is broken", "undecided"};
    static const char *const marks[] = {"met", "x ", "? "};
    bool named = row->broken != PAPPUS_LIMIT_NONE;
    statement *it = say(s, SAY_HEIGHT_ROW, (say_tone)row->verdict, index);
    it->about = named ? pappus_limit_text(row->broken) : NULL;
    it->strong = say_words(s, "%s", verdicts[row->verdict]);
    it->brief = say_words(s, "%s%s", marks[row->verdict], named ? it->about : "");
    it->full = say_words(s, "%s%s", row->verdict == PAPPUS_UNDECIDED ? "undecided: " : "",
                         named ? pappus_limit_noun(row->broken) : "nothing");
}

void say_heights(sayer *s)
{
    const pappus_heights *heights = s->answer->heights;
    if (!heights) return;
    put_advice(s, heights);
    put_recommended(s, heights);
    for (size_t i = 0; i < heights->row_count; i++)
        put_row(s, &heights->rows[i], i);
}
