/* SPDX-License-Identifier: GPL-3.0-or-later
 * The three choices as text, a sheet each: main heights, surface wind, posts of the crews. */
#include <math.h>

#include "c_locale.h"
#include "error.h"
#include "sheet.h"
#include "sheet_text.h"
#include "statement.h"

typedef struct {
    sheet sheet;
    const pappus_answer *answer;
    statements said;
} choice;

static const char caution[] = "A planning estimate: the range safety officer decides.";

/* What is said of a kind, a line each. */
static void say_all(const choice *c, cJSON *to, const char *list, say_kind kind)
{
    for (const statement *it = NULL; (it = statement_next(&c->said, kind, it));)
        if (it->brief) sheet_say(&c->sheet, to, list, it->brief);
}

static void add_stamp(const choice *c, cJSON *root)
{
    for (const statement *it = NULL; (it = statement_next(&c->said, SAY_STAMP, it));)
        sheet_say(&c->sheet, root, "lines", sheet_text(&c->sheet, "%s%s", it->lead, it->full));
    say_all(c, root, "lines", SAY_DOUBT);
}

static void say_nothing_else(const choice *c, const char *words)
{
    cJSON *to = sheet_section(&c->sheet, (sheet_heading){.id = "none"});
    sheet_say(&c->sheet, to, "notes", words);
}

static const char *chance(const choice *c, double value)
{
    char out[PAPPUS_TEXT_SIZE];
    if (isnan(value)) return "-";
    return sheet_text(&c->sheet, "%s", pappus_format_chance(out, sizeof out, value));
}

static const char *distance(const choice *c, double m)
{
    return isnan(m) ? "-" : sheet_show(&c->sheet, PAPPUS_SHOW_DISTANCE, m);
}

/* ---------------------------------------------------------------- heights */

static void add_height_row(const choice *c, cJSON *table, const statement *verdict)
{
    const sheet *s = &c->sheet;
    const pappus_heights *heights = c->answer->heights;
    const pappus_height_row *row = &heights->rows[verdict->index];
    bool best = !isnan(heights->recommended_m) && verdict->index == heights->recommended_row;
    sheet_row(
        s, table, false,
        sheet_text(s, "%c %s", best ? '>' : ' ', sheet_show(s, PAPPUS_SHOW_HEIGHT, row->height_m)),
        chance(c, row->inside_field.value), chance(c, pappus_height_worst_keep_out(row)),
        sheet_show(s, PAPPUS_SHOW_TIME, row->time_s), distance(c, row->walk_m),
        sheet_show(s, PAPPUS_SHOW_HEIGHT, row->full_open_p05_m),
        sheet_text(s, "%.0f %%", 100.0 * row->use), verdict->brief, NULL);
}

static void add_heights(const choice *c)
{
    const sheet *s = &c->sheet;
    if (!c->answer->heights) {
        say_nothing_else(c, "No main height in the plan: nothing to trade.");
        return;
    }
    cJSON *to = sheet_section(s, (sheet_heading){.id = "trade"});
    say_all(c, to, "notes", SAY_RECOMMENDED);
    say_all(c, to, "notes", SAY_NO_HEIGHT);
    say_all(c, to, "notes", SAY_NOT_LOWER);
    say_all(c, to, "notes", SAY_NOT_HIGHER);
    cJSON *table = sheet_part(s, to, NULL, "", NULL,
                              "  Main at|Inside|Keep-out|In air|Walk|Full open|Used up|Limits");
    for (const statement *it = NULL; (it = statement_next(&c->said, SAY_HEIGHT_ROW, it));)
        add_height_row(c, table, it);
    to = sheet_section(s, (sheet_heading){.id = "legend", .caution = caution});
    sheet_say(
        s, to, "notes",
        "Full open: 19 of 20 flights are full open above it. Used up: the largest share of a "
        "chance that a limit allows; at 100 % it breaks. x: breaks this limit of the plan. ?: "
        "undecided. >: recommended.");
}

/* ---------------------------------------------------------------- ceiling */

static void add_ceiling_rows(const choice *c, cJSON *table, say_kind kind)
{
    static const char *const names[] = {"as planned", "worst"};
    for (const statement *it = NULL; (it = statement_next(&c->said, kind, it));) {
        bool named = kind == SAY_CEILING_WORST || (kind == SAY_CEILING_ALIKE && it->index == 0);
        sheet_row(&c->sheet, table, false, named ? names[it->index] : "", it->lead, it->strong,
                  it->full, NULL);
    }
}

static void add_ceiling(const choice *c)
{
    const sheet *s = &c->sheet;
    if (!c->answer->ceiling) return;
    cJSON *to = sheet_section(s, (sheet_heading){.id = "ceiling", .caution = caution});
    say_all(c, to, "notes", SAY_CEILING);
    bool reading = c->answer->ceiling->has_reading;
    cJSON *table = sheet_part(
        s, to, NULL, "",
        reading ? "Only the reading changes, its gust at its ratio; the winds aloft stay."
                : "The whole wind scaled and turned together.",
        "|Wind from|Go in surface wind|Then breaks");
    add_ceiling_rows(c, table, SAY_CEILING_WORST);
    add_ceiling_rows(c, table, SAY_CEILING_ROW);
    if (statement_next(&c->said, SAY_CEILING_ALIKE, NULL)) {
        table = sheet_part(s, to, NULL, "", "The whole wind scaled and turned together, aloft too.",
                           "|Wind from|Go in surface wind|Then breaks");
        add_ceiling_rows(c, table, SAY_CEILING_ALIKE);
    }
    for (const statement *it = NULL; (it = statement_next(&c->said, SAY_CEILING_NOTE, it));)
        sheet_say(s, table, "totals", it->brief ? it->brief : it->full);
}

