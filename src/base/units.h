/* SPDX-License-Identifier: GPL-3.0-or-later
 * Text with a unit to SI and back. */
#ifndef PAPPUS_BASE_UNITS_H
#define PAPPUS_BASE_UNITS_H

#include <pappus/status.h>
#include <pappus/value.h>

/** What a value is of, and how it is shown: X(NAME, family of words, name in
 * messages, example, unit shown SI, unit shown US). SI values are in m, m/s, kg,
 * s, K, Pa, N, J, m2, degrees, multiples of standard gravity; number and
 * probability plain. */
#define PAPPUS_DIMENSION_LIST(X)                                                                   \
    X(NUMBER, NUMBER, "a plain number", "0.78", "", "")                                            \
    X(PROBABILITY, PROBABILITY, "a probability", "0.95\" or \"95 %", "", "")                       \
    X(LENGTH, LENGTH, "a length", "700 ft\" or \"213 m", "m", "ft")                                \
    X(SIZE, LENGTH, "a length", "96 inch\" or \"2.4 m", "m", "inch")                               \
    X(SPEED, SPEED, "a speed", "85 ft/s\" or \"26 m/s", "m/s", "ft/s")                             \
    X(WIND_SPEED, SPEED, "a speed", "12 mph\" or \"5 m/s", "m/s", "mph")                           \
    X(MASS, MASS, "a mass", "18.5 lb\" or \"8.4 kg", "kg", "lb")                                   \
    X(TIME, TIME, "a time", "1.5 s", "s", "s")                                                     \
    X(AGE, TIME, "a time", "3 h", "h", "h")                                                        \
    X(ANGLE, ANGLE, "an angle", "3 deg", "deg", "deg")                                             \
    X(LATITUDE, LATITUDE, "a latitude", "41.25 deg\" or \"41 15.000 N", "deg", "deg")              \
    X(LONGITUDE, LONGITUDE, "a longitude", "-96.5 deg\" or \"96 30.000 W", "deg", "deg")           \
    X(DECLINATION, LONGITUDE, "a declination, east positive", "3 deg\" or \"3 degE", "deg", "deg") \
    X(TEMPERATURE, TEMPERATURE, "a temperature", "27 degC\" or \"80 degF", "degC", "degF")         \
    X(PRESSURE, PRESSURE, "a pressure", "982 hPa\" or \"29.0 inHg", "hPa", "inHg")                 \
    X(GAUGE_PRESSURE, PRESSURE, "a pressure", "15 psi\" or \"100 kPa", "kPa", "psi")               \
    X(FORCE, FORCE, "a force", "35 lbf\" or \"155 N", "N", "lbf")                                  \
    X(ENERGY, ENERGY, "an energy", "75 ft lbf\" or \"100 J", "J", "ft lbf")                        \
    X(AREA, AREA, "an area", "50 ft2\" or \"4.6 m2", "m2", "ft2")                                  \
    X(LOAD, LOAD, "a load in g or an acceleration", "40 g", "g", "g")                              \
    X(DENSITY, DENSITY, "a density", "1.2 kg/m3", "kg/m3", "lb/ft3")

typedef enum {
#define PAPPUS_DIMENSION_ENUM(name, family, text, example, si, us) PAPPUS_DIM_##name,
    PAPPUS_DIMENSION_LIST(PAPPUS_DIMENSION_ENUM)
#undef PAPPUS_DIMENSION_ENUM
        PAPPUS_DIMENSIONS
} pappus_dimension;

/** Holds the UDUNITS-2 database, read when a unit is first met that our own
 * table lacks. Not to be shared between threads. */
typedef struct pappus_units pappus_units;
int pappus_units_new(pappus_units **out, pappus_error *err);
void pappus_units_free(pappus_units *units);

/** Reads exactly one number and its unit, whatever the locale. units may be
 * NULL: our own words only. On failure err->message says what is accepted;
 * PAPPUS_E_PLAN. *si is untouched then. */
int pappus_units_parse(double *si, pappus_units *units, pappus_dimension dimension,
                       const char *text, pappus_error *err);
/** The same for a difference (a standard deviation): an offset does not count. */
int pappus_units_parse_difference(double *si, pappus_units *units, pappus_dimension dimension,
                                  const char *text, pappus_error *err);
/** Reads "5200 ft", "5200 ft +/- 250 ft", "5200 +/- 250 ft", "0.06 m2 +/- 20 %";
 * also with the sign U+00B1. */
int pappus_units_parse_uncertain(pappus_uncertain *out, pappus_units *units,
                                 pappus_dimension dimension, const char *text, pappus_error *err);

/** The conversion of a unit of our own table, si = (number + *offset) * *factor, its letters
 * of either case where that leaves no doubt. False when the dimension has no such unit. */
bool pappus_unit_find(double *factor, double *offset, pappus_dimension dimension, const char *unit);

/** A plain number with nothing before or after it, whatever the locale. Returns
 * its length in text, 0 when there is none or it is not finite. */
size_t pappus_number_read(double *out, const char *text);

/** snprintf of "number unit", six significant digits, whatever the locale; zero never
 * shows as "-0". */
int pappus_number_format(char *out, size_t size, double value, const char *unit);

/** Writes a value with its unit, six significant digits, whatever the locale;
 * "none" for NaN. Returns what snprintf does. */
int pappus_units_format(char *out, size_t size, pappus_dimension dimension,
                        pappus_unit_system system, double si);
/** The same in whole units, for messages. */
int pappus_units_format_whole(char *out, size_t size, pappus_dimension dimension,
                              pappus_unit_system system, double si);
int pappus_units_format_uncertain(char *out, size_t size, pappus_dimension dimension,
                                  pappus_unit_system system, pappus_uncertain value);
/** "a length", and an example as it stands between two quotes. */
const char *pappus_dimension_text(pappus_dimension dimension);
const char *pappus_dimension_example(pappus_dimension dimension);
/** False for a plain number and a probability, which a JSON number may give. */
bool pappus_dimension_needs_unit(pappus_dimension dimension);

#endif
