/* SPDX-License-Identifier: GPL-3.0-or-later
 * HTML by libxml2's XML writer, in the form that both kinds of parser read alike:
 * every element but the void ones is closed by a tag of its own, and only the style
 * and the scripts, which are ours and hold neither < nor &, are written as they are. */
#include "page.h"

#include <math.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

#include "both.h"
#include "error.h"
#include "page_fill.h"
#include "utf8.h"

static void put_void(pappus_xml *xml, const char *element, const char *name, const char *value,
                     const char *content)
{
    pappus_xml_start(xml, element);
    pappus_xml_attribute(xml, name, value);
    if (content) pappus_xml_attribute(xml, "content", content);
    pappus_xml_end(xml);
}

static void put_head(pappus_xml *xml, const char *title)
{
    pappus_xml_start(xml, "head");
    put_void(xml, "meta", "charset", "utf-8", NULL);
    put_void(xml, "meta", "name", "viewport", "width=device-width, initial-scale=1");
    put_void(xml, "meta", "http-equiv", "Content-Security-Policy",
             "default-src 'none'; style-src 'unsafe-inline'; script-src 'unsafe-inline'; "
             "img-src data:");
    page_put(xml, "title", NULL, "%s", title);
    pappus_xml_start(xml, "style");
    xml->failed |= xmlTextWriterWriteRaw(xml->writer, BAD_CAST page_file_text("page.css")) < 0;
    page_close(xml);
    page_close(xml);
}

int page_begin(pappus_xml *xml, const char *title, pappus_error *err)
{
    *xml = (pappus_xml){.buffer = xmlBufferCreate()};
    if (xml->buffer) xml->writer = xmlNewTextWriterMemory(xml->buffer, 0);
    if (!xml->writer) {
        if (xml->buffer) xmlBufferFree(xml->buffer);
        *xml = (pappus_xml){0};
        return pappus_fail_memory(err);
    }
    xml->failed = xmlTextWriterWriteRaw(xml->writer, BAD_CAST "<!DOCTYPE html>\n") < 0;
    pappus_xml_start(xml, "html");
    pappus_xml_attribute(xml, "lang", "en");
    put_head(xml, title);
    pappus_xml_start(xml, "body");
    return PAPPUS_OK;
}

void page_end(pappus_xml *xml)
{
    page_close(xml);
    page_close(xml);
}

void page_open(pappus_xml *xml, const char *element, const char *style)
{
    page_open_id(xml, element, style, NULL);
}

void page_open_id(pappus_xml *xml, const char *element, const char *style, const char *id)
{
    pappus_xml_start(xml, element);
    if (style) pappus_xml_attribute(xml, "class", style);
    if (id) pappus_xml_attribute(xml, "id", id);
}

void page_close(pappus_xml *xml)
{
    xml->failed |= xmlTextWriterFullEndElement(xml->writer) < 0;
    xml->failed |= xmlTextWriterWriteRaw(xml->writer, BAD_CAST "\n") < 0;
}

static void put_formatted(pappus_xml *xml, const char *format, va_list arguments)
{
    char *text;
    if (vasprintf(&text, format, arguments) < 0) {
        xml->failed = true;
        return;
    }
    pappus_xml_text(xml, text);
    free(text);
}

void page_put(pappus_xml *xml, const char *element, const char *style, const char *format, ...)
{
    va_list arguments;
    page_open(xml, element, style);
    va_start(arguments, format);
    put_formatted(xml, format, arguments);
    va_end(arguments);
    xml->failed |= xmlTextWriterFullEndElement(xml->writer) < 0;
}

void page_text(pappus_xml *xml, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    put_formatted(xml, format, arguments);
    va_end(arguments);
}

char *page_cut(char out[PAGE_LONGEST + 4], const char *text)
{
    size_t length = pappus_text_cut(out, PAGE_LONGEST, text ? text : "");
    if (text && strlen(text) > length) memcpy(out + length, "\xE2\x80\xA6", 4);
    return out;
}

void page_put_user(pappus_xml *xml, const char *element, const char *style, const char *text)
{
    char cut[PAGE_LONGEST + 4];
    page_open(xml, element, style);
    pappus_xml_attribute(xml, "dir", "auto");
    pappus_xml_text(xml, page_cut(cut, text));
    xml->failed |= xmlTextWriterFullEndElement(xml->writer) < 0;
}

