/* SPDX-License-Identifier: GPL-3.0-or-later
 * Units. Expected values are the definitions: international foot 0.3048 m and
 * pound 0.45359237 kg (yard and pound agreement, 1959; NIST SP 811 appendix B),
 * nautical mile 1852 m and knot (NIST SP 811), standard gravity 9.80665 m/s2 (3rd
 * CGPM, 1901), 0 degC = 273.15 K, 1 degF = 5/9 K from 459.67, conventional inch of
 * mercury 3386.389 Pa (NIST SP 811, rounded there to seven digits). All C. */
#include "german_locale.h"
#include "bearing.h"
#include "suite.h"
#include "timestamp.h"
#include "uncertain.h"
#include "units.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define LBF 4.4482216152605 /* 0.45359237 * 9.80665 */

static const struct {
    pappus_dimension dimension;
    const char *text;
    double si;
} accepted[] = {
    {PAPPUS_DIM_LENGTH, "700 ft", 213.36},
    {PAPPUS_DIM_LENGTH, "700ft", 213.36},
    {PAPPUS_DIM_LENGTH, "  700   ft  ", 213.36},
    {PAPPUS_DIM_LENGTH, "1.5 ft", 0.4572},
    {PAPPUS_DIM_LENGTH, ".5 ft", 0.1524},
    {PAPPUS_DIM_LENGTH, "5. ft", 1.524},
    {PAPPUS_DIM_LENGTH, "1.5e3 m", 1500},
    {PAPPUS_DIM_LENGTH, "1.5E+3 m", 1500},
    {PAPPUS_DIM_LENGTH, "-3 m", -3},
    {PAPPUS_DIM_LENGTH, "\u22123 m", -3},
    {PAPPUS_DIM_LENGTH, "+3 m", 3},
    {PAPPUS_DIM_LENGTH, "1 foot", 0.3048},
    {PAPPUS_DIM_LENGTH, "2 feet", 0.6096},
    {PAPPUS_DIM_LENGTH, "12 inch", 0.3048},
    {PAPPUS_DIM_LENGTH, "12 in", 0.3048},
    {PAPPUS_DIM_LENGTH, "12 inches", 0.3048},
    {PAPPUS_DIM_SIZE, "96 inch", 2.4384},
    {PAPPUS_DIM_LENGTH, "1 yd", 0.9144},
    {PAPPUS_DIM_LENGTH, "100 yards", 91.44},
    {PAPPUS_DIM_LENGTH, "1 mi", 1609.344},
    {PAPPUS_DIM_LENGTH, "2 miles", 3218.688},
    {PAPPUS_DIM_LENGTH, "1 nmi", 1852},
    {PAPPUS_DIM_LENGTH, "1 NM", 1852},
    {PAPPUS_DIM_LENGTH, "1 nautical mile", 1852},
    {PAPPUS_DIM_LENGTH, "1 km", 1000},
    {PAPPUS_DIM_LENGTH, "1 cm", 0.01},
    {PAPPUS_DIM_LENGTH, "98 mm", 0.098},
    {PAPPUS_DIM_LENGTH, "3 dm", 0.3},
    {PAPPUS_DIM_LENGTH, "3 metres", 3},
    {PAPPUS_DIM_LENGTH, "3 meter", 3},
    {PAPPUS_DIM_SPEED, "85 ft/s", 25.908},
    {PAPPUS_DIM_SPEED, "85 fps", 25.908},
    {PAPPUS_DIM_SPEED, "85 ft/sec", 25.908},
    {PAPPUS_DIM_SPEED, "60 fpm", 0.3048},
    {PAPPUS_DIM_SPEED, "60 ft/min", 0.3048},
    {PAPPUS_DIM_WIND_SPEED, "14 mph", 6.25856},
    {PAPPUS_DIM_WIND_SPEED, "14 mi/h", 6.25856},
    {PAPPUS_DIM_WIND_SPEED, "36 kph", 10},
    {PAPPUS_DIM_WIND_SPEED, "36 km/h", 10},
    {PAPPUS_DIM_WIND_SPEED, "36 kmh", 10},
    {PAPPUS_DIM_WIND_SPEED, "1 kt", 1852.0 / 3600},
    {PAPPUS_DIM_WIND_SPEED, "10 kts", 18520.0 / 3600},
    {PAPPUS_DIM_WIND_SPEED, "10 knots", 18520.0 / 3600},
    {PAPPUS_DIM_WIND_SPEED, "1 kn", 1852.0 / 3600},
    {PAPPUS_DIM_SPEED, "10 m/s", 10},
    {PAPPUS_DIM_SPEED, "10 mps", 10},
    {PAPPUS_DIM_SPEED, "10 m s-1", 10},
    {PAPPUS_DIM_SPEED, "10 m.s-1", 10},
    {PAPPUS_DIM_SPEED, "10 cm/s", 0.1},
    {PAPPUS_DIM_MASS, "10 lb", 4.5359237},
    {PAPPUS_DIM_MASS, "10 lbs", 4.5359237},
    {PAPPUS_DIM_MASS, "10 pounds", 4.5359237},
    {PAPPUS_DIM_MASS, "10 lbm", 4.5359237},
    {PAPPUS_DIM_MASS, "16 oz", 0.45359237},
    {PAPPUS_DIM_MASS, "16 ounces", 0.45359237},
    {PAPPUS_DIM_MASS, "40 g", 0.04},
    {PAPPUS_DIM_MASS, "40 grams", 0.04},
    {PAPPUS_DIM_MASS, "8.4 kg", 8.4},
    {PAPPUS_DIM_MASS, "1 slug", LBF / 0.3048},
    {PAPPUS_DIM_MASS, "500 mg", 0.0005},
    {PAPPUS_DIM_TIME, "1.5 s", 1.5},
    {PAPPUS_DIM_TIME, "1.5 sec", 1.5},
    {PAPPUS_DIM_TIME, "250 ms", 0.25},
    {PAPPUS_DIM_TIME, "2 min", 120},
    {PAPPUS_DIM_AGE, "3 h", 10800},
    {PAPPUS_DIM_AGE, "3 hr", 10800},
    {PAPPUS_DIM_AGE, "3 hours", 10800},
    {PAPPUS_DIM_AGE, "1 day", 86400},
    {PAPPUS_DIM_ANGLE, "240 deg", 240},
    {PAPPUS_DIM_ANGLE, "240\u00b0", 240},
    {PAPPUS_DIM_LATITUDE, "35.1808 deg", 35.1808},
    {PAPPUS_DIM_LATITUDE, "35.1808 degS", -35.1808},
    {PAPPUS_DIM_LONGITUDE, "97.4378 degW", -97.4378},
    {PAPPUS_DIM_LONGITUDE, "-97.4378 deg", -97.4378},
    {PAPPUS_DIM_DECLINATION, "3 degE", 3},
    {PAPPUS_DIM_TEMPERATURE, "27 degC", 300.15},
    {PAPPUS_DIM_TEMPERATURE, "27 \u00b0C", 300.15},
    {PAPPUS_DIM_TEMPERATURE, "-40 degC", 233.15},
    {PAPPUS_DIM_TEMPERATURE, "-40 degF", 233.15},
    {PAPPUS_DIM_TEMPERATURE, "32 degF", 273.15},
    {PAPPUS_DIM_TEMPERATURE, "212 F", 373.15},
    {PAPPUS_DIM_TEMPERATURE, "288.15 K", 288.15},
    {PAPPUS_DIM_PRESSURE, "982 hPa", 98200},
    {PAPPUS_DIM_PRESSURE, "982 mb", 98200},
    {PAPPUS_DIM_PRESSURE, "982 mbar", 98200},
    {PAPPUS_DIM_PRESSURE, "98.2 kPa", 98200},
    {PAPPUS_DIM_PRESSURE, "1 atm", 101325},
    {PAPPUS_DIM_GAUGE_PRESSURE, "1 psi", LBF / (0.0254 * 0.0254)},
    {PAPPUS_DIM_FORCE, "1 lbf", LBF},
    {PAPPUS_DIM_FORCE, "155 N", 155},
    {PAPPUS_DIM_FORCE, "1 kgf", 9.80665},
    {PAPPUS_DIM_FORCE, "1 kN", 1000},
    {PAPPUS_DIM_ENERGY, "1 ft lbf", 1.3558179483314004}, /* 0.3048 * LBF */
    {PAPPUS_DIM_ENERGY, "1 ft-lbf", 1.3558179483314004},
    {PAPPUS_DIM_ENERGY, "1 ft-lb", 1.3558179483314004},
    {PAPPUS_DIM_ENERGY, "1 ft.lbf", 1.3558179483314004},
    {PAPPUS_DIM_ENERGY, "100 J", 100},
    {PAPPUS_DIM_ENERGY, "100 N m", 100},
    {PAPPUS_DIM_AREA, "1 ft2", 0.09290304},
    {PAPPUS_DIM_AREA, "1 ft^2", 0.09290304},
    {PAPPUS_DIM_AREA, "1 ft\u00b2", 0.09290304},
    {PAPPUS_DIM_AREA, "1 sq ft", 0.09290304},
    {PAPPUS_DIM_AREA, "1 in2", 0.00064516},
    {PAPPUS_DIM_AREA, "1 sq in", 0.00064516},
    {PAPPUS_DIM_AREA, "0.06 m2", 0.06},
    {PAPPUS_DIM_AREA, "600 cm2", 0.06},
    {PAPPUS_DIM_AREA, "1 acre", 4046.8564224},
    {PAPPUS_DIM_LOAD, "40 g", 40},
    {PAPPUS_DIM_LOAD, "40 G", 40},
    {PAPPUS_DIM_LOAD, "9.80665 m/s2", 1},
    {PAPPUS_DIM_LOAD, "9.80665 m/s^2", 1},
    {PAPPUS_DIM_LOAD, "1 km/s2", 1000 / 9.80665},
    {PAPPUS_DIM_DENSITY, "1.225 kg/m3", 1.225},
    {PAPPUS_DIM_DENSITY, "1.225 g/L", 1.225},
    {PAPPUS_DIM_NUMBER, "0.78", 0.78},
    {PAPPUS_DIM_PROBABILITY, "0.95", 0.95},
    {PAPPUS_DIM_PROBABILITY, "95 %", 0.95},
    {PAPPUS_DIM_PROBABILITY, "95%", 0.95},
};

