/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * pappus: where a rocket under parachute will land, how sure that is, and what
 * follows from it.
 *
 * The one header for users of the library. The data goes one way, and so does
 * this file:
 *
 *   plan + winds + field -> air -> landings -> zones -> choice -> files
 *
 * Conventions, everywhere unless a comment says otherwise:
 * - SI units, named in the identifier (height_m, speed_mps, drag_area_m2).
 * - Horizontal positions are metres east and north of the pad on the local
 *   tangent plane (azimuthal equidistant at the pad, WGS 84).
 * - Heights are above the pad (AGL) unless the name says msl.
 * - Bearings are degrees clockwise from true north, 0 <= b < 360. A wind
 *   direction is where the wind comes from; u and v are towards east and north.
 * - An absent number is NaN; an absent pointer is NULL; an absent uncertain
 *   value has distribution PAPPUS_ABSENT.
 * - Functions return a pappus_status; on failure nothing is left allocated and
 *   `err` (may be NULL) tells what happened. Out-parameters come first; `**out`
 *   is the caller's to free with the matching pappus_..._free (NULL is fine).
 * - No globals. Objects may be used from several threads as long as no thread
 *   changes them.
 */
#ifndef PAPPUS_H
#define PAPPUS_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#ifdef __cplusplus
extern "C" {
#endif

/* ------------------------------------------------------------------ status */

/** X(NAME, value, exit status of the program, text). Grouped by stage. */
#define PAPPUS_STATUS_LIST(X)                                          \
    X(OK, 0, 0, "ok")                                                  \
    X(E_USAGE, 10, 2, "the command line is wrong")                     \
    X(E_PLAN, 20, 1, "the plan is wrong")                              \
    X(E_FIELD, 30, 1, "a field file is wrong")                         \
    X(E_WIND, 40, 1, "a wind file is wrong")                           \
    X(E_FLIGHT, 45, 1, "the flight cannot be computed from this plan") \
    X(E_NUMERIC, 50, 5, "a computation failed")                        \
    X(E_MEMORY, 60, 5, "out of memory")                                \
    X(E_OUTPUT, 70, 5, "an output could not be written")               \
    X(E_REFUSED, 71, 1, "the output folder was refused")               \
    X(E_STOPPED, 80, 5, "stopped by the caller")

typedef enum {
#define PAPPUS_STATUS_ENUM(name, value, exit_status, text) PAPPUS_##name = value,
    PAPPUS_STATUS_LIST(PAPPUS_STATUS_ENUM)
#undef PAPPUS_STATUS_ENUM
} pappus_status;

/** Text of a status, never NULL. */
const char *pappus_status_text(int status);
/** Exit status of the program for a status: 0, 1, 2 or 5. */
int pappus_status_exit(int status);
/** The version, "0.1.0". */
const char *pappus_version(void);

/** One fault: where, what was found, what is accepted. Strings are cut, at a
 * UTF-8 boundary, to their arrays. */
typedef struct {
    int code;             /**< a pappus_status; PAPPUS_OK for a warning or note */
    char file[256];       /**< file the fault is in, "" when none */
    char key[160];        /**< dotted key, or "row 12, column speed_kt", or "" */
    char value[160];      /**< what was found, or "" */
    char message[512];    /**< what is wrong and what is accepted, one line */
} pappus_error;

typedef enum { PAPPUS_FAULT, PAPPUS_WARNING, PAPPUS_NOTE } pappus_severity;

typedef struct {
    pappus_severity severity;
    pappus_error error;
} pappus_log_entry;

/** A growing list of faults, warnings and notes: all that is wrong is told at
 * once. Initialise with {0}. */
typedef struct {
    size_t count;
    size_t capacity;
    pappus_log_entry *entries;
} pappus_log;

/** Adds one entry. message is a printf format. Never fails: when memory runs
 * out the entry is dropped (a fault is still returned as its code). Returns
 * `code`, so that a reader can end with `return pappus_log_add(...)`. */
int pappus_log_add(pappus_log *log, pappus_severity severity, int code, const char *file,
                   const char *key, const char *value, const char *message, ...)
    __attribute__((format(printf, 7, 8)));
size_t pappus_log_faults(const pappus_log *log);
void pappus_log_clear(pappus_log *log);
/** Writes "file: key: found X: message" in one line without newline; returns
 * the length it needs as snprintf does. */
int pappus_error_line(char *out, size_t size, const pappus_error *error);
/** Blanks, in place, what would move a terminal's cursor or turn the direction of
 * text; `keep` is a control character that may stay, 0 for none. */
void pappus_text_tame(char *text, char keep);

/** Silences the default handlers of GSL, UDUNITS, PROJ and libxml2, which are
 * process-wide and abort or print. Call once from main() before other threads
 * start. The library itself changes no handler. */
void pappus_quiet_dependencies(void);

/* --------------------------------------------------------- uncertain values */

typedef enum {
    PAPPUS_ABSENT = 0,
    PAPPUS_EXACT,      /**< mean only */
    PAPPUS_NORMAL,     /**< mean, sd */
    PAPPUS_LOGNORMAL,  /**< mean, sd of the value itself (not of its logarithm) */
    PAPPUS_UNIFORM,    /**< low, high */
    PAPPUS_TRIANGULAR  /**< low, mode, high */
} pappus_distribution;

/** An uncertain value. mean and sd are filled for every distribution. */
typedef struct {
    pappus_distribution distribution;
    double mean, sd, low, mode, high;
} pappus_uncertain;

pappus_uncertain pappus_exact(double value);
pappus_uncertain pappus_normal(double mean, double sd);
pappus_uncertain pappus_lognormal(double mean, double sd);
pappus_uncertain pappus_uniform(double low, double high);
pappus_uncertain pappus_triangular(double low, double mode, double high);
bool pappus_is_present(pappus_uncertain value);
/** Value at probability p in (0, 1); NaN when absent. */
double pappus_uncertain_quantile(pappus_uncertain value, double p);

/* -------------------------------------------------------------------- plan */

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
    double *points; /**< latitude, longitude pairs in degrees */
    double bearing_deg, distance_m, radius_m; /**< when point_count is 0 */
} pappus_inline_area;

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
    char *roads_path;
} pappus_field_source;

