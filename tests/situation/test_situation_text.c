/* SPDX-License-Identifier: GPL-3.0-or-later
 * A situation as the text of one plan reads to the same situation, where plans under it lie in
 * other folders too; and a situation from another of its pads is what a fresh one from there is.
 * The yardstick is the reader itself, opened anew; all values are our own (A). */
#include <pappus/pappus.h>

#include "suite.h"
#include "test_folder.h"
#include "told.h"

#include <sys/stat.h>
#include <unistd.h>

#define COUNT(array) (sizeof(array) / sizeof(array)[0])

#define SQUARE(type, corners)                                                                      \
    "{\"type\": \"FeatureCollection\", \"features\": [{\"type\": \"Feature\", \"properties\":"     \
    " {\"name\": \"lane\"}, \"geometry\": {\"type\": \"" type "\", \"coordinates\": " corners      \
    "}}]}"

/* The plan lies over one of another folder, that over one of a third: each names its own files. */
static const struct {
    const char *name, *text;
} files[] = {
    {"plans/plan.json",
     "{\"base\": \"../common/base.json\", \"wind\": {\"profiles\": [\"own.csv\", {\"file\":"
     " \"%s/common/shared.csv\"}], \"age\": \"3 h\"}, \"run\": {\"landings\": 500, \"seed\": 3}}"},
    {"common/base.json", "{\"base\": \"deep/under.json\", \"field\": {\"boundary\":"
                         " \"square.geojson\"}, \"heights\": {\"from\": \"400 ft\"}}"},
    {"common/deep/under.json",
     "{\"site\": {\"elevation\": \"286 m\", \"pads\": [{\"name\": \"near\", \"latitude\":"
     "  \"41.25 deg\", \"longitude\": \"-96.5 deg\"}, {\"name\": \"far\", \"latitude\":"
     "  \"41.252 deg\", \"longitude\": \"-96.49 deg\"}]},"
     " \"field\": {\"roads\": \"lane.geojson\", \"keep_out\": \"../square.geojson\"},"
     " \"rocket\": {\"mass\": \"18.5 lb\"}, \"apogee\": {\"height\": \"1500 m\"},"
     " \"main\": {\"diameter\": \"96 inch\", \"drag_coefficient\": \"0.78\", \"area_basis\":"
     "  \"nominal\"}, \"altimeters\": [{\"main_height\": \"700 ft\"}],"
     " \"wind\": {\"profiles\": [\"not_read.csv\"], \"surface\": {\"speed\": \"8 mph\","
     "  \"direction\": \"222 deg\", \"gust\": \"11 mph\"}}}"},
    {"plans/own.csv", "height_agl_m,speed_mps,direction_deg\n0,3,220\n500,7,235\n3000,12,260\n"},
    {"common/shared.csv", "height_agl_m,speed_mps,direction_deg\n0,2,120\n3000,9,150\n"},
    {"common/square.geojson", SQUARE("Polygon", "[[[-96.515, 41.24], [-96.485, 41.24], [-96.485,"
                                                " 41.262], [-96.515, 41.262], [-96.515, 41.24]]]")},
    {"common/deep/lane.geojson", SQUARE("LineString", "[[-96.51, 41.245], [-96.49, 41.25]]")},
};

static const char *in_folder(const char *name)
{
    static char path[160];
    snprintf(path, sizeof path, "%s/%s", test_folder, name);
    return path;
}

static void write_file(const char *name, const char *text)
{
    FILE *file = fopen(in_folder(name), "w");
    ck_assert_ptr_nonnull(file);
    fputs(text, file);
    ck_assert_int_eq(fclose(file), 0);
}

static void setup(void)
{
    static const char *const folders[] = {"plans", "common", "common/deep"};
    pappus_quiet_dependencies();
    make_folder();
    for (size_t i = 0; i < COUNT(folders); i++)
        ck_assert_int_eq(mkdir(in_folder(folders[i]), 0777), 0);
    for (size_t i = 0; i < COUNT(files); i++) {
        char text[2000];
        snprintf(text, sizeof text, i == 0 ? files[0].text : "%s",
                 i == 0 ? test_folder : files[i].text);
        write_file(files[i].name, text);
    }
}

