/* SPDX-License-Identifier: GPL-3.0-or-later
 * The wind formats: worked examples decoded, what is repaired, what is refused. */
#include "wind_texts.h"
#include "suite.h"

#include <fcntl.h>
#include <stdio.h>
#include <time.h>
#include <unistd.h>

#define KT (1852.0 / 3600.0) /* C: the international knot, exact */
#define FT 0.3048            /* C: the international foot, exact */

typedef struct {
    double height_ft, direction_deg, speed_kt, temperature_degC;
} group;

static void check_group(const pappus_wind_level *level, group expected)
{
    double angle = expected.direction_deg * M_PI / 180.0;
    ck_assert_double_eq_tol(level->height_m, expected.height_ft * FT, 1e-9);
    ck_assert_double_eq_tol(level->u_mps, -expected.speed_kt * KT * sin(angle), 1e-9);
    ck_assert_double_eq_tol(level->v_mps, -expected.speed_kt * KT * cos(angle), 1e-9);
    if (isnan(expected.temperature_degC))
        ck_assert(isnan(level->temperature_k));
    else
        ck_assert_double_eq_tol(level->temperature_k, expected.temperature_degC + 273.15, 1e-9);
}

START_TEST(bulletin_worked_example)
{
    /* C: AWC's reading of this line: at 24000 ft 320 deg 102 kt -29 degC, at 39000
     * ft 290 deg 125 kt -54 degC; the other groups by the same rules (X). */
    static const group expected[] = {
        {3000, 320, 22, NAN},   {6000, 310, 36, -8},    {9000, 310, 39, -7},
        {12000, 320, 51, -9},   {18000, 320, 87, -17},  {24000, 320, 102, -29},
        {30000, 300, 119, -44}, {34000, 300, 131, -51}, {39000, 290, 125, -54}};
    wind_result r = read_wind_text(FB_TEXT, "eck");
    ck_assert_int_eq(r.status, PAPPUS_OK);
    const pappus_wind_profile *p = &r.winds->profiles[0];
    ck_assert_str_eq(p->format, "FB bulletin");
    ck_assert_uint_eq(p->level_count, 9);
    for (size_t i = 0; i < 9; i++) {
        check_group(&p->levels[i], expected[i]);
        /* C: to 12000 ft true height above the sea, above it pressure altitude */
        ck_assert_int_eq(p->levels[i].height_kind,
                         i < 4 ? PAPPUS_HEIGHT_MSL : PAPPUS_HEIGHT_PRESSURE);
    }
    clear_wind_result(&r);
}
END_TEST

START_TEST(bulletin_light_missing_and_strong)
{
    /* C: 9900 light and variable, may carry a temperature; 7799 is 270 deg at 199
     * kt or more; a blank group is not forecast, and one without temperature does
     * not shift the next. 36 is north. */
    static const group expected[] = {
        {6000, 190, 23, NAN},  {9000, 0, 0, 5},        {12000, 260, 9, 0}, {18000, 0, 0, -12},
        {24000, 230, 32, -25}, {30000, 270, 199, -37}, {34000, 0, 0, -48}, {39000, 0, 36, -55}};
    wind_result r = read_wind_text(FB_TEXT, "QQQ");
    ck_assert_int_eq(r.status, PAPPUS_OK);
    const pappus_wind_profile *p = &r.winds->profiles[0];
    ck_assert_uint_eq(p->level_count, 8);
    for (size_t i = 0; i < 8; i++)
        check_group(&p->levels[i], expected[i]);
    ck_assert_double_eq(p->levels[1].speed_sd_mps, 1.3); /* A: half of 5 kt */
    ck_assert(isnan(p->levels[0].speed_sd_mps));
    ck_assert_ptr_nonnull(find_entry(&r.log, "199 kt or more"));
    clear_wind_result(&r);
}
END_TEST