static const struct {
    pappus_dimension dimension;
    const char *text, *part; /* of the message */
} refused[] = {
    {PAPPUS_DIM_LENGTH, "", "empty"},
    {PAPPUS_DIM_LENGTH, "   ", "blank"},
    {PAPPUS_DIM_LENGTH, "700", "without its unit"},
    {PAPPUS_DIM_LENGTH, "ft", "no number"},
    {PAPPUS_DIM_LENGTH, "ft 700", "no number"},
    {PAPPUS_DIM_LENGTH, "1,000 ft", "comma"},
    {PAPPUS_DIM_LENGTH, "1,5 ft", "comma"},
    {PAPPUS_DIM_LENGTH, "1 000 ft", "more than one number"},
    {PAPPUS_DIM_LENGTH, "10 ft 3", "more than one number"},
    {PAPPUS_DIM_LENGTH, "10 ft 3 inch", "more than one number"},
    {PAPPUS_DIM_LENGTH, "1/2 ft", "more than one number"},
    {PAPPUS_DIM_LENGTH, "300-500 ft", "more than one number"},
    {PAPPUS_DIM_LENGTH, "1.2.3 ft", "two points"},
    {PAPPUS_DIM_LENGTH, "\u00bd ft", "no number"},
    {PAPPUS_DIM_LENGTH, "1e999 ft", "out of range"},
    {PAPPUS_DIM_LENGTH, "nan ft", "no number"},
    {PAPPUS_DIM_LENGTH, "inf m", "no number"},
    {PAPPUS_DIM_LENGTH, "0x10 ft", "unknown unit"},
    {PAPPUS_DIM_LENGTH, "10 nm", "two units"},
    {PAPPUS_DIM_LENGTH, "10 parsnips", "unknown unit"},
    {PAPPUS_DIM_LENGTH, "10 ft!", "unknown unit"},
    {PAPPUS_DIM_LENGTH, "3 s", "is a time"},
    {PAPPUS_DIM_LENGTH, "75 ft lbf", "is an energy"},
    {PAPPUS_DIM_LENGTH, "3 m rad", "unknown unit"},
    {PAPPUS_DIM_SPEED, "3 s/m", "unknown unit"},
    {PAPPUS_DIM_SPEED, "3 m/s2", "is an acceleration"},
    {PAPPUS_DIM_SPEED, "3 Hz m rad", "unknown unit"},
    {PAPPUS_DIM_MASS, "10 lbf", "is a force"},
    {PAPPUS_DIM_MASS, "3 gr", "two units"},
    {PAPPUS_DIM_MASS, "10 fluid_ounce", "unknown unit"},
    {PAPPUS_DIM_FORCE, "35 lb", "is a mass"},
    {PAPPUS_DIM_TEMPERATURE, "27 deg", "is an angle"},
    {PAPPUS_DIM_TEMPERATURE, "27", "without its unit"},
    {PAPPUS_DIM_ENERGY, "75 lbf", "is a force"},
    {PAPPUS_DIM_LOAD, "40 kg", "is a mass"},
    {PAPPUS_DIM_LOAD, "40", "without its unit"},
    {PAPPUS_DIM_NUMBER, "3 deg", "is an angle"},
    {PAPPUS_DIM_NUMBER, "3 rad", "is an angle"},
    {PAPPUS_DIM_NUMBER, "3 m", "is a length"},
    {PAPPUS_DIM_PRESSURE, "10 degC", "is a temperature"},
    {PAPPUS_DIM_LATITUDE, "35 degE", "is a longitude"},
    {PAPPUS_DIM_TIME, "3 s since 1970", "more than one number"},
    {PAPPUS_DIM_TIME, "3 s @ 5", "more than one number"},
    {PAPPUS_DIM_AREA, "3 m", "is a length"},
};

