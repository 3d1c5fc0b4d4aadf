/* SPDX-License-Identifier: GPL-3.0-or-later
 * Winds written: the layer table reads back to the same levels, the barbs count
 * as on a weather chart, the drawing is well-formed whatever a file is called. */
#include <pappus/pappus.h>

#include "german_locale.h"
#include "input/wind_texts.h"
#include "suite.h"
#include "wind_barb.h"

#include <libxml/parser.h>
#include <stdio.h>

static bool same(double a, double b)
{
    return a == b || (isnan(a) && isnan(b));
}

static void check_same_level(const pappus_wind_level *a, const pappus_wind_level *b)
{
    ck_assert_int_eq(a->height_kind, b->height_kind);
    ck_assert(same(a->height_m, b->height_m));
    ck_assert(same(a->u_mps, b->u_mps) && same(a->v_mps, b->v_mps));
    ck_assert(same(a->speed_sd_mps, b->speed_sd_mps));
    ck_assert(same(a->temperature_k, b->temperature_k));
    ck_assert(same(a->pressure_pa, b->pressure_pa));
}

static void check_same(const pappus_winds *a, const pappus_winds *b)
{
    ck_assert_uint_eq(a->profile_count, b->profile_count);
    for (size_t p = 0; p < a->profile_count; p++) {
        ck_assert(same(a->profiles[p].valid_utc_s, b->profiles[p].valid_utc_s));
        ck_assert(same(a->profiles[p].issued_utc_s, b->profiles[p].issued_utc_s));
        ck_assert_int_eq(a->profiles[p].member, b->profiles[p].member);
        ck_assert_int_eq(a->profiles[p].kind, b->profiles[p].kind);
        ck_assert_int_eq(a->profiles[p].kind_assumed, b->profiles[p].kind_assumed);
        ck_assert_uint_eq(a->profiles[p].level_count, b->profiles[p].level_count);
        for (size_t i = 0; i < a->profiles[p].level_count; i++)
            check_same_level(&a->profiles[p].levels[i], &b->profiles[p].levels[i]);
    }
}

static const struct {
    const char *text, *station;
} sources[] = {
    {FB_TEXT, "ECK"},
    {FB_TEXT, "QQQ"},
    {IGRA_HEAD("01", "00", "   4") IGRA_SURFACE IGRA_NO_WIND IGRA_ROW IGRA_WIND, NULL},
    {"height_agl_ft,direction_deg,speed_mph,temperature_degF\n33,225,8,71.3\n1000,359.9,17.3,60\n",
     NULL},
    {"height_agl_m,u_mps,v_mps,pressure_hPa\n10,0.1,-0.3,982.29\n100,-1e-3,7.77777,\n200,0,0,9\n",
     NULL},
    {"time,issued,height_msl_km,direction_deg,speed_kt,speed_sd_kt\n2027-04-17T15:00Z,,1.1,7,3,1\n"
     "2027-04-17T16:00Z,2027-04-17T12:00Z,1.2,187,33,\n",
     NULL},
    {"time,member,kind,height_agl_m,u_mps,v_mps\n2027-04-17T15:00Z,0,forecast,10,1,2\n"
     "2027-04-17T15:00Z,1,forecast,10,3,4\n2027-04-17T16:00Z,1,forecast,10,5,6\n",
     NULL},
};

START_TEST(layer_table_reads_back_bit_for_bit)
{
    char *text = NULL;
    wind_result before =
        read_wind_text_at(sources[_i].text, sources[_i].station, NAN, 1781740800.0);
    ck_assert_int_eq(before.status, PAPPUS_OK);
    ck_assert_int_eq(pappus_wind_csv_text(&text, before.winds, NULL), PAPPUS_OK);
    wind_result after = read_wind_text(text, NULL);
    ck_assert_msg(after.status == PAPPUS_OK, "%s", text);
    ck_assert_uint_eq(after.log.count, 0);
    check_same(before.winds, after.winds);
    ck_assert_str_eq(after.winds->profiles[0].format, "layer table");
    clear_wind_result(&before);
    clear_wind_result(&after);
    free(text);
}
END_TEST

START_TEST(plain_figures_stay_plain)
{
    char *text = NULL;
    wind_result r = read_wind_text("height_agl_m,direction_deg,speed_mps,temperature_degC\n"
                                   "10,225,4.4,18.1\n",
                                   NULL);
    ck_assert_int_eq(pappus_wind_csv_text(&text, r.winds, NULL), PAPPUS_OK);
    ck_assert_str_eq(text, "# pappus: from wind.txt, read as layer table\n"
                           "height_agl_m,direction_deg,speed_mps,temperature_degC\n"
                           "10,225,4.4,18.1\n");
    clear_wind_result(&r);
    free(text);
}
END_TEST

START_TEST(profiles_without_times_do_not_share_a_table)
{
    char *text = NULL;
    pappus_error err = {0};
    wind_result r = read_wind_text(FB_TEXT FB_TEXT, "ECK");
    ck_assert_int_eq(r.status, PAPPUS_OK);
    ck_assert_uint_eq(r.winds->profile_count, 2);
    ck_assert_int_eq(pappus_wind_csv_text(&text, r.winds, &err), PAPPUS_E_OUTPUT);
    ck_assert_ptr_null(text);
    clear_wind_result(&r);
}
END_TEST

