/* SPDX-License-Identifier: GPL-3.0-or-later
 * Times of ISO 8601 to seconds since 1970, UTC, and back. */
#ifndef PAPPUS_BASE_TIMESTAMP_H
#define PAPPUS_BASE_TIMESTAMP_H

#include <pappus/status.h>

/** "2027-04-17T15:00:00Z"; "none" for NaN. Returns what snprintf does. */
int pappus_time_format(char *out, size_t size, double utc_s);
/** Seconds since 1970 of a date and time, UTC; NaN when there is no such day or
 * time. */
double pappus_time_of(int year, int month, int day, int hour, int minute, double second);
/** Month 1 to 12 and hour 0 to 23, UTC, of a finite time. */
void pappus_time_month_hour(int *month, int *hour, double utc_s);

#endif
