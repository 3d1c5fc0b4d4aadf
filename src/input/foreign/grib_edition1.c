/* SPDX-License-Identifier: GPL-3.0-or-later
 * Sections of GRIB edition 1 (WMO Manual on Codes, WMO-No. 306, volume I.2, FM 92-X GRIB):
 * product (1) and grid (2).
 *
 * The edition has no place for the member of an ensemble; those of centres 7 (octets 41 to 43 of
 * the product section) and 98 (local definition, octet 50) are known. */
#include "grib_sections.h"

#include "timestamp.h"

#include <math.h>

#define CENTRE_NCEP 7
#define CENTRE_ECMWF 98

static const pappus_grib_grid_kind grids1[PAPPUS_GRIB_GRID_KINDS] = {{0, PAPPUS_GRIB_LATLON, 28},
                                                                     {4, PAPPUS_GRIB_GAUSSIAN, 28},
                                                                     {1, PAPPUS_GRIB_MERCATOR, 34},
                                                                     {5, PAPPUS_GRIB_POLAR, 28},
                                                                     {3, PAPPUS_GRIB_LAMBERT, 34}};

#define CENTRE_JMA 34
#define TABLE_ECMWF 128
#define TABLE_ECMWF_MORE 228
#define TABLE_JMA 200
#define TABLE_HIRLAM 253

typedef struct {
    int parameter;
    pappus_grib_element element;
    double level_m; /* above ground, where the level does not say it; else 0 */
} parameter1;

/* WMO table 2, which other tables follow in these. */
static const parameter1 common[] = {{33, PAPPUS_GRIB_U, 0},           {34, PAPPUS_GRIB_V, 0},
                                    {11, PAPPUS_GRIB_TEMPERATURE, 0}, {7, PAPPUS_GRIB_HEIGHT, 0},
                                    {6, PAPPUS_GRIB_GEOPOTENTIAL, 0}, {0, PAPPUS_GRIB_OTHER, 0}};
static const parameter1 ncep_more[] = {{180, PAPPUS_GRIB_GUST, 0}, {0, PAPPUS_GRIB_OTHER, 0}};
/* ECMWF's winds near the ground stand at the surface by their level. */
static const parameter1 ecmwf[] = {{131, PAPPUS_GRIB_U, 0},
                                   {132, PAPPUS_GRIB_V, 0},
                                   {130, PAPPUS_GRIB_TEMPERATURE, 0},
                                   {156, PAPPUS_GRIB_HEIGHT, 0},
                                   {129, PAPPUS_GRIB_GEOPOTENTIAL, 0},
                                   {165, PAPPUS_GRIB_U, 10},
                                   {166, PAPPUS_GRIB_V, 10},
                                   {49, PAPPUS_GRIB_GUST, 10},
                                   {0, PAPPUS_GRIB_OTHER, 0}};
static const parameter1 ecmwf_more[] = {{246, PAPPUS_GRIB_U, 100},
                                        {247, PAPPUS_GRIB_V, 100},
                                        {29, PAPPUS_GRIB_GUST, 10},
                                        {0, PAPPUS_GRIB_OTHER, 0}};

static const parameter1 *find1(const parameter1 *known, int parameter)
{
    while (known->parameter != 0 && known->parameter != parameter)
        known++;
    return known;
}

static const parameter1 *parameter_of(int table, int centre, int parameter)
{
    if (centre == CENTRE_ECMWF && table == TABLE_ECMWF) return find1(ecmwf, parameter);
    if (centre == CENTRE_ECMWF && table == TABLE_ECMWF_MORE) return find1(ecmwf_more, parameter);
    if (centre == CENTRE_NCEP && table < 128 && parameter >= 128)
        return find1(ncep_more, parameter);
    bool like_common =
        table < 128 || table == TABLE_HIRLAM || (centre == CENTRE_JMA && table == TABLE_JMA);
    return find1(common, like_common ? parameter : 0);
}

static void what1(pappus_grib_field *field, const unsigned char *product)
{
    const parameter1 *known = parameter_of(product[3], product[4], product[8]);
    int type = product[9];
    field->element = known->element;
    field->level_kind = type == 100 || type == 210 ? PAPPUS_GRIB_ISOBARIC
                        : type == 105              ? PAPPUS_GRIB_ABOVE_GROUND
                        : type == 1                ? PAPPUS_GRIB_SURFACE
                                                   : PAPPUS_GRIB_NO_LEVEL;
    if (field->level_kind != PAPPUS_GRIB_SURFACE) field->level = grib_number(product, 11, 2);
    if (type == 100) field->level *= 100.0; /* hPa; of 210 Pa */
    if (known->level_m > 0.0) {
        field->level_kind = PAPPUS_GRIB_ABOVE_GROUND;
        field->level = known->level_m;
    }
}

