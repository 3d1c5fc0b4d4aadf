/* SPDX-License-Identifier: GPL-3.0-or-later
 * Variants: a shallow copy of the plan, and an air of its own when asked. */
#include "variant.h"

#include "error.h"

void pappus_variant_begin(pappus_variant *variant, const pappus_givens *base)
{
    variant->changed = *base;
    variant->plan = *base->plan;
    variant->changed.plan = &variant->plan;
    variant->air = NULL;
}

int pappus_variant_air(pappus_variant *variant, const pappus_air_options *options,
                       pappus_error *err)
{
    pappus_log log = {0};
    pappus_air *air = NULL;
    int status = pappus_air_build(&air, &variant->plan, variant->changed.winds, options, &log);
    if (status != PAPPUS_OK) pappus_fail_logged(err, status, &log);
    pappus_log_clear(&log);
    if (status != PAPPUS_OK) return status;
    pappus_air_free(variant->air);
    variant->air = air;
    variant->changed.air = air;
    return PAPPUS_OK;
}

void pappus_variant_end(pappus_variant *variant)
{
    pappus_air_free(variant->air);
    variant->air = NULL;
}
