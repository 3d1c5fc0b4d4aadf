/* SPDX-License-Identifier: GPL-3.0-or-later
 * Elements of SVG 1.1 by libxml2's writer. The width of a text is reckoned and not
 * measured, since the reader's font is not known here: 0.6 em a letter is that of
 * DejaVu Sans and wider than most; letters of three bytes or more count 1 em. */
#include "drawing_svg.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "utf8.h"

#define LETTER_EM 0.6
#define WIDE_LETTER_EM 1.0
#define RADIANS (3.14159265358979323846 / 180.0)

void svg_attribute(pappus_xml *xml, const char *attribute, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    char *text = pappus_xml_format(xml, format, arguments);
    va_end(arguments);
    if (!text) return;
    pappus_xml_attribute(xml, attribute, text);
    free(text);
}

void svg_number(pappus_xml *xml, const char *attribute, double value)
{
    svg_attribute(xml, attribute, "%.1f", value);
}

void svg_begin(pappus_xml *xml, double width, double height, const char *what)
{
    pappus_xml_start(xml, "svg");
    pappus_xml_attribute(xml, "xmlns", "http://www.w3.org/2000/svg");
    pappus_xml_attribute(xml, "class", "pappus");
    svg_attribute(xml, "viewBox", "0 0 %.0f %.0f", width, height);
    svg_attribute(xml, "width", "%.0f", width);
    svg_attribute(xml, "height", "%.0f", height);
    pappus_xml_attribute(xml, "role", "img");
    pappus_xml_attribute(xml, "aria-label", what);
}

static void put_shape(pappus_xml *xml, const char *element, const char *style, size_t count,
                      const char *const *names, const double *values)
{
    pappus_xml_start(xml, element);
    for (size_t i = 0; i < count; i++)
        svg_number(xml, names[i], values[i]);
    pappus_xml_attribute(xml, "class", style);
    pappus_xml_end(xml);
}

void svg_line(pappus_xml *xml, double x1, double y1, double x2, double y2, const char *style)
{
    static const char *const names[] = {"x1", "y1", "x2", "y2"};
    put_shape(xml, "line", style, 4, names, (const double[]){x1, y1, x2, y2});
}

void svg_rectangle(pappus_xml *xml, double x, double y, double width, double height,
                   const char *style)
{
    static const char *const names[] = {"x", "y", "width", "height"};
    put_shape(xml, "rect", style, 4, names, (const double[]){x, y, width, height});
}

void svg_circle(pappus_xml *xml, double x, double y, double radius, const char *style)
{
    static const char *const names[] = {"cx", "cy", "r"};
    put_shape(xml, "circle", style, 3, names, (const double[]){x, y, radius});
}

void svg_clip(pappus_xml *xml, const char *id, double x, double y, double width, double height)
{
    pappus_xml_start(xml, "clipPath");
    pappus_xml_attribute(xml, "id", id);
    svg_rectangle(xml, x, y, width, height, "");
    pappus_xml_end(xml);
}

void svg_clipped(pappus_xml *xml, const char *id)
{
    pappus_xml_start(xml, "g");
    svg_attribute(xml, "clip-path", "url(#%s)", id);
}

void svg_path(pappus_xml *xml, const char *style, const char *id, const char *data)
{
    pappus_xml_start(xml, "path");
    if (id) pappus_xml_attribute(xml, "id", id);
    pappus_xml_attribute(xml, "class", style);
    pappus_xml_attribute(xml, "d", data);
    pappus_xml_end(xml);
}

void svg_text(pappus_xml *xml, double x, double y, const char *style, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    char *text = pappus_xml_format(xml, format, arguments);
    va_end(arguments);
    if (!text) return;
    pappus_xml_start(xml, "text");
    svg_number(xml, "x", x);
    svg_number(xml, "y", y);
    pappus_xml_attribute(xml, "class", style);
    pappus_xml_text(xml, text);
    pappus_xml_end(xml);
    free(text);
}

