/* SPDX-License-Identifier: GPL-3.0-or-later
 * summary.json against the part of it that is fixed by the design: every key is
 * there, SI, finite, null where the plan has nothing, the same under a decimal
 * comma. Read back with cJSON. Values are those of the synthetic answer. */
#include <cjson/cJSON.h>
#include <locale.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "german_locale.h"
#include "sample_answer.h"
#include "suite.h"
#include "test_folder.h"

static cJSON *summary_of(const sample_answer *sample)
{
    char *text = NULL;
    ck_assert_int_eq(pappus_answer_summary(&text, &sample->answer, NULL), PAPPUS_OK);
    cJSON *root = cJSON_Parse(text);
    ck_assert_msg(root != NULL, "not JSON: %.200s", text);
    free(text);
    return root;
}

/* "all.mean.east_m", "limits.2.verdict". */
static const cJSON *at(const cJSON *from, const char *path)
{
    char key[128];
    while (from && *path) {
        size_t length = strcspn(path, ".");
        snprintf(key, sizeof key, "%.*s", (int)length, path);
        from = cJSON_IsArray(from) ? cJSON_GetArrayItem(from, atoi(key))
                                   : cJSON_GetObjectItemCaseSensitive(from, key);
        path += length + (path[length] == '.');
    }
    return from;
}

static double number_at(const cJSON *root, const char *path)
{
    const cJSON *item = at(root, path);
    ck_assert_msg(cJSON_IsNumber(item), "%s is no number", path);
    return item->valuedouble;
}

static const char *text_at(const cJSON *root, const char *path)
{
    const cJSON *item = at(root, path);
    ck_assert_msg(cJSON_IsString(item), "%s is no text", path);
    return item->valuestring;
}

static void assert_null(const cJSON *root, const char *path)
{
    ck_assert_msg(cJSON_IsNull(at(root, path)), "%s is not null", path);
}

START_TEST(fixed_part)
{
    static const struct {
        const char *path;
        double value;
    } numbers[] = {{"seed", 1},
                   {"landings", 1000},
                   {"limits.0.value", 0.981},
                   {"limits.0.low", 0.979},
                   {"limits.0.high", 0.983},
                   {"limits.0.bound", 0.95},
                   {"all.probability", 1},
                   {"all.landings", 1000},
                   {"all.inside_field.value", 0.981},
                   {"all.keep_out.1.value", 0.0213},
                   {"all.keep_out.1.high", 0.0228},
                   {"all.mean.east_m", 180},
                   {"all.mean.north_m", 275},
                   {"all.covariance_m2.0.1", -9000},
                   {"all.covariance_m2.1.1", 2100},
                   {"all.ellipses.2.level", 0.95},
                   {"all.ellipses.2.major_m", 369 * 2.4477},
                   {"all.ellipses.2.minor_m", 40 * 2.4477},
                   {"all.ellipses.2.bearing_deg", 93.9},
                   {"all.ellipses.2.share", 0.947},
                   {"all.contours.3.level", 0.99},
                   {"all.contours.3.parts", 2},
                   {"all.drift_m.p05", 374},
                   {"all.time_s.p50", 95},
                   {"all.landing_speed_mps.p95", 7.8},
                   {"outcomes.nominal.probability", 0.975},
                   {"outcomes.main only.landings", 100},
                   {"outcomes.no canopy.probability", 0},
                   {"heights.recommended_m", 152.4},
                   {"heights.trade.1.height_m", 152.4},
                   {"heights.trade.1.inside_field.value", 0.978},
                   {"heights.trade.1.time_s", 78},
                   {"heights.trade.1.walk_m", 260},
                   {"ceiling.surface_wind_mps", 4.6},
                   {"posts.0.latitude", 43.56882004613765},
                   {"posts.0.longitude", -116.20758642824957},
                   {"posts.1.east_m", -400},
                   {"posts.1.walk_m.mean", 210},
                   {"posts.1.walk_m.p90", 350}};
    sample_answer *sample = sample_answer_make(1000, "A flight");
    cJSON *root = summary_of(sample);
    for (size_t i = 0; i < sizeof numbers / sizeof numbers[0]; i++) /* ten digits */
        ck_assert_msg(fabs(number_at(root, numbers[i].path) - numbers[i].value) <=
                          1e-9 * fabs(numbers[i].value),
                      "%s", numbers[i].path);
    ck_assert_str_eq(text_at(root, "pappus"), pappus_version());
    ck_assert_str_eq(text_at(root, "title"), "A flight");
    ck_assert_str_eq(text_at(root, "decision"), "no-go");
    ck_assert_str_eq(text_at(root, "limits.0.limit"), "inside_field");
    ck_assert_str_eq(text_at(root, "limits.0.unit"), "1");
    assert_null(root, "limits.0.name");
    ck_assert_str_eq(text_at(root, "limits.2.name"), "car park");
    ck_assert_str_eq(text_at(root, "limits.2.verdict"), "broken");
    assert_null(root, "limits.3.low");
    assert_null(root, "limits.5.value");
    ck_assert_str_eq(text_at(root, "all.keep_out.1.name"), "car park");
    ck_assert_str_eq(text_at(root, "heights.trade.2.verdict"), "broken");
    ck_assert_str_eq(text_at(root, "warnings.0.message"), "A flight");
    ck_assert_str_eq(text_at(root, "assumptions.0.key"), "faults.main_fails");
    ck_assert_int_eq(cJSON_GetArraySize(at(root, "assumptions")), 1);
    assert_null(root, "outcomes.no canopy.inside_field");
    assert_null(root, "outcomes.no canopy.ellipses");
    cJSON_Delete(root);
    sample_answer_clear(sample);
}
END_TEST

