/* SPDX-License-Identifier: GPL-3.0-or-later
 * Names of columns as people type them: "Height (ft MSL)", "speed_kmh", "Wind Dir". A name
 * is cut into words; each must be known: a quantity, what a height is above, a unit or one
 * that adds nothing. With one quantity and no word left over the name is read; with a
 * quantity and an unknown word it is refused, for there a misreading would be silent; with
 * no quantity it is of something else. */
#include "wind_columns.h"

#include <stdio.h>
#include <string.h>

/* What words say, as bits: quantities by their number, then the rest. */
#define SAYS(quantity) (1U << PAPPUS_LAYER_##quantity)
#define HEIGHT_BITS 0x1FU
enum {
    WIND = 1U << 20,  /* speed or direction, by its unit */
    OTHER = 1U << 21, /* a quantity that is not used */
    NOISE = 1U << 22,
    UTC = 1U << 23,
    TOWARDS = 1U << 24,
    MAGNETIC = 1U << 25
};

static const struct {
    const char *word;
    unsigned says;
} vocabulary[] = {
    {"height", SAYS(HEIGHT)},
    {"heights", SAYS(HEIGHT)},
    {"hgt", SAYS(HEIGHT)},
    {"altitude", SAYS(HEIGHT)},
    {"alt", SAYS(HEIGHT)},
    {"agl", SAYS(HEIGHT_AGL)},
    {"ground", SAYS(HEIGHT_AGL)},
    {"pad", SAYS(HEIGHT_AGL)},
    {"msl", SAYS(HEIGHT_MSL)},
    {"amsl", SAYS(HEIGHT_MSL)},
    {"asl", SAYS(HEIGHT_MSL)},
    {"sea", SAYS(HEIGHT_MSL)},
    {"geopotential", SAYS(HEIGHT_GEOPOTENTIAL)},
    {"direction", SAYS(DIRECTION)},
    {"dir", SAYS(DIRECTION)},
    {"bearing", SAYS(DIRECTION)},
    {"winddir", SAYS(DIRECTION)},
    {"winddirection", SAYS(DIRECTION)},
    {"wdir", SAYS(DIRECTION)},
    {"from", SAYS(DIRECTION)},
    {"speed", SAYS(SPEED)},
    {"spd", SAYS(SPEED)},
    {"wspd", SAYS(SPEED)},
    {"windspeed", SAYS(SPEED)},
    {"velocity", SAYS(SPEED)},
    {"u", SAYS(U)},
    {"v", SAYS(V)},
    {"sd", SAYS(SD)},
    {"sigma", SAYS(SD)},
    {"temperature", SAYS(TEMPERATURE)},
    {"temp", SAYS(TEMPERATURE)},
    {"pressure", SAYS(PRESSURE)},
    {"press", SAYS(PRESSURE)},
    {"pres", SAYS(PRESSURE)},
    {"time", SAYS(TIME)},
    {"valid", SAYS(TIME)},
    {"datetime", SAYS(TIME)},
    {"issued", SAYS(ISSUED)},
    {"observed", SAYS(ISSUED)},
    {"member", SAYS(MEMBER)},
    {"kind", SAYS(KIND)},
    {"wind", WIND},
    {"winds", WIND},
    {"gust", SAYS(GUST)},
    {"gusts", SAYS(GUST)},
    {"windgust", SAYS(GUST)},
    {"dew", OTHER},
    {"dewpoint", OTHER},
    {"humidity", OTHER},
    {"shear", OTHER},
    {"utc", UTC},
    {"gmt", UTC},
    {"z", UTC},
    {"zulu", UTC},
    {"to", TOWARDS},
    {"toward", TOWARDS},
    {"towards", TOWARDS},
    {"magnetic", MAGNETIC},
    {"mag", MAGNETIC},
    {"degm", MAGNETIC},
    {"\xC2\xB0m", MAGNETIC},
    {"above", NOISE},
    {"level", NOISE},
    {"mean", NOISE},
    {"average", NOISE},
    {"avg", NOISE},
    {"true", NOISE},
    {"the", NOISE},
    {"of", NOISE},
    {"in", NOISE},
    {"component", NOISE},
    {"point", NOISE},
    {"air", NOISE},
    {"degt", NOISE},
    {"\xC2\xB0t", NOISE},
};

/* A name whose first word begins so, and is none, must not be passed over. */
static const char *const stems[] = {"height", "alt",      "dir",  "speed",  "wind",
                                    "temp",   "pressure", "time", "issued", "member"};

typedef struct {
    unsigned says;
    size_t unit_count;
    char unit[40];    /* the last word that is no known one: a unit, or what? */
    char unknown[40]; /* an earlier one */
} reading;

