/* SPDX-License-Identifier: GPL-3.0-or-later
 * After the flight: what an altimeter's log shows, and what flights say about the model.
 * Conventions: pappus.h. */
#ifndef PAPPUS_DEBRIEF_H
#define PAPPUS_DEBRIEF_H

#include <pappus/landings.h>
#include <pappus/situation.h>
#include <pappus/zones.h>

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#ifdef __cplusplus
extern "C" {
#endif

/* ----------------------------------------------------------------- records */

/** An altimeter's log as read: times in order, heights as shown. */
typedef struct {
    char *path;
    size_t count;
    double *time_s, *height_m;
    bool geometric;        /**< heights of a satellite receiver, not of pressure */
    size_t rows, unusable; /**< rows under the header; those without a time or a height */
    size_t repeated;       /**< rows of a time that was there already, or earlier */
} pappus_flight_log;

/** What is kept of one flight. */
typedef struct {
    char *path;                                         /**< of the record */
    double time_utc_s;                                  /**< of the launch; NaN: not given */
    double landing_latitude_deg, landing_longitude_deg; /**< NaN: not given */
    char *surface;  /**< the reading as JSON, keys as wind.surface; NULL: none */
    char *profiles; /**< that day's winds as JSON, as wind.profiles; NULL: the plan's */
    char *mass;     /**< as written; NULL: the plan's */
    char *notes;    /**< NULL: none */
    size_t setting_count;
    char **settings;        /**< "key=value": what of the plan was otherwise that day */
    pappus_flight_log *log; /**< NULL: none */
} pappus_flight;

typedef struct {
    size_t count;
    pappus_flight *flights; /**< by time, those without one last */
} pappus_flights;

/** Reads records, and folders of them (every .json in it), with the logs that they name. All
 * that is wrong goes to `log`. */
int pappus_flights_read(pappus_flights **out, const char *const *paths, size_t count,
                        pappus_log *log);
void pappus_flights_free(pappus_flights *flights);
/** Reads one log outside a record. */
int pappus_flight_log_read(pappus_flight_log **out, const char *path, pappus_log *log);
void pappus_flight_log_free(pappus_flight_log *flight_log);

/* --------------------------------------------------------- what a log shows */

/** What is not in a log: X(NAME, text). */
#define PAPPUS_MISSING_LIST(X)                                                                     \
    X(APOGEE, "the log begins after the apogee")                                                   \
    X(GROUND, "the log ends in the air")                                                           \
    X(MAIN, "no opening of the main shows")                                                        \
    X(DROGUE, "no fall under the drogue shows")                                                    \
    X(STEADY, "the fall is too short to tell a drag area")                                         \
    X(CONSTANT, "the drag area changes with height by more than vertical air explains: one value " \
                "does not tell this fall")                                                         \
    X(GAP, "the log has a gap of more than 2 s in the fall")

typedef enum {
#define PAPPUS_MISSING_ENUM(name, text) PAPPUS_MISSING_##name,
    PAPPUS_MISSING_LIST(PAPPUS_MISSING_ENUM)
#undef PAPPUS_MISSING_ENUM
        PAPPUS_MISSINGS
} pappus_missing;

const char *pappus_missing_text(pappus_missing missing);

/** A stretch of steady fall. Times are after the apogee (after the log's begin without
 * one). */
typedef struct {
    double from_s, to_s;
    double top_m, bottom_m;       /**< true heights there */
    pappus_estimate rate_mps;     /**< true fall speed at mid-height, from the log alone */
    pappus_estimate drag_area_m2; /**< of all that hangs there, vertical air in the interval */
    double drag_area_part;        /**< relative error that other phases share: mass, air */
    double wander_m;              /**< root mean square of the heights about the fit */
} pappus_flown_phase;

/** Fall by height: a part of a phase between two heights. */
typedef struct {
    double top_m, bottom_m;
    pappus_estimate rate_mps, drag_area_m2; /**< all that hangs there, with every error */
} pappus_flown_band;
#define PAPPUS_BANDS_MOST 12
#define PAPPUS_FLOWN_POINTS 200

/** What a log shows; NaN: it does not. Heights are true and above the pad unless named
 * shown. */
typedef struct {
    double apogee_m, apogee_shown_m;
    double time_aloft_s;            /**< from apogee to ground */
    double touchdown_mps;           /**< fall speed of the last phase at the ground */
    pappus_estimate drogue_fired_s; /**< after the apogee */
    pappus_estimate main_fired_s;   /**< likewise */
    double main_fired_m, main_fired_shown_m;
    pappus_estimate main_opening_s; /**< from firing to full open */
    double main_open_m;             /**< where it was full open */
    size_t phase_count;             /**< 0 to 2, from the top */
    pappus_flown_phase phases[2];
    pappus_estimate drogue_drag_area_m2; /**< with the body that hangs there */
    pappus_estimate main_drag_area_m2;   /**< of the main alone */
    pappus_outcome outcome;              /**< that the log speaks for */
    unsigned missing;                    /**< a bit for each pappus_missing */
    size_t band_count;
    pappus_flown_band bands[PAPPUS_BANDS_MOST]; /**< from the top */
    double drift_east_m, drift_north_m; /**< the plan's wind of that day, over the log's own fall */
    double drift_from_m, drift_to_m;    /**< heights between which that is */
    size_t point_count;                 /**< the fall, thinned, for drawing */
    float point_time_s[PAPPUS_FLOWN_POINTS], point_height_m[PAPPUS_FLOWN_POINTS];
    size_t spikes; /**< samples of the fall that were left out */
    double longest_gap_s, rate_hz, noise_m;
} pappus_flown;

/** Reads a log in the air of that day. The plan says which canopies there are, and the mass.
 * PAPPUS_E_RECORD when the log is of no flight, or of two. */
int pappus_flown_find(pappus_flown *out, const pappus_flight_log *flight_log,
                      const pappus_plan *plan, const pappus_air *air, pappus_error *err);

/* ------------------------------------------------------------------ the debrief */

/** Heights that a nominal flight is expected to have after its apogee: 5, 50 and 95 %. */
#define PAPPUS_BAND_TIMES 80
typedef struct {
    size_t count; /**< 0: not known */
    double time_s[PAPPUS_BAND_TIMES];
    double low_m[PAPPUS_BAND_TIMES], middle_m[PAPPUS_BAND_TIMES], high_m[PAPPUS_BAND_TIMES];
} pappus_height_band;

/** What moved a landing away from the middle of what was expected: X(NAME, text). */
#define PAPPUS_CAUSE_LIST(X)                                                                       \
    X(APOGEE, "the height of the apogee")                                                          \
    X(FALL, "how it fell: drag areas, and where the main opened")                                  \
    X(WIND, "the wind, and where the apogee was")

typedef enum {
#define PAPPUS_CAUSE_ENUM(name, text) PAPPUS_CAUSE_##name,
    PAPPUS_CAUSE_LIST(PAPPUS_CAUSE_ENUM)
#undef PAPPUS_CAUSE_ENUM
        PAPPUS_CAUSES
} pappus_cause;

const char *pappus_cause_text(pappus_cause cause);

/** Standard deviation of the logarithm of the factor on the wind's error before any flight (A). */
#define PAPPUS_WIND_FACTOR_SD 0.35

/** What was known after a flight, by those before it too; NaN: nothing. 95 %. */
typedef struct {
    pappus_estimate drogue_drag_area_m2, main_drag_area_m2; /**< as in pappus_learned_drag */
    pappus_estimate wind_factor;
} pappus_known;

/** A flight against what the plan said of it, with that day's wind. NaN: not known. */
typedef struct {
    const pappus_flight *record;
    bool has_log;
    pappus_flown flown;                       /**< when it has */
    double east_m, north_m;                   /**< where it lay */
    double expected_east_m, expected_north_m; /**< mean of the nominal landings */
    double offset_m, offset_bearing_deg;      /**< from there to where it lay */
    double along_m, across_m;                 /**< the same downwind, and to the right of it */
    double rank;                              /**< of all landings, those where more are expected */
    double level; /**< of the least contour that it lay in; 1: of none */
    double age_s; /**< of the wind */
    /** The wind is of another day: the landing tells nothing of the zones and of the wind. */
    bool other_wind;
    double main_set_m; /**< where that day's plan fires the main first, as shown */
    pappus_height_band expected_fall;
    pappus_contour contours[PAPPUS_LEVELS]; /**< of all landings expected */
    bool explained;                         /**< with log and landing: */
    double cause_east_m[PAPPUS_CAUSES], cause_north_m[PAPPUS_CAUSES]; /**< sum to the offset */
    pappus_cause most; /**< that which goes furthest along the offset */
    /** Shares of what was expected of a nominal flight that were less. */
    double apogee_share, time_aloft_share, touchdown_share, main_fired_share;
    pappus_known known;
} pappus_debriefed;

/** Whether zones hold what they say. */
typedef enum {
    PAPPUS_ZONES_UNTOLD,
    PAPPUS_ZONES_AS_SAID,
    PAPPUS_ZONES_NARROW,
    PAPPUS_ZONES_WIDE
} pappus_zones_verdict;

typedef struct {
    double level;
    size_t inside;
    pappus_estimate share; /**< 95 %, Wilson */
} pappus_calibration_level;

#define PAPPUS_RANK_BINS_MOST 10

/** Of all flights whose landing is known, and the wind of their day. */
typedef struct {
    size_t count;
    pappus_calibration_level levels[PAPPUS_LEVELS];
    size_t rank_bins; /**< of equal parts of the ranks: 5, with many flights 10 */
    size_t ranks[PAPPUS_RANK_BINS_MOST]; /**< flights in each */
    size_t ranks_low, ranks_high; /**< where the zones are right all are within in 95 % and more */
    double sum;     /**< of -2 ln(1 - rank): chi-square where the zones are right ... */
    double degrees; /**< ... of so many degrees of freedom */
    double p;       /**< two-sided chance of a sum as far off */
    pappus_zones_verdict verdict;      /**< at 5 % */
    double wind_share;                 /**< of the variance of the zones, mean */
    double power_narrow, power_wide;   /**< to see a wind error that is half, twice the truth */
    pappus_estimate along_m, across_m; /**< mean offset downwind, and to the right of it: 95 % */
} pappus_calibration;

/** A canopy after its flights. */
typedef struct {
    size_t flights;               /**< that tell; 0: nothing is learned */
    pappus_estimate drag_area_m2; /**< of the canopy itself, 95 % */
    double body_m2;               /**< of it, what hangs of the body by the plan */
    double next_sd_m2;            /**< of one flight to come */
    double before_m2,
        before_sd_m2; /**< as the plan had it, with what the flights hold of the body */
} pappus_learned_drag;

typedef struct {
    pappus_learned_drag drogue, main;
    size_t wind_flights;         /**< 0: nothing is learned */
    pappus_estimate wind_factor; /**< on the standard deviation of the wind's error, 95 % */
    bool split;                  /**< the two factors were told apart: ages span fourfold */
    pappus_estimate error_factor, growth_factor;
    double error_mps, growth_mps;               /**< that follow */
    double error_before_mps, growth_before_mps; /**< of the plan */
} pappus_learned;

typedef struct {
    size_t count;
    pappus_debriefed *flights; /**< in the order of the records */
    pappus_calibration calibration;
    pappus_learned learned;
    pappus_log log; /**< warnings and notes */
} pappus_debrief;

/** Holds flights against a plan. The situation is opened with
 * pappus_plan_options.any_time. What one log is wrong in ends all: every fault is told. The
 * flights must outlive the debrief. */
int pappus_debrief_make(pappus_debrief **out, const pappus_situation *situation,
                        const pappus_flights *flights, const pappus_run *run, pappus_log *log);
void pappus_debrief_free(pappus_debrief *debrief);

/* ----------------------------------------------------------------------- written */

/** As plain text and as JSON; the caller frees. */
int pappus_debrief_text(char **out, const pappus_debrief *debrief, const pappus_plan *plan,
                        pappus_unit_system units, pappus_error *err);
int pappus_debrief_json_text(char **out, const pappus_debrief *debrief, const pappus_plan *plan,
                             pappus_error *err);

/** What wind.learned_from of such a plan begins with. */
#define PAPPUS_LEARNED_FROM_FLIGHTS "pappus debrief"
/** What was learned as a plan laid over `base`, the path of the plan as it is to be written
 * there; the caller frees. */
int pappus_debrief_plan_text(char **out, const pappus_debrief *debrief, const pappus_plan *plan,
                             const char *base, pappus_error *err);
/** The text as a page with drawings, written to a file. */
int pappus_debrief_write(const pappus_debrief *debrief, const pappus_plan *plan, const char *path,
                         pappus_unit_system units, pappus_error *err);
/** Adds a flight to a folder of them, made when it is not there: its time and landing, mass and
 * surface wind of the plan, a copy of the log (NULL: none) and of the wind files (of a large one
 * its path). */
int pappus_flight_keep(const char *folder, const pappus_flight *flight, const pappus_plan *plan,
                       const char *log_path, pappus_error *err);

#ifdef __cplusplus
}
#endif
#endif
