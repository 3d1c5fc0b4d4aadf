/* SPDX-License-Identifier: GPL-3.0-or-later
 * The three choices on the terminal, one table each: main heights, surface wind,
 * posts of the crews. */
#include "format.h"
#include "terminal.h"

#include <math.h>

typedef struct page page;
typedef void (*page_writer)(const page *p);

struct page {
    FILE *stream;
    page_writer write;
    const pappus_answer *answer;
    pappus_unit_system units;
};

static void write_page(FILE *stream, const void *context)
{
    page p = *(const page *)context;
    p.stream = stream;
    p.write(&p);
}

static int make_text(char **out, const pappus_answer *answer, pappus_unit_system units,
                     page_writer write, pappus_error *err)
{
    return pappus_terminal_page(out, write_page, &(page){NULL, write, answer, units}, err);
}

static void caution(const page *p)
{
    fprintf(p->stream, "\nA planning estimate: the range safety officer decides.\n");
}

/* ---------------------------------------------------------------- heights */

static double worst_keep_out(const pappus_height_row *row)
{
    double worst = NAN;
    for (size_t k = 0; k < row->keep_out_count; k++) worst = fmax(worst, row->keep_out[k]);
    return worst;
}

static void height_row(const page *p, const pappus_height_row *row, bool chosen)
{
    char height[PAPPUS_TEXT_SIZE], inside[PAPPUS_TEXT_SIZE], keep_out[PAPPUS_TEXT_SIZE],
        walk[PAPPUS_TEXT_SIZE], open[PAPPUS_TEXT_SIZE];
    static const char *const marks[] = {"met", "x ", "? "};
    double worst = worst_keep_out(row);
    fprintf(
        p->stream, "%c %7s %8s %8s %5.0f s %8s %9s %5.0f %%  %s%s\n", chosen ? '>' : ' ',
        pappus_format(height, sizeof height, PAPPUS_SHOW_HEIGHT, row->height_m, p->units),
        isnan(row->inside_field.value)
            ? "-"
            : pappus_format_chance(inside, sizeof inside, row->inside_field.value),
        isnan(worst) ? "-" : pappus_format_chance(keep_out, sizeof keep_out, worst), row->time_s,
        isnan(row->walk_m)
            ? "-"
            : pappus_format(walk, sizeof walk, PAPPUS_SHOW_DISTANCE, row->walk_m, p->units),
        pappus_format(open, sizeof open, PAPPUS_SHOW_HEIGHT, row->full_open_p05_m, p->units),
        100.0 * row->use, marks[row->verdict], row->broken ? pappus_limit_text(row->broken) : "");
}

static void why(const page *p, const char *what, const pappus_height_row *row, const char *reason)
{
    char height[PAPPUS_TEXT_SIZE], words[PAPPUS_REASON_SIZE];
    if (!reason) return;
    fprintf(p->stream, "Not %s, %s: %s.\n", what,
            pappus_format(height, sizeof height, PAPPUS_SHOW_HEIGHT, row->height_m, p->units),
            pappus_format_sentence(words, sizeof words, reason));
}

static void write_heights(const page *p)
{
    const pappus_heights *heights = p->answer->heights;
    char height[PAPPUS_TEXT_SIZE], words[PAPPUS_REASON_SIZE];
    if (!heights) {
        fprintf(p->stream, "No main height in the plan: nothing to trade.\n");
        return;
    }
    bool found = !isnan(heights->recommended_m);
    if (found)
        fprintf(p->stream, "Main at %s (planned: ",
                pappus_format(height, sizeof height, PAPPUS_SHOW_HEIGHT, heights->recommended_m,
                              p->units));
    else
        fprintf(p->stream, "No main height to recommend (planned: ");
    fprintf(p->stream, "%s)\n\n",
            pappus_format(height, sizeof height, PAPPUS_SHOW_HEIGHT, heights->planned_m, p->units));
    fprintf(p->stream, "  %7s %8s %8s %7s %8s %9s %7s  %s\n", "main at", "inside", "keep-out",
            "in air", "walk", "full open", "used up", "limits");
    for (size_t i = 0; i < heights->row_count; i++)
        height_row(p, &heights->rows[i], found && i == heights->recommended_row);
    fprintf(p->stream, "\n");
    if (found) {
        size_t r = heights->recommended_row;
        why(p, "lower", &heights->rows[r > 0 ? r - 1 : 0], heights->why_not_lower);
        why(p, "higher", &heights->rows[r + 1 < heights->row_count ? r + 1 : r],
            heights->why_not_higher);
    }
    if (heights->why_none)
        fprintf(p->stream, "Why: %s.\n", pappus_format_sentence(words, sizeof words, heights->why_none));
    fprintf(p->stream, "full open: 19 of 20 flights are full open above it. used up: largest share\n"
                       "of a limit. x: breaks this limit of the plan. ?: undecided.\n");
    caution(p);
}

/* ---------------------------------------------------------------- ceiling */

