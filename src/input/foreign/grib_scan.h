/* SPDX-License-Identifier: GPL-3.0-or-later
 * What the fields of a GRIB file are, read from its own sections: the library that unpacks
 * the values does not tell all of it. */
#ifndef PAPPUS_INPUT_FOREIGN_GRIB_SCAN_H
#define PAPPUS_INPUT_FOREIGN_GRIB_SCAN_H

#include <pappus/status.h>

typedef enum {
    PAPPUS_GRIB_OTHER,
    PAPPUS_GRIB_U, /**< m/s, along the grid's x or towards east */
    PAPPUS_GRIB_V,
    PAPPUS_GRIB_TEMPERATURE,  /**< K */
    PAPPUS_GRIB_HEIGHT,       /**< geopotential height, m */
    PAPPUS_GRIB_GEOPOTENTIAL, /**< m2/s2 */
    PAPPUS_GRIB_GUST          /**< m/s */
} pappus_grib_element;

typedef enum {
    PAPPUS_GRIB_NO_LEVEL,
    PAPPUS_GRIB_ISOBARIC,     /**< level in Pa */
    PAPPUS_GRIB_ABOVE_GROUND, /**< level in m */
    PAPPUS_GRIB_SURFACE
} pappus_grib_level;

typedef enum {
    PAPPUS_GRIB_UNKNOWN_GRID,
    PAPPUS_GRIB_LATLON,
    PAPPUS_GRIB_GAUSSIAN,
    PAPPUS_GRIB_MERCATOR,
    PAPPUS_GRIB_LAMBERT,
    PAPPUS_GRIB_POLAR
} pappus_grib_projection;

/** The grid of a field. Lengths in degrees on latitude-longitude and Gaussian grids, in
 * metres on the plane of the others. */
typedef struct {
    pappus_grib_projection projection;
    int code;                 /**< number of the template (GRIB2) or type (GRIB1) */
    bool reduced;             /**< rows of different lengths */
    bool wind_along_grid;     /**< u and v along the grid's axes, not east and north */
    bool westward, northward; /**< the first point is at the east end, at the south end */
    bool columns_first;       /**< points of a column follow one another */
    bool turns;               /**< every other row (or column) runs back */
    int width, height;        /**< points in a row, rows */
    double first_latitude_deg, first_longitude_deg; /**< of the first point in the file */
    double last_latitude_deg, last_longitude_deg;   /**< NaN where the grid does not say */
    double step_x, step_y;                          /**< positive; NaN: not given */
    int gaussian_n;                                 /**< parallels between a pole and the equator */
    double meridian_deg;                            /**< along which y grows: Lambert, polar */
    double true_latitude_deg[2]; /**< where the step is true to scale; both of a cone */
    bool south;                  /**< the plane is about the south pole */
    double equator_m, pole_m;    /**< radii of the earth that the grid is on */
    uint64_t digest;             /**< of the whole section: equal for equal grids */
} pappus_grib_grid;

/** Where the packed values of a field are in the file. */
typedef struct {
    int64_t message_at, message_bytes;
    int part;                           /**< among the fields of its message, from 0 */
    int template;                       /**< of the packing (edition 2) */
    int64_t how_at, bitmap_at, data_at; /**< sections 5, 6, 7 (edition 2) */
} pappus_grib_packed;

/** One field, in the order of the file. */
typedef struct {
    int edition;
    pappus_grib_element element;
    pappus_grib_level level_kind;
    double level;
    double issued_utc_s, valid_utc_s; /**< NaN: no such date */
    int member;                       /**< perturbation number; -1: none. A negatively perturbed
                                           one of a pair counts from 500 */
    bool instant;                     /**< else a mean, a sum, a spread over members ... */
    pappus_grib_grid grid;
    pappus_grib_packed packed;
} pappus_grib_field;

typedef struct {
    size_t count, capacity;
    pappus_grib_field *fields;
} pappus_grib_fields;

#define PAPPUS_GRIB_MAX_FIELDS 200000
#define PAPPUS_GRIB_PAIR_OFFSET 500

/** True when a file begins like GRIB 1 or 2. */
bool pappus_grib_is(const char *bytes, size_t length);
/** Reads the heads of all fields of a file. `code` with one message when it is cut short,
 * damaged, or of another edition. The caller clears. */
int pappus_grib_scan(pappus_grib_fields *out, const char *path, int code, pappus_error *err);
void pappus_grib_fields_clear(pappus_grib_fields *fields);

#endif