static pappus_situation *opened(const char *path, const char *pad)
{
    pappus_plan_options options = PAPPUS_PLAN_OPTIONS_INIT;
    pappus_situation *situation = NULL;
    pappus_log log = {0};
    options.pad = pad;
    pappus_situation_open(&situation, path, &options, NULL, &log);
    char *faults = log_told(&log);
    ck_assert_msg(situation != NULL, "%s: %s", path, faults);
    free(faults);
    pappus_log_clear(&log);
    return situation;
}

static void set(pappus_situation *situation, const char *key, const char *value)
{
    pappus_log log = {0};
    ck_assert_int_eq(pappus_situation_set(situation, key, value, &log), PAPPUS_OK);
    pappus_log_clear(&log);
}

/* Says of long texts where they part. */
static void same_text(const char *found, const char *expected)
{
    size_t i = 0;
    while (found[i] && found[i] == expected[i])
        i++;
    while (i > 0 && found[i - 1] != '\n')
        i--;
    ck_assert_msg(strcmp(found, expected) == 0, "found\n%.200s\nexpected\n%.200s", found + i,
                  expected + i);
}

/* Puts it in the plan's place, opens that and compares. Returns the text; the caller frees. */
static char *same_when_read(const pappus_situation *situation, const char *path)
{
    pappus_error error = {0};
    char *text = NULL;
    ck_assert_int_eq(pappus_situation_plan_text(&text, situation, &error), PAPPUS_OK);
    write_file("plans/plan.json", text);
    pappus_situation *again = opened(path, NULL);
    char *expected = told_of(situation, false), *found = told_of(again, false);
    same_text(found, expected);
    free(expected);
    free(found);
    pappus_situation_free(again);
    return text;
}

static const char *ways[] = {"absolute", "relative", "beside"};

/* From the folder of the plan, from the one above, and by a whole path. */
static char *plan_path(int way)
{
    char *path = NULL;
    ck_assert_int_eq(chdir(way == 2 ? in_folder("plans") : test_folder), 0);
    ck_assert_int_ge(asprintf(&path, "%s%splan.json", way == 0 ? test_folder : "",
                              way == 0   ? "/plans/"
                              : way == 1 ? "plans/"
                                         : ""),
                     0);
    return path;
}

START_TEST(text_reads_to_the_same)
{
    char *path = plan_path(_i);
    pappus_situation *situation = opened(path, NULL);
    ck_assert_uint_eq(pappus_situation_givens(situation).winds->profile_count, 2);
    ck_assert_uint_eq(pappus_situation_givens(situation).field->road_count, 1);
    char *text = same_when_read(situation, path);
    /* what is named from where the plan is, be it that the plan does not move */
    ck_assert_msg(strstr(text, "\"../common/square.geojson\"") != NULL, "%s: %s", ways[_i], text);
    ck_assert_ptr_nonnull(strstr(text, "\"../common/deep/../square.geojson\""));
    ck_assert_ptr_nonnull(strstr(text, "\"../common/deep/lane.geojson\""));
    ck_assert_ptr_nonnull(strstr(text, "\"own.csv\""));
    ck_assert_ptr_null(strstr(text, "not_read.csv"));
    ck_assert_ptr_null(strstr(text, "\"base\""));
    free(text);
    set(situation, "rocket.mass", "19 lb");
    set(situation, "wind.profiles[0]", "../common/shared.csv");
    set(situation, "field.boundary", "../common/square.geojson");
    text = same_when_read(situation, path);
    ck_assert_ptr_nonnull(strstr(text, "\"19 lb\""));
    ck_assert_ptr_nonnull(strstr(text, "\"../common/shared.csv\""));
    free(text);
    pappus_situation_free(situation);
    free(path);
}
END_TEST

