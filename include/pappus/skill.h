/* SPDX-License-Identifier: GPL-3.0-or-later
 * How far earlier winds were from later ones: archives of soundings and forecasts, the
 * error of the wind measured on them, and zones held against the wind that came.
 * Conventions: pappus.h. */
#ifndef PAPPUS_SKILL_H
#define PAPPUS_SKILL_H

#include <pappus/field.h>
#include <pappus/run.h>
#include <pappus/zones.h>

#include <math.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#ifdef __cplusplus
extern "C" {
#endif

/* ----------------------------------------------------------------- archive */

/** A wind over height, measured or forecast. */
typedef struct {
    double valid_utc_s;  /**< when it was measured, or what it was forecast for */
    double issued_utc_s; /**< the same for a sounding */
    size_t level_count;
    double *height_m;      /**< above the station, ascending, from 0 */
    double *u_mps, *v_mps; /**< beside it */
} pappus_sounding;

/** What of an archive could not be used, counted: X(NAME, text). */
#define PAPPUS_SKIP_LIST(X)                                                                        \
    X(DAMAGED, "soundings cut short or damaged, or without any wind")                              \
    X(NO_TIME, "winds without a time")                                                             \
    X(STATION, "soundings of another station than the first")                                      \
    X(REPEATED, "winds of a time that another one has")                                            \
    X(NO_WIND, "winds with fewer than two levels above the station")                               \
    X(LEVELS, "levels without a height, or with values that cannot be")

typedef enum {
#define PAPPUS_SKIP_ENUM(name, text) PAPPUS_SKIP_##name,
    PAPPUS_SKIP_LIST(PAPPUS_SKIP_ENUM)
#undef PAPPUS_SKIP_ENUM
        PAPPUS_SKIPS
} pappus_skip;

const char *pappus_skip_text(pappus_skip skip);

/** Years of a station. */
typedef struct {
    char *station; /**< "" when not known */
    size_t count;
    pappus_sounding *soundings; /**< by the time they are of, then by issue */
    size_t forecast_count;      /**< of them */
    double elevation_msl_m;     /**< of the station; NaN: not known */
    size_t skipped[PAPPUS_SKIPS];
} pappus_archive;

/** Reads IGRA files of any size and layer tables with times as one station's
 * archive. What is wrong in a file as such is a fault in `log`; what is wrong with one
 * sounding or level in thousands is skipped and counted. */
int pappus_archive_read(pappus_archive **out, const char *const *paths, size_t count,
                        pappus_log *log);
void pappus_archive_free(pappus_archive *archive);

/* ----------------------------------------------------------------- measure */

/** Which pairs count: months and hours are the later wind's. */
typedef struct {
    unsigned months;             /**< bit 0 is January; 0: all */
    unsigned hours;              /**< bit h is the hour from h:00 UTC; 0: all */
    double from_utc_s, to_utc_s; /**< both winds of a pair lie in [from, to) */
    double age_h; /**< fits (and proves) this age alone: 1, 2, 3, 6, 9, 12, 18, 24, 36 or 48;
                     NaN: fits all up to 24, proves the youngest with enough pairs */
} pappus_skill_options;
#define PAPPUS_SKILL_OPTIONS_INIT                                                                  \
    {                                                                                              \
        0, 0, -INFINITY, INFINITY, NAN                                                             \
    }

/** The law of the error, fitted (the keys of a plan's `wind`); low and high are 95 %. */
typedef struct {
    pappus_estimate error_mps, growth_mps, error_dof;
    pappus_estimate correlation_growth_m, ground_factor, top_factor, decoupling, speed_share;
    size_t pairs, days; /**< that it rests on */
} pappus_skill_fit;

/** Root of the mean square of a component's change, by age and height. */
typedef struct {
    double age_h, from_m, to_m, rms_mps, model_mps;
    size_t pairs; /**< with a value there */
} pappus_skill_row;

/** Correlation length of one age, fitted by itself. */
typedef struct {
    double age_h;
    pappus_estimate length_m;
    double model_m;
    size_t pairs;
} pappus_skill_length;

/** Correlation of the changes at two heights so far apart. */
typedef struct {
    double age_h, distance_m, measured, model;
    size_t pairs;
} pappus_skill_correlation;

/** Share of the pairs whose mean over the lowest kilometre changed by no more than
 * what each law says holds `level` of them. */
typedef struct {
    double level, student, normal;
} pappus_skill_tail;

/** How much larger the change is at a height than at 500 to 2000 m. */
typedef struct {
    double height_m, measured, model;
    size_t pairs;
} pappus_skill_height;

typedef struct {
    double first_utc_s, last_utc_s;
    bool forecasts;                    /**< pairs are of forecasts with soundings */
    size_t pair_count, sounding_count; /**< of all ages; winds in them */
    size_t sparse_count;               /**< winds without levels near any height */
    pappus_skill_fit fit;
    size_t row_count, length_count, correlation_count, tail_count, height_count;
    pappus_skill_row *rows;
    pappus_skill_length *lengths;
    pappus_skill_correlation *correlations;
    pappus_skill_tail *tails;
    pappus_skill_height *heights;
} pappus_skill;

/** Forms pairs by age and fits the error. PAPPUS_E_WIND when there are too few. */
int pappus_skill_measure(pappus_skill **out, const pappus_archive *archive,
                         const pappus_skill_options *options, pappus_error *err);
void pappus_skill_free(pappus_skill *skill);

/* ------------------------------------------------------------------- proof */

/** Flights inside a contour of the zones, over the pairs. */
typedef struct {
    double level;
    pappus_estimate share; /**< 95 % */
    size_t pairs;
    bool reading; /**< with the later wind's lowest level as the surface reading */
    bool learned; /**< with the fit of the other half; else with the plan's own values */
} pappus_skill_coverage;

#define PAPPUS_SKILL_RANKS 10

/** Flights whose zone said so, and how many of them came down inside the field. */
typedef struct {
    double from, to; /**< said chance */
    double said;     /**< mean of it */
    pappus_estimate inside;
    size_t pairs;
} pappus_skill_reliability;

typedef struct {
    double age_h;
    size_t pairs, sparse; /**< tried; left out: a wind with gaps or below the apogee */
    pappus_skill_fit halves[2];
    size_t coverage_count;
    pappus_skill_coverage *coverage;
    size_t ranks[2][PAPPUS_SKILL_RANKS];   /**< learned; without and with the reading */
    size_t reliability_count;              /**< 0: the plan has no field */
    pappus_skill_reliability *reliability; /**< learned, without the reading */
    size_t go, go_outside;                 /**< said chance at or over limits.inside_field */
} pappus_proof;

/** run.landings: of each zone; 0: 2000. */
typedef struct {
    pappus_skill_options choice;
    pappus_run run;
} pappus_proof_options;
#define PAPPUS_PROOF_OPTIONS_INIT                                                                  \
    {                                                                                              \
        PAPPUS_SKILL_OPTIONS_INIT, PAPPUS_RUN_INIT                                                 \
    }

/** Fits on one half of the time and tries the plan's zones on the other, both ways.
 * field may be NULL. The result does not depend on the number of threads. */
int pappus_skill_prove(pappus_proof **out, const pappus_archive *archive, const pappus_plan *plan,
                       const pappus_field *field, const pappus_proof_options *options,
                       pappus_error *err);
void pappus_proof_free(pappus_proof *proof);

/* ----------------------------------------------------------------- written */

/** What was measured, and with proof (may be NULL) how the zones held, as a table of
 * plain text and as JSON; the caller frees. */
int pappus_skill_text(char **out, const pappus_archive *archive, const pappus_skill *skill,
                      const pappus_proof *proof, pappus_unit_system units, pappus_error *err);
int pappus_skill_json_text(char **out, const pappus_archive *archive, const pappus_skill *skill,
                           const pappus_proof *proof, pappus_error *err);
/** The same text as a page with drawings, written to a file; the drawings alone, one below the
 * other, when its name ends in .svg. */
int pappus_skill_write(const pappus_archive *archive, const pappus_skill *skill,
                       const pappus_proof *proof, const char *path, pappus_unit_system units,
                       pappus_error *err);
/** The fit as a fragment of a plan, for its key `base`, with where it is from. */
int pappus_skill_plan_text(char **out, const pappus_archive *archive, const pappus_skill *skill,
                           pappus_error *err);

#ifdef __cplusplus
}
#endif
#endif
