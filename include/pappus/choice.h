/* SPDX-License-Identifier: GPL-3.0-or-later
 * Choices: decision, heights, ceiling, crews, drivers. Conventions: pappus.h. */
#ifndef PAPPUS_CHOICE_H
#define PAPPUS_CHOICE_H

#include <pappus/givens.h>
#include <pappus/hazard.h>
#include <pappus/zones.h>
#include <pappus/limit.h>

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#ifdef __cplusplus
extern "C" {
#endif

/** What a verdict rests on beside its value. */
typedef enum {
    PAPPUS_CAVEAT_NONE,
    PAPPUS_CAVEAT_NO_FIELD,   /**< no boundary to be inside of */
    PAPPUS_CAVEAT_NO_WIND,    /**< no surface wind known */
    PAPPUS_CAVEAT_GUST,       /**< the wind is below its bound, the gust above */
    PAPPUS_CAVEAT_NO_NOMINAL, /**< no nominal landing to judge by */
    PAPPUS_CAVEAT_UNOPENED    /**< `count` of `of` nominal landings before the main was open */
} pappus_caveat_kind;

typedef struct {
    pappus_caveat_kind kind;
    size_t count, of;
} pappus_caveat;

/** One reason of the decision, as data. */
typedef struct {
    pappus_limit_kind limit;
    char *name;            /**< keep-out, section or canopy it is about; NULL */
    pappus_estimate value; /**< 95 % interval; NaN where there is none */
    double bound;
    bool at_least; /**< the limit's: met when value >= bound; else when value <= bound */
    pappus_verdict verdict;
    pappus_caveat caveat;
} pappus_reason;

typedef struct {
    pappus_decision decision;
    size_t reason_count;
    pappus_reason *reasons;
    bool capped; /**< the last look was still undecided */
} pappus_judgement;

/** Judges one cloud and its hits against the plan's limits. decide_confidence: the interval
 * that must clear a bound (0.99). field: names of the keep-outs; NULL when hits has none. */
int pappus_judge(pappus_judgement **out, const pappus_plan *plan, const pappus_field *field,
                 const pappus_air *air, const pappus_cloud *cloud, const pappus_hits *hits,
                 double decide_confidence, pappus_error *err);
/** Share of its bound that a reason uses up: above 1 it is broken; 0 when not known. */
double pappus_reason_use(const pappus_reason *reason);
/** The reasons to tell first, at most `most` of them into out: those in the way of a go;
 * when nothing is, those that use up most of their bounds. Returns how many. */
size_t pappus_judgement_lead(const pappus_reason **out, size_t most,
                             const pappus_judgement *judgement);
void pappus_judgement_free(pappus_judgement *judgement);

/** One height of the trade. */
typedef struct {
    double height_m; /**< of the highest main_height, as set */
    pappus_estimate inside_field;
    size_t keep_out_count;
    pappus_estimate *keep_out; /**< per area; 95 % intervals */
    double time_s, walk_m;     /**< means; walk NaN without crews */
    bool above_apogee;         /**< its main fires at apogee: never recommended */
    double full_open_p05_m;
    double use;                /**< u(h): largest share of a limit that is used up */
    pappus_limit_kind nearest; /**< that u(h) comes from */
    pappus_limit_kind broken;  /**< the first that is broken, or undecided; none when met */
    unsigned unmet;            /**< all of them: bits 1 << pappus_limit_kind */
    pappus_verdict verdict;
    size_t contour_count; /**< contours of `all` at this height, for the report's slider: on the
                               coarser grid */
    pappus_contour contours[PAPPUS_LEVELS];
    double mean_east_m, mean_north_m;
} pappus_height_row;

/** Why a height is not the recommended one. */
#define PAPPUS_WHY_NOT_LIST(X)                                                                     \
    X(NO_ROW, "no_row") /* there is none beside it */                                              \
    X(ABOVE_APOGEE, "above_apogee")                                                                \
    X(BROKEN, "broken")                                                                            \
    X(UNDECIDED, "undecided")                                                                      \
    X(USES_MORE, "uses_more") /* of a limit than the recommended one */                            \
    X(FARTHER, "farther")     /* from the planned height; it has room as well */                   \
    X(NO_BETTER, "no_better")

typedef enum {
#define PAPPUS_WHY_NOT_ENUM(name, text) PAPPUS_WHY_NOT_##name,
    PAPPUS_WHY_NOT_LIST(PAPPUS_WHY_NOT_ENUM)
#undef PAPPUS_WHY_NOT_ENUM
} pappus_why_not;

const char *pappus_why_not_text(pappus_why_not why);

typedef struct {
    pappus_why_not why;
    pappus_limit_kind limit; /**< broken, undecided or used up; PAPPUS_LIMIT_NONE */
    size_t row;
} pappus_height_reason;

typedef struct {
    size_t row_count;
    pappus_height_row *rows;
    double planned_m;
    size_t planned_row;   /**< the planned height is always a row */
    double recommended_m; /**< NaN: no height meets every limit */
    size_t recommended_row;
    double shift_m; /**< from the planned to the recommended height: 0 where they are
                         the same, NaN without a recommended one */
    pappus_height_reason lower, higher; /**< why not the rows beside the recommended one */
    pappus_height_reason closest; /**< without a recommended one: the row that comes closest */
    pappus_limit_kind beyond;     /**< a limit met at no height, and none can mend it; or none */
} pappus_heights;

typedef struct {
    bool go;                       /**< some wind is go */
    double surface_wind_mps;       /**< largest that is go: the top of the lowest range that is */
    double floor_mps;              /**< the bottom of that range: 0 unless calm is no-go */
    double wind_from_deg;          /**< of the reading or the profile at 10 m */
    pappus_limit_kind turns_limit; /**< in the way above it (of calm, when no wind is go) */
    char *turns_name;              /**< the keep-out it is about; NULL */
    bool monotonic;                /**< go from calm to the ceiling and nowhere above */
    bool reached;                  /**< false: still go at the top of the scan */
} pappus_ceiling_row;

typedef struct {
    pappus_ceiling_row planned; /**< direction as read or planned */
    pappus_ceiling_row worst;   /**< all round */
    size_t row_count;           /**< 12; 0: not asked */
    pappus_ceiling_row *rows;
} pappus_ceiling_round;

/** Two questions: only the reading changes, as on the field; and the whole wind grows
 * alike. */
typedef struct {
    bool has_reading; /**< without one there is only the second question */
    pappus_ceiling_round reading, whole;
    bool led; /**< some keep-out's limit is under PAPPUS_COUNTED_LIMIT: the planned direction of
                   the first answer is judged by led landings, the others by counting */
    bool fixed_bearing; /**< apogee has a fixed bearing: a caution */
    double top_mps;     /**< highest wind that was tried */
} pappus_ceiling;

typedef struct {
    double latitude_deg, longitude_deg, east_m, north_m;
    double distance_m, bearing_deg; /**< from the pad */
    double walk_mean_m, walk_p90_m;
    double share;                         /**< chance that it is the nearest post */
    double served_east_m, served_north_m; /**< mean of the landings that it serves */
    double near_chance; /**< per flight that anything comes down within crews.clear */
    double look_bearing_deg, look_elevation_deg; /**< of the main's opening, from here; NaN */
    double look_s;                               /**< when that is, after apogee */
    char *road;                                  /**< name of the road it stands on, NULL */
} pappus_post;

/** The rules for a place, and what stands in the way when most places break one. */
#define PAPPUS_POST_RULE_LIST(X)                                                                   \
    X(OUTSIDE, "the field's boundary")                                                             \
    X(STANDOFF, "the standoff from the pad (crews.standoff)")                                      \
    X(CLEAR, "the chance that something comes down near a post (crews.clear, crews.chance)")       \
    X(KEEP_OUT, "the keep-out areas")                                                              \
    X(HIT, "the chance of being hit by hardware that comes down fast")                             \
    X(CONTOUR, "the zones of no canopy (90 %), drogue only and main only (50 %)")

typedef enum {
    PAPPUS_POST_FREE,
#define PAPPUS_POST_RULE_ENUM(name, text) PAPPUS_POST_##name,
    PAPPUS_POST_RULE_LIST(PAPPUS_POST_RULE_ENUM)
#undef PAPPUS_POST_RULE_ENUM
        PAPPUS_POST_RULES /**< one more than the last */
} pappus_post_rule;

/** Static; NULL for PAPPUS_POST_FREE. */
const char *pappus_post_rule_text(pappus_post_rule rule);

typedef struct {
    size_t post_count;
    pappus_post *posts;
    double walk_mean_m, walk_p90_m;
    pappus_post_rule blocked_by; /**< what would have to give when there is no place */
    size_t candidate_count;
} pappus_crews;

typedef struct {
    const char *name;    /**< static text */
    double share, error; /**< of variance, and standard error */
} pappus_driver;

typedef struct {
    double axis_bearing_deg;
    bool towards_boundary; /**< else along the major axis */
    double sd_m;
    size_t driver_count;
    pappus_driver drivers[PAPPUS_DRAW_GROUPS + 1]; /**< the last is the interactions */
} pappus_sensitivity;

/* Each takes the case that it works on and how to run (NULL: the usual). */

/** crews: posts as they stand for the planned height, from which the walk at each
 * height is measured; NULL: no walks. */
int pappus_heights_trade(pappus_heights **out, const pappus_givens *given, const pappus_run *run,
                         const pappus_crews *crews, pappus_error *err);
/** The same without contours and walks, which take most of the time. led false: no landings are
 * led to areas with a limit under PAPPUS_COUNTED_LIMIT; what is counted judges them. */
int pappus_heights_count(pappus_heights **out, const pappus_givens *given, const pappus_run *run,
                         bool led, pappus_error *err);
/** The largest chance on a keep-out area at a height; NaN without areas. */
double pappus_height_worst_keep_out(const pappus_height_row *row);
void pappus_heights_free(pappus_heights *heights);
int pappus_ceiling_find(pappus_ceiling **out, const pappus_givens *given, const pappus_run *run,
                        pappus_error *err);
/** The answer to tell first: the reading's where there is one. Borrowed. */
const pappus_ceiling_round *pappus_ceiling_first(const pappus_ceiling *ceiling);
void pappus_ceiling_free(pappus_ceiling *ceiling);
/** hazard: of this cloud, with its field. */
int pappus_crews_post(pappus_crews **out, const pappus_givens *given, const pappus_run *run,
                      const pappus_cloud *cloud, const pappus_zones *zones,
                      const pappus_hazard *hazard, pappus_error *err);
/** Where and when to look for the main's opening on a flight, from each post. */
void pappus_crews_look(pappus_crews *crews, const pappus_path *path);
void pappus_crews_free(pappus_crews *crews);
int pappus_sensitivity_find(pappus_sensitivity **out, const pappus_givens *given,
                            const pappus_run *run, const pappus_zones *zones, pappus_error *err);
void pappus_sensitivity_free(pappus_sensitivity *sensitivity);

#ifdef __cplusplus
}
#endif
#endif
