/* SPDX-License-Identifier: GPL-3.0-or-later
 * The limits of a plan, and what can be said of one. Conventions: pappus.h. */
#ifndef PAPPUS_LIMIT_H
#define PAPPUS_LIMIT_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#ifdef __cplusplus
extern "C" {
#endif

typedef enum { PAPPUS_MET, PAPPUS_BROKEN, PAPPUS_UNDECIDED } pappus_verdict;
typedef enum { PAPPUS_GO, PAPPUS_NO_GO, PAPPUS_NOT_DECIDED } pappus_decision;

#define PAPPUS_LIMIT_LIST(X)                                        \
    X(INSIDE_FIELD, "inside_field", "1")                            \
    X(KEEP_OUT, "keep_out", "1")                                    \
    X(SURFACE_WIND, "surface_wind", "m/s")                          \
    X(LANDING_SPEED, "landing_speed", "m/s")                        \
    X(LANDING_ENERGY, "landing_energy", "J")                        \
    X(OPENING_LOAD, "opening_load", "g")                            \
    X(MAIN_HEIGHT, "main_height", "m")

typedef enum {
    PAPPUS_LIMIT_NONE = -1,
#define PAPPUS_LIMIT_ENUM(name, text, unit) PAPPUS_LIMIT_##name,
    PAPPUS_LIMIT_LIST(PAPPUS_LIMIT_ENUM)
#undef PAPPUS_LIMIT_ENUM
        PAPPUS_LIMIT_KINDS
} pappus_limit_kind;

/** Key and SI unit, static. */
const char *pappus_limit_text(pappus_limit_kind kind);
const char *pappus_limit_unit(pappus_limit_kind kind);

#ifdef __cplusplus
}
#endif
#endif