START_TEST(bulletin_month_is_the_nearest)
{
    /* 18 June and 18 December 2026 00Z, seconds since 1970 by date(1). The launch is
     * on the 2nd of the month after. */
    static const struct {
        double launch_utc_s, issued_utc_s;
    } cases[] = {{1781740800.0 + 5 * 3600, 1781740800.0},
                 {1781740800.0 - 3600, 1781740800.0},
                 {1797552000.0 + 14.5 * 86400, 1797552000.0}};
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        wind_result r = read_wind_text_at(FB_TEXT, "ECK", NAN, cases[i].launch_utc_s);
        ck_assert_int_eq(r.status, PAPPUS_OK);
        ck_assert_double_eq(r.winds->profiles[0].issued_utc_s, cases[i].issued_utc_s);
        ck_assert_double_eq(r.winds->profiles[0].valid_utc_s, cases[i].issued_utc_s + 6 * 3600);
        /* for use from 02 to 09Z */
        ck_assert_int_eq(find_entry(&r.log, "for use") == NULL, i == 0);
        clear_wind_result(&r);
    }
}
END_TEST

START_TEST(igra_worked_example)
{
    /* C: the format's example row is 925 hPa, 712 m, -1.2 degC, from 41 deg at 2.6
     * m/s; X: u -1.71, v -1.96. Rows come out by height, the surface wind 10 m
     * above the station. */
    wind_result r = read_wind_text(
        IGRA_HEAD("01", "00", "   4") IGRA_SURFACE IGRA_NO_WIND IGRA_ROW IGRA_WIND, NULL);
    ck_assert_int_eq(r.status, PAPPUS_OK);
    const pappus_wind_profile *p = &r.winds->profiles[0];
    static const double heights_m[] = {12, 22, 309, 547, 712};
    ck_assert_uint_eq(p->level_count, 5);
    ck_assert_uint_eq(p->read_count, 4);
    for (size_t i = 0; i < 5; i++) {
        ck_assert_double_eq(p->levels[i].height_m, heights_m[i]);
        ck_assert_int_eq(p->levels[i].height_kind, PAPPUS_HEIGHT_MSL_GEOPOTENTIAL);
    }
    ck_assert_double_eq_tol(p->levels[4].u_mps, -1.71, 0.005);
    ck_assert_double_eq_tol(p->levels[4].v_mps, -1.96, 0.005);
    ck_assert_double_eq_tol(p->levels[4].temperature_k, 273.15 - 1.2, 1e-9);
    ck_assert_double_eq(p->levels[4].pressure_pa, 92500.0);
    ck_assert(isnan(p->levels[0].u_mps) && p->levels[0].pressure_pa == 100980.0);
    ck_assert(!isnan(p->levels[1].u_mps) && isnan(p->levels[1].temperature_k));
    ck_assert(isnan(p->levels[2].u_mps) && isnan(p->levels[3].temperature_k));
    ck_assert_double_eq(p->station_elevation_msl_m, 12.0);
    /* 2010-06-01T00Z by date(1) */
    ck_assert_double_eq(p->issued_utc_s, 1275350400.0);
    clear_wind_result(&r);
}
END_TEST

START_TEST(igra_newest_asked_and_hour_missing)
{
    static const char text[] = IGRA_HEAD("02", "12", "   1") IGRA_ROW IGRA_HEAD("01", "00", "   1")
        IGRA_WIND IGRA_HEAD("01", "99", "   1") IGRA_ROW;
    wind_result r = read_wind_text(text, NULL);
    ck_assert_int_eq(r.status, PAPPUS_OK);
    ck_assert_double_eq(r.winds->profiles[0].issued_utc_s, 1275350400.0 + 36 * 3600);
    clear_wind_result(&r);
    r = read_wind_text_at(text, NULL, 1275350400.0, NAN);
    ck_assert_int_eq(r.status, PAPPUS_OK);
    ck_assert_double_eq(r.winds->profiles[0].levels[0].height_m, 547.0);
    clear_wind_result(&r);
    /* hour 99: the release, 23:03 */
    r = read_wind_text_at(text, NULL, 1275350400.0 + 23 * 3600 + 180, NAN);
    ck_assert_int_eq(r.status, PAPPUS_OK);
    ck_assert_double_eq(r.winds->profiles[0].levels[0].height_m, 712.0);
    clear_wind_result(&r);
}
END_TEST

