/* SPDX-License-Identifier: GPL-3.0-or-later
 * The three choices on the terminal, one table each: main heights, surface wind,
 * posts of the crews. */
#include <math.h>

#include "c_locale.h"
#include "error.h"
#include "statement.h"
#include "terminal.h"

typedef struct page page;
typedef void (*page_writer)(const page *p);

struct page {
    FILE *stream;
    page_writer write;
    const pappus_answer *answer;
    pappus_unit_system units;
    statements said;
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
    page p = {.write = write, .answer = answer, .units = units};
    pappus_locale locale;
    *out = NULL;
    if (!pappus_locale_enter(&locale)) return pappus_fail_memory(err);
    int status = statements_make(&p.said, answer, NULL, units, err);
    pappus_locale_leave(&locale);
    if (status == PAPPUS_OK) status = pappus_terminal_page(out, write_page, &p, err);
    statements_clear(&p.said);
    return status;
}

/* What is said of a kind, a line each. */
static void put_all(const page *p, say_kind kind, const char *before)
{
    for (const statement *it = NULL; (it = statement_next(&p->said, kind, it));)
        if (it->brief) fprintf(p->stream, "%s%s\n", before, it->brief);
}

static void caution(const page *p)
{
    fprintf(p->stream, "\nA planning estimate: the range safety officer decides.\n");
}

/* ---------------------------------------------------------------- heights */

static void height_row(const page *p, const pappus_height_row *row, const statement *verdict,
                       bool chosen)
{
    char height[PAPPUS_TEXT_SIZE], inside[PAPPUS_TEXT_SIZE], keep_out[PAPPUS_TEXT_SIZE],
        walk[PAPPUS_TEXT_SIZE], open[PAPPUS_TEXT_SIZE];
    double worst = pappus_height_worst_keep_out(row);
    fprintf(p->stream, "%c %7s %8s %8s %5.0f s %8s %9s %5.0f %%  %s\n", chosen ? '>' : ' ',
            pappus_format(height, sizeof height, PAPPUS_SHOW_HEIGHT, row->height_m, p->units),
            isnan(row->inside_field.value)
                ? "-"
                : pappus_format_chance(inside, sizeof inside, row->inside_field.value),
            isnan(worst) ? "-" : pappus_format_chance(keep_out, sizeof keep_out, worst),
            row->time_s,
            isnan(row->walk_m)
                ? "-"
                : pappus_format(walk, sizeof walk, PAPPUS_SHOW_DISTANCE, row->walk_m, p->units),
            pappus_format(open, sizeof open, PAPPUS_SHOW_HEIGHT, row->full_open_p05_m, p->units),
            100.0 * row->use, verdict->brief);
}

static void write_heights(const page *p)
{
    const pappus_heights *heights = p->answer->heights;
    if (!heights) {
        fprintf(p->stream, "No main height in the plan: nothing to trade.\n");
        return;
    }
    bool found = !isnan(heights->recommended_m);
    put_all(p, SAY_RECOMMENDED, "");
    fprintf(p->stream, "\n  %7s %8s %8s %7s %8s %9s %7s  %s\n", "main at", "inside", "keep-out",
            "in air", "walk", "full open", "used up", "limits");
    for (const statement *it = NULL; (it = statement_next(&p->said, SAY_HEIGHT_ROW, it));)
        height_row(p, &heights->rows[it->index], it,
                   found && it->index == heights->recommended_row);
    fprintf(p->stream, "\n");
    put_all(p, SAY_NOT_LOWER, "");
    put_all(p, SAY_NOT_HIGHER, "");
    put_all(p, SAY_NO_HEIGHT, "");
    fprintf(p->stream, "full open: 19 of 20 flights are full open above it. used up: largest share\n"
                       "of a limit. x: breaks this limit of the plan. ?: undecided.\n");
    caution(p);
}

/* ---------------------------------------------------------------- ceiling */

static void write_ceiling(const page *p)
{
    if (!p->answer->ceiling) return;
    fprintf(p->stream, "Largest surface wind that is still go\n\n");
    put_all(p, SAY_CEILING_WORST, "");
    fprintf(p->stream, "\n");
    put_all(p, SAY_CEILING_ROW, "");
    put_all(p, SAY_CEILING_NOTE, "\n");
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
