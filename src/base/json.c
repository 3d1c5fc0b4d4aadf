/* SPDX-License-Identifier: GPL-3.0-or-later
 * Strict JSON. cJSON 1.7 takes invalid UTF-8, raw control characters and numbers
 * like 01, cuts strings at \u0000, reads 1e999 as infinite and keeps members
 * given twice. So a text is first walked here by the grammar of RFC 8259, which
 * also gives the line and column of a fault (cJSON's own place is a global), and
 * only a text without fault is given to cJSON. Names given twice are found in
 * the tree. Integers above 2^53 lose their last digits, as cJSON has doubles. */
#include "json.h"
#include "c_locale.h"
#include "error.h"
#include "text_stream.h"
#include "utf8.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* ----------------------------------------------------------------- grammar */

/* A walk over the text. After a fault `what` says what is wrong at `at`. */
typedef struct {
    const char *text;
    size_t length, at;
    int depth;
    const char *what;
} walk;

static bool wrong(walk *w, const char *what)
{
    if (!w->what) w->what = what;
    return false;
}

static int next_byte(const walk *w)
{
    return w->at < w->length ? (unsigned char)w->text[w->at] : -1;
}

static void skip_blank(walk *w)
{
    int c;
    while ((c = next_byte(w)) == ' ' || c == '\t' || c == '\n' || c == '\r')
        w->at++;
}

static bool walk_digits(walk *w)
{
    size_t start = w->at;
    while (next_byte(w) >= '0' && next_byte(w) <= '9')
        w->at++;
    return w->at > start || wrong(w, "a number needs a digit here");
}

static bool walk_number(walk *w)
{
    if (next_byte(w) == '-') w->at++;
    if (next_byte(w) == '0') {
        w->at++;
        if (next_byte(w) >= '0' && next_byte(w) <= '9') {
            return wrong(w, "a number with a zero before it");
        }
    } else if (!walk_digits(w)) {
        return false;
    }
    if (next_byte(w) == '.') {
        w->at++;
        if (!walk_digits(w)) return false;
    }
    if (next_byte(w) == 'e' || next_byte(w) == 'E') {
        w->at++;
        if (next_byte(w) == '+' || next_byte(w) == '-') w->at++;
        if (!walk_digits(w)) return false;
    }
    return true;
}

static bool walk_hex(walk *w, unsigned *code)
{
    *code = 0;
    for (int i = 0; i < 4; i++, w->at++) {
        int c = next_byte(w);
        int digit = c >= '0' && c <= '9'   ? c - '0'
                    : c >= 'a' && c <= 'f' ? c - 'a' + 10
                    : c >= 'A' && c <= 'F' ? c - 'A' + 10
                                           : -1;
        if (digit < 0) return wrong(w, "\\u needs four hexadecimal digits");
        *code = *code << 4 | (unsigned)digit;
    }
    return true;
}

static bool walk_escape(walk *w)
{
    unsigned high, low;
    int c = next_byte(w);
    if (c < 0 || !strchr("\"\\/bfnrtu", c)) return wrong(w, "no such escape in a text");
    w->at++;
    if (c != 'u') return true;
    if (!walk_hex(w, &high)) return false;
    if (high == 0) return wrong(w, "\\u0000 in a text");
    if (high >= 0xDC00 && high <= 0xDFFF) return wrong(w, "half a surrogate pair");
    if (high < 0xD800 || high > 0xDBFF) return true;
    if (next_byte(w) != '\\') return wrong(w, "half a surrogate pair");
    w->at++;
    if (next_byte(w) != 'u') return wrong(w, "half a surrogate pair");
    w->at++;
    if (!walk_hex(w, &low)) return false;
    return (low >= 0xDC00 && low <= 0xDFFF) || wrong(w, "half a surrogate pair");
}

static bool walk_string(walk *w)
{
    if (next_byte(w) != '"') return wrong(w, "a text in double quotes is due here");
    w->at++;
    for (;;) {
        int c = next_byte(w);
        if (c < 0) return wrong(w, "a text without its closing quote");
        if (c < 0x20) return wrong(w, "a control character (or a line break) in a text");
        w->at++;
        if (c == '"') return true;
        if (c == '\\' && !walk_escape(w)) return false;
    }
}

