/* SPDX-License-Identifier: GPL-3.0-or-later
 * The limits of a plan, and what can be said of one. Conventions: pappus.h. */
#ifndef PAPPUS_LIMIT_H
#define PAPPUS_LIMIT_H

#include <stdbool.h>

#ifdef __cplusplus
extern "C" {
#endif

typedef enum { PAPPUS_MET, PAPPUS_BROKEN, PAPPUS_UNDECIDED } pappus_verdict;
typedef enum { PAPPUS_GO, PAPPUS_NO_GO, PAPPUS_NOT_DECIDED } pappus_decision;

/** Name, key in the plan and in summary.json, unit, whether the bound is kept from above
 * (value >= bound), noun. */
#define PAPPUS_LIMIT_LIST(X)                                                                       \
    X(INSIDE_FIELD, "inside_field", "1", true, "inside the field")                                 \
    X(KEEP_OUT, "keep_out", "1", false, "keep-out area")                                           \
    X(SURFACE_WIND, "surface_wind", "m/s", false, "surface wind")                                  \
    X(LANDING_SPEED, "landing_speed", "m/s", false, "descent rate at touchdown")                   \
    X(LANDING_ENERGY, "landing_energy", "J", false, "touchdown energy")                            \
    X(OPENING_LOAD, "opening_load", "g", false, "opening load")                                    \
    X(MAIN_HEIGHT, "main_height", "m", true, "height of the open main")

typedef enum {
    PAPPUS_LIMIT_NONE,
#define PAPPUS_LIMIT_ENUM(name, ...) PAPPUS_LIMIT_##name,
    PAPPUS_LIMIT_LIST(PAPPUS_LIMIT_ENUM)
#undef PAPPUS_LIMIT_ENUM
        PAPPUS_LIMIT_KINDS /**< one more than the last */
} pappus_limit_kind;

/** From the list; static; NULL for PAPPUS_LIMIT_NONE. */
const char *pappus_limit_text(pappus_limit_kind kind);
const char *pappus_limit_unit(pappus_limit_kind kind);
const char *pappus_limit_noun(pappus_limit_kind kind);
bool pappus_limit_at_least(pappus_limit_kind kind);

#ifdef __cplusplus
}
#endif
#endif
