/* SPDX-License-Identifier: GPL-3.0-or-later
 * Text with a unit to SI and back.
 *
 * A value is one number and one unit. The number is split off here, by a fixed
 * grammar and the C locale. The unit is looked up first in the table of the words
 * that flyers write (unit_words.c). Only then UDUNITS-2 is asked, for unit
 * expressions without numbers, and its answer is taken only when the dimension is
 * exactly the one due (it would convert s/m to m/s and degrees to a plain number)
 * and has no offset. Angles, temperatures and plain numbers use the table alone. */
#include "units.h"
#include "c_locale.h"
#include "error.h"
#include "uncertain.h"
#include "unit_words.h"

#include <math.h>
#include <pthread.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <udunits2.h>

#define TEXT_LIMIT 120

static const struct {
    pappus_unit_family family;
    const char *text, *example, *shown[2];
} dimensions[PAPPUS_DIMENSIONS] = {
#define DIMENSION_ROW(name, words, text, example, si, us)                                          \
    {PAPPUS_FAMILY_##words, text, example, {[PAPPUS_UNITS_SI] = si, [PAPPUS_UNITS_US] = us}},
    PAPPUS_DIMENSION_LIST(DIMENSION_ROW)
#undef DIMENSION_ROW
};

static const struct {
    const char *text, *udunits;
    double factor;
} families[PAPPUS_FAMILIES] = {
#define FAMILY_ROW(name, text, unit, factor) {text, unit, factor},
    PAPPUS_FAMILY_LIST(FAMILY_ROW)
#undef FAMILY_ROW
};

/** si = (number + offset) * factor */
typedef struct {
    double factor, offset;
} conversion;

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

bool pappus_unit_find(double *factor, double *offset, pappus_dimension dimension, const char *unit)
{
    pappus_unit_family due = dimensions[dimension].family;
    const pappus_unit_word *word = pappus_unit_word_find(due, unit);
    if (!word) word = pappus_unit_word_find_any_case(due, unit);
    if (!word || !isfinite(word->factor)) return false;
    *factor = word->factor;
    *offset = word->offset;
    return true;
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

/* Which family a unit of UDUNITS-2 belongs to, PAPPUS_FAMILIES when none. */
static pappus_unit_family library_family(double *factor, pappus_units *units, const char *text)
{
    pappus_unit_family found = PAPPUS_FAMILIES;
    ut_unit *unit = ut_parse(units->system, text, UT_UTF8);
    for (int f = 0; unit && f < PAPPUS_FAMILIES && found == PAPPUS_FAMILIES; f++) {
        if (!families[f].udunits) continue;
        ut_unit *reference = ut_parse(units->system, families[f].udunits, UT_UTF8);
        if (reference && convert_exactly(factor, unit, reference)) {
            *factor *= families[f].factor;
            found = (pappus_unit_family)f;
        }
        ut_free(reference);
    }
    ut_free(unit);
    return found;
}

static pappus_unit_family library_find(double *factor, pappus_units *units, const char *text)
{
    if (!units || units->unavailable || !is_expression(text)) return PAPPUS_FAMILIES;
    pappus_locale locale;
    if (!pappus_locale_enter(&locale)) return PAPPUS_FAMILIES;
    pthread_mutex_lock(&library);
    if (!units->system) units->system = ut_read_xml(NULL);
    if (!units->system) units->unavailable = true;
    pappus_unit_family found =
        units->system ? library_family(factor, units, text) : PAPPUS_FAMILIES;
    pthread_mutex_unlock(&library);
    pappus_locale_leave(&locale);
    return found;
}

static pappus_unit_family word_family(const char *unit)
{
    for (int f = 0; f < PAPPUS_FAMILIES; f++) {
        if (pappus_unit_word_find((pappus_unit_family)f, unit)) return (pappus_unit_family)f;
    }
    return PAPPUS_FAMILIES;
}

static int unit_find(conversion *out, pappus_units *units, pappus_dimension dimension,
                     const char *unit, pappus_error *err)
{
    char what[TEXT_LIMIT + 80];
    double factor = 1.0;
    pappus_unit_family due = dimensions[dimension].family;
    const pappus_unit_word *word = pappus_unit_word_find(due, unit);
    if (word && isfinite(word->factor)) {
        *out = (conversion){word->factor, word->offset};
        return PAPPUS_OK;
    }
    pappus_unit_family found = word ? PAPPUS_FAMILIES : library_find(&factor, units, unit);
    if (found == due) {
        *out = (conversion){factor, 0.0};
        return PAPPUS_OK;
    }
    if (found == PAPPUS_FAMILIES) found = word_family(unit);
    if (word) {
        snprintf(what, sizeof what, "\"%s\" can mean two units", unit);
    } else if (unit[0] == '\0') {
        snprintf(what, sizeof what, "a number without its unit");
    } else if (found != PAPPUS_FAMILIES) {
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
    if (status != PAPPUS_OK) return status;
    status = unit_find(&c, units, dimension, q.unit, err);
    if (status != PAPPUS_OK) return status;
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
    if (status != PAPPUS_OK) return status;
    if (relative) {
        if (c->offset != 0.0 || mean->number == 0.0) {
            return fail(err, dimension, "a share of a value that has no natural zero or is zero");
        }
        *sd = 0.01 * deviation->number * fabs(mean->number * c->factor);
        return PAPPUS_OK;
    }
    conversion own;
    status = unit_find(&own, units, dimension, deviation->unit, err);
    if (status != PAPPUS_OK) return status;
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
    if (status != PAPPUS_OK) return status;
    status = split(&deviation, dimension, sign + width, strlen(sign + width), err);
    if (status != PAPPUS_OK) return status;
    status = spread(&sd, &c, &mean, &deviation, units, dimension, err);
    if (status != PAPPUS_OK) return status;
    value = (mean.number + c.offset) * c.factor;
    if (!isfinite(value) || !isfinite(sd)) return fail(err, dimension, "a number out of range");
    if (sd < 0.0) return fail(err, dimension, "a standard deviation below zero");
    *out = sd > 0.0 ? pappus_normal(value, sd) : pappus_exact(value);
    return PAPPUS_OK;
}

/* --------------------------------------------------------------- to text */

int pappus_number_format(char *out, size_t size, double value, const char *unit)
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
    const pappus_unit_word *word = pappus_unit_word_find(dimensions[dimension].family, unit);
    if (!isfinite(si) || !word) return snprintf(out, size, "none");
    return pappus_number_format(out, size, si / word->factor - (difference ? 0.0 : word->offset),
                                unit);
}

int pappus_units_format(char *out, size_t size, pappus_dimension dimension,
                        pappus_unit_system system, double si)
{
    return format(out, size, dimension, system, si, false);
}

int pappus_units_format_whole(char *out, size_t size, pappus_dimension dimension,
                              pappus_unit_system system, double si)
{
    const char *unit = dimensions[dimension].shown[system];
    const pappus_unit_word *word = pappus_unit_word_find(dimensions[dimension].family, unit);
    if (!isfinite(si) || !word) return snprintf(out, size, "none");
    return pappus_number_format(out, size, round(si / word->factor - word->offset), unit);
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

int pappus_duration_parse(double *s, const char *text, pappus_error *err)
{
    return pappus_units_parse(s, NULL, PAPPUS_DIM_AGE, text, err);
}
