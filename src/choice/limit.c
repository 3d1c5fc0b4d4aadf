/* SPDX-License-Identifier: GPL-3.0-or-later
 * What the list of limits says of each. */
#include <pappus/limit.h>

#include <stddef.h>

static const struct {
    const char *key, *unit, *noun;
    bool at_least;
} limits[PAPPUS_LIMIT_KINDS] = {
#define ROW(name, key, unit, at_least, noun) [PAPPUS_LIMIT_##name] = {key, unit, noun, at_least},
    PAPPUS_LIMIT_LIST(ROW)
#undef ROW
};

const char *pappus_limit_text(pappus_limit_kind kind)
{
    return limits[kind].key;
}

const char *pappus_limit_unit(pappus_limit_kind kind)
{
    return limits[kind].unit;
}

const char *pappus_limit_noun(pappus_limit_kind kind)
{
    return limits[kind].noun;
}

bool pappus_limit_at_least(pappus_limit_kind kind)
{
    return limits[kind].at_least;
}