static bool walk_value(walk *w);

/* The inside of an object or array up to its closing bracket. */
static bool walk_members(walk *w, bool object)
{
    int close = object ? '}' : ']';
    w->at++;
    skip_blank(w);
    if (next_byte(w) == close) {
        w->at++;
        return true;
    }
    for (;;) {
        skip_blank(w);
        if (object) {
            if (!walk_string(w)) return false;
            skip_blank(w);
            if (next_byte(w) != ':') return wrong(w, "a colon is due here");
            w->at++;
        }
        if (!walk_value(w)) return false;
        skip_blank(w);
        int c = next_byte(w);
        if (c != ',' && c != close) {
            return wrong(w, object ? "a comma or } is due here" : "a comma or ] is due here");
        }
        w->at++;
        if (c == close) return true;
    }
}

static bool walk_word(walk *w, const char *word)
{
    size_t n = strlen(word);
    if (w->length - w->at < n || memcmp(w->text + w->at, word, n) != 0) {
        return wrong(w, "a value is due here (text in double quotes)");
    }
    w->at += n;
    return true;
}

static bool walk_value(walk *w)
{
    bool good;
    if (++w->depth > PAPPUS_JSON_DEPTH) return wrong(w, "nested too deep");
    skip_blank(w);
    int c = next_byte(w);
    switch (c) {
    case '{':
    case '[':
        good = walk_members(w, c == '{');
        break;
    case '"':
        good = walk_string(w);
        break;
    case 't':
        good = walk_word(w, "true");
        break;
    case 'f':
        good = walk_word(w, "false");
        break;
    case 'n':
        good = walk_word(w, "null");
        break;
    default:
        good = c == '-' || (c >= '0' && c <= '9')
                   ? walk_number(w)
                   : wrong(w, c < 0 ? "the text ends too early" : "a value is due here");
    }
    w->depth--;
    return good;
}

static bool walk_text(walk *w)
{
    size_t bad;
    if (w->length >= 3 && memcmp(w->text, "\xEF\xBB\xBF", 3) == 0) {
        return wrong(w, "a byte order mark; save the file as UTF-8 without it");
    }
    if (!pappus_utf8_is_valid(w->text, w->length, &bad)) {
        w->at = bad;
        return wrong(w, "not valid UTF-8");
    }
    if (!walk_value(w)) return false;
    skip_blank(w);
    return w->at == w->length || wrong(w, "text after the end");
}

static int syntax_fault(const walk *w, const char *file, int status, pappus_log *log)
{
    char place[64];
    size_t line = 1, start = 0, column = 1;
    for (size_t i = 0; i < w->at && i < w->length; i++) {
        if (w->text[i] == '\n') {
            line++;
            start = i + 1;
        }
    }
    for (size_t i = start; i < w->at && i < w->length; i++) {
        column += ((unsigned char)w->text[i] & 0xC0) != 0x80;
    }
    snprintf(place, sizeof place, "line %zu, column %zu", line, column);
    return pappus_log_add(log, PAPPUS_FAULT, status, file, place, NULL,
                          "not valid JSON: %s; accepted is JSON in UTF-8", w->what);
}

/* -------------------------------------------------------------------- tree */

typedef struct {
    const char *file;
    int status;
    int result;
    pappus_log *log;
} tree_check;

static int memory_fault(const char *file, pappus_log *log)
{
    return pappus_log_add(log, PAPPUS_FAULT, PAPPUS_E_MEMORY, file, NULL, NULL, "out of memory");
}

/* A name as a message can show it. */
static const char *shown_name(const cJSON *member)
{
    return pappus_text_is_clean(member->string) ? member->string : "(a name of control characters)";
}

static int compare_names(const void *a, const void *b)
{
    return strcmp((*(const cJSON *const *)a)->string, (*(const cJSON *const *)b)->string);
}