static pappus_units *units;

static void setup(void)
{
    ck_assert_int_eq(pappus_units_new(&units, NULL), PAPPUS_OK);
}

static void teardown(void)
{
    pappus_units_free(units);
    setlocale(LC_ALL, "C");
}

static void check_accepted(void)
{
    for (size_t i = 0; i < sizeof accepted / sizeof *accepted; i++) {
        double si = NAN;
        pappus_error error = {0};
        int status =
            pappus_units_parse(&si, units, accepted[i].dimension, accepted[i].text, &error);
        ck_assert_msg(status == PAPPUS_OK, "\"%s\" refused: %s", accepted[i].text, error.message);
        /* Four roundings of a double. */
        ck_assert_msg(fabs(si - accepted[i].si) <= 9e-16 * fabs(accepted[i].si),
                      "\"%s\" gives %.17g, not %.17g", accepted[i].text, si, accepted[i].si);
    }
}

static void check_refused(void)
{
    for (size_t i = 0; i < sizeof refused / sizeof *refused; i++) {
        double si = 12345.0;
        pappus_error error = {0};
        int status = pappus_units_parse(&si, units, refused[i].dimension, refused[i].text, &error);
        ck_assert_msg(status == PAPPUS_E_PLAN, "\"%s\" taken as %.17g", refused[i].text, si);
        ck_assert_double_eq(si, 12345.0);
        ck_assert_msg(strstr(error.message, refused[i].part) &&
                          strstr(error.message, "accepted is"),
                      "\"%s\": %s", refused[i].text, error.message);
    }
}

