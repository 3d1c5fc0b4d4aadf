/* SPDX-License-Identifier: GPL-3.0-or-later
 * Several answers side by side: decision, zone, walk and tightest limit of each, in the
 * words that each has by itself; what is set and who waits where for each; then what each
 * rests on. */
#include "flight_sheet.h"

#include <math.h>
#include <stdlib.h>

#include "bearing.h"
#include "error.h"
#include "parts.h"
#include "statement.h"

typedef struct {
    sheet sheet;
    bool alternatives;
    cJSON *table, *reasons, *doings, *stamps;
} flight;

static const char *words_of(const flight *f, const statements *said, say_kind kind)
{
    const statement *it = statement_next(said, kind, NULL);
    return it && it->brief ? sheet_text(&f->sheet, "%s", it->brief) : "-";
}

/* The decision is shouted; without one nothing was judged. */
static const char *decision_of(const flight *f, const statements *said)
{
    const statement *it = statement_next(said, SAY_DECISION, NULL);
    return it ? sheet_text(&f->sheet, "%s", it->strong) : "-";
}

static const char *walk_of(const flight *f, const pappus_answer *answer)
{
    const pappus_crews *crews = answer->crews;
    if (!crews || crews->post_count == 0) return "no posts";
    return sheet_show(&f->sheet, PAPPUS_SHOW_DISTANCE, crews->walk_mean_m);
}

static const char *middle_of(const flight *f, const pappus_zone *all)
{
    return sheet_text(
        &f->sheet, "%s %s",
        sheet_show(&f->sheet, PAPPUS_SHOW_DISTANCE, hypot(all->mean_east_m, all->mean_north_m)),
        pappus_compass_point(pappus_bearing_of(all->mean_east_m, all->mean_north_m)));
}

/* As SAY_ZONE has it: length and breadth. */
static const char *zone_of(const flight *f, const statements *said)
{
    const statement *it = statement_next(said, SAY_ZONE, NULL);
    if (!it || it->value_count < 2) return "-";
    return sheet_text(&f->sheet, "%s by %s",
                      sheet_show(&f->sheet, PAPPUS_SHOW_DISTANCE, it->values[0].si),
                      sheet_show(&f->sheet, PAPPUS_SHOW_DISTANCE, it->values[1].si));
}

/* What a medium of lines says of a kind, each led by the part's name. */
static void add_lines(const flight *f, cJSON *to, const char *name, const statements *said,
                      say_kind kind, const char *lead)
{
    for (const statement *it = NULL; (it = statement_next(said, kind, it));)
        if (it->brief)
            sheet_say(&f->sheet, to, "items",
                      sheet_text(&f->sheet, "%s: %s%s", name, lead, it->brief));
}

/* Each limit that is in the way; when all are met there is none to tell. */
static void add_reasons(const flight *f, const char *name, const statements *said)
{
    static const char *const verdicts[] = {"met", "broken", "undecided"};
    for (const statement *it = NULL; (it = statement_next(said, SAY_LEAD, it));)
        if (it->tone != SAY_YES && it->brief)
            sheet_say(&f->sheet, f->reasons, "items",
                      sheet_text(&f->sheet, "%s: %s: %s", name, verdicts[it->tone], it->brief));
}