/* "no canopy" has no landings, the others do. */
START_TEST(every_outcome_has_the_same_keys)
{
    sample_answer *sample = sample_answer_make(1000, "A flight");
    cJSON *root = summary_of(sample);
    const cJSON *all = at(root, "all"), *outcomes = at(root, "outcomes"), *outcome;
    ck_assert_int_eq(cJSON_GetArraySize(outcomes), PAPPUS_OUTCOMES);
    cJSON_ArrayForEach(outcome, outcomes)
    {
        const cJSON *mine = outcome->child, *theirs = all->child;
        for (; mine && theirs; mine = mine->next, theirs = theirs->next)
            ck_assert_str_eq(mine->string, theirs->string);
        ck_assert(!mine && !theirs);
    }
    ck_assert_double_eq(number_at(root, "outcomes.no canopy.probability"), 0.0);
    ck_assert_double_eq(number_at(root, "outcomes.no canopy.landings"), 0.0);
    outcome = at(root, "outcomes.no canopy");
    for (const cJSON *item = outcome->child->next->next; item; item = item->next)
        ck_assert_msg(cJSON_IsNull(item), "%s", item->string);
    cJSON_Delete(root);
    sample_answer_clear(sample);
}
END_TEST

START_TEST(absent_is_null)
{
    static const char *const absent[] = {"decision",
                                         "limits",
                                         "heights",
                                         "ceiling",
                                         "posts",
                                         "crews",
                                         "sensitivity",
                                         "all.inside_field",
                                         "all.keep_out",
                                         "all.contours",
                                         "outcomes.nominal.contours"};
    sample_answer *sample = sample_answer_make(1000, "A flight");
    sample_answer_bare(sample);
    cJSON *root = summary_of(sample);
    for (size_t i = 0; i < sizeof absent / sizeof absent[0]; i++)
        assert_null(root, absent[i]);
    cJSON_Delete(root);
    sample_answer_clear(sample);
}
END_TEST

