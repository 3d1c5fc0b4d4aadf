/* SPDX-License-Identifier: GPL-3.0-or-later
 * Values as people read them. Units by their exact definitions (international
 * foot, pound and mile; pound-force with standard gravity). What is shown is
 * rounded for reading: a drift to 10 ft or 5 m, since its error is far larger. */
#include "format.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "coordinate.h"
#include "timestamp.h"
#include "utf8.h"

#define MOST_DECIMALS 6
#define WHOLE_STEP 1e-6 /* a value this near a step counts as on it */

typedef struct {
    const char *unit;
    double size;
    int decimals;
    double step;
} shown_unit;

static const shown_unit shown_units[PAPPUS_QUANTITIES][2] = {
#define ROW(name, us, us_size, us_decimals, us_step, si, si_size, si_decimals, si_step)            \
    {{us, us_size, us_decimals, us_step}, {si, si_size, si_decimals, si_step}},
    PAPPUS_QUANTITY_LIST(ROW)
#undef ROW
};

static const shown_unit *shown(pappus_quantity quantity, pappus_unit_system units)
{
    return &shown_units[quantity][units == PAPPUS_UNITS_SI];
}

const char *pappus_quantity_unit(pappus_quantity quantity, pappus_unit_system units)
{
    return shown(quantity, units)->unit;
}

double pappus_quantity_value(pappus_quantity quantity, double si, pappus_unit_system units)
{
    return si / shown(quantity, units)->size;
}

static char *put(char *out, size_t size, const char *format, ...)
    __attribute__((format(printf, 3, 4)));

static char *put(char *out, size_t size, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(out, size, format, arguments);
    va_end(arguments);
    return out;
}

/* Decimals that show a percentage: more near 0 and 100, where they matter. */
static int percent_decimals(double percent)
{
    return percent < 1 || percent > 99 ? 2 : 1;
}

static void strip_zeros(char *number)
{
    size_t length = strlen(number);
    if (!strchr(number, '.')) return;
    while (length > 0 && number[length - 1] == '0')
        number[--length] = '\0';
    if (length > 0 && number[length - 1] == '.') number[length - 1] = '\0';
}

#define RAREST_SHOWN 1e-9

static char *percent_number(char *out, size_t size, double chance, int extra)
{
    double percent = 100 * chance;
    put(out, size, "%.*f", percent_decimals(percent) + extra, percent);
    double shown_percent = strtod(out, NULL);
    if (shown_percent >= 100 && chance < 1) return put(out, size, "over 99.99");
    if (shown_percent <= 0 && chance > 0) {
        if (chance < RAREST_SHOWN) return put(out, size, "under 0.0000001");
        put(out, size, "%.*f", 1 - (int)floor(log10(percent)), percent); /* two digits */
        strip_zeros(out);
        return out;
    }
    if (chance <= 0 || chance >= 1) strip_zeros(out);
    return out;
}

/* extra: decimals beyond the usual ones; with any, the step no longer rounds. */
static char *number(char *out, size_t size, pappus_quantity quantity, double si,
                    pappus_unit_system units, int extra)
{
    const shown_unit *unit = shown(quantity, units);
    if (!isfinite(si)) return put(out, size, "not known");
    if (quantity == PAPPUS_SHOW_CHANCE) return percent_number(out, size, si, extra);
    double value = si / unit->size;
    if (extra == 0) value = round(value / unit->step) * unit->step;
    return put(out, size, "%.*f", unit->decimals + extra, value + 0.0);
}

char *pappus_format_number(char *out, size_t size, pappus_quantity quantity, double si,
                           pappus_unit_system units)
{
    return number(out, size, quantity, si, units, 0);
}

char *pappus_format(char *out, size_t size, pappus_quantity quantity, double si,
                    pappus_unit_system units)
{
    char text[PAPPUS_TEXT_SIZE];
    number(text, sizeof text, quantity, si, units, 0);
    if (!isfinite(si)) return put(out, size, "%s", text);
    if (quantity == PAPPUS_SHOW_CHANCE) strip_zeros(text);
    return put(out, size, "%s %s", text, pappus_quantity_unit(quantity, units));
}

