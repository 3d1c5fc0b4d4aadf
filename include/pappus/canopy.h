/* SPDX-License-Identifier: GPL-3.0-or-later
 * Types of canopy and the bases of their areas. Conventions: pappus.h. */
#ifndef PAPPUS_CANOPY_H
#define PAPPUS_CANOPY_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#ifdef __cplusplus
extern "C" {
#endif

#define PAPPUS_CANOPY_TYPE_LIST(X)                                                                 \
    X(FLAT_CIRCULAR, "flat circular")                                                              \
    X(CONICAL, "conical")                                                                          \
    X(EXTENDED_SKIRT, "extended skirt")                                                            \
    X(HEMISPHERICAL, "hemispherical")                                                              \
    X(TOROIDAL, "toroidal")                                                                        \
    X(CROSS, "cross")                                                                              \
    X(RINGSAIL, "ringsail")                                                                        \
    X(STREAMER, "streamer")

typedef enum {
#define PAPPUS_CANOPY_ENUM(name, text) PAPPUS_##name,
    PAPPUS_CANOPY_TYPE_LIST(PAPPUS_CANOPY_ENUM)
#undef PAPPUS_CANOPY_ENUM
        PAPPUS_CANOPY_TYPES
} pappus_canopy_type;

typedef enum {
    PAPPUS_NOMINAL_AREA,
    PAPPUS_CONSTRUCTED_AREA,
    PAPPUS_PROJECTED_AREA
} pappus_area_basis;

#ifdef __cplusplus
}
#endif
#endif
