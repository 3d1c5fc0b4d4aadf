/* SPDX-License-Identifier: GPL-3.0-or-later
 * Layer tables as people type them, good and bad: what is read must be what is meant, and
 * what can be read in two ways must be refused in one line that says how to write it.
 * Values by the exact definitions (C: 1 ft 0.3048 m, 1 kt 1852/3600 m/s, 1 mph 0.44704 m/s),
 * components by u = -s sin d, v = -s cos d (X). */
#include "suite.h"
#include "wind_texts.h"

#include <check.h>
#include <stdio.h>

#define FT 0.3048
#define KT (1852.0 / 3600.0)
#define MPH 0.44704
#define KPH (1.0 / 3.6)
#define AGL PAPPUS_HEIGHT_AGL
#define MSL PAPPUS_HEIGHT_MSL
#define GEO PAPPUS_HEIGHT_MSL_GEOPOTENTIAL
#define STD PAPPUS_HEIGHT_PRESSURE

/* The lowest level of a table that must be read; count of its levels. */
typedef struct {
    const char *text;
    pappus_height_kind kind;
    double height_m, direction_deg, speed_mps;
    size_t levels;
} good_table;

static const good_table good[] = {
    /* names */
    {"Height (ft MSL),Direction (deg),Speed (kt)\n1200,240,8\n", MSL, 1200 * FT, 240, 8 * KT, 1},
    {"Height [ft AGL],Wind Dir,Wind Speed [knots]\n1000,240,8\n", AGL, 1000 * FT, 240, 8 * KT, 1},
    {"height_agl_m,dir,speed_kmh\n300,240,36\n", AGL, 300, 240, 10, 1},
    {"altitude_msl_ft,dir_deg,spd_kt\n1200,240,8\n", MSL, 1200 * FT, 240, 8 * KT, 1},
    {"Altitude AGL (m),Direction,Speed (m/s)\n300,240,5\n", AGL, 300, 240, 5, 1},
    {"Alt AGL ft,Wind from,Wind mph\n1000,240,8\n", AGL, 1000 * FT, 240, 8 * MPH, 1},
    {"ALT MSL FT,WDIR,WSPD KT\n1200,240,8\n", MSL, 1200 * FT, 240, 8 * KT, 1},
    {"Height above ground (m),Wind direction (degrees true),Wind speed (km/h)\n300,240,36\n", AGL,
     300, 240, 10, 1},
    {"Height above mean sea level (feet),Direction (\xC2\xB0),Speed (MPH)\n1200,240,8\n", MSL,
     1200 * FT, 240, 8 * MPH, 1},
    {"Pressure altitude (ft),direction,speed (kts)\n3000,240,8\n", STD, 3000 * FT, 240, 8 * KT, 1},
    {"geopotential height (m),direction,speed (m/s)\n300,240,5\n", GEO, 300, 240, 5, 1},
    {"height_agl_ft,wind_deg,wind_kt\n1000,240,8\n", AGL, 1000 * FT, 240, 8 * KT, 1},
    {"AGL (ft),Dir,Speed (ft/s)\n1000,240,10\n", AGL, 1000 * FT, 240, 10 * FT, 1},
    {"height agl m,windspeed m/s,winddirection deg\n300,5,240\n", AGL, 300, 240, 5, 1},
    {"height_agl_m,direction_deg,speed_mps,gust_mps,Remarks\n300,240,5,9,bumpy\n", AGL, 300, 240, 5,
     1},
    {"height_agl_m,u_component_mps,v (m/s)\n300,5,0\n", AGL, 300, 270, 5, 1},
    /* what parts the cells */
    {"height_agl_m;direction_deg;speed_mps\n300;240;5\n", AGL, 300, 240, 5, 1},
    {"height_agl_m\tdirection_deg\tspeed_mps\n300\t240\t5\n", AGL, 300, 240, 5, 1},
    {"height_agl_m direction_deg speed_mps\n300 240 5\n  600   250  8 \n", AGL, 300, 240, 5, 2},
    {"Height (ft MSL)  Dir (deg)  Speed (kt)\n1200  240  8\n", MSL, 1200 * FT, 240, 8 * KT, 1},
    {"Height (ft MSL) Dir (deg) Speed (kt)\n1200 240 8\n", MSL, 1200 * FT, 240, 8 * KT, 1},
    {"Height AGL    Wind dir   Wind speed\n1000 ft       240 deg    8 kt\n", AGL, 1000 * FT, 240,
     8 * KT, 1},
    {"Height, ft AGL\tDirection\tSpeed, kt\n1000\t240\t8\n", AGL, 1000 * FT, 240, 8 * KT, 1},
    {"height_agl_m,\tdirection_deg,\tspeed_mps\n300,\t240,\t5\n", AGL, 300, 240, 5, 1},
    {"height_agl_m;direction_deg;speed_mps;;\n300;240;5;;\n;;;;\n", AGL, 300, 240, 5, 1},
    {"height_agl_m,direction_deg,speed_mps\n300,240,5,,\n,,\n", AGL, 300, 240, 5, 1},
    {"# typed at the pad\n\nheight_agl_m;direction_deg;speed_mps\r\n300;240;5\r\n", AGL, 300, 240,
     5, 1},
    {"\"Height (m, AGL)\",Dir,\"Speed (m/s)\"\n300,240,5\n", AGL, 300, 240, 5, 1},
    /* decimals */
    {"height_agl_m;direction_deg;speed_mps\n300;240;7,5\n", AGL, 300, 240, 7.5, 1},
    {"height_agl_m\tdirection_deg\tspeed_mps\n300,5\t240\t7,25\n", AGL, 300.5, 240, 7.25, 1},
    {"height_agl_m;direction_deg;speed_mps\n1.500;240;7,5\n", AGL, 1500, 240, 7.5, 1},
    {"height_agl_m;direction_deg;speed_mps\n1.234,5;240;7\n", AGL, 1234.5, 240, 7, 1},
    {"height_agl_m,direction_deg,speed_mps\n\"1,500\",240,7.5\n", AGL, 1500, 240, 7.5, 1},
    {"height_agl_m,direction_deg,speed_mps\n\"300,5\",240,\"7,5\"\n", AGL, 300.5, 240, 7.5, 1},
    {"height_agl_ft;direction_deg;speed_mps\n12,500;240;7.5\n", AGL, 12500 * FT, 240, 7.5, 1},
    {"height_agl_km,direction_deg,speed_mps\n1.500,240,7.250\n", AGL, 1500, 240, 7.25, 1},
    {"height_agl_m;direction_deg;speed_mps\n300;240;0,125\n", AGL, 300, 240, 0.125, 1},
    {"height_agl_m;direction_deg;speed_mps\n300;240;0.125\n", AGL, 300, 240, 0.125, 1},
    {"height_agl_m;u_mps;v_mps\n300;\xE2\x88\x92"
     "5,0;0,0\n",
     AGL, 300, 90, 5, 1},
    /* units and words in cells */
    {"height,direction,speed\n1000 ft AGL,240 deg,8 kt\n", AGL, 1000 * FT, 240, 8 * KT, 1},
    {"altitude,direction,speed\n1200ft MSL,240\xC2\xB0,8kt\n", MSL, 1200 * FT, 240, 8 * KT, 1},
    {"height_agl_ft,direction_deg,speed_kt\n1000 ft,240 deg,8 kt\n", AGL, 1000 * FT, 240, 8 * KT,
     1},
    {"Height AGL;Dir;Speed\n300 m;WSW;7,5 m/s\n", AGL, 300, 247.5, 7.5, 1},
    {"height_agl_m,direction,speed_mps\n300,sw,5\n", AGL, 300, 225, 5, 1},
    {"height_agl_m,direction_deg,speed_mps\n300,NNE,5\n", AGL, 300, 22.5, 5, 1},
    {"height_agl_m,direction_deg,speed_mps\n300,calm,0\n", AGL, 300, 0, 0, 1},
    {"height_agl_m,direction_deg,speed_mps,temperature_degC\n300,240,5,--\n600,-,-,7\n", AGL, 300,
     240, 5, 2},
    {"height_agl_m,direction_deg,speed_mps,Temp (C)\n300,240,5,N/A\n", AGL, 300, 240, 5, 1},
    {"height_agl_m,direction,speed\n300,240,36 km/h\n", AGL, 300, 240, 10, 1},
};

