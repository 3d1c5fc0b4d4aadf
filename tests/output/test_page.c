/* SPDX-License-Identifier: GPL-3.0-or-later
 * The filler of pages. What escaping must do is in the HTML Living Standard, 13.1.2.3
 * (attributes) and 13.1.3 (text); what text cannot hold in XML 1.0, 2.2. (M) */
#include "page_value.h"

#include <stdlib.h>
#include <string.h>

#include "card_sheet.h"
#include "suite.h"

static pappus_error error;

static char *filled(const char *text, const char *json)
{
    static const page_reader reader = {.units = PAPPUS_UNITS_US, .declination_deg = NAN};
    char *out;
    size_t size;
    cJSON *tree = cJSON_Parse(json);
    ck_assert_ptr_nonnull(tree);
    error = (pappus_error){0};
    int status = page_fill(&out, &size, "t.html", text, tree, page_value, &reader, &error);
    cJSON_Delete(tree);
    ck_assert((status == PAPPUS_OK) == (out != NULL));
    if (out) ck_assert_uint_eq(strlen(out), size);
    return out;
}

static void check_filled(const char *text, const char *json, const char *expected)
{
    char *out = filled(text, json);
    ck_assert_msg(out, "%s: %s %s", text, error.key, error.message);
    ck_assert_str_eq(out, expected);
    free(out);
}

static void check_fault(const char *text, const char *json, const char *key, const char *message)
{
    char *out = filled(text, json);
    ck_assert_msg(!out, "%s is taken", text);
    ck_assert_int_eq(error.code, PAPPUS_E_OUTPUT);
    ck_assert_str_eq(error.file, "t.html");
    ck_assert_str_eq(error.key, key);
    ck_assert_msg(strstr(error.message, message), "%s", error.message);
}

START_TEST(text_is_escaped)
{
    check_filled("<p title=\"{{a}}\">{{a}}</p>", "{\"a\":\"<b> & \\\"q\\\" 'r'\"}",
                 "<p title=\"&lt;b&gt; &amp; &quot;q&quot; &#39;r&#39;\">"
                 "&lt;b&gt; &amp; &quot;q&quot; &#39;r&#39;</p>");
    check_filled("<script>{{a}}</script>", "{\"a\":\"</script><script>alert(1)\"}",
                 "<script>&lt;/script&gt;&lt;script&gt;alert(1)</script>");
    check_filled("{{a}}", "{\"a\":\"x\\u0001\\u001b[31m\\ry\\tz\\n\"}",
                 "x\xEF\xBF\xBD\xEF\xBF\xBD[31m&#13;y\tz\n");
    check_filled("{{a}}", "{\"a\":\"{{b}} {{{c}}} {{/d}}\"}", "{{b}} {{{c}}} {{/d}}");
    /* Direction marks stay: the element is isolated by dir="auto". */
    check_filled("<i dir=\"auto\">{{a cut}}</i>", "{\"a\":\"a\\u202eb\\u2067\"}",
                 "<i dir=\"auto\">a\xE2\x80\xAE"
                 "b\xE2\x81\xA7</i>");
}
END_TEST

START_TEST(sections_follow_the_tree)
{
    check_filled("{{#a}}[{{b}}{{c}}]{{/a}}", "{\"c\":\"!\",\"a\":[{\"b\":\"1\"},{\"b\":\"2\"}]}",
                 "[1!][2!]");
    check_filled("{{#a}}{{.}},{{/a}}", "{\"a\":[\"x\",\"y\"]}", "x,y,");
    check_filled("{{#a}}{{b}}{{/a}}", "{\"b\":\"out\",\"a\":{\"b\":\"in\"}}", "in");
    check_filled("{{#a}}{{#b}}1{{/b}}{{^b}}2{{/b}}{{/a}}", "{\"a\":[{\"b\":true},{\"b\":false}]}",
                 "12");
    const char *const nothing[] = {"null", "false", "\"\"", "[]"};
    for (size_t i = 0; i < 4; i++) {
        char json[32];
        snprintf(json, sizeof json, "{\"a\":%s}", nothing[i]);
        check_filled("{{#a}}{{lost}}{{/a}}{{^a}}none{{/a}}", json, "none");
    }
    check_filled("{{#a=go}}1{{/a=go}}{{#a=no-go}}2{{/a=no-go}}", "{\"a\":\"no-go\"}", "2");
    check_filled("{{^a=go}}1{{/a=go}}", "{\"a\":null}", "1");
    /* A tag alone on its line takes the line with it. */
    check_filled("a\n  {{#b}}\nb\n  {{/b}}\n{{! remark {{ }}\nc {{#b}}d{{/b}}\ne", "{\"b\":true}",
                 "a\nb\nc d\ne");
}
END_TEST

START_TEST(values_have_forms)
{
    check_filled("{{#a}}{{m both height}}|{{m own height}}|{{n chance}}{{/a}}",
                 "{\"a\":{\"m\":null,\"n\":null}}",
                 "not\xC2\xA0known|not\xC2\xA0known|not\xC2\xA0known");
    json_builder build = {false};
    cJSON *tree = cJSON_CreateObject();
    json_add_number(&build, tree, "m", 213.36); /* 700 ft of 0.3048 m */
    json_add_number(&build, tree, "b", 350);
    char *json = cJSON_Print(tree), *out;
    size_t size;
    page_reader reader = {.units = PAPPUS_UNITS_SI, .declination_deg = NAN};
    ck_assert_int_eq(page_fill(&out, &size, "t", "{{m both height}}, {{b compass}}-{{b opposite}}",
                               tree, page_value, &reader, &error),
                     PAPPUS_OK);
    ck_assert_str_eq(out, "213\xC2\xA0m (700\xC2\xA0"
                          "ft), N-S");
    free(out);
    free(json);
    cJSON_Delete(tree);
}
END_TEST

