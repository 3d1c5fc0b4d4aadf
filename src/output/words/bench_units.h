/* SPDX-License-Identifier: GPL-3.0-or-later
 * Measures of the bench: four digits in both systems, so that a sum can be checked by
 * hand. Units by their exact definitions. */
#ifndef PAPPUS_OUTPUT_BENCH_UNITS_H
#define PAPPUS_OUTPUT_BENCH_UNITS_H

#include "si.h"

#include <pappus/output.h>

#define BENCH_MEASURE_LIST(X)                                                                      \
    X(SIZE, "inch", PAPPUS_INCH_M, "mm", 0.001)                                                    \
    X(SECTION, "in2", PAPPUS_INCH_M *PAPPUS_INCH_M, "cm2", 1e-4)                                   \
    X(VOLUME, "in3", PAPPUS_INCH_M *PAPPUS_INCH_M *PAPPUS_INCH_M, "cm3", 1e-6)                     \
    X(DRAG_AREA, "ft2", PAPPUS_FOOT_M *PAPPUS_FOOT_M, "m2", 1.0)                                   \
    X(FORCE, "lbf", PAPPUS_POUND_FORCE_N, "N", 1.0)                                                \
    X(PRESSURE, "psi", PAPPUS_PSI_PA, "kPa", 1000.0)                                               \
    X(POWDER, "lb", PAPPUS_POUND_KG, "kg", 1.0)                                                    \
    X(ENERGY_PER_MASS, "ft lbf/lb", PAPPUS_FOOT_M *PAPPUS_GRAVITY_MPS2, "J/kg", 1.0)               \
    X(DENSITY, "lb/ft3", PAPPUS_POUND_KG / (PAPPUS_FOOT_M * PAPPUS_FOOT_M * PAPPUS_FOOT_M),        \
      "kg/m3", 1.0)

typedef enum {
#define BENCH_MEASURE_ENUM(name, ...) BENCH_##name,
    BENCH_MEASURE_LIST(BENCH_MEASURE_ENUM)
#undef BENCH_MEASURE_ENUM
} bench_measure;

enum { BENCH_TEXT_SIZE = 64 };
/** The reader's own units first: "12.57 in2 (81.07 cm2)". */
char *bench_pair(char out[BENCH_TEXT_SIZE], bench_measure measure, double si,
                 pappus_unit_system units);
/** The reader's own units alone: "12.57 in2". */
char *bench_single(char out[BENCH_TEXT_SIZE], bench_measure measure, double si,
                   pappus_unit_system units);

#endif
