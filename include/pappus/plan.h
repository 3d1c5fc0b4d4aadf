/* SPDX-License-Identifier: GPL-3.0-or-later
 * The plan: everything the user says of a flight. Conventions: pappus.h. */
#ifndef PAPPUS_PLAN_H
#define PAPPUS_PLAN_H

#include <pappus/status.h>
#include <pappus/value.h>
#include <pappus/canopy.h>

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#ifdef __cplusplus
extern "C" {
#endif

typedef enum { PAPPUS_BEARING = 0, PAPPUS_UPWIND, PAPPUS_DOWNWIND } pappus_heading_kind;

/** A horizontal direction towards which something lies or moves. */
typedef struct {
    pappus_heading_kind kind;
    double bearing_deg; /**< true; for PAPPUS_BEARING only */
} pappus_heading;

typedef struct {
    char *name;
    double latitude_deg, longitude_deg;
} pappus_pad;

typedef struct {
    double latitude_deg, longitude_deg; /**< of the pad in use */
    double elevation_msl_m;
    char *time_zone;        /**< IANA name or offset; NULL: not given */
    double declination_deg; /**< east positive; NaN: not known */
    double temperature_k;   /**< at the pad; NaN: not given */
    double pressure_pa;     /**< at the pad (station pressure); NaN: not given */
    size_t pad_count;
    pappus_pad *pads;
    char *pad_name; /**< name of the pad in use, or NULL */
} pappus_site;

/** An area given inside the plan: a polygon of points, or a disc. */
typedef struct {
    char *name;
    size_t point_count;
    double *points;                           /**< latitude, longitude pairs in degrees */
    double bearing_deg, distance_m, radius_m; /**< when point_count is 0 */
    double limit, people;                     /**< NaN: not given */
} pappus_inline_area;

/** A number for the area of a name. */
typedef struct {
    char *name;
    double value;
} pappus_named_number;

/** Where the field's outlines are to be read. Paths are as opened (the plan's
 * folder already put before them). */
typedef struct {
    char *boundary_path;
    double radius_m; /**< NaN: not given */
    size_t point_count;
    double *points; /**< latitude, longitude pairs in degrees */
    char *keep_out_path;
    size_t keep_out_count;
    pappus_inline_area *keep_outs;
    size_t limit_count;
    pappus_named_number *limits; /**< chance per flight that an area may have */
    size_t people_count;
    pappus_named_number *people; /**< persons there in the open */
    char *roads_path;
} pappus_field_source;

typedef struct {
    char *name;
    double mass_kg;
} pappus_section;

typedef struct {
    pappus_uncertain mass_kg;                /**< under canopy, propellant spent */
    double length_m, diameter_m;             /**< of the airframe; NaN: not given */
    pappus_uncertain tumble_drag_area_m2;    /**< absent: from the size or the mass */
    pappus_uncertain ballistic_drag_area_m2; /**< likewise */
    bool tumble_assumed;                     /**< settled so when the plan was read */
    pappus_uncertain hanging_share;          /**< of the tumbling drag left under an open canopy */
    size_t section_count;
    pappus_section *sections;
} pappus_rocket;

typedef struct {
    pappus_uncertain height_m;
    double distance_m; /**< from the pad, default 0 */
    pappus_heading bearing;
    double spread_m; /**< sd per axis */
    pappus_uncertain speed_mps;
    pappus_heading heading;
} pappus_apogee;

/** A canopy as the plan gives it. Exactly one of these gives its drag area:
 * diameter or area with drag_coefficient; drag_area; rate; or type and
 * diameter alone (coefficient from the type's range). pappus_canopy_resolve
 * turns it into what the descent needs. */
typedef struct {
    bool present;
    pappus_canopy_type type; /**< flat circular unless given */
    bool type_given;
    double diameter_m;
    pappus_area_basis area_basis;
    bool basis_given;
    double area_m2;
    pappus_uncertain drag_coefficient;
    pappus_uncertain drag_area_m2;
    pappus_uncertain rate_speed_mps; /**< a labelled or flown descent rate ... */
    double rate_mass_kg;             /**< ... of this mass ... */
    double rate_height_msl_m;        /**< ... in standard air at this height */
    double spill_hole_m;             /**< diameter, 0 for none */
    double length_m, width_m;        /**< streamer */
    pappus_uncertain opening_time_s; /**< absent: opens over n diameters of air distance */
    double wanted_rate_mps;          /**< to size for, on the bench card; 0 or NaN: the usual */
    bool held_in_bundle;             /**< main only: out at apogee, held closed until its event */
    pappus_uncertain held_drag_area_m2;
} pappus_canopy_plan;

typedef struct {
    char *name;
    pappus_uncertain drogue_delay_s; /**< after apogee */
    double main_height_m;            /**< as set on the altimeter; NaN: does not fire a main */
    pappus_uncertain height_error_m;
    pappus_uncertain fire_delay_s;
    double works; /**< probability */
} pappus_altimeter;

typedef struct {
    double drogue_fails, main_fails, main_early; /**< probabilities */
    double no_power; /**< probability that no altimeter fires anything: arming, battery */
} pappus_faults;

typedef struct {
    bool present;
    double bay_diameter_m, bay_length_m;
    double force_n;     /**< NaN: not given */
    double pressure_pa; /**< gauge; NaN: not given */
    int shear_pin_count;
    double shear_pin_strength_n; /**< each; NaN: not given */
    double friction_n;           /**< of the coupler, default 0 */
    double margin;               /**< force over what pins and friction need */
    double backup_factor;        /**< mass of the backup charge over the primary's */
} pappus_charge_plan;

/** What a profile is made from; its error grows accordingly. */
typedef enum { PAPPUS_WIND_SOUNDING = 0, PAPPUS_WIND_FORECAST } pappus_wind_kind;
/** As a plan has it: "sounding", "forecast". */
const char *pappus_wind_kind_text(pappus_wind_kind kind);

typedef struct {
    char *path;            /**< as opened */
    char *station;         /**< for bulletins; NULL: not given */
    double sounding_utc_s; /**< seconds since 1970, NaN: newest */
    double valid_utc_s;    /**< NaN: not given */
    double weight;         /**< default 1 */
    pappus_wind_kind kind;
    bool kind_given;
} pappus_profile_source;

typedef struct {
    double height_m, speed_mps, direction_deg, error_mps;
} pappus_observation;

/** Error of the wind aloft, per component, where only the surface wind is known and the
 * plan gives none (assumed). */
#define PAPPUS_SURFACE_ONLY_ERROR_MPS 5.0
/** Age of a wind of which it is not known (assumed). */
#define PAPPUS_UNKNOWN_AGE_S (6 * 3600.0)
/** Error's growth by kind (measured; forecast: second hand). */
#define PAPPUS_SOUNDING_GROWTH_MPS 2.4
#define PAPPUS_FORECAST_GROWTH_MPS 1.5
/** Degrees of freedom from which on the wind's error is normal. */
#define PAPPUS_NORMAL_DOF 1e6

/** How long a measured wind counts (assumed). */
#define PAPPUS_READING_HOLDS_S (2 * 3600.0)

typedef struct {
    size_t profile_count;
    pappus_profile_source *profiles;
    double time_utc_s;     /**< NaN: not given */
    double age_s;          /**< NaN: not given */
    int member;            /**< of profiles with members the one that counts */
    bool member_given;     /**< else each member counts */
    pappus_wind_kind kind; /**< of profiles whose file does not say it */
    bool kind_given;
    double error_mps;                 /**< per component, when fresh */
    double growth_mps;                /**< per component, at one hour; NaN: by kind */
    char *learned_from;               /**< where the error was measured; NULL: not given */
    double error_dof;                 /**< of the Student law; PAPPUS_NORMAL_DOF and more: normal */
    double ground_factor, top_factor; /**< error at the ground, and at 4500 m, over the middle's */
    double correlation_growth_m;      /**< correlation length at one hour */
    double correlation_height_m;      /**< NaN: by age */
    double decoupling;                /**< correlation lengths that the surface layer takes off */
    double speed_share;               /**< of the growth's variance, with the square of the wind */
    bool error_given;
    bool has_surface;
    pappus_observation surface;
    double gust_mps;        /**< NaN: not given */
    double reading_holds_s; /**< of measured winds, before and after wind.time */
    size_t observation_count;
    pappus_observation *observations;
    double shear_exponent;
} pappus_wind_plan;

/** Bounds; NaN where the plan sets none. */
typedef struct {
    double inside_field, keep_out;
    double surface_wind_mps, landing_speed_mps, landing_energy_j, opening_load; /**< load in g */
    double main_height_m;
} pappus_limits;

/** One value of the plan as it was understood, for `check` and the report. */
typedef struct {
    char *key;   /**< dotted, "altimeters[0].main_height" */
    char *given; /**< as in the file or --set; NULL when assumed */
    char *si;    /**< as understood, SI */
    char *us;    /**< as understood, US units; same as si where there is no other */
    char *help;  /**< one line */
    bool assumed;
} pappus_plan_entry;

typedef struct pappus_plan {
    char *path;               /**< as opened */
    char *title;              /**< "" when none */
    pappus_unit_system units; /**< to show */
    pappus_site site;
    pappus_field_source field;
    pappus_rocket rocket;
    pappus_apogee apogee;
    pappus_canopy_plan drogue, main;
    size_t altimeter_count;
    pappus_altimeter *altimeters;
    pappus_uncertain motor_delay_s; /**< relative to apogee; may be absent */
    pappus_faults faults;
    bool faults_assumed; /**< faults or works taken from the defaults */
    pappus_charge_plan drogue_charge, main_charge;
    bool has_wind;
    pappus_wind_plan wind;
    pappus_limits limits;
    double heights_from_m, heights_to_m, heights_step_m;
    size_t crew_posts;
    double crew_standoff_m, crew_walking_speed_mps;
    double crew_clear_m; /**< about a post in which next to nothing comes down ... */
    double crew_chance;  /**< ... but for this chance per flight */
    size_t landings;
    uint64_t seed; /**< below 2^53 */
    size_t entry_count;
    pappus_plan_entry *entries;
} pappus_plan;

/** What the caller lays over the plan before it is read. */
typedef struct {
    size_t setting_count;
    const char *const *settings; /**< "dotted.key=value" */
    const char *pad;             /**< pad name, NULL: the first or the site */
    bool needs_wind;             /**< an absent wind is a fault */
    bool any_time;        /**< without wind.time a situation is at the first of the winds' times */
    bool winds_elsewhere; /**< they are not of the plan: its wind may be errors and limits alone */
} pappus_plan_options;
#define PAPPUS_PLAN_OPTIONS_INIT                                                                   \
    {                                                                                              \
        0, NULL, NULL, true, false, false                                                          \
    }

/** Reads a plan. All faults and warnings of the plan go to `log`.
 * PAPPUS_E_PLAN when there is any fault. */
int pappus_plan_read(pappus_plan **out, const char *path, const pappus_plan_options *options,
                     pappus_log *log);
void pappus_plan_free(pappus_plan *plan);
/** Writes a starter plan that runs; fails if the file exists. */
int pappus_plan_new(const char *path, pappus_error *err);
/** JSON Schema (draft 2020-12) of a plan, as examples/plan.schema.json has it; the
 * caller frees *out. */
int pappus_plan_schema(char **out, pappus_error *err);
/** Every key of a plan on a line, parted by tabs, under a line of headings: key,
 * what it is, default, accepted, help. The caller frees *out. */
int pappus_plan_key_list(char **out, pappus_error *err);

/** Reads a text as the plan's reader reads it at a key that is one value with a unit
 * ("main.diameter"), its bounds too. */
int pappus_plan_value_parse(double *si, const char *key, const char *text, pappus_error *err);
/** Whether a value set at a dotted key could name a file: of the key itself, or of one below it
 * when it is a group, a list or an element. For a caller that takes settings from elsewhere. */
bool pappus_plan_key_names_file(const char *key);

#ifdef __cplusplus
}
#endif
#endif
