/* SPDX-License-Identifier: GPL-3.0-or-later
 * Splits text into records and cells by RFC 4180 (Shafranovich, 2005): quoted cells may
 * hold separators, line ends and doubled quotes; lines end in LF or CRLF. Beyond it: lines
 * that begin with # are comments, empty lines are skipped, spaces around a cell do not
 * count, and the header may say that other signs part the cells: a semicolon before a
 * tab before a comma (a tab beside a comma is padding), and where it has none of them,
 * blanks. A group in brackets belongs to the word before it: "Height (ft MSL) Speed (kt)"
 * are two cells. The caller may say that single blanks stand inside cells and two or more
 * part them. Blanks leave no place for an empty cell or a quoted one.
 * Works in place: a cell without its quotes is never longer than with them. */
#include "csv.h"

#include <string.h>

static bool is_blank(char c)
{
    return c == ' ' || c == '\t' || c == '\r';
}

/* A blank that counts for nothing; a tab may be what parts the cells. */
static bool is_space(const pappus_csv *csv, char c)
{
    return is_blank(c) && !(c == '\t' && csv->separator == '\t');
}

static void skip_line(pappus_csv *csv)
{
    while (csv->at < csv->end && *csv->at != '\n')
        csv->at++;
    if (csv->at < csv->end) {
        csv->at++;
        csv->line++;
    }
}

/* True at a line that has a record; the spaces before it are passed over. */
static bool find_record(pappus_csv *csv)
{
    while (csv->at < csv->end) {
        char *start = csv->at;
        while (start < csv->end && is_space(csv, *start))
            start++;
        if (start < csv->end && *start != '\n' && *csv->at != '#') return true;
        skip_line(csv);
    }
    return false;
}

/* ------------------------------------------------------------------- blanks */

/* Whether the blanks at `at` part cells; *after is behind them. */
static bool blanks_part(const pappus_csv *csv, char *at, char **after)
{
    char *p = at;
    bool tab = false;
    for (; p < csv->end && is_blank(*p); p++)
        tab = tab || *p == '\t';
    *after = p;
    if (p == csv->end || *p == '\n') return true;
    return *p != '(' && *p != '[' && (!csv->wide || tab || p - at > 1);
}

/* The end of the cell at `at`. */
static char *blank_cell_end(const pappus_csv *csv, char *at)
{
    int depth = 0;
    while (at < csv->end && *at != '\n') {
        char *after = at + 1;
        depth += (*at == '(' || *at == '[') - (*at == ')' || *at == ']');
        if (is_blank(*at) && (blanks_part(csv, at, &after) && depth <= 0)) return at;
        at = after;
    }
    return at;
}

static size_t count_cells(const pappus_csv *csv, char *at)
{
    size_t count = 0;
    char *after;
    while (at < csv->end && *at != '\n') {
        at = blank_cell_end(csv, at);
        count++;
        blanks_part(csv, at, &after);
        at = after;
    }
    return count;
}

bool pappus_csv_is_even(const pappus_csv *csv)
{
    pappus_csv at = *csv;
    size_t first = 0;
    for (; find_record(&at); skip_line(&at)) {
        while (is_blank(*at.at))
            at.at++;
        size_t count = count_cells(&at, at.at);
        if (first && count != first) return false;
        first = count;
    }
    return true;
}

static bool read_blank_cell(pappus_csv *csv, bool *last)
{
    while (csv->at < csv->end && is_blank(*csv->at))
        csv->at++;
    char *end = blank_cell_end(csv, csv->at), *after;
    csv->cells[csv->cell_count++] = csv->at;
    blanks_part(csv, end, &after);
    *last = after >= csv->end || *after == '\n';
    csv->at = after;
    if (after < csv->end && *last) {
        csv->at++;
        csv->line++;
    }
    *end = '\0';
    return true;
}

/* ---------------------------------------------------------------- separators */

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

/* Reads one cell up to its separator, line end or the end; *last when no other
 * follows in this record. */
static bool read_cell(pappus_csv *csv, bool *last)
{
    while (csv->at < csv->end && is_space(csv, *csv->at))
        csv->at++;
    char *cell = csv->at, *write = cell;
    if (*csv->at == '"') {
        csv->at++;
        if (!read_quoted(csv, &write)) return false;
        while (csv->at < csv->end && is_space(csv, *csv->at))
            csv->at++;
        if (csv->at < csv->end && *csv->at != csv->separator && *csv->at != '\n') {
            csv->fault = "text follows the closing quote of a cell";
            return false;
        }
    } else {
        while (csv->at < csv->end && *csv->at != csv->separator && *csv->at != '\n')
            csv->at++;
        write = csv->at;
        while (write > cell && is_blank(write[-1]))
            write--;
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

/* Whether a tab of the line has no comma beside it. */
static bool has_lone_tab(const char *line, size_t length)
{
    for (size_t i = 1; i + 1 < length; i++)
        if (line[i] == '\t' && line[i - 1] != ',' && line[i + 1] != ',') return true;
    return false;
}

static char separator_of(const char *line, size_t length)
{
    if (memchr(line, ';', length)) return ';';
    if (has_lone_tab(line, length)) return '\t';
    return memchr(line, ',', length) ? ',' : ' ';
}

void pappus_csv_begin(pappus_csv *csv, char *text, size_t length)
{
    *csv = (pappus_csv){.at = text, .end = text + length, .line = 1, .separator = ','};
    pappus_csv header = *csv;
    if (!find_record(&header)) return;
    const char *stop = memchr(header.at, '\n', (size_t)(header.end - header.at));
    csv->separator = separator_of(header.at, (size_t)((stop ? stop : header.end) - header.at));
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
        bool read = csv->separator == ' ' ? read_blank_cell(csv, &last) : read_cell(csv, &last);
        if (!read) return false;
    }
    return true;
}
