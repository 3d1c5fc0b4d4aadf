/* SPDX-License-Identifier: GPL-3.0-or-later
 * What kind of wind a profile is, and what of kind and age is assumed. */
#ifndef PAPPUS_INPUT_WIND_KIND_H
#define PAPPUS_INPUT_WIND_KIND_H

#include "wind_format.h"

/** Settles the kind of a profile as its format left it, by the plan. */
int pappus_wind_settle_kind(pappus_wind_profile *profile, const pappus_profile_source *source,
                            const pappus_wind_plan *plan, pappus_log *log);
/** Warns of soundings of another time of day than the launch. */
void pappus_winds_check_hours(const pappus_winds *winds, const pappus_plan *plan, pappus_log *log);

#endif
