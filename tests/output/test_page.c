/* SPDX-License-Identifier: GPL-3.0-or-later
 * The filler of pages. What escaping must do is in the HTML Living Standard, 13.1.2.3
 * (attributes) and 13.1.3 (text); what text cannot hold in XML 1.0, 2.2. (M) */
#include "page_value.h"

#include <stdlib.h>
#include <string.h>

#include "both.h"
#include "card_sheet.h"
#include "descent/real_air.h"
#include "report_view.h"
#include "sample_answer.h"
#include "summary.h"
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
    /* Magnetic is true less an east declination. */
    static const char *const forms[][2] = {
        {"m both height", "213\xC2\xA0m (700\xC2\xA0"
                          "ft)"},
        {"m own height", "213\xC2\xA0m"},
        {"m fixed0", "213"},
        {"m fixed1", "213.4"},
        {"c of100", "25"},
        {"c chance", "25.4\xC2\xA0%"},
        {"b compass", "N"},
        {"b opposite", "S"},
        {"b bearing", "350 deg true (336 magnetic)"},
    };
    check_filled("{{#a}}{{m both height}}|{{m own height}}|{{n chance}}{{/a}}",
                 "{\"a\":{\"m\":null,\"n\":null}}",
                 "not\xC2\xA0known|not\xC2\xA0known|not\xC2\xA0known");
    json_builder build = {false};
    cJSON *tree = cJSON_CreateObject();
    json_add_number(&build, tree, "m", 213.36); /* 700 ft of 0.3048 m */
    json_add_number(&build, tree, "b", 350);
    json_add_number(&build, tree, "c", 0.254);
    for (size_t i = 0; i < sizeof forms / sizeof forms[0]; i++) {
        char *out, placeholder[64];
        size_t size;
        page_reader reader = {.units = PAPPUS_UNITS_SI, .declination_deg = 14};
        snprintf(placeholder, sizeof placeholder, "{{%s}}", forms[i][0]);
        ck_assert_int_eq(
            page_fill(&out, &size, "t", placeholder, tree, page_value, &reader, &error), PAPPUS_OK);
        ck_assert_str_eq(out, forms[i][1]);
        free(out);
    }
    cJSON_Delete(tree);
}
END_TEST

START_TEST(long_text_is_cut)
{
    char text[400], json[450];
    for (size_t length = 299; length <= 300; length++) {
        memset(text, 'x', length);
        text[length] = '\0';
        snprintf(json, sizeof json, "{\"a\":\"%s\"}", text);
        if (length == 300) strcpy(text + 299, "\xE2\x80\xA6");
        check_filled("{{a cut}}", json, text);
    }
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
    check_fault("{{{name}}}", "{\"name\":\"<b>\"}", "name", "only a drawing");
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
static void check_keys(const char *name, const cJSON *tree, const cJSON *unused)
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
        ck_assert_msg(cJSON_GetObjectItemCaseSensitive(asked, key->string) ||
                          cJSON_GetObjectItemCaseSensitive(unused, key->string),
                      "%s: %s is on no page", name, key->string);
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
    check_keys("card.html", tree, NULL);
    const cJSON *section, *part, *row, *cell;
    cJSON_ArrayForEach(section, cJSON_GetObjectItem(tree, "sections"))
        cJSON_ArrayForEach(part, cJSON_GetObjectItem(section, "parts"))
            cJSON_ArrayForEach(row, cJSON_GetObjectItem(part, "rows"))
    {
        /* A cell has its column's heading; the row's name has the first. */
        const cJSON *heading = cJSON_GetObjectItem(part, "headings")->child->next;
        cJSON_ArrayForEach(cell, cJSON_GetObjectItem(row, "cells"))
        {
            ck_assert_str_eq(cJSON_GetObjectItem(cell, "label")->valuestring, heading->valuestring);
            heading = heading->next;
        }
        ck_assert_ptr_null(heading);
    }
    cJSON_Delete(tree);
}
END_TEST

/* The sample answer in a real air, with its wind's file. */
static cJSON *report_tree(sample_answer *sample, pappus_air *air, pappus_winds *winds)
{
    static const pappus_write_options options = {0};
    pappus_answer answer = sample->answer;
    answer.air = air;
    if (winds) answer.winds = winds;
    pappus_output output = {&answer, "", &options, NULL, false};
    cJSON *tree;
    ck_assert_int_eq(report_view(&tree, &output, &error), PAPPUS_OK);
    return tree;
}

static char *report_page(const cJSON *tree)
{
    page_reader reader = {PAPPUS_UNITS_US, 14.2};
    char *page;
    size_t size;
    ck_assert_msg(page_make(&page, &size, "flight_line.html", tree, &reader, &error) == PAPPUS_OK,
                  "%s: %s", error.key, error.message);
    free(page);
    ck_assert_msg(page_make(&page, &size, "report.html", tree, &reader, &error) == PAPPUS_OK,
                  "%s: %s", error.key, error.message);
    return page;
}

