/* SPDX-License-Identifier: GPL-3.0-or-later
 * One value read as the plan's reader reads it at a key: its units and its bounds. */
#include "plan_keys.h"

#include "error.h"

#include <string.h>

int pappus_plan_value_parse(double *si, const char *key, const char *text, pappus_error *err)
{
    const pappus_plan_key *row = pappus_plan_key_find(key, false);
    pappus_units *units;
    double value;
    if (!row || row->kind != PAPPUS_KEY_VALUE)
        return pappus_fail(err, PAPPUS_E_PLAN, NULL, key, text,
                           "accepted is the key of a value with a unit");
    int status = pappus_units_new(&units, err);
    if (status != PAPPUS_OK) return status;
    status = pappus_units_parse(&value, units, row->dimension, text, err);
    pappus_units_free(units);
    if (status != PAPPUS_OK) return status;
    if (!(value >= row->low && value <= row->high)) {
        char low[48], high[48];
        pappus_units_format(low, sizeof low, row->dimension, PAPPUS_UNITS_SI, row->low);
        pappus_units_format(high, sizeof high, row->dimension, PAPPUS_UNITS_SI, row->high);
        return pappus_fail(err, PAPPUS_E_PLAN, NULL, key, text, "accepted is %s to %s", low, high);
    }
    *si = value;
    return PAPPUS_OK;
}
