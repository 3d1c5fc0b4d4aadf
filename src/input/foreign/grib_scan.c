/* SPDX-License-Identifier: GPL-3.0-or-later
 * Sections of GRIB, editions 1 and 2 (WMO Manual on Codes, WMO-No. 306, volume I.2, FM 92).
 *
 * Only what a wind profile needs is understood: parameter, level, times, member, the kind
 * of grid and the flag by which winds are along the grid. Packed values are not touched.
 * Octets are numbered from 1 as in the manual. A message of edition 2 may hold several
 * fields: each data section ends one, and what is not repeated holds on.
 *
 * Edition 1 shows no member in its own sections; those of centres 7 (octets 41 to 43 of the
 * product section) and 98 (local definition, octet 50) are known. */
#include "grib_scan.h"

#include "error.h"
#include "grow.h"
#include "timestamp.h"

#include <errno.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define HEAD_BYTES 16
#define SECTION_MAX (1u << 20) /* of a section that is read; grids with lists are long */
#define SEARCH_BYTES 4096      /* between messages: headings of a bulletin, padding */
#define MESSAGE_SEARCH_START 512
#define CENTRE_NCEP 7
#define CENTRE_ECMWF 98
#define FLAG_ALONG_GRID 0x08

typedef struct {
    FILE *file;
    pappus_grib_fields *out;
    int discipline;
    double issued_utc_s;
    pappus_grib_grid grid;
    bool has_grid;
    pappus_grib_field field; /* of the product section that was read last */
    bool has_product;
    bool cut; /* a message begins and does not go on */
    const char *fault;
} scan;

/* ---------------------------------------------------------------- octets */

/* octets first to last, from 1, as the manual counts them */
static uint32_t number(const unsigned char *section, size_t first, size_t octets)
{
    uint32_t value = 0;
    for (size_t i = 0; i < octets; i++)
        value = value << 8 | section[first - 1 + i];
    return value;
}

/* The first bit is the sign. */
static double signed_number(const unsigned char *section, size_t first, size_t octets)
{
    uint32_t raw = number(section, first, octets), sign = 1u << (8 * octets - 1);
    return raw & sign ? -(double)(raw & ~sign) : (double)raw;
}

static uint64_t digest(const unsigned char *bytes, size_t length)
{
    uint64_t hash = 14695981039346656037u; /* FNV-1a, 64 bit */
    for (size_t i = 0; i < length; i++)
        hash = (hash ^ bytes[i]) * 1099511628211u;
    return hash;
}

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

static bool keep_field(scan *s)
{
    pappus_grib_fields *out = s->out;
    if (!PAPPUS_GROW(out->fields, &out->capacity, out->count + 1)) {
        s->fault = NULL;
        return false;
    }
    if (out->count >= PAPPUS_GRIB_MAX_FIELDS) {
        s->fault = "more than 200000 fields";
        return false;
    }
    s->field.grid = s->grid;
    out->fields[out->count++] = s->field;
    return true;
}

/* -------------------------------------------------------------- edition 2 */

typedef struct {
    int code;
    pappus_grib_projection projection;
    size_t least; /* octets needed */
} grid_kind;

static const grid_kind grids2[] = {{0, PAPPUS_GRIB_LATLON, 72},
                                   {40, PAPPUS_GRIB_GAUSSIAN, 72},
                                   {10, PAPPUS_GRIB_MERCATOR, 72},
                                   {20, PAPPUS_GRIB_POLAR, 65},
                                   {30, PAPPUS_GRIB_LAMBERT, 81}};
static const grid_kind grids1[] = {{0, PAPPUS_GRIB_LATLON, 28},
                                   {4, PAPPUS_GRIB_GAUSSIAN, 28},
                                   {1, PAPPUS_GRIB_MERCATOR, 34},
                                   {5, PAPPUS_GRIB_POLAR, 28},
                                   {3, PAPPUS_GRIB_LAMBERT, 34}};
#define GRID_KINDS 5

static void tell_grid(pappus_grib_grid *grid, const grid_kind kinds[GRID_KINDS], int code,
                      const unsigned char *section, size_t length)
{
    *grid = (pappus_grib_grid){.code = code, .digest = digest(section, length)};
    grid->last_latitude_deg = grid->last_longitude_deg = grid->step_x = grid->step_y = NAN;
    for (size_t i = 0; i < GRID_KINDS; i++)
        if (kinds[i].code == code && length >= kinds[i].least)
            grid->projection = kinds[i].projection;
}