START_TEST(definitions_in_c)
{
    setlocale(LC_ALL, "C");
    check_accepted();
    check_refused();
}
END_TEST

START_TEST(definitions_under_a_decimal_comma)
{
    if (!set_german_locale()) return;
    check_accepted();
    check_refused();
    char text[64];
    pappus_units_format(text, sizeof text, PAPPUS_DIM_LENGTH, PAPPUS_UNITS_US, 0.4572);
    ck_assert_str_eq(text, "1.5 ft");
    ck_assert_str_eq(localeconv()->decimal_point, ","); /* the host's locale is left as it was */
}
END_TEST

START_TEST(mercury)
{
    double si;
    /* NIST SP 811 B.8: inch of mercury, conventional, 3.386389 E+03 Pa (C). */
    ck_assert_int_eq(pappus_units_parse(&si, units, PAPPUS_DIM_PRESSURE, "1 inHg", NULL),
                     PAPPUS_OK);
    ck_assert_double_eq_tol(si, 3386.389, 0.0005);
    /* and millimetre of mercury, conventional, 1.333224 E+02 Pa (C). */
    ck_assert_int_eq(pappus_units_parse(&si, units, PAPPUS_DIM_PRESSURE, "1 mmHg", NULL),
                     PAPPUS_OK);
    ck_assert_double_eq_tol(si, 133.3224, 0.00005);
}
END_TEST