START_TEST(igra_levels_left_out)
{
    /* neither height nor pressure; removed wind with a temperature; a direction of 999 */
    wind_result r = read_wind_text(
        IGRA_HEAD("01", "00",
                  "   4") "10   242  -9999 -9999   -12B  954     7    41    26\n"
                          "10   242  92500   800B  -12B  954     7 -8888 -8888\n"
                          "10   242  92500   900B  -12B  954     7   999    26\n" IGRA_ROW,
        NULL);
    ck_assert_int_eq(r.status, PAPPUS_OK);
    const pappus_wind_profile *p = &r.winds->profiles[0];
    ck_assert_uint_eq(p->read_count, 4);
    ck_assert_uint_eq(p->refused_count, 2);
    ck_assert_uint_eq(p->level_count, 2);
    const pappus_log_entry *no_height = find_entry(&r.log, "no height");
    const pappus_log_entry *direction = find_entry(&r.log, "0 to 360");
    ck_assert(no_height && no_height->severity == PAPPUS_NOTE);
    ck_assert_str_eq(no_height->error.key, "row 2");
    ck_assert(direction && direction->severity == PAPPUS_WARNING);
    ck_assert_str_eq(direction->error.key, "row 4, column WDIR");
    clear_wind_result(&r);
}
END_TEST

START_TEST(igra_whole_sounding_of_a_cut_file)
{
    wind_result r =
        read_wind_text_at(IGRA_HEAD("01", "00", "   1") IGRA_ROW IGRA_HEAD("02", "00", " 147"),
                          NULL, 1275350400.0, NAN);
    ck_assert_int_eq(r.status, PAPPUS_OK);
    const pappus_log_entry *entry = find_entry(&r.log, "cut short");
    ck_assert(entry && entry->severity == PAPPUS_WARNING);
    ck_assert_str_eq(entry->error.key, "row 3");
    clear_wind_result(&r);
}
END_TEST

START_TEST(layers_with_every_unit)
{
    /* C: exact definitions of foot, knot, mile; 50 degF is 10 degC */
    static const struct {
        const char *text;
        pappus_height_kind kind;
        double height_m, u_mps, v_mps, temperature_k;
    } cases[] = {
        {"height_agl_m,direction_deg,speed_mps\n100,270,5\n", PAPPUS_HEIGHT_AGL, 100, 5, 0, NAN},
        {"height_msl_ft,direction_deg,speed_kt\n1000,180,10\n", PAPPUS_HEIGHT_MSL, 304.8, 0,
         10 * KT, NAN},
        {"height_pressure_ft,direction_deg,speed_mph\n1000,0,10\n", PAPPUS_HEIGHT_PRESSURE, 304.8,
         0, -4.4704, NAN},
        {"height_geopotential_km,u_kph,v_fps\n1.5,36,10\n", PAPPUS_HEIGHT_MSL_GEOPOTENTIAL, 1500,
         10, 3.048, NAN},
        {"HEIGHT_AGL_M,u_mps,v_mps,temperature_degF,cloud\n7,1,-2,50,x\n", PAPPUS_HEIGHT_AGL, 7, 1,
         -2, 283.15},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        wind_result r = read_wind_text(cases[i].text, NULL);
        ck_assert_int_eq(r.status, PAPPUS_OK);
        const pappus_wind_level *level = &r.winds->profiles[0].levels[0];
        ck_assert_int_eq(level->height_kind, cases[i].kind);
        ck_assert_double_eq_tol(level->height_m, cases[i].height_m, 1e-9);
        ck_assert_double_eq_tol(level->u_mps, cases[i].u_mps, 1e-9);
        ck_assert_double_eq_tol(level->v_mps, cases[i].v_mps, 1e-9);
        ck_assert(isnan(cases[i].temperature_k)
                      ? isnan(level->temperature_k)
                      : fabs(level->temperature_k - cases[i].temperature_k) < 1e-9);
        clear_wind_result(&r);
    }
}
END_TEST

