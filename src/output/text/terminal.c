/* SPDX-License-Identifier: GPL-3.0-or-later
 * The half-screen answer: statements laid out in lines, the decision first with what it
 * rests on, what stands against it, then what to do. */
#include "terminal.h"

#include <stdlib.h>
#include <string.h>

#include "c_locale.h"
#include "error.h"
#include "layout.h"
#include "statement.h"

#define COLOUR_END "\033[0m"
#define MOST_REASONS 3 /* against a go */
#define MOST_POSTS 2
#define MOST_WARNINGS 2
#define MOST_WARNING_LINES 5
#define MOST_LINES 6     /* of one statement: texts of the user may be long */
#define INDENT 8         /* of what stands beside a heading */
#define REASON_INDENT 10 /* of what stands beside a verdict */

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

/* ------------------------------------------------------------------ answer */

static void put_decision(layout *to, const statement *decision, const char *title, bool colour)
{
    static const char *const colours[] = {"\033[1;32m", "\033[1;31m", "\033[1;33m"};
    char *words = NULL;
    if (!decision) {
        if (title[0]) layout_words(to, 0, INDENT, 0, title);
        return;
    }
    int length = asprintf(&words, "%s%s%s%s%s", decision->strong, decision->brief ? " - " : "",
                          decision->brief ? decision->brief : "", title[0] ? "   " : "", title);
    to->failed |= length < 0;
    if (length < 0) return;
    if (colour) fputs(colours[decision->tone], to->stream);
    layout_words(to, 0, INDENT, 0, words);
    if (colour) fputs(COLOUR_END, to->stream);
    free(words);
}

static void put_stamp(layout *to, const statements *said)
{
    static const char *const headings[] = {"Plan", "Surface", "Aloft"};
    for (const statement *it = NULL; (it = statement_next(said, SAY_STAMP, it));)
        layout_beside(to, headings[it->index], INDENT, 0, it->brief);
}

static void put_reasons(layout *to, const statements *said)
{
    static const char *const marks[] = {"  met", "  BROKEN", "  UNSURE"};
    char more[PAPPUS_TEXT_SIZE];
    size_t count = 0;
    const statement *it = NULL;
    while ((it = statement_next(said, SAY_DOUBT, it)))
        layout_beside(to, "  !", REASON_INDENT, 0, it->brief);
    it = statement_next(said, SAY_WHY, NULL);
    if (it && it->brief) layout_beside(to, "  ", 0, 0, it->brief);
    for (it = NULL; (it = statement_next(said, SAY_LEAD, it));) {
        if (count++ < MOST_REASONS)
            layout_beside(to, marks[it->tone], REASON_INDENT, MOST_LINES, it->brief);
        if (it->tone == SAY_YES) break; /* all is met: the tightest will do */
    }
    snprintf(more, sizeof more, "and %zu more, see summary.json", count - MOST_REASONS);
    if (count > MOST_REASONS) layout_beside(to, "  ", 0, 0, more);
    it = statement_next(said, SAY_SAMPLED, NULL);
    if (it && it->brief) layout_beside(to, "", REASON_INDENT, 0, it->brief);
}

/* The first statement of a kind that is said on a terminal. */
static void put_first(layout *to, const statements *said, const char *heading, say_kind kind)
{
    const statement *it = statement_next(said, kind, NULL);
    if (it && it->brief) layout_beside(to, heading, INDENT, MOST_LINES, it->brief);
}

/* Where it lands and how widely, in one line. */
static void put_place(layout *to, const statements *said)
{
    const statement *place = statement_next(said, SAY_PLACE, NULL);
    const statement *zone = statement_next(said, SAY_ZONE, NULL);
    char *words = NULL;
    if (!place || !zone || !place->brief || !zone->brief) return;
    to->failed |= asprintf(&words, "%s, %s", place->brief, zone->brief) < 0;
    if (to->failed) return;
    layout_beside(to, "Lands", INDENT, MOST_LINES, words);
    free(words);
}