/* JSON has no NaN and no infinity (RFC 8259, section 6). */
START_TEST(only_finite_numbers)
{
    char *text = NULL;
    sample_answer *sample = sample_answer_make(1000, "A flight");
    sample->zones.all.mean_east_m = INFINITY;
    sample->zones.all.covariance_m2[0][1] = NAN;
    sample->zones.all.keep_out[0] = (pappus_estimate){0.1, NAN, NAN};
    sample->heights.recommended_m = NAN;
    sample->heights.rows[0].walk_m = NAN;
    ck_assert_int_eq(pappus_answer_summary(&text, &sample->answer, NULL), PAPPUS_OK);
    ck_assert_ptr_null(strstr(text, "nan"));
    ck_assert_ptr_null(strstr(text, "inf,"));
    free(text);
    cJSON *root = summary_of(sample);
    assert_null(root, "all.mean.east_m");
    assert_null(root, "all.covariance_m2.0.1");
    assert_null(root, "all.keep_out.0.low");
    assert_null(root, "heights.recommended_m");
    assert_null(root, "heights.trade.0.walk_m");
    cJSON_Delete(root);
    sample_answer_clear(sample);
}
END_TEST

static char *read_file(const char *path, size_t *size)
{
    FILE *file = fopen(path, "rb");
    ck_assert_msg(file != NULL, "%s", path);
    ck_assert_int_eq(fseek(file, 0, SEEK_END), 0);
    *size = (size_t)ftell(file);
    rewind(file);
    char *bytes = malloc(*size + 1);
    ck_assert_ptr_nonnull(bytes);
    ck_assert_uint_eq(fread(bytes, 1, *size, file), *size);
    fclose(file);
    return bytes;
}

START_TEST(same_under_a_decimal_comma)
{
    static const char *const names[] = {"summary.json",
                                        "posts.gpx",
                                        "zone.kml",
                                        "layers/landings.dbf",
                                        "layers/landings.shp",
                                        "layers/ellipses.prj",
                                        "layers/posts.geojson",
                                        "layers/contours.geojson"};
    char path[2][80];
    sample_answer *sample = sample_answer_make(1000, "A flight");
    char *text[2];
    for (int comma = 0; comma < 2; comma++) {
        if (comma && !set_german_locale()) break;
        snprintf(path[comma], sizeof path[comma], "%s/%d", test_folder, comma);
        ck_assert_int_eq(pappus_answer_write(&sample->answer, path[comma], NULL, NULL), PAPPUS_OK);
        ck_assert_int_eq(
            pappus_answer_text(&text[comma], &sample->answer, &(pappus_text_options){0}, NULL),
            PAPPUS_OK);
        if (comma) ck_assert_str_eq(text[0], text[1]);
        if (comma) free(text[1]);
        for (size_t i = 0; comma && i < sizeof names / sizeof names[0]; i++) {
            char file[2][128];
            size_t size[2];
            snprintf(file[0], sizeof file[0], "%s/%s", path[0], names[i]);
            snprintf(file[1], sizeof file[1], "%s/%s", path[1], names[i]);
            char *first = read_file(file[0], &size[0]), *second = read_file(file[1], &size[1]);
            ck_assert_uint_eq(size[0], size[1]);
            ck_assert_msg(memcmp(first, second, size[0]) == 0, "%s", names[i]);
            free(first);
            free(second);
        }
    }
    setlocale(LC_ALL, "C");
    free(text[0]);
    sample_answer_clear(sample);
}
END_TEST

/* A picture that was begun before is the one that would be drawn; without an answer it is let
 * go. */