START_TEST(layers_repaired)
{
    /* BOM, CRLF, comment, quotes, spaces, a blank line; unsorted, repeated, 360, an
     * empty row of wind, a calm without direction */
    wind_result r = read_wind_text("\xEF\xBB\xBF# notes, \"here\"\r\n"
                                   "\"height_agl_m\", direction_deg ,speed_mps\r\n\r\n"
                                   "300,360,\"5\"\r\n100, 90 ,4\r\n100,90,4\r\n200,,\r\n120,,0\r\n",
                                   NULL);
    ck_assert_int_eq(r.status, PAPPUS_OK);
    const pappus_wind_profile *p = &r.winds->profiles[0];
    ck_assert_uint_eq(p->read_count, 5);
    ck_assert_uint_eq(p->level_count, 3);
    /* 360, a row out of order (100 after 300), one repeated */
    ck_assert_uint_eq(p->repaired_count, 3);
    ck_assert_uint_eq(p->refused_count, 1);
    ck_assert_double_eq(p->levels[1].height_m, 120.0);
    ck_assert(p->levels[1].u_mps == 0.0 && p->levels[1].v_mps == 0.0);
    ck_assert_double_eq_tol(p->levels[0].u_mps, -4.0, 1e-12);
    ck_assert(fabs(p->levels[2].u_mps) < 1e-12 && fabs(p->levels[2].v_mps + 5.0) < 1e-12);
    ck_assert_str_eq(find_entry(&r.log, "360")->error.key, "row 4");
    ck_assert_str_eq(find_entry(&r.log, "height order")->error.key, "row 5");
    ck_assert_str_eq(find_entry(&r.log, "repeats")->error.key, "row 6");
    ck_assert_str_eq(find_entry(&r.log, "left out")->error.key, "row 7");
    clear_wind_result(&r);
}
END_TEST

START_TEST(layers_with_times)
{
    wind_result r = read_wind_text("time,issued,height_agl_m,u_mps,v_mps\n"
                                   "2027-04-17T16:00Z,2027-04-17T12Z,10,1,2\n"
                                   "2027-04-17T15:00Z,2027-04-17T12Z,10,3,4\n"
                                   "2027-04-17T16:00Z,2027-04-17T12Z,20,5,6\n",
                                   NULL);
    ck_assert_int_eq(r.status, PAPPUS_OK);
    ck_assert_uint_eq(r.winds->profile_count, 2);
    /* 2027-04-17T15Z is 1807974000 by date(1) */
    ck_assert_double_eq(r.winds->profiles[0].valid_utc_s, 1807974000.0 + 3600);
    ck_assert_uint_eq(r.winds->profiles[0].level_count, 2);
    ck_assert_double_eq(r.winds->profiles[1].issued_utc_s,
                        r.winds->profiles[1].valid_utc_s - 3 * 3600);
    clear_wind_result(&r);
}
END_TEST

START_TEST(strong_wind_low_down_is_pointed_out)
{
    wind_result r = read_wind_text("height_agl_m,direction_deg,speed_mps\n500,270,60\n", NULL);
    ck_assert_int_eq(r.status, PAPPUS_OK);
    ck_assert_ptr_nonnull(find_entry(&r.log, "check the unit"));
    clear_wind_result(&r);
}
END_TEST

#define L "height_agl_m,direction_deg,speed_kt\n"
#define LT "time,height_agl_m,u_mps,v_mps\n"
#define FB(line) FB_HEAD line
#define IG(row) IGRA_HEAD("01", "00", "   1") row