static void put_posts(layout *to, const statements *said)
{
    size_t count = statements_count(said, SAY_POST), shown = 0;
    const statement *it = NULL;
    char more[PAPPUS_TEXT_SIZE];
    put_first(to, said, "Crews", SAY_CREWS);
    while ((it = statement_next(said, SAY_POST, it)) && shown++ < MOST_POSTS)
        layout_beside(to, shown == 1 ? "Crews" : "", INDENT, 0, it->brief);
    snprintf(more, sizeof more, "%zu more", count - MOST_POSTS);
    if (count > MOST_POSTS) layout_beside(to, "", INDENT, 0, more);
}

static void put_warnings(layout *to, const statements *said)
{
    size_t count = 0;
    char more[PAPPUS_TEXT_SIZE];
    for (const statement *it = NULL; (it = statement_next(said, SAY_WARNING, it));)
        if (count++ < MOST_WARNINGS)
            layout_beside(to, "Warning", INDENT, MOST_WARNING_LINES, it->brief);
    snprintf(more, sizeof more, "and %zu more, see the report or --json", count - MOST_WARNINGS);
    if (count > MOST_WARNINGS) layout_beside(to, "", INDENT, 0, more);
}

static void put_said(layout *to, const statements *said, const char *title, bool colour)
{
    put_decision(to, statement_next(said, SAY_DECISION, NULL), title, colour);
    put_stamp(to, said);
    put_reasons(to, said);
    put_first(to, said, "Field", SAY_FIELD);
    put_first(to, said, "Main", SAY_HEIGHT);
    put_first(to, said, "Set", SAY_SET);
    put_posts(to, said);
    put_place(to, said);
    put_first(to, said, "", SAY_UNOPENED);
    put_first(to, said, "Wind", SAY_CEILING);
    put_first(to, said, "Faults", SAY_OUTCOMES);
    put_warnings(to, said);
    layout_words(to, 0, 0, 0, statement_next(said, SAY_CAUTION, NULL)->brief);
}

/* One of the parts; before the first of several stands the flight. */
static int put_part(layout *to, const pappus_answer *const *answers, size_t count, size_t part,
                    const pappus_text_options *options, pappus_error *err)
{
    pappus_decision flight = pappus_decision_of(answers, count);
    const char *title = answers[part]->plan->title;
    char parts[PAPPUS_TEXT_SIZE];
    statements said;
    int status =
        statements_make(&said, answers[part], count > 1 ? &flight : NULL, options->units, err);
    if (status == PAPPUS_OK) {
        snprintf(parts, sizeof parts, "the flight, in %zu parts", count);
        if (count > 1 && part == 0)
            put_decision(to, statement_next(&said, SAY_FLIGHT, NULL), parts, options->colour);
        if (count > 1) fputc('\n', to->stream);
        put_said(to, &said, title ? title : "", options->colour);
    }
    statements_clear(&said);
    return status == PAPPUS_OK && to->failed ? pappus_fail_memory(err) : status;
}

int pappus_answers_text(char **out, const pappus_answer *const *answers, size_t count,
                        const pappus_text_options *options, pappus_error *err)
{
    pappus_locale locale;
    pappus_text text;
    *out = NULL;
    if (!pappus_locale_enter(&locale)) return pappus_fail_memory(err);
    int status = pappus_text_begin(&text, err);
    if (status == PAPPUS_OK) {
        layout to = layout_begin(text.stream, options->columns);
        int said = PAPPUS_OK;
        for (size_t i = 0; i < count && said == PAPPUS_OK; i++)
            said = put_part(&to, answers, count, i, options, err);
        status = pappus_text_finish(&text, err);
        if (status == PAPPUS_OK && said != PAPPUS_OK) free(text.bytes);
        if (said != PAPPUS_OK) status = said;
    }
    pappus_locale_leave(&locale);
    if (status == PAPPUS_OK) *out = text.bytes;
    return status;
}

int pappus_answer_text(char **out, const pappus_answer *answer, const pappus_text_options *options,
                       pappus_error *err)
{
    return pappus_answers_text(out, &answer, 1, options, err);
}
