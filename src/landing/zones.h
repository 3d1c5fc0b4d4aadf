/* SPDX-License-Identifier: GPL-3.0-or-later
 * What other folders need of the zones beside the public header: prepared shapes
 * and counts for a cloud whose zones are not wanted whole (hits.h), contours of
 * the whole cloud alone (contour.h), and the counts behind finished zones. */
#ifndef PAPPUS_LANDING_ZONES_H
#define PAPPUS_LANDING_ZONES_H

#include "hits.h"

/** The counts that the shares in `zones` were made from, to be freed with
 * pappus_hits_clear: for intervals at another confidence. */
int pappus_zones_hits(pappus_hits *out, const pappus_zones *zones, pappus_error *err);

#endif