char *pappus_format_range(char *out, size_t size, pappus_quantity quantity, double low_si,
                          double high_si, pappus_unit_system units)
{
    char low[PAPPUS_TEXT_SIZE];
    char high[PAPPUS_TEXT_SIZE];
    if (!isfinite(low_si) || !isfinite(high_si)) return put(out, size, "not known");
    number(low, sizeof low, quantity, low_si, units, 0);
    pappus_format(high, sizeof high, quantity, high_si, units);
    return put(out, size, "%s to %s", low, high);
}

char *pappus_format_down(char *out, size_t size, pappus_quantity quantity, double si,
                         pappus_unit_system units)
{
    const shown_unit *unit = shown(quantity, units);
    double steps = floor(si / unit->size / unit->step + WHOLE_STEP);
    return pappus_format(out, size, quantity, steps * unit->step * unit->size, units);
}

char *pappus_format_chance(char *out, size_t size, double chance)
{
    return pappus_format(out, size, PAPPUS_SHOW_CHANCE, chance, PAPPUS_UNITS_SI);
}

static int whole_degrees(double bearing_deg)
{
    return (int)lround(pappus_bearing_wrap_deg(bearing_deg)) % 360;
}

char *pappus_format_bearing(char *out, size_t size, double bearing_deg, double declination_deg)
{
    if (!isfinite(bearing_deg)) return put(out, size, "not known");
    int bearing = whole_degrees(bearing_deg);
    if (!isfinite(declination_deg)) return put(out, size, "%d deg", bearing);
    return put(out, size, "%d deg true (%d magnetic)", bearing,
               whole_degrees(bearing_deg - declination_deg));
}

char *pappus_format_position(char *out, size_t size, double latitude_deg, double longitude_deg)
{
    if (!isfinite(latitude_deg) || !isfinite(longitude_deg)) return put(out, size, "not known");
    return put(out, size, "%.5f, %.5f", latitude_deg, longitude_deg);
}

char *pappus_format_minutes(char *out, size_t size, double latitude_deg, double longitude_deg)
{
    char latitude[32], longitude[32];
    if (!isfinite(latitude_deg) || !isfinite(longitude_deg)) return put(out, size, "not known");
    pappus_coordinate_format(latitude, sizeof latitude, latitude_deg, true);
    pappus_coordinate_format(longitude, sizeof longitude, longitude_deg, false);
    return put(out, size, "%s, %s", latitude, longitude);
}

char *pappus_format_together(char *out, size_t size, const char *words)
{
    size_t length = 0;
    for (const char *c = words; *c && length + 3 < size; c++) {
        bool glue = *c == ' ' && c > words && c[-1] != ',';
        if (glue) out[length++] = '\xC2';
        out[length++] = glue ? '\xA0' : *c;
    }
    out[length] = '\0';
    return out;
}

char *pappus_format_flight(char *out, size_t size, double utc_s)
{
    char iso[40];
    if (isnan(utc_s)) return put(out, size, "flight time not given");
    pappus_time_format(iso, sizeof iso, utc_s);
    return put(out, size, "flight %.10s %.5s UTC", iso, iso + 11);
}

char *pappus_format_issue(char *out, size_t size, double utc_s)
{
    char iso[40];
    pappus_time_format(iso, sizeof iso, utc_s);
    return put(out, size, "of %.10s %.5s UTC", iso, iso + 11);
}

const char *pappus_decision_text(pappus_decision decision)
{
    return decision == PAPPUS_GO ? "go" : decision == PAPPUS_NO_GO ? "no-go" : "undecided";
}

const char *pappus_verdict_text(pappus_verdict verdict)
{
    return verdict == PAPPUS_MET ? "met" : verdict == PAPPUS_BROKEN ? "broken" : "undecided";
}

const char *pappus_decision_shout(pappus_decision decision)
{
    return decision == PAPPUS_GO ? "GO" : decision == PAPPUS_NO_GO ? "NO-GO" : "UNDECIDED";
}

const char *pappus_file_name(const char *path)
{
    const char *slash = path ? strrchr(path, '/') : NULL;
    return slash ? slash + 1 : path ? path : "";
}

const char *pappus_caution(void)
{
    return "A planning estimate. The range safety officer decides.";
}