static void ceiling_row(const page *p, const char *what, const pappus_ceiling_row *row)
{
    char wind[PAPPUS_TEXT_SIZE], floor_wind[PAPPUS_TEXT_SIZE], turn[PAPPUS_REASON_SIZE];
    fprintf(p->stream, "%-11s from %3.0f deg %-4s", what, row->wind_from_deg,
            pappus_compass_point(row->wind_from_deg));
    if (row->go)
        fprintf(p->stream, "%9s%s",
                pappus_format_down(wind, sizeof wind, PAPPUS_SHOW_WIND, row->surface_wind_mps,
                                   p->units),
                row->reached ? "" : " and more");
    else
        fprintf(p->stream, "no wind is go");
    if (row->reached && row->turns_limit)
        fprintf(p->stream, "%s%s", row->go ? ", then no-go: " : ": ",
                pappus_format_turn(turn, sizeof turn, p->answer->plan, row));
    if (row->go && row->floor_mps > 0.0)
        fprintf(p->stream, "; no-go under %s too",
                pappus_format(floor_wind, sizeof floor_wind, PAPPUS_SHOW_WIND, row->floor_mps,
                              p->units));
    else if (row->go && !row->monotonic)
        fprintf(p->stream, "; go again in stronger wind: do not trust that");
    fprintf(p->stream, "\n");
}

static void write_ceiling(const page *p)
{
    const pappus_ceiling *ceiling = p->answer->ceiling;
    if (!ceiling) return;
    fprintf(p->stream, "Largest surface wind that is still go\n\n");
    ceiling_row(p, "as planned", &ceiling->planned);
    ceiling_row(p, "worst", &ceiling->worst);
    fprintf(p->stream, "\n");
    for (size_t i = 0; i < ceiling->row_count; i++) ceiling_row(p, "", &ceiling->rows[i]);
    if (p->answer->plan->wind.gust_mps > 0)
        fprintf(p->stream, "\nGusts are scaled with the wind: they reach a wind limit first.\n");
    if (ceiling->fixed_bearing)
        fprintf(p->stream, "\nThe apogee has a fixed bearing: it was not turned with the wind.\n");
    if (!p->answer->field->has_boundary)
        fprintf(p->stream, "\nNo field given: only the other limits are looked at.\n");
    caution(p);
}

/* ------------------------------------------------------------------ crews */

static void post_row(const page *p, size_t number, const pappus_post *post)
{
    char place[PAPPUS_TEXT_SIZE], distance[PAPPUS_TEXT_SIZE], mean[PAPPUS_TEXT_SIZE],
        p90[PAPPUS_TEXT_SIZE], share[PAPPUS_TEXT_SIZE];
    double served = pappus_bearing_of(post->served_east_m, post->served_north_m);
    fprintf(p->stream, "Post %zu  %s  %s %s of the pad%s%s\n", number,
            pappus_format_position(place, sizeof place, post->latitude_deg, post->longitude_deg),
            pappus_format(distance, sizeof distance, PAPPUS_SHOW_DISTANCE, post->distance_m, p->units),
            pappus_compass_point(post->bearing_deg), post->road && post->road[0] ? ", on " : "",
            post->road ? post->road : "");
    fprintf(p->stream, "        walk %s on average, %s in 9 of 10; nearest in %s of flights",
            pappus_format(mean, sizeof mean, PAPPUS_SHOW_DISTANCE, post->walk_mean_m, p->units),
            pappus_format(p90, sizeof p90, PAPPUS_SHOW_DISTANCE, post->walk_p90_m, p->units),
            pappus_format_chance(share, sizeof share, post->share));
    if (isfinite(served)) fprintf(p->stream, ", those landing %s", pappus_compass_point(served));
    fprintf(p->stream, "\n");
}

static void write_crews(const page *p)
{
    const pappus_crews *crews = p->answer->crews;
    char mean[PAPPUS_TEXT_SIZE], p90[PAPPUS_TEXT_SIZE], speed[PAPPUS_TEXT_SIZE];
    double walking_mps = p->answer->plan->crew_walking_speed_mps;
    if (!crews) {
        fprintf(p->stream, "No posts asked (crews.posts is 0).\n");
        return;
    }
    if (crews->blocked_by) {
        fprintf(p->stream, "No place meets the rules; most fall to %s.\n",
                pappus_post_rule_text(crews->blocked_by));
        caution(p);
        return;
    }
    for (size_t k = 0; k < crews->post_count; k++) post_row(p, k + 1, &crews->posts[k]);
    fprintf(p->stream, "All     walk %s on average, %s in 9 of 10\n",
            pappus_format(mean, sizeof mean, PAPPUS_SHOW_DISTANCE, crews->walk_mean_m, p->units),
            pappus_format(p90, sizeof p90, PAPPUS_SHOW_DISTANCE, crews->walk_p90_m, p->units));
    fprintf(p->stream, "        %.0f and %.0f minutes at %s\n",
            ceil(crews->walk_mean_m / walking_mps / 60.0),
            ceil(crews->walk_p90_m / walking_mps / 60.0),
            pappus_format(speed, sizeof speed, PAPPUS_SHOW_WIND, walking_mps, p->units));
    fprintf(p->stream, "\nPosts stay out of keep-outs and the standoff, and out of where hardware falls\n"
                       "without a full recovery. Keep eyes on the rocket all the same.\n");
    caution(p);
}

int pappus_heights_text(char **out, const pappus_answer *answer, pappus_unit_system units,
                        pappus_error *err)
{
    return make_text(out, answer, units, write_heights, err);
}

int pappus_ceiling_text(char **out, const pappus_answer *answer, pappus_unit_system units,
                        pappus_error *err)
{
    return make_text(out, answer, units, write_ceiling, err);
}

int pappus_crews_text(char **out, const pappus_answer *answer, pappus_unit_system units,
                      pappus_error *err)
{
    return make_text(out, answer, units, write_crews, err);
}
