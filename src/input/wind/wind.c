/* SPDX-License-Identifier: GPL-3.0-or-later
 * The winds of a plan: reads each file and brings what is valid at several times to the
 * time of the launch.
 *
 * Several profiles are members of an ensemble, by weight. Only where the plan
 * gives `valid`, or one file holds several times, are the two neighbours of
 * wind.time interpolated to one profile; a file that does so stays one member. */
#include "wind_format.h"
#include "wind_levels.h"
#include "wind_times.h"
#include "c_locale.h"
#include "grow.h"
#include "timestamp.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static int memory_fault(const char *path, pappus_log *log)
{
    return pappus_log_add(log, PAPPUS_FAULT, PAPPUS_E_MEMORY, path, NULL, NULL, "out of memory");
}

int pappus_winds_join(pappus_winds *to, pappus_winds *from)
{
    size_t count = to->profile_count + from->profile_count;
    if (!PAPPUS_GROW(to->profiles, NULL, count)) return PAPPUS_E_MEMORY;
    memcpy(to->profiles + to->profile_count, from->profiles,
           from->profile_count * sizeof *from->profiles);
    to->profile_count = count;
    from->profile_count = 0;
    return PAPPUS_OK;
}

/* Keeps the profile of source->valid_utc_s among the times of one file, or gives
 * that time to a profile which does not know its own. */
static int choose_valid(pappus_winds *file, const pappus_profile_source *source, pappus_log *log)
{
    char asked[40], known[40];
    for (size_t i = 0; i < file->profile_count; i++) {
        pappus_wind_profile *p = &file->profiles[i];
        if (!isnan(p->valid_utc_s) && p->valid_utc_s != source->valid_utc_s) continue;
        p->valid_utc_s = source->valid_utc_s;
        pappus_wind_profile chosen = *p;
        *p = file->profiles[0];
        file->profiles[0] = chosen;
        for (size_t j = 1; j < file->profile_count; j++)
            pappus_wind_profile_clear(&file->profiles[j]);
        file->profile_count = 1;
        return PAPPUS_OK;
    }
    pappus_time_format(asked, sizeof asked, source->valid_utc_s);
    pappus_time_format(known, sizeof known, file->profiles[0].valid_utc_s);
    return pappus_log_add(log, PAPPUS_FAULT, PAPPUS_E_WIND, source->path, "valid", asked,
                          "the file is valid at %s%s", known,
                          file->profile_count > 1 ? " and other times, not at this" : "");
}

/* Brings a file with several times to wind.time. */
static int settle_file(pappus_winds *file, const pappus_plan *plan, pappus_wind_ground ground,
                       pappus_log *log)
{
    char from[40], to[40];
    const char *path = file->profiles[0].path;
    bool known = !isnan(plan->wind.time_utc_s);
    if (file->profile_count == 1) return PAPPUS_OK;
    for (size_t i = 0; i < file->profile_count; i++)
        known = known && !isnan(file->profiles[i].valid_utc_s);
    if (known) return pappus_winds_interpolate(file, 0, plan->wind.time_utc_s, ground, log);
    pappus_time_format(from, sizeof from, file->profiles[0].valid_utc_s);
    pappus_time_format(to, sizeof to, file->profiles[file->profile_count - 1].valid_utc_s);
    return pappus_log_add(log, PAPPUS_FAULT, PAPPUS_E_WIND, path, "wind.time", NULL,
                          "the file holds %zu times, from %s to %s; give wind.time, or `valid` of "
                          "the profile",
                          file->profile_count, from, to);
}

#define FAR_STATION_M 200e3 /* (A) another weather */
#define EARTH_RADIUS_M 6371e3

/* Along the great circle of a sphere (haversine), within 0.6 % of the ellipsoid's. */
static double distance_m(double latitude1, double longitude1, double latitude2, double longitude2)
{
    const double degree = M_PI / 180.0;
    double across = sin(0.5 * degree * (latitude2 - latitude1));
    double along = sin(0.5 * degree * (longitude2 - longitude1));
    double h = across * across + cos(degree * latitude1) * cos(degree * latitude2) * along * along;
    return 2.0 * EARTH_RADIUS_M * asin(h < 1.0 ? sqrt(h) : 1.0);
}

/* A sounding of another part of the world is most likely the wrong file. Tables
 * and bulletins do not say where their station is; mobile stations have -98.9 deg. */
