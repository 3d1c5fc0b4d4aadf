/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "layout.h"

#include <stdlib.h>
#include <string.h>

#include "format.h"
#include "text_stream.h"

#define GAP 2
#define TABLE_INDENT 2
#define LEAST_LAST 18 /* of the last column, which is broken at spaces */
#define LONGEST_UNIT 4
#define BLANK "______________________________"

layout layout_begin(FILE *stream, int columns)
{
    if (columns <= 0) columns = LAYOUT_USUAL;
    if (columns < LAYOUT_LEAST) columns = LAYOUT_LEAST;
    if (columns > LAYOUT_MOST) columns = LAYOUT_MOST;
    return (layout){.stream = stream, .columns = columns};
}

static bool starts_character(char byte)
{
    return ((unsigned char)byte & 0xC0) != 0x80;
}

int layout_width(const char *text)
{
    int width = 0;
    for (; *text; text++)
        width += starts_character(*text);
    return width;
}

/* Bytes of the first `columns` characters. */
static size_t bytes_of(const char *text, int columns)
{
    size_t bytes = 0;
    for (; text[bytes]; bytes++)
        if (starts_character(text[bytes]) && columns-- == 0) break;
    return bytes;
}

/* Prints a word of `length` bytes, cut where it is longer than a line. */
static int put_word(layout *to, const char *word, size_t length, int room)
{
    size_t fits = bytes_of(word, room);
    if (fits >= length) fits = length;
    bool cut = fits < length;
    if (cut) fits = bytes_of(word, room - 3);
    fprintf(to->stream, "%.*s%s", (int)fits, word, cut ? "..." : "");
    int width = 0;
    for (size_t i = 0; i < fits; i++)
        width += starts_character(word[i]);
    return width + (cut ? 3 : 0);
}

static int word_width(const char *word, size_t length)
{
    int width = 0;
    for (size_t i = 0; i < length; i++)
        width += starts_character(word[i]);
    return width;
}

/* Bytes up to where a line may be broken: a number stays with a unit behind it. */
static size_t unbroken(const char *text)
{
    size_t length = strcspn(text, " ");
    if (length == 0 || text[length] == '\0') return length;
    const char *next = text + length + 1;
    size_t more = strcspn(next, " ,;.):");
    bool number = text[length - 1] >= '0' && text[length - 1] <= '9';
    bool unit = more > 0 && more <= LONGEST_UNIT && (*next > '9' || *next == '%');
    return number && unit ? length + 1 + strcspn(next, " ") : length;
}

static void put_broken(layout *to, int column, int indent, int most, const char *text)
{
    int lines = 1;
    most = (most * LAYOUT_USUAL + to->columns - 1) / to->columns;
    for (bool first = true; *text; first = false) {
        size_t length = unbroken(text);
        int width = word_width(text, length);
        bool last_line = most && lines == most, more = text[length] != '\0';
        int needs = column + !first + width + (last_line && more ? 4 : 0);
        bool breaks = needs > to->columns && (!first || column > indent);
        if (breaks && last_line) {
            fprintf(to->stream, " ...");
            break;
        }
        if (breaks) {
            fprintf(to->stream, "\n%*s", indent, "");
            column = indent;
            lines++;
        } else if (!first) {
            fputc(' ', to->stream);
            column++;
        }
        column += put_word(to, text, length, to->columns - indent);
        text += length + (text[length] == ' ');
    }
    fputc('\n', to->stream);
}

void layout_words(layout *to, int column, int indent, int most, const char *text)
{
    char *clean = pappus_text_clean(text);
    if (!clean) {
        to->failed = true;
        return;
    }
    pappus_text_tame(clean, '\0');
    put_broken(to, column, indent, most, clean);
    free(clean);
}

void layout_beside(layout *to, const char *heading, int indent, int most, const char *text)
{
    int width = layout_width(heading);
    if (width > indent) indent = width;
    fprintf(to->stream, "%s%*s", heading, indent - width, "");
    layout_words(to, indent, indent, most, text);
}

/* ------------------------------------------------------------------ tables */

void layout_table_add(layout *to, layout_table *table, const char *const *cells, size_t count)
{
    if (table->row_count == table->capacity) {
        size_t capacity = 2 * table->capacity + 16;
        void *rows = realloc(table->rows, capacity * sizeof *table->rows);
        if (!rows) {
            to->failed = true;
            return;
        }
        table->rows = rows;
        table->capacity = capacity;
    }
    for (size_t i = 0; i < LAYOUT_CELLS; i++)
        table->rows[table->row_count][i] = i < count ? cells[i] : "";
    if (count > table->cell_count) table->cell_count = count;
    table->row_count++;
}

static void put_row(layout *to, const layout_table *table, const int *widths, int gap, size_t row)
{
    int column = TABLE_INDENT;
    size_t last = table->cell_count - 1;
    fprintf(to->stream, "%*s", TABLE_INDENT, "");
    for (size_t i = 0; i < last; i++) {
        const char *text = table->rows[row][i];
        bool blank = table->blanks && text[0] == '\0';
        fprintf(to->stream, "%.*s", blank ? widths[i] : 1 << 20, blank ? BLANK : text);
        int pad = widths[i] - (blank ? widths[i] : layout_width(text)) + gap;
        fprintf(to->stream, "%*s", pad, "");
        column += widths[i] + gap;
    }
    const char *text = table->rows[row][last];
    layout_words(to, column, column, 0, table->blanks && text[0] == '\0' ? "________" : text);
}

/* A row in words: its name, then each heading with what stands under it. */
static void tell_row(layout *to, const layout_table *table, size_t row)
{
    pappus_text words;
    if (pappus_text_begin(&words, NULL) != PAPPUS_OK) {
        to->failed = true;
        return;
    }
    FILE *stream = words.stream;
    fprintf(stream, "%s:", table->rows[row][0] + strspn(table->rows[row][0], " "));
    bool before = false;
    for (size_t i = 1; i < table->cell_count; i++) {
        const char *text = table->rows[row][i];
        if (text[0] == '\0' && !table->blanks) continue;
        fprintf(stream, "%s %s %s", before ? ";" : "", table->rows[0][i],
                text[0] ? text : "________");
        before = true;
    }
    if (pappus_text_finish(&words, NULL) == PAPPUS_OK) {
        fprintf(to->stream, "%*s", TABLE_INDENT, "");
        layout_words(to, TABLE_INDENT, 3 * TABLE_INDENT, 0, words.bytes);
    } else {
        to->failed = true;
    }
    free(words.bytes);
}

void layout_table_end(layout *to, layout_table *table)
{
    int widths[LAYOUT_CELLS] = {0}, taken = TABLE_INDENT;
    for (size_t row = 0; row < table->row_count; row++)
        for (size_t i = 0; i < table->cell_count; i++) {
            int width = layout_width(table->rows[row][i]);
            if (width > widths[i]) widths[i] = width;
        }
    for (size_t i = 0; i < table->cell_count; i++) {
        bool last = i + 1 == table->cell_count;
        taken += !last ? widths[i] + 1 : widths[i] < LEAST_LAST ? widths[i] : LEAST_LAST;
    }
    bool fits = taken <= to->columns;
    int gap = taken + (int)table->cell_count - 1 <= to->columns ? GAP : 1;
    for (size_t row = fits ? 0 : 1; row < table->row_count && !to->failed; row++) {
        if (fits)
            put_row(to, table, widths, gap, row);
        else
            tell_row(to, table, row);
    }
    free(table->rows);
    *table = (layout_table){.blanks = table->blanks};
}
