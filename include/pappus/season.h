/* SPDX-License-Identifier: GPL-3.0-or-later
 * A season: years of soundings, each a day on which the plans are judged, and what they say
 * together: how often it is go, when, and with which main. Conventions: pappus.h. */
#ifndef PAPPUS_SEASON_H
#define PAPPUS_SEASON_H

#include <pappus/choice.h>
#include <pappus/field.h>
#include <pappus/output.h>
#include <pappus/run.h>
#include <pappus/skill.h>
#include <pappus/zones.h>

#include <math.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#ifdef __cplusplus
extern "C" {
#endif

/* -------------------------------------------------------------------- a day */

/** One plan on one day; of the planned main height, but for the last three. */
typedef struct {
    char *why; /**< why the day cannot be judged; NULL: it was, and the rest is there */
    pappus_verdict verdict;
    unsigned unmet;                /**< bits 1 << pappus_limit_kind */
    pappus_limit_kind limit;       /**< the first in the way; of a go the tightest */
    double use;                    /**< largest share of a limit that is used up */
    double inside_field, keep_out; /**< chances, the worst area's; NaN: none given */
    double mean_east_m, mean_north_m;
    pappus_quantiles drift_m;
    uint64_t seed;
    double recommended_m; /**< main height for that day; NaN: none meets every limit */
    size_t height_count;
    pappus_verdict *heights; /**< beside the plan's heights; above apogee is broken */
} pappus_season_row;

typedef struct {
    size_t number; /**< in the order of the archive */
    double valid_utc_s;
    double surface_wind_mps, surface_from_deg;
    bool reading; /**< the sounding's lowest level was taken for the reading */
    size_t row_count;
    pappus_season_row *rows; /**< beside the plans */
} pappus_season_day;

void pappus_season_day_clear(pappus_season_day *day);

/* ---------------------------------------------------------- what it is about */

/** One design. */
typedef struct {
    char *name; /**< of its file, without folder and ending; numbered when another has it */
    char *title;
    char *digest;     /**< SHA-256 of the plan as understood and of its field */
    double planned_m; /**< main height; NaN: none */
    double apogee_m;
    size_t height_count;
    double *heights_m; /**< ascending, the planned one among them */
} pappus_season_plan;

/** What all parts of a season have in common. */
typedef struct {
    char *version;
    char *archive; /**< SHA-256 of its files */
    char *station; /**< "" when not known */
    size_t day_count;
    size_t skipped[PAPPUS_SKIPS];
    size_t landings; /**< a day */
    uint64_t seed;   /**< PAPPUS_PLAN_SEED: the plans' */
    double age_s;
    bool reading;
    double latitude_deg, longitude_deg, elevation_msl_m, declination_deg;
    char *time_zone; /**< NULL: hours are UTC */
    pappus_unit_system units;
    double cell_m; /**< of the sums of landings */
    size_t plan_count;
    pappus_season_plan *plans;
    pappus_field *field; /**< boundary and keep-outs of the first plan */
} pappus_season_head;

/* ------------------------------------------------------------------- result */

#define PAPPUS_SEASON_ALL_HOURS (-1)

/** Days that belong together. */
typedef struct {
    size_t plan;
    int month; /**< 1 to 12, local; 0: all */
    int hour;  /**< 0 to 23, local; PAPPUS_SEASON_ALL_HOURS */
    size_t days;
    pappus_estimate go;  /**< share of them, with the planned main height; 95 % */
    double go_best;      /**< with the main at best_main_m on each of them */
    double go_any;       /**< with the main set each day to what that day asks for */
    double best_main_m;  /**< of the heights the one that is go most often; NaN: none ever is */
    size_t *height_days; /**< go, beside the plan's heights */
    size_t unmet[PAPPUS_LIMIT_KINDS]; /**< days on which a limit was not met */
    pappus_limit_kind worst;          /**< the one most often; NONE: all were met */
    pappus_quantiles drift_m;         /**< of all landings; NaN in groups of one hour */
} pappus_season_group;

#define PAPPUS_SEASON_SECTORS 16
#define PAPPUS_SEASON_SPEEDS 6      /**< classes of the surface wind, the last is open */
#define PAPPUS_SEASON_SPEED_MPS 2.0 /**< from class to class, from 0 */

/** Days by the surface wind; the first sector is about north. */
typedef struct {
    size_t days, go;
} pappus_season_petal;

/** All that is said of one plan. */
typedef struct {
    size_t judged, left_out; /**< days */
    char *first_why;         /**< of the days left out; NULL */
    pappus_season_petal rose[PAPPUS_SEASON_SECTORS][PAPPUS_SEASON_SPEEDS];
    double off_map;                          /**< share of the landings beyond the sums' edge */
    pappus_contour footprint[PAPPUS_LEVELS]; /**< of all landings; none where they go off */
} pappus_season_sum;

typedef struct pappus_season_parts pappus_season_parts;

typedef struct {
    pappus_season_head head;
    double first_utc_s, last_utc_s;
    size_t group_count;
    pappus_season_group *groups; /**< by plan: all, months, hours, then months by hours */
    pappus_season_sum *sums;     /**< beside the plans */
    pappus_season_parts *parts;  /**< that it was put together from */
} pappus_season_result;

void pappus_season_result_free(pappus_season_result *result);
/** Every day in order, one at a time; what is not PAPPUS_OK ends it. */
typedef int (*pappus_season_visit)(void *context, const pappus_season_day *day, pappus_error *err);
int pappus_season_days(const pappus_season_result *result, pappus_season_visit visit, void *context,
                       pappus_error *err);

/* --------------------------------------------------------------------- work */

#define PAPPUS_SEASON_LANDINGS 2000
#define PAPPUS_SEASON_AGE_S (6 * 3600.0)

typedef struct {
    double age_s;         /**< of the wind: what a forecast of that age would leave open */
    bool reading;         /**< the lowest level of each sounding is the reading on the field */
    size_t shard, shards; /**< this part of so many, from 1 */
    bool resume;          /**< goes on with the part that is there */
    pappus_run run;       /**< landings 0: PAPPUS_SEASON_LANDINGS */
} pappus_season_options;
#define PAPPUS_SEASON_OPTIONS_INIT                                                                 \
    {                                                                                              \
        PAPPUS_SEASON_AGE_S, true, 1, 1, false, PAPPUS_RUN_INIT                                    \
    }

typedef struct pappus_season pappus_season;

/** Reads the plans, which share a pad, and looks through the archives (IGRA, layer tables
 * with times, GRIB). All faults go to the log. */
int pappus_season_open(pappus_season **out, const char *const *plans, size_t plan_count,
                       const char *const *archives, size_t archive_count,
                       const pappus_plan_options *plan_options,
                       const pappus_season_options *options, pappus_log *log);
void pappus_season_free(pappus_season *season);
const pappus_season_head *pappus_season_about(const pappus_season *season);
/** Days of this shard. */
size_t pappus_season_day_count(const pappus_season *season);
/** Judges the first day of the shard and throws it away: a caller with a clock learns what
 * all of them will cost. */
int pappus_season_try(pappus_season *season, pappus_log *log);

/** Judges the days of the shard into the part file `path`, which appears whole, is put down
 * from time to time, and can be gone on with. */
int pappus_season_work(pappus_season *season, const char *path, pappus_log *log);
/** Puts parts together: files, and folders with parts in them. PAPPUS_E_SEASON when they do
 * not belong together or some are missing. The result does not depend on how many they are. */
int pappus_season_merge(pappus_season_result **out, const char *const *paths, size_t count,
                        pappus_log *log);
/** The name of a part in a folder; the caller frees. */
char *pappus_season_part_name(const char *folder, size_t shard, size_t shards);

/* ------------------------------------------------------------------ written */

int pappus_season_text(char **out, const pappus_season_result *result,
                       const pappus_text_options *options, pappus_error *err);
int pappus_season_json_text(char **out, const pappus_season_result *result, pappus_error *err);
/** A folder, whole or not at all: season.json, season.csv (the groups), days.csv, season.html
 * and the footprint as a layer. */
int pappus_season_write(const pappus_season_result *result, const char *folder,
                        pappus_unit_system units, pappus_error *err);

#ifdef __cplusplus
}
#endif
#endif
