/* SPDX-License-Identifier: GPL-3.0-or-later
 * Zones of the IANA data base as the system has it, by GLib (which librsvg brings): its zones
 * are values, so that the process's own zone and its environment are left alone and several
 * threads may ask. */
#include "time_zone.h"

#include "timestamp.h"

#include <glib.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

/* Names lead to files: none out of the folder of zones. */
static GTimeZone *open_zone(const char *zone)
{
    if (zone[0] == '\0' || zone[0] == '/' || strstr(zone, "..")) return NULL;
    return g_time_zone_new_identifier(zone);
}

bool pappus_zone_known(const char *zone)
{
    GTimeZone *opened = open_zone(zone);
    if (opened) g_time_zone_unref(opened);
    return opened != NULL;
}

bool pappus_zone_at(double *ahead_s, char name[PAPPUS_ZONE_SIZE], const char *zone, double utc_s)
{
    GTimeZone *opened = open_zone(zone);
    if (!opened || !isfinite(utc_s)) {
        if (opened) g_time_zone_unref(opened);
        return false;
    }
    gint interval = g_time_zone_find_interval(opened, G_TIME_TYPE_UNIVERSAL, (gint64)floor(utc_s));
    *ahead_s = g_time_zone_get_offset(opened, interval);
    snprintf(name, PAPPUS_ZONE_SIZE, "%s", g_time_zone_get_abbreviation(opened, interval));
    g_time_zone_unref(opened);
    return true;
}

void pappus_time_local(int *month, int *hour, long *day, const char *zone, double utc_s)
{
    char name[PAPPUS_ZONE_SIZE];
    double ahead_s = 0.0;
    if (!zone || !pappus_zone_at(&ahead_s, name, zone, utc_s)) ahead_s = 0.0;
    pappus_time_month_hour(month, hour, utc_s + ahead_s);
    *day = (long)floor((utc_s + ahead_s) / 86400.0);
}