static unsigned meaning(const char *word)
{
    for (size_t i = 0; i < sizeof vocabulary / sizeof *vocabulary; i++)
        if (strcmp(vocabulary[i].word, word) == 0) return vocabulary[i].says;
    return 0;
}

/* Letters, digits, the slash of m/s and bytes of UTF-8 make words. */
static bool is_in_word(char c)
{
    return (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9') || c == '/' || c == '%' ||
           (unsigned char)c >= 0x80;
}

/* Cuts a name into lower-case words and notes what each says. */
static reading read_words(const char *text)
{
    reading r = {0};
    char word[40];
    size_t n = 0;
    for (const char *p = text;; p++) {
        char c = *p >= 'A' && *p <= 'Z' ? (char)(*p - 'A' + 'a') : *p;
        if (is_in_word(c)) {
            if (n + 1 < sizeof word) word[n++] = c;
            continue;
        }
        word[n] = '\0';
        unsigned says = n ? meaning(word) : NOISE;
        r.says |= says;
        if (!says) {
            snprintf(r.unknown, sizeof r.unknown, "%s", r.unit);
            snprintf(r.unit, sizeof r.unit, "%s", word);
            r.unit_count++;
        }
        n = 0;
        if (!c) return r;
    }
}

static pappus_dimension dimension_of(pappus_layer_quantity quantity)
{
    if (quantity <= PAPPUS_LAYER_HEIGHT) return PAPPUS_DIM_LENGTH;
    if (quantity == PAPPUS_LAYER_DIRECTION) return PAPPUS_DIM_ANGLE;
    if (quantity == PAPPUS_LAYER_TEMPERATURE) return PAPPUS_DIM_TEMPERATURE;
    if (quantity == PAPPUS_LAYER_PRESSURE) return PAPPUS_DIM_PRESSURE;
    return PAPPUS_DIM_SPEED;
}

static bool has_dimension(pappus_layer_quantity quantity)
{
    return quantity < PAPPUS_LAYER_TIME;
}

/* The one height that words say; PAPPUS_LAYER_HEIGHT when they do not. */
static pappus_layer_quantity height_of(unsigned says)
{
    unsigned above = says & HEIGHT_BITS & ~SAYS(HEIGHT);
    if (says & SAYS(PRESSURE)) above |= says & SAYS(HEIGHT) ? SAYS(HEIGHT_PRESSURE) : says;
    if (says & SAYS(HEIGHT_GEOPOTENTIAL)) above &= ~SAYS(HEIGHT_MSL);
    for (int q = PAPPUS_LAYER_HEIGHT_AGL; q < PAPPUS_LAYER_HEIGHT; q++)
        if (above == 1U << q) return (pappus_layer_quantity)q;
    return above ? PAPPUS_LAYER_IGNORED : PAPPUS_LAYER_HEIGHT;
}

static pappus_layer_quantity wind_of(const char *unit)
{
    double factor, offset;
    if (pappus_unit_find(&factor, &offset, PAPPUS_DIM_SPEED, unit)) return PAPPUS_LAYER_SPEED;
    if (pappus_unit_find(&factor, &offset, PAPPUS_DIM_ANGLE, unit)) return PAPPUS_LAYER_DIRECTION;
    return PAPPUS_LAYER_IGNORED;
}

/* The quantity that the words name, PAPPUS_LAYER_IGNORED when it is none or several. */
static pappus_layer_quantity quantity_of(const reading *r)
{
    unsigned says = r->says & ((1U << PAPPUS_LAYER_QUANTITIES) - 1);
    if (says & HEIGHT_BITS) {
        bool alone = !(says & ~(HEIGHT_BITS | SAYS(PRESSURE)));
        return alone ? height_of(says) : PAPPUS_LAYER_IGNORED;
    }
    if (says == 0 && (r->says & WIND)) return wind_of(r->unit);
    if (says & (SAYS(SD) | SAYS(GUST))) says &= ~SAYS(SPEED);
    if (says & SAYS(ISSUED)) says &= ~SAYS(TIME);
    for (int q = PAPPUS_LAYER_HEIGHT + 1; q < PAPPUS_LAYER_QUANTITIES; q++)
        if (says == 1U << q) return (pappus_layer_quantity)q;
    return PAPPUS_LAYER_IGNORED;
}

static bool looks_known(const reading *r, const char *name)
{
    for (size_t i = 0; i < sizeof stems / sizeof *stems; i++) {
        size_t n = 0;
        while (stems[i][n] && (name[n] | 0x20) == stems[i][n])
            n++;
        if (!stems[i][n]) return true;
    }
    return (r->says & ((1U << PAPPUS_LAYER_QUANTITIES) - 1)) != 0;
}

/* The unit word, when there is one, to the column. */
static bool take_unit(pappus_layer_column *out, const reading *r, char why[PAPPUS_LAYER_WHY])
{
    if (r->unit_count == 0) return true;
    if (r->unit_count > 1) {
        snprintf(why, PAPPUS_LAYER_WHY, "what \"%s\" means is not known", r->unknown);
        return false;
    }
    if (has_dimension(out->quantity) &&
        pappus_unit_find(&out->factor, &out->offset, dimension_of(out->quantity), r->unit)) {
        out->has_unit = true;
        return true;
    }
    snprintf(why, PAPPUS_LAYER_WHY, "\"%s\" is not a known unit of it", r->unit);
    return false;
}

static bool check_direction(const pappus_layer_column *out, const reading *r,
                            char why[PAPPUS_LAYER_WHY])
{
    if (r->says & TOWARDS)
        snprintf(why, PAPPUS_LAYER_WHY, "where the wind blows to; accepted is where it comes from");
    else if (r->says & MAGNETIC)
        snprintf(why, PAPPUS_LAYER_WHY,
                 "a magnetic direction; accepted is the true one, in degrees or as WSW");
    else if (out->has_unit && out->factor != 1.0)
        snprintf(why, PAPPUS_LAYER_WHY, "accepted are directions in degrees, as direction_deg");
    else
        return true;
    return false;
}

/* What to write in place of a name that cannot be read. */
static const char *accepted_for(const reading *r)
{
    if (r->says & (HEIGHT_BITS | SAYS(PRESSURE))) return PAPPUS_LAYER_HEIGHTS;
    if (r->says & (SAYS(TIME) | SAYS(ISSUED)))
        return "accepted are time and issued, the cells as 2027-04-17 10:00 -05:00";
    if (r->says & SAYS(TEMPERATURE)) return "accepted are temperature_degC, _degF or _K";
    return PAPPUS_LAYER_WINDS;
}

bool pappus_layer_column_read(pappus_layer_column *out, const char *name,
                              char why[PAPPUS_LAYER_WHY])
{
    reading r = read_words(name);
    *out = (pappus_layer_column){.name = name, .quantity = PAPPUS_LAYER_IGNORED, .factor = 1};
    if (r.says & OTHER) return true;
    pappus_layer_quantity quantity = quantity_of(&r);
    if (quantity == PAPPUS_LAYER_IGNORED && !looks_known(&r, name)) return true;
    out->quantity = quantity;
    out->utc = (r.says & UTC) != 0;
    snprintf(why, PAPPUS_LAYER_WHY, "not a column with a known unit");
    if (quantity == PAPPUS_LAYER_DIRECTION && !check_direction(out, &r, why)) return false;
    if (quantity != PAPPUS_LAYER_IGNORED && take_unit(out, &r, why))
        return quantity != PAPPUS_LAYER_DIRECTION || check_direction(out, &r, why);
    size_t n = strlen(why);
    snprintf(why + n, PAPPUS_LAYER_WHY - n, "; %s", accepted_for(&r));
    out->quantity = PAPPUS_LAYER_IGNORED;
    return false;
}

bool pappus_layer_cell_read(pappus_layer_column *out, const pappus_layer_column *column,
                            const char *words, char why[PAPPUS_LAYER_WHY])
{
    reading r = read_words(words);
    bool height = column->quantity <= PAPPUS_LAYER_HEIGHT;
    *out = *column;
    out->has_unit = false;
    if ((r.says & ~(NOISE | (height ? HEIGHT_BITS : 0))) != 0) {
        snprintf(why, PAPPUS_LAYER_WHY, "accepted behind the number is its unit");
        return out->quantity == PAPPUS_LAYER_DIRECTION && (r.says & MAGNETIC)
                   ? check_direction(out, &r, why)
                   : false;
    }
    if (height && (r.says & HEIGHT_BITS & ~SAYS(HEIGHT))) out->quantity = height_of(r.says);
    if (!take_unit(out, &r, why)) return false;
    bool other = out->quantity == PAPPUS_LAYER_IGNORED ||
                 (column->quantity != PAPPUS_LAYER_HEIGHT && out->quantity != column->quantity) ||
                 (column->has_unit && out->has_unit && out->factor != column->factor);
    if (other) snprintf(why, PAPPUS_LAYER_WHY, "not what the column's name says");
    if (column->has_unit && !out->has_unit) {
        out->has_unit = true;
        out->factor = column->factor;
        out->offset = column->offset;
    }
    return !other && (out->quantity != PAPPUS_LAYER_DIRECTION || check_direction(out, &r, why));
}
