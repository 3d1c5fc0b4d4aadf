/* SPDX-License-Identifier: GPL-3.0-or-later
 * One profile of what the files of a run say of one time and member: their levels together,
 * by height. Of two levels within half a metre the one of the file named first stays. */
#include "wind_runs.h"

#include "wind_levels.h"
#include "grow.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define SAME_HEIGHT_M 0.5

static bool of_one_run(const pappus_wind_profile *a, const pappus_wind_profile *b)
{
    return a->gridded && b->gridded && a->entry != b->entry && a->member == b->member &&
           a->valid_utc_s == b->valid_utc_s && a->issued_utc_s == b->issued_utc_s &&
           a->weight == b->weight && a->level_count > 0 && b->level_count > 0 &&
           a->levels[0].height_kind == b->levels[0].height_kind;
}

static bool has_height(const pappus_wind_level *levels, size_t count, double height_m)
{
    for (size_t i = 0; i < count; i++)
        if (fabs(levels[i].height_m - height_m) <= SAME_HEIGHT_M) return true;
    return false;
}

static int by_height(const void *a, const void *b)
{
    const pappus_wind_level *p = a, *q = b;
    return (p->height_m > q->height_m) - (p->height_m < q->height_m);
}

static int join(pappus_wind_profile *to, const pappus_wind_profile *from)
{
    size_t own = to->level_count;
    if (!PAPPUS_GROW(to->levels, NULL, own + from->level_count)) return PAPPUS_E_MEMORY;
    for (size_t i = 0; i < from->level_count; i++)
        if (!has_height(to->levels, own, from->levels[i].height_m))
            to->levels[to->level_count++] = from->levels[i];
    qsort(to->levels, to->level_count, sizeof *to->levels, by_height);
    if (isnan(to->gust_mps)) to->gust_mps = from->gust_mps;
    to->read_count += from->read_count;
    to->repaired_count += from->repaired_count;
    to->refused_count += from->refused_count;
    return PAPPUS_OK;
}

int pappus_winds_join_files(pappus_winds *winds)
{
    for (size_t i = 0; i < winds->profile_count; i++)
        for (size_t j = i + 1; j < winds->profile_count;) {
            if (!of_one_run(&winds->profiles[i], &winds->profiles[j])) {
                j++;
                continue;
            }
            if (join(&winds->profiles[i], &winds->profiles[j]) != PAPPUS_OK) return PAPPUS_E_MEMORY;
            pappus_wind_profile_clear(&winds->profiles[j]);
            winds->profile_count--;
            memmove(&winds->profiles[j], &winds->profiles[j + 1],
                    (winds->profile_count - j) * sizeof *winds->profiles);
        }
    return PAPPUS_OK;
}
