/* SPDX-License-Identifier: GPL-3.0-or-later
 * The header of a layer table. Where only blanks part its words, both ways of parting them
 * (at each blank, or at two and more) are tried, and the one counts by which every name is
 * known and every row has as many cells. */
#include "wind_header.h"

#include <stdint.h>
#include <stdio.h>
#include <string.h>

#define HEADER_LIMIT 2048

/* How many columns the header names and how many of them are known; csv stays as it is. */
static size_t count_known(const pappus_csv *csv, bool wide, size_t *count)
{
    char line[HEADER_LIMIT], why[PAPPUS_LAYER_WHY];
    size_t known = 0, length = (size_t)(csv->end - csv->at);
    pappus_csv copy = *csv;
    if (length >= sizeof line) length = sizeof line - 1;
    memcpy(line, csv->at, length);
    line[length] = '\0';
    copy.at = line;
    copy.end = line + length;
    copy.wide = wide;
    *count = pappus_csv_next(&copy) ? copy.cell_count : 0;
    for (size_t i = 0; i < *count; i++) {
        pappus_layer_column column;
        bool read = pappus_layer_column_read(&column, copy.cells[i], why);
        known += read && column.quantity != PAPPUS_LAYER_IGNORED;
    }
    return known;
}

/* Where blanks part the cells: whether only two or more do. Of both ways the one counts by
 * which all names are known and all rows have as many cells. */
static void settle_blanks(pappus_csv *csv)
{
    int best = -1;
    pappus_csv way = *csv;
    for (int wide = 0; csv->separator == ' ' && wide < 2; wide++) {
        size_t count, known = count_known(csv, wide, &count);
        way.wide = wide;
        int score = 2 * (count > 1 && known == count) + pappus_csv_is_even(&way);
        if (score <= best) continue;
        best = score;
        csv->wide = wide;
    }
}

/* The first line that is no comment names columns. A comma is enough for one that does; any
 * prose has the other separators, so two names must be known there. */
bool pappus_layer_probe(const char *text, size_t length)
{
    pappus_csv csv;
    size_t count;
    char *head = (char *)(uintptr_t)text; /* not written to */
    while (length > 0 && strchr("# \t\r\n", *head)) {
        const char *stop = *head == '#' ? memchr(head, '\n', length) : head;
        size_t n = stop ? (size_t)(stop - head) + 1 : length;
        head += n;
        length -= n;
    }
    if (length == 0) return false;
    pappus_csv_begin(&csv, head, length);
    return csv.separator == ',' || count_known(&csv, false, &count) > 1 ||
           count_known(&csv, true, &count) > 1;
}

bool pappus_layer_has(const pappus_layer_header *h, pappus_layer_quantity q)
{
    return h->where[q] >= 0;
}

const char *pappus_layer_name(const pappus_layer_header *h, pappus_layer_quantity q)
{
    return pappus_layer_has(h, q) ? h->columns[h->where[q]].name : NULL;
}

static int read_column(pappus_layer_header *h, size_t i, const char *name, size_t row,
                       pappus_wind_reading *reading)
{
    pappus_layer_column *column = &h->columns[i];
    char why[PAPPUS_LAYER_WHY];
    if (!pappus_layer_column_read(column, name, why))
        return pappus_wind_fault(reading, row, "names", name, "%s", why);
    if (column->quantity == PAPPUS_LAYER_IGNORED) {
        char key[64];
        snprintf(key, sizeof key, "row %zu", row);
        if (name[0])
            pappus_log_add(reading->log, PAPPUS_NOTE, PAPPUS_OK, reading->path, key, name,
                           "a column that is not used");
        return PAPPUS_OK;
    }
    if (pappus_layer_has(h, column->quantity))
        return pappus_wind_fault(reading, row, "names", name,
                                 "the same quantity as column %s; one of them is accepted",
                                 h->columns[h->where[column->quantity]].name);
    h->where[column->quantity] = (int)i;
    return PAPPUS_OK;
}

static bool has_height(const pappus_layer_header *h)
{
    for (int q = PAPPUS_LAYER_HEIGHT_AGL; q <= PAPPUS_LAYER_HEIGHT; q++)
        if (pappus_layer_has(h, (pappus_layer_quantity)q)) return true;
    return false;
}

static int check_header(const pappus_layer_header *h, size_t row, pappus_wind_reading *reading)
{
    bool direction = pappus_layer_has(h, PAPPUS_LAYER_DIRECTION),
         speed = pappus_layer_has(h, PAPPUS_LAYER_SPEED);
    bool u = pappus_layer_has(h, PAPPUS_LAYER_U), v = pappus_layer_has(h, PAPPUS_LAYER_V);
    if (!has_height(h))
        return pappus_wind_fault(reading, row, "names", NULL, "no column of heights; %s",
                                 PAPPUS_LAYER_HEIGHTS);
    if ((direction || speed) && (u || v))
        return pappus_wind_fault(reading, row, "names", NULL,
                                 "both direction or speed and u or v; %s", PAPPUS_LAYER_WINDS);
    if (direction != speed || u != v || (!speed && !u))
        return pappus_wind_fault(reading, row, "names", NULL, "no complete wind; %s",
                                 PAPPUS_LAYER_WINDS);
    return PAPPUS_OK;
}

int pappus_layer_header_read(pappus_layer_header *h, pappus_csv *csv, pappus_wind_reading *reading)
{
    pappus_csv_begin(csv, reading->bytes, reading->length);
    settle_blanks(csv);
    for (int q = 0; q < PAPPUS_LAYER_QUANTITIES; q++)
        h->where[q] = -1;
    if (!pappus_csv_next(csv))
        return pappus_wind_file_fault(reading, NULL, NULL, "%s",
                                      csv->fault ? csv->fault : "nothing but comments: no header");
    h->count = csv->cell_count;
    for (size_t i = 0; i < h->count; i++)
        read_column(h, i, csv->cells[i], csv->row, reading);
    return reading->fault_count ? PAPPUS_E_WIND : check_header(h, csv->row, reading);
}
