/* SPDX-License-Identifier: GPL-3.0-or-later
 * Text with a unit to SI and back.
 *
 * A value is one number and one unit. The number is split off here, by a fixed
 * grammar and the C locale. The unit is looked up first in a table of the words
 * that flyers write, per dimension, because a general units library reads some
 * of them as something else (mph as milli-phot, nmi as a nano-mile, oz as a
 * volume). Only then UDUNITS-2 is asked, for unit expressions without numbers,
 * and its answer is taken only when the dimension is exactly the one due (it
 * would convert s/m to m/s and degrees to a plain number) and has no offset.
 *
 * Factors are exact definitions: international yard and pound agreement (1959),
 * nautical mile 1852 m, standard gravity 9.80665 m/s2 (3rd CGPM, 1901),
 * conventional mercury 13595.1 kg/m3. Angles, temperatures and plain numbers use
 * the table alone. */
#include "units.h"
#include "c_locale.h"
#include "error.h"

#include <math.h>
#include <pthread.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <udunits2.h>

#define G 9.80665
#define FOOT 0.3048
#define INCH 0.0254
#define POUND 0.45359237
#define POUND_FORCE (POUND * G)
#define MILE 1609.344
#define NAUTICAL_MILE 1852.0
#define PSI (POUND_FORCE / (INCH * INCH))
#define MERCURY (13595.1 * G)
#define TEXT_LIMIT 120

/** Families of interchangeable words: X(NAME, name, coherent unit of UDUNITS-2 or
 * NULL when only the table counts, coherent unit in ours). */
#define FAMILY_LIST(X)                                                                             \
    X(NUMBER, "a plain number", NULL, 1.0)                                                         \
    X(PROBABILITY, "a share", NULL, 1.0)                                                           \
    X(LENGTH, "a length", "m", 1.0)                                                                \
    X(SPEED, "a speed", "m/s", 1.0)                                                                \
    X(MASS, "a mass", "kg", 1.0)                                                                   \
    X(TIME, "a time", "s", 1.0)                                                                    \
    X(ANGLE, "an angle", NULL, 1.0)                                                                \
    X(LATITUDE, "a latitude", NULL, 1.0)                                                           \
    X(LONGITUDE, "a longitude", NULL, 1.0)                                                         \
    X(TEMPERATURE, "a temperature", NULL, 1.0)                                                     \
    X(PRESSURE, "a pressure", "Pa", 1.0)                                                           \
    X(FORCE, "a force", "N", 1.0)                                                                  \
    X(ENERGY, "an energy", "J", 1.0)                                                               \
    X(AREA, "an area", "m2", 1.0)                                                                  \
    X(LOAD, "an acceleration", "m/s2", 1.0 / G)                                                    \
    X(DENSITY, "a density", "kg/m3", 1.0)

typedef enum {
#define FAMILY_ENUM(name, text, unit, factor) FAMILY_##name,
    FAMILY_LIST(FAMILY_ENUM)
#undef FAMILY_ENUM
        FAMILIES
} family;

static const struct {
    const char *text, *udunits;
    double factor;
} families[FAMILIES] = {
#define FAMILY_ROW(name, text, unit, factor) {text, unit, factor},
    FAMILY_LIST(FAMILY_ROW)
#undef FAMILY_ROW
};

