/* SPDX-License-Identifier: GPL-3.0-or-later
 * Strict JSON: grammar of RFC 8259, UTF-8 of RFC 3629, merge patches by the
 * examples of RFC 7396 appendix A (C). */
#include "german_locale.h"
#include "file.h"
#include "json.h"
#include "suite.h"
#include "test_folder.h"
#include "utf8.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

static int parse(cJSON **out, const char *text, size_t length, pappus_log *log)
{
    *log = (pappus_log){0};
    return pappus_json_parse(out, text, length, "t.json", PAPPUS_E_PLAN, log);
}

/* Text, place and part of the message. */
static const struct {
    const char *text, *key, *part;
} broken[] = {
    {"", "line 1, column 1", "ends too early"},
    {"   \n ", "line 2, column 2", "ends too early"},
    {"{", "line 1, column 2", "double quotes"},
    {"{\"a\" 1}", "line 1, column 6", "colon"},
    {"{\"a\": 1,}", "line 1, column 9", "double quotes"},
    {"{\"a\": 1 \"b\": 2}", "line 1, column 9", "comma or }"},
    {"{'a': 1}", "line 1, column 2", "double quotes"},
    {"[1 2]", "line 1, column 4", "comma or ]"},
    {"[1,]", "line 1, column 4", "value is due"},
    {"{\n  \"a\": 01\n}", "line 2, column 9", "zero before"},
    {"[-]", "line 1, column 3", "digit"},
    {"[+1]", "line 1, column 2", "value is due"},
    {"[1.]", "line 1, column 4", "digit"},
    {"[.5]", "line 1, column 2", "value is due"},
    {"[1e]", "line 1, column 4", "digit"},
    {"[NaN]", "line 1, column 2", "value is due"},
    {"[nul]", "line 1, column 2", "value is due"},
    {"[True]", "line 1, column 2", "value is due"},
    {"[0x10]", "line 1, column 3", "comma or ]"},
    {"// c\n{}", "line 1, column 1", "value is due"},
    {"{} {}", "line 1, column 4", "after the end"},
    {"\"a", "line 1, column 3", "closing quote"},
    {"\"a\nb\"", "line 1, column 3", "control character"},
    {"\"a\tb\"", "line 1, column 3", "control character"},
    {"\"\\x\"", "line 1, column 3", "escape"},
    {"\"\\u12g4\"", "line 1, column 6", "hexadecimal"},
    {"\"a\\u0000b\"", "line 1, column 9", "\\u0000"},
    {"\"\\ud800\"", "line 1, column 8", "surrogate"},
    {"\"\\udc00\"", "line 1, column 8", "surrogate"},
    {"\"\\ud800\\u0041\"", "line 1, column 14", "surrogate"},
    {"\xEF\xBB\xBF{}", "line 1, column 1", "byte order mark"},
    {"\"\xFF\"", "line 1, column 2", "UTF-8"},
    {"\"\xC0\xAF\"", "line 1, column 2", "UTF-8"},
    {"\"\xED\xA0\x80\"", "line 1, column 2", "UTF-8"},
    {"\"\xF4\x90\x80\x80\"", "line 1, column 2", "UTF-8"},
    {"\"\xE2\x82\"", "line 1, column 2", "UTF-8"},
    /* A column counts characters, not bytes. */
    {"[\"\xC3\xA9\xC3\xA9\" x]", "line 1, column 7", "comma or ]"},
};

START_TEST(grammar)
{
    for (size_t i = 0; i < sizeof broken / sizeof *broken; i++) {
        cJSON *tree;
        pappus_log log;
        int status = parse(&tree, broken[i].text, strlen(broken[i].text), &log);
        ck_assert_msg(status == PAPPUS_E_PLAN && !tree, "row %zu taken: %s", i, broken[i].text);
        ck_assert_uint_eq(log.count, 1);
        ck_assert_msg(strcmp(log.entries[0].error.key, broken[i].key) == 0, "row %zu: %s, not %s",
                      i, log.entries[0].error.key, broken[i].key);
        ck_assert_msg(strstr(log.entries[0].error.message, broken[i].part) != NULL, "row %zu: %s",
                      i, log.entries[0].error.message);
        pappus_log_clear(&log);
    }
}
END_TEST

START_TEST(a_zero_byte_is_refused)
{
    cJSON *tree;
    pappus_log log;
    static const char text[] = "{\"a\": \"b\0c\"}";
    ck_assert_int_eq(parse(&tree, text, sizeof text - 1, &log), PAPPUS_E_PLAN);
    pappus_log_clear(&log);
}
END_TEST