START_TEST(good_tables_are_read)
{
    const good_table *g = &good[_i];
    wind_result r = read_wind_text(g->text, NULL);
    ck_assert_msg(r.status == PAPPUS_OK, "%s%s", g->text,
                  r.log.count ? r.log.entries[0].error.message : "");
    const pappus_wind_profile *p = &r.winds->profiles[0];
    double angle = g->direction_deg * M_PI / 180.0;
    ck_assert_uint_eq(p->level_count, g->levels);
    ck_assert_msg(p->levels[0].height_kind == g->kind, "%s", g->text);
    ck_assert_double_eq_tol(p->levels[0].height_m, g->height_m, 1e-9);
    ck_assert_double_eq_tol(p->levels[0].u_mps, -g->speed_mps * sin(angle), 1e-9);
    ck_assert_double_eq_tol(p->levels[0].v_mps, -g->speed_mps * cos(angle), 1e-9);
    for (size_t i = 0; i < r.log.count; i++)
        ck_assert_int_eq(r.log.entries[i].severity, PAPPUS_NOTE);
    clear_wind_result(&r);
}
END_TEST

#define L "height_agl_m,direction_deg,speed_kt\n"
#define S "height_agl_m;direction_deg;speed_mps\n"

/* Refused: the key and a part of the message of the first fault. */
static const struct {
    const char *text, *key, *part;
} bad[] = {
    {"Height (ft),Direction,Speed (kt)\n1000,240,8\n", "row 2, column Height (ft)",
     "above the ground or above the sea?"},
    {"altitude,direction,speed_kt\n1000 ft,240,8\n", "row 2, column altitude",
     "height_agl_ft (above the pad)"},
    {"altitude,direction,speed_kt\n1000,240,8\n", "row 2, column altitude", "without its unit"},
    {"height_agl_m,direction,speed\n300,240,5 kt\n600,240,8\n", "row 3, column speed",
     "as in 12 kt"},
    {"height_agl_m,direction,wind\n300,240,5\n", "row 1, column names", "speed_mps"},
    {"height_agl_m,direction to,speed_kt\n300,240,5\n", "row 1, column names", "comes from"},
    {"height_agl_m,Direction (deg magnetic),speed_kt\n300,240,5\n", "row 1, column names",
     "magnetic"},
    {"height_agl_m,direction_rad,speed_kt\n300,3,5\n", "row 1, column names", "degrees"},
    {"height_agl_m,direction,speed_kt\n300,240 degM,5\n", "row 2, column direction", "magnetic"},
    {"height_agl_m,direction,speed (furlongs)\n300,240,5\n", "row 1, column names",
     "not a known unit"},
    {"height_agl_m,direction,speed at 2 kt\n300,240,5\n", "row 1, column names", "not known"},
    {"height_agl_m,direction,windspeedkt\n300,240,5\n", "row 1, column names", "speed_mps"},
    {"height_agl_msl_m,direction,speed_kt\n300,240,5\n", "row 1, column names", "height_agl"},
    {"height_agl_nm,direction,speed_kt\n3,240,5\n", "row 1, column names", "not a known unit"},
    {"height_agl_m,direction,speed_kt,temperature_deg\n300,240,5,7\n", "row 1, column names",
     "temperature_degC"},
    {"height_agl_m,direction,speed_kt,temp\n300,240,5,7\n", "row 2, column temp",
     "without its unit"},
    {"time (CDT),height_agl_m,direction,speed_kt\n2027-04-17 10:00,300,240,5\n",
     "row 1, column names", "10:00 -05:00"},
    {"time,height_agl_m,direction,speed_kt\n2027-04-17 10:00,300,240,5\n", "row 2, column time",
     "with its zone"},
    {"time,height_agl_m,direction,speed_kt\n10:00,300,240,5\n", "row 2, column time",
     "2027-04-17 10:00 -05:00"},
    {"time height_agl_m direction speed_kt\n2027-04-17 10:00Z 300 240 5\n", "row 2",
     "two blanks or more"},
    {S "1,500;240;5\n", "row 2", "thousands or decimals?"},
    {S "1.500;240;5\n", "row 2", "thousands or decimals?"},
    {"height_agl_m,direction_deg,speed_mps\n\"1,500\",240,5\n", "row 2", "1500 for thousands"},
    {S "300;240;7,5\n600;250;8.5\n", "row 2", "in row 3 8.5 a decimal point"},
    {S "300;240;7,5\n600;250;1.2.3\n", "row 3, column speed_mps", "one finite number"},
    {S "300;240;12,34,5\n", "row 2, column speed_mps", "one finite number"},
    {S "1 500;240;5\n", "row 2, column height_agl_m", "one finite number"},
    {S "300;240;5 to 8\n", "row 2, column speed_mps", "one finite number"},
    {S "300;240;5-8\n", "row 2, column speed_mps", "one finite number"},
    {S "300;240;5 kt\n", "row 2, column speed_mps", "not what the column's name says"},
    {L "300 m MSL,240,5\n", "row 2, column height_agl_m", "not what the column's name says"},
    {L "300,7,5,240,5\n", "row 2", "part the cells by semicolons"},
    {L "300,VRB,5\n", "row 2, column direction_deg", "compass point"},
    {L "300,WSWW,5\n", "row 2, column direction_deg", "compass point"},
    {L "300,south by west,5\n", "row 2, column direction_deg", "compass point"},
    {"height_agl_m direction_deg speed_mps\n300 240\n", "row 2", "a missing one is a dash"},
    {"height_agl_m,member,direction_deg,speed_mps\n300,1.5,240,5\n", "row 2, column member",
     "whole number"},
    {"height_agl_m,member,direction_deg,speed_mps\n300,-1,240,5\n", "row 2, column member",
     "whole number"},
    {"height_agl_m,member,direction_deg,speed_mps\n300,,240,5\n", "row 2, column member",
     "whole number"},
    {"height_agl_m,kind,direction_deg,speed_mps\n300,guess,240,5\n", "row 2, column kind",
     "sounding and forecast"},
    {"height_agl_m,kind,direction_deg,speed_mps\n300,sounding,240,5\n600,forecast,240,5\n",
     "row 3, column kind", "another kind"},
    {"ft,deg,kt\n1000,240,8\n", "row 1, column names", "no column of heights"},
    {"Dear all; the wind is from the west\n", "", "not a wind file"},
    {"the wind was strong today\n", "", "not a wind file"},
};