START_TEST(faults_name_their_placeholder)
{
    check_fault("{{lost}}", "{}", "lost", "no such value");
    check_fault("{{#lost}}x{{/lost}}", "{}", "lost", "no such value");
    check_fault("{{a}}", "{\"a\":null}", "a", "no text");
    check_fault("{{a}}", "{\"a\":[1]}", "a", "no text");
    check_fault("{{a wide}}", "{\"a\":null}", "a", "no such form");
    check_fault("{{a both furlong}}", "{\"a\":null}", "a", "no such form");
    check_fault("{{a cut}}", "{\"a\":null}", "a", "no such form");
    check_fault("{{#a}}x", "{\"a\":true}", "a", "not closed");
    check_fault("{{#a}}x{{/b}}", "{\"a\":true}", "b", "closes another");
    check_fault("x{{/b}}", "{}", "b", "closes another");
    check_fault("x{{b", "{}", "", "not closed");
    check_fault("{{{a}}}", "{\"a\":\"<b>\"}", "a", "only a drawing");
    check_fault("{{>lost.html}}", "{}", "lost.html", "no such file");
    check_filled("{{{a_svg}}}", "{\"a_svg\":\"<svg/>\"}", "<svg/>");
}
END_TEST

/* ---------------------------------------------------- pages and their trees */

/* Adds to a list of words, once. */
static void note(cJSON *list, const char *word)
{
    if (!cJSON_GetObjectItemCaseSensitive(list, word)) cJSON_AddTrueToObject(list, word);
}

/* Every key that a page and the pages in it ask for. */
static void keys_of_page(cJSON *keys, const char *name)
{
    const char *at = page_file_text(name);
    ck_assert_ptr_nonnull(at);
    while ((at = strstr(at, "{{"))) {
        char word[64];
        at += strspn(at, "{");
        char kind = *at;
        if (strchr("#^/>!", kind)) at++;
        snprintf(word, sizeof word, "%.*s", (int)strcspn(at, kind == '>' ? "}" : " =}"), at);
        if (kind == '>' && strstr(word, ".html")) keys_of_page(keys, word);
        if (!strchr(">!", kind) && strcmp(word, ".") != 0) note(keys, word);
    }
}

static void keys_of_tree(cJSON *keys, const cJSON *tree)
{
    const cJSON *item;
    cJSON_ArrayForEach(item, tree)
    {
        if (item->string) note(keys, item->string);
        keys_of_tree(keys, item);
    }
}

/* What a page asks for is in its tree, and what is in the tree is on the page. */
static void check_keys(const char *name, const cJSON *tree, const char *unused)
{
    cJSON *asked = cJSON_CreateObject(), *given = cJSON_CreateObject();
    const cJSON *key;
    keys_of_page(asked, name);
    keys_of_tree(given, tree);
    ck_assert_ptr_nonnull(asked->child);
    cJSON_ArrayForEach(key, asked)
        ck_assert_msg(cJSON_GetObjectItemCaseSensitive(given, key->string), "%s: %s is not given",
                      name, key->string);
    cJSON_ArrayForEach(key, given)
    {
        char word[80];
        snprintf(word, sizeof word, " %s ", key->string);
        ck_assert_msg(cJSON_GetObjectItemCaseSensitive(asked, key->string) || strstr(unused, word),
                      "%s: %s is on no page", name, key->string);
    }
    cJSON_Delete(asked);
    cJSON_Delete(given);
}

static cJSON *card_tree(const char *plan_path)
{
    pappus_plan_options options = PAPPUS_PLAN_OPTIONS_INIT;
    pappus_plan *plan;
    pappus_card *card;
    pappus_log log = {0};
    json_builder build = {false};
    options.needs_wind = false;
    ck_assert_int_eq(pappus_plan_read(&plan, plan_path, &options, &log), PAPPUS_OK);
    ck_assert_int_eq(pappus_card_build(&card, plan, &log), PAPPUS_OK);
    cJSON *tree = card_sheet(&build, card, PAPPUS_UNITS_US, true);
    ck_assert(!build.failed);
    pappus_card_free(card);
    pappus_plan_free(plan);
    pappus_log_clear(&log);
    return tree;
}

START_TEST(the_card_shows_its_tree)
{
    cJSON *tree = card_tree(SOURCE_DIR "/examples/go_day.json");
    check_keys("card.html", tree, "");
    cJSON_Delete(tree);
}
END_TEST

START_TEST(files_are_embedded)
{
    static const char *const names[] = {"card.html", "head.html", "page.css", "slider.js"};
    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++) {
        char path[512], *bytes;
        snprintf(path, sizeof path, "%s/src/output/page/%s", SOURCE_DIR, names[i]);
        FILE *file = fopen(path, "rb");
        ck_assert_ptr_nonnull(file);
        bytes = calloc(1, 1 << 17);
        ck_assert_uint_gt(fread(bytes, 1, (1 << 17) - 1, file), 100);
        fclose(file);
        ck_assert_str_eq(page_file_text(names[i]), bytes);
        free(bytes);
    }
    ck_assert_ptr_null(page_file_text("lost.html"));
}
END_TEST

SUITE("page")
{
    tcase_add_test(tests, text_is_escaped);
    tcase_add_test(tests, sections_follow_the_tree);
    tcase_add_test(tests, values_have_forms);
    tcase_add_test(tests, faults_name_their_placeholder);
    tcase_add_test(tests, the_card_shows_its_tree);
    tcase_add_test(tests, files_are_embedded);
}
