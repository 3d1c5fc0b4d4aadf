/* SPDX-License-Identifier: GPL-3.0-or-later
 * The half-screen answer: what it says first, that it fits, and what it says of
 * an answer that lacks parts. The values are those of the synthetic answer. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "sample_answer.h"
#include "suite.h"

#define MOST_LINES 24 /* of a terminal */

static int columns = 78;
static sample_answer *sample;
static char *text;

static void setup(void)
{
    sample = sample_answer_make(1000, "A flight with a title that goes on for longer than any "
                                      "terminal of the usual width can show");
    text = NULL;
}

static void teardown(void)
{
    free(text);
    sample_answer_clear(sample);
}

static void make(pappus_unit_system units, bool colour)
{
    free(text);
    pappus_text_options options = {units, columns, colour};
    ck_assert_int_eq(pappus_answer_text(&text, &sample->answer, &options, NULL), PAPPUS_OK);
}

static void assert_fits(void)
{
    int lines = 0, column = 0;
    for (const char *at = text; *at; at++) {
        column = *at == '\n' ? 0 : column + 1;
        lines += *at == '\n';
        ck_assert_int_le(column, columns);
    }
    ck_assert_int_le(lines, MOST_LINES * (columns < 78 ? 2 : 1));
    ck_assert_int_eq(text[strlen(text) - 1], '\n');
}

static void assert_says(const char *words)
{
    ck_assert_msg(strstr(text, words) != NULL, "no '%s' in:\n%s", words, text);
}

START_TEST(decision_first)
{
    static const struct {
        pappus_decision decision;
        const char *first;
    } rows[] = {{PAPPUS_GO, "GO "},
                {PAPPUS_NO_GO, "NO-GO "},
                {PAPPUS_NOT_DECIDED, "UNDECIDED - treat as no-go "}};
    for (size_t i = 0; i < 3; i++) {
        sample->judgement.decision = rows[i].decision;
        make(PAPPUS_UNITS_US, false);
        ck_assert_int_eq(strncmp(text, rows[i].first, strlen(rows[i].first)), 0);
        assert_fits();
        assert_says("range safety officer decides");
        ck_assert_ptr_null(strchr(text, '\033'));
        make(PAPPUS_UNITS_SI, true);
        ck_assert_ptr_nonnull(strchr(text, '\033'));
    }
}
END_TEST

/* 0.0213 against 0.01; the mean is hypot(180, 275) = 328.7 m, 1078 ft at 33.2 deg;
 * 700 ft; 4.6 m/s = 10.29 mph, rounded down. */
START_TEST(says_what_matters)
{
    make(PAPPUS_UNITS_US, false);
    assert_says("BROKEN  lands on a keep-out area 2.1 % (2.0 to 2.3), at most 1 %: car park");
    assert_says("Lands   1080 ft NNE of the pad, 9 of 10 in ");
    assert_says("in 2 parts");
    ck_assert_ptr_null(strstr(text, "of them before the main is full open"));
    sample->zones.all.unopened = 0.021;
    make(PAPPUS_UNITS_US, false);
    assert_says("\n        2.1 % of them before the main is full open\n");
    sample->zones.all.unopened = 0.0;
    assert_says("500 ft would meet every limit; planned is 700 ft");
    assert_says("go up to 10.2 mph from 240 deg, then no-go: keep-out area, car park");
    /* 0.56882 deg = 34.1292 min, 0.20759 deg = 12.4554 min, of the digits that are shown */
    assert_says("Crews   1 at 43.56882, -116.20759 (43 34.129 N, 116 12.455 W), 1150 ft ENE");
    make(PAPPUS_UNITS_SI, false);
    assert_says("Lands   330 m NNE");
    assert_says("go up to 4.6 m/s");
    assert_fits();
}
END_TEST

/* Broken before open; when all is met, what comes nearest to its bound: keep-out at
 * 41 % of its bound, inside at 38 %, surface wind at 60 %. */