/* Every one is refused; the first fault has this key and this part of a message. */
static const struct {
    const char *text, *station, *key, *part;
} bad[] = {
    {"", NULL, "", "empty"},
    {"hello\n", NULL, "", "not a wind file"},
    {"# only a comment\n", NULL, "", "not a wind file"},
    {"height_agl_m,\x01\x02\n", NULL, "", "not a wind file"},
    {"a,b,c\n1,2,3\n", NULL, "row 1, column names", "no column of heights"},
    {"height_agl_m,b\n1,2\n", NULL, "row 1, column names", "no complete wind"},
    {"height_agl_m,direction_deg\n1,2\n", NULL, "row 1, column names", "no complete wind"},
    {"height_agl_m,u_mps\n1,2\n", NULL, "row 1, column names", "no complete wind"},
    {"height_agl_m,direction_deg,speed_mps,u_mps,v_mps\n", NULL, "row 1, column names", "both"},
    {"height_agl_m,direction_deg,speed\n1,2,3\n", NULL, "row 2, column speed", "without its unit"},
    {"height,direction_deg,speed_kt\n1,2,3\n", NULL, "row 2, column height", "without its unit"},
    {"height_agl_m,height_agl_ft,u_mps,v_mps\n", NULL, "row 1, column names", "same quantity"},
    {L, NULL, "", "no row"},
    {L "10,270,5\n20,270\n", NULL, "row 3", "2 cells where the header has 3"},
    {L "10,270,5,9\n", NULL, "row 2", "4 cells"},
    {L "10,270,\"5\n", NULL, "row 2", "never closed"},
    {L "10,270,\"5\"x\n", NULL, "row 2", "closing quote"},
    {L "10,270,nan\n", NULL, "row 2, column speed_kt", "finite number"},
    {L "10,270,inf\n", NULL, "row 2, column speed_kt", "finite number"},
    {L "10,270,1e999\n", NULL, "row 2, column speed_kt", "finite number"},
    {L "10,270,0x10\n", NULL, "row 2, column speed_kt", "finite number"},
    {L "10,270,5 m/s\n", NULL, "row 2, column speed_kt", "finite number"},
    {L "10,361,5\n", NULL, "row 2, column direction_deg", "0 to 360"},
    {L "10,-1,5\n", NULL, "row 2, column direction_deg", "0 to 360"},
    {L "10,270,-5\n", NULL, "row 2, column speed_kt", "0 or more"},
    {L "10,270,300\n", NULL, "row 2, column speed_kt", "150 m/s"},
    {L "10,270,\n", NULL, "row 2, column speed_kt", "without a speed"},
    {L "10,,5\n", NULL, "row 2, column direction_deg", "without a direction"},
    {L "10,270,5\n10,280,5\n", NULL, "row 3, column height_agl_m", "row 2 has"},
    {L "-9999,270,5\n", NULL, "row 2, column height_agl_m", "-1000 m"},
    {L "200000,270,5\n", NULL, "row 2, column height_agl_m", "100 km"},
    {L "10,,\n20,,\n", NULL, "", "no level has a wind"},
    {"height_agl_m,height_msl_m,u_mps,v_mps\n1,2,3,4\n", NULL, "row 2, column height_msl_m",
     "second height"},
    {"height_agl_m,u_mps,v_mps\n1,2,\n", NULL, "row 2, column v_mps", "without the other"},
    {"height_agl_m,u_mps,v_mps\n1,120,120\n", NULL, "row 2, column u_mps", "150 m/s"},
    {"height_agl_m,u_mps,v_mps,temperature_degC\n1,2,3,300\n", NULL,
     "row 2, column temperature_degC", "76 degC"},
    {"height_agl_m,u_mps,v_mps,pressure_hPa\n1,2,3,98000\n", NULL, "row 2, column pressure_hPa",
     "1200 hPa"},
    {"height_agl_m,u_mps,v_mps,speed_sd_mps\n1,2,3,-1\n", NULL, "row 2, column speed_sd_mps",
     "standard deviation"},
    {LT "2027-04-17 15:00 CDT,1,2,3\n", NULL, "row 2, column time", "accepted"},
    {LT "2027-04-31T15Z,1,2,3\n", NULL, "row 2, column time", ""},
    {LT ",1,2,3\n", NULL, "row 2, column time", ""},
    {FB_TEXT, NULL, "station", "not given; accepted is one of ECK QQQ"},
    {FB_TEXT, "XYZ", "station", "not in the bulletin"},
    {FB("ECK 3222 31X6-08\n"), "ECK", "row 5, column 6000 ft", "not a wind group"},
    {FB("ECK 4022\n"), "ECK", "row 5, column 3000 ft", "not a wind group"},
    {FB("ECK 0022\n"), "ECK", "row 5, column 3000 ft", "not a wind group"},
    {FB("ECK 8722\n"), "ECK", "row 5, column 3000 ft", "not a wind group"},
    {FB("ECK 322\n"), "ECK", "row 5, column 3000 ft", "not a wind group"},
    {FB("ECK 3222 313608\n"), "ECK", "row 5, column 6000 ft", "not a wind group"},
    {FB("ECK\n"), "ECK", "", "no level has a wind"},
    {FB("ECK 3222 3136-08 3139-07 3251-09 3287-17 8202-29 801944 803151 792554 123456\n"), "ECK",
     "row 5", "behind the last column"},
    {"DATA BASED ON 990000Z\n", "ECK", "row 1, column DATA BASED ON", "180600Z"},
    {"DATA BASED ON 180000Z\nVALID soon\n", "ECK", "row 2, column VALID", "180600Z"},
    {"DATA BASED ON 180000Z\nFT 6000 3000\n", "ECK", "row 2, column FT", "rising heights"},
    {"DATA BASED ON 180000Z\nFT  3000  781457\nECK 3222 7799\n", "ECK", "row 2, column FT",
     "60000 ft"},
    {IGRA_HEAD("01", "00", "   2") IGRA_ROW, NULL, "row 1, column NUMLEV", "cut short"},
    {IGRA_HEAD("01", "00", "   1") IGRA_ROW IGRA_WIND, NULL, "row 1, column NUMLEV", "damaged"},
    {IGRA_HEAD("01", "00", "   1") IGRA_ROW IGRA_HEAD("02", "00", " 147"), NULL,
     "row 3, column NUMLEV", "\"sounding\": \"2010-06-01T00:00:00Z\""},
    {IGRA_HEAD("01", "00", "   x") IGRA_ROW, NULL, "row 1, column NUMLEV", "columns 33 to 36"},
    {IGRA_HEAD("31", "00", "   1") IGRA_ROW, NULL, "row 1, column YEAR to HOUR", "no such time"},
    {IG("10   242  92500   712B  -12B  954     7    41\n"), NULL, "row 2", "cut short"},
    {IG("10   242  92500   712B  -12B  954     7    4x    26\n"), NULL, "row 2, column WDIR",
     "whole number"},
    {IG("10   242  92500   7 2B  -12B  954     7    41    26\n"), NULL, "row 2, column GPH",
     "whole number"},
    {IG(IGRA_NO_WIND), NULL, "", "no level has a wind"},
};