START_TEST(picture_begun_early)
{
    static const char *const names[] = {"map.svg", "map.png"};
    char path[2][80];
    sample_answer *sample = sample_answer_make(500, "A flight");
    pappus_picture *unused = pappus_picture_begin(&sample->answer, PAPPUS_UNITS_SI);
    pappus_picture *picture = pappus_picture_begin(&sample->answer, PAPPUS_UNITS_SI);
    ck_assert(picture && unused);
    pappus_picture_free(unused);
    for (int early = 0; early < 2; early++) {
        pappus_write_options options = {.units = PAPPUS_UNITS_SI,
                                        .picture = early ? picture : NULL};
        snprintf(path[early], sizeof path[early], "%s/%d", test_folder, early);
        ck_assert_int_eq(pappus_answer_write(&sample->answer, path[early], &options, NULL),
                         PAPPUS_OK);
    }
    for (size_t i = 0; i < 2; i++) {
        char file[2][160], *text[2];
        size_t size[2];
        for (int early = 0; early < 2; early++) {
            snprintf(file[early], sizeof file[early], "%.79s/%s", path[early], names[i]);
            text[early] = read_file(file[early], &size[early]);
        }
        ck_assert_uint_eq(size[0], size[1]);
        ck_assert_mem_eq(text[0], text[1], size[0]);
        free(text[0]);
        free(text[1]);
    }
    pappus_picture_free(picture);
    sample_answer_clear(sample);
}
END_TEST

/* Two parts of one flight: the worst decision, a name each though the plans' files
 * are called alike. */
START_TEST(parts_of_a_flight)
{
    char path[80];
    char *text = NULL;
    sample_answer *first = sample_answer_make(700, "a/booster.json");
    sample_answer *second = sample_answer_make(700, "b/booster.json");
    const pappus_answer *both[] = {&first->answer, &second->answer};
    first->judgement.decision = PAPPUS_GO;
    second->judgement.decision = PAPPUS_NOT_DECIDED;
    ck_assert_int_eq(pappus_decision_of(both, 2), PAPPUS_NOT_DECIDED);
    ck_assert_int_eq(pappus_decision_of(both, 1), PAPPUS_GO);
    first->judgement.decision = PAPPUS_NO_GO;
    ck_assert_int_eq(pappus_decision_of(both, 2), PAPPUS_NO_GO);
    ck_assert_int_eq(pappus_answers_summary(&text, both, 2, NULL), PAPPUS_OK);
    cJSON *root = cJSON_Parse(text);
    ck_assert_str_eq(text_at(root, "decision"), "no-go");
    ck_assert_str_eq(text_at(root, "parts.0.name"), "booster");
    ck_assert_str_eq(text_at(root, "parts.1.name"), "booster-2");
    ck_assert_str_eq(text_at(root, "parts.1.summary.decision"), "undecided");
    cJSON_Delete(root);
    free(text);
    snprintf(path, sizeof path, "%s/out", test_folder);
    ck_assert_int_eq(pappus_answers_write(both, 2, path, NULL, NULL), PAPPUS_OK);
    ck_assert_int_eq(pappus_answers_write(both, 2, path, NULL, NULL), PAPPUS_OK);
    char posts[160];
    snprintf(posts, sizeof posts, "%s/booster-2/layers/posts.shp", path);
    ck_assert_int_eq(access(posts, F_OK), 0);
    ck_assert_int_eq(
        pappus_answers_text(&text, both, 2, &(pappus_text_options){.units = PAPPUS_UNITS_SI}, NULL),
        PAPPUS_OK);
    ck_assert_int_eq(strncmp(text, "NO-GO ", 6), 0);
    free(text);
    sample_answer_clear(first);
    sample_answer_clear(second);
}
END_TEST

SUITE("summary")
{
    tcase_add_checked_fixture(tests, make_folder, remove_folder);
    tcase_add_test(tests, fixed_part);
    tcase_add_test(tests, every_outcome_has_the_same_keys);
    tcase_add_test(tests, absent_is_null);
    tcase_add_test(tests, only_finite_numbers);
    tcase_add_test(tests, same_under_a_decimal_comma);
    tcase_add_test(tests, picture_begun_early);
    tcase_add_test(tests, parts_of_a_flight);
}
