/* SPDX-License-Identifier: GPL-3.0-or-later
 * Which main height is recommended, and why not the rows beside it. Recommended,
 * among the heights that meet every limit: of those with u <= 0.5 the one nearest to the
 * planned height (of two as near the higher), so that a plan that is good stays; where
 * none has so much room, the least u, and within 0.02 of it the highest. The planned
 * height is always a row. A limit that is not met at any height and is no matter of where
 * the main opens (the surface wind, the speed at touchdown) is told apart. */
#include "heights.h"

#include <math.h>

#define TIE 0.02   /* of u: closer is the same */
#define ENOUGH 0.5 /* of u: such a height has room (A) */

/* The first limit that no height meets and none can mend. */
static pappus_limit_kind find_beyond(const pappus_heights *heights)
{
    unsigned unmet = ~(unsigned)MENDABLE;
    for (size_t i = 0; i < heights->row_count; i++)
        if (!heights->rows[i].above_apogee) unmet &= heights->rows[i].unmet;
    for (int kind = PAPPUS_LIMIT_NONE + 1; kind < PAPPUS_LIMIT_KINDS; kind++)
        if (unmet != ~(unsigned)MENDABLE && (unmet >> kind & 1U)) return (pappus_limit_kind)kind;
    return PAPPUS_LIMIT_NONE;
}

static bool allowed(const pappus_height_row *row)
{
    return row->verdict == PAPPUS_MET && !row->above_apogee;
}

/* Rows ascend: of two as good the higher stays. */
static void recommend(pappus_heights *heights)
{
    double least = INFINITY, nearest_m = INFINITY;
    heights->recommended_m = NAN;
    for (size_t i = 0; i < heights->row_count; i++)
        if (allowed(&heights->rows[i])) least = fmin(least, heights->rows[i].use);
    for (size_t i = 0; i < heights->row_count; i++) {
        const pappus_height_row *row = &heights->rows[i];
        double away_m = fabs(row->height_m - heights->planned_m);
        bool worse = least > ENOUGH ? row->use > least + TIE
                                    : row->use > ENOUGH || away_m > nearest_m + SAME_HEIGHT_M;
        if (!allowed(row) || worse) continue;
        nearest_m = away_m;
        heights->recommended_m = row->height_m;
        heights->recommended_row = i;
    }
}

/* Why row r is not the chosen one; r may be one off either end. */
static pappus_height_reason why_not(const pappus_heights *heights, size_t r)
{
    const pappus_height_row *chosen = &heights->rows[heights->recommended_row];
    pappus_height_reason reason = {PAPPUS_WHY_NOT_NO_ROW, PAPPUS_LIMIT_NONE, r};
    if (r >= heights->row_count) return reason;
    const pappus_height_row *row = &heights->rows[r];
    if (row->above_apogee) {
        reason.why = PAPPUS_WHY_NOT_ABOVE_APOGEE;
    } else if (row->verdict != PAPPUS_MET) {
        reason.limit = row->broken;
        reason.why =
            row->verdict == PAPPUS_BROKEN ? PAPPUS_WHY_NOT_BROKEN : PAPPUS_WHY_NOT_UNDECIDED;
    } else if (row->use <= ENOUGH && chosen->use <= ENOUGH) {
        reason.why = PAPPUS_WHY_NOT_FARTHER;
    } else if (row->use > chosen->use) {
        reason.why = PAPPUS_WHY_NOT_USES_MORE;
        reason.limit = row->nearest;
    } else {
        reason.why = PAPPUS_WHY_NOT_NO_BETTER;
    }
    return reason;
}

/* Without a recommended height: the row that uses up least, and what is in its way. */
static size_t closest_row(const pappus_heights *heights)
{
    size_t best = 0;
    for (size_t i = 1; i < heights->row_count; i++)
        if (!heights->rows[i].above_apogee && heights->rows[i].use < heights->rows[best].use)
            best = i;
    return best;
}

static size_t planned_row(const pappus_heights *heights)
{
    size_t best = 0;
    for (size_t i = 1; i < heights->row_count; i++)
        if (fabs(heights->rows[i].height_m - heights->planned_m) <
            fabs(heights->rows[best].height_m - heights->planned_m))
            best = i;
    return best;
}

static void explain(pappus_heights *heights)
{
    heights->planned_row = planned_row(heights);
    heights->beyond = find_beyond(heights);
    heights->shift_m = heights->recommended_m - heights->planned_m;
    if (isnan(heights->recommended_m)) {
        heights->closest = why_not(heights, closest_row(heights));
        return;
    }
    if (fabs(heights->shift_m) <= SAME_HEIGHT_M) heights->shift_m = 0.0;
    heights->lower = why_not(heights, heights->recommended_row - 1);
    heights->higher = why_not(heights, heights->recommended_row + 1);
}

void pappus_heights_conclude(pappus_heights *heights)
{
    recommend(heights);
    explain(heights);
}

const char *pappus_why_not_text(pappus_why_not why)
{
    static const char *const texts[] = {
#define PAPPUS_WHY_NOT_TEXT(name, text) text,
        PAPPUS_WHY_NOT_LIST(PAPPUS_WHY_NOT_TEXT)
#undef PAPPUS_WHY_NOT_TEXT
    };
    return texts[why];
}