static int member1(const unsigned char *product, size_t length, int centre)
{
    enum { ENSEMBLE = 1, NEGATIVE = 2 };
    if (centre == CENTRE_NCEP && length >= 43 && product[40] == ENSEMBLE)
        return product[42] + (product[41] == NEGATIVE ? PAPPUS_GRIB_PAIR_OFFSET : 0);
    if (centre == CENTRE_ECMWF && length >= 51 && product[40] == 1 && product[50] > 0)
        return product[49];
    return -1;
}

/* Code table 4. */
static double step_seconds(int unit)
{
    static const struct {
        int code;
        double seconds;
    } units[] = {{0, 60},     {1, 3600}, {2, 86400}, {10, 10800}, {11, 21600},
                 {12, 43200}, {13, 900}, {14, 1800}, {254, 1}};
    for (size_t i = 0; i < sizeof units / sizeof *units; i++)
        if (units[i].code == unit) return units[i].seconds;
    return NAN;
}

/* Octets 18 to 21: a time, or a span over which something was made of it. */
static void times1(pappus_grib_field *field, const unsigned char *product)
{
    enum { AT_P1 = 0, ANALYSIS = 1, OVER_P1_P2 = 2, AT_LONG_P1 = 10 };
    int range = product[20];
    int year = 100 * (product[24] - 1) + product[12];
    bool gust = field->element == PAPPUS_GRIB_GUST && range == OVER_P1_P2;
    double steps = range == AT_LONG_P1 ? grib_number(product, 19, 2)
                   : gust              ? product[19]
                                       : product[18];
    field->issued_utc_s =
        pappus_time_of(year, product[13], product[14], product[15], product[16], 0.0);
    field->instant = range == AT_P1 || range == ANALYSIS || range == AT_LONG_P1 || gust;
    field->valid_utc_s = range == ANALYSIS
                             ? field->issued_utc_s
                             : field->issued_utc_s + steps * step_seconds(product[17]);
}

bool pappus_grib1_product(pappus_grib_field *out, const unsigned char *section, size_t length)
{
    if (length < 28) return false;
    *out = (pappus_grib_field){.edition = 1};
    what1(out, section);
    times1(out, section);
    out->member = member1(section, length, section[4]);
    return true;
}

static void read_plane1(pappus_grib_grid *grid, const unsigned char *section)
{
    if (grid->projection == PAPPUS_GRIB_MERCATOR) {
        grid->true_latitude_deg[0] = 1e-3 * grib_signed(section, 24, 3);
        grid->step_x = grib_given(section, 29, 3, 1.0);
        grid->step_y = grib_given(section, 32, 3, 1.0);
        return;
    }
    grid->meridian_deg = 1e-3 * grib_signed(section, 18, 3);
    grid->step_x = grib_given(section, 21, 3, 1.0);
    grid->step_y = grib_given(section, 24, 3, 1.0);
    grid->south = section[26] & 0x80;
    grid->true_latitude_deg[0] = grid->true_latitude_deg[1] = grid->south ? -60.0 : 60.0;
    if (grid->projection == PAPPUS_GRIB_LAMBERT)
        for (size_t i = 0; i < 2; i++)
            grid->true_latitude_deg[i] = 1e-3 * grib_signed(section, 29 + 3 * i, 3);
}

static void read_degrees1(pappus_grib_grid *grid, const unsigned char *section)
{
    grid->last_latitude_deg = 1e-3 * grib_signed(section, 18, 3);
    grid->last_longitude_deg = 1e-3 * grib_signed(section, 21, 3);
    grid->step_x = grib_given(section, 24, 2, 1e-3);
    if (grid->projection == PAPPUS_GRIB_GAUSSIAN)
        grid->gaussian_n = (int)grib_number(section, 26, 2);
    else
        grid->step_y = grib_given(section, 26, 2, 1e-3);
}

bool pappus_grib1_grid(pappus_grib_grid *grid, const unsigned char *section, size_t length)
{
    if (length < 28) return false;
    pappus_grib_grid_begin(grid, grids1, section[5], section, length);
    if (grid->projection == PAPPUS_GRIB_UNKNOWN_GRID) return true;
    grid->width = (int)grib_number(section, 7, 2);
    grid->height = (int)grib_number(section, 9, 2);
    grid->reduced = grid->width == 0xFFFF;
    grid->first_latitude_deg = 1e-3 * grib_signed(section, 11, 3);
    grid->first_longitude_deg = 1e-3 * grib_signed(section, 14, 3);
    pappus_grib_grid_flags(grid, section[16], section[27]);
    bool oblate = section[16] & 0x40;
    grid->equator_m = oblate ? 6378160.0 : 6367470.0;
    grid->pole_m = oblate ? 6356775.0 : 6367470.0;
    if (grid->projection == PAPPUS_GRIB_LATLON || grid->projection == PAPPUS_GRIB_GAUSSIAN)
        read_degrees1(grid, section);
    else
        read_plane1(grid, section);
    return true;
}