typedef struct {
    char *name;
    double mass_kg;
} pappus_section;

typedef struct {
    pappus_uncertain mass_kg;                 /**< under canopy, propellant spent */
    pappus_uncertain tumble_drag_area_m2;     /**< may be absent */
    pappus_uncertain ballistic_drag_area_m2;  /**< may be absent */
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

#define PAPPUS_CANOPY_TYPE_LIST(X)               \
    X(FLAT_CIRCULAR, "flat circular")            \
    X(CONICAL, "conical")                        \
    X(EXTENDED_SKIRT, "extended skirt")          \
    X(HEMISPHERICAL, "hemispherical")            \
    X(TOROIDAL, "toroidal")                      \
    X(CROSS, "cross")                            \
    X(RINGSAIL, "ringsail")                      \
    X(STREAMER, "streamer")

typedef enum {
#define PAPPUS_CANOPY_ENUM(name, text) PAPPUS_##name,
    PAPPUS_CANOPY_TYPE_LIST(PAPPUS_CANOPY_ENUM)
#undef PAPPUS_CANOPY_ENUM
    PAPPUS_CANOPY_TYPES
} pappus_canopy_type;

typedef enum { PAPPUS_NOMINAL_AREA, PAPPUS_CONSTRUCTED_AREA, PAPPUS_PROJECTED_AREA } pappus_area_basis;

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

typedef struct {
    char *path;     /**< as opened */
    char *station;  /**< for bulletins; NULL: not given */
    double sounding_utc_s; /**< seconds since 1970, NaN: newest */
    double valid_utc_s;    /**< NaN: not given */
    double weight;         /**< default 1 */
} pappus_profile_source;

typedef struct {
    double height_m, speed_mps, direction_deg, error_mps;
} pappus_observation;

/** Error of the wind aloft, per component, where only the surface wind is known and the
 * plan gives none (assumed). */
#define PAPPUS_SURFACE_ONLY_ERROR_MPS 5.0

typedef struct {
    size_t profile_count;
    pappus_profile_source *profiles;
    double time_utc_s; /**< NaN: not given */
    double age_s;      /**< NaN: not given */
    double error_mps, growth_mps; /**< per component; growth at one hour */
    double correlation_height_m;
    bool error_given;
    bool has_surface;
    pappus_observation surface;
    double gust_mps; /**< NaN: not given */
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
    char *path;  /**< as opened */
    char *title; /**< "" when none */
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
} pappus_plan_options;
#define PAPPUS_PLAN_OPTIONS_INIT {0, NULL, NULL, true}

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

/* ------------------------------------------------------------------- winds */

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
    double u_mps, v_mps;   /**< towards east, north; NaN: no wind here */
    double speed_sd_mps;   /**< per component; NaN: not given */
    double temperature_k;  /**< NaN: not given */
    double pressure_pa;    /**< NaN: not given */
} pappus_wind_level;

typedef struct {
    char *path;
    char *format;  /**< "layer table", "IGRA v2", "FB bulletin" */
    char *station; /**< NULL: none */
    double station_elevation_msl_m; /**< NaN: not known */
    double station_latitude_deg, station_longitude_deg; /**< NaN: not known */
    double issued_utc_s; /**< observation or data time; NaN: not known */
    double valid_utc_s;  /**< NaN: not known */
    double weight;
    size_t level_count; /**< sorted by height; those with wind and those with air only */
    pappus_wind_level *levels;
    size_t read_count, repaired_count, refused_count; /**< levels of the file */
} pappus_wind_profile;

typedef struct {
    size_t profile_count; /**< 0: surface only */
    pappus_wind_profile *profiles;
    double age_s; /**< age of the winds at wind.time; 0 when not known */
} pappus_winds;

/** Reads every profile the plan names. */
int pappus_winds_read(pappus_winds **out, const pappus_plan *plan, pappus_log *log);
/** Reads one file outside a plan. station and sounding choose inside it. A file
 * with several times yields all its profiles. */
int pappus_wind_file_read(pappus_winds **out, const pappus_profile_source *source, pappus_log *log);
void pappus_winds_free(pappus_winds *winds);

/* ------------------------------------------------------------------- field */