/* Sorts the members by name, so that a file of many costs no square of time. */
static void check_names(tree_check *check, const cJSON *object, const char *path)
{
    size_t count = (size_t)cJSON_GetArraySize(object), n = 0;
    const cJSON **members = malloc((count + 1) * sizeof *members), *member;
    if (!members) {
        if (check->result != PAPPUS_E_MEMORY) check->result = memory_fault(check->file, check->log);
        return;
    }
    cJSON_ArrayForEach(member, object) members[n++] = member;
    qsort(members, n, sizeof *members, compare_names);
    for (size_t i = 1; i < n; i++) {
        if (strcmp(members[i]->string, members[i - 1]->string) != 0) continue;
        if (i > 1 && strcmp(members[i]->string, members[i - 2]->string) == 0) continue;
        char key[160];
        snprintf(key, sizeof key, "%s%s%s", path, path[0] ? "." : "", shown_name(members[i]));
        check->result = pappus_log_add(check->log, PAPPUS_FAULT, check->status, check->file, key,
                                       NULL, "the key is given twice; accepted is once");
    }
    free(members);
}

static void check_tree(tree_check *check, const cJSON *value, const char *path)
{
    const cJSON *child;
    size_t index = 0;
    if (cJSON_IsNumber(value) && !isfinite(value->valuedouble)) {
        check->result = pappus_log_add(check->log, PAPPUS_FAULT, check->status, check->file, path,
                                       NULL, "a number too large; accepted is up to 1e308");
    }
    if (cJSON_IsObject(value)) check_names(check, value, path);
    cJSON_ArrayForEach(child, value)
    {
        char key[160];
        if (cJSON_IsObject(value)) {
            snprintf(key, sizeof key, "%s%s%s", path, path[0] ? "." : "", shown_name(child));
        } else {
            snprintf(key, sizeof key, "%s[%zu]", path, index++);
        }
        check_tree(check, child, key);
    }
}

/* cJSON reads numbers by the locale's decimal point. */
static cJSON *parse_in_c_locale(const char *text, size_t length)
{
    pappus_locale locale;
    if (!pappus_locale_enter(&locale)) return NULL;
    cJSON *tree = cJSON_ParseWithLengthOpts(text, length, NULL, false);
    pappus_locale_leave(&locale);
    return tree;
}

int pappus_json_parse_keep(cJSON **out, const char *text, size_t length, const char *file,
                           int status, pappus_log *log)
{
    walk w = {text, length, 0, 0, NULL};
    *out = NULL;
    if (!walk_text(&w)) return syntax_fault(&w, file, status, log);
    cJSON *tree = parse_in_c_locale(text, length);
    if (!tree) return memory_fault(file, log); /* the grammar is right */
    tree_check check = {file, status, PAPPUS_OK, log};
    check_tree(&check, tree, "");
    *out = tree;
    return check.result;
}

int pappus_json_parse(cJSON **out, const char *text, size_t length, const char *file, int status,
                      pappus_log *log)
{
    int result = pappus_json_parse_keep(out, text, length, file, status, log);
    if (result) {
        cJSON_Delete(*out);
        *out = NULL;
    }
    return result;
}

/* ------------------------------------------------------------------- merge */

static int merge_member(cJSON *target, const cJSON *patch, pappus_error *err)
{
    cJSON *old = cJSON_DetachItemFromObjectCaseSensitive(target, patch->string);
    if (cJSON_IsNull(patch)) {
        cJSON_Delete(old);
        return PAPPUS_OK;
    }
    int code = pappus_json_merge(&old, patch, err);
    if (code == PAPPUS_OK && !cJSON_AddItemToObject(target, patch->string, old)) {
        code = pappus_fail_memory(err);
    }
    if (code != PAPPUS_OK) cJSON_Delete(old);
    return code;
}

int pappus_json_merge(cJSON **target, const cJSON *patch, pappus_error *err)
{
    const cJSON *member;
    if (cJSON_IsObject(patch) && *target && cJSON_IsObject(*target)) {
        cJSON_ArrayForEach(member, patch)
        {
            int code = merge_member(*target, member, err);
            if (code != PAPPUS_OK) return code;
        }
        return PAPPUS_OK;
    }
    cJSON *fresh = cJSON_IsObject(patch) ? cJSON_CreateObject() : cJSON_Duplicate(patch, true);
    if (!fresh) return pappus_fail_memory(err);
    /* An object is laid over nothing member by member: that drops its nulls. */
    int code = cJSON_IsObject(patch) ? pappus_json_merge(&fresh, patch, err) : PAPPUS_OK;
    if (code != PAPPUS_OK) {
        cJSON_Delete(fresh);
        return code;
    }
    cJSON_Delete(*target);
    *target = fresh;
    return PAPPUS_OK;
}