START_TEST(what_is_right_is_taken)
{
    static const char *const good[] = {"{}",
                                       "[]",
                                       "null",
                                       " [1, -0, 1.5e-3, 1E+2] ",
                                       "\"\\u00e9\\ud83d\\ude00\\n\"",
                                       "{\"a\": {\"b\": [true, false, null]}}",
                                       "\"\xF0\x9F\x98\x80\""};
    for (size_t i = 0; i < sizeof good / sizeof *good; i++) {
        cJSON *tree;
        pappus_log log;
        ck_assert_msg(parse(&tree, good[i], strlen(good[i]), &log) == PAPPUS_OK, "%s", good[i]);
        cJSON_Delete(tree);
        pappus_log_clear(&log);
    }
}
END_TEST

START_TEST(names_given_twice)
{
    cJSON *tree;
    pappus_log log;
    static const char text[] =
        "{\"a\": 1, \"b\": {\"c\": [{}, {\"d\": 1, \"e\": 2, \"d\": 3}]}, \"a\": 2, \"a\": 3}";
    ck_assert_int_eq(parse(&tree, text, strlen(text), &log), PAPPUS_E_PLAN);
    ck_assert_uint_eq(log.count, 2); /* each name once, all of them */
    ck_assert_str_eq(log.entries[0].error.key, "a");
    ck_assert_str_eq(log.entries[1].error.key, "b.c[1].d");
    pappus_log_clear(&log);
    /* Names are told apart by case. */
    ck_assert_int_eq(parse(&tree, "{\"a\": 1, \"A\": 2}", 16, &log), PAPPUS_OK);
    cJSON_Delete(tree);
    pappus_log_clear(&log);
}
END_TEST

START_TEST(numbers_are_finite)
{
    cJSON *tree;
    pappus_log log;
    ck_assert_int_eq(parse(&tree, "{\"a\": [1e999]}", 14, &log), PAPPUS_E_PLAN);
    ck_assert_str_eq(log.entries[0].error.key, "a[0]");
    pappus_log_clear(&log);
}
END_TEST

START_TEST(depth_is_bounded)
{
    char text[4 * PAPPUS_JSON_DEPTH];
    for (int depth = PAPPUS_JSON_DEPTH; depth <= PAPPUS_JSON_DEPTH + 1; depth++) {
        cJSON *tree;
        pappus_log log;
        memset(text, '[', (size_t)depth);
        memset(text + depth, ']', (size_t)depth);
        int status = parse(&tree, text, 2 * (size_t)depth, &log);
        ck_assert_int_eq(status, depth > PAPPUS_JSON_DEPTH ? PAPPUS_E_PLAN : PAPPUS_OK);
        cJSON_Delete(tree);
        pappus_log_clear(&log);
    }
}
END_TEST

START_TEST(a_decimal_comma_changes_nothing)
{
    cJSON *tree;
    pappus_log log;
    char *text;
    if (!set_german_locale()) return;
    ck_assert_int_eq(parse(&tree, "[1.5]", 5, &log), PAPPUS_OK);
    ck_assert_double_eq(cJSON_GetArrayItem(tree, 0)->valuedouble, 1.5);
    ck_assert_int_eq(pappus_json_print(&text, tree, NULL), PAPPUS_OK);
    ck_assert_str_eq(text, "[1.5]");
    free(text);
    cJSON_Delete(tree);
    setlocale(LC_ALL, "C");
}
END_TEST

/* RFC 7396, appendix A: original, patch, result. */
static const char *const merges[][3] = {
    {"{\"a\":\"b\"}", "{\"a\":\"c\"}", "{\"a\":\"c\"}"},
    {"{\"a\":\"b\"}", "{\"b\":\"c\"}", "{\"a\":\"b\",\"b\":\"c\"}"},
    {"{\"a\":\"b\"}", "{\"a\":null}", "{}"},
    {"{\"a\":\"b\",\"b\":\"c\"}", "{\"a\":null}", "{\"b\":\"c\"}"},
    {"{\"a\":[\"b\"]}", "{\"a\":\"c\"}", "{\"a\":\"c\"}"},
    {"{\"a\":\"c\"}", "{\"a\":[\"b\"]}", "{\"a\":[\"b\"]}"},
    {"{\"a\":{\"b\":\"c\"}}", "{\"a\":{\"b\":\"d\",\"c\":null}}", "{\"a\":{\"b\":\"d\"}}"},
    {"{\"a\":[{\"b\":\"c\"}]}", "{\"a\":[1]}", "{\"a\":[1]}"},
    {"[\"a\",\"b\"]", "[\"c\",\"d\"]", "[\"c\",\"d\"]"},
    {"{\"a\":\"b\"}", "[\"c\"]", "[\"c\"]"},
    {"{\"a\":\"foo\"}", "null", "null"},
    {"{\"a\":\"foo\"}", "\"bar\"", "\"bar\""},
    {"{\"e\":null}", "{\"a\":1}", "{\"e\":null,\"a\":1}"},
    {"[1,2]", "{\"a\":\"b\",\"c\":null}", "{\"a\":\"b\"}"},
    {"{}", "{\"a\":{\"bb\":{\"ccc\":null}}}", "{\"a\":{\"bb\":{}}}"},
};