static void warn_of_far_station(const pappus_wind_profile *profile, const pappus_site *site,
                                pappus_log *log)
{
    if (!(fabs(profile->station_latitude_deg) <= 90.0) || isnan(profile->station_longitude_deg))
        return;
    double away_m = distance_m(site->latitude_deg, site->longitude_deg,
                               profile->station_latitude_deg, profile->station_longitude_deg);
    if (away_m > FAR_STATION_M)
        pappus_log_add(log, PAPPUS_WARNING, PAPPUS_OK, profile->path, "station", profile->station,
                       "%.0f km from the pad: its wind may not be the wind there", away_m / 1000.0);
}

static int read_entry(pappus_winds *winds, const pappus_plan *plan,
                      const pappus_profile_source *source, pappus_wind_ground ground,
                      pappus_log *log)
{
    pappus_winds *file = NULL;
    pappus_wind_wanted wanted = {plan->site.latitude_deg, plan->site.longitude_deg,
                                 plan->site.elevation_msl_m, plan->wind.time_utc_s};
    int status = pappus_wind_source_read(&file, source, wanted, log);
    if (status != PAPPUS_OK) return status;
    if (!isnan(source->valid_utc_s)) status = choose_valid(file, source, log);
    if (status == PAPPUS_OK) status = settle_file(file, plan, ground, log);
    if (status == PAPPUS_OK) {
        file->profiles[0].weight = source->weight;
        warn_of_far_station(&file->profiles[0], &plan->site, log);
        status = pappus_winds_join(winds, file);
        if (status != PAPPUS_OK) memory_fault(source->path, log);
    }
    pappus_winds_free(file);
    return status;
}

/* `valid` is for all profiles or for none, and never with a weight. */
static int check_sources(const pappus_plan *plan, bool *by_time, pappus_log *log)
{
    const pappus_wind_plan *wind = &plan->wind;
    size_t with_valid = 0;
    for (size_t i = 0; i < wind->profile_count; i++) {
        const pappus_profile_source *source = &wind->profiles[i];
        if (isnan(source->valid_utc_s)) continue;
        with_valid++;
        if (source->weight != 1.0)
            return pappus_log_add(log, PAPPUS_FAULT, PAPPUS_E_WIND, source->path, "valid", NULL,
                                  "given with weight; one of the two is accepted");
    }
    *by_time = with_valid > 0;
    if (with_valid > 0 && with_valid < wind->profile_count)
        return pappus_log_add(log, PAPPUS_FAULT, PAPPUS_E_WIND, plan->path, "wind.profiles", NULL,
                              "some profiles have `valid` and some not; accepted is all or none");
    if (with_valid > 1 && isnan(wind->time_utc_s))
        return pappus_log_add(log, PAPPUS_FAULT, PAPPUS_E_WIND, plan->path, "wind.time", NULL,
                              "not given; profiles with `valid` need it");
    return PAPPUS_OK;
}

static int read_plan_winds(pappus_winds *winds, const pappus_plan *plan, pappus_log *log)
{
    const pappus_wind_plan *wind = &plan->wind;
    pappus_wind_ground ground = {plan->site.elevation_msl_m, wind->shear_exponent};
    bool by_time = false;
    int status = check_sources(plan, &by_time, log);
    for (size_t i = 0; i < wind->profile_count; i++) {
        int entry = read_entry(winds, plan, &wind->profiles[i], ground, log);
        if (status == PAPPUS_OK) status = entry;
    }
    if (status == PAPPUS_OK && by_time && winds->profile_count > 1)
        status = pappus_winds_interpolate(winds, 0, wind->time_utc_s, ground, log);
    return status == PAPPUS_OK ? pappus_winds_set_age(winds, plan, log) : status;
}

int pappus_winds_read(pappus_winds **out, const pappus_plan *plan, pappus_log *log)
{
    pappus_locale locale;
    *out = NULL;
    if (!pappus_locale_enter(&locale)) return memory_fault(plan->path, log);
    pappus_winds *winds = calloc(1, sizeof *winds);
    int status = winds ? read_plan_winds(winds, plan, log) : memory_fault(plan->path, log);
    pappus_locale_leave(&locale);
    if (status != PAPPUS_OK) {
        pappus_winds_free(winds);
        return status;
    }
    *out = winds;
    return PAPPUS_OK;
}