/* ------------------------------------------------------------------- print */

#define LINE_WIDTH 96

static bool print_node(FILE *file, const cJSON *value, int indent, size_t before, bool one_line);

/* cJSON prints 15 digits; a whole number keeps all of them. */
static bool is_whole(const cJSON *value)
{
    return cJSON_IsNumber(value) && fabs(value->valuedouble) < 1e17 &&
           value->valuedouble == floor(value->valuedouble);
}

static bool print_scalar(FILE *file, const cJSON *value)
{
    if (is_whole(value)) return fprintf(file, "%.0f", value->valuedouble) > 0;
    char *text = cJSON_PrintUnformatted(value);
    bool good = text && fputs(text, file) >= 0;
    cJSON_free(text);
    return good;
}

static bool print_name(FILE *file, const char *name)
{
    cJSON *text = cJSON_CreateString(name);
    bool good = text && print_scalar(file, text) && fputs(": ", file) >= 0;
    cJSON_Delete(text);
    return good;
}

static bool print_break(FILE *file, int indent, bool one_line, bool first, bool last)
{
    if (one_line) return first || last || fputc(' ', file) != EOF;
    return fprintf(file, "\n%*s", indent, "") > 0;
}

static bool print_members(FILE *file, const cJSON *value, int indent, bool one_line)
{
    const cJSON *member;
    bool object = cJSON_IsObject(value), good = fputc(object ? '{' : '[', file) != EOF;
    cJSON_ArrayForEach(member, value)
    {
        size_t name = object ? strlen(member->string) + 4 : 0;
        good = good && print_break(file, indent + 2, one_line, member == value->child, false) &&
               (!object || print_name(file, member->string)) &&
               print_node(file, member, indent + 2, name, one_line) &&
               (!member->next || fputc(',', file) != EOF);
    }
    return good && print_break(file, indent, one_line, false, true) &&
           fputc(object ? '}' : ']', file) != EOF;
}

/* Adds the bytes of the value in one line, a blank after each comma and colon; false when
 * memory is short. */
static bool add_width(size_t *width, const cJSON *value)
{
    const cJSON *member;
    bool good = true;
    if (!cJSON_IsObject(value) && !cJSON_IsArray(value)) {
        char *text = cJSON_PrintUnformatted(value);
        *width += text ? strlen(text) : 0;
        cJSON_free(text);
        return text != NULL;
    }
    *width += 2;
    cJSON_ArrayForEach(member, value)
    {
        *width += 2 + (cJSON_IsObject(value) ? strlen(member->string) + 4 : 0);
        good = good && add_width(width, member);
    }
    return good;
}

static bool print_node(FILE *file, const cJSON *value, int indent, size_t before, bool one_line)
{
    if (!cJSON_IsObject(value) && !cJSON_IsArray(value)) return print_scalar(file, value);
    size_t width = (size_t)indent + before;
    if (!one_line && !add_width(&width, value)) return false;
    return print_members(file, value, indent, one_line || !value->child || width <= LINE_WIDTH);
}

int pappus_json_print(char **out, const cJSON *value, pappus_error *err)
{
    pappus_text text;
    pappus_locale locale;
    *out = NULL;
    if (!pappus_locale_enter(&locale)) return pappus_fail_memory(err);
    int status = pappus_text_begin(&text, err);
    if (status == PAPPUS_OK) {
        bool good = print_node(text.stream, value, 0, 0, false);
        status = pappus_text_finish(&text, err);
        if (status == PAPPUS_OK && !good) status = pappus_fail_memory(err);
        if (status == PAPPUS_OK) *out = text.bytes;
        if (status != PAPPUS_OK) free(text.bytes);
    }
    pappus_locale_leave(&locale);
    return status;
}

void pappus_json_text(char *out, size_t size, const cJSON *value)
{
    if (cJSON_IsString(value)) {
        pappus_text_cut(out, size, value->valuestring);
        return;
    }
    if (is_whole(value)) {
        snprintf(out, size, "%.0f", value->valuedouble);
        return;
    }
    char *text = cJSON_PrintUnformatted(value);
    pappus_text_cut(out, size, text ? text : "");
    cJSON_free(text);
}