/* ------------------------------------------------------------------ crews */

static void add_post(const choice *c, cJSON *table, size_t number, const pappus_post *post,
                     const statement *note)
{
    const sheet *s = &c->sheet;
    char place[PAPPUS_TEXT_SIZE], minutes[PAPPUS_TEXT_SIZE];
    double served = pappus_bearing_of(post->served_east_m, post->served_north_m);
    pappus_format_position(place, sizeof place, post->latitude_deg, post->longitude_deg);
    pappus_format_minutes(minutes, sizeof minutes, post->latitude_deg, post->longitude_deg);
    sheet_row(s, table, false, sheet_text(s, "Post %zu", number),
              sheet_text(s, "%s (%s)", place, minutes),
              sheet_text(s, "%s %s of the pad", distance(c, post->distance_m),
                         pappus_compass_point(post->bearing_deg)),
              post->road && post->road[0] ? post->road : "the field",
              sheet_text(s, "%s on average, %s in 9 of 10", distance(c, post->walk_mean_m),
                         distance(c, post->walk_p90_m)),
              sheet_text(s, "%s of flights%s%s", chance(c, post->share),
                         isfinite(served) ? ", those landing " : "",
                         isfinite(served) ? pappus_compass_point(served) : ""),
              note ? note->brief : "", NULL);
}

static void add_posts(const choice *c, const pappus_crews *crews)
{
    const sheet *s = &c->sheet;
    double walking_mps = c->answer->plan->crew_walking_speed_mps;
    cJSON *to = sheet_section(s, (sheet_heading){.id = "posts", .caution = caution});
    cJSON *table = sheet_part(s, to, NULL, "", NULL, "Post|at|which is|on|Walk|Nearest in|Mind:");
    const statement *note = NULL;
    for (size_t k = 0; k < crews->post_count; k++) {
        note = statement_next(&c->said, SAY_POST_NOTE, note);
        add_post(c, table, k + 1, &crews->posts[k], note);
    }
    sheet_say(s, table, "totals",
              sheet_text(s, "All: walk %s on average, %s in 9 of 10, %.0f and %.0f minutes at %s.",
                         distance(c, crews->walk_mean_m), distance(c, crews->walk_p90_m),
                         ceil(crews->walk_mean_m / walking_mps / 60.0),
                         ceil(crews->walk_p90_m / walking_mps / 60.0),
                         sheet_show(s, PAPPUS_SHOW_WIND, walking_mps)));
    sheet_say(s, table, "totals",
              "Posts stay out of keep-outs and the standoff, and out of where hardware falls "
              "without a full recovery. Keep eyes on the rocket all the same.");
}

static void add_crews(const choice *c)
{
    const pappus_crews *crews = c->answer->crews;
    if (!crews) {
        say_nothing_else(c, "No posts asked (crews.posts is 0).");
    } else if (crews->post_count == 0) {
        cJSON *to = sheet_section(&c->sheet, (sheet_heading){.id = "none", .caution = caution});
        for (const statement *it = NULL; (it = statement_next(&c->said, SAY_CREWS, it));)
            sheet_say(&c->sheet, to, "notes", it->full);
    } else {
        add_posts(c, crews);
    }
}

/* ------------------------------------------------------------------- whole */

static int make_text(char **out, const pappus_answer *answer, const pappus_text_options *options,
                     const char *heading, void (*add)(const choice *c), pappus_error *err)
{
    choice c = {.answer = answer};
    json_builder build = {false};
    pappus_locale locale;
    *out = NULL;
    if (!pappus_locale_enter(&locale)) return pappus_fail_memory(err);
    int status = statements_make(&c.said, answer, NULL, options->units, err);
    if (status == PAPPUS_OK) {
        cJSON *root = sheet_begin(&c.sheet, &build, options->units, false);
        json_add_text(&build, root, "title", answer->plan->title ? answer->plan->title : "");
        add_stamp(&c, root);
        add(&c);
        sheet_end(&c.sheet);
        status = sheet_print(out, root, build.failed, heading, options->columns, err);
    }
    statements_clear(&c.said);
    pappus_locale_leave(&locale);
    return status;
}

int pappus_heights_text(char **out, const pappus_answer *answer, const pappus_text_options *options,
                        pappus_error *err)
{
    return make_text(out, answer, options, "MAIN HEIGHTS  ", add_heights, err);
}

int pappus_ceiling_text(char **out, const pappus_answer *answer, const pappus_text_options *options,
                        pappus_error *err)
{
    return make_text(out, answer, options, "LARGEST SURFACE WIND  ", add_ceiling, err);
}

int pappus_crews_text(char **out, const pappus_answer *answer, const pappus_text_options *options,
                      pappus_error *err)
{
    return make_text(out, answer, options, "RECOVERY CREWS  ", add_crews, err);
}