static void tell_flags(pappus_grib_grid *grid, unsigned components, unsigned scanning)
{
    grid->wind_along_grid = components & FLAG_ALONG_GRID;
    grid->westward = scanning & 0x80;
    grid->northward = scanning & 0x40;
}

/* Code table 3.2; a radius that is given wrongly or not at all is the model's usual one. */
static void read_earth2(pappus_grib_grid *grid, const unsigned char *section)
{
    static const struct {
        int shape;
        double equator_m, pole_m;
    } known[] = {{0, 6367470.0, 6367470.0},   {2, 6378160.0, 6356775.0},
                 {4, 6378137.0, 6356752.314}, {5, 6378137.0, 6356752.3142},
                 {6, 6371229.0, 6371229.0},   {8, 6371200.0, 6371200.0}};
    int shape = section[14];
    grid->equator_m = grid->pole_m = 6371229.0;
    for (size_t i = 0; i < sizeof known / sizeof *known; i++) {
        if (known[i].shape != shape) continue;
        grid->equator_m = known[i].equator_m;
        grid->pole_m = known[i].pole_m;
    }
    if (shape == 1)
        grid->equator_m = grid->pole_m = number(section, 17, 4) * pow(10.0, -(double)section[15]);
    if (shape == 3 || shape == 7) {
        double unit = shape == 3 ? 1000.0 : 1.0;
        grid->equator_m = unit * number(section, 22, 4) * pow(10.0, -(double)section[20]);
        grid->pole_m = unit * number(section, 27, 4) * pow(10.0, -(double)section[25]);
    }
}

/* A length or an angle that may be missing (all bits set). */
static double given(const unsigned char *section, size_t first, size_t octets, double unit)
{
    uint32_t raw = number(section, first, octets);
    return raw == (uint32_t)(UINT64_MAX >> (64 - 8 * octets)) ? NAN : unit * raw;
}

static void read_degrees2(pappus_grib_grid *grid, const unsigned char *section)
{
    grid->first_latitude_deg = 1e-6 * signed_number(section, 47, 4);
    grid->first_longitude_deg = 1e-6 * signed_number(section, 51, 4);
    tell_flags(grid, section[54], section[71]);
    grid->last_latitude_deg = 1e-6 * signed_number(section, 56, 4);
    grid->last_longitude_deg = 1e-6 * signed_number(section, 60, 4);
    grid->step_x = given(section, 64, 4, 1e-6);
    if (grid->projection == PAPPUS_GRIB_GAUSSIAN)
        grid->gaussian_n = (int)number(section, 68, 4);
    else
        grid->step_y = given(section, 68, 4, 1e-6);
}

static void read_plane2(pappus_grib_grid *grid, const unsigned char *section)
{
    grid->first_latitude_deg = 1e-6 * signed_number(section, 39, 4);
    grid->first_longitude_deg = 1e-6 * signed_number(section, 43, 4);
    grid->true_latitude_deg[0] = grid->true_latitude_deg[1] = 1e-6 * signed_number(section, 48, 4);
    if (grid->projection == PAPPUS_GRIB_MERCATOR) {
        tell_flags(grid, section[46], section[59]);
        grid->step_x = given(section, 65, 4, 1e-3);
        grid->step_y = given(section, 69, 4, 1e-3);
        return;
    }
    tell_flags(grid, section[46], section[64]);
    grid->meridian_deg = 1e-6 * signed_number(section, 52, 4);
    grid->step_x = given(section, 56, 4, 1e-3);
    grid->step_y = given(section, 60, 4, 1e-3);
    grid->south = section[63] & 0x80;
    if (grid->projection == PAPPUS_GRIB_LAMBERT)
        for (size_t i = 0; i < 2; i++)
            grid->true_latitude_deg[i] = 1e-6 * signed_number(section, 66 + 4 * i, 4);
}

static bool read_grid2(scan *s, const unsigned char *section, size_t length)
{
    pappus_grib_grid *grid = &s->grid;
    if (length < 14) return false;
    tell_grid(grid, grids2, (int)number(section, 13, 2), section, length);
    s->has_grid = true;
    if (grid->projection == PAPPUS_GRIB_UNKNOWN_GRID) return true;
    grid->reduced = section[10] != 0 || number(section, 31, 4) == UINT32_MAX;
    grid->width = (int)number(section, 31, 4);
    grid->height = (int)number(section, 35, 4);
    read_earth2(grid, section);
    if (grid->projection == PAPPUS_GRIB_LATLON || grid->projection == PAPPUS_GRIB_GAUSSIAN)
        read_degrees2(grid, section);
    else
        read_plane2(grid, section);
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
    return PAPPUS_GRIB_OTHER;
}