void svg_text_turned(pappus_xml *xml, double x, double y, double turn_deg, const char *style,
                     const char *text)
{
    pappus_xml_start(xml, "text");
    svg_attribute(xml, "transform", "translate(%.1f %.1f) rotate(%.1f)", x, y, turn_deg);
    pappus_xml_attribute(xml, "class", style);
    pappus_xml_text(xml, text);
    pappus_xml_end(xml);
}

void svg_trace_begin(svg_trace *trace, pappus_xml *xml)
{
    *trace = (svg_trace){.xml = xml};
    xml->failed |= pappus_text_begin(&trace->text, NULL) != PAPPUS_OK;
}

void svg_trace_to(svg_trace *trace, double x, double y)
{
    bool there = isfinite(x) && isfinite(y);
    if (there && trace->text.stream)
        fprintf(trace->text.stream, "%s%.1f %.1f", trace->drawing ? "L" : "M", x, y);
    trace->drawing = there;
}

void svg_trace_lift(svg_trace *trace, bool closed)
{
    if (closed && trace->drawing && trace->text.stream) fputc('Z', trace->text.stream);
    trace->drawing = false;
}

void svg_trace_dot(svg_trace *trace, double x, double y)
{
    if (trace->text.stream) fprintf(trace->text.stream, "M%.1f %.1fh0", x, y);
}

char *svg_trace_end(svg_trace *trace)
{
    if (!trace->text.stream || pappus_text_finish(&trace->text, NULL) != PAPPUS_OK)
        trace->xml->failed = true;
    return trace->text.bytes;
}

void svg_trace_put(svg_trace *trace, const char *style, const char *id)
{
    char *data = svg_trace_end(trace);
    if (data) svg_path(trace->xml, style, id, data);
    free(data);
}

void svg_arrow(pappus_xml *xml, double x, double y, double length, double bearing_deg,
               const char *style)
{
    char data[256];
    double s = sin(bearing_deg * RADIANS), c = cos(bearing_deg * RADIANS), h = length / 2;
    double head = 0.42 * length, wide = 0.24 * length;
    double base_x = x + s * (h - head), base_y = y - c * (h - head);
    snprintf(data, sizeof data, "M%.1f %.1fL%.1f %.1fM%.1f %.1fL%.1f %.1fL%.1f %.1fZ", x - s * h,
             y + c * h, base_x, base_y, x + s * h, y - c * h, base_x + c * wide, base_y + s * wide,
             base_x - c * wide, base_y - s * wide);
    svg_path(xml, style, NULL, data);
}

/* Length of the UTF-8 character at text. */
static size_t letter_length(const char *text)
{
    size_t length = 1;
    while (((unsigned char)text[length] & 0xC0) == 0x80)
        length++;
    return length;
}

static double letter_width(size_t length, double size)
{
    return size * (length >= 3 ? WIDE_LETTER_EM : LETTER_EM);
}

double svg_text_width(const char *text, double size)
{
    double width = 0;
    for (size_t i = 0; text[i];) {
        size_t length = letter_length(text + i);
        width += letter_width(length, size);
        i += length;
    }
    return width;
}

size_t svg_text_line(char *out, size_t out_size, const char *text, double size, double width)
{
    double used = 0;
    size_t end = 0, space = 0;
    while (text[end]) {
        size_t length = letter_length(text + end);
        used += letter_width(length, size);
        if (used > width || end + length >= out_size) break;
        if (text[end] == ' ') space = end;
        end += length;
    }
    if (text[end] && text[end] != ' ' && space > 0) end = space;
    memcpy(out, text, end);
    out[end] = '\0';
    return end + (text[end] == ' ');
}

void svg_text_fit(char *out, size_t out_size, const char *text, double size, double width)
{
    static const char ellipsis[] = "\xE2\x80\xA6";
    double used = 0;
    size_t end = 0, keep = 0;
    while (text[end] && end + sizeof ellipsis + 4 < out_size) {
        size_t length = letter_length(text + end);
        used += letter_width(length, size);
        if (used > width) break;
        end += length;
        if (used + size * WIDE_LETTER_EM <= width) keep = end;
    }
    if (!text[end]) {
        pappus_text_cut(out, out_size, text);
        return;
    }
    memcpy(out, text, keep);
    memcpy(out + keep, ellipsis, sizeof ellipsis);
}
