/* SPDX-License-Identifier: GPL-3.0-or-later
 * A variant: givens that differ from others in a few things, at the cost of those. */
#ifndef PAPPUS_AIR_VARIANT_H
#define PAPPUS_AIR_VARIANT_H

#include <pappus/givens.h>

/** After begin `changed` is a variant of nothing: change values of `plan` (what it points
 * to stays the base's; a list that is to differ is replaced and stays the caller's),
 * changed.winds or changed.field, then have the air made where any of them touch it. The
 * base must outlive it, and it must not move: changed.plan points into it. */
typedef struct {
    pappus_givens changed; /**< what the computation is given */
    pappus_plan plan;
    pappus_air *air; /**< its own; NULL while it is the base's */
} pappus_variant;

void pappus_variant_begin(pappus_variant *variant, const pappus_givens *base);
/** Makes the air of the changed plan and winds. err gets the reason of a failure. */
int pappus_variant_air(pappus_variant *variant, const pappus_air_options *options,
                       pappus_error *err);
void pappus_variant_end(pappus_variant *variant);

#endif