static pappus_grib_level level2(int type)
{
    return type == 100   ? PAPPUS_GRIB_ISOBARIC
           : type == 103 ? PAPPUS_GRIB_ABOVE_GROUND
           : type == 1   ? PAPPUS_GRIB_SURFACE
                         : PAPPUS_GRIB_NO_LEVEL;
}

static int member2(const unsigned char *section)
{
    enum { NEGATIVE = 2 };
    return section[35] + (section[34] == NEGATIVE ? PAPPUS_GRIB_PAIR_OFFSET : 0);
}

/* Templates 4.0 (a forecast at a time) and 4.1 (one member of an ensemble). */
static bool read_product2(scan *s, const unsigned char *section, size_t length)
{
    pappus_grib_field *field = &s->field;
    if (length < 9) return false;
    int template = (int)number(section, 8, 2);
    bool member = template == 1;
    *field = (pappus_grib_field){.edition = 2, .member = -1, .issued_utc_s = s->issued_utc_s};
    s->has_product = true;
    field->valid_utc_s = NAN;
    if (template > 1) return true;
    if (length < (member ? 37u : 34u)) return false;
    field->instant = true;
    field->element = element2(s->discipline, section[9], section[10]);
    field->level_kind = level2(section[22]);
    field->level = signed_number(section, 25, 4) * pow(10.0, -signed_number(section, 24, 1));
    field->valid_utc_s =
        s->issued_utc_s + signed_number(section, 19, 4) * step_seconds(section[17]);
    if (member) field->member = member2(section);
    return true;
}

static bool read_section2(scan *s, int which, const unsigned char *section, size_t length)
{
    switch (which) {
    case 1:
        if (length < 21) return false;
        s->issued_utc_s = pappus_time_of((int)number(section, 13, 2), section[14], section[15],
                                         section[16], section[17], section[18]);
        return true;
    case 3:
        return read_grid2(s, section, length);
    default:
        return read_product2(s, section, length);
    }
}

/* True for one that is read; the others are passed over. */
static bool matters2(int section)
{
    return section == 1 || section == 3 || section == 4;
}

static bool pass(scan *s, uint64_t length)
{
    return fseeko(s->file, (off_t)length, SEEK_CUR) == 0;
}

static bool take_section2(scan *s, int which, uint32_t length)
{
    unsigned char *section = NULL;
    if (length > SECTION_MAX) return false;
    section = malloc(length);
    if (!section) return false;
    memset(section, 0, 5);
    bool good = fread(section + 5, 1, length - 5, s->file) == length - 5 &&
                read_section2(s, which, section, length);
    free(section);
    return good;
}

static bool scan_message2(scan *s, const unsigned char head[HEAD_BYTES])
{
    uint64_t length = (uint64_t)number(head, 9, 4) << 32 | number(head, 13, 4);
    uint64_t at = HEAD_BYTES;
    s->discipline = head[6];
    s->has_grid = s->has_product = false;
    while (at + 4 < length) {
        unsigned char start[5];
        if (fread(start, 1, 5, s->file) != 5) return false;
        uint32_t size = number(start, 1, 4);
        if (size < 5 || at + size + 4 > length) return false;
        if (matters2(start[4]) ? !take_section2(s, start[4], size) : !pass(s, size - 5))
            return false;
        if (start[4] == 7 && (!s->has_grid || !s->has_product || !keep_field(s))) return false;
        at += size;
    }
    unsigned char end[4];
    return fread(end, 1, 4, s->file) == 4 && memcmp(end, "7777", 4) == 0;
}

/* -------------------------------------------------------------- edition 1 */

/* WMO table 2 and its like (versions below 128), and ECMWF's table 128. */
static pappus_grib_element element1(int table, int centre, int parameter)
{
    static const struct {
        int parameter, ecmwf;
        pappus_grib_element element;
    } known[] = {{33, 131, PAPPUS_GRIB_U},
                 {34, 132, PAPPUS_GRIB_V},
                 {11, 130, PAPPUS_GRIB_TEMPERATURE},
                 {7, 156, PAPPUS_GRIB_HEIGHT},
                 {6, 129, PAPPUS_GRIB_GEOPOTENTIAL},
                 {33, 165, PAPPUS_GRIB_U},
                 {34, 166, PAPPUS_GRIB_V}};
    bool ecmwf = table == 128 && centre == CENTRE_ECMWF;
    if (table >= 128 && !ecmwf) return PAPPUS_GRIB_OTHER;
    for (size_t i = 0; i < sizeof known / sizeof *known; i++)
        if (parameter == (ecmwf ? known[i].ecmwf : known[i].parameter)) return known[i].element;
    return PAPPUS_GRIB_OTHER;
}

