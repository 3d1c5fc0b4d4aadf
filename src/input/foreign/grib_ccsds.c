/* SPDX-License-Identifier: GPL-3.0-or-later
 * Data representation template 5.42 of GRIB 2 (WMO Manual on Codes): integers packed by the
 * lossless compression of CCSDS 121.0-B, which libaec undoes; a value is
 * (R + X * 2^E) / 10^D. A bitmap (section 6) leaves points without a value out; one of an
 * earlier field of the message may hold on.
 *
 * The whole field is unpacked for its four points: good for files of some thousand fields. */
#include "grib_ccsds.h"

#include "grib_sections.h"

#include <libaec.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define CORNERS PAPPUS_GRIB_CORNERS
#define HOW_BYTES 25
#define MOST_BITS 32
#define MOST_POINTS 100000000u

typedef struct {
    FILE *file;
    const pappus_grib_fields *fields;
    size_t field;
    unsigned char how[HOW_BYTES]; /* section 5 */
    size_t points;                /* that have a value */
    unsigned char *bitmap;        /* NULL: every point has one */
    size_t bitmap_bits;
    unsigned char *numbers; /* X, `width` bytes each in the machine's order */
    size_t width;
} unpacking;

static bool read_at(unpacking *u, int64_t at, void *to, size_t bytes)
{
    return at > 0 && fseeko(u->file, (off_t)at, SEEK_SET) == 0 &&
           fread(to, 1, bytes, u->file) == bytes;
}

/* What follows the head of a section; the caller frees. */
static unsigned char *read_body(unpacking *u, int64_t at, size_t head, size_t *bytes)
{
    unsigned char start[6];
    *bytes = 0;
    if (head > sizeof start || !read_at(u, at, start, head)) return NULL;
    size_t length = grib_number(start, 1, 4);
    if (length < head) return NULL;
    *bytes = length - head;
    unsigned char *body = malloc(*bytes + 1);
    if (body && fread(body, 1, *bytes, u->file) == *bytes) return body;
    free(body);
    return NULL;
}

/* The bitmap that holds for the field; false when there should be one and is not. */
static bool read_bitmap(unpacking *u)
{
    enum { FOLLOWS = 0, AS_BEFORE = 254, NONE = 255 };
    const pappus_grib_packed *own = &u->fields->fields[u->field].packed;
    for (size_t i = u->field + 1; i-- > 0;) {
        const pappus_grib_packed *packed = &u->fields->fields[i].packed;
        unsigned char start[6];
        size_t bytes;
        if (packed->message_at != own->message_at) return false;
        if (!read_at(u, packed->bitmap_at, start, sizeof start)) return false;
        if (start[5] == NONE && i == u->field) return true;
        if (start[5] == AS_BEFORE) continue;
        if (start[5] != FOLLOWS) return false;
        u->bitmap = read_body(u, packed->bitmap_at, sizeof start, &bytes);
        u->bitmap_bits = 8 * bytes;
        return u->bitmap != NULL;
    }
    return false;
}

/* Undoes the compression of `bits` a number. */
static bool unpack(unpacking *u, int bits)
{
    size_t bytes;
    unsigned char *packed = read_body(u, u->fields->fields[u->field].packed.data_at, 5, &bytes);
    u->width = bits > 16 ? 4 : bits > 8 ? 2 : 1;
    u->numbers = packed ? calloc(u->points + 1, u->width) : NULL;
    struct aec_stream stream = {.next_in = packed,
                                .avail_in = bytes,
                                .next_out = u->numbers,
                                .avail_out = u->points * u->width,
                                .bits_per_sample = (unsigned)bits,
                                .block_size = u->how[22],
                                .rsi = grib_number(u->how, 24, 2),
                                .flags = u->how[21] & ~(unsigned)(AEC_DATA_3BYTE | AEC_DATA_MSB)};
#if __BYTE_ORDER__ == __ORDER_BIG_ENDIAN__
    stream.flags |= AEC_DATA_MSB;
#endif
    bool good = u->numbers && aec_buffer_decode(&stream) == AEC_OK &&
                stream.total_out == u->points * u->width;
    free(packed);
    return good;
}

static double value_at(const unpacking *u, size_t point)
{
    uint32_t raw = 0, reference_bits = grib_number(u->how, 12, 4);
    float reference;
    memcpy(&reference, &reference_bits, sizeof reference);
    if (point >= u->points) return NAN;
    if (u->width == 4) memcpy(&raw, u->numbers + 4 * point, 4);
    if (u->width == 2) {
        uint16_t half;
        memcpy(&half, u->numbers + 2 * point, 2);
        raw = half;
    }
    if (u->width == 1) raw = u->numbers[point];
    return ((double)reference + raw * exp2(grib_signed(u->how, 16, 2))) *
           pow(10.0, -grib_signed(u->how, 18, 2));
}

static bool has_value(const unpacking *u, size_t i)
{
    return i < u->bitmap_bits && (u->bitmap[i / 8] >> (7 - i % 8) & 1);
}

/* Of those with a value, the number of the one at a place in the order of the file. */
static double value_of(const unpacking *u, size_t index)
{
    size_t point = 0;
    if (!u->bitmap) return value_at(u, index);
    if (!has_value(u, index)) return NAN;
    for (size_t i = 0; i < index; i++)
        point += has_value(u, i);
    return value_at(u, point);
}

/* The order of the file (flag table 3.4) of a point of a raster from the north-west. */
static size_t order_of(const pappus_grib_grid *grid, int column, int row)
{
    size_t width = (size_t)grid->width, height = (size_t)grid->height;
    size_t i = grid->westward ? width - 1 - (size_t)column : (size_t)column;
    size_t j = grid->northward ? height - 1 - (size_t)row : (size_t)row;
    if (grid->columns_first) return i * height + (grid->turns && i % 2 ? height - 1 - j : j);
    return j * width + (grid->turns && j % 2 ? width - 1 - i : i);
}

static bool read_field(unpacking *u)
{
    const pappus_grib_field *field = &u->fields->fields[u->field];
    if (!read_at(u, field->packed.how_at, u->how, sizeof u->how)) return false;
    if (grib_number(u->how, 1, 4) < HOW_BYTES) return false;
    u->points = grib_number(u->how, 6, 4);
    int bits = u->how[19];
    if (u->points > MOST_POINTS || bits > MOST_BITS || !read_bitmap(u)) return false;
    if (!u->bitmap && u->points < (size_t)field->grid.width * (size_t)field->grid.height)
        return false;
    return bits == 0 || unpack(u, bits);
}

bool pappus_grib_ccsds_corners(double values[CORNERS], const char *path,
                               const pappus_grib_fields *fields, size_t field,
                               const pappus_grib_place *place)
{
    unpacking u = {.file = fopen(path, "rb"), .fields = fields, .field = field};
    bool good = u.file && read_field(&u);
    for (int i = 0; good && i < CORNERS; i++)
        values[i] = value_of(
            &u, order_of(&fields->fields[field].grid, place->column[i % 2], place->row[i / 2]));
    if (u.file) fclose(u.file);
    free(u.bitmap);
    free(u.numbers);
    return good;
}