static int add_answer(const flight *f, const pappus_answer *const *answers, size_t index,
                      pappus_error *err)
{
    const sheet *s = &f->sheet;
    statements said;
    char *name = pappus_part_name(answers, index), *stamp = NULL;
    int status = statements_make(&said, answers[index], NULL, s->units, err);
    if (status == PAPPUS_OK && name) stamp = stamp_text(answers[index], s->units);
    if (status == PAPPUS_OK && !stamp) status = pappus_fail_memory(err);
    if (status == PAPPUS_OK) {
        sheet_row(s, f->table, true, sheet_text(s, "%s", name), decision_of(f, &said),
                  middle_of(f, &answers[index]->zones->all), zone_of(f, &said),
                  walk_of(f, answers[index]), words_of(f, &said, SAY_LEAD), NULL);
        add_reasons(f, name, &said);
        add_lines(f, f->doings, name, &said, SAY_SET, "");
        add_lines(f, f->doings, name, &said, SAY_HEIGHT, "main ");
        add_lines(f, f->doings, name, &said, SAY_POST, "post ");
        add_lines(f, f->doings, name, &said, SAY_CREWS, "");
        add_lines(f, f->doings, name, &said, SAY_CEILING, "");
        const char *title = answers[index]->plan->title;
        sheet_say(s, f->stamps, "items",
                  sheet_text(s, "%s: %s. %s.", name, title ? title : "", stamp));
    }
    statements_clear(&said);
    free(stamp);
    free(name);
    return status;
}

static void add_head(const flight *f, cJSON *root, const pappus_answer *const *answers,
                     size_t count)
{
    const sheet *s = &f->sheet;
    if (f->alternatives) {
        json_add_text(s->build, root, "title", sheet_text(s, "%zu alternatives", count));
        json_add_null(s->build, root, "verdict");
        sheet_say(s, root, "lines", "Each is judged by itself.");
        return;
    }
    pappus_decision decision = pappus_decision_of(answers, count);
    json_add_text(
        s->build, root, "title",
        sheet_text(s, "%s, the flight in %zu parts", pappus_decision_shout(decision), count));
    static const char *const tones[] = {"yes", "no", "open"};
    cJSON *verdict = json_add_object(s->build, root, "verdict");
    json_add_text(s->build, verdict, "tone", tones[decision]);
    json_add_text(s->build, verdict, "strong", pappus_decision_shout(decision));
    json_add_text(s->build, verdict, "full", sheet_text(s, "the flight in %zu parts", count));
    sheet_say(s, root, "lines", "All parts come down: the worst of them decides for the flight.");
    if (decision == PAPPUS_NOT_DECIDED) sheet_say(s, root, "lines", "Treat as no-go.");
}

static bool any_in_the_way(const pappus_answer *const *answers, size_t count)
{
    for (size_t i = 0; i < count; i++)
        if (answers[i]->judgement && answers[i]->judgement->decision != PAPPUS_GO) return true;
    return false;
}

cJSON *flight_sheet(json_builder *build, const pappus_answer *const *answers, size_t count,
                    bool alternatives, pappus_unit_system units, pappus_error *err)
{
    flight f = {.alternatives = alternatives};
    cJSON *root = sheet_begin(&f.sheet, build, units, false);
    const char *what = alternatives ? "Side by side" : "Part by part";
    int status = PAPPUS_OK;
    add_head(&f, root, answers, count);
    cJSON *to = sheet_section(&f.sheet, (sheet_heading){.id = "answers", .text = what});
    f.table = sheet_part(&f.sheet, to, NULL, "cards",
                         alternatives ? "One of these is flown" : "The worst decides",
                         "Plan|Decision|Middle|9 of 10 in|Mean walk|Tightest limit");
    if (any_in_the_way(answers, count))
        f.reasons = sheet_section(
            &f.sheet,
            (sheet_heading){.id = "reasons", .text = "What is in the way", .list = "notes"});
    f.doings = sheet_section(
        &f.sheet,
        (sheet_heading){.id = "doings", .text = "What is set, and where to wait", .list = "notes"});
    f.stamps = sheet_section(&f.sheet, (sheet_heading){.id = "stamps",
                                                       .text = "What this rests on",
                                                       .list = "notes",
                                                       .caution = pappus_caution()});
    for (size_t i = 0; i < count && status == PAPPUS_OK; i++)
        status = add_answer(&f, answers, i, err);
    sheet_end(&f.sheet);
    if (status == PAPPUS_OK && !build->failed) return root;
    cJSON_Delete(root);
    if (status == PAPPUS_OK) pappus_fail_memory(err);
    return NULL;
}