START_TEST(bad_inputs_are_refused_in_one_line)
{
    wind_result r = read_wind_text(bad[_i].text, bad[_i].station);
    ck_assert_msg(r.status == PAPPUS_E_WIND, "case %d was read", _i);
    ck_assert_ptr_null(r.winds);
    ck_assert_uint_ge(pappus_log_faults(&r.log), 1);
    for (size_t i = 0; i < r.log.count; i++) {
        const pappus_error *error = &r.log.entries[i].error;
        char line[1200];
        ck_assert_str_eq(error->file, "wind.txt");
        pappus_error_line(line, sizeof line, error);
        ck_assert_ptr_null(strchr(line, '\n'));
        if (r.log.entries[i].severity != PAPPUS_FAULT) continue;
        ck_assert_msg(strcmp(error->key, bad[_i].key) == 0 && strstr(error->message, bad[_i].part),
                      "case %d: %s", _i, line);
        break;
    }
    clear_wind_result(&r);
}
END_TEST

START_TEST(all_faults_at_once)
{
    wind_result r = read_wind_text(L "10,361,5\n20,270,x\n30,270\n40,270,400\n", NULL);
    ck_assert_uint_eq(pappus_log_faults(&r.log), 4);
    clear_wind_result(&r);
}
END_TEST