/** A closed ring without its repeated last point: east, north pairs. */
typedef struct {
    size_t point_count;
    double *points_m;
} pappus_ring;

typedef struct {
    size_t ring_count; /**< the shell first (counter-clockwise), then holes (clockwise) */
    pappus_ring *rings;
} pappus_polygon;

typedef struct {
    char *name; /**< never NULL */
    size_t polygon_count;
    pappus_polygon *polygons;
} pappus_area;

typedef struct {
    char *name;
    size_t point_count;
    double *points_m;
} pappus_road;

typedef struct {
    bool has_boundary;
    pappus_area boundary;
    size_t keep_out_count;
    pappus_area *keep_outs;
    size_t road_count;
    pappus_road *roads;
} pappus_field;

int pappus_field_read(pappus_field **out, const pappus_plan *plan, pappus_log *log);
void pappus_field_free(pappus_field *field);

/** The local tangent plane: latitude and longitude (WGS 84 degrees) to and from
 * metres east and north of the pad. Not to be shared between threads. */
typedef struct pappus_frame pappus_frame;
int pappus_frame_new(pappus_frame **out, double latitude_deg, double longitude_deg, pappus_error *err);
int pappus_frame_to_local(const pappus_frame *frame, size_t count, const double *latitude_longitude_deg,
                          double *east_north_m, pappus_error *err);
int pappus_frame_to_geographic(const pappus_frame *frame, size_t count, const double *east_north_m,
                               double *latitude_longitude_deg, pappus_error *err);
void pappus_frame_free(pappus_frame *frame);

/* --------------------------------------------------------------------- air */

/** The air of a flight: atmosphere, altimeter and the wind with its error. */
typedef struct pappus_air pappus_air;

typedef struct {
    double wind_factor;   /**< multiplies profiles, observations, reading and gust; errors stay */
    double wind_turn_deg; /**< turns them all clockwise */
    double grid_factor;   /**< thickness of the height grid over the default */
} pappus_air_options;
#define PAPPUS_AIR_OPTIONS_INIT {1.0, 0.0, 1.0}

/** Builds the air up to every apogee that may be drawn, but for one in 1e9. winds
 * NULL: calm air without error, for the bench card. Faults and warnings (apogee
 * above the last level, wind from the surface only) go to `log`, which may be NULL. */
int pappus_air_build(pappus_air **out, const pappus_plan *plan, const pappus_winds *winds,
                     const pappus_air_options *options, pappus_log *log);
void pappus_air_free(pappus_air *air);

double pappus_air_density_kgpm3(const pappus_air *air, double height_m);
double pappus_air_temperature_k(const pappus_air *air, double height_m);
double pappus_air_pressure_pa(const pappus_air *air, double height_m);
/** What a barometric altimeter zeroed at the pad shows at a true height. */
double pappus_air_indicated_height_m(const pappus_air *air, double height_m);
/** True height at which a barometric altimeter shows indicated_m. */
double pappus_air_true_height_m(const pappus_air *air, double indicated_m);
/** The wind before sampling: weighted mean of the profiles after conditioning. */
void pappus_air_mean_wind(const pappus_air *air, double height_m, double *u_mps, double *v_mps);
/** Bearing towards which "upwind" points: the mean wind of the lowest 300 m; NaN in a
 * calm. */
double pappus_air_upwind_bearing_deg(const pappus_air *air);
/** Speed compared with limits.surface_wind: the reading's, else the profile at 10 m. */
double pappus_air_surface_wind_mps(const pappus_air *air);
/** Gust of the reading, NaN when none. */
double pappus_air_gust_mps(const pappus_air *air);
/** Quantile p in (0, 1) of the sampled u and v at a height, before (prior) or
 * after the measured winds; closed form. */
void pappus_air_wind_quantile(const pappus_air *air, bool prior, double height_m, double p,
                              double *u_mps, double *v_mps);
bool pappus_air_surface_only(const pappus_air *air);
/** Density of the 1976 standard atmosphere at a height above sea level. */
double pappus_standard_density_kgpm3(double height_msl_m);

/* ---------------------------------------------------------------- landings */

#define PAPPUS_OUTCOME_LIST(X)              \
    X(NOMINAL, "nominal")                   \
    X(MAIN_AT_APOGEE, "main at apogee")     \
    X(DROGUE_ONLY, "drogue only")           \
    X(MAIN_ONLY, "main only")               \
    X(NO_CANOPY, "no canopy")

typedef enum {
#define PAPPUS_OUTCOME_ENUM(name, text) PAPPUS_##name,
    PAPPUS_OUTCOME_LIST(PAPPUS_OUTCOME_ENUM)
#undef PAPPUS_OUTCOME_ENUM
    PAPPUS_OUTCOMES
} pappus_outcome;

const char *pappus_outcome_text(pappus_outcome outcome);

/** Chance of each outcome; they sum to 1 (formulas: design, outcomes). */
void pappus_outcome_probabilities(double out[PAPPUS_OUTCOMES], const pappus_plan *plan);

