/* SPDX-License-Identifier: GPL-3.0-or-later
 * A season while it is worked on. */
#ifndef PAPPUS_SEASON_WORK_H
#define PAPPUS_SEASON_WORK_H

#include <pappus/season.h>

#include "days.h"
#include "part.h"

typedef struct {
    pappus_plan *plan;
    pappus_field *field;
} season_design;

struct pappus_season {
    pappus_season_options options;
    pappus_season_head head;
    season_design *designs;
    archive_days *days;
    season_sums *sums; /* beside the plans */
    size_t from, to;   /* days of this shard */
};

#endif