START_TEST(words_need_no_database)
{
    double si;
    ck_assert_int_eq(pappus_units_parse(&si, NULL, PAPPUS_DIM_SPEED, "14 mph", NULL), PAPPUS_OK);
    ck_assert_double_eq_tol(si, 6.25856, 1e-14);
    ck_assert_int_eq(pappus_units_parse(&si, NULL, PAPPUS_DIM_LENGTH, "3 furlong", NULL),
                     PAPPUS_E_PLAN);
}
END_TEST

START_TEST(differences_have_no_offset)
{
    double si;
    ck_assert_int_eq(
        pappus_units_parse_difference(&si, units, PAPPUS_DIM_TEMPERATURE, "9 degF", NULL),
        PAPPUS_OK);
    ck_assert_double_eq_tol(si, 5.0, 1e-14);
    ck_assert_int_eq(
        pappus_units_parse_difference(&si, units, PAPPUS_DIM_TEMPERATURE, "5 degC", NULL),
        PAPPUS_OK);
    ck_assert_double_eq_tol(si, 5.0, 1e-14);
}
END_TEST

static const struct {
    pappus_dimension dimension;
    const char *text;
    double mean, sd;
} uncertain[] = {
    {PAPPUS_DIM_LENGTH, "5200 ft", 1584.96, 0},
    {PAPPUS_DIM_LENGTH, "5200 ft +/- 250 ft", 1584.96, 76.2},
    {PAPPUS_DIM_LENGTH, "5200 +/- 250 ft", 1584.96, 76.2},
    {PAPPUS_DIM_LENGTH, "5200 ft \u00b1 250 ft", 1584.96, 76.2},
    {PAPPUS_DIM_LENGTH, "5200\u00b1250 ft", 1584.96, 76.2},
    {PAPPUS_DIM_LENGTH, "5200 ft +/- 76.2 m", 1584.96, 76.2},
    {PAPPUS_DIM_AREA, "0.06 m2 +/- 20 %", 0.06, 0.012},
    {PAPPUS_DIM_LENGTH, "-10 m +/- 20 %", -10, 2},
    {PAPPUS_DIM_NUMBER, "0.78 +/- 0.08", 0.78, 0.08},
    {PAPPUS_DIM_NUMBER, "0.78 +/- 10 %", 0.78, 0.078},
    {PAPPUS_DIM_TEMPERATURE, "10 degC +/- 2 degC", 283.15, 2},
    {PAPPUS_DIM_TEMPERATURE, "50 degF +/- 9 degF", 283.15, 5},
};

START_TEST(uncertain_values)
{
    for (size_t i = 0; i < sizeof uncertain / sizeof *uncertain; i++) {
        pappus_uncertain value = {0};
        pappus_error error = {0};
        int status = pappus_units_parse_uncertain(&value, units, uncertain[i].dimension,
                                                  uncertain[i].text, &error);
        ck_assert_msg(status == PAPPUS_OK, "\"%s\" refused: %s", uncertain[i].text, error.message);
        ck_assert_double_eq_tol(value.mean, uncertain[i].mean, 1e-12 * fabs(uncertain[i].mean));
        ck_assert_double_eq_tol(value.sd, uncertain[i].sd, 1e-12 + 1e-12 * uncertain[i].sd);
        ck_assert_int_eq(value.distribution, uncertain[i].sd > 0 ? PAPPUS_NORMAL : PAPPUS_EXACT);
    }
}
END_TEST