START_TEST(bad_tables_are_refused_with_an_example)
{
    wind_result r = read_wind_text(bad[_i].text, NULL);
    ck_assert_msg(r.status == PAPPUS_E_WIND, "was read: %s", bad[_i].text);
    ck_assert_ptr_null(r.winds);
    const pappus_error *first = NULL;
    for (size_t i = 0; i < r.log.count && !first; i++)
        if (r.log.entries[i].severity == PAPPUS_FAULT) first = &r.log.entries[i].error;
    ck_assert_ptr_nonnull(first);
    ck_assert_msg(strcmp(first->key, bad[_i].key) == 0 && strstr(first->message, bad[_i].part),
                  "%s%s: %s", bad[_i].text, first->key, first->message);
    ck_assert_ptr_null(strchr(first->message, '\n'));
    clear_wind_result(&r);
}
END_TEST

START_TEST(members_are_profiles)
{
    wind_result r = read_wind_text("time (UTC),member,height_agl_m,u_mps,v_mps\n"
                                   "2027-04-17 15:00,0,10,1,2\n2027-04-17 15:00,1,10,3,4\n"
                                   "2027-04-17 15:00,0,20,5,6\n2027-04-17 16:00,0,10,7,8\n",
                                   NULL);
    ck_assert_int_eq(r.status, PAPPUS_OK);
    ck_assert_uint_eq(r.winds->profile_count, 3);
    const pappus_wind_profile *p = r.winds->profiles;
    ck_assert_int_eq(p[0].member, 0);
    ck_assert_int_eq(p[1].member, 1);
    ck_assert_int_eq(p[2].member, 0);
    ck_assert_uint_eq(p[0].level_count, 2);
    ck_assert_double_eq(p[0].valid_utc_s, 1807974000.0); /* by date(1) */
    ck_assert_double_eq(p[1].valid_utc_s, p[0].valid_utc_s);
    ck_assert_double_eq(p[2].valid_utc_s, 1807974000.0 + 3600);
    ck_assert(p[0].kind_assumed);
    clear_wind_result(&r);
}
END_TEST