static const struct {
    family family;
    const char *text, *example, *shown[2];
} dimensions[PAPPUS_DIMENSIONS] = {
#define DIMENSION_ROW(name, words, text, example, si, us)                                          \
    {FAMILY_##words, text, example, {[PAPPUS_UNITS_SI] = si, [PAPPUS_UNITS_US] = us}},
    PAPPUS_DIMENSION_LIST(DIMENSION_ROW)
#undef DIMENSION_ROW
};

/** si = (number + offset) * factor */
typedef struct {
    double factor, offset;
} conversion;

typedef struct {
    family family;
    const char *word;
    double factor, offset;
} unit_word;

static const unit_word words[] = {
    {FAMILY_NUMBER, "", 1, 0},
    {FAMILY_PROBABILITY, "", 1, 0},
    {FAMILY_PROBABILITY, "%", 0.01, 0},
    {FAMILY_PROBABILITY, "percent", 0.01, 0},

    {FAMILY_LENGTH, "m", 1, 0},
    {FAMILY_LENGTH, "meter", 1, 0},
    {FAMILY_LENGTH, "meters", 1, 0},
    {FAMILY_LENGTH, "metre", 1, 0},
    {FAMILY_LENGTH, "metres", 1, 0},
    {FAMILY_LENGTH, "km", 1000, 0},
    {FAMILY_LENGTH, "cm", 0.01, 0},
    {FAMILY_LENGTH, "mm", 0.001, 0},
    {FAMILY_LENGTH, "ft", FOOT, 0},
    {FAMILY_LENGTH, "foot", FOOT, 0},
    {FAMILY_LENGTH, "feet", FOOT, 0},
    {FAMILY_LENGTH, "in", INCH, 0},
    {FAMILY_LENGTH, "inch", INCH, 0},
    {FAMILY_LENGTH, "inches", INCH, 0},
    {FAMILY_LENGTH, "yd", 3 * FOOT, 0},
    {FAMILY_LENGTH, "yard", 3 * FOOT, 0},
    {FAMILY_LENGTH, "yards", 3 * FOOT, 0},
    {FAMILY_LENGTH, "mi", MILE, 0},
    {FAMILY_LENGTH, "mile", MILE, 0},
    {FAMILY_LENGTH, "miles", MILE, 0},
    {FAMILY_LENGTH, "nmi", NAUTICAL_MILE, 0},
    {FAMILY_LENGTH, "NM", NAUTICAL_MILE, 0},
    {FAMILY_LENGTH, "nautical mile", NAUTICAL_MILE, 0},
    {FAMILY_LENGTH, "nautical miles", NAUTICAL_MILE, 0},
    {FAMILY_LENGTH, "nm", NAN, 0}, /* nanometre or nautical mile */

    {FAMILY_SPEED, "m/s", 1, 0},
    {FAMILY_SPEED, "mps", 1, 0},
    {FAMILY_SPEED, "km/h", 1 / 3.6, 0},
    {FAMILY_SPEED, "km/hr", 1 / 3.6, 0},
    {FAMILY_SPEED, "kph", 1 / 3.6, 0},
    {FAMILY_SPEED, "kmh", 1 / 3.6, 0},
    {FAMILY_SPEED, "kmph", 1 / 3.6, 0},
    {FAMILY_SPEED, "ft/s", FOOT, 0},
    {FAMILY_SPEED, "ft/sec", FOOT, 0},
    {FAMILY_SPEED, "fps", FOOT, 0},
    {FAMILY_SPEED, "ft/min", FOOT / 60, 0},
    {FAMILY_SPEED, "fpm", FOOT / 60, 0},
    {FAMILY_SPEED, "mph", MILE / 3600, 0},
    {FAMILY_SPEED, "mi/h", MILE / 3600, 0},
    {FAMILY_SPEED, "mi/hr", MILE / 3600, 0},
    {FAMILY_SPEED, "kt", NAUTICAL_MILE / 3600, 0},
    {FAMILY_SPEED, "kts", NAUTICAL_MILE / 3600, 0},
    {FAMILY_SPEED, "kn", NAUTICAL_MILE / 3600, 0},
    {FAMILY_SPEED, "knot", NAUTICAL_MILE / 3600, 0},
    {FAMILY_SPEED, "knots", NAUTICAL_MILE / 3600, 0},
    {FAMILY_SPEED, "nmi/h", NAUTICAL_MILE / 3600, 0},

    {FAMILY_MASS, "kg", 1, 0},
    {FAMILY_MASS, "kilogram", 1, 0},
    {FAMILY_MASS, "kilograms", 1, 0},
    {FAMILY_MASS, "g", 0.001, 0},
    {FAMILY_MASS, "gram", 0.001, 0},
    {FAMILY_MASS, "grams", 0.001, 0},
    {FAMILY_MASS, "lb", POUND, 0},
    {FAMILY_MASS, "lbs", POUND, 0},
    {FAMILY_MASS, "lbm", POUND, 0},
    {FAMILY_MASS, "pound", POUND, 0},
    {FAMILY_MASS, "pounds", POUND, 0},
    {FAMILY_MASS, "oz", POUND / 16, 0},
    {FAMILY_MASS, "ounce", POUND / 16, 0},
    {FAMILY_MASS, "ounces", POUND / 16, 0},
    {FAMILY_MASS, "slug", POUND_FORCE / FOOT, 0},
    {FAMILY_MASS, "slugs", POUND_FORCE / FOOT, 0},
    {FAMILY_MASS, "gr", NAN, 0}, /* grain or gram */

    {FAMILY_TIME, "s", 1, 0},
    {FAMILY_TIME, "sec", 1, 0},
    {FAMILY_TIME, "secs", 1, 0},
    {FAMILY_TIME, "second", 1, 0},
    {FAMILY_TIME, "seconds", 1, 0},
    {FAMILY_TIME, "ms", 0.001, 0},
    {FAMILY_TIME, "min", 60, 0},
    {FAMILY_TIME, "minute", 60, 0},
    {FAMILY_TIME, "minutes", 60, 0},
    {FAMILY_TIME, "h", 3600, 0},
    {FAMILY_TIME, "hr", 3600, 0},
    {FAMILY_TIME, "hrs", 3600, 0},
    {FAMILY_TIME, "hour", 3600, 0},
    {FAMILY_TIME, "hours", 3600, 0},
    {FAMILY_TIME, "day", 86400, 0},
    {FAMILY_TIME, "days", 86400, 0},

    {FAMILY_ANGLE, "deg", 1, 0},
    {FAMILY_ANGLE, "degree", 1, 0},
    {FAMILY_ANGLE, "degrees", 1, 0},
    {FAMILY_ANGLE, "°", 1, 0},
    {FAMILY_ANGLE, "rad", 180 / M_PI, 0},
    {FAMILY_LATITUDE, "deg", 1, 0},
    {FAMILY_LATITUDE, "degree", 1, 0},
    {FAMILY_LATITUDE, "degrees", 1, 0},
    {FAMILY_LATITUDE, "°", 1, 0},
    {FAMILY_LATITUDE, "degN", 1, 0},
    {FAMILY_LATITUDE, "degS", -1, 0},
    {FAMILY_LONGITUDE, "deg", 1, 0},
    {FAMILY_LONGITUDE, "degree", 1, 0},
    {FAMILY_LONGITUDE, "degrees", 1, 0},
    {FAMILY_LONGITUDE, "°", 1, 0},
    {FAMILY_LONGITUDE, "degE", 1, 0},
    {FAMILY_LONGITUDE, "degW", -1, 0},

    {FAMILY_TEMPERATURE, "K", 1, 0},
    {FAMILY_TEMPERATURE, "kelvin", 1, 0},
    {FAMILY_TEMPERATURE, "degC", 1, 273.15},
    {FAMILY_TEMPERATURE, "°C", 1, 273.15},
    {FAMILY_TEMPERATURE, "C", 1, 273.15},
    {FAMILY_TEMPERATURE, "celsius", 1, 273.15},
    {FAMILY_TEMPERATURE, "degF", 5.0 / 9, 459.67},
    {FAMILY_TEMPERATURE, "°F", 5.0 / 9, 459.67},
    {FAMILY_TEMPERATURE, "F", 5.0 / 9, 459.67},
    {FAMILY_TEMPERATURE, "fahrenheit", 5.0 / 9, 459.67},
    {FAMILY_TEMPERATURE, "degR", 5.0 / 9, 0},

    {FAMILY_PRESSURE, "Pa", 1, 0},
    {FAMILY_PRESSURE, "hPa", 100, 0},
    {FAMILY_PRESSURE, "kPa", 1000, 0},
    {FAMILY_PRESSURE, "mb", 100, 0},
    {FAMILY_PRESSURE, "mbar", 100, 0},
    {FAMILY_PRESSURE, "bar", 100000, 0},
    {FAMILY_PRESSURE, "atm", 101325, 0},
    {FAMILY_PRESSURE, "psi", PSI, 0},
    {FAMILY_PRESSURE, "psf", POUND_FORCE / (FOOT * FOOT), 0},
    {FAMILY_PRESSURE, "inHg", INCH *MERCURY, 0},
    {FAMILY_PRESSURE, "in Hg", INCH *MERCURY, 0},
    {FAMILY_PRESSURE, "mmHg", 0.001 * MERCURY, 0},

    {FAMILY_FORCE, "N", 1, 0},
    {FAMILY_FORCE, "newton", 1, 0},
    {FAMILY_FORCE, "newtons", 1, 0},
    {FAMILY_FORCE, "kN", 1000, 0},
    {FAMILY_FORCE, "lbf", POUND_FORCE, 0},
    {FAMILY_FORCE, "kgf", G, 0},

    {FAMILY_ENERGY, "J", 1, 0},
    {FAMILY_ENERGY, "joule", 1, 0},
    {FAMILY_ENERGY, "joules", 1, 0},
    {FAMILY_ENERGY, "kJ", 1000, 0},
    {FAMILY_ENERGY, "N m", 1, 0},
    {FAMILY_ENERGY, "ft lbf", FOOT *POUND_FORCE, 0},
    {FAMILY_ENERGY, "ft-lbf", FOOT *POUND_FORCE, 0},
    {FAMILY_ENERGY, "ft·lbf", FOOT *POUND_FORCE, 0},
    {FAMILY_ENERGY, "ft lb", FOOT *POUND_FORCE, 0},
    {FAMILY_ENERGY, "ft-lb", FOOT *POUND_FORCE, 0},
    {FAMILY_ENERGY, "ft-lbs", FOOT *POUND_FORCE, 0},
    {FAMILY_ENERGY, "ft lbs", FOOT *POUND_FORCE, 0},
    {FAMILY_ENERGY, "foot-pound", FOOT *POUND_FORCE, 0},
    {FAMILY_ENERGY, "foot-pounds", FOOT *POUND_FORCE, 0},

    {FAMILY_AREA, "m2", 1, 0},
    {FAMILY_AREA, "m^2", 1, 0},
    {FAMILY_AREA, "m²", 1, 0},
    {FAMILY_AREA, "sq m", 1, 0},
    {FAMILY_AREA, "cm2", 0.0001, 0},
    {FAMILY_AREA, "ft2", FOOT *FOOT, 0},
    {FAMILY_AREA, "ft^2", FOOT *FOOT, 0},
    {FAMILY_AREA, "ft²", FOOT *FOOT, 0},
    {FAMILY_AREA, "sq ft", FOOT *FOOT, 0},
    {FAMILY_AREA, "sqft", FOOT *FOOT, 0},
    {FAMILY_AREA, "in2", INCH *INCH, 0},
    {FAMILY_AREA, "in^2", INCH *INCH, 0},
    {FAMILY_AREA, "in²", INCH *INCH, 0},
    {FAMILY_AREA, "sq in", INCH *INCH, 0},
    {FAMILY_AREA, "yd2", 9 * FOOT *FOOT, 0},
    {FAMILY_AREA, "sq yd", 9 * FOOT *FOOT, 0},
    {FAMILY_AREA, "acre", 4840 * 9 * FOOT *FOOT, 0},
    {FAMILY_AREA, "acres", 4840 * 9 * FOOT *FOOT, 0},
    {FAMILY_AREA, "ha", 10000, 0},

    {FAMILY_LOAD, "g", 1, 0},
    {FAMILY_LOAD, "G", 1, 0},
    {FAMILY_LOAD, "gs", 1, 0},
    {FAMILY_LOAD, "Gs", 1, 0},
    {FAMILY_LOAD, "m/s2", 1 / G, 0},
    {FAMILY_LOAD, "m/s^2", 1 / G, 0},
    {FAMILY_LOAD, "ft/s2", FOOT / G, 0},
    {FAMILY_LOAD, "ft/s^2", FOOT / G, 0},

    {FAMILY_DENSITY, "kg/m3", 1, 0},
    {FAMILY_DENSITY, "kg/m^3", 1, 0},
    {FAMILY_DENSITY, "lb/ft3", POUND / (FOOT * FOOT * FOOT), 0},
    {FAMILY_DENSITY, "lb/ft^3", POUND / (FOOT * FOOT * FOOT), 0},
};

/* UDUNITS-2 parses with globals of its own. It also keeps its prefixes (some
 * kilobytes for each system read) for the life of the process. */
static pthread_mutex_t library = PTHREAD_MUTEX_INITIALIZER;

struct pappus_units {
    ut_system *system; /* NULL until needed */
    bool unavailable;
};

int pappus_units_new(pappus_units **out, pappus_error *err)
{
    *out = calloc(1, sizeof **out);
    return *out ? PAPPUS_OK : pappus_fail_memory(err);
}

void pappus_units_free(pappus_units *units)
{
    if (!units) return;
    if (units->system) {
        pthread_mutex_lock(&library);
        ut_free_system(units->system);
        pthread_mutex_unlock(&library);
    }
    free(units);
}

const char *pappus_dimension_text(pappus_dimension dimension)
{
    return dimensions[dimension].text;
}

const char *pappus_dimension_example(pappus_dimension dimension)
{
    return dimensions[dimension].example;
}

bool pappus_dimension_needs_unit(pappus_dimension dimension)
{
    return dimension != PAPPUS_DIM_NUMBER && dimension != PAPPUS_DIM_PROBABILITY;
}

/* ---------------------------------------------------------------- numbers */

static size_t digits(const char *text)
{
    size_t n = 0;
    while (text[n] >= '0' && text[n] <= '9')
        n++;
    return n;
}

/* Length of [+-] digits [. digits] [e [+-] digits], 0 when there is no digit. */
static size_t number_length(const char *text)
{
    size_t n = text[0] == '+' || text[0] == '-';
    size_t whole = digits(text + n), fraction = 0;
    n += whole;
    if (text[n] == '.') {
        fraction = digits(text + n + 1);
        if (whole || fraction) n += 1 + fraction;
    }
    if (whole + fraction == 0) return 0;
    if (text[n] == 'e' || text[n] == 'E') {
        size_t sign = text[n + 1] == '+' || text[n + 1] == '-';
        size_t exponent = digits(text + n + 1 + sign);
        if (exponent) n += 1 + sign + exponent;
    }
    return n;
}

size_t pappus_number_read(double *out, const char *text)
{
    char copy[TEXT_LIMIT];
    pappus_locale locale;
    size_t n = number_length(text);
    if (n == 0 || n >= sizeof copy) return 0;
    memcpy(copy, text, n);
    copy[n] = '\0';
    if (!pappus_locale_enter(&locale)) return 0;
    double value = strtod(copy, NULL);
    pappus_locale_leave(&locale);
    if (!isfinite(value)) return 0;
    *out = value;
    return n;
}

/* ------------------------------------------------------------------- units */

static int fail(pappus_error *err, pappus_dimension dimension, const char *what)
{
    return pappus_fail(err, PAPPUS_E_PLAN, NULL, NULL, NULL, "%s; accepted is %s, as in \"%s\"",
                       what, dimensions[dimension].text, dimensions[dimension].example);
}

static const unit_word *word_find(family kind, const char *unit)
{
    for (size_t i = 0; i < sizeof words / sizeof *words; i++) {
        if (words[i].family == kind && strcmp(words[i].word, unit) == 0) return &words[i];
    }
    return NULL;
}

/* Bytes above 127 belong to UTF-8 letters (micro, middle dot, superscripts). */
static bool is_letter(char c)
{
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (unsigned char)c >= 0x80 || c == '_';
}

/* A unit expression whose digits are exponents: "ft 3" is not one. */
static bool is_expression(const char *unit)
{
    for (size_t i = 0; unit[i]; i++) {
        char c = unit[i], before = i ? unit[i - 1] : ' ';
        if (is_letter(c) || strchr(" .*/^-", c)) continue;
        if (c < '0' || c > '9') return false;
        bool exponent_sign =
            before == '-' && i >= 2 && (is_letter(unit[i - 2]) || unit[i - 2] == '^');
        bool exponent = is_letter(before) || before == '^' || (before >= '0' && before <= '9');
        if (!exponent && !exponent_sign) return false;
    }
    return unit[0] != '\0';
}

/* The dimension is exactly that of the reference: UDUNITS-2 counts the radian as
 * a plain number, so a unit with a radian in it is refused by its definition. */
static bool is_same_dimension(const ut_unit *unit, const ut_unit *reference)
{
    char definition[256];
    ut_unit *ratio = ut_divide(unit, reference);
    if (!ratio) return false;
    bool same = ut_is_dimensionless(ratio) != 0;
    ut_free(ratio);
    int n = ut_format(unit, definition, sizeof definition, UT_ASCII | UT_DEFINITION);
    return same && n > 0 && (size_t)n < sizeof definition && !strstr(definition, "rad");
}

static bool convert_exactly(double *factor, ut_unit *unit, ut_unit *reference)
{
    if (!is_same_dimension(unit, reference)) return false;
    cv_converter *converter = ut_get_converter(unit, reference);
    if (!converter) return false;
    double zero = cv_convert_double(converter, 0.0);
    *factor = cv_convert_double(converter, 1.0);
    cv_free(converter);
    return zero == 0.0 && isfinite(*factor) && *factor > 0.0;
}

/* Which family a unit of UDUNITS-2 belongs to, FAMILIES when none. */
static family library_family(double *factor, pappus_units *units, const char *text)
{
    family found = FAMILIES;
    ut_unit *unit = ut_parse(units->system, text, UT_UTF8);
    for (int f = 0; unit && f < FAMILIES && found == FAMILIES; f++) {
        if (!families[f].udunits) continue;
        ut_unit *reference = ut_parse(units->system, families[f].udunits, UT_UTF8);
        if (reference && convert_exactly(factor, unit, reference)) {
            *factor *= families[f].factor;
            found = (family)f;
        }
        ut_free(reference);
    }
    ut_free(unit);
    return found;
}

static family library_find(double *factor, pappus_units *units, const char *text)
{
    if (!units || units->unavailable || !is_expression(text)) return FAMILIES;
    pappus_locale locale;
    if (!pappus_locale_enter(&locale)) return FAMILIES;
    pthread_mutex_lock(&library);
    if (!units->system) units->system = ut_read_xml(NULL);
    if (!units->system) units->unavailable = true;
    family found = units->system ? library_family(factor, units, text) : FAMILIES;
    pthread_mutex_unlock(&library);
    pappus_locale_leave(&locale);
    return found;
}

static family word_family(const char *unit)
{
    for (int f = 0; f < FAMILIES; f++) {
        if (word_find((family)f, unit)) return (family)f;
    }
    return FAMILIES;
}

static int unit_find(conversion *out, pappus_units *units, pappus_dimension dimension,
                     const char *unit, pappus_error *err)
{
    char what[TEXT_LIMIT + 80];
    double factor = 1.0;
    family due = dimensions[dimension].family;
    const unit_word *word = word_find(due, unit);
    if (word && isfinite(word->factor)) {
        *out = (conversion){word->factor, word->offset};
        return PAPPUS_OK;
    }
    family found = word ? FAMILIES : library_find(&factor, units, unit);
    if (found == due) {
        *out = (conversion){factor, 0.0};
        return PAPPUS_OK;
    }
    if (found == FAMILIES) found = word_family(unit);
    if (word) {
        snprintf(what, sizeof what, "\"%s\" can mean two units", unit);
    } else if (unit[0] == '\0') {
        snprintf(what, sizeof what, "a number without its unit");
    } else if (found != FAMILIES) {
        snprintf(what, sizeof what, "\"%s\" is %s", unit, families[found].text);
    } else {
        snprintf(what, sizeof what, "unknown unit \"%s\"", unit);
    }
    return fail(err, dimension, what);
}

/* -------------------------------------------------------------- quantities */

typedef struct {
    double number;
    char unit[TEXT_LIMIT];
} quantity;

/* Copies text with its outer blanks gone and inner ones single, the minus sign
 * U+2212 as a hyphen. False when it is too long or empty. */
static bool normalise(char out[TEXT_LIMIT], const char *text, size_t length)
{
    size_t n = 0;
    for (size_t i = 0; i < length; i++) {
        char c = text[i];
        if (length - i >= 3 && memcmp(text + i, "\xE2\x88\x92", 3) == 0) {
            c = '-';
            i += 2;
        } else if (length - i >= 2 && memcmp(text + i, "\xC2\xA0", 2) == 0) {
            c = ' ';
            i++;
        }
        if (c == ' ' && (n == 0 || out[n - 1] == ' ')) continue;
        if (n + 1 >= TEXT_LIMIT) return false;
        out[n++] = c;
    }
    if (n > 0 && out[n - 1] == ' ') n--;
    out[n] = '\0';
    return n > 0;
}

static int split(quantity *out, pappus_dimension dimension, const char *text, size_t length,
                 pappus_error *err)
{
    char clean[TEXT_LIMIT];
    if (!normalise(clean, text, length)) {
        return fail(err, dimension, length > 0 ? "blank or too long" : "empty");
    }
    size_t n = pappus_number_read(&out->number, clean);
    if (n == 0) {
        return fail(err, dimension,
                    number_length(clean) ? "a number out of range" : "no number at the start");
    }
    const char *rest = clean + n;
    if (*rest == ',') return fail(err, dimension, "a comma in a number (1000.5, not 1,000.5)");
    if (*rest == '.') return fail(err, dimension, "two points in a number");
    if (*rest == ' ') rest++;
    if ((*rest >= '0' && *rest <= '9') || *rest == '-' || *rest == '+' || *rest == '/') {
        return fail(err, dimension, "more than one number");
    }
    for (const char *p = rest; *p; p++) {
        if (*p == ' ' && number_length(p + 1)) return fail(err, dimension, "more than one number");
    }
    memcpy(out->unit, rest, strlen(rest) + 1);
    return PAPPUS_OK;
}

static int parse(double *si, pappus_units *units, pappus_dimension dimension, const char *text,
                 bool difference, pappus_error *err)
{
    quantity q;
    conversion c;
    int status = split(&q, dimension, text, strlen(text), err);
    if (status) return status;
    status = unit_find(&c, units, dimension, q.unit, err);
    if (status) return status;
    double value = difference ? q.number * fabs(c.factor) : (q.number + c.offset) * c.factor;
    if (!isfinite(value)) return fail(err, dimension, "a number out of range");
    *si = value;
    return PAPPUS_OK;
}

int pappus_units_parse(double *si, pappus_units *units, pappus_dimension dimension,
                       const char *text, pappus_error *err)
{
    return parse(si, units, dimension, text, false, err);
}

int pappus_units_parse_difference(double *si, pappus_units *units, pappus_dimension dimension,
                                  const char *text, pappus_error *err)
{
    return parse(si, units, dimension, text, true, err);
}

/* Where the sign of an uncertainty stands; its length in *width. */
static const char *find_sign(const char *text, size_t *width)
{
    const char *sign = strstr(text, "+/-");
    *width = 3;
    if (!sign) {
        sign = strstr(text, "\xC2\xB1");
        *width = 2;
    }
    return sign;
}

static int spread(double *sd, conversion *c, const quantity *mean, const quantity *deviation,
                  pappus_units *units, pappus_dimension dimension, pappus_error *err)
{
    bool relative = strcmp(deviation->unit, "%") == 0;
    /* "5200 +/- 250 ft": the unit at the end is for both. */
    bool shared = mean->unit[0] == '\0' && !relative;
    int status = unit_find(c, units, dimension, shared ? deviation->unit : mean->unit, err);
    if (status) return status;
    if (relative) {
        if (c->offset != 0.0 || mean->number == 0.0) {
            return fail(err, dimension, "a share of a value that has no natural zero or is zero");
        }
        *sd = 0.01 * deviation->number * fabs(mean->number * c->factor);
        return PAPPUS_OK;
    }
    conversion own;
    status = unit_find(&own, units, dimension, deviation->unit, err);
    if (status) return status;
    *sd = deviation->number * fabs(own.factor);
    return PAPPUS_OK;
}

int pappus_units_parse_uncertain(pappus_uncertain *out, pappus_units *units,
                                 pappus_dimension dimension, const char *text, pappus_error *err)
{
    size_t width;
    const char *sign = find_sign(text, &width);
    quantity mean, deviation;
    conversion c;
    double sd = 0.0, value;
    if (!sign) {
        int status = pappus_units_parse(&value, units, dimension, text, err);
        if (status == PAPPUS_OK) *out = pappus_exact(value);
        return status;
    }
    int status = split(&mean, dimension, text, (size_t)(sign - text), err);
    if (status) return status;
    status = split(&deviation, dimension, sign + width, strlen(sign + width), err);
    if (status) return status;
    status = spread(&sd, &c, &mean, &deviation, units, dimension, err);
    if (status) return status;
    value = (mean.number + c.offset) * c.factor;
    if (!isfinite(value) || !isfinite(sd)) return fail(err, dimension, "a number out of range");
    if (sd < 0.0) return fail(err, dimension, "a standard deviation below zero");
    *out = sd > 0.0 ? pappus_normal(value, sd) : pappus_exact(value);
    return PAPPUS_OK;
}

/* --------------------------------------------------------------- to text */

/* snprintf of "number unit" in the C locale; zero never shows as "-0". */
static int print_number(char *out, size_t size, double value, const char *unit)
{
    pappus_locale locale;
    int changed = pappus_locale_enter(&locale);
    int n = snprintf(out, size, "%.6g%s%s", value == 0.0 ? 0.0 : value, unit[0] ? " " : "", unit);
    if (changed) pappus_locale_leave(&locale);
    return n;
}

static int format(char *out, size_t size, pappus_dimension dimension, pappus_unit_system system,
                  double si, bool difference)
{
    const char *unit = dimensions[dimension].shown[system];
    const unit_word *word = word_find(dimensions[dimension].family, unit);
    if (!isfinite(si) || !word) return snprintf(out, size, "none");
    return print_number(out, size, si / word->factor - (difference ? 0.0 : word->offset), unit);
}

int pappus_units_format(char *out, size_t size, pappus_dimension dimension,
                        pappus_unit_system system, double si)
{
    return format(out, size, dimension, system, si, false);
}

int pappus_units_format_uncertain(char *out, size_t size, pappus_dimension dimension,
                                  pappus_unit_system system, pappus_uncertain value)
{
    char a[64], b[64], c[64];
    pappus_units_format(a, sizeof a, dimension, system, value.mean);
    switch (value.distribution) {
    case PAPPUS_EXACT:
        return snprintf(out, size, "%s", a);
    case PAPPUS_NORMAL:
    case PAPPUS_LOGNORMAL:
        format(b, sizeof b, dimension, system, value.sd, true);
        return snprintf(out, size, "%s +/- %s%s", a, b,
                        value.distribution == PAPPUS_LOGNORMAL ? " lognormal" : "");
    case PAPPUS_UNIFORM:
    case PAPPUS_TRIANGULAR:
        pappus_units_format(a, sizeof a, dimension, system, value.low);
        pappus_units_format(b, sizeof b, dimension, system, value.high);
        pappus_units_format(c, sizeof c, dimension, system, value.mode);
        if (value.distribution == PAPPUS_UNIFORM) return snprintf(out, size, "%s to %s", a, b);
        return snprintf(out, size, "%s to %s, most likely %s", a, b, c);
    default:
        return snprintf(out, size, "none");
    }
}

/* ---------------------------------------------------------------- bearings */

static double wrap_deg(double bearing_deg)
{
    double b = fmod(bearing_deg, 360.0);
    if (b < 0.0) b += 360.0;
    return b >= 360.0 ? 0.0 : b;
}

static bool compass_point(double *bearing_deg, const char *text)
{
    static const char *const points[] = {"N", "NNE", "NE", "ENE", "E", "ESE", "SE", "SSE",
                                         "S", "SSW", "SW", "WSW", "W", "WNW", "NW", "NNW"};
    for (size_t i = 0; i < 16; i++) {
        if (strcmp(points[i], text) == 0) {
            *bearing_deg = 22.5 * (double)i;
            return true;
        }
    }
    return false;
}

#define BEARING_ACCEPTED                                                                           \
    "accepted is a bearing of 0 to 360 deg, as in \"240 deg\", \"240 degM\" (magnetic) or \"WSW\""

int pappus_bearing_parse(double *bearing_deg, const char *text, double declination_deg,
                         pappus_error *err)
{
    double value;
    if (compass_point(bearing_deg, text)) return PAPPUS_OK;
    size_t n = pappus_number_read(&value, text);
    if (n == 0) {
        return pappus_fail(err, PAPPUS_E_PLAN, NULL, NULL, NULL, "not a bearing; %s",
                           BEARING_ACCEPTED);
    }
    const char *unit = text + n + (text[n] == ' ');
    bool magnetic = strcmp(unit, "degM") == 0;
    if (unit[0] == '\0') {
        return pappus_fail(err, PAPPUS_E_PLAN, NULL, NULL, NULL, "a number without its unit; %s",
                           BEARING_ACCEPTED);
    }
    if (!magnetic && strcmp(unit, "degT") != 0 && !word_find(FAMILY_ANGLE, unit)) {
        return pappus_fail(err, PAPPUS_E_PLAN, NULL, NULL, NULL,
                           "\"%s\" is no unit of a bearing; %s", unit, BEARING_ACCEPTED);
    }
    if (strcmp(unit, "rad") == 0 || value < 0.0 || value > 360.0) {
        return pappus_fail(err, PAPPUS_E_PLAN, NULL, NULL, NULL, "out of range; %s",
                           BEARING_ACCEPTED);
    }
    if (magnetic && !isfinite(declination_deg)) {
        return pappus_fail(err, PAPPUS_E_PLAN, NULL, NULL, NULL,
                           "a magnetic bearing needs site.declination, as in \"3 deg\" (east "
                           "positive); or write the true bearing in deg");
    }
    *bearing_deg = wrap_deg(magnetic ? value + declination_deg : value);
    return PAPPUS_OK;
}

int pappus_bearing_format(char *out, size_t size, double bearing_deg, double declination_deg)
{
    char true_text[40], magnetic[40];
    print_number(true_text, sizeof true_text, bearing_deg, "deg true");
    if (!isfinite(declination_deg)) return snprintf(out, size, "%s", true_text);
    print_number(magnetic, sizeof magnetic, wrap_deg(bearing_deg - declination_deg),
                 "deg magnetic");
    return snprintf(out, size, "%s (%s)", true_text, magnetic);
}

int pappus_duration_parse(double *s, const char *text, pappus_error *err)
{
    return pappus_units_parse(s, NULL, PAPPUS_DIM_AGE, text, err);
}