/* How each limit reads, and the quantity of its value. */
static const struct {
    const char *words, *tail;
    pappus_quantity quantity;
} limits[PAPPUS_LIMIT_KINDS] = {
    [PAPPUS_LIMIT_INSIDE_FIELD] = {"lands inside the field", "", PAPPUS_SHOW_CHANCE},
    [PAPPUS_LIMIT_KEEP_OUT] = {"lands on a keep-out area", "", PAPPUS_SHOW_CHANCE},
    [PAPPUS_LIMIT_SURFACE_WIND] = {"surface wind", "", PAPPUS_SHOW_WIND},
    [PAPPUS_LIMIT_LANDING_SPEED] = {"descent rate at touchdown", " (95th pct)", PAPPUS_SHOW_SPEED},
    [PAPPUS_LIMIT_LANDING_ENERGY] = {"touchdown energy", " (95th pct)", PAPPUS_SHOW_ENERGY},
    [PAPPUS_LIMIT_OPENING_LOAD] = {"opening load", " (95th pct)", PAPPUS_SHOW_LOAD},
    [PAPPUS_LIMIT_MAIN_HEIGHT] = {"main fully open at", " (5th pct)", PAPPUS_SHOW_HEIGHT},
};

pappus_quantity pappus_limit_quantity(pappus_limit_kind limit)
{
    return limits[limit].quantity;
}

char *pappus_format_caveat(char *out, size_t size, const pappus_caveat *caveat)
{
    switch (caveat->kind) {
    case PAPPUS_CAVEAT_NO_FIELD:
        return put(out, size, "no field given");
    case PAPPUS_CAVEAT_NO_WIND:
        return put(out, size, "no surface wind known");
    case PAPPUS_CAVEAT_GUST:
        return put(out, size, "the gust is above the bound");
    case PAPPUS_CAVEAT_NO_NOMINAL:
        return put(out, size, "no nominal landing to judge by");
    case PAPPUS_CAVEAT_UNOPENED:
        return put(out, size, "%zu of %zu nominal landings came before the main was full open",
                   caveat->count, caveat->of);
    default:
        return put(out, size, "%s", "");
    }
}

/* Gusts are scaled with the wind and reach its limit before the mean does. */
static bool gusts_turn_it(const pappus_plan *plan, const pappus_ceiling_row *row)
{
    return row->turns_limit == PAPPUS_LIMIT_SURFACE_WIND && plan->wind.has_surface &&
           plan->wind.gust_mps > plan->wind.surface.speed_mps;
}

char *pappus_format_turn(char *out, size_t size, const pappus_plan *plan,
                         const pappus_ceiling_row *row)
{
    const char *limit = pappus_limit_noun(row->turns_limit);
    if (!limit) return put(out, size, "none");
    if (gusts_turn_it(plan, row)) return put(out, size, "%s, its gusts", limit);
    if (!row->turns_name) return put(out, size, "%s", limit);
    put(out, size, "%s, ", limit);
    size_t used = strlen(out);
    pappus_text_cut(out + used, size - used, row->turns_name);
    return out;
}

/* Decimals beyond the usual ones, so that two values that differ never read the same. */
static int decimals_to_tell_apart(pappus_quantity quantity, double a, double b,
                                  pappus_unit_system units)
{
    char first[PAPPUS_TEXT_SIZE], second[PAPPUS_TEXT_SIZE];
    int extra = 0;
    if (a == b) return 0;
    for (; extra < MOST_DECIMALS; extra++) {
        number(first, sizeof first, quantity, a, units, extra);
        number(second, sizeof second, quantity, b, units, extra);
        if (strcmp(first, second) != 0) break;
    }
    return extra;
}

void pappus_format_apart(char first[PAPPUS_TEXT_SIZE], char second[PAPPUS_TEXT_SIZE],
                         pappus_quantity quantity, double a_si, double b_si,
                         pappus_unit_system units)
{
    char text[PAPPUS_TEXT_SIZE];
    int extra = decimals_to_tell_apart(quantity, a_si, b_si, units);
    const char *unit = pappus_quantity_unit(quantity, units);
    number(text, sizeof text, quantity, a_si, units, extra);
    put(first, PAPPUS_TEXT_SIZE, isfinite(a_si) ? "%s %s" : "%s", text, unit);
    number(text, sizeof text, quantity, b_si, units, extra);
    put(second, PAPPUS_TEXT_SIZE, isfinite(b_si) ? "%s %s" : "%s", text, unit);
}