START_TEST(kind_is_the_tables)
{
    wind_result r = read_wind_text("time,kind,height_agl_m,u_mps,v_mps\n"
                                   "2027-04-17 10:00 -05:00,sounding,10,1,2\n"
                                   "2027-04-17T16:00Z,forecast,10,1,2\n",
                                   NULL);
    ck_assert_int_eq(r.status, PAPPUS_OK);
    const pappus_wind_profile *p = r.winds->profiles;
    ck_assert(p[0].kind == PAPPUS_WIND_SOUNDING && !p[0].kind_assumed);
    ck_assert(p[1].kind == PAPPUS_WIND_FORECAST && !p[1].kind_assumed);
    ck_assert_double_eq(p[0].issued_utc_s, 1807974000.0); /* observed when it is for */
    ck_assert(isnan(p[1].issued_utc_s));
    clear_wind_result(&r);
}
END_TEST

START_TEST(top_down_is_no_repair)
{
    wind_result r = read_wind_text(L "900,270,9\n600,270,6\n300,270,3\n", NULL);
    ck_assert_int_eq(r.status, PAPPUS_OK);
    ck_assert_uint_eq(r.winds->profiles[0].repaired_count, 0);
    ck_assert_uint_eq(r.log.count, 0);
    ck_assert_double_eq(r.winds->profiles[0].levels[0].height_m, 300.0);
    clear_wind_result(&r);
    r = read_wind_text(L "900,270,9\n300,270,3\n600,270,6\n", NULL);
    ck_assert_uint_eq(r.winds->profiles[0].repaired_count, 1);
    ck_assert_ptr_nonnull(find_entry(&r.log, "height order"));
    clear_wind_result(&r);
}
END_TEST

SUITE("wind tables")
{
    tcase_add_loop_test(tests, good_tables_are_read, 0, (int)(sizeof good / sizeof *good));
    tcase_add_loop_test(tests, bad_tables_are_refused_with_an_example, 0,
                        (int)(sizeof bad / sizeof *bad));
    tcase_add_test(tests, members_are_profiles);
    tcase_add_test(tests, kind_is_the_tables);
    tcase_add_test(tests, top_down_is_no_repair);
}
