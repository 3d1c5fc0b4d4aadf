/* SPDX-License-Identifier: GPL-3.0-or-later
 * Winds as read from files. Conventions: pappus.h. */
#ifndef PAPPUS_WINDS_H
#define PAPPUS_WINDS_H

#include <pappus/plan.h>

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#ifdef __cplusplus
extern "C" {
#endif

typedef enum {
    PAPPUS_HEIGHT_AGL,
    PAPPUS_HEIGHT_MSL,              /**< geometric */
    PAPPUS_HEIGHT_MSL_GEOPOTENTIAL, /**< soundings */
    PAPPUS_HEIGHT_PRESSURE          /**< pressure altitude of the standard atmosphere */
} pappus_height_kind;

/** One level of a profile as read. */
typedef struct {
    pappus_height_kind height_kind;
    double height_m;
    double u_mps, v_mps;  /**< towards east, north; NaN: no wind here */
    double speed_sd_mps;  /**< per component; NaN: not given */
    double temperature_k; /**< NaN: not given */
    double pressure_pa;   /**< NaN: not given */
} pappus_wind_level;

typedef struct {
    char *path;
    char *format;                   /**< "layer table", "IGRA v2", "FB bulletin", "GRIB" */
    char *station;                  /**< NULL: none */
    double station_elevation_msl_m; /**< NaN: not known */
    double station_latitude_deg, station_longitude_deg; /**< NaN: not known */
    double issued_utc_s; /**< observation or data time; NaN: not known */
    double valid_utc_s;  /**< NaN: not known */
    int member;          /**< of an ensemble, as the file numbers it; -1: none */
    double gust_mps;     /**< near the ground, as a forecast has it; NaN: not given */
    pappus_wind_kind kind;
    bool kind_assumed; /**< neither the file nor the plan says it */
    double weight;
    size_t entry;         /**< of wind.profiles */
    bool of_spread;       /**< one of five members or more: their spread is the error of age */
    bool dated_by_launch; /**< its date was found near wind.time */
    bool gridded;         /**< of a forecast on a grid: its files are one forecast together */
    size_t level_count;   /**< sorted by height; those with wind and those with air only */
    pappus_wind_level *levels;
    size_t read_count, repaired_count, refused_count; /**< levels of the file */
} pappus_wind_profile;

typedef struct {
    size_t profile_count; /**< 0: surface only */
    pappus_wind_profile *profiles;
    double age_s; /**< age of the winds at wind.time, assumed where nothing tells it */
} pappus_winds;

/** Reads every profile the plan names and brings them to wind.time: pappus_winds_load and
 * pappus_winds_settle. What has to be assumed of them (kind, age, growth) goes to the entries
 * of the plan. */
int pappus_winds_read(pappus_winds **out, pappus_plan *plan, pappus_log *log);
/** Reads every profile of every time and member in the files that the plan names. */
int pappus_winds_load(pappus_winds **out, const pappus_plan *plan, pappus_log *log);
/** The first and the last time for which there are winds; false when no profile has a time. */
bool pappus_winds_span(double *first_utc_s, double *last_utc_s, const pappus_winds *loaded);
/** What of the loaded winds stands for time_utc_s (NaN: not given): an entry of one time as
 * it is; of several times the two neighbours interpolated, each member by itself; where the plan
 * gives wind.member, of profiles with members that one alone. Entries
 * with `valid` are one series of times, forecasts on a grid another; each other entry is
 * drawn by its weight, which its members share. Sets the age. */
int pappus_winds_settle(pappus_winds **out, const pappus_winds *loaded, const pappus_plan *plan,
                        double time_utc_s, pappus_log *log);
/** Puts what is assumed of winds into the entries of a plan that is read again beside them. */
int pappus_winds_note_assumed(pappus_plan *plan, const pappus_winds *winds, pappus_log *log);
/** True when neither the winds nor the plan tell how old they are. */
bool pappus_winds_age_is_assumed(const pappus_winds *winds, const pappus_plan *plan);
/** Reads one file outside a plan. station and sounding choose inside it. A file
 * with several times yields all its profiles. */
int pappus_wind_file_read(pappus_winds **out, const pappus_profile_source *source, pappus_log *log);
/** Moves the profiles of `from` behind those of `to`; both stay the caller's to free. */
int pappus_winds_join(pappus_winds *to, pappus_winds *from);
/** The same at a place, which a forecast on a grid needs; degrees, NaN: not given. */
int pappus_wind_file_read_at(pappus_winds **out, const pappus_profile_source *source,
                             double latitude_deg, double longitude_deg, pappus_log *log);
/** The layout of a layer table, for people to read. */
const char *pappus_wind_layout(void);
/** Writes a layer table to fill in; fails if the file exists. */
int pappus_wind_new(const char *path, pappus_error *err);
/** Keeps the profiles of one member, or refuses with those that there are. */
int pappus_winds_keep_member(pappus_winds *winds, int member, pappus_log *log);
/** The members that profiles are of, in order, up to `size` of them; returns how many there are.
 * Profiles of no member do not count. */
size_t pappus_winds_members(int *out, size_t size, const pappus_winds *winds);
void pappus_winds_free(pappus_winds *winds);

#ifdef __cplusplus
}
#endif
#endif
