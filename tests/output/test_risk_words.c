/* SPDX-License-Identifier: GPL-3.0-or-later
 * What is said of a keep-out area: how rare a landing there is, what that rests on, and no rarer
 * than is known. Chances are our own (A), the words of each count are X. */
#include "sample_answer.h"
#include "statement.h"
#include "suite.h"

static sample_answer *sample;
static pappus_hazard hazard;
static pappus_risk risks[2];
static statements said;

static void setup(void)
{
    sample = sample_answer_make(100, "areas");
    risks[0] = risks[1] = (pappus_risk){.outcome = PAPPUS_MAIN_AT_APOGEE,
                                        .outcome_share = 0.8,
                                        .wind_mps = NAN,
                                        .usual_mps = NAN,
                                        .fault = PAPPUS_FAULTS};
    hazard = (pappus_hazard){.area_count = 2, .risks = risks, .casualties = NAN};
    sample->hits.rare = sample_block(sample, 2, sizeof *sample->hits.rare);
    for (int h = 0; h < PAPPUS_OUTCOMES; h++)
        sample->hits.rare[0][h].landings = sample->hits.rare[1][h].landings = 1000;
    sample->answer.hazard = &hazard;
}

static void teardown(void)
{
    statements_clear(&said);
    sample_answer_clear(sample);
}

static const statement *nth(say_kind kind, size_t n)
{
    const statement *it = NULL;
    statements_clear(&said);
    ck_assert_int_eq(statements_make(&said, &sample->answer, NULL, PAPPUS_UNITS_US, NULL),
                     PAPPUS_OK);
    for (size_t i = 0; i <= n; i++)
        ck_assert_ptr_nonnull(it = statement_next(&said, kind, it));
    return it;
}

START_TEST(how_rare)
{
    static const struct {
        double chance;
        const char *words;
    } rows[] = {
        {0.2, "in 20 % of flights"},
        {0.04, "once in 25 flights"},
        {2e-5, "once in 50 000 flights"},
        {1.0 / 1234567.0, "once in 1 200 000 flights"},
        {1e-10, "less than once in 1 000 000 000 flights"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        risks[1].chance = rows[i].chance;
        ck_assert_str_eq(nth(SAY_RISK, 1)->strong, rows[i].words);
        hazard.casualties = rows[i].chance;
        const char *of_people = nth(SAY_RISK_NOTE, 0)->full;
        ck_assert_ptr_nonnull(strstr(of_people, rows[i].words));
    }
    ck_assert_str_eq(nth(SAY_RISK, 1)->lead, "car park: ");
}
END_TEST

/* Of no event the upper limit of 95 % is -ln 0.025 times what one would weigh. */
START_TEST(what_nothing_hits_is_no_rarer_than_is_known)
{
    sample->hits.probability[PAPPUS_NOMINAL] = 1.0;
    sample->hits.rare[1][PAPPUS_NOMINAL].heaviest = 1.0 / (3e6 * -log(0.025));
    ck_assert_str_eq(nth(SAY_RISK, 1)->strong, "less than once in 3 000 000 flights");
    ck_assert_ptr_null(nth(SAY_RISK, 1)->full);
}
END_TEST

START_TEST(what_drives_it)
{
    risks[0].chance = 2e-5;
    risks[0].fault = PAPPUS_FAULT_MAIN_EARLY;
    risks[0].doubled = 4e-5;
    risks[0].halved = 1e-5;
    ck_assert_str_eq(nth(SAY_RISK, 0)->full,
                     ". 80 % of that is of the outcome \"main at apogee\". If the main comes out "
                     "early twice as often as assumed: once in 25 000 flights; half as often: "
                     "once in 100 000 flights.");
    risks[0].fault = PAPPUS_FAULTS;
    risks[0].wind_mps = 20 * 0.44704;
    risks[0].wind_from_deg = 240;
    risks[0].usual_mps = 12 * 0.44704;
    risks[0].usual_from_deg = 200;
    ck_assert_str_eq(nth(SAY_RISK, 0)->full,
                     ". 80 % of that is of the outcome \"main at apogee\", in a mean wind of 20.0 "
                     "mph from 240 deg (expected 12.0 mph from 200 deg).");
}
END_TEST

SUITE("words of a risk")
{
    tcase_add_checked_fixture(tests, setup, teardown);
    tcase_add_test(tests, how_rare);
    tcase_add_test(tests, what_nothing_hits_is_no_rarer_than_is_known);
    tcase_add_test(tests, what_drives_it);
}
