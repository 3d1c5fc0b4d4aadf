/* SPDX-License-Identifier: GPL-3.0-or-later
 * Local time beside UTC. */
#ifndef PAPPUS_BASE_TIME_ZONE_H
#define PAPPUS_BASE_TIME_ZONE_H

#include <stdbool.h>
#include <stddef.h>

#define PAPPUS_ZONE_SIZE 16

/** Whether the name stands in the system's zone data (IANA), or is an offset: "-06:00". */
bool pappus_zone_known(const char *zone);
/** Seconds that local time is ahead of UTC at a time, and what that is called there, "CEST";
 * false when the zone is not known. */
bool pappus_zone_at(double *ahead_s, char name[PAPPUS_ZONE_SIZE], const char *zone, double utc_s);
/** Month 1 to 12, hour 0 to 23 and day since 1970 by the clock of a zone; UTC where it is NULL
 * or not known. */
void pappus_time_local(int *month, int *hour, long *day, const char *zone, double utc_s);

#endif
