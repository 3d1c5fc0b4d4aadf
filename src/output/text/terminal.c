/* SPDX-License-Identifier: GPL-3.0-or-later
 * The half-screen answer: statements laid out in lines, the decision first, what stands
 * against it, then what to do. A column is a character here; wide characters take two on a
 * terminal, and such a line may run over. */
#include "terminal.h"

#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

#include "c_locale.h"
#include "error.h"
#include "statement.h"

#define COLOUR_END "\033[0m"
#define MOST_REASONS 3 /* against a go */
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

/* ------------------------------------------------------------------ answer */

static void put_decision(pappus_text *text, const statement *decision, const char *title,
                         bool colour)
{
    static const char *const colours[] = {"\033[1;32m", "\033[1;31m", "\033[1;33m"};
    if (!decision) {
        if (title[0]) pappus_line(text, "%s", title);
        return;
    }
    if (colour) fputs(colours[decision->tone], text->stream);
    pappus_line(text, "%s%s%s%s%s", decision->strong, decision->brief ? " - " : "",
                decision->brief ? decision->brief : "", title[0] ? "   " : "", title);
    if (colour) fputs(COLOUR_END, text->stream);
}

static void put_reasons(pappus_text *text, const statements *said)
{
    static const char *const marks[] = {"  met", "  BROKEN", "  UNSURE"};
    size_t count = 0;
    const statement *it = statement_next(said, SAY_WHY, NULL);
    if (it && it->brief) pappus_line(text, "  %s", it->brief);
    for (it = NULL; (it = statement_next(said, SAY_LEAD, it));)
        if (count++ < MOST_REASONS)
            put_wrapped(text, marks[it->tone], REASON_INDENT, it->brief, MOST_WHY_LINES);
    if (count > MOST_REASONS)
        pappus_line(text, "  and %zu more, see summary.json", count - MOST_REASONS);
    it = statement_next(said, SAY_SAMPLED, NULL);
    if (it && it->brief) pappus_line(text, "%*s%s", REASON_INDENT, "", it->brief);
}

/* The first statement of a kind that is said on a terminal, on at most `most` lines. */
static void put_first(pappus_text *text, const statements *said, const char *heading, say_kind kind,
                      int most)
{
    const statement *it = statement_next(said, kind, NULL);
    if (it && it->brief) put_wrapped(text, heading, INDENT, it->brief, most);
}

static void put_posts(pappus_text *text, const statements *said)
{
    size_t count = statements_count(said, SAY_POST), shown = 0;
    const statement *it = NULL;
    put_first(text, said, "Crews", SAY_CREWS, MOST_WHY_LINES);
    while ((it = statement_next(said, SAY_POST, it)) && shown < MOST_POSTS) {
        char more[PAPPUS_TEXT_SIZE] = "";
        if (++shown == MOST_POSTS && count > MOST_POSTS)
            snprintf(more, sizeof more, "; %zu more", count - MOST_POSTS);
        pappus_line(text, "%-*s%s%s", INDENT, shown == 1 ? "Crews" : "", it->brief, more);
    }
}

static void put_warnings(pappus_text *text, const statements *said)
{
    size_t count = 0;
    for (const statement *it = NULL; (it = statement_next(said, SAY_WARNING, it));)
        if (count++ < MOST_WARNINGS)
            put_wrapped(text, "Warning", INDENT, it->brief, MOST_WARNING_LINES);
    if (count > MOST_WARNINGS)
        pappus_line(text, "%*sand %zu more, see the report or --json", INDENT, "",
                    count - MOST_WARNINGS);
}

static void put_said(pappus_text *text, const statements *said, const char *title, bool colour)
{
    put_decision(text, statement_next(said, SAY_DECISION, NULL), title, colour);
    put_reasons(text, said);
    put_first(text, said, "Field", SAY_FIELD, 1);
    put_first(text, said, "Lands", SAY_PLACE, 1);
    put_first(text, said, "", SAY_ZONE, 1);
    put_first(text, said, "", SAY_DESCENT, 1);
    put_first(text, said, "", SAY_UNOPENED, 1);
    put_first(text, said, "Main", SAY_HEIGHT, MOST_WHY_LINES);
    put_first(text, said, "Wind", SAY_CEILING, MOST_WHY_LINES);
    put_posts(text, said);
    put_first(text, said, "Faults", SAY_OUTCOMES, 1);
    put_warnings(text, said);
    pappus_line(text, "%s", statement_next(said, SAY_CAUTION, NULL)->brief);
}

/* One of the parts; before the first of several stands the flight. */
static int put_part(pappus_text *text, const pappus_answer *const *answers, size_t count,
                    size_t part, pappus_unit_system units, bool colour, pappus_error *err)
{
    pappus_decision flight = pappus_decision_of(answers, count);
    const char *title = answers[part]->plan->title;
    char parts[PAPPUS_TEXT_SIZE];
    statements said;
    int status = statements_make(&said, answers[part], count > 1 ? &flight : NULL, units, err);
    if (status == PAPPUS_OK) {
        snprintf(parts, sizeof parts, "the flight, in %zu parts", count);
        if (count > 1 && part == 0)
            put_decision(text, statement_next(&said, SAY_FLIGHT, NULL), parts, colour);
        if (count > 1) fputc('\n', text->stream);
        put_said(text, &said, title ? title : "", colour);
    }
    statements_clear(&said);
    return status;
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
        int said = PAPPUS_OK;
        for (size_t i = 0; i < count && said == PAPPUS_OK; i++)
            said = put_part(&text, answers, count, i, units, colour, err);
        status = pappus_text_finish(&text, err);
        if (status == PAPPUS_OK && said != PAPPUS_OK) free(text.bytes);
        if (said != PAPPUS_OK) status = said;
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