/** Landings, structure of arrays, `count` long each: 62 bytes a landing. */
typedef struct {
    size_t count, capacity;
    uint64_t seed;
    double probability[PAPPUS_OUTCOMES];  /**< of each stratum */
    size_t stratum_count[PAPPUS_OUTCOMES];/**< landings in it */
    uint8_t *outcome;
    double *east_m, *north_m;
    float *time_s;           /**< from apogee to ground */
    float *vz_mps;           /**< downward speed at touchdown, positive */
    float *speed_mps;        /**< total speed at touchdown */
    float *drogue_load_n, *main_load_n;         /**< peak opening load, NaN: did not fire */
    float *drogue_load, *main_load;             /**< the same in g (over mass * 9.80665) */
    float *drogue_fire_speed_mps, *main_fire_speed_mps; /**< airspeed at firing, NaN */
    float *main_fire_m;      /**< true height of main firing, NaN: never */
    float *main_full_open_m; /**< true height where the main is full open, 0: never */
    uint8_t *unopened;       /**< 1: touched down before the main was full open */
    size_t redrawn;          /**< draws that were not physical and were redrawn */
    size_t drawn;            /**< draws that could have been */
    size_t unopened_count[PAPPUS_OUTCOMES];
} pappus_cloud;

/** Weight of landing i: probability of its stratum over the landings in it; all sum to 1. */
double pappus_cloud_weight(const pappus_cloud *cloud, size_t i);

/** Groups of random streams, for the sensitivity (bits of a mask). */
typedef enum {
    PAPPUS_GROUP_WIND_ALOFT = 1,  /**< prior draw of the wind error, choice of profile */
    PAPPUS_GROUP_SURFACE_WIND = 2,/**< reading noise and gusts */
    PAPPUS_GROUP_APOGEE = 4,
    PAPPUS_GROUP_DRAG = 8,        /**< canopy and body drag, opening, mass */
    PAPPUS_GROUP_ALTIMETERS = 16  /**< delays and height errors */
} pappus_draw_group;
#define PAPPUS_DRAW_GROUPS 5

typedef int (*pappus_progress)(void *context, double fraction); /**< 0 go on, else stop */

typedef struct {
    size_t landings;      /**< in all; each stratum gets max(2000, its share) */
    uint64_t seed;
    int threads;          /**< 0: all */
    double main_shift_m;  /**< moves every main height */
    bool nominal_only;    /**< that stratum alone, all landings in it */
    unsigned fresh_groups;/**< groups drawn from other streams than the seed's own */
    double stratum_minimum; /**< 2000 */
    pappus_progress progress;
    void *progress_context;
} pappus_scatter_options;
#define PAPPUS_SCATTER_OPTIONS_INIT {20000, 1, 0, 0.0, false, 0, 2000, NULL, NULL}

/** Samples the landings and brings them down with the fast engine. The result
 * depends on the seed and not on the number of threads. PAPPUS_E_FLIGHT when
 * the plan cannot fly (no canopy speed below the limits of the model). */
int pappus_scatter(pappus_cloud **out, const pappus_plan *plan, const pappus_air *air,
                   const pappus_scatter_options *options, pappus_error *err);
void pappus_cloud_free(pappus_cloud *cloud);

/** One point of a path. */
typedef struct {
    double time_s, east_m, north_m, height_m, ve_mps, vn_mps, vup_mps;
} pappus_path_point;

typedef struct {
    size_t count;
    pappus_path_point *points;
    double drogue_fire_s, main_fire_s, main_full_open_s; /**< NaN: never */
    double drogue_load_n, main_load_n;
} pappus_path;

/** The path of the plan's central flight (every value at its mean, mean wind,
 * outcome as asked), by the reference integrator. */
int pappus_reference_path(pappus_path **out, const pappus_plan *plan, const pappus_air *air,
                          pappus_outcome outcome, pappus_error *err);
void pappus_path_free(pappus_path *path);

/** Flies the central flight and tells what is wrong with it: a fault when the plan
 * cannot fly, a warning when its main is not fully open before the ground. */
int pappus_flight_check(const pappus_plan *plan, const pappus_air *air, pappus_log *log);

/* ------------------------------------------------------------------- zones */

#define PAPPUS_LEVELS 4
/** 0.50, 0.90, 0.95, 0.99 */
extern const double pappus_levels[PAPPUS_LEVELS];

/** A probability or quantile with its interval. NaN: not known. */
typedef struct {
    double value, low, high;
} pappus_estimate;

typedef struct {
    double level, share;        /**< share of landings truly inside */
    double major_m, minor_m;    /**< semi-axes */
    double bearing_deg;         /**< of the major axis, 0 <= b < 180 */
    double area_m2;
} pappus_ellipse;

typedef struct {
    double level, share, area_m2;
    double density_per_m2;      /**< threshold */
    pappus_area shape;          /**< valid polygons, east and north */
} pappus_contour;

typedef struct {
    double p05, p50, p95;
} pappus_quantiles;

/** What is said of one outcome, or of all together. */
typedef struct {
    double probability;
    size_t landings;            /**< 0: not drawn; the rest is then NaN */
    pappus_estimate inside_field;
    size_t keep_out_count;
    pappus_estimate *keep_out;  /**< one per area of the field */
    double mean_east_m, mean_north_m;
    double covariance_m2[2][2];
    pappus_ellipse ellipses[PAPPUS_LEVELS];
    size_t contour_count;       /**< 0 or PAPPUS_LEVELS */
    pappus_contour contours[PAPPUS_LEVELS];
    pappus_quantiles drift_m, drift_bearing_deg, time_s, landing_speed_mps, landing_vz_mps;
    pappus_quantiles drogue_load, main_load; /**< g */
    pappus_quantiles main_full_open_m;
    size_t section_count;
    pappus_quantiles *energy_j; /**< per section; one entry (the whole) without sections */
    double unopened;            /**< share landed before the main was full open */
} pappus_zone;

