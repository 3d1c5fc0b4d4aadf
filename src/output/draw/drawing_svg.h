/* SPDX-License-Identifier: GPL-3.0-or-later
 * Elements of SVG 1.1, written into an XML document. Numbers have one decimal: a
 * tenth of a unit is finer than any screen here. All text is escaped. */
#ifndef PAPPUS_OUTPUT_DRAWING_SVG_H
#define PAPPUS_OUTPUT_DRAWING_SVG_H

#include "xml_text.h"

/** Style sheets of the drawings. */
extern const char drawing_map_style[], drawing_trade_style[], drawing_wind_style[],
    drawing_rose_style[], drawing_window_style[], drawing_section_style[], drawing_skill_style[],
    drawing_season_style[];

/** <svg> with its size as viewBox; `what` is what it shows, for those who do not
 * see it. Close with pappus_xml_end. */
void svg_begin(pappus_xml *xml, double width, double height, const char *what);
void svg_number(pappus_xml *xml, const char *attribute, double value);
/** Any attribute, by a format. */
void svg_attribute(pappus_xml *xml, const char *attribute, const char *format, ...)
    __attribute__((format(printf, 3, 4)));
void svg_line(pappus_xml *xml, double x1, double y1, double x2, double y2, const char *style);
void svg_rectangle(pappus_xml *xml, double x, double y, double width, double height,
                   const char *style);
void svg_circle(pappus_xml *xml, double x, double y, double radius, const char *style);
/** A <clipPath> of a rectangle. */
void svg_clip(pappus_xml *xml, const char *id, double x, double y, double width, double height);
/** Starts a group that a clip cuts; close with pappus_xml_end. */
void svg_clipped(pappus_xml *xml, const char *id);
/** style: classes; id may be NULL. */
void svg_path(pappus_xml *xml, const char *style, const char *id, const char *data);
void svg_text(pappus_xml *xml, double x, double y, const char *style, const char *format, ...)
    __attribute__((format(printf, 5, 6)));

/** Text about (x, y), its line turned clockwise. */
void svg_text_turned(pappus_xml *xml, double x, double y, double turn_deg, const char *style,
                     const char *text);

/** Path data being put together: lines, outlines, dots. A failure is remembered in xml. */
typedef struct {
    pappus_xml *xml;
    pappus_text text; /**< stream NULL: memory is out */
    bool drawing;     /**< the pen is down */
} svg_trace;
void svg_trace_begin(svg_trace *trace, pappus_xml *xml); /**< not to be moved until its end */
/** A line on to here; a place that is not finite lifts the pen. */
void svg_trace_to(svg_trace *trace, double x, double y);
/** Lifts the pen; closed: after a line back to where it came down. */
void svg_trace_lift(svg_trace *trace, bool closed);
void svg_trace_dot(svg_trace *trace, double x, double y);
/** The data as text, the caller's to free; NULL and remembered when memory is out. */
char *svg_trace_end(svg_trace *trace);
/** Ends it as a <path>; style: classes; id may be NULL. */
void svg_trace_put(svg_trace *trace, const char *style, const char *id);

/** An arrow of a length about (x, y), pointing along a bearing (0 is up). */
void svg_arrow(pappus_xml *xml, double x, double y, double length, double bearing_deg,
               const char *style);

/** Width of a text set at a size, by the mean advance of the letters; rather wide. */
double svg_text_width(const char *text, double size);
/** Copies what of the text goes into a line, broken at a space; returns how much of the
 * text that was. */
size_t svg_text_line(char *out, size_t out_size, const char *text, double size, double width);
/** Copies text, cut with an ellipsis to what fits the width. */
void svg_text_fit(char *out, size_t out_size, const char *text, double size, double width);

#endif
