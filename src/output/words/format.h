/* SPDX-License-Identifier: GPL-3.0-or-later
 * Values as people read them: quantities in the units of the reader, bearings,
 * positions, chances, and the reasons of a decision in words. Nothing here
 * goes back into a computation. All text is UTF-8; numbers have a point
 * whatever the locale, as long as the caller stands in pappus_locale_enter. */
#ifndef PAPPUS_OUTPUT_FORMAT_H
#define PAPPUS_OUTPUT_FORMAT_H

#include "bearing.h"
#include "si.h"

#include <pappus/output.h>

/** Enough for every text of this header except a reason. */
#define PAPPUS_TEXT_SIZE 64
/** Enough for a reason; a longer name or note is cut. */
#define PAPPUS_REASON_SIZE 400

/** How a quantity is shown: US unit, its size in SI, decimals and rounding step
 * there; the same for SI. */
#define PAPPUS_QUANTITY_LIST(X)                                                                    \
    X(DISTANCE, "ft", PAPPUS_FOOT_M, 0, 10, "m", 1.0, 0, 5) /* along the ground */                 \
    X(HEIGHT, "ft", PAPPUS_FOOT_M, 0, 1, "m", 1.0, 0, 1)                                           \
    X(SPEED, "ft/s", PAPPUS_FOOT_M, 1, 0.1, "m/s", 1.0, 1, 0.1)                                    \
    X(WIND, "mph", PAPPUS_MPH_MPS, 1, 0.1, "m/s", 1.0, 1, 0.1)                                     \
    X(ENERGY, "ft lbf", PAPPUS_FOOT_POUND_J, 1, 0.1, "J", 1.0, 1, 0.1)                             \
    X(MASS, "lb", PAPPUS_POUND_KG, 2, 0.01, "kg", 1.0, 3, 0.001)                                   \
    X(FORCE, "lbf", PAPPUS_POUND_FORCE_N, 0, 1, "N", 1.0, 0, 1)                                    \
    X(LOAD, "g", 1.0, 1, 0.1, "g", 1.0, 1, 0.1)                                                    \
    X(TIME, "s", 1.0, 0, 1, "s", 1.0, 0, 1)                                                        \
    X(AREA, "acre", PAPPUS_ACRE_M2, 1, 0.1, "ha", 10000.0, 2, 0.01)                                \
    X(DRAG_AREA, "ft2", PAPPUS_FOOT_M *PAPPUS_FOOT_M, 2, 0.01, "m2", 1.0, 3, 0.001)                \
    X(DIAMETER, "inch", PAPPUS_INCH_M, 1, 0.1, "cm", 0.01, 1, 0.1)                                 \
    X(CHANCE, "%", 0.01, 1, 0.1, "%", 0.01, 1, 0.1) /* finer near 0 and 1 */

typedef enum {
#define PAPPUS_QUANTITY_ENUM(name, ...) PAPPUS_SHOW_##name,
    PAPPUS_QUANTITY_LIST(PAPPUS_QUANTITY_ENUM)
#undef PAPPUS_QUANTITY_ENUM
        PAPPUS_QUANTITIES
} pappus_quantity;

/** The unit's text, static. */
const char *pappus_quantity_unit(pappus_quantity quantity, pappus_unit_system units);
/** An SI value in the shown unit, not rounded: for axes and scale bars. */
double pappus_quantity_value(pappus_quantity quantity, double si, pappus_unit_system units);

/* Each of these writes into out[size], always terminated, and returns out. A
 * value that is not finite reads "not known". */

/** "1240 ft". */
char *pappus_format(char *out, size_t size, pappus_quantity quantity, double si,
                    pappus_unit_system units);
/** As pappus_format, but never above the value: for a bound on what is allowed. */
char *pappus_format_down(char *out, size_t size, pappus_quantity quantity, double si,
                         pappus_unit_system units);
/** "1240": the number alone. */
char *pappus_format_number(char *out, size_t size, pappus_quantity quantity, double si,
                           pappus_unit_system units);
/** "300 to 1240 ft". */
char *pappus_format_range(char *out, size_t size, pappus_quantity quantity, double low_si,
                          double high_si, pappus_unit_system units);
/** Two values with so many decimals that they read apart when they are. */
void pappus_format_apart(char first[PAPPUS_TEXT_SIZE], char second[PAPPUS_TEXT_SIZE],
                         pappus_quantity quantity, double a_si, double b_si,
                         pappus_unit_system units);
/** "98.1 %"; a chance that is neither 0 nor 1 is never shown as 0 % or 100 %. */
char *pappus_format_chance(char *out, size_t size, double chance);
/** "240 deg", with a known declination "240 deg true (237 magnetic)". */
char *pappus_format_bearing(char *out, size_t size, double bearing_deg, double declination_deg);
/** "flight 2027-04-17 15:00 UTC", "flight time not given". */
char *pappus_format_flight(char *out, size_t size, double utc_s);
/** "of 2027-04-17 00:00 UTC": when winds were observed or issued. */
char *pappus_format_issue(char *out, size_t size, double utc_s);
/** "43.56720, -116.21130": latitude, longitude in degrees, about 1 m. */
char *pappus_format_position(char *out, size_t size, double latitude_deg, double longitude_deg);
/** "43 34.032 N, 116 12.678 W": the same in degrees and minutes, as hand-held receivers show it. */
char *pappus_format_minutes(char *out, size_t size, double latitude_deg, double longitude_deg);
/** The same words for a page: a line may break behind a comma and nowhere else. */
char *pappus_format_together(char *out, size_t size, const char *words);

/** "go", "no-go", "undecided"; "met", "broken", "undecided"; static. */
const char *pappus_decision_text(pappus_decision decision);
const char *pappus_verdict_text(pappus_verdict verdict);
/** "GO", "NO-GO", "UNDECIDED"; static. */
const char *pappus_decision_shout(pappus_decision decision);
/** The caution in one line, static. */
const char *pappus_caution(void);

/** What a limit's value is shown as. */
pappus_quantity pappus_limit_quantity(pappus_limit_kind limit);
/** A caveat in words, "no field given"; "" without one. */
char *pappus_format_caveat(char *out, size_t size, const pappus_caveat *caveat);
/** What turns a row of the ceiling: "keep-out area, car park", "surface wind, its gusts",
 * "none". A long name is cut. */
char *pappus_format_turn(char *out, size_t size, const pappus_plan *plan,
                         const pappus_ceiling_row *row);
/** A reason in words: "lands on a keep-out area 2.1 % (2.0 to 2.3), at most 1 %: car
 * park". Name and note come last and are cut when there is no room. */
char *pappus_format_reason(char *out, size_t size, const pappus_reason *reason,
                           pappus_unit_system units);

/** The name of a file without its folder, borrowed; "" for NULL. */
const char *pappus_file_name(const char *path);
/** Text that every format can carry: bytes that are not UTF-8 and characters
 * that XML 1.0 forbids become U+FFFD. The caller frees; NULL when out of memory. */
char *pappus_text_clean(const char *text);

#endif