START_TEST(thousand_faults_are_not_all_told)
{
    enum { ROWS = 1000 };
    static char text[64 + ROWS * 16] = L;
    size_t length = strlen(text);
    for (int i = 0; i < ROWS; i++)
        length += (size_t)snprintf(text + length, sizeof text - length, "%d,361,5\n", i);
    wind_result r = read_wind_text(text, NULL);
    ck_assert_int_eq(r.status, PAPPUS_E_WIND);
    ck_assert_uint_eq(pappus_log_faults(&r.log), 21);
    clear_wind_result(&r);
}
END_TEST

/* Bytes that this process has read so far (proc(5), rchar). */
static long long bytes_read(void)
{
    long long bytes = -1;
    FILE *file = fopen("/proc/self/io", "r");
    ck_assert_ptr_nonnull(file);
    ck_assert_int_eq(fscanf(file, "rchar: %lld", &bytes), 1);
    fclose(file);
    return bytes;
}

START_TEST(gigabyte_of_zeros_is_refused_at_once)
{
    char path[] = "/tmp/pappus-wind-XXXXXX";
    int fd = mkstemp(path);
    pappus_log log = {0};
    pappus_winds *winds = NULL;
    pappus_profile_source source = {path, NULL, NAN, NAN, 1.0, PAPPUS_WIND_SOUNDING, false};
    ck_assert_int_ge(fd, 0);
    ck_assert_int_eq(ftruncate(fd, (off_t)1 << 30), 0);
    long long before = bytes_read();
    ck_assert_int_eq(pappus_wind_file_read(&winds, &source, &log), PAPPUS_E_WIND);
    ck_assert_int_lt(bytes_read() - before, 1 << 20);
    /* the same behind a good header */
    ck_assert_int_eq(pwrite(fd, L, strlen(L), 0), (ssize_t)strlen(L));
    ck_assert_int_eq(pappus_wind_file_read(&winds, &source, &log), PAPPUS_E_WIND);
    ck_assert_ptr_null(winds);
    close(fd);
    unlink(path);
    pappus_log_clear(&log);
}
END_TEST

START_TEST(more_than_64_mebibytes_are_refused)
{
    char path[] = "/tmp/pappus-wind-XXXXXX";
    static char lines[1 << 20];
    int fd = mkstemp(path);
    pappus_log log = {0};
    pappus_winds *winds = NULL;
    pappus_profile_source source = {path, NULL, NAN, NAN, 1.0, PAPPUS_WIND_SOUNDING, false};
    ck_assert_int_ge(fd, 0);
    memset(lines, '\n', sizeof lines);
    ck_assert_int_eq(write(fd, L, strlen(L)), (ssize_t)strlen(L));
    for (int i = 0; i < 64; i++)
        ck_assert_int_eq(write(fd, lines, sizeof lines), (ssize_t)sizeof lines);
    ck_assert_int_eq(pappus_wind_file_read(&winds, &source, &log), PAPPUS_E_WIND);
    ck_assert_ptr_nonnull(find_entry(&log, "64 MiB"));
    close(fd);
    unlink(path);
    pappus_log_clear(&log);
}
END_TEST