typedef struct {
    pappus_zone all;
    pappus_zone outcomes[PAPPUS_OUTCOMES];
    size_t count;
    uint8_t *inside;      /**< per landing: 0, 1; NULL without a boundary */
    int32_t *keep_out;    /**< per landing: first area hit, -1 none */
} pappus_zones;

typedef struct {
    bool contours;  /**< compute them */
    int threads;
    double confidence; /**< of the intervals, 0.95 */
} pappus_zones_options;
#define PAPPUS_ZONES_OPTIONS_INIT {true, 0, 0.95}

int pappus_zones_build(pappus_zones **out, const pappus_cloud *cloud, const pappus_plan *plan,
                       const pappus_field *field, const pappus_zones_options *options,
                       pappus_error *err);
void pappus_zones_free(pappus_zones *zones);

/** Wilson score interval of k successes in n (Wilson 1927). confidence in (0, 1). */
pappus_estimate pappus_wilson(double successes, double n, double confidence);

/* ------------------------------------------------------------------ choice */

typedef enum { PAPPUS_MET, PAPPUS_BROKEN, PAPPUS_UNDECIDED } pappus_verdict;
typedef enum { PAPPUS_GO, PAPPUS_NO_GO, PAPPUS_NOT_DECIDED } pappus_decision;

#define PAPPUS_LIMIT_LIST(X)                                        \
    X(INSIDE_FIELD, "inside_field", "1")                            \
    X(KEEP_OUT, "keep_out", "1")                                    \
    X(SURFACE_WIND, "surface_wind", "m/s")                          \
    X(LANDING_SPEED, "landing_speed", "m/s")                        \
    X(LANDING_ENERGY, "landing_energy", "J")                        \
    X(OPENING_LOAD, "opening_load", "g")                            \
    X(MAIN_HEIGHT, "main_height", "m")

typedef enum {
#define PAPPUS_LIMIT_ENUM(name, text, unit) PAPPUS_LIMIT_##name,
    PAPPUS_LIMIT_LIST(PAPPUS_LIMIT_ENUM)
#undef PAPPUS_LIMIT_ENUM
    PAPPUS_LIMIT_KINDS
} pappus_limit_kind;

const char *pappus_limit_text(pappus_limit_kind kind);
const char *pappus_limit_unit(pappus_limit_kind kind);

/** One reason of the decision, as data. */
typedef struct {
    pappus_limit_kind limit;
    char *name;            /**< keep-out, section or canopy it is about; NULL */
    pappus_estimate value; /**< 95 % interval; NaN where there is none */
    double bound;
    bool at_least;         /**< met when value >= bound; else when value <= bound */
    pappus_verdict verdict;
    char *note;            /**< why undecided, in words; NULL */
} pappus_reason;

typedef struct {
    pappus_decision decision;
    size_t reason_count;
    pappus_reason *reasons;
    bool capped;           /**< the last look was still undecided */
} pappus_judgement;

/** Judges one cloud against the plan's limits. decide_confidence: the interval
 * that must clear a bound (0.99). */
int pappus_judge(pappus_judgement **out, const pappus_plan *plan, const pappus_field *field,
                 const pappus_air *air, const pappus_cloud *cloud, const pappus_zones *zones,
                 double decide_confidence, pappus_error *err);
void pappus_judgement_free(pappus_judgement *judgement);

/** One height of the trade. */
typedef struct {
    double height_m;       /**< of the highest main_height, as set */
    pappus_estimate inside_field;
    size_t keep_out_count;
    double *keep_out;      /**< per area */
    double time_s, walk_m; /**< means; walk NaN without crews */
    bool above_apogee;     /**< its main fires at apogee: never recommended */
    double full_open_p05_m;
    double use;            /**< u(h): largest share of a limit that is used up */
    const char *nearest;   /**< the limit that u(h) comes from (static text); NULL: none */
    const char *broken;    /**< the first limit that is broken, or undecided; NULL when met */
    pappus_verdict verdict;
    size_t contour_count;  /**< contours of `all` at this height, for the report's slider */
    pappus_contour contours[PAPPUS_LEVELS];
    double mean_east_m, mean_north_m;
} pappus_height_row;

typedef struct {
    size_t row_count;
    pappus_height_row *rows;
    double planned_m;
    double recommended_m;  /**< NaN: no height meets every limit */
    size_t recommended_row;
    char *why_not_lower, *why_not_higher; /**< NULL at the ends */
    char *why_none;        /**< NULL when one is recommended */
} pappus_heights;

