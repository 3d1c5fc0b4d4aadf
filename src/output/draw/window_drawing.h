/* SPDX-License-Identifier: GPL-3.0-or-later
 * The window as a picture. */
#ifndef PAPPUS_OUTPUT_WINDOW_DRAWING_H
#define PAPPUS_OUTPUT_WINDOW_DRAWING_H

#include "xml_text.h"

/** Writes the <svg> element; with a stamp it is a picture of its own: with its words, what the
 * hours rest on, and the caution. NULL: part of a page. */
int window_drawing(pappus_xml *xml, const pappus_window *window, const pappus_plan *plan,
                   pappus_unit_system units, const char *stamp, pappus_error *err);

#endif
