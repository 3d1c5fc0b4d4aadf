/* SPDX-License-Identifier: GPL-3.0-or-later
 * The words that flyers write for units, by family: the one place where a word gets its
 * size. A general units library reads some of them as something else (mph as milli-phot,
 * nmi as a nano-mile, oz as a volume). */
#include "unit_words.h"

#include <math.h>
#include <stddef.h>
#include <string.h>
#include <strings.h>

static const pappus_unit_word words[] = {
    {PAPPUS_FAMILY_NUMBER, "", 1, 0},

    {PAPPUS_FAMILY_PROBABILITY, "", 1, 0},
    {PAPPUS_FAMILY_PROBABILITY, "%", 0.01, 0},
    {PAPPUS_FAMILY_PROBABILITY, "percent", 0.01, 0},

    {PAPPUS_FAMILY_LENGTH, "m", 1, 0},
    {PAPPUS_FAMILY_LENGTH, "meter", 1, 0},
    {PAPPUS_FAMILY_LENGTH, "meters", 1, 0},
    {PAPPUS_FAMILY_LENGTH, "metre", 1, 0},
    {PAPPUS_FAMILY_LENGTH, "metres", 1, 0},
    {PAPPUS_FAMILY_LENGTH, "km", 1000, 0},
    {PAPPUS_FAMILY_LENGTH, "cm", 0.01, 0},
    {PAPPUS_FAMILY_LENGTH, "mm", 0.001, 0},
    {PAPPUS_FAMILY_LENGTH, "ft", PAPPUS_FOOT_M, 0},
    {PAPPUS_FAMILY_LENGTH, "foot", PAPPUS_FOOT_M, 0},
    {PAPPUS_FAMILY_LENGTH, "feet", PAPPUS_FOOT_M, 0},
    {PAPPUS_FAMILY_LENGTH, "in", PAPPUS_INCH_M, 0},
    {PAPPUS_FAMILY_LENGTH, "inch", PAPPUS_INCH_M, 0},
    {PAPPUS_FAMILY_LENGTH, "inches", PAPPUS_INCH_M, 0},
    {PAPPUS_FAMILY_LENGTH, "yd", PAPPUS_YARD_M, 0},
    {PAPPUS_FAMILY_LENGTH, "yard", PAPPUS_YARD_M, 0},
    {PAPPUS_FAMILY_LENGTH, "yards", PAPPUS_YARD_M, 0},
    {PAPPUS_FAMILY_LENGTH, "mi", PAPPUS_MILE_M, 0},
    {PAPPUS_FAMILY_LENGTH, "mile", PAPPUS_MILE_M, 0},
    {PAPPUS_FAMILY_LENGTH, "miles", PAPPUS_MILE_M, 0},
    {PAPPUS_FAMILY_LENGTH, "nmi", PAPPUS_NAUTICAL_MILE_M, 0},
    {PAPPUS_FAMILY_LENGTH, "NM", PAPPUS_NAUTICAL_MILE_M, 0},
    {PAPPUS_FAMILY_LENGTH, "nautical mile", PAPPUS_NAUTICAL_MILE_M, 0},
    {PAPPUS_FAMILY_LENGTH, "nautical miles", PAPPUS_NAUTICAL_MILE_M, 0},
    {PAPPUS_FAMILY_LENGTH, "nm", NAN, 0}, /* nanometre or nautical mile */

    {PAPPUS_FAMILY_SPEED, "m/s", 1, 0},
    {PAPPUS_FAMILY_SPEED, "mps", 1, 0},
    {PAPPUS_FAMILY_SPEED, "km/h", PAPPUS_KPH_MPS, 0},
    {PAPPUS_FAMILY_SPEED, "km/hr", PAPPUS_KPH_MPS, 0},
    {PAPPUS_FAMILY_SPEED, "kph", PAPPUS_KPH_MPS, 0},
    {PAPPUS_FAMILY_SPEED, "kmh", PAPPUS_KPH_MPS, 0},
    {PAPPUS_FAMILY_SPEED, "kmph", PAPPUS_KPH_MPS, 0},
    {PAPPUS_FAMILY_SPEED, "ft/s", PAPPUS_FOOT_M, 0},
    {PAPPUS_FAMILY_SPEED, "ft/sec", PAPPUS_FOOT_M, 0},
    {PAPPUS_FAMILY_SPEED, "fps", PAPPUS_FOOT_M, 0},
    {PAPPUS_FAMILY_SPEED, "ft/min", PAPPUS_FOOT_M / 60, 0},
    {PAPPUS_FAMILY_SPEED, "fpm", PAPPUS_FOOT_M / 60, 0},
    {PAPPUS_FAMILY_SPEED, "mph", PAPPUS_MPH_MPS, 0},
    {PAPPUS_FAMILY_SPEED, "mi/h", PAPPUS_MPH_MPS, 0},
    {PAPPUS_FAMILY_SPEED, "mi/hr", PAPPUS_MPH_MPS, 0},
    {PAPPUS_FAMILY_SPEED, "kt", PAPPUS_KNOT_MPS, 0},
    {PAPPUS_FAMILY_SPEED, "kts", PAPPUS_KNOT_MPS, 0},
    {PAPPUS_FAMILY_SPEED, "kn", PAPPUS_KNOT_MPS, 0},
    {PAPPUS_FAMILY_SPEED, "knot", PAPPUS_KNOT_MPS, 0},
    {PAPPUS_FAMILY_SPEED, "knots", PAPPUS_KNOT_MPS, 0},
    {PAPPUS_FAMILY_SPEED, "nmi/h", PAPPUS_KNOT_MPS, 0},

    {PAPPUS_FAMILY_MASS, "kg", 1, 0},
    {PAPPUS_FAMILY_MASS, "kilogram", 1, 0},
    {PAPPUS_FAMILY_MASS, "kilograms", 1, 0},
    {PAPPUS_FAMILY_MASS, "g", 0.001, 0},
    {PAPPUS_FAMILY_MASS, "gram", 0.001, 0},
    {PAPPUS_FAMILY_MASS, "grams", 0.001, 0},
    {PAPPUS_FAMILY_MASS, "lb", PAPPUS_POUND_KG, 0},
    {PAPPUS_FAMILY_MASS, "lbs", PAPPUS_POUND_KG, 0},
    {PAPPUS_FAMILY_MASS, "lbm", PAPPUS_POUND_KG, 0},
    {PAPPUS_FAMILY_MASS, "pound", PAPPUS_POUND_KG, 0},
    {PAPPUS_FAMILY_MASS, "pounds", PAPPUS_POUND_KG, 0},
    {PAPPUS_FAMILY_MASS, "oz", PAPPUS_POUND_KG / 16, 0},
    {PAPPUS_FAMILY_MASS, "ounce", PAPPUS_POUND_KG / 16, 0},
    {PAPPUS_FAMILY_MASS, "ounces", PAPPUS_POUND_KG / 16, 0},
    {PAPPUS_FAMILY_MASS, "slug", PAPPUS_POUND_FORCE_N / PAPPUS_FOOT_M, 0},
    {PAPPUS_FAMILY_MASS, "slugs", PAPPUS_POUND_FORCE_N / PAPPUS_FOOT_M, 0},
    {PAPPUS_FAMILY_MASS, "gr", NAN, 0}, /* grain or gram */

    {PAPPUS_FAMILY_TIME, "s", 1, 0},
    {PAPPUS_FAMILY_TIME, "sec", 1, 0},
    {PAPPUS_FAMILY_TIME, "secs", 1, 0},
    {PAPPUS_FAMILY_TIME, "second", 1, 0},
    {PAPPUS_FAMILY_TIME, "seconds", 1, 0},
    {PAPPUS_FAMILY_TIME, "ms", 0.001, 0},
    {PAPPUS_FAMILY_TIME, "min", 60, 0},
    {PAPPUS_FAMILY_TIME, "minute", 60, 0},
    {PAPPUS_FAMILY_TIME, "minutes", 60, 0},
    {PAPPUS_FAMILY_TIME, "h", 3600, 0},
    {PAPPUS_FAMILY_TIME, "hr", 3600, 0},
    {PAPPUS_FAMILY_TIME, "hrs", 3600, 0},
    {PAPPUS_FAMILY_TIME, "hour", 3600, 0},
    {PAPPUS_FAMILY_TIME, "hours", 3600, 0},
    {PAPPUS_FAMILY_TIME, "day", 86400, 0},
    {PAPPUS_FAMILY_TIME, "days", 86400, 0},

    {PAPPUS_FAMILY_ANGLE, "deg", 1, 0},
    {PAPPUS_FAMILY_ANGLE, "degree", 1, 0},
    {PAPPUS_FAMILY_ANGLE, "degrees", 1, 0},
    {PAPPUS_FAMILY_ANGLE, "°", 1, 0},
    {PAPPUS_FAMILY_ANGLE, "rad", 180 / M_PI, 0},

    {PAPPUS_FAMILY_LATITUDE, "deg", 1, 0},
    {PAPPUS_FAMILY_LATITUDE, "degree", 1, 0},
    {PAPPUS_FAMILY_LATITUDE, "degrees", 1, 0},
    {PAPPUS_FAMILY_LATITUDE, "°", 1, 0},
    {PAPPUS_FAMILY_LATITUDE, "degN", 1, 0},
    {PAPPUS_FAMILY_LATITUDE, "degS", -1, 0},

    {PAPPUS_FAMILY_LONGITUDE, "deg", 1, 0},
    {PAPPUS_FAMILY_LONGITUDE, "degree", 1, 0},
    {PAPPUS_FAMILY_LONGITUDE, "degrees", 1, 0},
    {PAPPUS_FAMILY_LONGITUDE, "°", 1, 0},
    {PAPPUS_FAMILY_LONGITUDE, "degE", 1, 0},
    {PAPPUS_FAMILY_LONGITUDE, "degW", -1, 0},

    {PAPPUS_FAMILY_TEMPERATURE, "K", 1, 0},
    {PAPPUS_FAMILY_TEMPERATURE, "kelvin", 1, 0},
    {PAPPUS_FAMILY_TEMPERATURE, "degC", 1, PAPPUS_ZERO_DEGC_K},
    {PAPPUS_FAMILY_TEMPERATURE, "°C", 1, PAPPUS_ZERO_DEGC_K},
    {PAPPUS_FAMILY_TEMPERATURE, "C", 1, PAPPUS_ZERO_DEGC_K},
    {PAPPUS_FAMILY_TEMPERATURE, "celsius", 1, PAPPUS_ZERO_DEGC_K},
    {PAPPUS_FAMILY_TEMPERATURE, "degF", PAPPUS_DEGF_K, PAPPUS_ZERO_DEGF_R},
    {PAPPUS_FAMILY_TEMPERATURE, "°F", PAPPUS_DEGF_K, PAPPUS_ZERO_DEGF_R},
    {PAPPUS_FAMILY_TEMPERATURE, "F", PAPPUS_DEGF_K, PAPPUS_ZERO_DEGF_R},
    {PAPPUS_FAMILY_TEMPERATURE, "fahrenheit", PAPPUS_DEGF_K, PAPPUS_ZERO_DEGF_R},
    {PAPPUS_FAMILY_TEMPERATURE, "degR", PAPPUS_DEGF_K, 0},

    {PAPPUS_FAMILY_PRESSURE, "Pa", 1, 0},
    {PAPPUS_FAMILY_PRESSURE, "hPa", 100, 0},
    {PAPPUS_FAMILY_PRESSURE, "kPa", 1000, 0},
    {PAPPUS_FAMILY_PRESSURE, "mb", 100, 0},
    {PAPPUS_FAMILY_PRESSURE, "mbar", 100, 0},
    {PAPPUS_FAMILY_PRESSURE, "bar", 100000, 0},
    {PAPPUS_FAMILY_PRESSURE, "atm", 101325, 0},
    {PAPPUS_FAMILY_PRESSURE, "psi", PAPPUS_PSI_PA, 0},
    {PAPPUS_FAMILY_PRESSURE, "psf", PAPPUS_POUND_FORCE_N / (PAPPUS_FOOT_M * PAPPUS_FOOT_M), 0},
    {PAPPUS_FAMILY_PRESSURE, "inHg", PAPPUS_INCH_M *PAPPUS_MERCURY_NPM3, 0},
    {PAPPUS_FAMILY_PRESSURE, "in Hg", PAPPUS_INCH_M *PAPPUS_MERCURY_NPM3, 0},
    {PAPPUS_FAMILY_PRESSURE, "mmHg", 0.001 * PAPPUS_MERCURY_NPM3, 0},

    {PAPPUS_FAMILY_FORCE, "N", 1, 0},
    {PAPPUS_FAMILY_FORCE, "newton", 1, 0},
    {PAPPUS_FAMILY_FORCE, "newtons", 1, 0},
    {PAPPUS_FAMILY_FORCE, "kN", 1000, 0},
    {PAPPUS_FAMILY_FORCE, "lbf", PAPPUS_POUND_FORCE_N, 0},
    {PAPPUS_FAMILY_FORCE, "kgf", PAPPUS_GRAVITY_MPS2, 0},

    {PAPPUS_FAMILY_ENERGY, "J", 1, 0},
    {PAPPUS_FAMILY_ENERGY, "joule", 1, 0},
    {PAPPUS_FAMILY_ENERGY, "joules", 1, 0},
    {PAPPUS_FAMILY_ENERGY, "kJ", 1000, 0},
    {PAPPUS_FAMILY_ENERGY, "N m", 1, 0},
    {PAPPUS_FAMILY_ENERGY, "ft lbf", PAPPUS_FOOT_POUND_J, 0},
    {PAPPUS_FAMILY_ENERGY, "ft-lbf", PAPPUS_FOOT_POUND_J, 0},
    {PAPPUS_FAMILY_ENERGY, "ft·lbf", PAPPUS_FOOT_POUND_J, 0},
    {PAPPUS_FAMILY_ENERGY, "ft lb", PAPPUS_FOOT_POUND_J, 0},
    {PAPPUS_FAMILY_ENERGY, "ft-lb", PAPPUS_FOOT_POUND_J, 0},
    {PAPPUS_FAMILY_ENERGY, "ft-lbs", PAPPUS_FOOT_POUND_J, 0},
    {PAPPUS_FAMILY_ENERGY, "ft lbs", PAPPUS_FOOT_POUND_J, 0},
    {PAPPUS_FAMILY_ENERGY, "foot-pound", PAPPUS_FOOT_POUND_J, 0},
    {PAPPUS_FAMILY_ENERGY, "foot-pounds", PAPPUS_FOOT_POUND_J, 0},

    {PAPPUS_FAMILY_AREA, "m2", 1, 0},
    {PAPPUS_FAMILY_AREA, "m^2", 1, 0},
    {PAPPUS_FAMILY_AREA, "m²", 1, 0},
    {PAPPUS_FAMILY_AREA, "sq m", 1, 0},
    {PAPPUS_FAMILY_AREA, "cm2", 0.0001, 0},
    {PAPPUS_FAMILY_AREA, "ft2", PAPPUS_FOOT_M *PAPPUS_FOOT_M, 0},
    {PAPPUS_FAMILY_AREA, "ft^2", PAPPUS_FOOT_M *PAPPUS_FOOT_M, 0},
    {PAPPUS_FAMILY_AREA, "ft²", PAPPUS_FOOT_M *PAPPUS_FOOT_M, 0},
    {PAPPUS_FAMILY_AREA, "sq ft", PAPPUS_FOOT_M *PAPPUS_FOOT_M, 0},
    {PAPPUS_FAMILY_AREA, "sqft", PAPPUS_FOOT_M *PAPPUS_FOOT_M, 0},
    {PAPPUS_FAMILY_AREA, "in2", PAPPUS_INCH_M *PAPPUS_INCH_M, 0},
    {PAPPUS_FAMILY_AREA, "in^2", PAPPUS_INCH_M *PAPPUS_INCH_M, 0},
    {PAPPUS_FAMILY_AREA, "in²", PAPPUS_INCH_M *PAPPUS_INCH_M, 0},
    {PAPPUS_FAMILY_AREA, "sq in", PAPPUS_INCH_M *PAPPUS_INCH_M, 0},
    {PAPPUS_FAMILY_AREA, "yd2", PAPPUS_YARD_M *PAPPUS_YARD_M, 0},
    {PAPPUS_FAMILY_AREA, "sq yd", PAPPUS_YARD_M *PAPPUS_YARD_M, 0},
    {PAPPUS_FAMILY_AREA, "acre", PAPPUS_ACRE_M2, 0},
    {PAPPUS_FAMILY_AREA, "acres", PAPPUS_ACRE_M2, 0},
    {PAPPUS_FAMILY_AREA, "ha", 10000, 0},

    {PAPPUS_FAMILY_LOAD, "g", 1, 0},
    {PAPPUS_FAMILY_LOAD, "G", 1, 0},
    {PAPPUS_FAMILY_LOAD, "gs", 1, 0},
    {PAPPUS_FAMILY_LOAD, "Gs", 1, 0},
    {PAPPUS_FAMILY_LOAD, "m/s2", 1 / PAPPUS_GRAVITY_MPS2, 0},
    {PAPPUS_FAMILY_LOAD, "m/s^2", 1 / PAPPUS_GRAVITY_MPS2, 0},
    {PAPPUS_FAMILY_LOAD, "ft/s2", PAPPUS_FOOT_M / PAPPUS_GRAVITY_MPS2, 0},
    {PAPPUS_FAMILY_LOAD, "ft/s^2", PAPPUS_FOOT_M / PAPPUS_GRAVITY_MPS2, 0},

    {PAPPUS_FAMILY_DENSITY, "kg/m3", 1, 0},
    {PAPPUS_FAMILY_DENSITY, "kg/m^3", 1, 0},
    {PAPPUS_FAMILY_DENSITY, "lb/ft3",
     PAPPUS_POUND_KG / (PAPPUS_FOOT_M * PAPPUS_FOOT_M * PAPPUS_FOOT_M), 0},
    {PAPPUS_FAMILY_DENSITY, "lb/ft^3",
     PAPPUS_POUND_KG / (PAPPUS_FOOT_M * PAPPUS_FOOT_M * PAPPUS_FOOT_M), 0},
};

const pappus_unit_word *pappus_unit_word_find(pappus_unit_family family, const char *word)
{
    for (size_t i = 0; i < sizeof words / sizeof *words; i++) {
        if (words[i].family == family && strcmp(words[i].word, word) == 0) return &words[i];
    }
    return NULL;
}

const pappus_unit_word *pappus_unit_word_find_any_case(pappus_unit_family family, const char *word)
{
    for (size_t i = 0; i < sizeof words / sizeof *words; i++)
        if (words[i].family == family && strcasecmp(words[i].word, word) == 0) return &words[i];
    return NULL;
}
