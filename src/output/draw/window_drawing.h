/* SPDX-License-Identifier: GPL-3.0-or-later
 * The window as a picture. */
#ifndef PAPPUS_OUTPUT_WINDOW_DRAWING_H
#define PAPPUS_OUTPUT_WINDOW_DRAWING_H

#include "xml_text.h"

/** Writes the <svg> element; alone: with its words and the caution. */
int window_drawing(pappus_xml *xml, const pappus_window *window, const pappus_plan *plan,
                   pappus_unit_system units, bool alone, pappus_error *err);

#endif