START_TEST(uncertain_values_refused)
{
    static const struct {
        pappus_dimension dimension;
        const char *text;
    } bad[] = {
        {PAPPUS_DIM_LENGTH, "5200 ft +/- 250"},
        {PAPPUS_DIM_LENGTH, "5200 +/- 250"},
        {PAPPUS_DIM_LENGTH, "5200 ft +/- -250 ft"},
        {PAPPUS_DIM_LENGTH, "5200 ft +/-"},
        {PAPPUS_DIM_LENGTH, "+/- 250 ft"},
        {PAPPUS_DIM_LENGTH, "5200 ft +/- 3 s"},
        {PAPPUS_DIM_LENGTH, "5200 ft +/- 5 ft +/- 5 ft"},
        {PAPPUS_DIM_LENGTH, "0 ft +/- 20 %"},
        {PAPPUS_DIM_TEMPERATURE, "10 degC +/- 10 %"},
        {PAPPUS_DIM_LENGTH, "5200 +/- 20 %"},
        {PAPPUS_DIM_LENGTH, "5200 ft +- 250 ft"},
        {PAPPUS_DIM_LENGTH, "5200 ft + 250 ft"},
    };
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
        pappus_uncertain value;
        ck_assert_msg(pappus_units_parse_uncertain(&value, units, bad[i].dimension, bad[i].text,
                                                   NULL) == PAPPUS_E_PLAN,
                      "\"%s\" taken", bad[i].text);
    }
}
END_TEST

START_TEST(shown)
{
    static const struct {
        pappus_dimension dimension;
        double si;
        const char *si_text, *us_text;
    } rows[] = {
        {PAPPUS_DIM_LENGTH, 213.36, "213.36 m", "700 ft"},
        {PAPPUS_DIM_SIZE, 2.4384, "2.4384 m", "96 inch"},
        {PAPPUS_DIM_SPEED, 25.908, "25.908 m/s", "85 ft/s"},
        {PAPPUS_DIM_WIND_SPEED, 6.25856, "6.25856 m/s", "14 mph"},
        {PAPPUS_DIM_MASS, 4.5359237, "4.53592 kg", "10 lb"},
        {PAPPUS_DIM_TEMPERATURE, 300.15, "27 degC", "80.6 degF"},
        {PAPPUS_DIM_PRESSURE, 101325, "1013.25 hPa", "29.9213 inHg"},
        {PAPPUS_DIM_FORCE, 4.4482216152605, "4.44822 N", "1 lbf"},
        {PAPPUS_DIM_ENERGY, 101.68634612485503, "101.686 J", "75 ft lbf"},
        {PAPPUS_DIM_LOAD, 40, "40 g", "40 g"},
        {PAPPUS_DIM_AGE, 10800, "3 h", "3 h"},
        {PAPPUS_DIM_NUMBER, 0.143, "0.143", "0.143"},
        {PAPPUS_DIM_LENGTH, -0.0, "0 m", "0 ft"},
        {PAPPUS_DIM_LENGTH, NAN, "none", "none"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        char si[64], us[64];
        pappus_units_format(si, sizeof si, rows[i].dimension, PAPPUS_UNITS_SI, rows[i].si);
        pappus_units_format(us, sizeof us, rows[i].dimension, PAPPUS_UNITS_US, rows[i].si);
        ck_assert_str_eq(si, rows[i].si_text);
        ck_assert_str_eq(us, rows[i].us_text);
    }
    char text[120];
    pappus_units_format_uncertain(text, sizeof text, PAPPUS_DIM_TEMPERATURE, PAPPUS_UNITS_US,
                                  pappus_normal(283.15, 5));
    ck_assert_str_eq(text, "50 degF +/- 9 degF");
    pappus_units_format_uncertain(text, sizeof text, PAPPUS_DIM_LENGTH, PAPPUS_UNITS_SI,
                                  pappus_triangular(1, 2, 3));
    ck_assert_str_eq(text, "1 m to 3 m, most likely 2 m");
}
END_TEST

START_TEST(bearings)
{
    double b;
    static const struct {
        const char *text;
        double declination, bearing;
    } rows[] = {
        {"240 deg", NAN, 240}, {"240 degT", NAN, 240}, {"240 degM", 3, 243}, {"2 degM", -5, 357},
        {"359 degM", 3, 2},    {"360 deg", NAN, 0},    {"WSW", NAN, 247.5},  {"N", NAN, 0},
        {"NNW", NAN, 337.5},   {"0.5deg", NAN, 0.5},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        ck_assert_msg(!pappus_bearing_parse(&b, rows[i].text, rows[i].declination, NULL), "%s",
                      rows[i].text);
        ck_assert_double_eq_tol(b, rows[i].bearing, 1e-12);
    }
    static const char *const bad[] = {"240",   "361 deg", "-1 deg", "WWS",
                                      "240 m", "",        "3 rad",  "upwards"};
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
        ck_assert_msg(pappus_bearing_parse(&b, bad[i], NAN, NULL) == PAPPUS_E_PLAN, "%s", bad[i]);
    }
    pappus_error error = {0};
    ck_assert_int_eq(pappus_bearing_parse(&b, "240 degM", NAN, &error), PAPPUS_E_PLAN);
    ck_assert_ptr_nonnull(strstr(error.message, "site.declination"));
    char text[80];
    pappus_bearing_format(text, sizeof text, 2, 3);
    ck_assert_str_eq(text, "2 deg true (359 deg magnetic)");
}
END_TEST

