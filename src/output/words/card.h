/* SPDX-License-Identifier: GPL-3.0-or-later
 * What the forms of the bench card (text, JSON, page) share. */
#ifndef PAPPUS_OUTPUT_CARD_H
#define PAPPUS_OUTPUT_CARD_H

#include <pappus/output.h>

#include <stdio.h>

/* Exact by definition. */
#define CARD_LB_KG 0.45359237
#define CARD_LBF_N (CARD_LB_KG * 9.80665)
#define CARD_PSI_PA (CARD_LBF_N / (0.0254 * 0.0254))

enum { CARD_CHECKLIST_LINES = 7, CARD_CAUTION_LINES = 4 };
extern const char *const card_checklist[CARD_CHECKLIST_LINES];
extern const char *const card_cautions[CARD_CAUTION_LINES];

const char *card_basis_text(pappus_area_basis basis);
/** What the rate as flown means beside the usual band; static. */
const char *card_advice(const pappus_card_canopy *canopy);

/** A measure of the bench in both systems. */
#define CARD_MEASURE_LIST(X)                                              \
    X(SIZE, "inch", 0.0254, "mm", 0.001)                                  \
    X(SECTION, "in2", 0.0254 * 0.0254, "cm2", 1e-4)                       \
    X(VOLUME, "in3", 0.0254 * 0.0254 * 0.0254, "cm3", 1e-6)               \
    X(DRAG_AREA, "ft2", 0.3048 * 0.3048, "m2", 1.0)                       \
    X(FORCE, "lbf", CARD_LBF_N, "N", 1.0)                                 \
    X(PRESSURE, "psi", CARD_PSI_PA, "kPa", 1000.0)                        \
    X(POWDER, "lb", CARD_LB_KG, "g", 0.001)                               \
    X(ENERGY_PER_MASS, "ft lbf/lb", 0.3048 * 9.80665, "J/kg", 1.0)        \
    X(DENSITY, "lb/ft3", CARD_LB_KG / (0.3048 * 0.3048 * 0.3048), "kg/m3", 1.0)

typedef enum {
#define CARD_MEASURE_ENUM(name, ...) CARD_##name,
    CARD_MEASURE_LIST(CARD_MEASURE_ENUM)
#undef CARD_MEASURE_ENUM
} card_measure;

enum { CARD_PAIR_SIZE = 64 };
/** Four digits, the reader's own units first: "12.57 in2 (81.07 cm2)". */
char *card_pair(char out[CARD_PAIR_SIZE], card_measure measure, double si,
                pappus_unit_system units);
/** The same, the reader's own units alone: "12.57 in2". */
char *card_single(char out[CARD_PAIR_SIZE], card_measure measure, double si,
                  pappus_unit_system units);

/** The card being written as text. */
typedef struct {
    FILE *stream;
    const pappus_card *card;
    pappus_unit_system units;
} card_sheet;

/** Prints lead and text, broken at spaces; lines after the first are indented. */
void card_write_wrapped(FILE *stream, const char *lead, int indent, const char *text);
/** Charges, ground test and cautions: card_bench.c. */
void card_write_charges(const card_sheet *sheet);
void card_write_test(const card_sheet *sheet);

#endif
