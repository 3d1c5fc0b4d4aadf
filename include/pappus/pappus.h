/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * pappus: where a rocket under parachute will land, how sure that is, and what
 * follows from it.
 *
 * The umbrella for users of the library. The data goes one way, and so do the
 * headers, one for each stage:
 *
 *   plan + winds + field -> air -> landings -> zones -> choice -> files
 *
 * Conventions, everywhere unless a comment says otherwise:
 * - SI units, named in the identifier (height_m, speed_mps, drag_area_m2).
 * - Horizontal positions are metres east and north of the pad on the local
 *   tangent plane (azimuthal equidistant at the pad, WGS 84).
 * - Heights are above the pad (AGL) unless the name says msl.
 * - Bearings are degrees clockwise from true north, 0 <= b < 360. A wind
 *   direction is where the wind comes from; u and v are towards east and north.
 * - An absent number is NaN; an absent pointer is NULL; an absent uncertain
 *   value has distribution PAPPUS_ABSENT.
 * - Functions return a pappus_status; on failure nothing is left allocated and
 *   `err` (may be NULL) tells what happened. Out-parameters come first; `**out`
 *   is the caller's to free with the matching pappus_..._free (NULL is fine).
 * - No globals. Objects may be used from several threads as long as no thread
 *   changes them.
 */
#ifndef PAPPUS_H
#define PAPPUS_H

#include <pappus/status.h>
#include <pappus/value.h>
#include <pappus/canopy.h>
#include <pappus/geometry.h>
#include <pappus/limit.h>
#include <pappus/plan.h>
#include <pappus/winds.h>
#include <pappus/field.h>
#include <pappus/air.h>
#include <pappus/run.h>
#include <pappus/givens.h>
#include <pappus/situation.h>
#include <pappus/landings.h>
#include <pappus/hits.h>
#include <pappus/hazard.h>
#include <pappus/zones.h>
#include <pappus/skill.h>
#include <pappus/debrief.h>
#include <pappus/choice.h>
#include <pappus/card.h>
#include <pappus/brief.h>
#include <pappus/window.h>
#include <pappus/desk.h>
#include <pappus/season.h>
#include <pappus/output.h>

#endif