/* ECMWF's winds at 10 m stand at the surface by their level. */
static void level1(pappus_grib_field *field, const unsigned char *product, int centre)
{
    int type = product[9], parameter = product[8];
    field->level = number(product, 11, 2);
    field->level_kind = type == 100   ? PAPPUS_GRIB_ISOBARIC
                        : type == 105 ? PAPPUS_GRIB_ABOVE_GROUND
                        : type == 1   ? PAPPUS_GRIB_SURFACE
                                      : PAPPUS_GRIB_NO_LEVEL;
    if (field->level_kind == PAPPUS_GRIB_ISOBARIC) field->level *= 100.0;
    if (centre == CENTRE_ECMWF && product[3] == 128 && (parameter == 165 || parameter == 166)) {
        field->level_kind = PAPPUS_GRIB_ABOVE_GROUND;
        field->level = 10.0;
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

/* Octets 18 to 21: a time, or a span over which something was made of it. */
static void times1(pappus_grib_field *field, const unsigned char *product)
{
    enum { AT_P1 = 0, ANALYSIS = 1, AT_LONG_P1 = 10 };
    int range = product[20];
    int year = 100 * (product[24] - 1) + product[12];
    double steps = range == AT_LONG_P1 ? number(product, 19, 2) : product[18];
    field->issued_utc_s =
        pappus_time_of(year, product[13], product[14], product[15], product[16], 0.0);
    field->instant = range == AT_P1 || range == ANALYSIS || range == AT_LONG_P1;
    field->valid_utc_s = range == ANALYSIS
                             ? field->issued_utc_s
                             : field->issued_utc_s + steps * step_seconds(product[17]);
}

static bool read_product1(scan *s, const unsigned char *product, size_t length)
{
    if (length < 28) return false;
    int centre = product[4];
    s->field = (pappus_grib_field){.edition = 1};
    s->field.element = element1(product[3], centre, product[8]);
    level1(&s->field, product, centre);
    times1(&s->field, product);
    s->field.member = member1(product, length, centre);
    return true;
}

static void read_plane1(pappus_grib_grid *grid, const unsigned char *section)
{
    if (grid->projection == PAPPUS_GRIB_MERCATOR) {
        grid->true_latitude_deg[0] = 1e-3 * signed_number(section, 24, 3);
        grid->step_x = given(section, 29, 3, 1.0);
        grid->step_y = given(section, 32, 3, 1.0);
        return;
    }
    grid->meridian_deg = 1e-3 * signed_number(section, 18, 3);
    grid->step_x = given(section, 21, 3, 1.0);
    grid->step_y = given(section, 24, 3, 1.0);
    grid->south = section[26] & 0x80;
    grid->true_latitude_deg[0] = grid->true_latitude_deg[1] = grid->south ? -60.0 : 60.0;
    if (grid->projection == PAPPUS_GRIB_LAMBERT)
        for (size_t i = 0; i < 2; i++)
            grid->true_latitude_deg[i] = 1e-3 * signed_number(section, 29 + 3 * i, 3);
}

static void read_degrees1(pappus_grib_grid *grid, const unsigned char *section)
{
    grid->last_latitude_deg = 1e-3 * signed_number(section, 18, 3);
    grid->last_longitude_deg = 1e-3 * signed_number(section, 21, 3);
    grid->step_x = given(section, 24, 2, 1e-3);
    if (grid->projection == PAPPUS_GRIB_GAUSSIAN)
        grid->gaussian_n = (int)number(section, 26, 2);
    else
        grid->step_y = given(section, 26, 2, 1e-3);
}

static bool read_grid1(scan *s, const unsigned char *section, size_t length)
{
    pappus_grib_grid *grid = &s->grid;
    if (length < 28) return false;
    tell_grid(grid, grids1, section[5], section, length);
    if (grid->projection == PAPPUS_GRIB_UNKNOWN_GRID) return true;
    grid->width = (int)number(section, 7, 2);
    grid->height = (int)number(section, 9, 2);
    grid->reduced = grid->width == 0xFFFF;
    grid->first_latitude_deg = 1e-3 * signed_number(section, 11, 3);
    grid->first_longitude_deg = 1e-3 * signed_number(section, 14, 3);
    tell_flags(grid, section[16], section[27]);
    bool oblate = section[16] & 0x40;
    grid->equator_m = oblate ? 6378160.0 : 6367470.0;
    grid->pole_m = oblate ? 6356775.0 : 6367470.0;
    if (grid->projection == PAPPUS_GRIB_LATLON || grid->projection == PAPPUS_GRIB_GAUSSIAN)
        read_degrees1(grid, section);
    else
        read_plane1(grid, section);
    return true;
}

/* Reads one section, whose length is in its first three octets, of the rest of a message. */
static bool take_section1(scan *s, uint64_t *left,
                          bool (*reader)(scan *, const unsigned char *, size_t),
                          unsigned char *flags)
{
    unsigned char start[3], *section;
    if (fread(start, 1, 3, s->file) != 3) return false;
    uint32_t length = number(start, 1, 3);
    if (length < 3 || length > *left || length > SECTION_MAX) return false;
    section = calloc(1, length < 8 ? 8 : length);
    if (!section) return false;
    bool good =
        fread(section + 3, 1, length - 3, s->file) == length - 3 && reader(s, section, length);
    *flags = section[7];
    *left -= length;
    free(section);
    return good;
}

static bool scan_message1(scan *s, const unsigned char head[HEAD_BYTES])
{
    uint64_t length = number(head, 5, 3), left;
    unsigned char flags = 0, ignored, end[4];
    if (length < 8 + 28 + 4) return false;
    left = length - 8 - 4;
    s->grid = (pappus_grib_grid){.code = -1};
    if (fseeko(s->file, 8 - HEAD_BYTES, SEEK_CUR) != 0) return false;
    if (!take_section1(s, &left, read_product1, &flags)) return false;
    if ((flags & 0x80) && !take_section1(s, &left, read_grid1, &ignored)) return false;
    if (!pass(s, left) || fread(end, 1, 4, s->file) != 4 || memcmp(end, "7777", 4) != 0)
        return false;
    return keep_field(s);
}

/* ------------------------------------------------------------------- file */

bool pappus_grib_is(const char *bytes, size_t length)
{
    for (size_t i = 0; i + 8 <= length && i < MESSAGE_SEARCH_START; i++)
        if (memcmp(bytes + i, "GRIB", 4) == 0) return bytes[i + 7] == 1 || bytes[i + 7] == 2;
    return false;
}

/* Stands at the next message; false at the end of the file. */
static bool find_message(scan *s, unsigned char head[HEAD_BYTES])
{
    unsigned char window[SEARCH_BYTES];
    off_t at = ftello(s->file);
    size_t got = fread(window, 1, sizeof window, s->file);
    for (size_t i = 0; i + 4 <= got; i++) {
        if (memcmp(window + i, "GRIB", 4) != 0) continue;
        s->cut = fseeko(s->file, at + (off_t)i, SEEK_SET) != 0 ||
                 fread(head, 1, HEAD_BYTES, s->file) != HEAD_BYTES;
        return !s->cut;
    }
    return false;
}

static bool scan_message(scan *s, const unsigned char head[HEAD_BYTES])
{
    if (head[7] == 2) return scan_message2(s, head);
    if (head[7] == 1) return scan_message1(s, head);
    s->fault = "a GRIB message that is neither of edition 1 nor of edition 2";
    return false;
}

static bool scan_file(scan *s)
{
    unsigned char head[HEAD_BYTES];
    while (find_message(s, head))
        if (!scan_message(s, head)) return false;
    if (s->out->count == 0 && !s->cut) s->fault = "no GRIB message in it";
    return s->out->count > 0 && !s->cut && !ferror(s->file);
}

int pappus_grib_scan(pappus_grib_fields *out, const char *path, int code, pappus_error *err)
{
    *out = (pappus_grib_fields){0};
    scan s = {.file = fopen(path, "rb"),
              .out = out,
              .fault = "cut short or damaged; accepted are whole messages of GRIB 1 and 2"};
    if (!s.file)
        return pappus_fail(err, code, path, NULL, NULL, "cannot be opened: %s", strerror(errno));
    bool good = scan_file(&s);
    fclose(s.file);
    if (good) return PAPPUS_OK;
    char key[40];
    snprintf(key, sizeof key, "field %zu", out->count + 1);
    pappus_grib_fields_clear(out);
    if (!s.fault) return pappus_fail_memory(err);
    return pappus_fail(err, code, path, key, NULL, "%s", s.fault);
}

void pappus_grib_fields_clear(pappus_grib_fields *fields)
{
    free(fields->fields);
    *fields = (pappus_grib_fields){0};
}
