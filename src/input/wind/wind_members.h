/* SPDX-License-Identifier: GPL-3.0-or-later
 * The members of an ensemble: which there are, and the one that a plan chooses. */
#ifndef PAPPUS_INPUT_WIND_MEMBERS_H
#define PAPPUS_INPUT_WIND_MEMBERS_H

#include <pappus/winds.h>

/** Of loaded winds those that count by wind.member: profiles of that member, and those of no
 * member. What the profiles hold stays loaded's; the caller frees out->profiles alone. Refuses a
 * member that is not there with those that are. */
int pappus_winds_of_member(pappus_winds *out, const pappus_winds *loaded, const pappus_plan *plan,
                           pappus_log *log);

#endif