typedef struct {
    bool go;                 /**< some wind is go */
    double surface_wind_mps; /**< largest that is go: the top of the lowest range that is */
    double floor_mps;        /**< the bottom of that range: 0 unless calm is no-go */
    double wind_from_deg;    /**< of the reading or the profile at 10 m */
    int turns_limit;         /**< pappus_limit_kind in the way above it (of calm, when no wind
                                  is go); -1 none */
    char *turns_name;        /**< the keep-out it is about; NULL */
    bool monotonic;          /**< go from calm to the ceiling and nowhere above */
    bool reached;            /**< false: still go at the top of the scan */
} pappus_ceiling_row;

typedef struct {
    pappus_ceiling_row planned; /**< direction as planned */
    pappus_ceiling_row worst;   /**< all round */
    size_t row_count;           /**< 12 */
    pappus_ceiling_row *rows;
    bool fixed_bearing;         /**< apogee has a fixed bearing: a caution */
    double top_mps;             /**< highest wind that was tried */
} pappus_ceiling;

typedef struct {
    double latitude_deg, longitude_deg, east_m, north_m;
    double distance_m, bearing_deg; /**< from the pad */
    double walk_mean_m, walk_p90_m;
    double share;                   /**< chance that it is the nearest post */
    double served_east_m, served_north_m; /**< mean of the landings that it serves */
    char *road;                     /**< name of the road it stands on, NULL */
} pappus_post;

typedef struct {
    size_t post_count;
    pappus_post *posts;
    double walk_mean_m, walk_p90_m;
    char *blocked_by;               /**< the rule in the way when there is no place */
    size_t candidate_count;
} pappus_crews;

typedef struct {
    const char *name;     /**< static text */
    double share, error;  /**< of variance, and standard error */
} pappus_driver;

typedef struct {
    double axis_bearing_deg;
    bool towards_boundary; /**< else along the major axis */
    double sd_m;
    size_t driver_count;
    pappus_driver drivers[PAPPUS_DRAW_GROUPS + 1]; /**< the last is the interactions */
} pappus_sensitivity;

/** What a choice works on: read-only, all from one plan. */
typedef struct {
    const pappus_plan *plan;
    const pappus_winds *winds;
    const pappus_field *field;
    const pappus_air *air;
    int threads;
    pappus_progress progress;
    void *progress_context;
} pappus_situation;

/** crews: posts as they stand for the planned height, from which the walk at each
 * height is measured; NULL: no walks. */
int pappus_heights_trade(pappus_heights **out, const pappus_situation *situation,
                         const pappus_crews *crews, pappus_error *err);
void pappus_heights_free(pappus_heights *heights);
int pappus_ceiling_find(pappus_ceiling **out, const pappus_situation *situation, pappus_error *err);
void pappus_ceiling_free(pappus_ceiling *ceiling);
int pappus_crews_post(pappus_crews **out, const pappus_situation *situation,
                      const pappus_cloud *cloud, const pappus_zones *zones, pappus_error *err);
void pappus_crews_free(pappus_crews *crews);
int pappus_sensitivity_find(pappus_sensitivity **out, const pappus_situation *situation,
                            const pappus_zones *zones, pappus_error *err);
void pappus_sensitivity_free(pappus_sensitivity *sensitivity);

/* -------------------------------------------------------------- bench card */

/** An ejection charge, every step of its sum, so that it can be checked by hand.
 * m = F L / (R T), ideal gas with the empirical constants of common practice. A
 * starting point for a ground test, never a setting. */
typedef struct {
    bool present;
    const char *name;           /**< "drogue" or "main" (static text) */
    double bay_diameter_m, bay_length_m, area_m2, volume_m3;
    const char *from;           /**< what was given: "force", "pressure" or "shear pins" */
    int pin_count;
    double pin_strength_n;      /**< each; NaN: none given */
    double friction_n, margin;
    double needed_n;            /**< pins and friction; NaN without pins */
    double needed_with_margin_n;/**< needed_n times margin */
    double force_n, pressure_pa;/**< that the primary makes */
    double mass_kg;             /**< primary */
    double backup_factor, backup_mass_kg, backup_force_n, backup_pressure_pa;
} pappus_charge;

typedef struct {
    const char *name;                   /**< the case, static text */
    double fire_height_m, airspeed_mps; /**< at firing */
    double peak_n, peak_g;
    pappus_verdict verdict;             /**< against limits.opening_load; undecided: no limit */
} pappus_load_case;

typedef struct {
    pappus_canopy_type type;
    pappus_area_basis basis;
    double drag_coefficient, diameter_m; /**< for the wanted rate */
    double rate_mps;                     /**< of the plan's own diameter, were it this; NaN: none */
} pappus_diameter_row;

/** A diameter for every round type on its three bases. */
#define PAPPUS_DIAMETER_ROWS 21
#define PAPPUS_LOAD_CASES 5

