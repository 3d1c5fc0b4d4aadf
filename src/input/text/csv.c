/* SPDX-License-Identifier: GPL-3.0-or-later
 * Splits comma-separated text by RFC 4180 (Shafranovich, 2005): quoted cells may
 * hold commas, line ends and doubled quotes; lines end in LF or CRLF. Beyond it:
 * lines that begin with # are comments, empty lines are skipped, and spaces
 * around a cell do not count. Works in place: a cell without its quotes is never
 * longer than with them. No other separator is understood. */
#include "csv.h"

void pappus_csv_begin(pappus_csv *csv, char *text, size_t length)
{
    *csv = (pappus_csv){.at = text, .end = text + length, .line = 1};
}

static bool is_space(char c)
{
    return c == ' ' || c == '\t' || c == '\r';
}

static void skip_line(pappus_csv *csv)
{
    while (csv->at < csv->end && *csv->at != '\n') csv->at++;
    if (csv->at < csv->end) {
        csv->at++;
        csv->line++;
    }
}

/* True at a line that has a record; the spaces before it are passed. */
static bool find_record(pappus_csv *csv)
{
    while (csv->at < csv->end) {
        char *start = csv->at;
        while (start < csv->end && is_space(*start)) start++;
        if (start < csv->end && *start != '\n' && *csv->at != '#') return true;
        skip_line(csv);
    }
    return false;
}

/* Reads a quoted cell; csv->at is behind the opening quote. */
static bool read_quoted(pappus_csv *csv, char **write)
{
    while (csv->at < csv->end) {
        char c = *csv->at++;
        if (c == '"') {
            if (*csv->at != '"') return true;
            csv->at++;
        } else if (c == '\n') {
            csv->line++;
        }
        *(*write)++ = c;
    }
    csv->fault = "a quote is opened and never closed";
    return false;
}

/* Reads one cell up to its comma, line end or the end; *last when no other
 * follows in this record. */
static bool read_cell(pappus_csv *csv, bool *last)
{
    while (csv->at < csv->end && is_space(*csv->at)) csv->at++;
    char *cell = csv->at, *write = cell;
    if (*csv->at == '"') {
        csv->at++;
        if (!read_quoted(csv, &write)) return false;
        while (csv->at < csv->end && is_space(*csv->at)) csv->at++;
        if (csv->at < csv->end && *csv->at != ',' && *csv->at != '\n') {
            csv->fault = "text follows the closing quote of a cell";
            return false;
        }
    } else {
        while (csv->at < csv->end && *csv->at != ',' && *csv->at != '\n') csv->at++;
        write = csv->at;
        while (write > cell && is_space(write[-1])) write--;
    }
    *last = csv->at >= csv->end || *csv->at == '\n';
    if (csv->at < csv->end) {
        csv->line += *csv->at == '\n';
        csv->at++;
    }
    *write = '\0';
    csv->cells[csv->cell_count++] = cell;
    return true;
}

bool pappus_csv_next(pappus_csv *csv)
{
    bool last = false;
    csv->cell_count = 0;
    if (!find_record(csv)) return false;
    csv->row = csv->line;
    while (!last) {
        if (csv->cell_count == PAPPUS_CSV_MAX_CELLS) {
            csv->fault = "more than 256 cells in one row";
            return false;
        }
        if (!read_cell(csv, &last)) return false;
    }
    return true;
}