void page_section(pappus_xml *xml, const char *id, const char *heading)
{
    page_open_id(xml, "section", NULL, id);
    page_put(xml, "h2", NULL, "%s", heading);
}

/* ------------------------------------------------------------------- marks */

page_mark page_mark_of(pappus_verdict verdict)
{
    return verdict == PAPPUS_MET ? PAGE_YES : verdict == PAPPUS_BROKEN ? PAGE_NO : PAGE_OPEN;
}

void page_put_mark(pappus_xml *xml, page_mark mark)
{
    static const char *const names[] = {"met", "broken", "undecided"};
    static const char *const styles[] = {"mark yes", "mark no", "mark open"};
    static const char *const signs[] = {"M5 12.5l5 5L19 7", "M6 6l12 12M18 6L6 18",
                                        "M8 9a4 4 0 1 1 5.5 3.7c-1 .5-1.5 1-1.5 2.3M12 18v1.6"};
    pappus_xml_start(xml, "svg");
    pappus_xml_attribute(xml, "class", styles[mark]);
    pappus_xml_attribute(xml, "viewBox", "0 0 24 24");
    pappus_xml_attribute(xml, "role", "img");
    pappus_xml_attribute(xml, "aria-label", names[mark]);
    pappus_xml_start(xml, "path");
    pappus_xml_attribute(xml, "d", signs[mark]);
    pappus_xml_end(xml);
    pappus_xml_end(xml);
}

/* ------------------------------------------------------------------ tables */

void page_table_begin(page_table *table, pappus_xml *xml, const char *style, const char *caption,
                      const char *const *headings, size_t columns)
{
    *table = (page_table){.xml = xml, .columns = columns};
    page_open(xml, "table", style);
    page_put(xml, "caption", NULL, "%s", caption);
    page_open(xml, "thead", NULL);
    page_open(xml, "tr", NULL);
    for (size_t i = 0; i < columns; i++) {
        table->headings[i] = headings[i];
        pappus_xml_start(xml, "th");
        pappus_xml_attribute(xml, "scope", "col");
        pappus_xml_text(xml, headings[i]);
        page_close(xml);
    }
    page_close(xml);
    page_close(xml);
    page_open(xml, "tbody", NULL);
}

void page_table_end(page_table *table)
{
    page_close(table->xml);
    page_close(table->xml);
}

void page_row_begin(page_table *table)
{
    table->column = 0;
    pappus_xml_start(table->xml, "tr");
}

void page_row_end(page_table *table)
{
    page_close(table->xml);
}

static void begin_cell(page_table *table)
{
    bool first = table->column == 0;
    pappus_xml_start(table->xml, first ? "th" : "td");
    if (first)
        pappus_xml_attribute(table->xml, "scope", "row");
    else
        pappus_xml_attribute(table->xml, "data-label", table->headings[table->column]);
    table->column++;
}

void page_cell(page_table *table, const char *format, ...)
{
    va_list arguments;
    begin_cell(table);
    va_start(arguments, format);
    put_formatted(table->xml, format, arguments);
    va_end(arguments);
    page_close(table->xml);
}

void page_cell_user(page_table *table, const char *text)
{
    char cut[PAGE_LONGEST + 4];
    begin_cell(table);
    pappus_xml_attribute(table->xml, "dir", "auto");
    pappus_xml_text(table->xml, page_cut(cut, text));
    page_close(table->xml);
}

/* ------------------------------------------------------------------ numbers */

char *page_both(char out[PAGE_BOTH_SIZE], pappus_quantity quantity, double si,
                pappus_unit_system units)
{
    return pappus_format_both(out, quantity, si, units);
}

char *page_one(char out[PAGE_BOTH_SIZE], pappus_quantity quantity, double si,
               pappus_unit_system units)
{
    return pappus_format_own(out, quantity, si, units);
}

char *page_chance(char out[PAGE_BOTH_SIZE], double chance)
{
    char text[PAPPUS_TEXT_SIZE];
    return pappus_keep_together(out, PAGE_BOTH_SIZE, pappus_format_chance(text, sizeof text, chance));
}
