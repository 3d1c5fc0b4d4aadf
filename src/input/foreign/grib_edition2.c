/* SPDX-License-Identifier: GPL-3.0-or-later
 * Sections of GRIB edition 2 (WMO Manual on Codes, WMO-No. 306, volume I.2, FM 92 GRIB, and its
 * code tables): identification (1), grid (3), product (4). */
#include "grib_sections.h"

#include "timestamp.h"

#include <math.h>
#include <string.h>

static const pappus_grib_grid_kind grids2[PAPPUS_GRIB_GRID_KINDS] = {{0, PAPPUS_GRIB_LATLON, 72},
                                                                     {40, PAPPUS_GRIB_GAUSSIAN, 72},
                                                                     {10, PAPPUS_GRIB_MERCATOR, 72},
                                                                     {20, PAPPUS_GRIB_POLAR, 65},
                                                                     {30, PAPPUS_GRIB_LAMBERT, 81}};

/* Code table 3.2; a radius that is given wrongly or not at all is the model's usual one. */
static void read_earth2(pappus_grib_grid *grid, const unsigned char *section)
{
    static const struct {
        int shape;
        double equator_m, pole_m;
    } known[] = {{0, 6367470.0, 6367470.0},    {2, 6378160.0, 6356775.0},
                 {4, 6378137.0, 6356752.314},  {5, 6378137.0, 6356752.3142},
                 {6, 6371229.0, 6371229.0},    {8, 6371200.0, 6371200.0},
                 {9, 6377563.396, 6356256.909}};
    int shape = section[14];
    grid->equator_m = grid->pole_m = 6371229.0;
    for (size_t i = 0; i < sizeof known / sizeof *known; i++) {
        if (known[i].shape != shape) continue;
        grid->equator_m = known[i].equator_m;
        grid->pole_m = known[i].pole_m;
    }
    if (shape == 1)
        grid->equator_m = grid->pole_m =
            grib_number(section, 17, 4) * pow(10.0, -(double)section[15]);
    if (shape == 3 || shape == 7) {
        double unit = shape == 3 ? 1000.0 : 1.0;
        grid->equator_m = unit * grib_number(section, 22, 4) * pow(10.0, -(double)section[20]);
        grid->pole_m = unit * grib_number(section, 27, 4) * pow(10.0, -(double)section[25]);
    }
}

/* Degrees of one step of an angle: a millionth, or what the grid says. */
static double angle_unit(const unsigned char *section)
{
    uint32_t basic = grib_number(section, 39, 4), parts = grib_number(section, 43, 4);
    bool said = basic != 0 && basic != UINT32_MAX && parts != 0 && parts != UINT32_MAX;
    return said ? (double)basic / (double)parts : 1e-6;
}

static void read_degrees2(pappus_grib_grid *grid, const unsigned char *section)
{
    double unit = angle_unit(section);
    grid->first_latitude_deg = unit * grib_signed(section, 47, 4);
    grid->first_longitude_deg = unit * grib_signed(section, 51, 4);
    pappus_grib_grid_flags(grid, section[54], section[71]);
    grid->last_latitude_deg = unit * grib_signed(section, 56, 4);
    grid->last_longitude_deg = unit * grib_signed(section, 60, 4);
    grid->step_x = grib_given(section, 64, 4, unit);
    if (grid->projection == PAPPUS_GRIB_GAUSSIAN)
        grid->gaussian_n = (int)grib_number(section, 68, 4);
    else
        grid->step_y = grib_given(section, 68, 4, unit);
}

static void read_plane2(pappus_grib_grid *grid, const unsigned char *section)
{
    grid->first_latitude_deg = 1e-6 * grib_signed(section, 39, 4);
    grid->first_longitude_deg = 1e-6 * grib_signed(section, 43, 4);
    grid->true_latitude_deg[0] = grid->true_latitude_deg[1] = 1e-6 * grib_signed(section, 48, 4);
    if (grid->projection == PAPPUS_GRIB_MERCATOR) {
        pappus_grib_grid_flags(grid, section[46], section[59]);
        if (grib_number(section, 61, 4) != 0) grid->projection = PAPPUS_GRIB_UNKNOWN_GRID;
        grid->step_x = grib_given(section, 65, 4, 1e-3);
        grid->step_y = grib_given(section, 69, 4, 1e-3);
        return;
    }
    pappus_grib_grid_flags(grid, section[46], section[64]);
    grid->meridian_deg = 1e-6 * grib_signed(section, 52, 4);
    grid->step_x = grib_given(section, 56, 4, 1e-3);
    grid->step_y = grib_given(section, 60, 4, 1e-3);
    grid->south = section[63] & 0x80;
    if (grid->projection == PAPPUS_GRIB_LAMBERT)
        for (size_t i = 0; i < 2; i++)
            grid->true_latitude_deg[i] = 1e-6 * grib_signed(section, 66 + 4 * i, 4);
}