/* A plan over one that is named by its whole path: what that names is named so too. */
START_TEST(base_by_a_whole_path)
{
    char text[300], *path = plan_path(1), *saved, expected[200];
    snprintf(text, sizeof text,
             "{\"base\": \"%s/common/base.json\", \"wind\": {\"profiles\": null}}", test_folder);
    write_file("plans/plan.json", text);
    pappus_situation *situation = opened(path, NULL);
    saved = same_when_read(situation, path);
    snprintf(expected, sizeof expected, "\"%s/common/square.geojson\"", test_folder);
    ck_assert_ptr_nonnull(strstr(saved, expected));
    free(saved);
    pappus_situation_free(situation);
    free(path);
}
END_TEST

/* The reader lets a gust go along with a set speed, in proportion; written down, it stays. */
START_TEST(gust_and_pad_are_written_down)
{
    char *path = plan_path(1);
    pappus_situation *situation = opened(path, "far");
    set(situation, "wind.surface.speed", "16 mph");
    pappus_error error = {0};
    char *text = NULL;
    ck_assert_int_eq(pappus_situation_plan_text(&text, situation, &error), PAPPUS_OK);
    write_file("plans/saved.json", text);
    pappus_situation *again = opened("plans/saved.json", NULL);
    const pappus_plan *plan = pappus_situation_givens(again).plan;
    ck_assert_str_eq(plan->site.pad_name, "far");
    ck_assert_double_eq_tol(plan->wind.gust_mps, 22 * 0.44704, 1e-12); /* 1609.344 m / 3600 s */
    ck_assert_double_eq_tol(plan->wind.surface.speed_mps, 16 * 0.44704, 1e-12);
    ck_assert_double_eq(plan->site.latitude_deg, 41.252);
    free(text);
    pappus_situation_free(again);
    pappus_situation_free(situation);
    free(path);
}
END_TEST

START_TEST(another_pad_is_a_fresh_open_from_there)
{
    char *path = plan_path(0);
    pappus_situation *near = opened(path, NULL), *far = NULL, *back = NULL, *none = NULL;
    pappus_situation *fresh = opened(path, "far");
    pappus_log log = {0};
    char *before = told(near), *expected = told(fresh);
    ck_assert_int_eq(pappus_situation_from_pad(&far, near, "far", &log), PAPPUS_OK);
    char *found = told(far);
    same_text(found, expected);
    ck_assert(strcmp(found, before) != 0);
    free(found);
    ck_assert_int_eq(pappus_situation_from_pad(&back, far, NULL, &log), PAPPUS_OK);
    found = told(back);
    same_text(found, before);
    free(found);
    ck_assert_uint_eq(pappus_log_faults(&log), 0);
    ck_assert_int_eq(pappus_situation_from_pad(&none, far, "nowhere", &log), PAPPUS_E_PLAN);
    ck_assert_ptr_null(none);
    ck_assert_uint_eq(pappus_log_faults(&log), 1);
    found = log_told(&log);
    ck_assert_ptr_nonnull(strstr(found, "nowhere"));
    ck_assert_ptr_nonnull(strstr(found, "near"));
    free(found);
    found = told(far); /* as it was */
    same_text(found, expected);
    free(found);
    set(far, "rocket.mass", "19 lb"); /* and the pad stays with what is made of it */
    ck_assert_str_eq(pappus_situation_givens(far).plan->site.pad_name, "far");
    free(before);
    free(expected);
    pappus_log_clear(&log);
    pappus_situation_free(near);
    pappus_situation_free(far);
    pappus_situation_free(back);
    pappus_situation_free(fresh);
    free(path);
}
END_TEST

SUITE("situation as text")
{
    tcase_add_checked_fixture(tests, setup, remove_folder);
    tcase_add_loop_test(tests, text_reads_to_the_same, 0, (int)COUNT(ways));
    tcase_add_test(tests, base_by_a_whole_path);
    tcase_add_test(tests, gust_and_pad_are_written_down);
    tcase_add_test(tests, another_pad_is_a_fresh_open_from_there);
}