/** One canopy: alone by the handbook, and as flown. */
typedef struct {
    bool present;
    const char *name;            /**< "drogue" or "main" (static text) */
    pappus_canopy_type type;
    pappus_area_basis basis;
    double diameter_m;           /**< as given; NaN when the plan gives none */
    double nominal_diameter_m, drag_area_m2;
    double drag_area_low_m2;     /**< 5th percentile */
    double spill_hole_m;         /**< diameter, 0 for none */
    double alone_mps;            /**< v = sqrt(2 W / (rho CdS)) */
    double alone_low_mps, alone_high_mps; /**< 5th and 95th percentile of its drag area */
    double beside_drag_area_m2;  /**< what else is open then: the body, beside a main the drogue */
    double flown_mps;            /**< with the body and every open canopy; NaN: no steady rate */
    double flown_height_m;       /**< where that rate is taken: the ground for the last canopy */
    double usual_low_mps, usual_high_mps; /**< common practice */
    double wanted_mps;           /**< the rate that the diameters below are for */
    bool wanted_given;           /**< by the plan; else the middle of the usual */
    double wanted_drag_area_m2;
    /* This plan's own canopy made larger or smaller, spill hole in proportion, alone and
     * with what else is open; NaN: no diameter, or the others alone are slow enough. */
    double wanted_diameter_m, wanted_flown_diameter_m;
    double wanted_length_m, wanted_flown_length_m; /**< of a streamer at its width; NaN: none */
    pappus_diameter_row rows[PAPPUS_DIAMETER_ROWS];
    size_t load_count;
    pappus_load_case loads[PAPPUS_LOAD_CASES];
} pappus_card_canopy;

typedef struct {
    char *name;
    double mass_kg, energy_j;
    double energy_high_j;        /**< at touchdown_high_mps */
    double largest_mass_kg;      /**< that meets the limit at this rate; NaN: no limit */
    pappus_verdict verdict;
} pappus_card_section;

typedef struct {
    char *title;
    double mass_kg, elevation_msl_m, temperature_k, density_kgpm3; /**< at the pad */
    pappus_card_canopy drogue, main;
    pappus_charge drogue_charge, main_charge;
    size_t section_count;
    pappus_card_section *sections;
    double touchdown_mps;
    double touchdown_high_mps;    /**< with the last canopy's drag at its 5th percentile */
    double main_full_open_m;      /**< true height; 0: not before the ground; NaN: no main */
    double drogue_time_s, main_time_s, total_time_s; /**< nominal, calm */
    double apogee_m;
    double energy_limit_j, load_limit_g, speed_limit_mps;
    bool tumble_assumed;          /**< a load case falls with an assumed body drag */
    size_t altimeter_count;
    pappus_altimeter *altimeters; /**< names owned by the card */
    double *altimeter_true_m;     /**< true height at which each fires its main today; NaN */
    pappus_uncertain motor_delay_s; /**< of the motor's own charge; absent: none */
    pappus_log findings;          /**< what is out of the usual range */
} pappus_card;

/** Builds the card of a plan; wind and field are not needed. Every altimeter is taken
 * to work and every canopy to hold, so that the bad cases can be told one by one.
 * Faults go to `log`, what is out of the usual range to the card's findings. */
int pappus_card_build(pappus_card **out, const pappus_plan *plan, pappus_log *log);
void pappus_card_free(pappus_card *card);

/** One charge from its plan; PAPPUS_E_PLAN when it cannot be reckoned. */
int pappus_charge_size(pappus_charge *out, const char *name, const pappus_charge_plan *plan,
                       pappus_error *err);
/** Gauge pressure that a mass of black powder makes in a volume, and the mass for
 * a pressure. */
double pappus_charge_pressure_pa(double mass_kg, double volume_m3);
double pappus_charge_mass_kg(double pressure_pa, double volume_m3);

/* ------------------------------------------------------------------- brief */

/** Everything for a launch decision on one plan. */
typedef struct {
    pappus_plan *plan;
    pappus_winds *winds;
    pappus_field *field;
    pappus_air *air;
    pappus_cloud *cloud;
    pappus_zones *zones;
    pappus_judgement *judgement;
    pappus_heights *heights;          /**< NULL: not asked, or no main height */
    pappus_ceiling *ceiling;          /**< NULL: not asked */
    pappus_crews *crews;              /**< NULL: not asked, or no posts */
    pappus_sensitivity *sensitivity;  /**< NULL: not asked */
    pappus_path *path;                /**< central nominal flight */
    pappus_log log;                   /**< warnings and notes of the inputs */
    size_t looks;                     /**< looks taken at the landings */
} pappus_answer;

/** Parts of an answer (bits of a mask). Landings and zones are always there. */
typedef enum {
    PAPPUS_PART_DECISION = 1,  /**< looks until decided, and the judgement */
    PAPPUS_PART_CONTOURS = 2,
    PAPPUS_PART_HEIGHTS = 4,
    PAPPUS_PART_CEILING = 8,
    PAPPUS_PART_CREWS = 16,
    PAPPUS_PART_DRIVERS = 32,
    PAPPUS_PART_ALL = 63
} pappus_part;

typedef struct {
    pappus_plan_options plan;
    size_t landings;  /**< 0: the plan's */
    const uint64_t *seed; /**< NULL: the plan's */
    int threads;      /**< 0: all */
    unsigned parts;   /**< pappus_part bits */
    pappus_progress progress;                        /**< may be NULL */
    void *progress_context;
    void (*stage)(void *context, const char *name);  /**< told as each stage begins; may be NULL */
    void *stage_context;
} pappus_brief_options;
#define PAPPUS_BRIEF_OPTIONS_INIT \
    {PAPPUS_PLAN_OPTIONS_INIT, 0, NULL, 0, PAPPUS_PART_ALL, NULL, NULL, NULL, NULL}

