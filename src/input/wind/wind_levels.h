/* SPDX-License-Identifier: GPL-3.0-or-later
 * A wind profile while it is read: every level passes the same rules, whatever
 * the format, and what was repaired or refused is counted and told. */
#ifndef PAPPUS_INPUT_WIND_LEVELS_H
#define PAPPUS_INPUT_WIND_LEVELS_H

#include "wind_format.h"

/** No air at rest or in a storm is faster; tornadoes are. */
#define PAPPUS_WIND_MAX_MPS 150.0
#define PAPPUS_WIND_MAX_LEVELS 100000
#define PAPPUS_WIND_MAX_PROFILES 100000

/** What a message calls the columns of a format. */
typedef struct {
    const char *height, *direction, *speed, *u, *v, *sd, *temperature, *pressure;
} pappus_wind_columns;

/** One level as the file has it; NaN where it has nothing. The wind is either
 * direction and speed or u and v. */
typedef struct {
    size_t row;
    pappus_height_kind height_kind;
    double height_m, direction_deg, speed_mps, u_mps, v_mps, speed_sd_mps, temperature_k,
        pressure_pa;
} pappus_wind_raw;

/** What was repaired or left out; one line of the log for each that occurred. */
typedef enum {
    PAPPUS_TALLY_UNSORTED,
    PAPPUS_TALLY_REPEATED,
    PAPPUS_TALLY_NORTH,
    PAPPUS_TALLY_NO_HEIGHT,
    PAPPUS_TALLY_EMPTY,
    PAPPUS_TALLY_COUNT
} pappus_wind_tally;

typedef struct {
    size_t row;
    pappus_wind_level level;
} pappus_wind_row;

typedef struct {
    pappus_wind_reading *reading;
    pappus_wind_columns columns;
    bool by_hand; /**< a bad level is a fault; else it is left out with a warning */
    size_t row_count, row_capacity;
    pappus_wind_row *rows;
    size_t read_count, repaired_count, refused_count;
    size_t tally_count[PAPPUS_TALLY_COUNT], tally_row[PAPPUS_TALLY_COUNT];
} pappus_wind_builder;

pappus_wind_raw pappus_wind_raw_empty(size_t row, pappus_height_kind kind);
/** Components of a wind from direction_deg. A calm has none. */
void pappus_wind_components(double *u_mps, double *v_mps, double direction_deg, double speed_mps);

/** Judges one level and keeps it if it can be used. Only PAPPUS_E_MEMORY and too
 * many levels end the reading; a fault is counted in the reading and told. */
int pappus_wind_builder_add(pappus_wind_builder *builder, const pappus_wind_raw *given);
/** Sorts, joins repeated heights, and moves the levels into *profile (whose other
 * fields stay). Frees the builder's rows in any case. */
int pappus_wind_builder_finish(pappus_wind_builder *builder, pappus_wind_profile *profile);
void pappus_wind_builder_clear(pappus_wind_builder *builder);

/** Appends an empty profile (path, format and station copied; unknowns NaN) and
 * hands it out; NULL when memory is short. */
pappus_wind_profile *pappus_winds_append(pappus_winds *winds, const char *path, const char *format,
                                         const char *station);
void pappus_wind_profile_clear(pappus_wind_profile *profile);
/** Appends a copy, with its levels when with_levels; NULL when memory is short. */
pappus_wind_profile *pappus_winds_append_copy(pappus_winds *winds,
                                              const pappus_wind_profile *profile, bool with_levels);

#endif