START_TEST(order_of_reasons)
{
    make(PAPPUS_UNITS_US, false);
    ck_assert(strstr(text, "BROKEN") < strstr(text, "UNSURE  "));
    sample->judgement.decision = PAPPUS_GO;
    sample->judgement.reasons[2] = sample->judgement.reasons[3];
    sample->judgement.reason_count = 3;
    make(PAPPUS_UNITS_US, false);
    assert_says("  met     surface wind"); /* one line: the tightest */
    ck_assert_ptr_null(strstr(text, "lands on a keep-out"));
    ck_assert_ptr_null(strstr(text, "lands inside"));
}
END_TEST

START_TEST(equal_reasons_are_told_once_each)
{
    sample->judgement.reasons[3].verdict = PAPPUS_BROKEN;
    sample->judgement.reasons[2] = sample->judgement.reasons[3];
    sample->judgement.reasons[2].name = "twin";
    sample->judgement.reason_count = 4;
    make(PAPPUS_UNITS_US, false);
    const char *first = strstr(text, "  BROKEN  surface wind");
    ck_assert_ptr_nonnull(first);
    ck_assert_ptr_nonnull(strstr(first + 5, "  BROKEN  surface wind"));
}
END_TEST

START_TEST(says_what_is_not_there)
{
    sample->heights.recommended_m = NAN;
    sample->heights.shift_m = NAN;
    sample->heights.closest =
        (pappus_height_reason){PAPPUS_WHY_NOT_UNDECIDED, PAPPUS_LIMIT_MAIN_HEIGHT, 0};
    sample->ceiling.reading.planned.go = false;
    sample->crews.post_count = 0;
    sample->crews.blocked_by = PAPPUS_POST_STANDOFF;
    make(PAPPUS_UNITS_US, false);
    assert_says("Main    no height meets every limit; at the closest, \"height of the open main\"\n"
                "        is undecided\n");
    assert_says("no wind from 240 deg is go");
    assert_says("no place is safe to wait: the standoff from the pad");
    sample_answer_bare(sample);
    make(PAPPUS_UNITS_US, false);
    assert_says("Field   none given");
    ck_assert_ptr_null(strstr(text, "GO"));
    ck_assert_ptr_null(strstr(text, "nan"));
    assert_fits();
}
END_TEST

/* Words apart, whatever the lines are. */
static char *words_of(void)
{
    char *words = strdup(text);
    size_t length = 0;
    for (const char *at = text; *at; at++)
        if ((*at != ' ' && *at != '\n') || (length > 0 && words[length - 1] != ' '))
            words[length++] = *at == '\n' ? ' ' : *at;
    words[length] = '\0';
    return words;
}

/* No word is broken and none is lost, whatever the width. */
START_TEST(any_width)
{
    static const int widths[] = {60, 44, 100};
    columns = 80;
    make(PAPPUS_UNITS_US, false);
    char *usual = words_of();
    for (size_t i = 0; i < 3; i++) {
        columns = widths[i];
        make(PAPPUS_UNITS_US, false);
        char *words = words_of();
        ck_assert_str_eq(words, usual);
        free(words);
        assert_fits();
    }
    free(usual);
    columns = 78;
}
END_TEST

/* Go again in stronger wind is said where a direction of the first question is so. */
START_TEST(go_again_is_said)
{
    pappus_text_options options = {PAPPUS_UNITS_US, columns, false};
    for (int again = 0; again < 3; again++) {
        free(text);
        sample->ceiling.reading.planned.monotonic = again != 1;
        sample->ceiling.reading.rows[7].monotonic = again != 2;
        ck_assert_int_eq(pappus_ceiling_text(&text, &sample->answer, &options, NULL), PAPPUS_OK);
        ck_assert_int_eq(strstr(text, "Go again in stronger wind") != NULL, again > 0);
    }
}
END_TEST

SUITE("terminal")
{
    tcase_add_checked_fixture(tests, setup, teardown);
    tcase_add_test(tests, decision_first);
    tcase_add_test(tests, says_what_matters);
    tcase_add_test(tests, order_of_reasons);
    tcase_add_test(tests, equal_reasons_are_told_once_each);
    tcase_add_test(tests, says_what_is_not_there);
    tcase_add_test(tests, any_width);
    tcase_add_test(tests, go_again_is_said);
}
