/* SPDX-License-Identifier: GPL-3.0-or-later
 * The sections of GRIB messages that say what a field is. Each reader is given a whole
 * section, its length octets included, and returns false when it is too short. */
#ifndef PAPPUS_INPUT_FOREIGN_GRIB_SECTIONS_H
#define PAPPUS_INPUT_FOREIGN_GRIB_SECTIONS_H

#include "grib_scan.h"

#include <math.h>

/** Octets `first` and on, counted from 1 as the manual does. */
static inline uint32_t grib_number(const unsigned char *section, size_t first, size_t octets)
{
    uint32_t value = 0;
    for (size_t i = 0; i < octets; i++)
        value = value << 8 | section[first - 1 + i];
    return value;
}

/** The first bit is the sign. */
static inline double grib_signed(const unsigned char *section, size_t first, size_t octets)
{
    uint32_t raw = grib_number(section, first, octets), sign = 1u << (8 * octets - 1);
    return raw & sign ? -(double)(raw & ~sign) : (double)raw;
}

/** A length or an angle in units; NaN when all bits are set: missing. */
static inline double grib_given(const unsigned char *section, size_t first, size_t octets,
                                double unit)
{
    uint32_t raw = grib_number(section, first, octets);
    return raw == (uint32_t)(UINT64_MAX >> (64 - 8 * octets)) ? NAN : unit * raw;
}

typedef struct {
    int code;
    pappus_grib_projection projection;
    size_t least; /**< octets needed */
} pappus_grib_grid_kind;
#define PAPPUS_GRIB_GRID_KINDS 5

/** A grid of which the kind is known and nothing else yet. */
void pappus_grib_grid_begin(pappus_grib_grid *grid,
                            const pappus_grib_grid_kind kinds[PAPPUS_GRIB_GRID_KINDS], int code,
                            const unsigned char *section, size_t length);
void pappus_grib_grid_flags(pappus_grib_grid *grid, unsigned components, unsigned scanning);

bool pappus_grib1_product(pappus_grib_field *out, const unsigned char *section, size_t length);
bool pappus_grib1_grid(pappus_grib_grid *out, const unsigned char *section, size_t length);

bool pappus_grib2_issued(double *utc_s, const unsigned char *section, size_t length);
bool pappus_grib2_product(pappus_grib_field *out, int discipline, double issued_utc_s,
                          const unsigned char *section, size_t length);
bool pappus_grib2_grid(pappus_grib_grid *out, const unsigned char *section, size_t length);

#endif