static void append(char *out, size_t size, const char *before, const char *text)
{
    size_t length = strlen(out);
    if (!text || text[0] == '\0') return;
    length += pappus_text_cut(out + length, size - length, before);
    pappus_text_cut(out + length, size - length, text);
}

static char *interval_text(char *out, size_t size, const pappus_reason *reason,
                           pappus_unit_system units, int extra)
{
    char low[PAPPUS_TEXT_SIZE];
    char high[PAPPUS_TEXT_SIZE];
    pappus_quantity quantity = limits[reason->limit].quantity;
    out[0] = '\0';
    if (limits[reason->limit].tail[0] != '\0')
        return put(out, size, "%s", limits[reason->limit].tail);
    if (!isfinite(reason->value.low) || !isfinite(reason->value.high)) return out;
    number(low, sizeof low, quantity, reason->value.low, units, extra);
    number(high, sizeof high, quantity, reason->value.high, units, extra);
    return put(out, size, " (%s to %s)", low, high);
}

static char *value_text(char *out, size_t size, const pappus_reason *reason,
                        pappus_unit_system units, const char *unit)
{
    char value[PAPPUS_TEXT_SIZE];
    char interval[3 * PAPPUS_TEXT_SIZE];
    pappus_quantity quantity = limits[reason->limit].quantity;
    int extra = decimals_to_tell_apart(quantity, reason->value.value, reason->bound, units);
    if (!isfinite(reason->value.value)) return put(out, size, "not known");
    number(value, sizeof value, quantity, reason->value.value, units, extra);
    interval_text(interval, sizeof interval, reason, units, extra);
    return put(out, size, "%s %s%s", value, unit, interval);
}

char *pappus_format_reason(char *out, size_t size, const pappus_reason *reason,
                           pappus_unit_system units)
{
    char value[5 * PAPPUS_TEXT_SIZE];
    char bound[PAPPUS_TEXT_SIZE];
    pappus_quantity quantity = limits[reason->limit].quantity;
    const char *unit = pappus_quantity_unit(quantity, units);
    value_text(value, sizeof value, reason, units, unit);
    strip_zeros(number(bound, sizeof bound, quantity, reason->bound, units, 0));
    put(out, size, "%s %s, at %s %s %s", limits[reason->limit].words, value,
        reason->at_least ? "least" : "most", bound, unit);
    append(out, size, ": ", reason->name);
    append(out, size, ": ", pappus_format_caveat(value, sizeof value, &reason->caveat));
    return out;
}

/* Length of the UTF-8 character at text, 0 when there is none that XML 1.0 (Char,
 * section 2.2) allows. Overlong forms and surrogates are refused (RFC 3629). */
static size_t character_length(const unsigned char *text)
{
    static const unsigned long least[5] = {0, 0, 0x80, 0x800, 0x10000};
    unsigned char first = text[0];
    if (first < 0x80) return first >= 0x20 || first == '\t' || first == '\n' || first == '\r';
    size_t length = first >= 0xF0 && first < 0xF8   ? 4
                    : first >= 0xE0 && first < 0xF0 ? 3
                    : first >= 0xC0 && first < 0xE0 ? 2
                                                    : 0;
    if (length == 0) return 0;
    unsigned long code = first & (0x7FU >> length);
    for (size_t i = 1; i < length; i++) {
        if ((text[i] & 0xC0) != 0x80) return 0;
        code = code << 6 | (text[i] & 0x3FU);
    }
    if (code < least[length] || code > 0x10FFFF) return 0;
    if ((code >= 0xD800 && code <= 0xDFFF) || code == 0xFFFE || code == 0xFFFF) return 0;
    return length;
}

char *pappus_text_clean(const char *text)
{
    static const char replacement[] = "\xEF\xBF\xBD";
    const unsigned char *from = (const unsigned char *)text;
    char *clean = malloc(3 * strlen(text) + 1);
    char *to = clean;
    if (!clean) return NULL;
    while (*from) {
        size_t length = character_length(from);
        memcpy(to, length ? (const char *)from : replacement, length ? length : 3);
        to += length ? length : 3;
        from += length ? length : 1;
    }
    *to = '\0';
    return clean;
}
