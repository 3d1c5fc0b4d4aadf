/* SPDX-License-Identifier: GPL-3.0-or-later
 * The filler of pages: one pass over the text by recursive descent, a section that
 * does not apply being read without writing. Text is cleaned of what XML cannot hold
 * and escaped for content and quoted attributes alike (HTML Living Standard, 13.3). */
#include "page_fill.h"

#include <stdlib.h>
#include <string.h>

#include "error.h"
#include "format.h"

enum { MOST_DEEP = 16, TAG_SIZE = 64 };

typedef struct {
    const char *name;
    FILE *stream;
    const cJSON *scopes[MOST_DEEP];
    size_t depth;
    page_form *form;
    const void *context;
    pappus_error *err;
} filler;

/** A tag: its kind, one of " #^/>!{", what stands in it, and where it ends. */
typedef struct {
    char kind;
    char text[TAG_SIZE];
    const char *begin, *end;
} tag;

const char *page_file_text(const char *name)
{
    for (const page_file *file = page_files; file->name; file++)
        if (strcmp(file->name, name) == 0) return file->text;
    return NULL;
}

static int fail(const filler *f, const char *text, const char *found)
{
    return pappus_fail(f->err, PAPPUS_E_OUTPUT, f->name, text, NULL, "%s", found);
}

/* -------------------------------------------------------------------- tags */

/* A section's tag, a remark or a file alone on its line takes the line with it. */
static void take_line(tag *t, const char *start)
{
    const char *left = t->begin;
    while (left > start && (left[-1] == ' ' || left[-1] == '\t'))
        left--;
    if ((left > start && left[-1] != '\n') || *t->end != '\n') return;
    t->begin = left;
    t->end++;
}

/* The next tag; its begin is the text's end when there is none. */
static int next_tag(const filler *f, tag *t, const char *at, const char *start)
{
    const char *open = strstr(at, "{{");
    *t = (tag){.kind = ' ', .begin = open ? open : at + strlen(at)};
    t->end = t->begin;
    if (!open) return PAPPUS_OK;
    const char *body = open + 2;
    bool raw = *body == '{';
    const char *close = strstr(body, raw ? "}}}" : "}}");
    if (!close) return fail(f, NULL, "a placeholder is not closed");
    if (*body && strchr("#^/>!{", *body)) t->kind = *body++;
    t->end = close + (raw ? 3 : 2);
    size_t length = (size_t)(close - body);
    if (t->kind == '!') length = 0;
    if (length >= sizeof t->text) return fail(f, NULL, "a placeholder is too long");
    memcpy(t->text, body, length);
    if (t->kind != ' ' && t->kind != '{') take_line(t, start);
    return PAPPUS_OK;
}

/* ------------------------------------------------------------------ values */

static int look_up(const cJSON **out, const filler *f, const char *key)
{
    *out = f->scopes[f->depth - 1];
    if (strcmp(key, ".") == 0) return PAPPUS_OK;
    for (size_t i = f->depth; i-- > 0;)
        if ((*out = cJSON_GetObjectItemCaseSensitive(f->scopes[i], key))) return PAPPUS_OK;
    return fail(f, key, "no such value for this placeholder");
}

static void put_escaped(const filler *f, const char *text)
{
    static const struct {
        char c;
        const char *escape;
    } escapes[] = {{'&', "&amp;"},  {'<', "&lt;"},   {'>', "&gt;"},
                   {'"', "&quot;"}, {'\'', "&#39;"}, {'\r', "&#13;"}};
    for (; *text; text++) {
        size_t i = 0;
        while (i < sizeof escapes / sizeof escapes[0] && escapes[i].c != *text)
            i++;
        if (i < sizeof escapes / sizeof escapes[0])
            fputs(escapes[i].escape, f->stream);
        else
            fputc(*text, f->stream);
    }
}

static int put_value(const filler *f, char *text)
{
    char formed[PAGE_VALUE_SIZE], *form = strchr(text, ' ');
    const cJSON *value;
    if (form) *form++ = '\0';
    int status = look_up(&value, f, text);
    if (status != PAPPUS_OK) return status;
    if (form && (!f->form || !f->form(formed, value, form, f->context)))
        return fail(f, text, "the value has no such form");
    if (!form && !value->valuestring) return fail(f, text, "the value is no text");
    char *clean = pappus_text_clean(form ? formed : value->valuestring);
    if (!clean) return pappus_fail_memory(f->err);
    put_escaped(f, clean);
    free(clean);
    return PAPPUS_OK;
}

