/* SPDX-License-Identifier: GPL-3.0-or-later
 * The table of unit words. */
#ifndef PAPPUS_BASE_UNIT_WORDS_H
#define PAPPUS_BASE_UNIT_WORDS_H

#include "si.h"

/** Families of interchangeable words: X(NAME, name, coherent unit of UDUNITS-2 or
 * NULL when only the table counts, coherent unit in ours). */
#define PAPPUS_FAMILY_LIST(X)                                                                      \
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
    X(LOAD, "an acceleration", "m/s2", 1.0 / PAPPUS_GRAVITY_MPS2)                                  \
    X(DENSITY, "a density", "kg/m3", 1.0)

typedef enum {
#define PAPPUS_FAMILY_ENUM(name, text, unit, factor) PAPPUS_FAMILY_##name,
    PAPPUS_FAMILY_LIST(PAPPUS_FAMILY_ENUM)
#undef PAPPUS_FAMILY_ENUM
        PAPPUS_FAMILIES
} pappus_unit_family;

/** si = (number + offset) * factor; factor NaN: the word can mean two units. */
typedef struct {
    pappus_unit_family family;
    const char *word;
    double factor, offset;
} pappus_unit_word;

/** NULL when the family has no such word. */
const pappus_unit_word *pappus_unit_word_find(pappus_unit_family family, const char *word);
/** The first of the family that is the same but for the case of its letters. */
const pappus_unit_word *pappus_unit_word_find_any_case(pappus_unit_family family, const char *word);

#endif