START_TEST(merge_patches)
{
    for (size_t i = 0; i < sizeof merges / sizeof *merges; i++) {
        cJSON *target = cJSON_Parse(merges[i][0]), *patch = cJSON_Parse(merges[i][1]);
        cJSON *result = cJSON_Parse(merges[i][2]);
        ck_assert_int_eq(pappus_json_merge(&target, patch, NULL), PAPPUS_OK);
        ck_assert_msg(cJSON_Compare(target, result, true), "row %zu: %s", i,
                      cJSON_PrintUnformatted(target));
        cJSON_Delete(target);
        cJSON_Delete(patch);
        cJSON_Delete(result);
    }
}
END_TEST

START_TEST(printed)
{
    char *text;
    cJSON *tree = cJSON_Parse("{\"a\": [1, 2, {\"b\": \"\\u00e9\\n\"}], \"c\": {}, \"d\": []}");
    ck_assert_int_eq(pappus_json_print(&text, tree, NULL), PAPPUS_OK);
    ck_assert_str_eq(text, "{\"a\": [1, 2, {\"b\": \"\u00e9\\n\"}], \"c\": {}, \"d\": []}");
    free(text);
    cJSON_AddStringToObject(tree, "long",
                            "1234567890123456789012345678901234567890123456789012345");
    ck_assert_int_eq(pappus_json_print(&text, tree, NULL), PAPPUS_OK);
    ck_assert_str_eq(text,
                     "{\n  \"a\": [1, 2, {\"b\": \"\u00e9\\n\"}],\n  \"c\": {},\n  \"d\": [],\n"
                     "  \"long\": \"1234567890123456789012345678901234567890123456789012345\"\n}");
    free(text);
    cJSON_Delete(tree);
}
END_TEST

START_TEST(clean_texts)
{
    ck_assert(pappus_text_is_clean("plain \u00e9 \u6f22 \U0001F600"));
    ck_assert(!pappus_text_is_clean("a\nb"));
    ck_assert(!pappus_text_is_clean("a\x7f"));
    ck_assert(!pappus_text_is_clean("a\xC2\x85"));
    ck_assert(!pappus_text_is_clean("a\u2028"));
    ck_assert(!pappus_text_is_clean("a\uFFFF"));
    ck_assert(pappus_text_is_clean("a\uFFFD"));
}
END_TEST

static void file_fault(const char *path, size_t limit, const char *part)
{
    char *text;
    size_t length;
    pappus_error error = {0};
    ck_assert_int_eq(pappus_file_read(&text, &length, path, limit, PAPPUS_E_PLAN, &error),
                     PAPPUS_E_PLAN);
    ck_assert_msg(strstr(error.message, part) != NULL, "%s: %s", path, error.message);
    ck_assert_str_eq(error.file, path);
}

START_TEST(files)
{
    char path[100], *text;
    size_t length;
    file_fault(test_folder, 100, "folder");
    snprintf(path, sizeof path, "%s/f", test_folder);
    file_fault(path, 100, "No such file");
    FILE *file = fopen(path, "w");
    fclose(file);
    file_fault(path, 100, "empty");
    file = fopen(path, "w");
    for (int i = 0; i < 70000; i++)
        fputc('x', file);
    fclose(file);
    file_fault(path, 69999, "larger");
    file_fault(path, 100, "larger");
    ck_assert_int_eq(pappus_file_read(&text, &length, path, 70000, PAPPUS_E_PLAN, NULL), PAPPUS_OK);
    ck_assert_uint_eq(length, 70000);
    ck_assert_uint_eq(strlen(text), 70000);
    free(text);
    if (geteuid() != 0) { /* root may read all */
        chmod(path, 0);
        file_fault(path, 100000, "Permission");
    }
}
END_TEST

SUITE("json")
{
    tcase_add_checked_fixture(tests, make_folder, remove_folder);
    tcase_add_test(tests, grammar);
    tcase_add_test(tests, a_zero_byte_is_refused);
    tcase_add_test(tests, what_is_right_is_taken);
    tcase_add_test(tests, names_given_twice);
    tcase_add_test(tests, numbers_are_finite);
    tcase_add_test(tests, depth_is_bounded);
    tcase_add_test(tests, a_decimal_comma_changes_nothing);
    tcase_add_test(tests, merge_patches);
    tcase_add_test(tests, printed);
    tcase_add_test(tests, clean_texts);
    tcase_add_test(tests, files);
}