/* Seconds since 1970 by GNU date -u -d TIME +%s (C). */
START_TEST(times)
{
    static const struct {
        const char *text;
        double utc_s;
    } rows[] = {
        {"1970-01-01T00:00Z", 0},
        {"2010-06-01T00Z", 1275350400},
        {"2027-04-17T15:00Z", 1807974000},
        {"2027-04-17T10:00-05:00", 1807974000},
        /* C: RFC 3339, 5.6: a space for the T; ISO 8601: offsets in basic form, or of hours */
        {"2027-04-17 15:00Z", 1807974000},
        {"2027-04-17 10:00 -05:00", 1807974000},
        {"2027-04-17 10:00-0500", 1807974000},
        {"2027-04-17 20:30:00 +0530", 1807974000},
        {"2027-04-17T10-05", 1807974000},
        {"2027-04-17 15:00 UTC", 1807974000},
        {"2027-04-17T15:00:30.5Z", 1807974030.5},
        {"2000-02-29T12:00Z", 951825600},
        {"2024-12-31T24:00Z", 1735689600},
        {"1969-12-31T23:59:59Z", -1},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        double utc_s = NAN;
        ck_assert_msg(!pappus_time_parse(&utc_s, rows[i].text, NULL), "%s", rows[i].text);
        ck_assert_double_eq_tol(utc_s, rows[i].utc_s, 1e-6);
    }
    static const char *const bad[] = {"2027-04-17",
                                      "2027-04-17T15:00",
                                      "2027-4-17T15:00Z",
                                      "2027-02-29T15:00Z",
                                      "2027-13-01T00Z",
                                      "2027-04-17T25:00Z",
                                      "2027-04-17T15:60Z",
                                      "2027-04-17  15:00Z",
                                      "2027-04-17 15:00",
                                      "2027-04-17 15:00 CDT",
                                      "2027-04-17 15:00 -5",
                                      "04/17/2027 15:00Z",
                                      "today",
                                      "",
                                      "2027-04-17T15:00Zulu",
                                      "2027-04-17T24:01Z",
                                      "1899-01-01T00Z"};
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
        double utc_s;
        ck_assert_msg(pappus_time_parse(&utc_s, bad[i], NULL) == PAPPUS_E_PLAN, "%s", bad[i]);
    }
    char text[40];
    pappus_time_format(text, sizeof text, 951825600);
    ck_assert_str_eq(text, "2000-02-29T12:00:00Z");
    pappus_time_format(text, sizeof text, -1);
    ck_assert_str_eq(text, "1969-12-31T23:59:59Z");
    pappus_time_format(text, sizeof text, NAN);
    ck_assert_str_eq(text, "none");
}
END_TEST

SUITE("units")
{
    tcase_add_checked_fixture(tests, setup, teardown);
    tcase_add_test(tests, definitions_in_c);
    tcase_add_test(tests, definitions_under_a_decimal_comma);
    tcase_add_test(tests, mercury);
    tcase_add_test(tests, words_need_no_database);
    tcase_add_test(tests, differences_have_no_offset);
    tcase_add_test(tests, uncertain_values);
    tcase_add_test(tests, uncertain_values_refused);
    tcase_add_test(tests, shown);
    tcase_add_test(tests, bearings);
    tcase_add_test(tests, times);
    pappus_quiet_dependencies();
}