START_TEST(the_report_shows_its_tree)
{
    static flight_setup setup;
    sample_answer *sample = sample_answer_make(700, "Evening flight");
    flight_setup_set(&setup);
    flight_setup_build(&setup);
    setup.profile.path = (char *)"winds/aloft.csv";
    setup.profile.format = "layer table";
    cJSON *tree = report_tree(sample, setup.air, &setup.winds);
    json_builder build = {false};
    pappus_answer blown = sample->answer;
    blown.winds = &setup.winds;
    cJSON *summary = pappus_summary_tree(&build, &blown);
    cJSON *unused = cJSON_CreateObject(); /* what of summary.json is for programs only */
    keys_of_tree(unused, summary);
    note(unused, "leads"); /* of which the page shows the first */
    check_keys("report.html", tree, unused);
    cJSON_Delete(unused);
    cJSON_Delete(summary);
    free(report_page(tree));
    /* Surface winds are measured at 10 m (WMO-No. 8). (M) */
    const cJSON *wind = cJSON_GetObjectItem(tree, "wind");
    const cJSON *lowest = cJSON_GetObjectItem(wind, "rows")->child;
    ck_assert_str_eq(cJSON_GetObjectItem(lowest, "height_m")->valuestring, "10");
    ck_assert_str_eq(cJSON_GetObjectItem(lowest, "speed_mps")->valuestring, "5"); /* 3, 4 */
    cJSON_Delete(tree);
    pappus_air_free(setup.air);
    sample_answer_clear(sample);
}
END_TEST

/* The first screen has room for three reasons, two posts and three altimeters. */
static void check_first(const cJSON *tree, const char *first, const char *all, int most)
{
    int count = cJSON_GetArraySize(cJSON_GetObjectItem(tree, all));
    ck_assert_int_gt(count, 0);
    ck_assert_int_eq(cJSON_GetArraySize(cJSON_GetObjectItem(tree, first)),
                     count < most ? count : most);
}

START_TEST(the_first_screen_shows_the_first)
{
    sample_answer *sample = sample_answer_make(700, "Evening flight");
    sample->answer.sensitivity->drivers[0].share = 1.2; /* an estimate may be beyond 1 */
    sample->answer.sensitivity->drivers[1].share = -0.1;
    cJSON *tree = report_tree(sample, NULL, NULL);
    check_first(tree, "first_leads", "leads", 3);
    check_first(tree, "first_posts", "posts", 2);
    check_first(tree, "first_altimeters", "altimeters", 3);
    const pappus_post *post = &sample->answer.crews->posts[1];
    const cJSON *shown = cJSON_GetArrayItem(cJSON_GetObjectItem(tree, "posts"), 1);
    ck_assert_double_eq_tol(
        strtod(cJSON_GetObjectItem(shown, "served_m")->valuestring, NULL),
        hypot(post->served_east_m - post->east_m, post->served_north_m - post->north_m), 1e-6);
    char *page = report_page(tree);
    ck_assert_ptr_nonnull(strstr(page, "<span>120 % ("));
    ck_assert_ptr_nonnull(strstr(page, "style=\"width:100%\""));
    ck_assert_ptr_nonnull(strstr(page, "style=\"width:0%\""));
    free(page);
    cJSON_Delete(tree);
    sample_answer_clear(sample);
}
END_TEST

START_TEST(no_element_is_closed_short_but_void_ones)
{
    /* HTML Living Standard, 13.1.2: void elements; those of SVG may be short too. (M) */
    static const char *const may[] = {"meta ",   "input ",    "img ",     "path ",
                                      "g ",      "polyline ", "line ",    "rect ",
                                      "circle ", "text ",     "ellipse ", "polygon "};
    for (int bare = 0; bare < 2; bare++) {
        sample_answer *sample = sample_answer_make(700, "</style></script><!-- & \" '");
        if (bare) sample_answer_bare(sample);
        cJSON *tree = report_tree(sample, NULL, NULL);
        char *text = report_page(tree);
        ck_assert_int_eq(strncmp(text, "<!DOCTYPE html>\n<html lang=\"en\">", 32), 0);
        ck_assert_ptr_null(strstr(text, "{{"));
        for (const char *at = text; (at = strstr(at, "/>")) != NULL; at += 2) {
            const char *open = at;
            bool allowed = false;
            while (*open != '<')
                open--;
            for (size_t i = 0; i < sizeof may / sizeof may[0]; i++)
                allowed |= strncmp(open + 1, may[i], strlen(may[i])) == 0;
            ck_assert_msg(allowed, "%.40s", open);
        }
        free(text);
        cJSON_Delete(tree);
        sample_answer_clear(sample);
    }
}
END_TEST

START_TEST(both_units_are_shown)
{
    char out[PAPPUS_BOTH_SIZE];
    /* No-break spaces within a quantity; 213.36 m is 700 ft exactly. */
    ck_assert_str_eq(pappus_format_both(out, PAPPUS_SHOW_HEIGHT, 213.36, PAPPUS_UNITS_US),
                     "700\xC2\xA0"
                     "ft (213\xC2\xA0m)");
    ck_assert_str_eq(pappus_format_both(out, PAPPUS_SHOW_HEIGHT, 213.36, PAPPUS_UNITS_SI),
                     "213\xC2\xA0m (700\xC2\xA0"
                     "ft)");
    ck_assert_str_eq(pappus_format_both(out, PAPPUS_SHOW_LOAD, 4, PAPPUS_UNITS_US), "4.0\xC2\xA0g");
    ck_assert_str_eq(pappus_format_both(out, PAPPUS_SHOW_HEIGHT, NAN, PAPPUS_UNITS_US),
                     "not\xC2\xA0known");
}
END_TEST

START_TEST(files_are_embedded)
{
    static const char *const names[] = {"card.html", "report.html", "flight_line.html", "page.css",
                                        "slider.js"};
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
    tcase_add_test(tests, long_text_is_cut);
    tcase_add_test(tests, faults_name_their_placeholder);
    tcase_add_test(tests, the_card_shows_its_tree);
    tcase_add_test(tests, the_report_shows_its_tree);
    tcase_add_test(tests, the_first_screen_shows_the_first);
    tcase_add_test(tests, no_element_is_closed_short_but_void_ones);
    tcase_add_test(tests, both_units_are_shown);
    tcase_add_test(tests, files_are_embedded);
}
