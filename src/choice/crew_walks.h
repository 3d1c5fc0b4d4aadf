/* SPDX-License-Identifier: GPL-3.0-or-later
 * The straight walks from the posts to the landings. */
#ifndef PAPPUS_CHOICE_CREW_WALKS_H
#define PAPPUS_CHOICE_CREW_WALKS_H

#include <pappus/choice.h>

/** Fills the walks, shares and served places of posts that stand. */
int pappus_crews_walks(pappus_crews *crews, const pappus_cloud *cloud, pappus_error *err);

#endif
