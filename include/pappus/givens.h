/* SPDX-License-Identifier: GPL-3.0-or-later
 * What one computation works on. Conventions: pappus.h. */
#ifndef PAPPUS_GIVENS_H
#define PAPPUS_GIVENS_H

#include <pappus/air.h>
#include <pappus/field.h>

#ifdef __cplusplus
extern "C" {
#endif

/** Read-only, borrowed, all from one plan. */
typedef struct {
    const pappus_plan *plan;
    const pappus_winds *winds;
    const pappus_field *field;
    const pappus_air *air;
} pappus_givens;

#ifdef __cplusplus
}
#endif
#endif