START_TEST(missing_file_and_folder)
{
    pappus_log log = {0};
    pappus_winds *winds = NULL;
    char none[] = "/nowhere/wind.csv", folder[] = "/tmp";
    pappus_profile_source sources[] = {{none, NULL, NAN, NAN, 1.0, PAPPUS_WIND_SOUNDING, false},
                                       {folder, NULL, NAN, NAN, 1.0, PAPPUS_WIND_SOUNDING, false}};
    for (size_t i = 0; i < 2; i++)
        ck_assert_int_eq(pappus_wind_file_read(&winds, &sources[i], &log), PAPPUS_E_WIND);
    ck_assert_uint_eq(log.count, 2);
    pappus_log_clear(&log);
}
END_TEST

START_TEST(example_profiles_read)
{
    static const char *const names[] = {"evening", "noon"};
    for (size_t i = 0; i < 2; i++) {
        char path[512];
        pappus_log log = {0};
        pappus_winds *winds = NULL;
        snprintf(path, sizeof path, "%s/wind/%s.csv", SOURCE_DIR, names[i]);
        pappus_profile_source source = {path, NULL, NAN, NAN, 1.0, PAPPUS_WIND_SOUNDING, false};
        ck_assert_int_eq(pappus_wind_file_read(&winds, &source, &log), PAPPUS_OK);
        ck_assert_uint_eq(winds->profiles[0].level_count, 9);
        ck_assert_uint_eq(log.count, 0);
        pappus_winds_free(winds);
        pappus_log_clear(&log);
    }
}
END_TEST

/* A bulletin for use from the very time it is valid at: two hours before is too early. */
START_TEST(a_bulletin_for_use_from_valid_on)
{
    static const char text[] =
        "DATA BASED ON 180000Z\n"
        "VALID 180600Z   FOR USE 0600-0900Z. TEMPS NEG ABV 24000\n\n"
        "FT  3000    6000    9000   12000   18000   24000  30000  34000  39000\n" FB_ECK;
    for (int early = 0; early < 2; early++) {
        double launch_utc_s = 1808028000.0 - 7200.0 * early; /* 2027-04-18T06:00Z, date(1) */
        wind_result r = read_wind_text_at(text, "ECK", NAN, launch_utc_s);
        ck_assert_int_eq(r.status, PAPPUS_OK);
        ck_assert_int_eq(find_entry(&r.log, "for use") != NULL, early);
        clear_wind_result(&r);
    }
}
END_TEST

SUITE("wind files")
{
    tcase_add_test(tests, bulletin_worked_example);
    tcase_add_test(tests, bulletin_light_missing_and_strong);
    tcase_add_test(tests, bulletin_month_is_the_nearest);
    tcase_add_test(tests, igra_worked_example);
    tcase_add_test(tests, igra_newest_asked_and_hour_missing);
    tcase_add_test(tests, igra_levels_left_out);
    tcase_add_test(tests, igra_whole_sounding_of_a_cut_file);
    tcase_add_test(tests, layers_with_every_unit);
    tcase_add_test(tests, layers_repaired);
    tcase_add_test(tests, layers_with_times);
    tcase_add_test(tests, strong_wind_low_down_is_pointed_out);
    tcase_add_loop_test(tests, bad_inputs_are_refused_in_one_line, 0,
                        (int)(sizeof bad / sizeof *bad));
    tcase_add_test(tests, all_faults_at_once);
    tcase_add_test(tests, thousand_faults_are_not_all_told);
    tcase_add_test(tests, gigabyte_of_zeros_is_refused_at_once);
    tcase_add_test(tests, more_than_64_mebibytes_are_refused);
    tcase_add_test(tests, missing_file_and_folder);
    tcase_add_test(tests, example_profiles_read);
    tcase_add_test(tests, a_bulletin_for_use_from_valid_on);
}
