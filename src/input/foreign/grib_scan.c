/* SPDX-License-Identifier: GPL-3.0-or-later
 * The messages of a GRIB file, editions 1 and 2 (WMO Manual on Codes, WMO-No. 306, volume I.2,
 * FM 92), and where the sections of each field are. What the sections say: grib_edition1.c,
 * grib_edition2.c. Packed values are not touched.
 *
 * A message of edition 2 may hold several fields: each data section ends one, and what is not
 * repeated holds on. Octets are numbered from 1 as in the manual. */
#include "grib_scan.h"

#include "error.h"
#include "grib_sections.h"
#include "grow.h"

#include <errno.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define HEAD_BYTES 16
#define SECTION_MAX (1u << 20) /* of a section that is read; grids with lists are long */
#define SEARCH_BYTES 4096      /* between messages: headings of a bulletin, padding */
#define MESSAGE_SEARCH_START 512

typedef struct {
    FILE *file;
    pappus_grib_fields *out;
    int discipline;
    double issued_utc_s;
    pappus_grib_grid grid;
    bool has_grid;
    pappus_grib_field field; /* of the product section that was read last */
    bool has_product;
    pappus_grib_packed packed; /* of the message at hand, as far as it is read */
    bool cut;                  /* a message begins and does not go on */
    const char *fault;
} scan;

/* ---------------------------------------------------------------- the fields */

static uint64_t digest(const unsigned char *bytes, size_t length)
{
    uint64_t hash = 14695981039346656037u; /* FNV-1a, 64 bit */
    for (size_t i = 0; i < length; i++)
        hash = (hash ^ bytes[i]) * 1099511628211u;
    return hash;
}

void pappus_grib_grid_begin(pappus_grib_grid *grid,
                            const pappus_grib_grid_kind kinds[PAPPUS_GRIB_GRID_KINDS], int code,
                            const unsigned char *section, size_t length)
{
    *grid = (pappus_grib_grid){.code = code, .digest = digest(section, length)};
    grid->last_latitude_deg = grid->last_longitude_deg = grid->step_x = grid->step_y = NAN;
    for (size_t i = 0; i < PAPPUS_GRIB_GRID_KINDS; i++)
        if (kinds[i].code == code && length >= kinds[i].least)
            grid->projection = kinds[i].projection;
}

void pappus_grib_grid_flags(pappus_grib_grid *grid, unsigned components, unsigned scanning)
{
    enum { ALONG_GRID = 0x08 };
    grid->wind_along_grid = components & ALONG_GRID;
    grid->westward = scanning & 0x80;
    grid->northward = scanning & 0x40;
    grid->columns_first = scanning & 0x20;
    grid->turns = scanning & 0x10;
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
    s->field.packed = s->packed;
    s->packed.part++;
    out->fields[out->count++] = s->field;
    return true;
}

/* -------------------------------------------------------------- edition 2 */

static bool read_section2(scan *s, int which, const unsigned char *section, size_t length)
{
    switch (which) {
    case 1:
        return pappus_grib2_issued(&s->issued_utc_s, section, length);
    case 3:
        s->has_grid = true;
        return pappus_grib2_grid(&s->grid, section, length);
    case 4:
        s->has_product = true;
        return pappus_grib2_product(&s->field, s->discipline, s->issued_utc_s, section, length);
    default:
        if (length < 11) return false;
        s->packed.template = (int)grib_number(section, 10, 2);
        return true;
    }
}

/* True for one that is read; the others are passed over. */
static bool matters2(int section)
{
    return section == 1 || section == 3 || section == 4 || section == 5;
}

/* Where the sections of the packed values are. */
static void note_place2(scan *s, int which, off_t at)
{
    if (which == 5) s->packed.how_at = at;
    if (which == 6) s->packed.bitmap_at = at;
    if (which == 7) s->packed.data_at = at;
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
    uint64_t length = (uint64_t)grib_number(head, 9, 4) << 32 | grib_number(head, 13, 4);
    uint64_t at = HEAD_BYTES;
    s->discipline = head[6];
    s->has_grid = s->has_product = false;
    s->packed = (pappus_grib_packed){.message_at = ftello(s->file) - HEAD_BYTES,
                                     .message_bytes = (int64_t)length};
    while (at + 4 < length) {
        unsigned char start[5];
        if (fread(start, 1, 5, s->file) != 5) return false;
        uint32_t size = grib_number(start, 1, 4);
        if (size < 5 || at + size + 4 > length) return false;
        note_place2(s, start[4], s->packed.message_at + (off_t)at);
        if (matters2(start[4]) ? !take_section2(s, start[4], size) : !pass(s, size - 5))
            return false;
        if (start[4] == 7 && (!s->has_grid || !s->has_product || !keep_field(s))) return false;
        at += size;
    }
    unsigned char end[4];
    return fread(end, 1, 4, s->file) == 4 && memcmp(end, "7777", 4) == 0;
}

/* -------------------------------------------------------------- edition 1 */

static bool read_product1(scan *s, const unsigned char *section, size_t length)
{
    return pappus_grib1_product(&s->field, section, length);
}

static bool read_grid1(scan *s, const unsigned char *section, size_t length)
{
    return pappus_grib1_grid(&s->grid, section, length);
}

/* Reads one section, whose length is in its first three octets, of the rest of a message. */
static bool take_section1(scan *s, uint64_t *left,
                          bool (*reader)(scan *, const unsigned char *, size_t),
                          unsigned char *flags)
{
    unsigned char start[3], *section;
    if (fread(start, 1, 3, s->file) != 3) return false;
    uint32_t length = grib_number(start, 1, 3);
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
    uint64_t length = grib_number(head, 5, 3), left;
    unsigned char flags = 0, ignored, end[4];
    if (length < 8 + 28 + 4) return false;
    left = length - 8 - 4;
    s->grid = (pappus_grib_grid){.code = -1};
    s->packed = (pappus_grib_packed){.message_at = ftello(s->file) - HEAD_BYTES,
                                     .message_bytes = (int64_t)length};
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