/** The main job: plan in, answer out. PAPPUS_OK with an answer whether go or no-go;
 * warnings are then in the answer's own log. On failure `log` (initialised, empty)
 * gets every fault and warning. */
int pappus_brief(pappus_answer **out, const char *plan_path, const pappus_brief_options *options,
                 pappus_log *log);
void pappus_answer_free(pappus_answer *answer);

typedef enum { PAPPUS_UNITS_US, PAPPUS_UNITS_SI } pappus_unit_system;
typedef enum { PAPPUS_CRS_WGS84, PAPPUS_CRS_UTM } pappus_crs;

typedef struct {
    pappus_unit_system units;
    pappus_crs crs;
    bool layers_only; /**< scatter: layers and summary.json */
} pappus_write_options;

/** Whether a folder may be written: PAPPUS_E_REFUSED unless its parent exists and it
 * does not, or it holds an earlier result and nothing else. Cheap: ask before the work. */
int pappus_output_check(const char *folder, pappus_error *err);
/** Writes the output folder, whole or not at all (design, output folder). */
int pappus_answer_write(const pappus_answer *answer, const char *folder,
                        const pappus_write_options *options, pappus_error *err);
/** summary.json as text; the caller frees it. */
int pappus_answer_summary(char **out, const pappus_answer *answer, pappus_error *err);
/** The half-screen answer as plain text (colour: with ANSI colour); caller frees. */
int pappus_answer_text(char **out, const pappus_answer *answer, pappus_unit_system units,
                       bool colour, pappus_error *err);

/* Several answers are the parts of one flight that come down untied: the worst
 * decision of them is the flight's. With one answer these do the same as the
 * calls above; with more, each part has a folder of its own inside the output
 * folder, named after its plan's file, beside a summary.json of the whole. */
pappus_decision pappus_decision_of(const pappus_answer *const *answers, size_t count);
int pappus_answers_write(const pappus_answer *const *answers, size_t count, const char *folder,
                         const pappus_write_options *options, pappus_error *err);
int pappus_answers_summary(char **out, const pappus_answer *const *answers, size_t count,
                           pappus_error *err);
int pappus_answers_text(char **out, const pappus_answer *const *answers, size_t count,
                        pappus_unit_system units, bool colour, pappus_error *err);

/** The trade, the ceiling and the posts as tables of plain text; caller frees. */
int pappus_heights_text(char **out, const pappus_answer *answer, pappus_unit_system units,
                        pappus_error *err);
int pappus_ceiling_text(char **out, const pappus_answer *answer, pappus_unit_system units,
                        pappus_error *err);
int pappus_crews_text(char **out, const pappus_answer *answer, pappus_unit_system units,
                      pappus_error *err);

/** The bench card as plain text, as JSON, and as a page to print written to `path`
 * (whole or not at all). Texts are the caller's to free. */
int pappus_card_text(char **out, const pappus_card *card, pappus_unit_system units,
                     pappus_error *err);
int pappus_card_json(char **out, const pappus_card *card, pappus_error *err);
int pappus_card_write(const pappus_card *card, const char *path, pappus_unit_system units,
                      pappus_error *err);

/** What was read of wind files as a table: where from, times, heights, every level,
 * and what was repaired or left out, with the reasons from `log` (may be NULL).
 * The caller frees. */
int pappus_wind_table_text(char **out, const pappus_winds *winds, pappus_unit_system units,
                           const pappus_log *log, pappus_error *err);
/** The same winds as one layer table (CSV) that reads back to the same levels, bit for
 * bit. PAPPUS_E_OUTPUT when several profiles have not each a time of its own. */
int pappus_wind_csv_text(char **out, const pappus_winds *winds, pappus_error *err);
/** The profile drawn as SVG: speed, direction and wind barbs against height up to
 * top_m (NaN: the highest level, at most 6 km above the lowest). With `air` heights
 * are above the pad and the 5 to 95 % band is drawn before and after the measured
 * winds; NULL: the levels only. */
int pappus_wind_svg_text(char **out, const pappus_winds *winds, const pappus_air *air,
                         pappus_unit_system units, double top_m, pappus_error *err);

/** What `pappus check` found as JSON: each value as it was understood, the winds and the
 * field in numbers, and every fault, warning and note of `log`. What could not be read
 * is NULL. The caller frees. */
int pappus_check_json_text(char **out, const pappus_plan *plan, const pappus_winds *winds,
                           const pappus_field *field, const pappus_log *log, pappus_error *err);

/** Reads a time with its zone: "2027-04-17T15Z", "2027-04-17T15:00Z",
 * "2027-04-17T15:00:30.5Z", "2027-04-17T10:00-05:00". err->message says what is
 * accepted on failure (PAPPUS_E_PLAN). */
int pappus_time_parse(double *utc_s, const char *text, pappus_error *err);
/** What was read of wind files as JSON; the caller frees. */
int pappus_wind_json_text(char **out, const pappus_winds *winds, pappus_error *err);

/** Writes one file, whole or not at all: beside it first, then renamed over it. */
int pappus_file_write(const char *path, const char *bytes, size_t size, pappus_error *err);

#ifdef __cplusplus
}
#endif
#endif