static int put_raw(const filler *f, const char *key)
{
    const cJSON *value;
    size_t length = strlen(key);
    if (length < 3 || strcmp(key + length - 3, "svg") != 0)
        return fail(f, key, "only a drawing is put as it is");
    int status = look_up(&value, f, key);
    if (status == PAPPUS_OK && !value->valuestring) status = fail(f, key, "the value is no text");
    if (status == PAPPUS_OK) fputs(value->valuestring, f->stream);
    return status;
}

/* ---------------------------------------------------------------- sections */

static int fill(filler *f, const char **at, const char *start, const char *until, bool live);

static bool is_something(const cJSON *value)
{
    if (cJSON_IsNull(value) || cJSON_IsFalse(value)) return false;
    if (cJSON_IsArray(value)) return value->child != NULL;
    return !cJSON_IsString(value) || value->valuestring[0] != '\0';
}

/* What a section stands on; *is: whether there is something. */
static int condition(const cJSON **out, bool *is, const filler *f, const char *text)
{
    char key[TAG_SIZE];
    size_t length = strcspn(text, "=");
    memcpy(key, text, length);
    key[length] = '\0';
    int status = look_up(out, f, key);
    if (status != PAPPUS_OK) return status;
    *is = text[length] == '\0'
              ? is_something(*out)
              : cJSON_IsString(*out) && strcmp((*out)->valuestring, text + length + 1) == 0;
    return PAPPUS_OK;
}

static int fill_within(filler *f, const cJSON *scope, const char **at, const char *start,
                       const char *until)
{
    if (f->depth == MOST_DEEP) return fail(f, until, "sections are nested too deep");
    f->scopes[f->depth++] = scope;
    int status = fill(f, at, start, until, true);
    f->depth--;
    return status;
}

static int fill_section(filler *f, const tag *t, const char **at, const char *start, bool live)
{
    const cJSON *value = NULL;
    bool is = false;
    int status = live ? condition(&value, &is, f, t->text) : PAPPUS_OK;
    const char *end = NULL;
    if (status == PAPPUS_OK && live && is == (t->kind == '#')) {
        const cJSON *item = is && cJSON_IsArray(value) ? value->child : value;
        do {
            end = t->end;
            status = fill_within(f, item, &end, start, t->text);
            item = is && cJSON_IsArray(value) ? item->next : NULL;
        } while (status == PAPPUS_OK && item);
    }
    if (status == PAPPUS_OK && !end) {
        end = t->end;
        status = fill(f, &end, start, t->text, false);
    }
    *at = end;
    return status;
}

static int fill_file(filler *f, const char *name, bool live)
{
    const char *text = page_file_text(name), *dot = strrchr(name, '.');
    if (!text || !dot) return fail(f, name, "no such file");
    if (!live) return PAPPUS_OK;
    if (strcmp(dot, ".html") == 0)
        return fill_within(f, f->scopes[f->depth - 1], &text, text, NULL);
    fputs(text, f->stream);
    return PAPPUS_OK;
}

static int fill(filler *f, const char **at, const char *start, const char *until, bool live)
{
    for (;;) {
        tag t;
        int status = next_tag(f, &t, *at, start);
        if (status != PAPPUS_OK) return status;
        if (live) fwrite(*at, 1, (size_t)(t.begin - *at), f->stream);
        *at = t.end;
        if (t.begin == t.end) return until ? fail(f, until, "the section is not closed") : status;
        if (t.kind == '/') {
            bool ours = until && strcmp(t.text, until) == 0;
            return ours ? PAPPUS_OK : fail(f, t.text, "closes another section than is open");
        }
        if (t.kind == '#' || t.kind == '^') status = fill_section(f, &t, at, start, live);
        if (t.kind == '>') status = fill_file(f, t.text, live);
        if (t.kind == '{' && live) status = put_raw(f, t.text);
        if (t.kind == ' ' && live) status = put_value(f, t.text);
        if (status != PAPPUS_OK) return status;
    }
}

int page_fill(char **out, size_t *size, const char *name, const char *text, const cJSON *tree,
              page_form *form, const void *context, pappus_error *err)
{
    pappus_text page;
    *out = NULL;
    int status = pappus_text_begin(&page, err);
    if (status != PAPPUS_OK) return status;
    filler f = {.name = name,
                .stream = page.stream,
                .scopes = {tree},
                .depth = 1,
                .form = form,
                .context = context,
                .err = err};
    status = fill(&f, &text, text, NULL, true);
    int finished = pappus_text_finish(&page, status == PAPPUS_OK ? err : NULL);
    if (status == PAPPUS_OK) status = finished;
    if (status != PAPPUS_OK) {
        free(page.bytes);
    } else {
        *out = page.bytes;
        *size = page.size;
    }
    return status;
}
