/* SPDX-License-Identifier: GPL-3.0-or-later
 * The window: the decision hour by hour while the winds change. Conventions: pappus.h. */
#ifndef PAPPUS_WINDOW_H
#define PAPPUS_WINDOW_H

#include <pappus/choice.h>
#include <pappus/situation.h>

#include <math.h>

#ifdef __cplusplus
extern "C" {
#endif

/** One main height in one hour. */
typedef struct {
    pappus_verdict verdict;
    double use;              /**< largest share of a limit that is used up */
    pappus_limit_kind limit; /**< in the way; when met, the nearest */
    bool above_apogee;
} pappus_window_cell;

/** One hour: what a brief at that time decides, and the trade over main heights. */
typedef struct {
    double time_utc_s;
    char *why; /**< why it cannot be judged; NULL: it was, and the rest is there */
    pappus_decision decision;
    pappus_estimate inside_field; /**< NaN without a boundary */
    pappus_limit_kind limit;      /**< the first in the way of a go; of a go the tightest */
    char *limit_name;             /**< keep-out, section or canopy that it is about; NULL */
    double use;                   /**< of that limit; NaN without limits */
    pappus_limit_kind wind_limit; /**< of inside_field, keep_out and surface_wind the tightest: */
    double wind_use;              /**< what the hour decides; NaN without such limits */
    double recommended_m;         /**< main height; NaN: none meets every limit, or none to set */
    double surface_wind_mps, surface_from_deg;
    double gust_mps; /**< of the reading, else of the forecast; NaN: none */
    double mean_east_m, mean_north_m;
    double reach_m;        /**< from the pad, in which 19 of 20 land */
    bool reading_left_out; /**< measured wind that is of another hour */
    pappus_log log;        /**< warnings of this hour alone */
    size_t contour_count;  /**< 0 or PAPPUS_LEVELS, of all landings */
    pappus_contour contours[PAPPUS_LEVELS];
    pappus_window_cell *cells; /**< one for each height of the window; NULL: none */
} pappus_window_hour;

typedef struct {
    double step_s;
    double flight_utc_s; /**< wind.time of the plan; NaN: not given */
    size_t hour_count;
    pappus_window_hour *hours; /**< in order of time, `step_s` apart */
    size_t height_count;
    double *heights_m;        /**< ascending; NULL: no main height to set */
    double planned_m;         /**< main height of the plan; NaN: none */
    bool go;                  /**< some hour is go; else the next three are 0 */
    size_t best;              /**< the go hour that uses up least of wind_limit */
    size_t first, last;       /**< the go hours in a row that it is among */
    size_t readings_left_out; /**< hours whose measured wind is of another hour */
    pappus_log log;           /**< warnings and notes of the inputs */
} pappus_window;

typedef struct {
    pappus_run run;
    double from_utc_s, to_utc_s; /**< NaN: the first and the last time of the winds */
    double step_s;
    bool contours; /**< the zone of each hour */
} pappus_window_options;
#define PAPPUS_WINDOW_OPTIONS_INIT                                                                 \
    {                                                                                              \
        PAPPUS_RUN_INIT, NAN, NAN, 3600.0, false                                                   \
    }
#define PAPPUS_WINDOW_MOST_HOURS 1000

/** Judges every hour. Open the situation with pappus_plan_options.any_time, so that the plan
 * needs no wind.time. A measured wind counts within wind.surface.holds of wind.time. An hour
 * that cannot be judged says why and is no failure. */
int pappus_window_find(pappus_window **out, const pappus_situation *situation,
                       const pappus_window_options *options, pappus_log *log);
/** The hours about wind.time, 6 h to either side as far as the winds go, an hour apart; the
 * flight's own is among them. *out NULL when the plan has no wind.time, or the winds no times
 * (6 h apart at most) around it. */
int pappus_window_about_flight(pappus_window **out, const pappus_situation *situation,
                               const pappus_run *run, pappus_log *log);
/** Finds the best hour and its stretch among hours that are filled. */
void pappus_window_choose(pappus_window *window);
void pappus_window_free(pappus_window *window);

#ifdef __cplusplus
}
#endif
#endif