bool pappus_grib2_grid(pappus_grib_grid *grid, const unsigned char *section, size_t length)
{
    if (length < 14) return false;
    pappus_grib_grid_begin(grid, grids2, (int)grib_number(section, 13, 2), section, length);
    if (grid->projection == PAPPUS_GRIB_UNKNOWN_GRID) return true;
    grid->reduced = section[10] != 0 || grib_number(section, 31, 4) == UINT32_MAX;
    grid->width = (int)grib_number(section, 31, 4);
    grid->height = (int)grib_number(section, 35, 4);
    read_earth2(grid, section);
    if (grid->projection == PAPPUS_GRIB_LATLON || grid->projection == PAPPUS_GRIB_GAUSSIAN)
        read_degrees2(grid, section);
    else
        read_plane2(grid, section);
    return true;
}

/* ---------------------------------------------------------------- the product */

bool pappus_grib2_issued(double *utc_s, const unsigned char *section, size_t length)
{
    if (length < 21) return false;
    *utc_s = pappus_time_of((int)grib_number(section, 13, 2), section[14], section[15], section[16],
                            section[17], section[18]);
    return true;
}

static pappus_grib_element element2(int discipline, int category, int parameter)
{
    if (discipline != 0) return PAPPUS_GRIB_OTHER;
    if (category == 0 && parameter == 0) return PAPPUS_GRIB_TEMPERATURE;
    if (category == 2 && parameter == 2) return PAPPUS_GRIB_U;
    if (category == 2 && parameter == 3) return PAPPUS_GRIB_V;
    if (category == 3 && parameter == 5) return PAPPUS_GRIB_HEIGHT;
    if (category == 3 && parameter == 4) return PAPPUS_GRIB_GEOPOTENTIAL;
    if (category == 2 && parameter == 22) return PAPPUS_GRIB_GUST;
    return PAPPUS_GRIB_OTHER;
}

/* A layer between two levels is none. */
static pappus_grib_level level2(const unsigned char *section)
{
    enum { NONE = 255 };
    int type = section[22];
    bool layer =
        section[28] != NONE && (section[28] != type || memcmp(section + 23, section + 29, 5) != 0);
    return layer         ? PAPPUS_GRIB_NO_LEVEL
           : type == 100 ? PAPPUS_GRIB_ISOBARIC
           : type == 103 ? PAPPUS_GRIB_ABOVE_GROUND
           : type == 1   ? PAPPUS_GRIB_SURFACE
                         : PAPPUS_GRIB_NO_LEVEL;
}

static int member2(const unsigned char *section)
{
    enum { NEGATIVE = 2 };
    return section[35] + (section[34] == NEGATIVE ? PAPPUS_GRIB_PAIR_OFFSET : 0);
}

/* Code table 4.4. */
static double step_seconds(int unit)
{
    static const struct {
        int code;
        double seconds;
    } units[] = {{0, 60}, {1, 3600}, {2, 86400}, {10, 10800}, {11, 21600}, {12, 43200}, {13, 1}};
    for (size_t i = 0; i < sizeof units / sizeof *units; i++)
        if (units[i].code == unit) return units[i].seconds;
    return NAN;
}

/* What is understood of products: a forecast at a time, and what was the greatest over a span
 * of time (of a gust). `more` octets tell the member. */
static const struct product {
    int code;
    bool member, span;
    size_t least;
} products[] = {{0, false, false, 34},
                {1, true, false, 37},
                {8, false, true, 58},
                {11, true, true, 61},
                {60, true, false, 44}};

static const struct product *product_of(int code)
{
    for (size_t i = 0; i < sizeof products / sizeof *products; i++)
        if (products[i].code == code) return &products[i];
    return NULL;
}

/* The greatest over a span that ends at a time; anything else over a span is not of use. */
static void read_span(pappus_grib_field *field, const unsigned char *section, size_t end)
{
    enum { MAXIMUM = 2 };
    field->instant = field->element == PAPPUS_GRIB_GUST && section[end + 11] == MAXIMUM;
    field->valid_utc_s =
        pappus_time_of((int)grib_number(section, end, 2), section[end + 1], section[end + 2],
                       section[end + 3], section[end + 4], section[end + 5]);
}

bool pappus_grib2_product(pappus_grib_field *field, int discipline, double issued_utc_s,
                          const unsigned char *section, size_t length)
{
    if (length < 9) return false;
    const struct product *product = product_of((int)grib_number(section, 8, 2));
    *field = (pappus_grib_field){
        .edition = 2, .member = -1, .issued_utc_s = issued_utc_s, .valid_utc_s = NAN};
    if (!product) return true;
    if (length < product->least) return false;
    field->instant = true;
    field->element = element2(discipline, section[9], section[10]);
    field->level_kind = level2(section);
    if (field->level_kind != PAPPUS_GRIB_SURFACE)
        field->level = grib_signed(section, 25, 4) * pow(10.0, -grib_signed(section, 24, 1));
    field->valid_utc_s = issued_utc_s + grib_signed(section, 19, 4) * step_seconds(section[17]);
    if (product->member) field->member = member2(section);
    if (product->span) read_span(field, section, product->member ? 38 : 35);
    return true;
}