START_TEST(table_tells_counts_units_and_reasons)
{
    char *text = NULL;
    wind_result r = read_wind_text("height_agl_ft,direction_deg,speed_mph\n33,225,8\n33,225,8\n"
                                   "100,0,0\n",
                                   NULL);
    ck_assert_int_eq(pappus_wind_table_text(&text, r.winds, PAPPUS_UNITS_US, &r.log, NULL),
                     PAPPUS_OK);
    ck_assert_ptr_nonnull(strstr(text, "levels read 3, repaired 1, left out 0"));
    ck_assert_ptr_nonnull(strstr(text, "      33   225 SW      8.0"));
    ck_assert_ptr_nonnull(strstr(text, "     100  calm         0.0"));
    ck_assert_ptr_nonnull(strstr(text, "note: wind.txt: row 3: repeats a height"));
    clear_wind_result(&r);
    free(text);
}
END_TEST

START_TEST(barbs_count_in_fives)
{
    /* M: WMO-No. 485: half feather 5 kt, feather 10, pennant 50, to the nearest 5 */
    static const struct {
        double speed_kt;
        pappus_barb barb;
    } cases[] = {{0, {0, 0, 0}},  {2, {0, 0, 0}},  {3, {0, 0, 1}},   {5, {0, 0, 1}},
                 {8, {0, 1, 0}},  {15, {0, 1, 1}}, {47, {0, 4, 1}},  {48, {1, 0, 0}},
                 {65, {1, 1, 1}}, {87, {1, 3, 1}}, {112, {2, 1, 0}}, {199, {4, 0, 0}}};
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        char path[1024];
        pappus_barb barb = pappus_barb_of(cases[i].speed_kt * 1852.0 / 3600.0);
        ck_assert_int_eq(barb.pennants, cases[i].barb.pennants);
        ck_assert_int_eq(barb.full, cases[i].barb.full);
        ck_assert_int_eq(barb.half, cases[i].barb.half);
        ck_assert_int_lt(pappus_barb_path(path, sizeof path, barb), (int)sizeof path);
        /* a closed shape for each pennant, a stroke for each other part and the shaft */
        int closed = 0, strokes = 0;
        for (const char *c = path; *c; c++) {
            closed += *c == 'Z';
            strokes += *c == 'M';
        }
        ck_assert_int_eq(closed, barb.pennants);
        ck_assert_int_eq(strokes, 1 + barb.pennants + barb.full + barb.half);
    }
}
END_TEST

START_TEST(feathers_point_clockwise)
{
    /* M: the shaft is up for a wind from north, its feathers to the east */
    char path[256];
    pappus_barb_path(path, sizeof path, (pappus_barb){0, 1, 0});
    double shaft, foot, tip_x, tip_y;
    ck_assert_int_eq(sscanf(path, "M0 0V%lfM0 %lfL%lf %lf", &shaft, &foot, &tip_x, &tip_y), 4);
    ck_assert(shaft < 0 && foot == shaft && tip_x > 0 && tip_y < foot);
}
END_TEST

START_TEST(drawing_is_well_formed)
{
    char *text = NULL, name[] = "a<b>&\"c\"\001.csv";
    wind_result r = read_wind_text(sources[_i].text, sources[_i].station);
    ck_assert_int_eq(r.status, PAPPUS_OK);
    free(r.winds->profiles[0].path);
    r.winds->profiles[0].path = strdup(name);
    ck_assert_int_eq(pappus_wind_svg_text(&text, r.winds, NULL, NULL, PAPPUS_UNITS_US, NAN, NULL),
                     PAPPUS_OK);
    xmlDocPtr document = xmlReadMemory(text, (int)strlen(text), "a.svg", NULL, XML_PARSE_NONET);
    ck_assert_ptr_nonnull(document);
    /* a figure that is none stands before a comma, a quote or a blank */
    static const char *const none[] = {"nan,", "nan\"", "nan ", "inf,", "inf\"", "inf "};
    for (size_t i = 0; i < sizeof none / sizeof *none; i++)
        ck_assert_ptr_null(strstr(text, none[i]));
    ck_assert_ptr_nonnull(strstr(text, "a&lt;b&gt;&amp;"));
    xmlFreeDoc(document);
    free(text);
    clear_wind_result(&r);
}
END_TEST

START_TEST(comma_locale_changes_nothing)
{
    char *before = NULL, *after = NULL;
    wind_result r = read_wind_text("height_agl_m,u_mps,v_mps\n10.5,1.25,2.5\n", NULL);
    ck_assert_int_eq(pappus_wind_csv_text(&before, r.winds, NULL), PAPPUS_OK);
    set_german_locale(); /* says so when there is none */
    ck_assert_int_eq(pappus_wind_csv_text(&after, r.winds, NULL), PAPPUS_OK);
    wind_result again = read_wind_text(after, NULL);
    setlocale(LC_ALL, "C");
    ck_assert_str_eq(before, after);
    check_same(r.winds, again.winds);
    clear_wind_result(&again);
    free(before);
    free(after);
    clear_wind_result(&r);
}
END_TEST

SUITE("wind output")
{
    int count = (int)(sizeof sources / sizeof *sources);
    atexit(xmlCleanupParser);
    tcase_add_loop_test(tests, layer_table_reads_back_bit_for_bit, 0, count);
    tcase_add_test(tests, plain_figures_stay_plain);
    tcase_add_test(tests, profiles_without_times_do_not_share_a_table);
    tcase_add_test(tests, table_tells_counts_units_and_reasons);
    tcase_add_test(tests, barbs_count_in_fives);
    tcase_add_test(tests, feathers_point_clockwise);
    tcase_add_loop_test(tests, drawing_is_well_formed, 0, count);
    tcase_add_test(tests, comma_locale_changes_nothing);
}
